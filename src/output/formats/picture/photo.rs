//! A photograph made true to scale, with the outline that was read of it drawn over it.

use super::sheet::{LINE_HEIGHT, MARGIN, TALLEST, View, circle, cross, heading, scale_bar, tell};
use super::{Picture, WIDTH};
use crate::diag::{Diagnostic, Severity};
use crate::geometry::{Bounds, Point};
use crate::output::style::Paint;
use crate::output::style::ink::{BLACK, FIBRE, MARK, WHITE};
use crate::photo::{Rectified, SeenTemplate};
use crate::units::Length;

/// A photograph that lies under everything: pixels across and down, their colours, and the upper left corner.
#[derive(Debug)]
pub(super) struct PhotoGround {
    pub(super) size: [usize; 2],
    pub(super) pixels: Vec<u8>,
    pub(super) corner: [usize; 2],
}

impl Picture {
    /// The most pixels across and down that a photograph in a picture takes.
    pub const PHOTOGRAPH: [usize; 2] = [(WIDTH - 2.0 * MARGIN) as usize, TALLEST as usize];

    /// A picture of `photo` with the outlines, 0° lines and crosses that were read of it, or with what was refused circled.
    /// It is for the eye and written as PNG alone.
    #[must_use]
    pub fn of_photograph(name: &str, photo: Rectified) -> Self {
        let mut picture = Self::empty();
        let told = match &photo.sight {
            Ok(sight) => {
                let error = Length::mm(sight.error).in_mm_and_inches();
                heading(&mut picture, &format!("{name}: edges to about {error}"));
                &sight.told
            }
            Err(problems) => {
                heading(&mut picture, &format!("{name}: refused"));
                problems
            }
        };
        let problems: Vec<&Diagnostic> = told
            .iter()
            .filter(|p| p.severity > Severity::Note)
            .collect();
        let [width, height] = photo.size.map(|n| n as f64);
        let corner = Point::new(
            ((WIDTH - width) / 2.0).floor(),
            picture.height + LINE_HEIGHT,
        );
        picture.height += height + 3.0 * LINE_HEIGHT;
        let bounds = photo.shows.unwrap_or(Bounds {
            min: Point::default(),
            max: Point::new(width, height),
        });
        let view = View {
            scale: width / bounds.width(),
            left: corner.x,
            top: corner.y,
            bounds,
        };
        for template in photo.sight.iter().flat_map(|sight| &sight.templates) {
            picture.template(template, &view);
        }
        if photo.shows.is_some() {
            scale_bar(&mut picture, &view);
            circle(&mut picture, &problems, &view);
        }
        tell(&mut picture, &problems);
        picture.height = (picture.height + LINE_HEIGHT).ceil();
        picture.ground = Some(PhotoGround {
            size: photo.size,
            pixels: photo.pixels,
            corner: [corner.x as usize, corner.y as usize],
        });
        picture
    }

    fn template(&mut self, template: &SeenTemplate, view: &View) {
        let on = |points: &[Point]| points.iter().map(|&p| view.at(p)).collect::<Vec<Point>>();
        let rings = std::iter::once(&template.edge).chain(&template.openings);
        for ring in rings {
            // White beside black is seen on any colour.
            for paint in [Paint::line(WHITE, 4.0), Paint::line(BLACK, 1.5)] {
                self.lines(vec![on(ring)], true, paint);
            }
        }
        for line in &template.lines {
            for paint in [Paint::line(WHITE, 5.0), Paint::line(FIBRE, 2.5)] {
                self.lines(vec![on(line)], false, paint);
            }
        }
        for &at in &template.crosses {
            cross(self, view.at(at), MARK);
        }
    }
}
