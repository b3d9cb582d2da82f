//! Shapes, the turns they permit, and a container → a layout that wastes little.
//!
//! Pure geometry: this module knows no ply, no cloth and no file.
//!
//! # How the engine works
//!
//! Placing pieces one after another, however cleverly ordered, stops improving early: a small
//! change near the start scrambles all that follows. So the engine places them all in a strip that
//! is a little too short, lets them overlap, and removes the overlaps; when that works, the strip is
//! shortened again. The steps, each in a file of its own:
//!
//! 1. `shape`: every shape is grown by half the gap (the grown shapes may then touch), simplified
//!    outward (`simplify`), turned into each of its turns, and cut into convex parts (`convex`).
//!    Shapes that look alike share their data. Exploring uses a coarse view with few convex parts,
//!    squeezing a fine one; both contain the true shape, so what is valid for them is valid.
//!    Before that, all lengths are brought to one size by a power of two (`scale`), so that the
//!    search is the same in whatever unit a problem is posed.
//! 2. `measure`: how badly two pieces collide is the sum of the depths of penetration of their
//!    convex parts, those of large ones counting more: a few multiplications for each half-plane of the no-fit polygon of two convex
//!    parts, given up as soon as the sum passes what the caller can use. It is zero exactly when
//!    they do not overlap. `strip` holds the pieces in the strip and their boxes,
//!    `conflicts` their losses and weights.
//! 3. `construct`: a first valid layout within milliseconds: largest first, each piece as far left
//!    as exact scan lines find it, also inside openings and between pieces.
//! 4. `separate`: at a fixed length, pieces in conflict move to the best of some random positions,
//!    far and near, refined by small steps; some of the far ones lie in holes, which points tell
//!    that nothing covers. Pairs that stay in conflict gain weight, so a piece
//!    that fits nowhere in its corner in the end jumps elsewhere (guided local search). One that
//!    finds no better place may take another's, which looks for a new one (`exchange`). Whenever
//!    the overlap has clearly fallen, `push` moves all pieces apart at once, which finishes most
//!    separations.
//! 5. `explore`: the strip is shortened by steps that adapt to success, from 3 % down to 0.1 %. At
//!    the floor, a near-miss is disturbed by swapping two large pieces and tried again. The last
//!    tenth or quarter of the budget squeezes the best layout in steps down to 0.001 %. A line of
//!    search that is stuck gains little from more time, so a worker with time left starts others
//!    from the same first layout and goes on with the better half of them, again and again
//!    (`heats`).
//! 6. `run`: some independent workers search with their own random numbers and meet at fixed shares
//!    of the budget; who has one line left and has fallen behind takes over the leader's. Budgets
//!    (`budget`) count work, not time, unless seconds are asked for, so the same seed gives the
//!    same layout on any number of threads. [`Effort::UntilStuck`] searches anew, for twice the
//!    work in all, until that gains next to nothing (`stuck`).
//! 7. `container`: what a remnant lacks of its box, and every forbidden area, becomes a set of
//!    convex obstacles. They are measured like pieces but never move. A piece keeps off obstacles
//!    as it is and off other pieces grown by half the gap, so edges can be touched whatever the
//!    gap.
//! 8. `fill`: a container of fixed size takes pieces largest first and then, by the same
//!    separation, what can still be forced in and what covers more than the pieces it displaces.
//!    `stock` does so for several containers in their order and gives the rest to a strip.
//! 9. `tilt`: where shapes have an angle tolerance, what was found is squeezed with all pieces free
//!    to turn a little as well; a quarter more work, or the last fifth of the seconds. The rounds,
//!    moves and pushes are those of 4.
//! 10. [`check`]: every layout is checked from the original outlines by another route, clipped
//!     triangles and distances of edges, before it is handed back.
//!
//! # Sources
//!
//! Shrinking and separating with overlaps allowed, and compaction: Gomes and Oliveira 2006, EJOR
//! 171. Guided local search on overlap: Egeblad, Nielsen and Odgaard 2007, EJOR 183. Depth of
//! penetration and moving all pieces together: Imamichi, Yagiura and Nagamochi 2009, Discrete
//! Optimization 6. Guided search with long jumps: Elkeran 2013, EJOR 231. Weights, the pool of
//! near-misses, swaps and the two phases: Gardeyn, Vanden Berghe and Wauters 2025, arXiv
//! 2509.13329. The sum of convex depths as a measure, the two views and the joint pushes are our
//! own choice by measurement.
//!
//! # What it does not do
//!
//! A shape that fits the container only when turned within its angle tolerance is refused, and only
//! a strip without forbidden areas uses the tolerance at all. Containers are filled one after
//! another; a piece is not moved back from a later one to an earlier one.
//!
//! # Example
//!
//! Two triangles make a square:
//!
//! ```
//! use warpwise::geometry::{Outline, Point, Ring};
//! use warpwise::nest::{Continue, Problem, SearchSettings, Shape, nest};
//!
//! let corners = [(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)];
//! let triangle = Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap();
//! let twice = Shape::new(Outline::solid(triangle), &[0.0, 180.0], 2);
//! let problem = Problem::strip(vec![twice], 100.0, 0.0);
//! let layout = nest(&problem, &SearchSettings::default(), &|_| Continue::Yes).unwrap();
//! assert_eq!(layout.placed().len(), 2);
//! assert!(layout.length() < 100.5);
//! ```

mod budget;
mod check;
mod conflicts;
mod construct;
mod container;
mod convex;
mod exchange;
mod explore;
mod fill;
mod heats;
mod herald;
mod measure;
mod push;
mod random;
mod run;
mod scale;
mod separate;
mod shape;
mod simplify;
mod stock;
mod strip;
mod stuck;
mod tilt;
mod views;

