//! What a format reader hands on: strokes in the pattern frame, not yet sorted into outlines.

use std::collections::HashMap;

use super::{Format, PatternText, UnitFound};
use crate::diag::{Diagnostics, Place};
use crate::geometry::Point;

/// Points that a file may flatten to: about 320 MB.
pub(super) const MOST_POINTS: usize = 20_000_000;

/// Faulty elements or entities of a file that are told one by one.
pub(super) const MOST_FAULTS: usize = 20;

/// A pattern file as drawn.
#[derive(Debug)]
pub(super) struct Drawing {
    pub(super) format: Format,
    pub(super) unit: UnitFound,
    /// Names of layers; shapes refer to them by position.
    pub(super) layers: Vec<String>,
    /// Positions in `layers` by name.
    layer_index: HashMap<String, usize>,
    /// In the order of the file.
    pub(super) shapes: Vec<Shape>,
    pub(super) texts: Vec<PatternText>,
    pub(super) problems: Diagnostics,
}

/// One element or entity: one or more strokes under one id.
#[derive(Debug)]
pub(super) struct Shape {
    /// `path`, `LINE` …
    pub(super) kind: &'static str,
    /// As drawn, or made up by the reader; not yet unique.
    pub(super) id: String,
    /// Index into [`Drawing::layers`].
    pub(super) layer: usize,
    pub(super) strokes: Vec<Stroke>,
}

/// One connected line.
#[derive(Debug)]
pub(super) struct Stroke {
    pub(super) points: Vec<Point>,
    /// Closed as drawn: the last point connects to the first.
    pub(super) closed: bool,
}

impl Drawing {
    pub(super) fn new(format: Format, unit: UnitFound, problems: Diagnostics) -> Self {
        Self {
            format,
            unit,
            layers: Vec::new(),
            layer_index: HashMap::new(),
            shapes: Vec::new(),
            texts: Vec::new(),
            problems,
        }
    }

    /// The layer called `name`, entered if it is new.
    pub(super) fn layer(&mut self, name: &str) -> usize {
        if let Some(&known) = self.layer_index.get(name) {
            return known;
        }
        self.layers.push(name.to_owned());
        self.layer_index
            .insert(name.to_owned(), self.layers.len() - 1);
        self.layers.len() - 1
    }

    /// Where `shape` is, with a position in mm.
    pub(super) fn place(&self, file: &str, shape: &Shape, at: Option<Point>) -> Place {
        let layer = &self.layers[shape.layer];
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

/// `1 line`, `2 lines`.
pub(super) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
