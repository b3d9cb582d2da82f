//! The vacuum bag: what is cut for it, how it lies on its rolls, and how much tape it takes.

use std::fmt::Write as _;

use super::bag_roll::roll;
use super::pleats::{Pleats, Reach};
use super::shape::Footprint;
use super::shared::{
    Arranged, SharedBag, SharedBagGroup, arrange, common_sheet, film, from_tape, widest_own,
};
use super::widths::Width;
use crate::cloth::Purchase;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::surrounding;
use crate::geometry::{Bounds, Outline, Point, Ring, Turn, Vector, distance};
use crate::job::{BagLayer, Bagging, LayerKind, Part, parts_by_bag};
use crate::mould::extent::FilmExtent;
use crate::nest::Effort;
use crate::plan::{Layout, PartUse};
use crate::units::{Angle, Area, Force, Length};

/// The bags of the whole order.
#[derive(Clone, Debug)]
pub struct BagUse {
    /// How the bags are made.
    pub setup: Bagging,
    /// One entry per layer of the stack, from the part outwards.
    pub rolls: Vec<RollUse>,
    /// Tape for all bags, spare and all.
    pub tape: Length,
    /// The bags that several parts share.
    pub shared: Vec<SharedBag>,
}

/// What is cut from the roll of one layer.
#[derive(Clone, Debug)]
pub struct RollUse {
    /// The layer.
    pub layer: BagLayer,
    /// The pieces on the roll.
    pub layout: Layout,
    /// Used and bought length and the cost; what is on hand is taken off before buying.
    pub purchase: Purchase,
    /// What is wider than the roll, and so joined from several widths of it.
    pub joined: Vec<JoinedLayer>,
}

/// The layer of one bag, joined from several widths of its roll.
#[derive(Clone, Debug, PartialEq)]
pub struct JoinedLayer {
    /// `PART-LAYER[#SET]`.
    pub id: String,
    /// Index of its part; of a shared bag that of its first.
    pub part: usize,
    /// Ids of its pieces, in the order in which they are laid.
    pub pieces: Vec<String>,
    /// Length of all its seams.
    pub seam: Length,
}

/// The bag of one set of a part; what is said of tape, film and mould holds for all parts that share it.
#[derive(Clone, Debug, PartialEq)]
pub struct PartBag {
    /// Index into [`BagUse::shared`] where other parts lie in it too.
    pub shared: Option<usize>,
    /// The part as the vacuum presses on it: inside its net lines.
    pub area: Area,
    /// Force on it.
    pub force: Force,
    /// Force on the mould: the bag presses all of it inside the tape.
    pub mould_force: Force,
    /// Length and width of the rectangle along which the tape runs.
    pub tape_line: (Length, Length),
    /// Tape for one bag, with what the pleats add.
    pub tape: Length,
    /// The pleats of one bag; where its hollows are is told of the part's own mould.
    pub pleats: Pleats,
    /// Tape in the seams of a bag film that is joined from several widths; zero if it is not.
    pub seam: Length,
    /// Length and width of the bag film.
    pub film: (Length, Length),
}

/// Largest departure (mm) of a film's edge from the true one: it is cut with shears.
pub(super) const SHEARS_MM: f64 = 1.0;

/// A part as the bag sees it.
pub(in crate::plan) struct Laid<'a> {
    pub part: &'a PartUse,
    pub footprint: &'a Footprint,
    pub zero: Angle,
    pub tool: Option<[Length; 2]>,
}

/// A shape to cut from a roll.
#[derive(Clone)]
pub(super) struct BagCut {
    pub part: usize,
    /// The shared bag that it is cut for, if it covers all its parts.
    pub shared: Option<String>,
    pub shape: Outline,
    /// Turns from the frame of the shape to the roll's.
    pub turns: Vec<Turn>,
    /// How far the shape is turned from the part's frame.
    pub turned: Angle,
    /// Which of several widths it is, where the layer is wider than its roll.
    pub width: Option<Width>,
}

