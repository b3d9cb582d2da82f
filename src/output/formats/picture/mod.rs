//! Pictures for people: of what was read from pattern files, with the faults circled, and of a roll
//! with its pieces; of a photograph with the outline over it.
//!
//! [`Picture::of`] and [`Picture::of_roll`] make a list of painted shapes; [`Picture::svg`] and
//! [`Picture::png`] write the same list. Lengths are pixels, y runs down.

mod indexed;
mod mould;
mod photo;
mod png;
mod roll;
mod sheet;
mod svg;

pub(in crate::output) use svg::page as page_svg;

use crate::geometry::Point;
use crate::output::drawing::shape::{Align, Drawing, Shape, TextLine};
use crate::output::style::{CAPITALS_PER_SIZE, Colour, Paint};
use crate::pattern::Pattern;
use crate::units::Angle;

/// Width of every picture.
const WIDTH: f64 = 1600.0;

/// Tallest picture; many files share it.
const MOST_HEIGHT: f64 = 20_000.0;

/// Files that are drawn; a picture of more shows nothing.
const MOST_FILES: usize = 12;

/// Width of the halo around letters.
const HALO: f64 = 4.5;

/// A picture: shapes painted one over the other.
#[derive(Debug)]
pub struct Picture {
    height: f64,
    drawing: Drawing<Paint>,
    /// What lies under the drawing; in PNG alone.
    ground: Option<photo::PhotoGround>,
}

/// Letters on a halo.
const fn letters(colour: Colour, halo: Colour) -> Paint {
    Paint::line(halo, HALO).over(colour)
}

impl Picture {
    fn empty() -> Self {
        Self {
            height: 0.0,
            drawing: Drawing::default(),
            ground: None,
        }
    }

    fn paint(&mut self, paint: Paint, shape: Shape) {
        self.drawing.add(paint, None, shape);
    }

    /// Lines painted as one; closed ones have an area.
    fn lines(&mut self, lines: Vec<Vec<Point>>, closed: bool, paint: Paint) {
        let shape = if closed {
            Shape::Area {
                rings: lines,
                circles: Vec::new(),
            }
        } else {
            Shape::Lines(lines)
        };
        self.paint(paint, shape);
    }

    fn line(&mut self, from: Point, to: Point, paint: Paint) {
        self.lines(vec![vec![from, to]], false, paint);
    }

    /// A level line of text in a font of this size.
    fn write(&mut self, text: &str, at: Point, size: f64, align: Align, paint: Paint) {
        let line = TextLine {
            text: text.to_owned(),
            at,
            align,
            height: size * CAPITALS_PER_SIZE,
            angle: Angle::ZERO,
        };
        self.paint(paint, Shape::Text(line));
    }
}

impl Picture {
    /// A picture of `files`: each as read, or its name and why it could not be.
    #[must_use]
    pub fn of(files: &[Result<&Pattern, (&str, &crate::diag::Diagnostics)>]) -> Self {
        let drawn = files.len().min(MOST_FILES);
        let most_height = MOST_HEIGHT / drawn.max(1) as f64;
        let mut picture = Self::empty();
        for file in &files[..drawn] {
            match file {
                Ok(pattern) => sheet::draw(&mut picture, pattern, most_height),
                Err((name, problems)) => sheet::draw_unread(&mut picture, name, problems),
            }
        }
        if files.len() > drawn {
            let more = format!("{} more files are not drawn", files.len() - drawn);
            sheet::heading(&mut picture, &more);
        }
        picture.height = picture.height.max(60.0).ceil();
        picture
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;
    use crate::pattern::{Settings, see};

    const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='100mm' \
        viewBox='0 0 200 100'><path id='bad' d='M10 10L90 90L90 10L10 90Z'/>\
        <path id='good' d='M110 10H190V90H110Z'/></svg>";

    #[test]
    fn faults_are_circled_where_they_are() {
        let pattern = see("a.svg", DRAWING.as_bytes(), &Settings::default()).unwrap();
        let picture = Picture::of(&[Ok(&pattern)]);
        let circles: Vec<Point> = picture
            .drawing
            .items
            .iter()
            .filter_map(|item| match item.shape {
                Shape::Dot { centre, .. } => Some(centre),
                _ => None,
            })
            .collect();
        let [fault] = circles[..] else {
            panic!("one fault, {circles:?}");
        };
        // The crossing is in the middle of the left square, which reaches over 4/9 of the drawing.
        assert!((fault.x / WIDTH - 0.25).abs() < 0.03, "{fault:?}");
        let svg = picture.svg();
        assert!(svg.contains("good") && svg.contains("crosses itself"));
        let png = picture.png().expect("a picture");
        assert!(png.starts_with(b"\x89PNG"));
    }

    #[test]
    fn what_is_outside_a_box_is_not_painted() {
        let paint = Paint::line([0, 0, 0], 4.0);
        let picture = |within: Option<Bounds>, heights: &[f64]| {
            let mut picture = Picture {
                height: 60.0,
                drawing: Drawing::default(),
                ground: None,
            };
            picture.drawing.within = within;
            for &y in heights {
                picture.line(Point::new(0.0, y), Point::new(WIDTH, y), paint);
            }
            picture
        };
        let window = Bounds {
            min: Point::default(),
            max: Point::new(WIDTH, 30.0),
        };
        let boxed = picture(Some(window), &[10.0, 50.0]);
        assert_eq!(boxed.png(), picture(None, &[10.0]).png());
        assert_eq!(boxed.svg().matches("</svg>").count(), 2);
    }

    #[test]
    fn names_are_escaped_and_same_input_gives_same_bytes() {
        let drawing = DRAWING.replace("good", "&lt;b&gt;&#169;");
        let see = || see("a&b.svg", drawing.as_bytes(), &Settings::default()).unwrap();
        let (one, two) = (see(), see());
        let svg = Picture::of(&[Ok(&one)]).svg();
        assert!(svg.contains("&lt;b&gt;") && svg.contains("a&amp;b.svg"));
        assert_eq!(svg, Picture::of(&[Ok(&two)]).svg());
        assert_eq!(
            Picture::of(&[Ok(&one)]).png(),
            Picture::of(&[Ok(&two)]).png()
        );
    }
}
