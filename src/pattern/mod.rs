//! Pattern files → outlines: one file per format, chaining of loose segments, healing.
//!
//! Reads bytes, never a disk. All geometry that comes out is in the pattern frame: x right, y up,
//! millimetres, true size.
//!
//! A format's reader (`svg`, `dxf`) turns a file into strokes on layers; everything after that
//! is common to all formats: loose strokes are chained (`chain`), rings are sorted into outlines
//! and openings (`openings`), faults are named and texts become labels (`assemble`). Nothing is
//! repaired or left out without a word in [`Pattern::problems`].
//!
//! # Example
//!
//! ```
//! use warpwise::pattern::{self, Settings};
//!
//! let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm"
//!     viewBox="0 0 200 100"><g id="frame"><path d="M10 10H190V90H10Z M60 30V70H140V30Z"/></g></svg>"#;
//! let pattern = pattern::read("frame.svg", drawing, &Settings::default()).unwrap();
//!
//! let frame = &pattern.outlines()[0];
//! assert_eq!(frame.layer, "frame");
//! // The second loop lies in the first, so it is an opening.
//! assert!((frame.outline.area() - (180.0 * 80.0 - 80.0 * 40.0)).abs() < 1e-6);
//!
//! // What cannot be right is refused, with its place.
//! let crossed = br#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm"
//!     viewBox="0 0 200 100"><path id="bow" d="M10 10L190 90V10L10 90Z"/></svg>"#;
//! let problems = pattern::read("bow.svg", crossed, &Settings::default()).unwrap_err();
//! assert!(problems.iter().any(|problem| problem.message.contains("crosses itself")));
//! ```

mod affine;
mod assemble;
mod chain;
mod choose;
mod clean;
mod doubt;
mod dxf;
mod faults;
mod flatten;
mod healing;
pub mod inspect;
mod marks;
mod names;
mod openings;
mod photo;
mod settings;
mod shape;
mod svg;
mod thin;
mod words;

pub use choose::ChoiceError;
pub use healing::Healing;
pub use marks::{DrawnCut, PatternMark};
pub use settings::{
    CSS_DPI, Colour, ColourError, CrossingRule, Hatches, LayerRoles, PX_MM, Role, Selection,
    Settings,
};
pub use words::LabelWords;

use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{Circle, Outline, Point};
use crate::photo::PhotoFile;
use crate::units::LengthUnit;

/// A file format that patterns come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Scalable Vector Graphics 1.1.
    Svg,
    /// Drawing Interchange Format, ASCII or binary.
    Dxf,
    /// A photograph of a template on its board, JPEG or PNG.
    Photo,
}

/// What a pattern file holds.
#[derive(Clone, Debug)]
pub struct Pattern {
    file: String,
    format: Option<Format>,
    unit: UnitFound,
    outlines: Vec<PatternOutline>,
    lines: Vec<PatternLine>,
    marks: Vec<PatternMark>,
    refused: Vec<PatternLine>,
    texts: Vec<PatternText>,
    circles: Vec<Circle>,
    healing: Healing,
    problems: Diagnostics,
}

/// A flat outline that is computed, for [`Pattern::flat`].
pub(crate) struct FlatOutline {
    pub id: String,
    /// Where the finished part ends.
    pub outline: Outline,
    /// A place to locate by.
    pub drill: Point,
    /// Places on the edge to align by.
    pub notches: Vec<Point>,
    /// Wedges that are cut into it: each from the edge to the tip and back.
    pub darts: Vec<Vec<Point>>,
}

impl Pattern {
    /// The same pattern with more marks: what each stands for, its points and where it is written.
    pub(crate) fn with_marks(&self, more: impl Iterator<Item = (Role, Vec<Point>, Place)>) -> Self {
        let mut pattern = self.clone();
        pattern.marks.extend(
            more.enumerate()
                .map(|(i, (role, points, place))| PatternMark {
                    role,
                    id: format!("mark-{}", i + 1),
                    layer: String::new(),
                    points,
                    closed: false,
                    place,
                }),
        );
        pattern
    }

