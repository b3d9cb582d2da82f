//! Where a ply is divided: as few pieces as will do, and of those divisions the one that takes
//! least cloth.
//!
//! Lines are tried at evenly spread heights and at telling ones (a piece as wide as the cloth, two
//! beside each other, just clear of what bars a line). What a division costs is estimated between
//! two bounds: its pieces by their boxes on shelves along the roll, which is too much, and their
//! bare area, which is too little.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::bands::{Bands, Part, Unfit};
use super::seams::{Bar, Barred, level_lines};
use crate::cloth::Cloth;
use crate::units::Length;

/// Which way the lines of a division run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Direction {
    Along,
    Across,
}

impl Direction {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Along => "along",
            Self::Across => "across",
        }
    }
}

/// Heights of the lines, and what they cost (mm² of cloth, estimated).
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) at: Vec<f64>,
    pub(super) cost: f64,
}

/// Why there is no division.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum NoSplice {
    /// None has pieces that fit.
    NoFit,
    /// Some would, but their lines are barred.
    Barred { keep_out: bool, stagger: bool },
}

impl NoSplice {
    pub(super) fn in_words(self, direction: Direction, stagger: Length) -> String {
        let way = direction.word();
        let stagger = stagger.in_mm_and_inches();
        match self {
            Self::NoFit => format!("no lines {way} the warp leave pieces that fit"),
            Self::Barred {
                keep_out: true,
                stagger: false,
            } => format!("all lines {way} the warp would run through keep-out areas"),
            Self::Barred {
                keep_out: false, ..
            } => format!(
                "all lines {way} the warp would be nearer than {stagger} to splices of neighbouring \
                 plies"
            ),
            Self::Barred { .. } => format!(
                "all lines {way} the warp would run through keep-out areas or be nearer than \
                 {stagger} to splices of neighbouring plies"
            ),
        }
    }
}

/// Heights tried, beside the telling ones. More: a better place for many times the work; fewer:
/// irregular plies lose cloth.
const N_SPREAD: usize = 32;

/// Outlines with more vertices than this get fewer spread heights, but no fewer than
/// [`LEAST_SPREAD`]: work grows with vertices times the square of the heights.
const MANY_VERTICES: usize = 300;
const LEAST_SPREAD: usize = 12;

/// Lines are drawn at multiples of this, mm.
const ROUND_MM: f64 = 0.1;

/// Divisions into at most this many bands are all compared; beyond, bands are costed one by one.
const COMPARED: usize = 3;

/// Most bands of a division.
const MOST_BANDS: usize = 26;

/// What a seam costs: as much as this width (mm) of cloth all along it. It settles ties.
const SEAM_MM: f64 = 10.0;

/// The best division of `bands` for `sets` plies.
pub(super) fn best(
    bands: &mut Bands<'_>,
    barred: &Barred,
    cloth: &Cloth,
    sets: u32,
) -> Result<Choice, NoSplice> {
    let heights = heights(bands, barred);
    let (mut free, mut bars) = (Vec::new(), Vec::new());
    for &y in &heights {
        match barred.bars(&bands.net, y) {
            None => free.push(y),
            Some(bar) => bars.push(bar),
        }
    }
    if let Some(choice) = SpliceSearch::new(bands, cloth, sets, &free).run() {
        return Ok(choice);
    }
    let without_bars = SpliceSearch::new(bands, cloth, sets, &heights).run();
    Err(match without_bars {
        Some(_) => NoSplice::Barred {
            keep_out: bars.contains(&Bar::KeepOut),
            stagger: bars.contains(&Bar::Stagger),
        },
        None => NoSplice::NoFit,
    })
}

