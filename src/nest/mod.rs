//! Shapes, the turns they permit, and a container → a layout that wastes little.
//!
//! Pure geometry: this module knows no ply, no cloth and no file.

mod budget;
mod check;
mod construct;
mod convex;
mod explore;
mod joint;
mod measure;
mod random;
mod run;
mod separate;
mod shape;
mod simplify;
mod state;

#[cfg(test)]
mod tests;

pub use check::{Fault, OVERLAP_SHARE, RELATIVE_SLACK, check};
pub use run::nest;

use crate::geometry::{Outline, Placement, Turn};
use crate::units::Angle;

/// A shape to place some number of times.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Its outline, in mm, anywhere in the plane. Other shapes may lie in its openings.
    pub outline: Outline,
    /// The turns it may be placed in; at least one.
    pub turns: Vec<Turn>,
    /// How far each turn may be off, to either side; zero for not at all.
    pub tolerance: Angle,
    /// How many of it to place.
    pub demand: usize,
}

/// Where shapes are placed.
#[derive(Clone, Debug)]
pub enum Container {
    /// A strip from x = 0 with y from 0 to `width` mm, whose used length is to be small.
    Strip {
        /// Width in mm.
        width: f64,
    },
}

/// A nesting problem.
#[derive(Clone, Debug)]
pub struct Problem {
    /// What to place.
    pub shapes: Vec<Shape>,
    /// Where.
    pub container: Container,
    /// Least distance between two shapes, mm. The container's edges may be touched.
    pub gap: f64,
}

/// How much work to spend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effort {
    /// About a second for a small job.
    Quick,
    /// About ten seconds.
    Normal,
    /// About a minute or two.
    Thorough,
    /// Wall-clock seconds; the only effort that is not repeatable.
    Seconds(f64),
}

/// One placed shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Index into [`Problem::shapes`].
    pub shape: usize,
    /// Where it lies.
    pub placement: Placement,
}

/// A valid layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// All demanded shapes, ordered by shape, then by x.
    pub placed: Vec<Placed>,
    /// Used length in mm: the largest x of any placed shape.
    pub length: f64,
}

/// How a search stands, told to an observer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Length of the best valid layout so far, mm.
    pub length: f64,
    /// Share of the work done, 0 … 1.
    pub done: f64,
}

/// What an observer answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Continue {
    /// Go on.
    Yes,
    /// Stop soon with the best layout so far.
    Stop,
}

/// Why no layout is possible.
#[derive(Clone, Debug, PartialEq)]
pub enum NestError {
    /// A shape that fits the container in none of its turns.
    DoesNotFit {
        /// Index into [`Problem::shapes`].
        shape: usize,
    },
    /// A shape without a permitted turn.
    NoTurn {
        /// Index into [`Problem::shapes`].
        shape: usize,
    },
}

/// What the search needs beside the problem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// How much work to spend.
    pub effort: Effort,
    /// Seed of all random choices.
    pub seed: u64,
    /// Threads to use; the result of a named effort does not depend on it.
    pub threads: usize,
}
