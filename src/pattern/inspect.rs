//! What pattern files hold, as a table for people and as JSON for machines.

use std::fmt::Write as _;

use serde::Serialize;

use super::{Format, Pattern, PatternMark, PatternOutline, UnitFound};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, counted, shortened};
use crate::geometry::Outline;

/// What `inspect` says of some files; serialises to the contract of `inspect --json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Inspection {
    /// One entry per file, in the order they were given.
    pub files: Vec<FileInspection>,
}

/// What one file holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FileInspection {
    /// The file's name as the user gave it.
    pub path: String,
    /// Symbol of the unit of its coordinates; `px` for an SVG without physical size, empty if the
    /// file could not be read.
    pub unit: String,
    /// Its outlines, in the order of the file.
    pub outlines: Vec<OutlineInspection>,
    /// Errors and warnings.
    pub faults: Vec<FaultInspection>,
    /// What is drawn on layers of marks, in the order of the file.
    pub marks: Vec<MarkInspection>,
    /// What was done to the lines, one text for each kind of thing.
    pub healing: Vec<String>,
    /// Number of open lines; for people.
    #[serde(skip)]
    pub open_lines: usize,
    /// Number of 0° lines, heads of arrows not counted; for people.
    #[serde(skip)]
    pub zero_lines: usize,
    /// Whether somebody (the file or the user) stated the unit; for people.
    #[serde(skip)]
    pub unit_is_stated: bool,
}

/// The measures of one outline.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OutlineInspection {
    /// Its id, unique in the file.
    pub id: String,
    /// Its layer; empty if there is none.
    pub layer: String,
    /// Area in mm², openings taken off.
    pub area_mm2: f64,
    /// Length of the outer boundary in mm.
    pub perimeter_mm: f64,
    /// x and y of the lower left and of the upper right corner, mm.
    pub bbox_mm: [f64; 4],
    /// How many openings it has.
    pub openings: usize,
    /// How many vertices all its boundaries have.
    pub points: usize,
    /// Texts inside it.
    pub labels: Vec<String>,
    /// The piece's name, as those texts say it.
    pub name: Option<String>,
    /// How many are to be made, as those texts say it.
    pub quantity: Option<u32>,
    /// The plies it is for, as those texts say it.
    pub plies: Vec<u32>,
    /// The id of its cut line, where the drawing shows that; its own, if it is one and stands alone.
    pub cut_line: Option<String>,
    /// The id of the outline whose cut line this is.
    pub cut_line_of: Option<String>,
}

/// One thing on a layer of marks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct MarkInspection {
    /// What it stands for: `zero`, `overlap`, `notch` or `drill`.
    pub kind: &'static str,
    /// Its id.
    pub id: String,
    /// Its layer.
    pub layer: String,
    /// Where its middle is, mm.
    pub at_mm: [f64; 2],
}

/// One thing that is wrong with a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FaultInspection {
    /// What, and where in the file.
    pub message: String,
    /// Where on the drawing, mm.
    pub at_mm: Option<[f64; 2]>,
}

impl Inspection {
    /// What was read of each file, with the file's name.
    #[must_use]
    pub fn of<'a>(
        files: impl IntoIterator<Item = (&'a str, &'a Result<Pattern, Diagnostics>)>,
    ) -> Self {
        let files = files.into_iter().map(|(path, read)| match read {
            Ok(pattern) => FileInspection::of(pattern),
            Err(problems) => FileInspection {
                path: path.to_owned(),
                faults: faults(problems),
                ..FileInspection::default()
            },
        });
        Self {
            files: files.collect(),
        }
    }

    /// A table per file.
    #[must_use]
    pub fn table(&self) -> String {
        let tables: Vec<String> = self.files.iter().map(FileInspection::table).collect();
        tables.join("\n")
    }
}

impl FileInspection {
    fn of(pattern: &Pattern) -> Self {
        let (unit, unit_is_stated) = match pattern.unit {
            UnitFound::File(unit) | UnitFound::Given(unit) => (unit.symbol(), true),
            UnitFound::Pixels(_) => ("px", true),
            UnitFound::Assumed => match pattern.format {
                Some(Format::Svg) => ("px", false),
                Some(Format::Dxf | Format::Photo) | None => ("mm", false),
            },
        };
        Self {
            path: pattern.file.clone(),
            unit: unit.to_owned(),
            outlines: (pattern.outlines.iter())
                .flat_map(|o| {
                    let own = std::iter::once(OutlineInspection::of(o));
                    own.chain(OutlineInspection::of_cut_line(o))
                })
                .collect(),
            faults: faults(&pattern.problems),
            marks: pattern.marks.iter().map(MarkInspection::of).collect(),
            healing: pattern.healing.told(),
            zero_lines: pattern.zero_lines().count(),
            // Directions and edges are counted as marks.
            open_lines: pattern.lines.len() - pattern.marks.iter().filter(|m| m.is_line()).count(),
            unit_is_stated,
        }
    }