/// The bags for the parts as they are `laid`, that of each part, and what is to be said about them. A
/// machine may reach only so much of a roll at once (`reach`).
pub(in crate::plan) fn bags(
    setup: &Bagging,
    laid: &[Laid<'_>],
    reach: Option<Length>,
    effort: Effort,
) -> Result<(BagUse, Vec<PartBag>, Diagnostics), Diagnostic> {
    let mut remarks = Diagnostics::new();
    // Within the shears' error of the true outline, and never smaller: see `grown`.
    let footprints: Vec<Outline> = laid
        .iter()
        .map(|l| Outline::solid(l.footprint.boundary.outer.simplified(SHEARS_MM)))
        .collect();
    // As the tape goes round them: on a mould not as flat as their cloth.
    let extents: Vec<Option<FilmExtent>> = (laid.iter())
        .map(|l| l.part.drapes().first()?.extent())
        .collect();
    let seen: Vec<&Outline> = (extents.iter().zip(&footprints))
        .map(|(extent, flat)| extent.as_ref().map_or(flat, |extent| &extent.seen))
        .collect();
    let sheets: Vec<Outline> = (extents.iter().zip(&footprints))
        .map(|(extent, flat)| {
            let over = extent.as_ref().and_then(over_mould);
            over.unwrap_or_else(|| flat.clone())
        })
        .collect();
    let groups = SharedBagGroup::all(laid);
    let widest = setup.layers.iter().map(|layer| layer.margin.to_mm());
    let widest = widest.fold(0.0, f64::max);
    let mut parts: Vec<Option<PartBag>> = vec![None; laid.len()];
    let mut shared = Vec::new();
    let mut common = Vec::new();
    for group in groups {
        let lead = &laid[group.parts[0]];
        let Some(name) = group.name else {
            let idx = group.parts[0];
            let around = sides(&grown(seen[idx], widest));
            let reach = extents[idx].as_ref().map(Reach::of).unwrap_or_default();
            let mut bag = part_bag(setup, lead, lead.part.name(), (around, reach), &mut remarks);
            bag.pleats = bag.pleats.over(extents[idx].as_ref());
            common.push((None, idx, around));
            parts[idx] = Some(bag);
            continue;
        };
        let own = widest_own(setup);
        let outlines: Vec<Outline> = group
            .parts
            .iter()
            .map(|idx| grown(seen[*idx], own))
            .collect();
        let Some(arranged) = arrangement(setup, &outlines, (widest, own), lead.tool) else {
            let message = format!("no way was found to lay the parts of bag `{name}` side by side");
            return Err(
                Diagnostic::error(message).help("give them bags of their own: leave out `bag`")
            );
        };
        let around = common_sheet(arranged.around, Length::mm(widest), own);
        let lying = (group.parts.iter().zip(&outlines)).zip(&arranged.placements);
        let lying = lying.filter_map(|((idx, outline), placement)| {
            Some((extents[*idx].as_ref()?, placement.outline(outline).bounds()))
        });
        let reach = Reach::of_all(&lying.collect::<Vec<_>>());
        let bag = part_bag(setup, lead, &name, (around, reach), &mut remarks);
        for idx in &group.parts {
            let area = laid[*idx].footprint.area;
            parts[*idx] = Some(PartBag {
                shared: Some(shared.len()),
                area,
                force: setup.vacuum.on(area),
                pleats: bag.pleats.clone().over(extents[*idx].as_ref()),
                ..bag.clone()
            });
        }
        let [long, short] = reach.over();
        let over_all = (arranged.around.0 + long, arranged.around.1 + short);
        common.push((Some(name.clone()), group.parts[0], over_all));
        let edge = |line: Length, around: f64| (line.to_mm() - around) / 2.0;
        let edge = (
            edge(bag.tape_line.0, arranged.around.0),
            edge(bag.tape_line.1, arranged.around.1),
        );
        let own = || group.parts.iter().zip(&arranged.placements);
        shared.push(SharedBag {
            lying: own()
                .map(|(idx, placement)| from_tape(placement, seen[*idx], edge))
                .collect(),
            zeros: own()
                .map(|(idx, placement)| placement.turn.direction(laid[*idx].zero))
                .collect(),
            name,
            parts: group.parts,
        });
    }
    // Every part is in one bag.
    let mut parts: Vec<PartBag> = parts.into_iter().flatten().collect();
    let rolls: Vec<RollUse> = setup
        .layers
        .iter()
        .map(|layer| {
            let sheet = |(name, part, around): &(Option<String>, usize, (f64, f64))| {
                let shape = match layer.kind {
                    LayerKind::Bag => {
                        let film = parts[*part].film;
                        rectangle(film.0.to_mm(), film.1.to_mm())
                    }
                    LayerKind::Outline if name.is_none() => {
                        grown(&sheets[*part], layer.margin.to_mm())
                    }
                    LayerKind::Outline => {
                        let (length, width) =
                            common_sheet(*around, layer.margin, widest_own(setup));
                        rectangle(length, width)
                    }
                };
                bag_cut(*part, name.clone(), shape)
            };
            let cuts: Vec<BagCut> = match layer.covers_bag() {
                true => common.iter().map(sheet).collect(),
                false => (sheets.iter().enumerate())
                    .map(|(part, sheet)| bag_cut(part, None, grown(sheet, layer.margin.to_mm())))
                    .collect(),
            };
            roll(layer, laid, cuts, (reach, effort), &mut remarks)
        })
        .collect::<Result<_, _>>()?;
    let film = (rolls.iter()).filter(|roll| roll.layer.kind == LayerKind::Bag);
    for joined in film.flat_map(|roll| &roll.joined) {
        let with = parts[joined.part].shared;
        let is_in =
            |idx: usize, bag: &PartBag| idx == joined.part || with.is_some() && bag.shared == with;
        for (_, bag) in parts
            .iter_mut()
            .enumerate()
            .filter(|(idx, bag)| is_in(*idx, bag))
        {
            bag.seam = joined.seam;
        }
    }
    let leads = common.iter().map(|(_, part, _)| *part);
    let run: Length = leads
        .map(|part| (parts[part].tape + parts[part].seam) * f64::from(laid[part].part.n_bags()))
        .fold(Length::ZERO, |sum, tape| sum + tape);
    let bags = BagUse {
        tape: run * (1.0 + setup.tape_spare),
        setup: setup.clone(),
        rolls,
        shared,
    };
    Ok((bags, parts, remarks))
}

/// How `outlines` lie in a bag; layers reach at most `widest` mm beyond a part, those of each part `own`.
fn arrangement(
    setup: &Bagging,
    outlines: &[Outline],
    (widest, own): (f64, f64),
    tool: Option<[Length; 2]>,
) -> Option<Arranged> {
    let to_tape = 2.0 * (widest - own + setup.tape_margin.to_mm());
    let beyond = 2.0 * setup.film_margin.to_mm();
    let pleats = in_pleats(setup.pleats, setup.pleat_height) / 4.0;
    let tool = tool.map(|[length, width]| {
        let room = |side: f64| side - to_tape - beyond;
        let (length, width) = (length.to_mm(), width.to_mm());
        (room(length.max(width)), room(length.min(width)))
    });
    arrange(outlines, film(setup)?, to_tape + beyond + pleats, tool)
}

fn bag_cut(part: usize, shared: Option<String>, shape: Outline) -> BagCut {
    BagCut {
        turns: turns(&shape),
        turned: Angle::ZERO,
        width: None,
        part,
        shared,
        shape,
    }
}

/// `outline` with `margin` all round; a rectangle where it has no such offset.
fn grown(outline: &Outline, margin: f64) -> Outline {
    let grown = surrounding(outline, margin + SHEARS_MM);
    Outline::solid(grown.outer.simplified(SHEARS_MM))
}

/// A sheet that does not shear, as far as the edges of a part on a mould: what is seen of the part, made as much longer
/// either way as the lines over it are. `None` for a part that is as it is seen.
fn over_mould(extent: &FilmExtent) -> Option<Outline> {
    let more = Reach::of(extent).over();
    let long = distance::long_direction(&extent.seen.outer)?;
    if more.iter().all(|more| *more <= SHEARS_MM) {
        return None;
    }
    let along = Turn::rotation(long.direction).apply(Point::new(1.0, 0.0)) - Point::default();
    let [x, y] = [more[0] / long.length, more[1] / long.width];
    let stretched = |p: &Point| {
        let from = *p - Point::default();
        let across = Vector::new(-along.y, along.x);
        *p + along * (x * along.dot(from)) + across * (y * across.dot(from))
    };
    let ring = Ring::new(extent.seen.outer.points().iter().map(stretched)).ok()?;
    Some(Outline::solid(ring.simplified(SHEARS_MM)))
}

fn rectangle(length: f64, width: f64) -> Outline {
    let bounds = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(length, width),
    };
    bounds.outline().expect("a bag has a length and a width")
}

