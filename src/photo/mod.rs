//! From a photograph of a template on its printed board to outlines in true size.
//!
//! [`board`] is what is printed: coded marks ([`MarkCode`]) and a field of dots on every sheet. A picture is
//! decoded within limits (`picture`); marks are found in a small grey copy of it (`marks`) and tell roughly where the
//! camera was, so that all dots can be found to hundredths of a pixel (`dots`). Camera, lens, how every sheet is taped
//! and how the board waves are fitted to them in one go (`fit`, `camera`, `solve`). The template is told from the
//! board by its colour (`light`, `template`, `regions`), and its edge is made into straight edges, arcs
//! and curves with sharp corners (`edges`, `ring`); `pen` reads what is drawn on it.
//!
//! What cannot be right is refused ([`read`]), and what is read comes with the error that it may have.
//! The figures are from rendered pictures, not from cameras.

pub mod board;
mod camera;
mod code;
mod dots;
mod edges;
mod fit;
mod light;
mod locate;
mod marks;
mod pen;
mod picture;
mod refuse;
mod regions;
mod ring;
mod solve;
mod template;

pub use code::{CELLS, MarkCode};
pub use edges::TOLERANCE;
pub(crate) use picture::is_picture;

use std::collections::BTreeMap;

use crate::diag::{Diagnostic, Diagnostics, Place, counted};
use crate::geometry::{Circle, Point};
use crate::units::Length;
use board::Board;
use locate::{LocatedMarks, locate};
use marks::FoundMark;
use pen::PenMark;
use picture::Picture;
use template::FoundTemplate;

/// What a person knows of a photograph.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct PhotoSettings {
    /// Lengths of the two long lines of the board, measured on the print: the level one and the upright one.
    pub measured: [Option<Length>; 2],
    /// How thick the template is: its upper edge is seen so high above the board. None is taken as nothing.
    pub thickness: Option<Length>,
}

/// What is seen on a board, in millimetres: x right, y up, origin in the lower left corner of the board.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Sight {
    /// The templates, the largest first.
    pub templates: Vec<SeenTemplate>,
    /// How far an edge may be off, mm.
    pub error: f64,
    /// What is to be known of it.
    pub told: Diagnostics,
}

/// A template that was seen.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct SeenTemplate {
    /// Its edge; closed.
    pub edge: Vec<Point>,
    /// The edges of its openings; closed.
    pub openings: Vec<Vec<Point>>,
    /// The circles that arcs of all these lie on.
    pub circles: Vec<Circle>,
    /// Lines drawn on it, from left to right.
    pub lines: Vec<[Point; 2]>,
    /// Crosses drawn on it.
    pub crosses: Vec<Point>,
}

/// A picture whose board was located.
struct SeenBoard {
    picture: Picture,
    board: Board,
    located: LocatedMarks,
}

/// Reads the photograph `file`, whose content is `bytes`.
///
/// # Errors
/// Why no outline can be had of it, and what to do about that.
pub fn read(file: &str, bytes: &[u8], settings: &PhotoSettings) -> Result<Sight, Diagnostics> {
    let refused = |problem: Diagnostic| Diagnostics::from(problem.at(Place::File(file.to_owned())));
    let seen = see_board(bytes, settings).map_err(refused)?;
    let thickness = settings.thickness.map_or(0.0, Length::to_mm);
    let found = template::find(&seen.picture, &seen.board, &seen.located);
    refuse::templates(&found, &seen.located).map_err(refused)?;
    let mut sight = Sight {
        templates: Vec::new(),
        error: 0.0,
        told: Diagnostics::new(),
    };
    let mut shapes = Shapes::default();
    for template in &found {
        sight
            .templates
            .extend(seen.template(template, thickness, &mut shapes));
    }
    if sight.templates.is_empty() {
        return Err(refused(refuse::no_template()));
    }
    sight.error = seen.error(&found, shapes.error);
    refuse::error(sight.error).map_err(refused)?;
    for note in seen.notes(&sight, &shapes, settings) {
        sight.told.push(note.at(Place::File(file.to_owned())));
    }
    Ok(sight)
}

/// What edges were made of.
#[derive(Default)]
struct Shapes {
    straight: usize,
    arcs: usize,
    curves: usize,
    /// Pen marks that nobody understands.
    other: usize,
    error: f64,
}

fn see_board(bytes: &[u8], settings: &PhotoSettings) -> Result<SeenBoard, Diagnostic> {
    let picture = Picture::decoded(bytes).map_err(|fault| refuse::picture(&fault))?;
    let marks = marks::find(&picture.small());
    let (board, marks) = most_common(marks);
    let Some(board) = board.filter(|_| marks.len() >= locate::LEAST_MARKS) else {
        return Err(refuse::few_marks(marks.len()));
    };
    let measured = settings.measured.map(|length| length.map(Length::to_mm));
    let located = locate(&picture, board, &marks, measured).ok_or_else(refuse::no_dots)?;
    refuse::board(&board, &located, measured, &picture)?;
    Ok(SeenBoard {
        picture,
        board,
        located,
    })
}