    fn table(&self) -> String {
        if self.unit.is_empty() {
            return format!("{}: not read\n", self.path);
        }
        let assumed = match self.unit_is_stated {
            true => "",
            false => " (assumed)",
        };
        let mut text = format!(
            "{}: unit {}{assumed}, {}, {}",
            self.path,
            self.unit,
            counted(self.outlines.len(), "outline", "outlines"),
            counted(self.open_lines, "open line", "open lines"),
        );
        for (kind, one, many) in [
            ("zero", "0° line", "0° lines"),
            ("overlap", "edge with overlap", "edges with overlap"),
            ("notch", "notch", "notches"),
            ("drill", "drill mark", "drill marks"),
        ] {
            let n = match kind {
                "zero" => self.zero_lines,
                kind => self.marks.iter().filter(|m| m.kind == kind).count(),
            };
            if n > 0 {
                _ = write!(text, ", {}", counted(n, one, many));
            }
        }
        text.push('\n');
        let head = OutlineRow::from([
            "id",
            "layer",
            "size mm",
            "size in",
            "area cm²",
            "length mm",
            "openings",
            "points",
            "labels",
        ])
        .map(str::to_owned);
        let rows = || {
            std::iter::once(head.clone()).chain(self.outlines.iter().map(OutlineInspection::cells))
        };
        // Names to the left, numbers to the right.
        align(
            rows,
            [false, false, true, true, true, true, true, true, false],
            &mut text,
        );
        for done in &self.healing {
            _ = writeln!(text, "  healed: {done}");
        }
        text
    }
}

impl OutlineInspection {
    fn of(outline: &PatternOutline) -> Self {
        Self {
            labels: outline.labels.clone(),
            name: outline.words.name.clone(),
            quantity: outline.words.quantity,
            plies: outline.words.plies.clone(),
            cut_line: outline.drawn_cut.as_ref().map(|cut| cut.id.clone()),
            ..Self::measured(&outline.id, &outline.layer, &outline.outline)
        }
    }

    /// The cut line drawn around an outline: a closed line of the file like the others.
    fn of_cut_line(outline: &PatternOutline) -> Option<Self> {
        let cut = outline.drawn_cut.as_ref().filter(|c| !c.stands_alone)?;
        Some(Self {
            cut_line_of: Some(outline.id.clone()),
            ..Self::measured(&cut.id, &cut.layer, &cut.outline)
        })
    }

    fn measured(id: &str, layer: &str, shape: &Outline) -> Self {
        let bounds = shape.bounds();
        Self {
            id: id.to_owned(),
            layer: layer.to_owned(),
            area_mm2: shape.area(),
            perimeter_mm: shape.outer.perimeter(),
            bbox_mm: [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y],
            openings: shape.openings.len(),
            points: shape.rings().map(|r| r.points().len()).sum(),
            ..Self::default()
        }
    }

    fn cells(&self) -> OutlineRow<String> {
        let [left, bottom, right, top] = self.bbox_mm;
        let (width, height) = (right - left, top - bottom);
        [
            shortened(&self.id, LONGEST_CELL).into_owned(),
            shortened(&self.layer, LONGEST_CELL).into_owned(),
            format!("{width:.1} × {height:.1}"),
            format!("{:.2} × {:.2}", width / 25.4, height / 25.4),
            format!("{:.2}", self.area_mm2 / 100.0),
            format!("{:.1}", self.perimeter_mm),
            self.openings.to_string(),
            self.points.to_string(),
            self.words(),
        ]
    }

    /// The labels, and what belongs to what.
    fn words(&self) -> String {
        let cut = match (&self.cut_line, &self.cut_line_of) {
            (Some(cut), _) if *cut == self.id => Some("[is a cut line]".to_owned()),
            (Some(cut), _) => Some(format!("[cut line: {cut}]")),
            (None, Some(net)) => Some(format!("[cut line of {net}]")),
            (None, None) => None,
        };
        let labels = self.labels.iter().map(String::as_str);
        let words: Vec<&str> = labels.chain(cut.as_deref()).collect();
        words.join(", ")
    }
}

impl MarkInspection {
    fn of(mark: &PatternMark) -> Self {
        let centre = mark.centre();
        Self {
            kind: mark.role.word(),
            id: mark.id.clone(),
            layer: mark.layer.clone(),
            at_mm: [centre.x, centre.y],
        }
    }
}

/// The errors and warnings among `problems`.
fn faults(problems: &Diagnostics) -> Vec<FaultInspection> {
    problems
        .iter()
        .filter(|p| p.severity > Severity::Note)
        .map(FaultInspection::of)
        .collect()
}

impl FaultInspection {
    /// What `problem` says.
    #[must_use]
    pub fn of(problem: &Diagnostic) -> Self {
        let (place, at_mm) = match &problem.place {
            Some(Place::Line { line, .. }) => (format!(" (line {line})"), None),
            Some(Place::Entity { entity, at_mm, .. }) => {
                (format!(" ({entity})"), at_mm.map(|(x, y)| [x, y]))
            }
            Some(Place::File(_) | Place::Text { .. }) | None => (String::new(), None),
        };
        Self {
            message: format!("{}{place}", problem.message),
            at_mm,
        }
    }
}

/// The cells of one line of the table.
type OutlineRow<T> = [T; 9];

/// Longest cell of the table in letters; names and texts of a drawing may have any length.
const LONGEST_CELL: usize = 160;

/// Writes `rows` in columns wide enough for their longest cell, two blanks between. The rows are made
/// twice: kept, they would take more memory than the drawing.
fn align<I: Iterator<Item = OutlineRow<String>>>(
    rows: impl Fn() -> I,
    to_the_right: OutlineRow<bool>,
    text: &mut String,
) {
    let mut widths = [0; 9];
    for row in rows() {
        for (width, cell) in widths.iter_mut().zip(&row) {
            *width = cell.chars().count().min(LONGEST_CELL).max(*width);
        }
    }
    for row in rows() {
        let mut line = String::from(" ");
        for ((cell, width), right) in row.iter().zip(widths).zip(to_the_right) {
            let cell = shortened(cell, LONGEST_CELL);
            _ = if right {
                write!(line, " {cell:>width$} ")
            } else {
                write!(line, " {cell:<width$} ")
            };
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
}