/// Length along and width across the smallest rectangle around `outline`.
pub(super) fn sides(outline: &Outline) -> (f64, f64) {
    distance::long_direction(&outline.outer).map_or_else(
        || (outline.bounds().width(), outline.bounds().height()),
        |long| (long.length, long.width),
    )
}

/// Any turn will do for film and felt: square to the roll, with the long side along it or across.
pub(super) fn turns(shape: &Outline) -> Vec<Turn> {
    /// A rectangle that lies as the part was drawn may be so much larger than the smallest one.
    const AS_DRAWN: f64 = 1.01;
    let box_area = shape.bounds().width() * shape.bounds().height();
    let long = distance::long_direction(&shape.outer)
        .filter(|long| box_area > AS_DRAWN * long.length * long.width)
        .map_or(Angle::ZERO, |long| long.direction);
    [0.0, 90.0]
        .map(|degrees| Turn::rotation((Angle::degrees(degrees) - long).as_rotation()))
        .to_vec()
}

/// The bag called `name` over layers with these sides (mm) `around` them, and what reaches further than is seen; `laid` is
/// the part in it, or the first.
///
/// The tape runs along a rectangle around the widest layer below the bag, or near the edge of the
/// tool. A pleat of height h takes 2·h of film and of tape; on a flat part the film is larger than the tape's
/// rectangle by a quarter of that on every side's length, so that its edge is as long as the tape.
fn part_bag(
    setup: &Bagging,
    laid: &Laid<'_>,
    name: &str,
    (around, reach): ((f64, f64), Reach),
    remarks: &mut Diagnostics,
) -> PartBag {
    let beyond = 2.0 * setup.tape_margin.to_mm();
    let [long, short] = reach.edge;
    let least = (around.0 + beyond + long, around.1 + beyond + short);
    let film_margin = setup.film_margin.to_mm();
    let line = match laid.tool {
        None => least,
        Some([length, width]) => {
            let (length, width) = (length.to_mm(), width.to_mm());
            let line = (
                length.max(width) - 2.0 * film_margin,
                length.min(width) - 2.0 * film_margin,
            );
            if line.0 < least.0 || line.1 < least.1 {
                let need = |side: f64| Length::mm(side + 2.0 * film_margin).in_mm_and_inches();
                let message = format!("the mould of `{name}` is small for its bag");
                let help = format!(
                    "breather, tape and film want {} by {}; make the margins smaller or the mould larger (`tool`)",
                    need(least.0),
                    need(least.1)
                );
                remarks.push(Diagnostic::warning(message).help(help));
            }
            (line.0.max(least.0), line.1.max(least.1))
        }
    };
    let pleats = Pleats::of(setup, reach);
    let film = |side: f64, k: usize| Length::mm(side + 2.0 * film_margin) + pleats.film[k];
    let area = laid.footprint.area;
    PartBag {
        shared: None,
        area,
        force: setup.vacuum.on(area),
        mould_force: setup.vacuum.on(Length::mm(line.0) * Length::mm(line.1)),
        tape_line: (Length::mm(line.0), Length::mm(line.1)),
        tape: tape_run(line, pleats.in_edge().to_mm()),
        seam: Length::ZERO,
        film: (film(line.0, 0), film(line.1, 1)),
        pleats,
    }
}

