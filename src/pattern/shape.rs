//! What a format reader hands on: strokes in the pattern frame, not yet sorted into outlines.

use std::cell::Cell;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use super::settings::{Colour, Role, Settings};
use super::{Format, PatternText, UnitFound};
use crate::diag::{Diagnostic, Diagnostics, Place, counted, shortened};
use crate::geometry::{Circle, Point};

/// Coordinates beyond this (mm) are refused: no drawing of a part is a kilometre wide.
pub(super) const LIMIT_MM: f64 = 1e6;

/// Points that any file may flatten to.
const MOST_POINTS: usize = 20_000_000;

/// Points that even the smallest file may flatten to. Larger: a few lines of text that ask for a
/// million copies take a second and much memory; smaller: an honest array of small parts is refused.
const POINTS_OF_ANY_FILE: usize = 420_000;

/// Points beyond that for each two bytes of the file. A point takes up to 120 bytes of memory on the way
/// to an outline; a circle takes 184 points and more, and hardly ever fewer than 75 bytes of a file.
const POINTS_PER_TWO_BYTES: usize = 3;

/// What a stroke or a text takes beside its points or letters, in points: its names and places.
const POINTS_OF_A_SHAPE: usize = 16;

/// Letters of a text that take as much memory as a point, for a text is kept several times.
const LETTERS_OF_A_POINT: usize = 8;

/// Longest name of a layer or an element in bytes, as in DXF: it is kept with every shape.
const LONGEST_NAME: usize = 255;

/// Kinds of elements or entities that were not read which are named one by one.
const MOST_KINDS: usize = 20;

/// Faulty elements or entities of a file that are told one by one.
const MOST_FAULTS: usize = 20;

/// A pattern file as drawn.
#[derive(Debug)]
pub(super) struct RawDrawing {
    /// Its name, for messages.
    pub(super) file: String,
    pub(super) format: Format,
    pub(super) unit: UnitFound,
    /// Shapes refer to them by position.
    pub(super) layers: Vec<RawLayer>,
    /// Positions in `layers` by name.
    layer_index: HashMap<String, usize>,
    /// In the order of the file.
    pub(super) shapes: Vec<RawShape>,
    pub(super) texts: Vec<PatternText>,
    pub(super) problems: Diagnostics,
    /// The largest distance in mm between a curve and its chord.
    pub(super) largest_off_mm: f64,
    /// The circles of its circular arcs.
    pub(super) circles: Vec<Circle>,
    settings: Settings,
    /// Shapes left out because of their colour.
    other_colours: usize,
    room: Room,
    /// Elements or entities with faults.
    faults: usize,
    /// Names that were cut short.
    long_names: usize,
    /// Elements or entities that were not read, by name.
    not_read: BTreeMap<String, usize>,
}

/// How much of something there may be.
#[derive(Clone, Copy, Debug)]
pub(super) struct Quota {
    left: usize,
    is_over: bool,
}

impl Quota {
    pub(super) const fn new(most: usize) -> Self {
        Self {
            left: most,
            is_over: false,
        }
    }

    /// Whether there is room for `n` more; once there was none, there is none for less either.
    pub(super) fn spend(&mut self, n: usize) -> bool {
        match self.left.checked_sub(n) {
            Some(left) if !self.is_over => self.left = left,
            _ => self.is_over = true,
        }
        !self.is_over
    }

    /// Makes room for `n` more, unless there was none before.
    const fn give_back(&mut self, n: usize) {
        if !self.is_over {
            self.left += n;
        }
    }

    /// Whether more was asked for than there is.
    pub(super) const fn is_over(&self) -> bool {
        self.is_over
    }
}

/// Room for what a drawing keeps, counted in points; shared by the drawing and the pens that draw it,
/// so that nothing is made that will not be kept.
#[derive(Clone, Debug)]
pub(super) struct Room(Rc<Cell<Quota>>);

impl Room {
    pub(super) fn new(points: usize) -> Self {
        Self(Rc::new(Cell::new(Quota::new(points))))
    }

    /// Room for what a file of `bytes` may hold.
    fn of_file(bytes: usize) -> Self {
        let points =
            POINTS_OF_ANY_FILE.saturating_add(POINTS_PER_TWO_BYTES.saturating_mul(bytes / 2));
        Self::new(points.min(MOST_POINTS))
    }

    /// Whether there is room for `points` more; see [`Quota::spend`].
    pub(super) fn spend(&self, points: usize) -> bool {
        let mut quota = self.0.get();
        let is_left = quota.spend(points);
        self.0.set(quota);
        is_left
    }

    /// Makes room for `points` more: what was drawn takes less than it was paid for.
    pub(super) fn give_back(&self, points: usize) {
        let mut quota = self.0.get();
        quota.give_back(points);
        self.0.set(quota);
    }

    /// Whether more was asked for than there is.
    pub(super) fn is_over(&self) -> bool {
        self.0.get().is_over()
    }
}

