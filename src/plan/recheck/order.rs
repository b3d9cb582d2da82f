//! Whether the written order of cutting can be followed: everything once, labels first, what lies
//! inside before what lies around it, frame by frame.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::{TOLERANCE_MM, WrittenLayout, WrittenPiece, fault};
use crate::diag::Diagnostics;
use crate::geometry::{Bounds, Point, Ring};

#[derive(Deserialize)]
pub(super) struct WrittenOrder {
    cut_travel: WrittenTravel,
    frames: Vec<WrittenFrame>,
}

#[derive(Deserialize)]
struct WrittenTravel {
    mm: f64,
}

#[derive(Deserialize)]
struct WrittenFrame {
    from: f64,
    to: f64,
    labels: Vec<String>,
    cuts: Vec<WrittenCut>,
}

#[derive(Deserialize)]
struct WrittenCut {
    id: String,
    /// Number of the opening from 1; none for the outer boundary.
    opening: Option<usize>,
    start: [f64; 2],
}

impl WrittenCut {
    fn start(&self) -> Point {
        Point::new(self.start[0], self.start[1])
    }
}

/// A boundary that is to be cut: a piece by its place in the layout, and which of its openings.
type Boundary = (usize, Option<usize>);

/// When something is done: frame, then place in that frame.
type Moment = (usize, usize);

/// Proves the order of work that is written with `layout`.
pub(super) fn check_order(layout: &WrittenLayout, faults: &mut Diagnostics) {
    let mut say = |what: String| {
        faults.push(fault(format!(
            "the cut order of roll {} {what}",
            layout.roll
        )));
    };
    let place: BTreeMap<&str, usize> = (layout.pieces.iter().enumerate())
        .map(|(idx, piece)| (piece.id.as_str(), idx))
        .collect();
    let rings: BTreeMap<Boundary, Ring> = boundaries(&layout.pieces);
    let mut labelled: BTreeMap<usize, usize> = BTreeMap::new();
    let mut cut: BTreeMap<Boundary, Moment> = BTreeMap::new();
    for (k, frame) in layout.cut_order.frames.iter().enumerate() {
        for id in &frame.labels {
            match place.get(id.as_str()) {
                Some(&piece) if labelled.insert(piece, k).is_none() => {}
                _ => say(format!("labels {id} twice, or it is not there")),
            }
        }
        for (n, step) in frame.cuts.iter().enumerate() {
            let boundary = place.get(step.id.as_str()).map(|&p| (p, step.opening));
            let known = boundary.and_then(|b| Some((b, rings.get(&b)?)));
            let Some((boundary, ring)) = known else {
                say(format!("cuts {} where nothing is to be cut", step.id));
                continue;
            };
            if cut.insert(boundary, (k, n)).is_some() {
                say(format!("cuts a boundary of {} twice", step.id));
            }
            if !lies_on(ring, step.start()) {
                say(format!("begins {} beside its line", step.id));
            }
        }
    }
    for &(piece, opening) in rings.keys() {
        let id = &layout.pieces[piece].id;
        match (cut.get(&(piece, opening)), labelled.get(&piece)) {
            (None, _) => say(format!("leaves out a boundary of {id}")),
            (_, None) => say(format!("leaves out the label of {id}")),
            // In a frame everything is labelled before anything is cut.
            (Some((frame, _)), Some(label)) if label > frame => {
                say(format!("labels {id} after it is cut"));
            }
            _ => {}
        }
    }
    for (inner, outer) in inner_first(&rings) {
        if let (Some(first), Some(then)) = (cut.get(&inner), cut.get(&outer))
            && first >= then
        {
            let (a, b) = (&layout.pieces[inner.0].id, &layout.pieces[outer.0].id);
            say(format!(
                "cuts a boundary of {b} before one of {a} that lies inside it"
            ));
        }
    }
    let free: Vec<&Moment> = (0..layout.pieces.len())
        .filter_map(|piece| cut.get(&(piece, None)))
        .collect();
    if !free.is_sorted() {
        say("is not that of the list of pieces".to_owned());
    }
    check_frames(layout, &cut, &rings, &mut say);
    check_travel(&layout.cut_order, &mut say);
}

