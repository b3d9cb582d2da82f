//! Whether the written order of cutting can be followed: everything once, labels first, what lies
//! inside before what lies around it, frame by frame.

use std::collections::BTreeMap;

use super::{TOLERANCE_MM, fault};
use crate::diag::Diagnostics;
use crate::geometry::{Point, Ring};
use crate::json::ring;
use crate::output::record::{CutFrameRecord, CutOrderRecord, CutRecord, LayoutRecord, PieceRecord};

impl CutRecord {
    fn start(&self) -> Point {
        Point::new(self.start[0], self.start[1])
    }
}

/// A boundary that is to be cut: a piece by its place in the layout, and which of its openings.
type Boundary = (usize, Option<usize>);

/// When something is done: frame, then place in that frame.
type Moment = (usize, usize);

/// Proves the order of work that is written with `layout`.
pub(super) fn check_order(layout: &LayoutRecord, faults: &mut Diagnostics) {
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
    layout: &LayoutRecord,
    cut: &BTreeMap<Boundary, Moment>,
    rings: &BTreeMap<Boundary, Ring>,
    say: &mut impl FnMut(String),
) {
    let frames = &layout.cut_order.frames;
    let runs_on = |pair: &[CutFrameRecord]| pair[0].to <= pair[1].from + TOLERANCE_MM;
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
fn check_travel(order: &CutOrderRecord, say: &mut impl FnMut(String)) {
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
fn boundaries(pieces: &[PieceRecord]) -> BTreeMap<Boundary, Ring> {
    let mut rings = BTreeMap::new();
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
            if other.0 != hole.0
                && bounds.holds(&inner.bounds(), TOLERANCE_MM)
                && ring.contains(point)
            {
                pairs.push((other, hole));
            }
        }
    }
    pairs
}