/// A layer that something is drawn on.
#[derive(Debug)]
pub(super) struct RawLayer {
    pub(super) name: String,
    /// What it stands for, by its name.
    pub(super) role: Option<Role>,
    /// Whether the job selects it, or it has a role.
    is_taken: bool,
    /// Shapes on it that were left out.
    left_out: usize,
}

/// One element or entity: one or more strokes under one id.
#[derive(Debug)]
pub(super) struct RawShape {
    /// `path`, `LINE` …
    pub(super) kind: &'static str,
    /// As drawn, or made up by the reader; not yet unique.
    pub(super) id: Id,
    /// Index into [`RawDrawing::layers`].
    pub(super) layer: usize,
    /// What it stands for: that of its layer, or by its own id.
    pub(super) role: Option<Role>,
    pub(super) strokes: Strokes,
}

/// What a shape is called. Numbers are turned into text only for the few that need it.
#[derive(Clone, Debug)]
pub(super) enum Id {
    Named(Box<str>),
    /// A DXF handle: a hexadecimal number.
    Handle(u64),
    /// The line of a file without handles.
    Line(usize),
    /// The offset in a binary file without handles.
    Byte(usize),
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Named(name) => f.write_str(name),
            Self::Handle(handle) => write!(f, "{handle:X}"),
            Self::Line(line) => write!(f, "line-{line}"),
            Self::Byte(offset) => write!(f, "byte-{offset}"),
        }
    }
}

/// The strokes of a shape; nearly always one.
#[derive(Debug)]
pub(super) enum Strokes {
    One(Stroke),
    Many(Vec<Stroke>),
}

impl From<Vec<Stroke>> for Strokes {
    fn from(mut strokes: Vec<Stroke>) -> Self {
        match strokes.pop() {
            Some(only) if strokes.is_empty() => Self::One(only),
            last => {
                strokes.extend(last);
                Self::Many(strokes)
            }
        }
    }
}

impl Strokes {
    pub(super) fn take(&mut self) -> impl Iterator<Item = Stroke> + use<> {
        let (one, many) = match std::mem::replace(self, Self::Many(Vec::new())) {
            Self::One(stroke) => (Some(stroke), Vec::new()),
            Self::Many(strokes) => (None, strokes),
        };
        one.into_iter().chain(many)
    }
}

/// One connected line.
#[derive(Debug)]
pub(super) struct Stroke {
    pub(super) points: Vec<Point>,
    /// Closed as drawn: the last point connects to the first.
    pub(super) closed: bool,
}

impl RawDrawing {
    pub(super) fn new(
        file: &str,
        format: Format,
        unit: UnitFound,
        settings: &Settings,
        bytes: usize,
        problems: Diagnostics,
    ) -> Self {
        Self {
            file: file.to_owned(),
            format,
            unit,
            layers: Vec::new(),
            layer_index: HashMap::new(),
            shapes: Vec::new(),
            texts: Vec::new(),
            problems,
            largest_off_mm: 0.0,
            circles: Vec::new(),
            settings: settings.clone(),
            other_colours: 0,
            room: Room::of_file(bytes),
            faults: 0,
            long_names: 0,
            not_read: BTreeMap::new(),
        }
    }

    /// The room that there is, for the pens.
    pub(super) fn room(&self) -> Room {
        self.room.clone()
    }

    /// Adds a shape whose points have been paid for, as long as there is room.
    pub(super) fn push(&mut self, shape: RawShape) {
        let n = match &shape.strokes {
            Strokes::One(_) => 1,
            Strokes::Many(strokes) => strokes.len(),
        };
        if self.room.spend(n * POINTS_OF_A_SHAPE) {
            self.shapes.push(shape);
        }
    }

    /// Adds a text, as long as there is room.
    pub(super) fn push_text(&mut self, text: PatternText) {
        let letters = text.text.len() / LETTERS_OF_A_POINT;
        if self.room.spend(POINTS_OF_A_SHAPE + letters) {
            self.texts.push(text);
        }
    }

    /// Whether shapes had to be left out because there were too many.
    pub(super) fn is_full(&self) -> bool {
        self.room.is_over()
    }