/// Frames follow each other along the roll, and each cuts what it is the first to hold.
fn check_frames(
    layout: &WrittenLayout,
    cut: &BTreeMap<Boundary, Moment>,
    rings: &BTreeMap<Boundary, Ring>,
    say: &mut impl FnMut(String),
) {
    let frames = &layout.cut_order.frames;
    let runs_on = |pair: &[WrittenFrame]| pair[0].to <= pair[1].from + TOLERANCE_MM;
    if !(frames.iter().all(|f| f.from < f.to + TOLERANCE_MM) && frames.windows(2).all(runs_on)) {
        say("has frames that do not follow each other".to_owned());
    }
    for (&(piece, opening), &(frame, _)) in cut {
        let reach = rings.get(&(piece, None)).map(|ring| ring.bounds().max.x);
        let Some(reach) = reach else { continue };
        let is_last = frame + 1 == frames.len();
        let held = reach <= frames[frame].to + 2.0 * TOLERANCE_MM || is_last;
        let first = frame == 0 || reach > frames[frame - 1].to - 2.0 * TOLERANCE_MM;
        if opening.is_none() && !(held && first) {
            let id = &layout.pieces[piece].id;
            say(format!("cuts {id} in frame {} by mistake", frame + 1));
        }
    }
}

/// The way between the written starts is what the file says it is.
fn check_travel(order: &WrittenOrder, say: &mut impl FnMut(String)) {
    let (mut way, mut n_steps) = (0.0, 0);
    for frame in &order.frames {
        let mut at = Point::new(frame.from, 0.0);
        for step in &frame.cuts {
            way += at.distance(step.start());
            at = step.start();
            n_steps += 1;
        }
    }
    if (way - order.cut_travel.mm).abs() > TOLERANCE_MM * f64::from(n_steps + 1) {
        say(format!(
            "states a travel of {:.1} mm but its starts make {way:.1} mm",
            order.cut_travel.mm
        ));
    }
}

/// Every line to cut; one that is no outline has been told already.
fn boundaries(pieces: &[WrittenPiece]) -> BTreeMap<Boundary, Ring> {
    let mut rings = BTreeMap::new();
    let ring = |points: &[[f64; 2]]| Ring::new(points.iter().map(|p| Point::new(p[0], p[1]))).ok();
    for (idx, piece) in pieces.iter().enumerate() {
        let openings = piece.cut.openings.iter().enumerate();
        let openings = openings.map(|(k, points)| (Some(k + 1), points));
        for (opening, points) in openings.chain([(None, &piece.cut.outer)]) {
            rings.extend(ring(points).map(|ring| ((idx, opening), ring)));
        }
    }
    rings
}

/// Pairs of boundaries of which the first lies inside the second: openings in their own outer, and
/// pieces in the openings of others. Pieces keep apart, so one point tells where a piece lies.
fn inner_first(rings: &BTreeMap<Boundary, Ring>) -> Vec<(Boundary, Boundary)> {
    let mut pairs = Vec::new();
    for (&hole, ring) in rings.iter().filter(|((_, opening), _)| opening.is_some()) {
        pairs.push((hole, (hole.0, None)));
        let bounds = ring.bounds();
        for (&other, inner) in rings.iter().filter(|((_, opening), _)| opening.is_none()) {
            let Some(&point) = inner.points().first() else {
                continue;
            };
            if other.0 != hole.0 && is_within(&inner.bounds(), &bounds) && ring.contains(point) {
                pairs.push((other, hole));
            }
        }
    }
    pairs
}

fn is_within(inner: &Bounds, outer: &Bounds) -> bool {
    inner.min.x >= outer.min.x - TOLERANCE_MM
        && inner.max.x <= outer.max.x + TOLERANCE_MM
        && inner.min.y >= outer.min.y - TOLERANCE_MM
        && inner.max.y <= outer.max.y + TOLERANCE_MM
}

/// Whether `point` is on the line of `ring`.
fn lies_on(ring: &Ring, point: Point) -> bool {
    ring.edges().any(|(a, b)| {
        let edge = b - a;
        let t = (point - a).dot(edge) / edge.dot(edge).max(f64::MIN_POSITIVE);
        a.towards(b, t.clamp(0.0, 1.0)).distance(point) <= TOLERANCE_MM
    })
}
