//! How the pieces of a bag layer lie on its roll.

use std::sync::Arc;

use super::bagging::{BagCut, JoinedLayer, Laid, RollUse, SHEARS_MM, id, set_and_stage, width_id};
use super::widths::{Breadths, Width, widths};
use crate::cloth::Purchase;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Bounds, Outline, Placement, Point, Turn, Vector};
use crate::job::{BagLayer, LayerKind};
use crate::nest::{self, Container, Continue, Effort, Problem, Shape};
use crate::plan::cutting::order;
use crate::plan::layout::label::label_for;
use crate::plan::layout::piece::PieceSource;
use crate::plan::layout::rolls::too_long;
use crate::plan::{CutOrder, Layout, PlacedJoint, PlacedPiece, PlacedSplice};
use crate::ply::Lies;
use crate::units::{Angle, Length};

/// A label's box may be found in an outline that is so much (mm) off the true one.
const LABEL_MM: f64 = 3.0;

/// The pieces of one layer on its roll.
pub(super) fn roll(
    layer: &BagLayer,
    laid: &[Laid<'_>],
    cuts: Vec<BagCut>,
    (reach, effort): (Option<Length>, Effort),
    remarks: &mut Diagnostics,
) -> Result<RollUse, Diagnostic> {
    let cloth = &layer.roll;
    let usable = cloth.usable_width().to_mm();
    let fits = |cut: &BagCut| {
        let height = |turn: &Turn| turn.outline(&cut.shape).bounds().height();
        cut.turns.iter().any(|turn| height(turn) <= usable)
    };
    let (whole, wide): (Vec<BagCut>, Vec<BagCut>) = cuts.into_iter().partition(fits);
    let ways: &[Breadths] = match wide[..] {
        [] => &[Breadths::Equal],
        _ => &[Breadths::Equal, Breadths::FullAndRest],
    };
    let mut best: Option<Joined> = None;
    for breadths in ways {
        let way = Joined::of(layer, laid, (&whole, &wide), *breadths, effort)?;
        if best.as_ref().is_none_or(|best| way.is_better_than(best)) {
            best = Some(way);
        }
    }
    let Some(Joined {
        cuts,
        joined,
        found,
    }) = best
    else {
        unreachable!("there is one way at least")
    };
    if !joined.is_empty() {
        remarks.push(wider_than_roll(layer, &joined));
    }
    let layout = layout(layer, laid, &cuts, found.as_ref(), reach)?;
    Ok(RollUse {
        layer: layer.clone(),
        purchase: Purchase::beside(cloth, layout.used_length, layer.on_hand),
        layout,
        joined,
    })
}

/// A way of cutting a layer from its roll.
struct Joined {
    cuts: Vec<BagCut>,
    joined: Vec<JoinedLayer>,
    found: Option<nest::Nesting>,
}

impl Joined {
    /// What fits the roll as a `whole`, and what is too `wide` joined from widths of such breadths.
    fn of(
        layer: &BagLayer,
        laid: &[Laid<'_>],
        (whole, wide): (&[BagCut], &[BagCut]),
        breadths: Breadths,
        effort: Effort,
    ) -> Result<Self, Diagnostic> {
        let name = &layer.roll.name;
        let mut cuts = whole.to_vec();
        let mut joined = Vec::new();
        for whole in wide {
            let widths = widths(layer, whole, breadths)?;
            let part = laid[whole.part].part;
            joined.extend((0..part.n_bags()).map(|bag| {
                JoinedLayer {
                    id: id(part, whole, name, bag),
                    part: whole.part,
                    pieces: (widths.iter())
                        .map(|cut| id(part, cut, name, bag))
                        .collect(),
                    seam: widths
                        .iter()
                        .filter_map(|cut| cut.width.as_ref())
                        .map(Width::seam)
                        .fold(Length::ZERO, |a, b| a + b),
                }
            }));
            cuts.extend(widths);
        }
        let found = nested(layer, laid, &cuts, effort);
        Ok(Self {
            cuts,
            joined,
            found,
        })
    }

    /// Whether it takes clearly less of the roll, and neither more pieces nor longer seams.
    fn is_better_than(&self, other: &Self) -> bool {
        let seams = |way: &Self| {
            way.joined
                .iter()
                .fold(Length::ZERO, |sum, one| sum + one.seam)
        };
        let length = |way: &Self| {
            way.found
                .as_ref()
                .map_or(f64::INFINITY, nest::Nesting::length)
        };
        length(self) < length(other) - SHEARS_MM
            && self.cuts.len() <= other.cuts.len()
            && seams(self) <= seams(other) + Length::mm(SHEARS_MM)
    }
}

fn wider_than_roll(layer: &BagLayer, joined: &[JoinedLayer]) -> Diagnostic {
    let name = &layer.roll.name;
    let ids: Vec<&str> = joined.iter().map(|joined| joined.id.as_str()).collect();
    let are = if let [_] = ids[..] {
        "a piece is"
    } else {
        "pieces are"
    };
    let message = format!("{are} wider than the roll of {name}: {}", ids.join(", "));
    let most = joined.iter().map(|joined| joined.pieces.len()).max();
    let with = match layer.kind {
        LayerKind::Bag => "with sealant tape in the lap",
        LayerKind::Outline => "the lap left loose",
    };
    let help = format!(
        "planned as up to {} widths lapped by {}, {with}; a wider roll is `roll_width` in `[bag.layer.{name}]`",
        most.unwrap_or(0),
        layer.lap.in_mm_and_inches()
    );
    Diagnostic::warning(message).help(help)
}

/// How long the engine looks for a shorter layout of a layer, as a share of what a quick search takes: film is
/// cheap and shears are coarse, so more would save little, and a quick plan is to stay one.
fn patience(effort: Effort) -> f64 {
    match effort {
        // Only the first layout is wanted.
        Effort::Seconds(seconds) | Effort::Clocked(seconds, _) if seconds <= 0.0 => 0.0,
        Effort::Quick => 0.1,
        Effort::Seconds(seconds) | Effort::Clocked(seconds, _) if seconds < 10.0 => 0.1,
        _ => 0.5,
    }
}

/// The pieces of a layer laid on its roll: in rows, one by one, or by the engine's search if that takes less.
/// Counted in work, so the same every time.
fn nested(
    layer: &BagLayer,
    laid: &[Laid<'_>],
    cuts: &[BagCut],
    effort: Effort,
) -> Option<nest::Nesting> {
    let cloth = &layer.roll;
    let shapes = cuts.iter().map(|cut| Shape {
        outline: cut.shape.clone(),
        turns: cut.turns.clone(),
        tolerance: Angle::ZERO,
        demand: laid[cut.part].part.n_bags() as usize,
    });
    let mut problem = Problem {
        shapes: shapes.collect(),
        container: Container::strip(cloth.usable_width().to_mm()),
        gap: cloth.gap.to_mm(),
    };
    let least = least_length(&problem);
    // What is bought in steps gets no cheaper within one.
    let bought = |length: f64| {
        let used = Length::mm(length) + cloth.end_margin * 2.0;
        Purchase::beside(cloth, used, layer.on_hand).length
    };
    let is_enough = |length: f64| {
        length <= least + SHEARS_MM
            || cloth.sold_by > Length::ZERO && bought(length) <= bought(least)
    };
    let rows = search(&problem, &|_| Continue::Stop)?;
    if is_enough(rows.length()) {
        return Some(rows);
    }
    for (shape, cut) in problem.shapes.iter_mut().zip(cuts) {
        let end_for_end = |turn: &Turn| {
            let angle = (turn.angle + Angle::degrees(180.0)).as_rotation();
            Turn::rotation(angle)
        };
        shape.turns.extend(cut.turns.iter().map(end_for_end));
    }
    let patience = patience(effort);
    let searched = search(&problem, &|progress| match progress.done >= patience
        || is_enough(progress.length)
    {
        true => Continue::Stop,
        false => Continue::Yes,
    });
    // Shears save nothing smaller.
    let is_shorter = |found: &nest::Nesting| found.length() < rows.length() - SHEARS_MM;
    Some(searched.filter(is_shorter).unwrap_or(rows))
}

pub(super) fn search(
    problem: &Problem,
    observe: &(dyn Fn(nest::Progress) -> Continue + Sync),
) -> Option<nest::Nesting> {
    let settings = nest::SearchSettings {
        effort: Effort::Quick,
        seed: 0,
        threads: 1,
    };
    nest::nest(problem, &settings, observe).ok()
}

/// No layout is shorter than this, mm: pieces have their area, and each its least reach along the roll.
fn least_length(problem: &Problem) -> f64 {
    let width = problem.container.bounds().height();
    let reach = |shape: &Shape| {
        let lying = shape
            .turns
            .iter()
            .map(|turn| turn.outline(&shape.outline).bounds());
        let fitting = lying.filter(|bounds| bounds.height() <= width);
        fitting
            .map(|bounds| bounds.width())
            .fold(f64::INFINITY, f64::min)
    };
    let reaches = problem.shapes.iter().map(reach).fold(0.0, f64::max);
    let area = problem
        .shapes
        .iter()
        .map(|shape| shape.outline.area() * shape.demand as f64);
    reaches.max(area.sum::<f64>() / width)
}

/// What the engine found, as pieces on the roll of the layer.
fn layout(
    layer: &BagLayer,
    laid: &[Laid<'_>],
    cuts: &[BagCut],
    found: Option<&nest::Nesting>,
    reach: Option<Length>,
) -> Result<Layout, Diagnostic> {
    let cloth = &layer.roll;
    let mut next = vec![0_u32; cuts.len()];
    let corner = Vector::new(cloth.end_margin.to_mm(), cloth.selvedge.to_mm());
    let mut pieces: Vec<PlacedPiece> = Vec::new();
    for placed in found.iter().flat_map(|found| found.placed()) {
        let bag = next[placed.shape];
        next[placed.shape] += 1;
        let placement = Placement {
            shift: placed.placement.shift + corner,
            ..placed.placement
        };
        let cut = &cuts[placed.shape];
        let laid = &laid[cut.part];
        pieces.push(piece(cut, laid, &cloth.name, bag, &placement));
    }
    pieces.sort_by(|a, b| {
        let (a, b) = (a.cut.bounds().min, b.cut.bounds().min);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    let length = found.map_or(0.0, nest::Nesting::length);
    let used_length = if pieces.is_empty() {
        Length::ZERO
    } else {
        Length::mm(length) + cloth.end_margin * 2.0
    };
    let mut layout = Layout {
        cloth: Arc::new(cloth.clone()),
        roll: cloth.name.clone(),
        stock: None,
        offer: None,
        whole: Bounds {
            min: Point::new(0.0, 0.0),
            // A roll of which nothing is used has an area all the same.
            max: Point::new(used_length.to_mm().max(1.0), cloth.roll_width.to_mm()),
        }
        .outline()
        .ok_or_else(|| too_long(&cloth.name))?,
        frames: Vec::new(),
        used_length,
        pieces,
        order: CutOrder::default(),
    };
    order::arrange(&mut layout, reach);
    Ok(layout)
}

impl Width {
    /// Length of its seams with those that lie on it.
    fn seam(&self) -> Length {
        let under = self.joints.iter().filter(|joint| joint.lies == Lies::Under);
        let lengths = under.map(|joint| Length::mm((joint.line[1] - joint.line[0]).length()));
        lengths.fold(Length::ZERO, |sum, length| sum + length)
    }
}

fn piece(
    cut: &BagCut,
    laid: &Laid<'_>,
    layer: &str,
    bag: u32,
    placement: &Placement,
) -> PlacedPiece {
    let id = id(laid.part, cut, layer, bag);
    let stages = laid.part.part().stages().len() as u32;
    let shape = placement.outline(&cut.shape);
    let splice = cut.width.as_ref().map(|width| PlacedSplice {
        letter: width.letter,
        of: width.of,
        joints: (width.joints.iter())
            .map(|joint| PlacedJoint {
                mate: width_id(laid.part, cut, layer, joint.mate, bag),
                joint: joint.placed(placement),
            })
            .collect(),
    });
    PlacedPiece {
        source: PieceSource::Bag {
            part: cut.name(laid.part).to_owned(),
            // A sheet over several parts has no 0°.
            zero: match cut.shared {
                None => laid.zero,
                Some(_) => Angle::ZERO,
            },
            turned: cut.turned,
            splice,
        },
        label: label_for(&id, &Outline::solid(shape.outer.simplified(LABEL_MM))),
        runs_on: None,
        set: set_and_stage(bag, stages).0,
        placement: *placement,
        sequence: 0,
        net: shape.clone(),
        cut: shape,
        id,
    }
}