    /// `name`, cut short if it is longer than a name may be.
    pub(super) fn short_name<'n>(&mut self, name: &'n str) -> &'n str {
        if name.len() <= LONGEST_NAME {
            return name;
        }
        self.long_names += 1;
        let ends = (0..=LONGEST_NAME).rev();
        let end = ends.into_iter().find(|&end| name.is_char_boundary(end));
        &name[..end.unwrap_or(0)]
    }

    /// Adds a problem of the file as a whole.
    pub(super) fn problem(&mut self, problem: Diagnostic) {
        let place = Place::File(self.file.clone());
        self.problems.push(problem.at(place));
    }

    /// Adds a problem of one element or entity, unless there were many.
    pub(super) fn fault(&mut self, told: impl FnOnce(&Self) -> Diagnostic) {
        self.faults += 1;
        if self.faults <= MOST_FAULTS {
            self.problems.push(told(self));
        }
    }

    /// Notes that something called `name` was not read.
    pub(super) fn pass_over(&mut self, name: &str) {
        *self.not_read.entry(name.to_owned()).or_default() += 1;
    }

    /// A word on the faults that were too many to tell.
    pub(super) fn tell_more_faults(&mut self, one: &str, many: &str) {
        if self.faults > MOST_FAULTS {
            let more = counted(self.faults - MOST_FAULTS, one, many);
            self.problem(Diagnostic::error(more + " with faults"));
        }
    }

    /// A word on what was not read.
    pub(super) fn tell_not_read(&mut self) {
        let kinds = self.not_read.iter();
        let mut list: Vec<String> = kinds
            .take(MOST_KINDS)
            .map(|(name, n)| format!("{n} {}", shortened(name, LONGEST_NAME)))
            .collect();
        if list.is_empty() {
            return;
        }
        if self.not_read.len() > MOST_KINDS {
            let more = self.not_read.len() - MOST_KINDS;
            list.push(counted(more, "other kind", "other kinds"));
        }
        let warning = Diagnostic::warning(format!(
            "not read, as they are neither lines nor text: {}",
            list.join(", ")
        ));
        self.problem(match self.not_read.contains_key("HATCH") {
            true => warning.help(
                "the boundaries of hatches are read if asked for: `hatches = true` in the \
                 job's `[drawing]`, `--hatches` here",
            ),
            false => warning,
        });
    }

    /// A word on `n` elements or entities that were left out, as `what` says.
    pub(super) fn note_if_any(&mut self, n: usize, what: impl FnOnce(usize) -> String) {
        if n > 0 {
            self.problem(Diagnostic::note(what(n)));
        }
    }

    /// The layer called `name`, entered if it is new.
    pub(super) fn layer(&mut self, name: &str) -> usize {
        if let Some(&known) = self.layer_index.get(name) {
            return known;
        }
        let role = self.settings.layers.role(name);
        // Alone, a layer CUT is what many people call the one with their outlines.
        let role = role.filter(|&r| r != Role::Cut || self.settings.layers.names(Role::Cut));
        self.layers.push(RawLayer {
            name: name.to_owned(),
            role,
            is_taken: match role {
                Some(role) => role != Role::Ignore,
                None => self.settings.only.takes_layer(name),
            },
            left_out: 0,
        });
        self.layer_index
            .insert(name.to_owned(), self.layers.len() - 1);
        self.layers.len() - 1
    }

    /// Whether shapes of `colour` on `layer` are wanted; counts those that are not.
    pub(super) fn takes(&mut self, layer: usize, colour: Option<Colour>) -> bool {
        let layer = &mut self.layers[layer];
        if !layer.is_taken {
            layer.left_out += 1;
            return false;
        }
        let is_taken = layer.role.is_some() || self.settings.only.takes_colour(colour);
        self.other_colours += usize::from(!is_taken);
        is_taken
    }

    /// What an SVG element called `id` on `layer` stands for.
    pub(super) fn role_by_id(&self, layer: usize, id: &str) -> Option<Role> {
        let own = self.layers[layer].role;
        own.or_else(|| self.settings.layers.role(id).filter(|r| r.is_mark()))
    }

    /// A word on what was left out as a whole.
    pub(super) fn note_left_out(&mut self) {
        if self.is_full() {
            let message = "the drawing has too many points, copies or texts for a file of its size, \
                           so only a part of it was read";
            self.problem(
                Diagnostic::error(message).help(
                    "check the unit; if the drawing really is that full, divide it into several files, or \
                     let chords leave curves by more: `chord = \"0.02 mm\"` in the job's `[drawing]`",
                ),
            );
        }
        if self.long_names > 0 {
            let names = counted(self.long_names, "name is", "names are");
            let message = format!("{names} longer than {LONGEST_NAME} letters and cut short");
            self.problem(Diagnostic::warning(message));
        }
        let several = |n| counted(n, "line", "lines");
        for i in 0..self.layers.len() {
            let layer = &self.layers[i];
            let name = layer.name.clone();
            self.note_if_any(layer.left_out, |n| {
                format!("layer {name} is not wanted: {} left out", several(n))
            });
        }
        self.note_if_any(self.other_colours, |n| {
            format!("{} of other colours left out", several(n))
        });
    }

    /// Whether `layer` holds cut lines by its usual name, which counts only beside net lines.
    pub(super) fn may_be_cut(&self, layer: usize) -> bool {
        self.settings.layers.role(&self.layers[layer].name) == Some(Role::Cut)
    }

    /// Where `shape` is, with a position in mm.
    pub(super) fn place(&self, shape: &RawShape, at: Option<Point>) -> Place {
        let layer = &self.layers[shape.layer].name;
        let entity = match self.format {
            Format::Svg => format!("{} \"{}\"", shape.kind, shape.id),
            Format::Photo => shape.id.to_string(),
            Format::Dxf => format!("{} {} on layer {layer}", shape.kind, shape.id),
        };
        Place::Entity {
            file: self.file.clone(),
            entity,
            at_mm: at.map(|p| (p.x, p.y)),
        }
    }
}