/// Whether `point` is on the line of `ring`.
fn lies_on(ring: &Ring, point: Point) -> bool {
    ring.edges().any(|(a, b)| {
        let edge = b - a;
        let t = (point - a).dot(edge) / edge.dot(edge).max(f64::MIN_POSITIVE);
        a.towards(b, t.clamp(0.0, 1.0)).distance(point) <= TOLERANCE_MM
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    /// A record of which `given` says what it says, and nothing is known beside.
    fn record<T: Default + serde::Serialize>(given: Value) -> Value {
        let mut all = serde_json::to_value(T::default()).unwrap();
        for (name, value) in given.as_object().unwrap() {
            all[name] = value.clone();
        }
        all
    }

    fn square(x: f64, y: f64, side: f64) -> Value {
        json!([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])
    }

    /// A frame with a tab in its opening, and a plate in the next frame.
    fn layout() -> Value {
        let piece = |id: &str, outer: Value, openings: Vec<Value>| {
            let outline = json!({"outer": outer, "openings": openings});
            record::<PieceRecord>(json!({"id": id, "cut": outline, "net": outline}))
        };
        let cut = |id: &str, opening: Option<usize>, x: f64, y: f64| json!({"id": id, "opening": opening, "start": [x, y]});
        record::<LayoutRecord>(json!({
            "cloth": "c", "roll": "r", "roll_width": 500, "usable_y": [0, 500], "gap": 1,
            "used_length": 900, "utilisation": 0.5,
            "pieces": [
                piece("TAB", square(150.0, 150.0, 50.0), vec![]),
                piece("FRAME", square(0.0, 0.0, 400.0), vec![square(100.0, 100.0, 200.0)]),
                piece("PLATE", square(500.0, 0.0, 300.0), vec![]),
            ],
            "cut_order": record::<CutOrderRecord>(json!({
                "cut_travel": {"mm": 250.0 + 50.0 + 100.0, "as_placed_mm": 0.0},
                "frames": [
                    {"from": 0, "to": 450, "labels": ["FRAME", "TAB"], "cuts": [
                        cut("TAB", None, 150.0, 200.0),
                        cut("FRAME", Some(1), 100.0, 200.0),
                        cut("FRAME", None, 0.0, 200.0),
                    ]},
                    {"from": 450, "to": 900, "labels": ["PLATE"], "cuts": [cut("PLATE", None, 550.0, 0.0)]},
                ],
            })),
        }))
    }

    /// What is wrong with the layout after `change`.
    fn faults(change: impl FnOnce(&mut Value)) -> Vec<String> {
        let mut layout = layout();
        change(&mut layout);
        // The way is another matter, unless it is what was changed.
        let mut order: CutOrderRecord =
            serde_json::from_value(layout["cut_order"].clone()).unwrap();
        if order.cut_travel.mm == 400.0 {
            layout["cut_order"]["cut_travel"]["mm"] = json!(way(&order));
            order = serde_json::from_value(layout["cut_order"].clone()).unwrap();
        }
        let mut layout: LayoutRecord = serde_json::from_value(layout).unwrap();
        layout.cut_order = order;
        let mut faults = Diagnostics::new();
        check_order(&layout, &mut faults);
        faults.iter().map(|fault| fault.message.clone()).collect()
    }

    fn way(order: &CutOrderRecord) -> f64 {
        let of = |frame: &CutFrameRecord| {
            let starts = frame.cuts.iter().map(CutRecord::start);
            let first = [Point::new(frame.from, 0.0)];
            let stops: Vec<Point> = first.into_iter().chain(starts).collect();
            stops.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>()
        };
        order.frames.iter().map(of).sum()
    }

    #[test]
    fn an_order_that_can_be_followed_passes() {
        assert_eq!(faults(|_| {}), Vec::<String>::new());
    }

    #[test]
    fn every_broken_rule_is_told() {
        let cuts = |l: &mut Value| {
            l["cut_order"]["frames"][0]["cuts"]
                .as_array_mut()
                .unwrap()
                .clone()
        };
        let told = |change: fn(&mut Value), words: &str| {
            let found = faults(change);
            assert!(
                found.iter().any(|f| f.contains(words)),
                "{words}: {found:?}"
            );
        };
        assert_eq!(cuts(&mut layout()).len(), 3);
        let swap = |l: &mut Value, a: usize, b: usize| {
            l["cut_order"]["frames"][0]["cuts"]
                .as_array_mut()
                .unwrap()
                .swap(a, b);
        };
        let broken = faults(|l| swap(l, 0, 1));
        assert!(
            broken[0].contains("before one of TAB that lies inside"),
            "{broken:?}"
        );
        let broken = faults(|l| swap(l, 1, 2));
        assert!(
            broken
                .iter()
                .any(|f| f.contains("of FRAME before one of FRAME")),
            "{broken:?}"
        );
        told(
            |l| {
                drop(
                    l["cut_order"]["frames"][0]["cuts"]
                        .as_array_mut()
                        .unwrap()
                        .remove(1),
                )
            },
            "leaves out a boundary of FRAME",
        );
        told(
            |l| {
                let cuts = l["cut_order"]["frames"][0]["cuts"].as_array_mut().unwrap();
                cuts.push(cuts[2].clone());
            },
            "cuts a boundary of FRAME twice",
        );
        told(
            |l| {
                drop(
                    l["cut_order"]["frames"][0]["labels"]
                        .as_array_mut()
                        .unwrap()
                        .remove(0),
                )
            },
            "leaves out the label of FRAME",
        );
        told(
            |l| {
                let frames = l["cut_order"]["frames"].as_array_mut().unwrap();
                let label = frames[0]["labels"].as_array_mut().unwrap().remove(0);
                frames[1]["labels"].as_array_mut().unwrap().push(label);
            },
            "labels FRAME after it is cut",
        );
        told(
            |l| l["cut_order"]["frames"][0]["cuts"][2]["start"] = json!([5.0, 200.0]),
            "begins FRAME beside its line",
        );
        told(
            |l| {
                let frames = l["cut_order"]["frames"].as_array_mut().unwrap();
                let cut = frames[1]["cuts"].as_array_mut().unwrap().remove(0);
                frames[0]["cuts"].as_array_mut().unwrap().push(cut);
            },
            "cuts PLATE in frame 1 by mistake",
        );
        told(
            |l| l["cut_order"]["frames"][1]["from"] = json!(300),
            "do not follow",
        );
        told(
            |l| l["cut_order"]["cut_travel"]["mm"] = json!(300),
            "states a travel",
        );
        told(
            |l| l["pieces"].as_array_mut().unwrap().swap(0, 1),
            "list of pieces",
        );
    }
}
