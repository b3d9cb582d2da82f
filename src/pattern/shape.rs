//! What a format reader hands on: strokes in the pattern frame, not yet sorted into outlines.

use std::collections::HashMap;

use super::settings::{Colour, Role, Settings};
use super::{Format, PatternText, UnitFound};
use crate::diag::{Diagnostic, Diagnostics, Place, counted};
use crate::geometry::{Circle, Point};

/// Points that any file may flatten to: about 320 MB.
const MOST_POINTS: usize = 20_000_000;

/// Points that even the smallest file may flatten to. Larger: a few lines of text that ask for a
/// million copies take a second and much memory; smaller: an honest array of small parts is refused.
const POINTS_OF_ANY_FILE: usize = 300_000;

/// Points beyond that for each byte of the file. A circle of a metre takes a thousand points and
/// some sixty bytes.
const POINTS_PER_BYTE: usize = 64;

/// Faulty elements or entities of a file that are told one by one.
pub(super) const MOST_FAULTS: usize = 20;

/// A pattern file as drawn.
#[derive(Debug)]
pub(super) struct Drawing {
    pub(super) format: Format,
    pub(super) unit: UnitFound,
    /// Shapes refer to them by position.
    pub(super) layers: Vec<Layer>,
    /// Positions in `layers` by name.
    layer_index: HashMap<String, usize>,
    /// In the order of the file.
    pub(super) shapes: Vec<Shape>,
    pub(super) texts: Vec<PatternText>,
    pub(super) problems: Diagnostics,
    /// The largest distance in mm between a curve and its chord.
    pub(super) largest_off_mm: f64,
    /// The circles of its circular arcs.
    pub(super) circles: Vec<Circle>,
    settings: Settings,
    /// Shapes left out because of their colour.
    other_colours: usize,
    /// Points that may still come.
    points_left: usize,
    /// Whether more came.
    is_full: bool,
}

/// A layer that something is drawn on.
#[derive(Debug)]
pub(super) struct Layer {
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
pub(super) struct Shape {
    /// `path`, `LINE` …
    pub(super) kind: &'static str,
    /// As drawn, or made up by the reader; not yet unique.
    pub(super) id: Id,
    /// Index into [`Drawing::layers`].
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

impl Drawing {
    pub(super) fn new(
        format: Format,
        unit: UnitFound,
        settings: &Settings,
        bytes: usize,
        problems: Diagnostics,
    ) -> Self {
        let most = POINTS_OF_ANY_FILE.saturating_add(POINTS_PER_BYTE.saturating_mul(bytes));
        Self {
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
            points_left: most.min(MOST_POINTS),
            is_full: false,
        }
    }

    /// Adds a shape, as long as there is room for its points.
    pub(super) fn push(&mut self, shape: Shape) {
        let n = match &shape.strokes {
            Strokes::One(stroke) => stroke.points.len(),
            Strokes::Many(strokes) => strokes.iter().map(|s| s.points.len()).sum(),
        };
        match self.points_left.checked_sub(n) {
            Some(left) if !self.is_full => {
                self.points_left = left;
                self.shapes.push(shape);
            }
            _ => self.is_full = true,
        }
    }

    /// Whether shapes had to be left out because there were too many points.
    pub(super) fn is_full(&self) -> bool {
        self.is_full
    }

    /// The layer called `name`, entered if it is new.
    pub(super) fn layer(&mut self, name: &str) -> usize {
        if let Some(&known) = self.layer_index.get(name) {
            return known;
        }
        let role = self.settings.layers.role(name);
        // Alone, a layer CUT is what many people call the one with their outlines.
        let role = role.filter(|&r| r != Role::Cut || self.settings.layers.names(Role::Cut));
        self.layers.push(Layer {
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
    pub(super) fn note_left_out(&mut self, file: &str) {
        let place = || Place::File(file.to_owned());
        if self.is_full {
            let message = "the drawing has too many points for a file of its size, so only a part \
                           of it was read";
            self.problems.push(
                Diagnostic::error(message)
                    .at(place())
                    .help("check the unit, or draw with fewer curves and copies"),
            );
        }
        let several = |n| counted(n, "line", "lines");
        for layer in self.layers.iter().filter(|l| l.left_out > 0) {
            let message = format!(
                "layer {} is not wanted: {} left out",
                layer.name,
                several(layer.left_out)
            );
            self.problems.push(Diagnostic::note(message).at(place()));
        }
        if self.other_colours > 0 {
            let message = format!("{} of other colours left out", several(self.other_colours));
            self.problems.push(Diagnostic::note(message).at(place()));
        }
    }

    /// Whether `layer` holds cut lines by its usual name, which counts only beside net lines.
    pub(super) fn may_be_cut(&self, layer: usize) -> bool {
        self.settings.layers.role(&self.layers[layer].name) == Some(Role::Cut)
    }

    /// Where `shape` is, with a position in mm.
    pub(super) fn place(&self, file: &str, shape: &Shape, at: Option<Point>) -> Place {
        let layer = &self.layers[shape.layer].name;
        let entity = match self.format {
            Format::Svg => format!("{} \"{}\"", shape.kind, shape.id),
            Format::Dxf => format!("{} {} on layer {layer}", shape.kind, shape.id),
        };
        Place::Entity {
            file: file.to_owned(),
            entity,
            at_mm: at.map(|p| (p.x, p.y)),
        }
    }
}
