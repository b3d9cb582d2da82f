//! The written plan, read back and proved.
//!
//! Works from the text of `plan.json`, not from the plan in memory: what is proved is what the
//! cutter gets. Distances and overlaps come from a general geometry library, not from the search.

mod mould;
mod order;
mod supply;

use std::collections::BTreeMap;

use super::record::{
    BaggingRecord, LayoutRecord, OutlineRecord, PieceRecord, PlanRecord, SharedBagRecord,
};
use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{
    Bounds, Face, Outline, Point, Region, Ring, Turn, Vector, distance, surrounding,
};
use crate::job::{Bagging, Job, Part, Pin};
use crate::json;
use crate::plan::{Plan, wanted_ids};
use crate::ply::{Piece, Pieces};
use crate::units::Angle;

/// Largest error in mm of a written coordinate or distance. Larger: a blade could touch a
/// neighbour; smaller: honest rounding in the file would fail.
const TOLERANCE_MM: f64 = 0.01;

/// Largest error of a written angle, degrees.
const TOLERANCE_DEG: f64 = 1e-6;

/// How far the turn of a pinned piece may be off the one that the job names, degrees: it is written in a few digits.
const PIN_DEG: f64 = 2e-3;

/// A plan whose written numbers were read back and proved. Files are made of nothing else.
///
/// ```compile_fail,E0308
/// fn files_without_proof(plan: warpwise::plan::Plan) {
///     warpwise::output::all(&plan);
/// }
/// ```
#[derive(Clone, Debug)]
pub struct ProvenPlan {
    plan: Plan,
    text: String,
}

impl ProvenPlan {
    /// Writes `plan.json` and proves what it says against the pieces of the plan.
    ///
    /// # Errors
    /// Everything that does not hold: see [`recheck`].
    pub fn prove(plan: Plan) -> Result<Self, Diagnostics> {
        let text = plan_json(&plan);
        recheck(&text, plan.pieces())?;
        check_jobs(&text, &plan)?;
        Ok(Self { plan, text })
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The text of `plan.json`.
    #[must_use]
    pub fn plan_json(&self) -> &str {
        &self.text
    }
}

/// Proves the bags of jobs that are planned together; their pieces are on the common rolls.
fn check_jobs(text: &str, plan: &Plan) -> Result<(), Diagnostics> {
    if plan.jobs().is_empty() {
        return Ok(());
    }
    let written = read_back(text)?;
    let mut faults = Diagnostics::new();
    for (share, written) in plan.jobs().iter().zip(&written.jobs) {
        let job = share.plan().job();
        if let Some(setup) = job.bagging() {
            let pieces = share.plan().pieces();
            check_bags(setup, written.bagging.as_ref(), job, pieces, &mut faults);
        }
    }
    match faults.is_empty() {
        true => Ok(()),
        false => Err(faults),
    }
}

fn read_back(plan_json: &str) -> Result<PlanRecord, Diagnostics> {
    serde_json::from_str(plan_json)
        .map_err(|e| fault(format!("the written plan cannot be read back: {e}")).into())
}

/// The text of `plan.json`.
pub(super) fn plan_json(plan: &Plan) -> String {
    json::text(&PlanRecord::of(plan))
}

/// Proves from the text of `plan.json` that every piece of the job is there once, in a permitted
/// turn, true to its shape, inside the usable cloth, off every flaw, across no end of the table, and
/// nowhere nearer to another than the gap; that what is laid on a mould is borne out by it; that no cloth is lost or
/// counted twice; and that the order of cutting holds.
///
/// # Errors
/// Everything that does not hold.
pub fn recheck(plan_json: &str, pieces: &Pieces) -> Result<(), Diagnostics> {
    let job = pieces.job();
    let written = read_back(plan_json)?;
    let mut wanted: BTreeMap<String, &Piece> = BTreeMap::new();
    for piece in pieces.iter() {
        for set in 1..=piece.sets() {
            wanted.insert(piece.id(set), piece);
        }
    }
    let mut faults = Diagnostics::new();
    for layout in &written.layouts {
        check_layout(layout, job, &mut wanted, &mut faults);
    }
    mould::check_drapes(&written, pieces, &mut faults);
    supply::check_balance(&written, &mut faults);
    supply::check_used_once(&written, &mut faults);
    for id in wanted.keys() {
        faults.push(fault(format!(
            "piece {id} is missing from the written plan"
        )));
    }
    if let Some(setup) = job.bagging() {
        check_bags(setup, written.bagging.as_ref(), job, pieces, &mut faults);
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults)
    }
}

