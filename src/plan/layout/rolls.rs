//! One cloth's pieces → rolls: stock on hand first, then the roll that is bought, in frames if the
//! cutting table is shorter than the cloth.
//!
//! The nesting engine fills containers and knows no cloth. A [`Slot`] is one container of it: the
//! usable part of a roll or remnant, or as much of it as lies on the table at a time.

use std::collections::BTreeMap;

use super::pins::Pinned;
use crate::cloth::{Cloth, Flaw, Stock};
use crate::diag::Diagnostic;
use crate::geometry::{Bounds, Join, Outline, Placement, Point, Ring, Turn, Vector, clip, offset};
use crate::nest::{
    self, Container, Continue, Forbidden, LayoutFault, NestError, Problem, SearchSettings, Shape,
    StockProblem, check_placed,
};
use crate::units::{Angle, Length};

/// A roll or remnant with the pieces on it, in its roll frame.
#[derive(Clone)]
pub(in crate::plan) struct Roll {
    /// What it is cut from: index into the cloth's stock; `None` for the roll that is bought.
    pub stock: Option<usize>,
    /// The pieces: index of the shape, and where it lies.
    pub placed: Vec<(usize, Placement)>,
    /// Those that lie where the job pins them.
    pub pinned: Vec<Pinned>,
    /// Where the frames on the table begin and end, mm; none if no table was given.
    pub frames: Vec<[f64; 2]>,
    /// How far along the warp it is used, margin included, mm.
    pub used: f64,
}

/// Refuses to lay out more of a cloth than a ring can go round.
pub(in crate::plan) fn too_long(cloth: &str) -> Diagnostic {
    let most = Length::mm(Ring::FARTHEST_MM).to_metres() / 1000.0;
    Diagnostic::error(format!(
        "the job takes more than {most} km of `{cloth}`, the most that is laid out on one roll"
    ))
    .help("plan fewer `sets` at a time")
}

/// Told the length in mm of the roll that is being filled and the share of the work done.
pub(in crate::plan) type Told<'a> = dyn Fn(f64, f64) -> Continue + Sync + 'a;