    /// The pattern of outlines that are computed from `file`.
    pub(crate) fn flat(file: &str, outlines: impl Iterator<Item = FlatOutline>) -> Self {
        let mut pattern = Self {
            file: file.to_owned(),
            format: None,
            unit: UnitFound::Given(LengthUnit::Millimetre),
            outlines: Vec::new(),
            lines: Vec::new(),
            marks: Vec::new(),
            refused: Vec::new(),
            texts: Vec::new(),
            circles: Vec::new(),
            healing: Healing::default(),
            problems: Diagnostics::new(),
        };
        for flat in outlines {
            let place = Place::File(file.to_owned());
            let notches = flat.notches.into_iter().map(|p| (Role::Notch, vec![p]));
            let darts = flat.darts.into_iter().map(|legs| (Role::Dart, legs));
            let drill = (Role::Drill, vec![flat.drill]);
            for (role, points) in notches.chain(darts).chain([drill]) {
                pattern.marks.push(PatternMark {
                    role,
                    id: flat.id.clone(),
                    layer: String::new(),
                    points,
                    closed: false,
                    place: place.clone(),
                });
            }
            pattern.outlines.push(PatternOutline {
                id: flat.id,
                layer: String::new(),
                labels: Vec::new(),
                words: LabelWords::default(),
                outline: flat.outline,
                drawn_cut: None,
                place,
            });
        }
        pattern
    }

    /// The file's name as the user gave it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its format; none where its outlines are computed, not drawn.
    #[must_use]
    pub const fn format(&self) -> Option<Format> {
        self.format
    }

    /// Where its unit comes from.
    #[must_use]
    pub const fn unit(&self) -> UnitFound {
        self.unit
    }

    /// Closed outlines with their openings, in the order of the file.
    #[must_use]
    pub fn outlines(&self) -> &[PatternOutline] {
        &self.outlines
    }

    /// Lines that are not closed: directions, marked edges, or faults.
    #[must_use]
    pub fn lines(&self) -> &[PatternLine] {
        &self.lines
    }

    /// What is drawn on layers of marks, in the order of the file. Open lines among them that give
    /// the 0° direction or an edge with overlap are among [`Pattern::lines`] too.
    #[must_use]
    pub fn marks(&self) -> &[PatternMark] {
        &self.marks
    }

    /// The marks that may be those of `outline`: all that are drawn, by their place. Outlines that are computed all
    /// lie about one origin, each with marks of its own name.
    pub(crate) fn marks_of<'a>(
        &'a self,
        outline: &'a PatternOutline,
    ) -> impl Iterator<Item = &'a PatternMark> {
        let is_own = |mark: &&PatternMark| self.format.is_some() || mark.id == outline.id;
        self.marks.iter().filter(is_own)
    }

    /// Closed lines that make no outline because they cross themselves; the last vertex connects
    /// to the first.
    #[must_use]
    pub fn refused(&self) -> &[PatternLine] {
        &self.refused
    }

    /// Texts.
    #[must_use]
    pub fn texts(&self) -> &[PatternText] {
        &self.texts
    }

    /// The circles that circular arcs of the drawing lie on, each once; those of an outline among
    /// them are found by its vertices.
    #[must_use]
    pub fn circles(&self) -> &[Circle] {
        &self.circles
    }

    /// What was done to the lines so that outlines came of them.
    #[must_use]
    pub const fn healing(&self) -> &Healing {
        &self.healing
    }

    /// What is wrong or remarkable: errors and warnings with places.
    #[must_use]
    pub const fn problems(&self) -> &Diagnostics {
        &self.problems
    }
}

/// Where a pattern's unit comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitFound {
    /// The file says.
    File(LengthUnit),
    /// The settings say.
    Given(LengthUnit),
    /// The settings say how many pixels of the SVG make an inch.
    Pixels(f64),
    /// Nobody says: DXF coordinates were taken as millimetres, SVG pixels as 1/96 in (CSS Values
    /// and Units 3, §6.2).
    Assumed,
}

/// One closed outline of a pattern file.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PatternOutline {
    /// Element id (SVG) or entity handle (DXF); unique in the file, made up if there is none.
    pub id: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// Texts whose anchor lies inside the outline (and in no smaller outline).
    pub labels: Vec<String>,
    /// What those texts say.
    pub words: LabelWords,
    /// The outline, flattened: where the finished part ends, or, if the drawing shows nothing but
    /// its cut line, that.
    pub outline: Outline,
    /// The cut line, where the drawing shows it: allowance included.
    pub drawn_cut: Option<DrawnCut>,
    /// Where it is, for messages.
    pub place: Place,
}