/// Every piece of every bag layer is there once, on its roll, and no nearer to another than the gap.
fn check_bags(
    setup: &Bagging,
    written: Option<&BaggingRecord>,
    job: &Job,
    pieces: &Pieces,
    faults: &mut Diagnostics,
) {
    let sets = |part_idx: usize| {
        let of_part = pieces.iter().filter(|piece| piece.part_idx() == part_idx);
        of_part.map(|piece| piece.sets()).max().unwrap_or(0)
    };
    let parts: Vec<(&Part, u32)> = (0..job.parts().len())
        .map(|idx| (&job.parts()[idx], sets(idx)))
        .collect();
    for bag in written.iter().flat_map(|written| &written.shared) {
        check_shared(setup, bag, written, faults);
    }
    for (layer, wanted) in setup.layers.iter().zip(wanted_ids(setup, &parts)) {
        let name = &layer.roll.name;
        let mut layers = written.iter().flat_map(|written| &written.layers);
        let Some(found) = layers.find(|l| l.name == *name) else {
            faults.push(fault(format!(
                "bag layer {name} is missing from the written plan"
            )));
            continue;
        };
        let mut ids: Vec<&String> = found.layout.pieces.iter().map(|piece| &piece.id).collect();
        // A joined layer is there if all its pieces are.
        for joined in &found.joined {
            let n = ids.len();
            ids.retain(|id| !joined.pieces.contains(id));
            if n - ids.len() == joined.pieces.len() {
                ids.push(&joined.id);
            }
        }
        let mut wanted: Vec<&String> = wanted.iter().collect();
        ids.sort_unstable();
        wanted.sort_unstable();
        if ids != wanted {
            faults.push(fault(format!(
                "bag layer {name} has other pieces than it should"
            )));
        }
        if !found.layout.pieces.is_empty() {
            let Some(source) = supply::ProofSource::of(&found.layout, &layer.roll) else {
                faults.push(fault(format!("bag layer {name} is cut from no roll")));
                continue;
            };
            check_roll(&found.layout, &layer.roll, &source, faults);
            check_bag_pieces(&found.layout, &source, faults);
            order::check_order(&found.layout, faults);
        }
    }
}

/// The parts of a shared bag lie apart and inside its tape, with their own layers.
fn check_shared(
    setup: &Bagging,
    bag: &SharedBagRecord,
    written: Option<&BaggingRecord>,
    faults: &mut Diagnostics,
) {
    let mut fail = |what: &str| faults.push(fault(format!("the parts of bag {} {what}", bag.name)));
    let outlines: Option<Vec<Outline>> = bag.lying.iter().map(OutlineRecord::outline).collect();
    let of_part = |name: &String| {
        let parts = written.iter().flat_map(|written| &written.parts);
        parts.clone().find(|part| part.part == *name)
    };
    let told: Option<Vec<_>> = bag.parts.iter().map(of_part).collect();
    let (Some(outlines), Some(told)) = (outlines, told) else {
        return fail("have no place in it");
    };
    let [length, width] = told[0].tape_line_mm;
    let tape = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(length, width),
    };
    let own = setup.layers.iter().filter(|layer| !layer.covers_bag());
    let own = own.map(|layer| layer.margin.to_mm()).fold(0.0, f64::max);
    let room = tape.grown(-(own + setup.tape_margin.to_mm()));
    for (i, one) in outlines.iter().enumerate() {
        if !room.holds(&one.bounds(), 0.1) {
            fail("reach over its tape");
        }
        let grown = surrounding(one, own);
        let meets = |other: &Outline| {
            let common = Region::of(&grown).intersection(&Region::of(&surrounding(other, own)));
            // Shears are no truer.
            common.area() > 1e-3 * one.area()
        };
        if outlines[i + 1..].iter().any(meets) {
            fail("lie on one another");
        }
    }
}

