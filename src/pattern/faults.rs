//! What can be wrong with the lines of a drawing, and how a person is told.

use std::collections::BTreeMap;

use crate::diag::{Diagnostic, Diagnostics, Place, counted};
use crate::geometry::Point;

/// What helps where two lines lie almost on each other.
const DOUBLE_LINE: &str = "an outline drawn with a double line? Delete one of the two, or put it on a layer that is not \
                           read; `warpwise inspect` with `--svg FILE` shows where";

/// Faults of one kind that are told one by one; more are counted.
const MOST_OF_A_KIND: usize = 50;

/// One thing that is wrong with, or was done to, a line of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum LineFault {
    /// A coordinate is beyond a kilometre, or no number.
    TooFar,
    /// An outline that nobody can cut; width and height in mm.
    Dust { width: f64, height: f64 },
    /// A closed line without area.
    EnclosesNothing,
    /// An outline that crosses or overlaps itself; this is the `n`th place of so many.
    CrossesItself { n: usize, of: usize },
    /// An outline that was split where it crosses itself.
    Split { crossings: usize, loops: usize },
    /// Spikes that were cut off; the longest in mm.
    Spikes { n: usize, longest: f64 },
    /// An outline that crosses another one, named here, on its layer.
    CrossesAnother(String),
    /// An opening that crosses its outline or another opening.
    OpeningCrosses,
    /// A line that runs just inside its outline, so that a ring this wide (mm) would be cut.
    ThinRing { width: f64 },
    /// An outline that lies almost on another one, named here, and crosses it; how far they are apart in the mean, mm.
    AlmostAlike { other: String, apart: f64 },
    /// An outline drawn again; the first one is named.
    DrawnTwice(String),
    /// Lines drawn again, left out.
    LinesDrawnTwice { n: usize, layer: String },
    /// Lines without length, left out.
    Specks { n: usize, layer: String },
    /// More than two lines of an outline meet in one point; the points are counted.
    Branch {
        lines: usize,
        places: usize,
        layer: String,
    },
    /// Gaps in one outline that were closed; the widest in mm.
    ClosedGap { n: usize, size: f64 },
    /// An open line whose ends are near each other for its length: likely meant to be closed.
    OpenOutline { from: Point, to: Point, join: f64 },
    /// An open line.
    OpenLine { from: Point, to: Point, length: f64 },
}

impl LineFault {
    fn told(&self) -> Diagnostic {
        match self {
            Self::TooFar => Diagnostic::error("this lies more than a kilometre from the origin")
                .help("check the unit of the file, or move the drawing to its origin"),
            Self::Dust { width, height } => Diagnostic::warning(format!(
                "outline of {width:.3} × {height:.3} mm is a speck and was left out"
            ))
            .help("check the unit of the file, or delete the speck"),
            Self::EnclosesNothing => {
                Diagnostic::warning("a closed line that encloses nothing was left out")
            }
            Self::CrossesItself { n: 1, of } => {
                let message = match of {
                    1 => "outline crosses itself".to_owned(),
                    of => format!("outline crosses itself in {of} places; this is the first"),
                };
                Diagnostic::error(message).help(
                    "move or delete a point there so that the edge no longer passes over itself, \
                     or have it split there: `crossing = \"split\"` in the job's `[drawing]`",
                )
            }
            Self::CrossesItself { n, of } => Diagnostic::error(format!(
                "outline crosses itself here too (place {n} of {of})"
            )),
            Self::Split { crossings, loops } => Diagnostic::warning(format!(
                "outline crosses itself in {}; split into {}",
                counted(*crossings, "place", "places"),
                counted(*loops, "outline", "outlines")
            )),
            Self::Spikes { n, longest } => Diagnostic::warning(format!(
                "{} cut off (the line runs out {longest:.3} mm and back on itself)",
                counted(*n, "spike", "spikes")
            )),
            Self::CrossesAnother(other) => {
                Diagnostic::warning(format!("outline crosses {other} on the same layer")).help(
                    "an opening must lie inside its outline; put outlines that overlap on layers \
                     of their own",
                )
            }
            Self::OpeningCrosses => {
                Diagnostic::error("an opening crosses the outline or another opening")
                    .help("move it inside, or put it on a layer of its own")
            }
            Self::ThinRing { width } => Diagnostic::error(format!(
                "two closed lines lie only {width:.2} mm apart, one inside the other: that is a ring \
                 nobody can cut"
            ))
            .help(DOUBLE_LINE),
            Self::AlmostAlike { other, apart } => Diagnostic::error(format!(
                "outline lies almost on {other}, {apart:.2} mm off in the mean, and crosses it"
            ))
            .help(DOUBLE_LINE),
            Self::DrawnTwice(first) => Diagnostic::warning(format!(
                "outline is drawn twice, first as {first}; the second was left out"
            )),
            Self::LinesDrawnTwice { n, layer } => Diagnostic::warning(format!(
                "{}{} drawn twice; the second was left out",
                counted(*n, "line", "lines"),
                on(layer)
            )),
            Self::Specks { n, layer } => Diagnostic::warning(format!(
                "{}{} without length; left out",
                counted(*n, "line", "lines"),
                on(layer)
            )),
            Self::Branch {
                lines,
                places,
                layer,
            } => {
                let more = match places {
                    1 => String::new(),
                    n => format!(" (and at {})", counted(n - 1, "more place", "more places")),
                };
                Diagnostic::warning(format!(
                    "{lines} lines{} meet in one point{more}, so the outline among them had to be guessed",
                    on(layer)
                ))
                .help("put inner lines on a layer of their own")
            }
            Self::ClosedGap { n: 1, size } => {
                Diagnostic::note(format!("closed a gap of {size:.3} mm"))
            }
            Self::ClosedGap { n, size } => Diagnostic::note(format!(
                "closed {n} gaps in this outline, the widest {size:.3} mm"
            )),
            Self::OpenOutline { from, to, join } => Diagnostic::warning(format!(
                "outline is open: {:.3} mm between its ends ({:.2}, {:.2}) and ({:.2}, {:.2})",
                from.distance(*to),
                from.x,
                from.y,
                to.x,
                to.y
            ))
            .help(open_help(from.distance(*to), *join)),
            Self::OpenLine { from, to, length } => Diagnostic::note(format!(
                "line of {length:.2} mm from ({:.2}, {:.2}) to ({:.2}, {:.2}), not closed",
                from.x, from.y, to.x, to.y,
            )),
        }
    }