/// Heights at which a line may be worth trying, from the lowest.
fn heights(bands: &Bands<'_>, barred: &Barred) -> Vec<f64> {
    let (low, high) = (bands.bounds.min.y, bands.bounds.max.y);
    let usable = bands.cloth.usable_width().to_mm();
    let half = bands.lap / 2.0;
    let n_vertices = bands.cut.outer.points().len().max(1);
    let n_spread = (N_SPREAD * MANY_VERTICES / n_vertices).clamp(LEAST_SPREAD, N_SPREAD);
    let step = (high - low) / (n_spread + 1) as f64;
    let mut heights: Vec<f64> = (1..=n_spread).map(|i| low + step * i as f64).collect();
    heights.extend(barred.edges());
    // Pieces as wide as the cloth or as long as the table, and such that two or three lie beside each
    // other.
    let beside = [1.0, 2.0, 3.0].map(|n| (usable - (n - 1.0) * bands.cloth.gap.to_mm()) / n);
    let table = bands.cloth.usable_table().map(Length::to_mm);
    for piece in beside.into_iter().chain(table) {
        if piece <= bands.lap {
            continue;
        }
        let pitch = piece - bands.lap;
        let n_lines = ((high - low) / pitch).ceil().min(MOST_BANDS as f64) as usize;
        for i in 0..n_lines {
            let from_end = piece - half + pitch * i as f64;
            heights.extend([low + from_end, high - from_end]);
        }
    }
    // Both ways, because sums carry noise and only one of the two may fit.
    let rounded = |y: f64| [(y / ROUND_MM).floor(), (y / ROUND_MM).ceil()];
    let mut tenths: Vec<f64> = heights.into_iter().flat_map(rounded).collect();
    tenths.sort_by(f64::total_cmp);
    tenths.dedup();
    let scaled = tenths.into_iter().map(|t| t / (1.0 / ROUND_MM));
    scaled.filter(|&y| low < y && y < high).collect()
}

/// A search among lines at given heights. Node 0 is the lower end of the ply, node `i` the line at
/// height `i − 1`, the last one the upper end.
struct SpliceSearch<'s, 'b> {
    bands: &'s Bands<'b>,
    cloth: &'s Cloth,
    sets: u32,
    heights: &'s [f64],
    known: BTreeMap<(usize, usize), Option<Rc<Vec<Part>>>>,
    /// For each node the first one from which on, as far as is known, bands are too large.
    too_far: Vec<usize>,
}

impl<'s, 'b> SpliceSearch<'s, 'b> {
    fn new(bands: &'s Bands<'b>, cloth: &'s Cloth, sets: u32, heights: &'s [f64]) -> Self {
        Self {
            bands,
            cloth,
            sets,
            heights,
            known: BTreeMap::new(),
            too_far: vec![usize::MAX; heights.len() + 2],
        }
    }

    fn end(&self) -> usize {
        self.heights.len() + 1
    }

    fn height(&self, node: usize) -> f64 {
        match node {
            0 => f64::NEG_INFINITY,
            node if node == self.end() => f64::INFINITY,
            node => self.heights[node - 1],
        }
    }

    fn parts(&mut self, from: usize, to: usize) -> Option<Rc<Vec<Part>>> {
        if to >= self.too_far[from] {
            return None;
        }
        if let Some(known) = self.known.get(&(from, to)) {
            return known.clone();
        }
        let found = self.bands.between(self.height(from), self.height(to));
        if found.as_ref().is_err_and(|&why| why == Unfit::TooLarge) {
            for far in &mut self.too_far[..=from] {
                *far = to.min(*far);
            }
        }
        let found = found.ok().map(Rc::new);
        self.known.insert((from, to), found.clone());
        found
    }

    fn run(mut self) -> Option<Choice> {
        // Nodes that can be reached over so many bands.
        let mut reached: Vec<Vec<usize>> = vec![vec![0]];
        for n in 2..=MOST_BANDS {
            let from = reached.last().cloned().unwrap_or_default();
            let next: Vec<usize> = (1..self.end())
                .filter(|&j| from.iter().any(|&i| i < j && self.parts(i, j).is_some()))
                .collect();
            let whole = next.iter().any(|&i| self.parts(i, self.end()).is_some());
            let is_stuck = next.is_empty();
            reached.push(next);
            if whole {
                return if n <= COMPARED {
                    self.compare(n - 1)
                } else {
                    self.add_up(&reached)
                };
            }
            if is_stuck {
                return None;
            }
        }
        None
    }

    /// The best of all divisions with one or two lines.
    fn compare(&mut self, n_lines: usize) -> Option<Choice> {
        let end = self.end();
        let mut best: Option<Choice> = None;
        let mut consider = |search: &mut Self, nodes: &[usize]| {
            let mut parts = Vec::new();
            for ends in nodes.windows(2) {
                match search.parts(ends[0], ends[1]) {
                    Some(found) => parts.push(found),
                    None => return,
                }
            }
            let all: Vec<&Part> = parts.iter().flat_map(|p| p.iter()).collect();
            let lines = &nodes[1..nodes.len() - 1];
            let at: Vec<f64> = lines.iter().map(|&i| search.height(i)).collect();
            let cost = cloth_for(&all, search.cloth, search.sets) + search.seams(&at);
            // A tie within the noise of sums goes to the lower line.
            if best.as_ref().is_none_or(|b| cost < b.cost - 1e-6 * b.cost) {
                best = Some(Choice { at, cost });
            }
        };
        for i in 1..end {
            if n_lines == 1 {
                consider(self, &[0, i, end]);
            } else {
                for j in i + 1..end {
                    consider(self, &[0, i, j, end]);
                }
            }
        }
        best
    }