fn check_bag_pieces(
    layout: &LayoutRecord,
    source: &supply::ProofSource<'_>,
    faults: &mut Diagnostics,
) {
    let mut placed: Vec<(&str, Outline, Bounds)> = Vec::new();
    for piece in &layout.pieces {
        let Some(cut) = piece.cut.outline() else {
            faults.push(fault(format!(
                "piece {} has a cut line that is no outline",
                piece.id
            )));
            continue;
        };
        let bounds = cut.bounds();
        if !inside(&bounds, layout, source) {
            faults.push(fault(format!("piece {} sticks out of its roll", piece.id)));
        }
        placed.push((&piece.id, cut, bounds));
    }
    check_gaps(layout, placed, faults);
}

fn fault(message: String) -> Diagnostic {
    Diagnostic::error(message)
        .help("this is a fault of warpwise, not of the job: nothing was written; please report it")
}

fn check_layout(
    layout: &LayoutRecord,
    job: &Job,
    wanted: &mut BTreeMap<String, &Piece>,
    faults: &mut Diagnostics,
) {
    let Some((cloth_idx, cloth)) = job
        .cloths()
        .iter()
        .enumerate()
        .find(|(_, c)| c.name == layout.cloth)
    else {
        faults.push(fault(format!(
            "roll {} is of no cloth of the job",
            layout.roll
        )));
        return;
    };
    let Some(source) = supply::ProofSource::of(layout, cloth) else {
        faults.push(fault(format!(
            "roll {} is of no stock of the job",
            layout.roll
        )));
        return;
    };
    check_roll(layout, cloth, &source, faults);
    let mut placed: Vec<(&str, Outline, Bounds)> = Vec::new();
    for piece in &layout.pieces {
        let Some(shape) = wanted.remove(&piece.id) else {
            faults.push(fault(format!(
                "piece {} is not wanted or there twice",
                piece.id
            )));
            continue;
        };
        if shape.cloth_idx() != cloth_idx {
            faults.push(fault(format!("piece {} lies on the wrong cloth", piece.id)));
        }
        match check_piece(piece, shape) {
            Ok(cut) => {
                let bounds = cut.bounds();
                if !inside(&bounds, layout, &source) {
                    faults.push(fault(format!(
                        "piece {} sticks out of the usable cloth of roll {}",
                        piece.id, layout.roll
                    )));
                }
                source.check_piece(&piece.id, &cut, layout, faults);
                let mut pins = job.pins().iter();
                if let Some(pin) = pins.find(|pin| pin.piece.value == piece.id)
                    && !is_as_pinned(pin, layout, piece, &bounds)
                {
                    let message = format!("piece {} does not lie where it is pinned", piece.id);
                    faults.push(fault(message));
                }
                placed.push((&piece.id, cut, bounds));
            }
            Err(message) => faults.push(fault(format!("piece {} {message}", piece.id))),
        }
    }
    source.check_kept(layout, &placed, faults);
    check_gaps(layout, placed, faults);
    order::check_order(layout, faults);
}

/// Lengths are written to this, mm.
const WRITTEN_MM: f64 = 1e-4;