/// What pleats add to the film's edge and to the tape, mm: twice their height each.
fn in_pleats(pleats: u32, height: Length) -> f64 {
    2.0 * f64::from(pleats) * height.to_mm()
}

/// Tape around a rectangle with these sides (mm), pleats and all.
fn tape_run(line: (f64, f64), pleats: f64) -> Length {
    Length::mm(2.0 * (line.0 + line.1) + pleats)
}

/// Ids of what is laid of the layers `setup` has, for these parts with so many sets, layer by layer; a
/// layer that is joined from several widths counts once.
pub(crate) fn wanted_ids(setup: &Bagging, parts: &[(&Part, u32)]) -> Vec<Vec<String>> {
    let in_job: Vec<&Part> = parts.iter().map(|(part, _)| *part).collect();
    let bags = parts_by_bag(&in_job);
    let of_layer = |layer: &BagLayer| {
        let sheets: Vec<(&str, usize)> = match layer.covers_bag() {
            true => (bags.iter())
                .map(|(name, own)| (name.unwrap_or(&in_job[own[0]].name), own[0]))
                .collect(),
            false => (in_job.iter().enumerate())
                .map(|(idx, part)| (part.name.as_str(), idx))
                .collect(),
        };
        let ids = sheets.into_iter().flat_map(|(name, idx)| {
            let (part, sets) = parts[idx];
            let n_bags = sets * part.stages().len() as u32;
            (0..n_bags).map(move |bag| layer_id(name, (part, sets), &layer.roll.name, bag))
        });
        ids.collect()
    };
    setup.layers.iter().map(of_layer).collect()
}