/// One open line of a pattern file.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PatternLine {
    /// Element id or entity handle.
    pub id: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// At least two vertices, from the start as drawn to the end.
    pub points: Vec<Point>,
    /// Where it is, for messages.
    pub place: Place,
}

impl PatternLine {
    /// Whether its ends are so near each other for its length that an outline was likely meant.
    #[must_use]
    pub fn is_nearly_closed(&self) -> bool {
        chain::is_nearly_closed(&self.points)
    }
}

/// One text of a pattern file.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PatternText {
    /// The text, plain.
    pub text: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// Its anchor.
    pub at: Point,
}

/// Reads a pattern file; `file` is its name for messages.
///
/// The format is told by the content; only where that is no help, by the name's ending.
///
/// # Errors
/// All problems found, if the file cannot be read or no closed outline is left. Otherwise problems
/// (which may be errors about single outlines) ride along in [`Pattern::problems`].
pub fn read(file: &str, bytes: &[u8], settings: &Settings) -> Result<Pattern, Diagnostics> {
    with_outlines(see(file, bytes, settings)?)
}

/// What there is to see in a pattern file, even if no closed outline is left: then
/// [`Pattern::problems`] holds an error that says so.
///
/// # Errors
/// All problems found, if the file cannot be read.
pub fn see(file: &str, bytes: &[u8], settings: &Settings) -> Result<Pattern, Diagnostics> {
    let drawing = match recognise(file, bytes)? {
        Format::Svg => svg::read(file, bytes, settings)?,
        Format::Dxf => dxf::read(file, bytes, settings)?,
        Format::Photo => photo::read(&[PhotoFile::new(file, bytes)], settings)?,
    };
    Ok(assemble::assemble(drawing, settings))
}

/// What there is to see in photographs of one template on one board, each of which may show a part of it.
///
/// # Errors
/// All problems found, if no outline can be had of them, or if one of them is no photograph.
pub fn see_joined(files: &[PhotoFile<'_>], settings: &Settings) -> Result<Pattern, Diagnostics> {
    let other = files
        .iter()
        .find(|file| !crate::photo::is_picture(file.bytes));
    if let Some(other) = other {
        return Err(
            Diagnostic::error("only photographs of one template can be joined")
                .at(Place::File(other.name.to_owned()))
                .help("photographs are JPEG or PNG files")
                .into(),
        );
    }
    Ok(assemble::assemble(photo::read(files, settings)?, settings))
}

/// Reads photographs of one template on one board ([`see_joined`]).
///
/// # Errors
/// All problems found, if no outline can be had of them.
pub fn read_joined(files: &[PhotoFile<'_>], settings: &Settings) -> Result<Pattern, Diagnostics> {
    with_outlines(see_joined(files, settings)?)
}

/// `pattern`, unless it has no outline.
fn with_outlines(pattern: Pattern) -> Result<Pattern, Diagnostics> {
    if pattern.outlines.is_empty() {
        Err(pattern.problems)
    } else {
        Ok(pattern)
    }
}

fn recognise(file: &str, bytes: &[u8]) -> Result<Format, Diagnostics> {
    let refuse = |message: &str, help: &str| {
        let place = Place::File(file.to_owned());
        Err(Diagnostic::error(message).at(place).help(help).into())
    };
    let ending = file.rsplit('.').next().unwrap_or_default().to_lowercase();
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return refuse("the file is empty", "export the drawing again");
    }
    if bytes.starts_with(b"\x1f\x8b") {
        return refuse(
            "the file is compressed (gzip), as .svgz files are",
            "unpack it, or save as plain SVG",
        );
    }
    if bytes.starts_with(b"AC10") {
        return refuse("the file is a DWG drawing", "save it as DXF");
    }
    if crate::photo::is_picture(bytes) {
        return Ok(Format::Photo);
    }
    if dxf::is_dxf(bytes) {
        return Ok(Format::Dxf);
    }
    if svg::is_svg(bytes) {
        return Ok(Format::Svg);
    }
    match ending.as_str() {
        "dxf" => Ok(Format::Dxf),
        "svg" => Ok(Format::Svg),
        _ => refuse(
            "the file is neither SVG, DXF, JPEG nor PNG",
            "export the drawing as SVG (in millimetres) or DXF, or photograph the template on its board",
        ),
    }
}