    /// What more faults of this kind are called when they are only counted.
    const fn name(&self) -> &'static str {
        match self {
            Self::TooFar => "out of range",
            Self::Dust { .. } => "too small",
            Self::EnclosesNothing => "without area",
            Self::CrossesItself { .. } => "crossing themselves",
            Self::Split { .. } => "split at crossings",
            Self::Spikes { .. } => "with spikes",
            Self::CrossesAnother(_) => "crossing each other",
            Self::OpeningCrosses => "crossed by an opening",
            Self::ThinRing { .. } | Self::AlmostAlike { .. } => "too near another",
            Self::DrawnTwice(_) | Self::LinesDrawnTwice { .. } => "drawn twice",
            Self::Specks { .. } => "without length",
            Self::Branch { .. } => "branching",
            Self::ClosedGap { .. } => "with a gap that was closed",
            Self::OpenOutline { .. } | Self::OpenLine { .. } => "open",
        }
    }
}

/// Largest gap (mm) that somebody may want to have closed on reading.
const MOST_JOINED_MM: f64 = 20.0;

/// How to mend an outline that is open by `gap` mm where those up to `join` mm are closed.
fn open_help(gap: f64, join: f64) -> String {
    let mut help =
        format!("close the gap in the drawing; gaps up to {join} mm are closed on reading");
    if gap < MOST_JOINED_MM {
        // Rounded up to a tenth, so that the gap itself is closed.
        let enough = (gap * 10.0).floor() / 10.0 + 0.1;
        help.push_str(&format!(
            "; `join_gap = \"{enough:.1} mm\"` in the job's `[drawing]` closes this one too"
        ));
    }
    help
}

fn on(layer: &str) -> String {
    if layer.is_empty() {
        String::new()
    } else {
        format!(" on layer {layer}")
    }
}

/// Collects faults and keeps a flood of one kind readable.
#[derive(Default)]
pub(super) struct Faults {
    problems: Diagnostics,
    /// How many of each kind came, by name.
    seen: BTreeMap<&'static str, usize>,
}

impl Faults {
    /// A collection that starts with the problems the reader found.
    pub(super) fn after(problems: Diagnostics) -> Self {
        Self {
            problems,
            seen: BTreeMap::new(),
        }
    }

    /// Adds `fault`, found at `place`.
    pub(super) fn tell(&mut self, fault: &LineFault, place: Place) {
        let seen = self.seen.entry(fault.name()).or_default();
        *seen += 1;
        if *seen <= MOST_OF_A_KIND {
            self.problems.push(fault.told().at(place));
        }
    }

    /// Adds a problem of the file as a whole.
    pub(super) fn of_file(&mut self, problem: Diagnostic, file: &str) {
        self.problems.push(problem.at(Place::File(file.to_owned())));
    }

    /// All problems, with a count of those that were too many to tell.
    pub(super) fn into_problems(mut self, file: &str) -> Diagnostics {
        for (name, &n) in &self.seen {
            if n > MOST_OF_A_KIND {
                let more = counted(n - MOST_OF_A_KIND, "more line", "more lines");
                let place = Place::File(file.to_owned());
                self.problems
                    .push(Diagnostic::warning(format!("{more} {name}")).at(place));
            }
        }
        self.problems
    }
}