/// Lays `shapes` out on what there is of `cloth`, around the pieces that are pinned. Rolls without a piece are left out.
///
/// # Errors
/// A shape that has no place, not even on the roll that is bought.
pub(in crate::plan) fn lay_out(
    cloth: &Cloth,
    (shapes, pinned): (&[Shape], &[Pinned]),
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<Vec<Roll>, NestError> {
    let mut bought = Source::bought(cloth);
    bought.pinned = on(pinned, None);
    if cloth.supply.stock.is_empty() && cloth.supply.table.is_none() {
        return one_roll(&bought, cloth, shapes, settings, told).map(|roll| vec![roll]);
    }
    let mut sources: Vec<Source<'_>> = (cloth.supply.stock.iter())
        .enumerate()
        .map(|(index, stock)| Source {
            pinned: on(pinned, Some(index)),
            ..Source::on_hand(cloth, stock)
        })
        .collect();
    let mut n_frames = frames_at_first(cloth, shapes).max(bought.frames_pinned());
    sources.push(bought);
    for _ in 0..TRIES {
        let slots: Vec<Slot> = (sources.iter().enumerate())
            .flat_map(|(index, source)| source.slots(index, n_frames))
            .collect();
        let problem = StockProblem {
            shapes: shapes.to_vec(),
            containers: slots.iter().map(|slot| slot.container.clone()).collect(),
            gap: cloth.gap.to_mm(),
        };
        let found = nest::nest_stock(&problem, settings, &|progress| {
            let slot = &slots[progress.container];
            told(slot.left + progress.length, progress.done)
        })?;
        let Some(shape) = found.left().iter().position(|&n| n > 0) else {
            return Ok(rolls(&sources, &slots, found.layouts()));
        };
        // More frames help only a shape that fits one of them.
        if cloth.supply.table.is_none() || !bought_holds(&sources, &shapes[shape]) {
            return Err(NestError::DoesNotFit { shape });
        }
        n_frames *= 2;
    }
    Err(NestError::DoesNotFit { shape: 0 })
}

/// How often the number of frames is doubled before it is given up.
const TRIES: usize = 6;

/// The roll that is bought, alone: the full search, angle tolerance included.
fn one_roll(
    bought: &Source<'_>,
    cloth: &Cloth,
    shapes: &[Shape],
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<Roll, NestError> {
    let slot = bought.strip(0);
    let problem = Problem {
        shapes: shapes.to_vec(),
        container: slot.container.clone(),
        gap: cloth.gap.to_mm(),
    };
    let found = nest::nest(&problem, settings, &|progress| {
        told(slot.left + progress.length, progress.done)
    })?;
    let end = bought.pinned.iter().map(|pinned| pinned.cut.bounds().max.x);
    Ok(Roll {
        stock: None,
        placed: placed(&found, slot.corner),
        used: end.fold(slot.corner.x + found.length(), f64::max) + bought.margin,
        pinned: bought.pinned.iter().copied().cloned().collect(),
        frames: Vec::new(),
    })
}

/// Those of `pinned` that lie on this stock, or on the roll that is bought.
fn on(pinned: &[Pinned], stock: Option<usize>) -> Vec<&Pinned> {
    pinned.iter().filter(|pin| pin.stock == stock).collect()
}

/// Why a pinned piece cannot lie where it is pinned.
pub(in crate::plan) enum Misplaced {
    /// It sticks out of the usable cloth, or of the frames of the table, by so much, mm.
    OffCloth { by: f64 },
    /// It lies where an odd remnant has no cloth.
    OffRemnant,
    /// It covers a flaw, or what may not be used of a remnant.
    OnFlaw,
    /// It covers a part of another.
    Over { other: usize },
    /// It is so near to another, mm.
    TooNear { other: usize, distance: f64 },
}

/// Places are written to a ten-thousandth of a millimetre; so much may be missing, mm.
const WRITTEN_MM: f64 = 1e-3;

/// What is wrong with the places of the `pinned` pieces of `cloth`, each with its index.
pub(in crate::plan) fn misplaced(cloth: &Cloth, pinned: &[Pinned]) -> Vec<(usize, Misplaced)> {
    let mut found = Vec::new();
    let stock = cloth.supply.stock.iter().enumerate();
    let on_hand = stock.map(|(index, stock)| (Some(index), Source::on_hand(cloth, stock)));
    for (stock, source) in on_hand.chain([(None, Source::bought(cloth))]) {
        let own: Vec<usize> = (0..pinned.len())
            .filter(|which| pinned[*which].stock == stock)
            .collect();
        let cuts: Vec<Shape> = (own.iter())
            .map(|which| Shape::new(pinned[*which].cut.clone(), &[0.0], 1))
            .collect();
        let reach = own.iter().map(|which| pinned[*which].cut.bounds().max.x);
        let slots = source.slots(0, source.frames_to(reach.fold(0.0, f64::max)));
        for (which, cut) in own.iter().zip(&cuts) {
            found.extend(source.misplaced(&slots, cut).map(|how| (*which, how)));
        }
        let strip = Container::sheet(Ring::FARTHEST_MM, Ring::FARTHEST_MM);
        let lying = (0..cuts.len()).map(|shape| lying(shape, Vector::default()));
        for fault in check_placed(&cuts, &strip, source.gap, lying.collect()) {
            match fault {
                LayoutFault::Overlap { pair: (a, b), area } if !is_contact(area, &cuts[b]) => {
                    found.push((own[b], Misplaced::Over { other: own[a] }));
                }
                LayoutFault::TooNear {
                    pair: (a, b),
                    distance,
                } if distance < source.gap - WRITTEN_MM => {
                    let other = own[a];
                    found.push((own[b], Misplaced::TooNear { other, distance }));
                }
                _ => {}
            }
        }
    }
    found
}

/// Whether a common area with `cut` is no more than what rounding makes of contact.
fn is_contact(area: f64, cut: &Shape) -> bool {
    area <= WRITTEN_MM * cut.outline.bounds().long_side()
}

/// The shape `shape` as it is, but for its shift.
fn lying(shape: usize, shift: Vector) -> nest::Placed {
    let turn = Turn::rotation(Angle::ZERO);
    let placement = Placement { turn, shift };
    nest::Placed { shape, placement }
}

/// Enough frames of the table for `shapes` if each is at least half full.
fn frames_at_first(cloth: &Cloth, shapes: &[Shape]) -> usize {
    let Some(table) = cloth.supply.table else {
        return 1;
    };
    let area: f64 = (shapes.iter())
        .map(|s| s.outline.area() * s.demand as f64)
        .sum();
    let frame = cloth.usable_width().to_mm() * table.to_mm();
    (2.0 * area / frame).ceil().clamp(1.0, 5_000.0) as usize + 1
}

/// Whether a frame of the roll that is bought is large enough for `shape`.
fn bought_holds(sources: &[Source<'_>], shape: &Shape) -> bool {
    let frame = (sources.last()).and_then(|bought| bought.slots(0, 1).pop());
    frame.is_some_and(|frame| frame.holds(shape))
}

/// A container of the nesting engine and where it lies on its roll.
struct Slot {
    /// Index into the sources.
    source: usize,
    /// Which frame on the table it is, from 0.
    frame: usize,
    container: Container,
    /// From the container's frame to the roll frame.
    corner: Vector,
    /// Where it begins on the roll, mm.
    left: f64,
}

impl Slot {
    /// Whether `shape` fits the container's box in a permitted turn.
    fn holds(&self, shape: &Shape) -> bool {
        let within = self.container.bounds();
        (shape.turns.iter()).any(|turn| within.takes(&turn.outline(&shape.outline).bounds()))
    }
}

/// A roll or remnant before anything lies on it.
struct Source<'a> {
    stock: Option<&'a Stock>,
    /// Extent along the warp, mm; infinite for the roll that is bought.
    length: f64,
    /// Lowest and highest usable y, mm.
    usable_y: (f64, f64),
    /// Strip at its ends (all round, for an odd outline) that is not used, mm.
    margin: f64,
    /// Selvedge strip of its cloth, mm.
    selvedge: f64,
    /// Least distance between pieces, mm.
    gap: f64,
    /// Length of the table, mm.
    table: Option<f64>,
    flaws: &'a [Flaw],
    /// The pieces that are pinned on it.
    pinned: Vec<&'a Pinned>,
}

impl<'a> Source<'a> {
    fn bought(cloth: &'a Cloth) -> Self {
        Self {
            stock: None,
            length: f64::INFINITY,
            usable_y: cloth.usable_y(),
            margin: cloth.end_margin.to_mm(),
            selvedge: cloth.selvedge.to_mm(),
            gap: cloth.gap.to_mm(),
            table: cloth.supply.table.map(|table| table.to_mm()),
            flaws: &cloth.supply.flaws,
            pinned: Vec::new(),
        }
    }

    fn on_hand(cloth: &'a Cloth, stock: &'a Stock) -> Self {
        Self {
            stock: Some(stock),
            length: stock.length(),
            usable_y: stock.usable_y(cloth.selvedge),
            margin: stock.margin.to_mm(),
            flaws: &stock.flaws,
            ..Self::bought(cloth)
        }
    }

    /// Whether frames may follow each other at once, wherever that is along the roll.
    fn can_slide(&self) -> bool {
        let is_free = self.flaws.is_empty() && self.pinned.is_empty();
        is_free && self.stock.is_none_or(Stock::is_rectangle)
    }

    /// How far it is from the beginning of one frame to that of the next, mm; without a table, all is one.
    fn frame_step(&self) -> f64 {
        self.table.map_or(f64::INFINITY, |table| table + self.gap)
    }

    /// The frame that `x` lies in.
    fn frame_at(&self, x: f64) -> usize {
        ((x - self.margin) / self.frame_step()).max(0.0) as usize
    }

    /// So many frames that `x` lies in the last of them.
    fn frames_to(&self, x: f64) -> usize {
        self.frame_at(x) + 1
    }

    /// So many frames that all pinned pieces lie in one.
    fn frames_pinned(&self) -> usize {
        let ends = self.pinned.iter().map(|pinned| pinned.cut.bounds().max.x);
        self.frames_to(ends.fold(0.0, f64::max))
    }

    /// Why `cut` cannot lie where it is on this roll, whose containers are `slots`.
    fn misplaced(&self, slots: &[Slot], cut: &Shape) -> Option<Misplaced> {
        let cut = std::slice::from_ref(cut);
        let mut first = None;
        for slot in slots {
            let placed = vec![lying(0, -slot.corner)];
            let faults = check_placed(cut, &slot.container, self.gap, placed).into_iter();
            let told = faults.filter_map(|fault| match fault {
                LayoutFault::Outside { by, .. } if by > WRITTEN_MM => {
                    Some(Misplaced::OffCloth { by })
                }
                LayoutFault::OffRemnant { area, .. } if !is_contact(area, &cut[0]) => {
                    Some(Misplaced::OffRemnant)
                }
                LayoutFault::OnForbidden { area, .. } if !is_contact(area, &cut[0]) => {
                    Some(Misplaced::OnFlaw)
                }
                LayoutFault::NearForbidden {
                    distance,
                    forbidden,
                    ..
                } => {
                    let least = slot.container.forbidden[forbidden].margin - WRITTEN_MM;
                    (distance < least).then_some(Misplaced::OnFlaw)
                }
                _ => None,
            });
            let mut told = told.peekable();
            told.peek()?;
            first = match (first, told.next()) {
                // The nearest of the frames of the table.
                (Some(Misplaced::OffCloth { by: a }), Some(Misplaced::OffCloth { by: b })) => {
                    Some(Misplaced::OffCloth { by: a.min(b) })
                }
                (first, other) => first.or(other),
            };
        }
        // Less than a margin of cloth has no container.
        first.or(slots.is_empty().then_some(Misplaced::OffRemnant))
    }

    /// Its containers, in at most `n_frames` frames if it has no end.
    fn slots(&self, index: usize, n_frames: usize) -> Vec<Slot> {
        let Some(table) = self.table else {
            return if self.length.is_finite() {
                self.frame(index, 0, (self.margin, self.length - self.margin))
            } else {
                vec![self.strip(index)]
            };
        };
        // Frames lie a gap apart, so that pieces may fill each of them from end to end.
        let step = self.frame_step();
        let n = if self.length.is_finite() {
            (self.length / step).ceil() as usize
        } else {
            n_frames
        };
        (0..n)
            .flat_map(|k| {
                let from = self.margin + k as f64 * step;
                // Any of them may be the last, and the cut across that ends the roll is made on the
                // table, too.
                let to = (from + table).min(self.length) - self.margin;
                self.frame(index, k, (from, to))
            })
            .collect()
    }

    /// The roll without end.
    fn strip(&self, index: usize) -> Slot {
        let (low, high) = self.usable_y;
        let corner = Vector::new(self.margin, low);
        let mut container = Container::strip(high - low);
        container.forbidden = self.forbidden(corner, None);
        Slot {
            source: index,
            frame: 0,
            container,
            corner,
            left: self.margin,
        }
    }

    /// The containers of its part between two places along the warp.
    fn frame(&self, index: usize, frame: usize, (from, to): (f64, f64)) -> Vec<Slot> {
        let (low, high) = self.usable_y;
        if to <= from || high <= low {
            return Vec::new();
        }
        let within = Bounds {
            min: Point::new(from, low),
            max: Point::new(to, high),
        };
        let slot = |mut container: Container, corner: Vector, left: f64| {
            container
                .forbidden
                .extend(self.forbidden(corner, Some(&within)));
            Slot {
                source: index,
                frame,
                container,
                corner,
                left,
            }
        };
        match self.stock.filter(|stock| !stock.is_rectangle()) {
            None => {
                let sheet = Container::sheet(to - from, high - low);
                vec![slot(sheet, Vector::new(from, low), from)]
            }
            Some(stock) => (usable_parts(stock).iter())
                .flat_map(|part| clip::within(part, &self.slice(&within, part)))
                .map(|part| {
                    let left = part.bounds().min.x;
                    let mut container = Container::remnant(part);
                    container.forbidden = self.edges_of(stock);
                    slot(container, Vector::default(), left)
                })
                .collect(),
        }
    }

    /// What the engine found for its containers `filled`, put together with what is pinned on it; `index` is its own.
    fn roll(&self, index: usize, filled: &[(&Slot, &nest::Nesting)]) -> Roll {
        let mut roll = Roll {
            // The stock comes first, in its order.
            stock: self.stock.map(|_| index),
            placed: Vec::new(),
            pinned: self.pinned.iter().copied().cloned().collect(),
            frames: Vec::new(),
            used: 0.0,
        };
        let mut frames: BTreeMap<usize, OneFrame<'_>> = BTreeMap::new();
        for (slot, layout) in filled {
            let frame = frames.entry(slot.frame).or_default();
            frame.filled.push((slot, layout));
        }
        for pinned in &self.pinned {
            let bounds = pinned.cut.bounds();
            let frame = frames.entry(self.frame_at(bounds.min.x)).or_default();
            frame.pinned_to = frame.pinned_to.max(bounds.max.x);
        }
        // Where the pieces of the frames so far end.
        let mut end: Option<f64> = None;
        let mut frames = frames.into_values().peekable();
        while let Some(frame) = frames.next() {
            let left = frame.filled.first().map_or(0.0, |(slot, _)| slot.left);
            let shift = match (self.can_slide(), end) {
                (false, _) => 0.0,
                (true, None) => self.margin - left,
                (true, Some(end)) => end + self.gap - left,
            };
            let ends =
                (frame.filled.iter()).map(|(slot, layout)| slot.left + shift + layout.length());
            let reached = ends.fold(frame.pinned_to, f64::max);
            if let Some(table) = self.table {
                // Half-way between the pieces of two frames, unless the table is too short for that.
                let between = end.map_or(0.0, |end| end + self.gap / 2.0);
                let beyond = frames.peek().map_or(self.margin, |_| 0.0);
                let begins = between.max(reached + beyond - table);
                if let Some(last) = roll.frames.last_mut() {
                    last[1] = begins.min(last[0] + table);
                }
                roll.frames.push([begins, begins + table]);
            }
            for (slot, layout) in frame.filled {
                let corner = slot.corner + Vector::new(shift, 0.0);
                roll.placed.extend(placed(layout, corner));
            }
            end = Some(reached);
        }
        let margin = match self.stock {
            Some(_) => self.margin.max(self.gap),
            None => self.margin,
        };
        roll.used = (end.unwrap_or(0.0) + margin).min(self.length);
        if let (Some(last), Some(table)) = (roll.frames.last_mut(), self.table) {
            // The cut across that ends the roll is made on the table, too.
            roll.used = roll.used.min(last[0] + table);
            last[1] = roll.used;
        }
        roll
    }

    /// What of an odd remnant's `part` may lie in a frame: only a table cuts it along the warp,
    /// since the margin has been taken off already.
    fn slice(&self, within: &Bounds, part: &Outline) -> Bounds {
        let own = part.bounds();
        match self.table {
            Some(_) => Bounds {
                min: Point::new(within.min.x, own.min.y),
                max: Point::new(within.max.x, own.max.y),
            },
            None => own,
        }
    }

    /// What of an odd remnant is left free beside its outer edge: openings and selvedges.
    fn edges_of(&self, stock: &Stock) -> Vec<Forbidden> {
        let bounds = stock.outline.bounds();
        let band = |low: f64, high: f64| Bounds {
            min: Point::new(bounds.min.x - 1.0, low),
            max: Point::new(bounds.max.x + 1.0, high),
        };
        let low = (stock.selvedges.low).then(|| band(-1.0, self.selvedge));
        let high =
            (stock.selvedges.high).then(|| band(bounds.max.y - self.selvedge, bounds.max.y + 1.0));
        let bands = [low, high].into_iter().flatten();
        let openings = stock.outline.openings.iter();
        bands
            .filter_map(|band| band.outline())
            .map(|area| Forbidden { area, margin: 0.0 })
            .chain(openings.map(|opening| Forbidden {
                area: Outline::solid(opening.clone()),
                margin: self.margin,
            }))
            .collect()
    }

    /// The flaws near `within` (everywhere if `None`) and what is pinned, in the frame whose origin is `corner`.
    fn forbidden(&self, corner: Vector, within: Option<&Bounds>) -> Vec<Forbidden> {
        let is_near = |area: &Outline, by: f64| {
            let area = area.bounds();
            within.is_none_or(|w| area.min.x - by <= w.max.x && area.max.x + by >= w.min.x)
        };
        let (low, high) = self.usable_y;
        let flaws = self.flaws.iter();
        let flaws = flaws.filter(|flaw| is_near(&flaw.area, flaw.margin.to_mm()));
        let pinned = self.pinned.iter().filter(|pin| is_near(&pin.cut, self.gap));
        let pinned = pinned.map(|pin| Forbidden {
            area: pin.cut.shifted(-corner),
            margin: self.gap,
        });
        flaws
            .flat_map(|flaw| {
                // A flaw all across reaches far out, where nothing lies anyway.
                let reach = flaw.margin.to_mm() + 1.0;
                let area = flaw.area.bounds();
                let near = Bounds {
                    min: Point::new(area.min.x, low - reach),
                    max: Point::new(area.max.x, high + reach),
                };
                let parts = clip::within(&flaw.area, &near).into_iter();
                parts.map(move |area| Forbidden {
                    area: area.shifted(-corner),
                    margin: flaw.margin.to_mm(),
                })
            })
            .chain(pinned)
            .collect()
    }
}

/// What lies in one frame on the table.
#[derive(Default)]
struct OneFrame<'a> {
    filled: Vec<(&'a Slot, &'a nest::Nesting)>,
    /// Where the last of the pieces that are pinned in it ends, mm.
    pinned_to: f64,
}

/// How far a corner of what surrounds a remnant may reach into it, in margins. Mitred, straight edges lie a
/// margin from the remnant's to the last digit, and corners keep off a little more than they must.
const MITRE: f64 = 2.0;

/// The parts of an odd remnant that its margin leaves usable, openings not taken off.
fn usable_parts(stock: &Stock) -> Vec<Outline> {
    let margin = stock.margin.to_mm();
    if margin == 0.0 {
        return vec![Outline::solid(stock.outline.outer.clone())];
    }
    // What surrounds the remnant is grown inwards, so that a waist narrower than two margins
    // leaves two parts.
    let around = Outline::solid(stock.outline.outer.clone()).outside(margin + 10.0);
    let around = around.into_iter().next();
    let grown =
        around.and_then(|around| offset(&around, margin, Join::Mitre { limit: MITRE }).ok());
    let parts: Vec<Ring> = grown.map_or_else(Vec::new, |grown| grown.openings);
    parts.into_iter().map(Outline::solid).collect()
}

fn placed(found: &nest::Nesting, corner: Vector) -> Vec<(usize, Placement)> {
    let moved = |p: &nest::Placed| Placement {
        shift: p.placement.shift + corner,
        ..p.placement
    };
    found.placed().iter().map(|p| (p.shape, moved(p))).collect()
}

/// What the engine found, roll by roll.
fn rolls(sources: &[Source<'_>], slots: &[Slot], found: &[nest::Nesting]) -> Vec<Roll> {
    let filled: Vec<(&Slot, &nest::Nesting)> = (slots.iter().zip(found))
        .filter(|(_, layout)| !layout.placed().is_empty())
        .collect();
    let of_source = |(index, source): (usize, &Source<'_>)| {
        let own = filled.iter().filter(|(slot, _)| slot.source == index);
        let own: Vec<(&Slot, &nest::Nesting)> = own.copied().collect();
        let is_used = !own.is_empty() || !source.pinned.is_empty();
        is_used.then(|| source.roll(index, &own))
    };
    sources.iter().enumerate().filter_map(of_source).collect()
}