#[cfg(test)]
mod tests;

pub use check::{LayoutFault, OVERLAP_SHARE, RELATIVE_SLACK, check, check_placed};
pub use container::{Container, Extent, Forbidden};
pub use run::nest;
pub use stock::{StockFault, StockNesting, StockProblem, StockProgress, check_stock, nest_stock};
pub use views::{View, views};

use std::sync::LazyLock;
use std::time::{Duration, Instant};

use crate::geometry::{Outline, Placement, Turn};
use crate::units::Angle;

/// A shape to place some number of times.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Shape {
    /// Its outline, in mm, anywhere in the plane. Other shapes may lie in its openings.
    pub outline: Outline,
    /// The turns it may be placed in; at least one.
    pub turns: Vec<Turn>,
    /// How far each turn may be off, to either side; zero for not at all. [`nest`] uses it only
    /// where the layout gets shorter.
    pub tolerance: Angle,
    /// How many of it to place.
    pub demand: usize,
}

impl Shape {
    /// `demand` times `outline`, in no turns but those by `degrees`, face up.
    #[must_use]
    pub fn new(outline: Outline, degrees: &[f64], demand: usize) -> Self {
        let turn = |&degrees| Turn::rotation(Angle::degrees(degrees));
        Self {
            outline,
            turns: degrees.iter().map(turn).collect(),
            tolerance: Angle::ZERO,
            demand,
        }
    }
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

impl Problem {
    /// `shapes` in a strip of `width` mm, at least `gap` mm apart.
    #[must_use]
    pub const fn strip(shapes: Vec<Shape>, width: f64, gap: f64) -> Self {
        Self {
            shapes,
            container: Container::strip(width),
            gap,
        }
    }
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
    /// Until twice the work makes the layout less than 0.1 % shorter; at most some five times
    /// [`Effort::Thorough`].
    UntilStuck,
    /// Wall-clock seconds; not repeatable.
    Seconds(f64),
    /// Seconds by a clock of the caller's; as repeatable as that clock.
    Clocked(f64, Clock),
}

/// A clock: the time since some moment that stays the same, for any thread that asks.
#[derive(Clone, Copy, Debug)]
pub struct Clock(pub fn() -> Duration);

impl Clock {
    /// The wall clock, since it was first asked.
    pub const WALL: Self = Self(|| {
        static FIRST_ASKED: LazyLock<Instant> = LazyLock::new(Instant::now);
        FIRST_ASKED.elapsed()
    });
}

impl PartialEq for Clock {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::fn_addr_eq(self.0, other.0)
    }
}

impl Effort {
    /// The seconds it is given, and by which clock; `None` for an effort that counts work.
    pub(crate) fn seconds(self) -> Option<(f64, Clock)> {
        match self {
            Self::Seconds(seconds) => Some((seconds, Clock::WALL)),
            Self::Clocked(seconds, clock) => Some((seconds, clock)),
            Self::Quick | Self::Normal | Self::Thorough | Self::UntilStuck => None,
        }
    }
}

/// One placed shape.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Placed {
    /// Index into [`Problem::shapes`].
    pub shape: usize,
    /// Where it lies.
    pub placement: Placement,
}

impl Placed {
    /// Its outline where it lies; `shapes` are those of the problem.
    #[must_use]
    pub fn outline(&self, shapes: &[Shape]) -> Outline {
        self.placement.outline(&shapes[self.shape].outline)
    }
}

/// A layout that was checked from the original outlines; only the engine makes one.
#[derive(Clone, Debug, PartialEq)]
pub struct Nesting {
    placed: Vec<Placed>,
    length: f64,
}

impl Nesting {
    const EMPTY: Self = Self {
        placed: Vec::new(),
        length: 0.0,
    };

    /// The placed shapes, ordered by shape, then by x.
    #[must_use]
    pub fn placed(&self) -> &[Placed] {
        &self.placed
    }

    /// Used length in mm: how far the rightmost shape reaches from the container's left end, which
    /// is x = 0 except for [`Extent::Remnant`], where it is the outline's least x.
    #[must_use]
    pub const fn length(&self) -> f64 {
        self.length
    }

    /// Area in mm² that the placed shapes cover.
    #[must_use]
    pub fn area(&self, shapes: &[Shape]) -> f64 {
        let placed = self.placed.iter();
        placed.fold(0.0, |sum, p| sum + shapes[p.shape].outline.area())
    }
}

/// How a search stands, told to an observer.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Progress {
    /// Length of the best layout so far, mm. The search holds it for valid; it is checked from the
    /// original outlines when the workers meet, and only then can it be handed back.
    pub length: f64,
    /// Share of the work done, 0 … 1.
    pub done: f64,
    /// What all workers had done when they last met.
    pub counts: Counts,
}

/// How much a search has done: what a bench compares.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Counts {
    /// Positions of a piece that were measured against the others.
    pub evaluations: u64,
    /// Rounds in which every piece in conflict was moved once.
    pub rounds: u64,
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
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
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

impl std::fmt::Display for NestError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::DoesNotFit { shape } => {
                write!(f, "shape {shape} has no room in any of its turns")
            }
            Self::NoTurn { shape } => write!(f, "shape {shape} has no permitted turn"),
        }
    }
}

impl std::error::Error for NestError {}

/// What the search needs beside the problem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SearchSettings {
    /// How much work to spend.
    pub effort: Effort,
    /// Seed of all random choices.
    pub seed: u64,
    /// Threads to use; the result of a named effort does not depend on it.
    pub threads: usize,
}

impl Default for SearchSettings {
    /// A quick search on one thread.
    fn default() -> Self {
        Self {
            effort: Effort::Quick,
            seed: 1,
            threads: 1,
        }
    }
}
