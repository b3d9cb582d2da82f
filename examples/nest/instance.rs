//! A strip-packing instance: the file, and the problem it poses.

use std::path::Path;

use serde::{Deserialize, Serialize};
use warpwise::geometry::{Outline, Point, Ring};
use warpwise::nest::{Problem, Shape};
use warpwise::units::Angle;

use super::{Failure, generate};

/// An instance as its JSON file holds it; lengths in its own unit.
#[derive(Serialize, Deserialize)]
pub(crate) struct Instance {
    pub name: String,
    pub strip_width: f64,
    /// Least distance between two pieces, where the instance asks for one.
    #[serde(default)]
    pub gap: f64,
    pub items: Vec<Item>,
}

/// A shape of an instance.
#[derive(Serialize, Deserialize)]
pub(crate) struct Item {
    pub demand: usize,
    pub allowed_rotations_deg: Vec<f64>,
    pub outline: Vec<[f64; 2]>,
    #[serde(default)]
    pub openings: Vec<Vec<[f64; 2]>>,
}

impl Item {
    /// A shape without openings.
    pub(crate) fn solid(outline: Vec<[f64; 2]>, rotations: &[f64], demand: usize) -> Self {
        Self {
            demand,
            allowed_rotations_deg: rotations.to_vec(),
            outline,
            openings: Vec::new(),
        }
    }
}

impl Instance {
    /// The generated instance of that name, or else the file.
    pub(crate) fn load(name_or_file: &Path) -> Result<Self, Failure> {
        if let Some(instance) = name_or_file.to_str().and_then(generate::instance) {
            return Ok(instance);
        }
        let at = name_or_file.display();
        let text = std::fs::read_to_string(name_or_file).map_err(|e| format!("{at}: {e}"))?;
        Ok(serde_json::from_str(&text).map_err(|e| format!("{at}: {e}"))?)
    }

    /// The same with all lengths times `factor`, which its name then tells.
    pub(crate) fn scaled(mut self, factor: f64) -> Self {
        if factor == 1.0 {
            return self;
        }
        self.name = format!("{}@{factor}", self.name);
        self.strip_width *= factor;
        self.gap *= factor;
        let items = self.items.iter_mut();
        for p in items.flat_map(|i| i.outline.iter_mut().chain(i.openings.iter_mut().flatten())) {
            *p = p.map(|c| c * factor);
        }
        self
    }

    /// The problem it poses, every rotation with `tolerance`.
    pub(crate) fn problem(&self, gap: f64, tolerance: Angle) -> Result<Problem, Failure> {
        let shapes: Result<Vec<Shape>, Failure> = self
            .items
            .iter()
            .map(|item| {
                let openings: Result<_, _> = item.openings.iter().map(|o| self.ring(o)).collect();
                let outline = Outline {
                    outer: self.ring(&item.outline)?,
                    openings: openings?,
                };
                let mut shape = Shape::new(outline, &item.allowed_rotations_deg, item.demand);
                shape.tolerance = tolerance;
                Ok(shape)
            })
            .collect();
        Ok(Problem::strip(shapes?, self.strip_width, gap))
    }

    fn ring(&self, points: &[[f64; 2]]) -> Result<Ring, Failure> {
        Ring::new(points.iter().map(|&[x, y]| Point::new(x, y)))
            .map_err(|e| format!("{}: {e:?}", self.name).into())
    }
}