/// The roll's own numbers against the job and against the pieces on it.
fn check_roll(
    layout: &LayoutRecord,
    cloth: &Cloth,
    source: &supply::ProofSource<'_>,
    faults: &mut Diagnostics,
) {
    let (low, high) = source.usable_y;
    let near = |a: f64, b: f64| (a - b).abs() <= TOLERANCE_MM;
    if !(near(layout.roll_width, source.width)
        && near(layout.usable_y[0], low)
        && near(layout.usable_y[1], high)
        && near(layout.gap, cloth.gap.to_mm()))
    {
        faults.push(fault(format!(
            "roll {} is not as the job says",
            layout.roll
        )));
    }
    let cuts: Vec<Outline> = (layout.pieces.iter())
        .filter_map(|piece| piece.cut.outline())
        .collect();
    let area: f64 = cuts.iter().map(Outline::area).sum();
    let roll_area = layout.roll_width * layout.used_length;
    let utilisation = area / roll_area;
    // Written lengths are rounded, which tells on a roll of which next to nothing is used.
    let edges = cuts.iter().flat_map(Outline::rings).map(Ring::perimeter);
    let rounded = WRITTEN_MM * (edges.sum::<f64>() + layout.roll_width) / roll_area;
    let is_stated = (utilisation - layout.utilisation).abs() <= 1e-4 + rounded;
    if !is_stated {
        faults.push(fault(format!(
            "roll {} states a utilisation of {:.4} but its pieces make {utilisation:.4}",
            layout.roll, layout.utilisation
        )));
    }
}

/// The cut line of a written piece, if its turn is permitted and its lines are true.
fn check_piece(written: &PieceRecord, shape: &Piece) -> Result<Outline, String> {
    let turn = Turn {
        angle: Angle::degrees(written.turn),
        face: if written.turned_over {
            Face::Down
        } else {
            Face::Up
        },
    };
    if !is_permitted(turn, shape) {
        return Err(format!(
            "lies in a turn of {} that is not permitted",
            turn.angle
        ));
    }
    let Some(cut) = written.cut.outline() else {
        return Err("has a cut line that is no outline".to_owned());
    };
    let true_cut = turn.outline(shape.cut());
    let shift = cut.bounds().min - true_cut.bounds().min;
    let is_true = |written: &OutlineRecord, shape: &Outline| {
        let openings = shape.openings.iter().map(|o| o.points());
        written.openings.len() == openings.len()
            && follows(written.outer.iter(), shape.outer.points(), shift)
            && written
                .openings
                .iter()
                .zip(openings)
                // Openings are written clockwise.
                .all(|(written, shape)| follows(written.iter().rev(), shape, shift))
    };
    if is_true(&written.cut, &true_cut) && is_true(&written.net, &turn.outline(shape.net())) {
        Ok(cut)
    } else {
        Err("is not true to its shape".to_owned())
    }
}

/// Whether the written vertices are those of `shape`, shifted.
fn follows<'a>(
    written: impl ExactSizeIterator<Item = &'a [f64; 2]>,
    shape: &[Point],
    shift: Vector,
) -> bool {
    written.len() == shape.len()
        && written
            .zip(shape)
            .all(|(w, &s)| Point::new(w[0], w[1]).distance(s + shift) <= TOLERANCE_MM)
}

fn is_permitted(turn: Turn, shape: &Piece) -> bool {
    shape.turns().iter().any(|permitted| {
        let off = (turn.angle - permitted.angle).as_rotation().to_degrees();
        permitted.face == turn.face
            && off.min(360.0 - off) <= shape.tolerance().to_degrees() + TOLERANCE_DEG
    })
}

/// Whether a piece lies where `pin` says.
fn is_as_pinned(pin: &Pin, layout: &LayoutRecord, piece: &PieceRecord, cut: &Bounds) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= TOLERANCE_MM;
    let is_turned = pin.turn.as_ref().is_none_or(|turn| {
        let off = (turn.value - Angle::degrees(piece.turn)).as_rotation();
        off.to_degrees().min(360.0 - off.to_degrees()) <= PIN_DEG
    });
    layout.stock.as_ref() == pin.stock.as_ref().map(|stock| &stock.value)
        && near(cut.min.x, pin.along.to_mm())
        && near(cut.min.y, pin.across.to_mm())
        && is_turned
        && piece.turned_over == pin.turned_over
}

fn inside(bounds: &Bounds, layout: &LayoutRecord, source: &supply::ProofSource<'_>) -> bool {
    let margin = source.margin;
    bounds.min.x >= margin - TOLERANCE_MM
        && bounds.max.x <= layout.used_length - margin + TOLERANCE_MM
        && bounds.min.y >= layout.usable_y[0] - TOLERANCE_MM
        && bounds.max.y <= layout.usable_y[1] + TOLERANCE_MM
}