/// The board that most of the marks belong to, and those.
fn most_common(marks: Vec<FoundMark>) -> (Option<Board>, Vec<FoundMark>) {
    let key = |board: &Board| (board.paper, board.columns, board.rows);
    let mut counts = BTreeMap::new();
    for mark in &marks {
        *counts.entry(key(&mark.label.board)).or_insert(0) += 1;
    }
    let most = counts.into_iter().max_by_key(|&(_, n)| n).map(|(k, _)| k);
    let marks: Vec<FoundMark> = (marks.into_iter())
        .filter(|mark| Some(key(&mark.label.board)) == most)
        .collect();
    (marks.first().map(|mark| mark.label.board), marks)
}

impl SeenBoard {
    /// Millimetres of the board to a pixel at a place in pixels.
    fn pixel_at(&self, p: Point) -> f64 {
        let at = |dx: f64, dy: f64| {
            self.located
                .scene
                .place(Point::new(p.x + dx, p.y + dy), 0.0)
        };
        match (at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0)) {
            (Some(o), Some(x), Some(y)) => o.distance(x).max(o.distance(y)),
            _ => 1.0,
        }
    }

    /// The largest of that over the places of a line.
    fn pixel_along(&self, line: &[Point]) -> f64 {
        let step = line.len().div_ceil(40).max(1);
        line.iter()
            .step_by(step)
            .map(|&p| self.pixel_at(p))
            .fold(0.0, f64::max)
    }

    fn template(
        &self,
        found: &FoundTemplate,
        thickness: f64,
        shapes: &mut Shapes,
    ) -> Option<SeenTemplate> {
        let pixel = self.pixel_along(&found.edge);
        let on_board = |line: &[Point]| -> Vec<Point> {
            line.iter()
                .filter_map(|&p| self.located.scene.place(p, thickness))
                .collect()
        };
        let mut template = SeenTemplate::default();
        let mut take = |line: &[Point]| {
            let edge = edges::made(&on_board(line), pixel)?;
            shapes.straight += edge.straight;
            shapes.arcs += edge.arcs;
            shapes.curves += edge.curves;
            shapes.error = shapes.error.max(edge.error);
            template.circles.extend(edge.circles);
            Some(edge.points)
        };
        let edge = take(&found.edge)?;
        let openings: Vec<Vec<Point>> = found.holes.iter().filter_map(|hole| take(hole)).collect();
        for inked in &found.inked {
            let area = (pixel * self.picture.scale() as f64).powi(2);
            match pen::read(&on_board(inked), area) {
                PenMark::Line(ends) => template.lines.push(ends),
                PenMark::Cross(at) => template.crosses.push(at),
                PenMark::Other => shapes.other += 1,
            }
        }
        Some(SeenTemplate {
            edge,
            openings,
            ..template
        })
    }

    /// How far an edge may be off, mm: what the dots leave, what a pixel is worth, and `traced`, what the noise of the
    /// traced edges and doubtful corners may do.
    fn error(&self, found: &[FoundTemplate], traced: f64) -> f64 {
        let pixel = found
            .iter()
            .map(|t| self.pixel_along(&t.edge))
            .fold(0.0, f64::max);
        let soft = found.iter().map(|t| t.softness).fold(0.0, f64::max);
        let dots = self.located.left_pixels * pixel;
        let edge = pixel * (0.28 + 0.06 * soft);
        (0.05_f64.powi(2) + (2.0 * dots).powi(2) + edge * edge + traced * traced).sqrt()
    }

    fn notes(&self, sight: &Sight, shapes: &Shapes, settings: &PhotoSettings) -> Vec<Diagnostic> {
        let error = Length::mm(sight.error).in_mm_and_inches();
        let mut message = format!(
            "edges to about {error} by what {} of the board say (figures from rendered pictures: check your own camera with a \
             steel rule)",
            counted(self.located.dots.len(), "dot", "dots"),
        );
        let assumed = match settings.thickness {
            Some(thickness) => format!(
                "; the template is {} thick and lies flat",
                thickness.in_mm_and_inches()
            ),
            None => "; the template is taken to be thin and to lie flat".to_owned(),
        };
        message.push_str(&assumed);
        let edges = [
            (shapes.straight, "straight edge", "straight edges"),
            (shapes.arcs, "arc", "arcs"),
            (shapes.curves, "curve", "curves"),
        ];
        let edges = edges
            .iter()
            .filter(|e| e.0 > 0)
            .map(|e| counted(e.0, e.1, e.2));
        let edges: Vec<String> = edges.collect();
        let within = Length::mm(TOLERANCE).in_mm_and_inches();
        let mut all = vec![
            Diagnostic::note(message),
            Diagnostic::note(format!(
                "{}, each within {within} of what is seen, its noise averaged out",
                edges.join(", ")
            )),
        ];
        if settings.measured == [None, None] {
            let message =
                "the board is taken to be printed true; printers are off by up to 5 mm in a metre";
            let help = "measure the two long lines of the board, and give their lengths as `board_width` and `board_height`";
            all.push(Diagnostic::warning(message).help(help));
        }
        if shapes.other > 0 {
            let message = format!(
                "{} on the template {} neither a line nor a cross, and left out",
                counted(shapes.other, "mark", "marks"),
                if shapes.other == 1 { "is" } else { "are" }
            );
            all.push(Diagnostic::note(message));
        }
        all
    }
}
