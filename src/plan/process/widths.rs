//! A layer of the bag that is wider than its roll, joined from several widths of it.

use super::bagging::BagCut;
use crate::diag::Diagnostic;
use crate::geometry::{Bounds, Outline, Point, Region, Turn, Vector};
use crate::job::{BagLayer, JointKind};
use crate::ply::{Joint, Lies};
use crate::units::{Angle, Length};

/// One of the widths of a layer.
#[derive(Clone)]
pub(super) struct Width {
    pub letter: char,
    /// How many there are.
    pub of: usize,
    /// Where its neighbours' edges lie on it, in the frame of its cut.
    pub joints: Vec<Joint>,
}

/// How broad the widths of a layer are.
#[derive(Clone, Copy)]
pub(super) enum Breadths {
    /// All alike.
    Equal,
    /// As the roll is wide, and the last what is missing: a strip that may lie beside others.
    FullAndRest,
}

/// Most widths to a layer: their letters are `A` to `Z`.
const MOST: usize = 26;

/// `whole`, which fits its roll in no turn, as widths that lap each other. The way with fewer of them is taken,
/// then the shorter one.
///
/// # Errors
/// More widths than letters.
pub(super) fn widths(
    layer: &BagLayer,
    whole: &BagCut,
    breadths: Breadths,
) -> Result<Vec<BagCut>, Diagnostic> {
    let lap = layer.lap.to_mm();
    // A hair less than the roll, so that rounding does not make a width too wide.
    let usable = layer.roll.usable_width().to_mm() - 0.01;
    let ways = whole.turns.iter().map(|turn| {
        let lying = turn.outline(&whole.shape);
        let bounds = lying.bounds();
        let n = ((bounds.height() - lap) / (usable - lap)).ceil().max(2.0);
        (n, bounds.width(), turn.angle, lying)
    });
    let best = ways.min_by(|a, b| (a.0, a.1).partial_cmp(&(b.0, b.1)).expect("finite sizes"));
    let Some((n, _, turned, lying)) = best.filter(|(n, ..)| *n <= MOST as f64) else {
        let message = format!("the roll of {} is far too narrow", layer.roll.name);
        let help = format!("set `roll_width` in `[bag.layer.{}]`", layer.roll.name);
        return Err(Diagnostic::error(message).help(help));
    };
    let bounds = lying.bounds();
    let equal = (bounds.height() + (n - 1.0) * lap) / n;
    let breadth = match breadths {
        Breadths::Equal => equal,
        // The rest is at least twice as broad as its lap.
        Breadths::FullAndRest => usable
            .min((bounds.height() - 2.0 * lap) / (n - 1.0) + lap)
            .max(equal),
    };
    let strips = (0..n as usize).map(|i| {
        let low = bounds.min.y + i as f64 * (breadth - lap);
        strip(&lying, &bounds, (low, low + breadth))
    });
    // A bay in the outline can part a strip.
    let pieces: Vec<Outline> = strips.flatten().collect();
    if pieces.len() > MOST {
        let message = format!("{} would be joined from too many pieces", layer.roll.name);
        let help = format!("set `roll_width` in `[bag.layer.{}]`", layer.roll.name);
        return Err(Diagnostic::error(message).help(help));
    }
    let cut = |(i, shape): (usize, &Outline)| BagCut {
        part: whole.part,
        shared: whole.shared.clone(),
        turns: [0.0, 90.0]
            .map(|d| Turn::rotation(Angle::degrees(d)))
            .to_vec(),
        turned: turned + whole.turned,
        width: Some(Width {
            letter: letter(i),
            of: pieces.len(),
            joints: joints(i, &pieces, layer.lap),
        }),
        shape: shape.clone(),
    };
    Ok(pieces.iter().enumerate().map(cut).collect())
}

fn letter(idx: usize) -> char {
    char::from(b'A' + idx.min(MOST - 1) as u8)
}

/// What of `lying` is between two heights.
fn strip(lying: &Outline, bounds: &Bounds, (low, high): (f64, f64)) -> Vec<Outline> {
    let between = Bounds {
        min: Point::new(bounds.min.x - 1.0, low),
        max: Point::new(bounds.max.x + 1.0, high),
    };
    let between = between
        .outline()
        .expect("a strip has a length and a breadth");
    Region::of(lying)
        .intersection(&Region::of(&between))
        .outlines()
}

/// Where the others' edges come to lie on piece `own`: those above it lie on top.
fn joints(own: usize, pieces: &[Outline], lap: Length) -> Vec<Joint> {
    let bounds = pieces[own].bounds();
    let others = pieces.iter().enumerate().filter(|&(i, _)| i != own);
    let joint = |(i, other): (usize, &Outline)| {
        let with = other.bounds();
        let is_above = with.min.y > bounds.min.y;
        let (edge, inward) = match is_above {
            true => (with.min.y, -1.0),
            false => (with.max.y, 1.0),
        };
        let meets = edge > bounds.min.y && edge < bounds.max.y;
        let (from, to) = along(other, edge)?;
        let overlaps = from < bounds.max.x && to > bounds.min.x;
        (meets && overlaps).then(|| Joint {
            kind: JointKind::Lap,
            mate: letter(i),
            lies: if is_above { Lies::Under } else { Lies::Over },
            lap,
            line: [Point::new(from, edge), Point::new(to, edge)],
            inward: Vector::new(0.0, inward),
        })
    };
    others.filter_map(joint).collect()
}

/// From where to where an outline has its straight edge at height `y`.
fn along(outline: &Outline, y: f64) -> Option<(f64, f64)> {
    /// Clipping rounds to less than this, mm.
    const AT: f64 = 0.01;
    let points = outline
        .outer
        .points()
        .iter()
        .filter(|p| (p.y - y).abs() < AT);
    let range = points.fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.x), b.max(p.x)));
    (range.0 < range.1).then_some(range)
}