    /// The division whose bands cost least one by one.
    fn add_up(&mut self, reached: &[Vec<usize>]) -> Option<Choice> {
        let end = self.end();
        let mut costs: BTreeMap<usize, (f64, Vec<usize>)> = BTreeMap::from([(0, (0.0, vec![0]))]);
        let last = [end];
        let levels = reached[1..].iter().map(Vec::as_slice).chain([&last[..]]);
        for level in levels {
            let mut next = BTreeMap::new();
            for &j in level {
                let mut best: Option<(f64, Vec<usize>)> = None;
                for (&i, (cost, nodes)) in &costs {
                    if i >= j {
                        continue;
                    }
                    let Some(parts) = self.parts(i, j) else {
                        continue;
                    };
                    let all: Vec<&Part> = parts.iter().collect();
                    let line = (j != end).then(|| self.height(j));
                    let cost =
                        cost + cloth_for(&all, self.cloth, self.sets) + self.seams(line.as_slice());
                    if best.as_ref().is_none_or(|(b, _)| cost < b - 1e-6 * b) {
                        best = Some((cost, [&nodes[..], &[j]].concat()));
                    }
                }
                next.extend(best.map(|b| (j, b)));
            }
            costs = next;
        }
        let (cost, nodes) = costs.remove(&end)?;
        let lines = &nodes[1..nodes.len() - 1];
        Some(Choice {
            at: lines.iter().map(|&i| self.height(i)).collect(),
            cost,
        })
    }

    /// What the seams at heights `at` cost.
    fn seams(&self, at: &[f64]) -> f64 {
        let lines = at.iter().flat_map(|&y| level_lines(&self.bands.net, y));
        lines.map(|[a, b]| a.distance(b)).sum::<f64>() * SEAM_MM
    }
}

/// Copies of a ply that are put on shelves; more would only repeat the same.
const MOST_COPIES: u32 = 6;

/// Cloth (mm²) that one ply of `parts` takes where `sets` are cut, estimated.
fn cloth_for(parts: &[&Part], cloth: &Cloth, sets: u32) -> f64 {
    let copies = sets.clamp(1, MOST_COPIES);
    let shortest = |part: &&Part| least(&part.boxes, |b| b.0);
    let narrowest = |part: &&Part| least(&part.boxes, |b| b.1);
    let on_shelves = [
        parts.iter().map(shortest).collect::<Vec<_>>(),
        parts.iter().map(narrowest).collect(),
    ]
    .map(|boxes| shelves(&boxes, copies, cloth) / f64::from(copies));
    let area: f64 = parts.iter().map(|p| p.cut.area()).sum();
    (on_shelves[0].min(on_shelves[1]) + area) / 2.0
}

fn least(boxes: &[(f64, f64)], by: impl Fn(&(f64, f64)) -> f64) -> (f64, f64) {
    let first = boxes.iter().copied();
    first
        .reduce(|a, b| if by(&b) < by(&a) { b } else { a })
        .unwrap_or_default()
}

/// Cloth (mm²) under `copies` of `boxes` on shelves across the roll, longest first. The strip left
/// over beside a shelf counts the less the wider it is, because other plies go there.
fn shelves(boxes: &[(f64, f64)], copies: u32, cloth: &Cloth) -> f64 {
    let gap = cloth.gap.to_mm();
    let usable = cloth.usable_width().to_mm();
    let mut sorted: Vec<(f64, f64)> = (0..copies).flat_map(|_| boxes.iter().copied()).collect();
    sorted.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));
    // Length and filled width of each shelf.
    let mut shelves: Vec<(f64, f64)> = Vec::new();
    for (length, height) in sorted {
        match shelves
            .iter_mut()
            .find(|(_, filled)| filled + gap + height <= usable + 1e-6)
        {
            Some((_, filled)) => *filled += gap + height,
            None => shelves.push((length, height)),
        }
    }
    shelves
        .iter()
        .map(|(length, filled)| {
            let left = (usable - filled).max(0.0);
            (length + gap) * (usable - 0.5 * left * left / usable)
        })
        .sum()
}