/// Set and stage, each from 1, of bag `bag` (from 0) of a part in so many stages.
pub(super) fn set_and_stage(bag: u32, stages: u32) -> (u32, u32) {
    (bag / stages + 1, bag % stages + 1)
}

/// `NAME-LAYER`, NAME being the part's or that of its shared bag; with `-stageN` where the part is laid in stages and `#SET` where it is made more than
/// once.
fn layer_id(name: &str, (part, sets): (&Part, u32), layer: &str, bag: u32) -> String {
    let stages = part.stages().len() as u32;
    let (set, stage) = set_and_stage(bag, stages);
    let mut id = format!("{name}-{layer}");
    if stages > 1 {
        _ = write!(id, "-stage{stage}");
    }
    if sets > 1 {
        _ = write!(id, "#{set}");
    }
    id
}

impl BagCut {
    /// The name that its ids begin with: the part's, or that of the shared bag.
    pub(super) fn name<'a>(&'a self, part: &'a PartUse) -> &'a str {
        self.shared.as_deref().unwrap_or_else(|| part.name())
    }
}

/// The same for what is cut, with the letter of a width.
pub(super) fn id(part: &PartUse, cut: &BagCut, layer: &str, bag: u32) -> String {
    match &cut.width {
        None => layer_id(cut.name(part), (part.part(), part.sets), layer, bag),
        Some(width) => width_id(part, cut, layer, width.letter, bag),
    }
}

/// The id of the width with this letter of the same layer.
pub(super) fn width_id(
    part: &PartUse,
    cut: &BagCut,
    layer: &str,
    letter: char,
    bag: u32,
) -> String {
    let layer = format!("{layer}-{letter}");
    layer_id(cut.name(part), (part.part(), part.sets), &layer, bag)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out apart from this program: a frame of 24 × 36 in with four pleats 3 in high.
    #[test]
    fn tape_goes_round_the_frame_and_up_the_pleats() {
        let pleats = in_pleats(4, Length::inches(3.0));
        let run = tape_run((36.0 * 25.4, 24.0 * 25.4), pleats);
        assert!((run.to_inches() - 144.0).abs() < 1e-9);
    }

    /// FAA AC 43.13-1B: a bleeder 3 in past a patch of 10 × 6 in covers 16 × 12 in = 192 in², with
    /// square corners; round ones take off (4 − π)·3² in².
    #[test]
    fn a_layer_reaches_beyond_the_part_by_its_margin() {
        let layer = grown(&rectangle(254.0, 152.4), 76.2);
        let (length, width) = sides(&layer);
        // As much beyond as the shears may be off.
        let beyond = -1e-6..=2.0 * SHEARS_MM + 1e-6;
        assert!(
            beyond.contains(&(length - 16.0 * 25.4)) && beyond.contains(&(width - 12.0 * 25.4))
        );
        let round = 192.0 - (4.0 - std::f64::consts::PI) * 9.0;
        let area = layer.area() / (25.4 * 25.4);
        assert!(area >= round - 1e-6 && area < round * 1.02, "{area}");
    }
}
