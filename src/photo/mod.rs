//! From a photograph of a template on its printed board to outlines in true size.
//!
//! [`board`] is what is printed: coded marks ([`MarkCode`]) and a field of dots on every sheet. A picture is
//! decoded within limits (`picture`); marks are found in a small grey copy of it (`marks`) and tell roughly where the
//! camera was, so that all dots can be found to hundredths of a pixel (`dots`). Camera, lens, how every sheet is taped
//! and how the board waves are fitted to them in one go (`fit`, `camera`, `solve`). The template is told from the
//! board by its colour (`light`, `template`, `regions`), its edge is placed by its brightness wherever nothing is printed beside it
//! (`trace`, `brightness`, `printed`), and divided into straight edges and arcs
//! with sharp corners (`edges`, `divide`, `pieces`, `shape`, `corner`, `ring`); `pen` reads what is drawn on it.
//!
//! Several pictures of one board are fitted together, and what one of them cuts off goes on in the next (`join`). A scanner's
//! image needs no board, only its resolution (`scan`).
//!
//! What cannot be right is refused ([`read`]), and what is read comes with the error that it may have.
//! The figures are from rendered pictures, not from cameras.

pub mod board;
mod brightness;
mod camera;
mod code;
mod corner;
mod divide;
mod dots;
mod edges;
mod fit;
mod join;
mod light;
mod locate;
mod marks;
mod pen;
mod picture;
mod pieces;
mod printed;
mod rectify;
mod refuse;
mod regions;
mod ring;
mod scan;
mod seen;
mod shape;
mod solve;
mod template;
mod told;
mod trace;

pub use code::{CELLS, MarkCode};
pub(crate) use picture::is_picture;
pub use rectify::{Rectified, rectified};
pub use shape::TOLERANCE;

use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{Circle, Point};
use crate::units::Length;
use edges::Tracing;
use join::{JoinFault, WholeTemplate};
use pen::PenMark;
use seen::SeenPicture;

/// What a person knows of a photograph.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct PhotoSettings {
    /// Lengths of the two long lines of the board, measured on the print: the level one and the upright one.
    pub measured: [Option<Length>; 2],
    /// How thick the template is: its upper edge is seen so high above the board. None is taken as nothing.
    pub thickness: Option<Length>,
    /// Further pictures of the same template on the same board, by their names.
    pub joined_with: Vec<String>,
    /// Pixels to the inch of a scanner's image, which needs no board.
    pub scan_dpi: Option<f64>,
}

/// A picture file: its name for messages, and its bytes.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct PhotoFile<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its content.
    pub bytes: &'a [u8],
}