/// Every pair whose boxes are nearer than the gap is measured.
fn check_gaps(
    layout: &LayoutRecord,
    mut placed: Vec<(&str, Outline, Bounds)>,
    faults: &mut Diagnostics,
) {
    let gap = layout.gap;
    placed.sort_by(|a, b| a.2.min.x.total_cmp(&b.2.min.x));
    for (idx, (id, cut, bounds)) in placed.iter().enumerate() {
        let near = placed[idx + 1..]
            .iter()
            .take_while(|(_, _, other)| other.min.x <= bounds.max.x + gap)
            .filter(|(_, _, other)| {
                other.min.y <= bounds.max.y + gap && bounds.min.y <= other.max.y + gap
            });
        for (other_id, other, _) in near {
            let distance = distance::between(cut, other);
            // Cut lines may touch where no gap is asked for; they may not overlap.
            let clear = distance >= gap - TOLERANCE_MM
                && (distance > 0.0
                    || distance::shared_area(cut, other) <= TOLERANCE_MM * bounds.long_side());
            if !clear {
                faults.push(fault(format!(
                    "pieces {id} and {other_id} on roll {} are {distance:.3} mm apart, less than the gap of {gap} mm",
                    layout.roll
                )));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::tests::{planned, with_overlap};

    #[test]
    fn plan_json_is_read_back_as_it_was_written() {
        let plan = planned();
        let read: PlanRecord = serde_json::from_str(&plan_json(&plan)).unwrap();
        assert_eq!(read, PlanRecord::of(&plan));
    }

    /// What is told of the plan of two plates after `change` to its text.
    fn told(change: impl FnOnce(&mut serde_json::Value)) -> String {
        let plan = planned();
        let mut written = serde_json::from_str(&plan_json(&plan)).unwrap();
        change(&mut written);
        let faults = recheck(&written.to_string(), plan.pieces()).err();
        let faults = faults.iter().flat_map(|faults| faults.iter());
        faults.map(|fault| format!("{}\n", fault.message)).collect()
    }

    #[test]
    fn what_is_untrue_in_the_text_is_told() {
        use serde_json::{Value, json};
        assert_eq!(told(|_| {}), "");
        let lies: [(&str, Value, &str); 9] = [
            (
                "/layouts/0/pieces/1/cut/outer/0/0",
                json!(11),
                "not true to its shape",
            ),
            (
                "/layouts/0/pieces/1/net/outer",
                json!([]),
                "not true to its shape",
            ),
            ("/layouts/0/pieces/1/turn", json!(45), "not permitted"),
            ("/layouts/0/pieces/1/id", json!("P-9"), "P-9 is not wanted"),
            (
                "/layouts/0/pieces/1/id",
                json!("P-1"),
                "not wanted or there twice",
            ),
            ("/layouts/0/roll_width", json!(900), "not as the job says"),
            ("/layouts/0/offer", json!(2), "is of no stock"),
            ("/layouts/0/used_length", json!(100), "sticks out"),
            ("/cloths/0/kept_area_mm2", json!(7), "are accounted for"),
        ];
        for (place, lie, words) in lies {
            let found = told(|written| match written.pointer_mut(place) {
                Some(value) => *value = lie,
                None => written["layouts"][0]["offer"] = lie,
            });
            assert!(found.contains(words), "{place}: {found}");
        }
        let found = told(|written| {
            drop(
                written["layouts"][0]["pieces"]
                    .as_array_mut()
                    .unwrap()
                    .pop(),
            )
        });
        assert!(found.contains("missing from the written plan"), "{found}");
        let found = told(|written| drop(written.as_object_mut().unwrap().remove("parts")));
        assert!(found.contains("cannot be read back"), "{found}");
    }

    #[test]
    fn a_plan_with_pieces_on_each_other_is_no_proven_plan() {
        let plan = planned();
        assert!(ProvenPlan::prove(plan.clone()).is_ok());
        let problems = ProvenPlan::prove(with_overlap(plan)).unwrap_err();
        assert!(
            problems
                .iter()
                .any(|p| p.message.contains("less than the gap"))
        );
    }
}