impl<'a> PhotoFile<'a> {
    /// A file of this name and content.
    #[must_use]
    pub const fn new(name: &'a str, bytes: &'a [u8]) -> Self {
        Self { name, bytes }
    }
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

/// Reads the photograph `file`, whose content is `bytes`.
///
/// # Errors
/// Why no outline can be had of it, and what to do about that.
pub fn read(file: &str, bytes: &[u8], settings: &PhotoSettings) -> Result<Sight, Diagnostics> {
    read_all(&[PhotoFile::new(file, bytes)], settings)
}

/// Reads several photographs of one template on one board, each of which may show a part of it.
///
/// # Errors
/// Why no outline can be had of them, and what to do about that.
pub fn read_all(files: &[PhotoFile<'_>], settings: &PhotoSettings) -> Result<Sight, Diagnostics> {
    let pictures = seen::all(files, settings).map_err(|(n, problem)| refused(files, n, problem))?;
    read_seen(&pictures, files, settings)
}

/// `problem`, which is one of the picture with this number.
fn refused(files: &[PhotoFile<'_>], n: usize, problem: Diagnostic) -> Diagnostics {
    let name = files.get(n).map_or("", |file| file.name);
    Diagnostics::from(problem.at(Place::File(name.to_owned())))
}

/// `problem` with the edge of a template, which is there on the board.
fn refused_at(files: &[PhotoFile<'_>], at: Point, problem: Diagnostic) -> Diagnostics {
    let place = Place::Entity {
        file: files.first().map_or("", |file| file.name).to_owned(),
        entity: "the edge of the template".to_owned(),
        at_mm: Some((at.x, at.y)),
    };
    Diagnostics::from(problem.at(place))
}

/// Reads pictures whose board was located.
fn read_seen(
    pictures: &[SeenPicture],
    files: &[PhotoFile<'_>],
    settings: &PhotoSettings,
) -> Result<Sight, Diagnostics> {
    let thickness = settings.thickness.map_or(0.0, Length::to_mm);
    let (mut laid, mut seeing) = (Vec::new(), Vec::new());
    for (n, picture) in pictures.iter().enumerate() {
        let found = picture.templates();
        refuse::templates(&found, &picture.located)
            .map_err(|problem| refused(files, n, problem))?;
        if let Some(at) = picture.shadow(&found, thickness) {
            return Err(refused_at(
                &files[n..],
                at,
                refuse::lifted("its edge throws a shadow"),
            ));
        }
        seeing.push(picture.sharpness(&found));
        laid.push(picture.laid(&found, thickness));
    }
    let joined = join::joined(&laid).map_err(|fault| match fault {
        JoinFault::NotShown(at) => refused_at(files, at, refuse::over_border(files.len())),
        JoinFault::Lifted(at) => refused_at(files, at, refuse::lifted("it is seen in two places")),
        JoinFault::Moved(at) => refused_at(files, at, refuse::template_moved()),
    })?;
    let pixel = seeing.iter().map(|s| s.pixel).fold(0.0, f64::max);
    let soft = seeing.iter().map(|s| s.soft).fold(0.0, f64::max);
    let soft_weak = seeing.iter().map(|s| s.soft_weak).fold(0.0, f64::max);
    let tracing = Tracing {
        pixel,
        soft,
        weak: &joined.weak,
        soft_weak,
    };
    let mut shapes = Shapes {
        by_height: seeing.iter().map(|s| s.by_height).fold(0.0, f64::max),
        ..Shapes::default()
    };
    let templates: Vec<SeenTemplate> = (joined.templates.iter())
        .filter_map(|template| shapes.template(template, &tracing))
        .collect();
    if templates.is_empty() {
        return Err(refused(files, 0, refuse::no_template()));
    }
    let seen = seeing.iter().map(|s| s.error).fold(0.0, f64::max);
    let error = libm::hypot(libm::hypot(seen, shapes.error), joined.seam);
    refuse::error(error).map_err(|problem| refused_at(files, shapes.worst, problem))?;
    let mut told = Diagnostics::new();
    for note in told::notes(pictures, error, &shapes, settings) {
        told.push(note.at(Place::File(files[0].name.to_owned())));
    }
    Ok(Sight {
        templates,
        error,
        told,
    })
}

/// What edges were made of.
#[derive(Default)]
struct Shapes {
    straight: usize,
    arcs: usize,
    /// How far off an edge is seen that is a millimetre up, mm.
    by_height: f64,
    /// Pen marks that nobody understands.
    other: usize,
    /// How far an edge may be off by its noise and by doubtful corners, mm.
    error: f64,
    /// Where that is.
    worst: Point,
}

impl Shapes {
    /// The edges of `whole` made of what was seen of them.
    fn template(&mut self, whole: &WholeTemplate, tracing: &Tracing<'_>) -> Option<SeenTemplate> {
        let mut template = SeenTemplate::default();
        let mut take = |line: &[Point]| {
            let edge = edges::made(line, tracing)?;
            self.straight += edge.straight;
            self.arcs += edge.arcs;
            if edge.error > self.error {
                (self.error, self.worst) = (edge.error, edge.worst);
            }
            template.circles.extend(edge.circles);
            Some(edge.points)
        };
        let edge = take(&whole.edge)?;
        let openings = whole
            .openings
            .iter()
            .filter_map(|line| take(line))
            .collect();
        for mark in &whole.pen {
            match mark {
                PenMark::Line(ends) => template.lines.push(*ends),
                PenMark::Cross(at) => template.crosses.push(*at),
                PenMark::Other => self.other += 1,
            }
        }
        Some(SeenTemplate {
            edge,
            openings,
            ..template
        })
    }
}
