//! Pieces put to the pattern of their cloth, so that lines run on from one into the next.
//!
//! The search knows no pattern. A piece whose lines run on is given to it with all that it passes over while it is
//! moved through one repeat; what it finds leaves room to put the piece to the pattern afterwards. A piece that has no
//! such room on its cloth (as wide as the roll, as long as the table) is laid as it comes, and told of.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::kinds::Kind;
use super::piece::PlacedPiece;
use super::pins::Pinned;
use super::rolls::{self, Roll, Told};
use crate::cloth::Cloth;
use crate::diag::Diagnostic;
use crate::geometry::{Face, Outline, Turn, Vector, clip, trig};
use crate::nest::{NestError, SearchSettings, Shape};
use crate::plan::{ClothUse, Layout};
use crate::units::{Area, Length};

/// Lines that lie farther apart than this across a joint (mm) do not meet. Larger: a step shows in a weave of 1 mm
/// yarns; smaller: cut files are written no finer than a hundredth of this.
const MEETS_MM: f64 = 0.1;

/// Pieces among which lines run on: the ply from which they do, and the set.
type JoinGroup = ((usize, usize), u32);

/// How the pattern of a piece lies to that of the first piece beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct RunsOn {
    /// Id of the first piece.
    pub from: String,
    /// How far it must be moved for lines to meet, along the roll and across it; `None` if it lies on another roll, of
    /// which nothing is known.
    pub off: Option<[Length; 2]>,
}

impl RunsOn {
    /// Whether lines meet as the pieces are cut.
    #[must_use]
    pub fn meets(&self) -> bool {
        (self.off).is_some_and(|off| off.iter().all(|off| off.to_mm().abs() <= MEETS_MM))
    }
}

/// What it takes that lines run on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ForPattern {
    /// Area that is kept free beside pieces, so that they can be put to their pattern.
    pub kept_free: Area,
    /// Stock that is left alone, as it holds only some of the pieces that lie beside each other.
    pub left_alone: Vec<String>,
}

/// Lays `kinds` out around what is pinned as [`rolls::lay_out`] does, and puts those whose lines run on to their pattern.
///
/// # Errors
/// A shape that has no place.
pub(super) fn lay_out(
    cloth: &Cloth,
    (kinds, pinned): (&[Kind<'_>], &[Pinned]),
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<(Vec<Roll>, ForPattern), NestError> {
    let mut for_pattern = ForPattern::default();
    let mut stock: Vec<usize> = (0..cloth.supply.stock.len()).collect();
    loop {
        let mut with = cloth.clone();
        with.supply.stock = stock
            .iter()
            .map(|idx| cloth.supply.stock[*idx].clone())
            .collect();
        let here: Vec<Pinned> = pinned.iter().map(|pin| pin.on_one_of(&stock)).collect();
        let (mut rolls, kept_free) = lay_with_room(&with, (kinds, &here), settings, told)?;
        for roll in &mut rolls {
            roll.stock = roll.stock.map(|idx| stock[idx]);
        }
        let mut apart = holding_some(kinds, &rolls);
        // What a person put there stays there.
        apart.retain(|idx| pinned.iter().all(|pin| pin.stock != Some(*idx)));
        if apart.is_empty() {
            for_pattern.kept_free = kept_free;
            return Ok((rolls, for_pattern));
        }
        stock.retain(|idx| !apart.contains(idx));
        let names = apart
            .iter()
            .map(|idx| cloth.supply.stock[*idx].name.clone());
        for_pattern.left_alone.extend(names);
    }
}

/// The stock that holds some of the pieces among which lines run on, the others being on another roll.
fn holding_some(kinds: &[Kind<'_>], rolls: &[Roll]) -> Vec<usize> {
    let mut on: BTreeMap<JoinGroup, Vec<Option<usize>>> = BTreeMap::new();
    let mut next = vec![0; kinds.len()];
    for roll in rolls {
        for (shape, _) in &roll.placed {
            let (piece, set) = kinds[*shape].members[next[*shape]];
            next[*shape] += 1;
            if let Some(run) = piece.run_on() {
                on.entry((run.first, set)).or_default().push(roll.stock);
            }
        }
    }
    let mut apart: Vec<usize> = on
        .into_values()
        .filter(|rolls| rolls.iter().any(|roll| *roll != rolls[0]))
        .flat_map(|rolls| rolls.into_iter().flatten())
        .collect();
    apart.sort_unstable();
    apart.dedup();
    apart
}

/// The layout of `kinds` in which those whose lines run on lie to their pattern, with the area that is kept free for that.
fn lay_with_room(
    cloth: &Cloth,
    (kinds, pinned): (&[Kind<'_>], &[Pinned]),
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<(Vec<Roll>, Area), NestError> {
    let own = Kind::shapes(kinds);
    let mut room: Vec<[f64; 2]> = kinds.iter().map(room_wanted).collect();
    let (shapes, mut rolls) = loop {
        let with_room = own.iter().zip(kinds).zip(&room);
        let shapes: Vec<Shape> = with_room
            .map(|((shape, kind), room)| Shape {
                outline: moved_through(&shape.outline, kind.like.turns()[0], *room),
                ..shape.clone()
            })
            .collect();
        match rolls::lay_out(cloth, (&shapes, pinned), settings, told) {
            Err(NestError::DoesNotFit { shape }) if room[shape] != [0.0; 2] => {
                // Rather across the roll, whose width is what most often is too little.
                room[shape] = match room[shape] {
                    [along, across] if along > 0.0 && across > 0.0 => [along, 0.0],
                    _ => [0.0; 2],
                };
            }
            found => break (shapes, found?),
        }
    };
    for roll in &mut rolls {
        put_to_pattern(roll, kinds, &room);
        shorten(roll, cloth, &own, &room);
    }
    let free = shapes.iter().zip(&own);
    let free =
        free.map(|(with, own)| (with.outline.area() - own.outline.area()) * own.demand as f64);
    Ok((rolls, Area::mm2(free.sum())))
}

fn room_wanted(kind: &Kind<'_>) -> [f64; 2] {
    kind.like
        .run_on()
        .map_or([0.0; 2], |run| run.pattern.steps())
}

/// What `outline` passes over while it is moved on the roll through so much along it and across it, mm.
fn moved_through(outline: &Outline, turn: Turn, [along, across]: [f64; 2]) -> Outline {
    let mut all = outline.clone();
    for by in [Vector::new(along, 0.0), Vector::new(0.0, across)] {
        if by != Vector::default() {
            all = clip::swept(&all, before_turn(by, turn));
        }
    }
    all
}

/// What `turn` turns into `by`.
fn before_turn(by: Vector, turn: Turn) -> Vector {
    let y = match turn.face {
        Face::Up => by.y,
        Face::Down => -by.y,
    };
    let (sin, cos) = trig::sin_cos(turn.angle);
    Vector::new(by.x * cos + y * sin, y * cos - by.x * sin)
}

/// Moves the pieces of `roll` within their room, so that the pattern of all lies alike.
fn put_to_pattern(roll: &mut Roll, kinds: &[Kind<'_>], room: &[[f64; 2]]) {
    for (shape, placement) in &mut roll.placed {
        let Some(run) = kinds[*shape].like.run_on() else {
            continue;
        };
        let go = run.pattern.to_go(run.shift_of(placement));
        let [along, across] = room[*shape];
        let within = |go: f64, room: f64| if room > 0.0 { go } else { 0.0 };
        placement.shift = placement.shift + Vector::new(within(go.x, along), within(go.y, across));
    }
}

/// Ends a roll that is bought where its pieces end, now that they are put to their pattern.
fn shorten(roll: &mut Roll, cloth: &Cloth, own: &[Shape], room: &[[f64; 2]]) {
    let is_moved = roll
        .placed
        .iter()
        .any(|(shape, _)| room[*shape] != [0.0; 2]);
    if roll.stock.is_none() && roll.frames.is_empty() && is_moved {
        let ends = roll
            .placed
            .iter()
            .map(|(shape, placement)| placement.outline(&own[*shape].outline).bounds().max.x);
        let ends = ends.chain(roll.pinned.iter().map(|pin| pin.cut.bounds().max.x));
        let end = ends.fold(0.0, f64::max) + cloth.end_margin.to_mm();
        roll.used = roll.used.min(end);
    }
}

/// Tells the pieces of a cloth whose lines run on how their patterns lie to each other.
pub(in crate::plan) fn tell(layouts: &mut [Layout]) {
    struct First {
        group: JoinGroup,
        id: String,
        roll: usize,
        shift: Vector,
    }
    // In the order of the job.
    let mut order: Vec<(usize, usize)> = Vec::new();
    for (roll, layout) in layouts.iter().enumerate() {
        order.extend((0..layout.pieces.len()).map(|idx| (roll, idx)));
    }
    let key = |piece: &PlacedPiece| {
        let of = piece.piece().map(|of| (of.part_idx(), of.ply_idx()));
        let letter = piece
            .piece()
            .and_then(|of| of.splice())
            .map(|splice| splice.letter);
        (of, letter, piece.set)
    };
    order.sort_by_key(|(roll, idx)| key(&layouts[*roll].pieces[*idx]));
    let mut firsts: Vec<First> = Vec::new();
    for (roll, idx) in order {
        let placed = &mut layouts[roll].pieces[idx];
        let Some(run) = placed.piece().and_then(|piece| piece.run_on().copied()) else {
            continue;
        };
        let shift = run.shift_of(&placed.placement);
        let group = (run.first, placed.set);
        match firsts.iter().find(|first| first.group == group) {
            Some(first) => {
                let off = run.pattern.off(shift - first.shift);
                placed.runs_on = Some(Arc::new(RunsOn {
                    from: first.id.clone(),
                    off: (first.roll == roll).then(|| [Length::mm(off.x), Length::mm(off.y)]),
                }));
            }
            None => firsts.push(First {
                group,
                id: placed.id.clone(),
                roll,
                shift,
            }),
        }
    }
}

/// Says what it takes of each cloth that lines run on, and where they do not.
pub(in crate::plan) fn remarks(cloths: &[ClothUse], layouts: &[Layout]) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    for used in cloths {
        let name = &used.cloth.name;
        let own = layouts.iter().filter(|layout| layout.cloth.name == *name);
        let pieces: Vec<&PlacedPiece> = own.flat_map(|layout| &layout.pieces).collect();
        let own: Vec<(&PlacedPiece, &RunsOn)> = (pieces.iter())
            .filter_map(|piece| Some((*piece, piece.runs_on()?)))
            .collect();
        if used.for_pattern.kept_free > Area::ZERO {
            let n = own.iter().filter(|(_, runs_on)| runs_on.meets()).count();
            let message = format!(
                "`{name}` is laid to its pattern: lines run on into {n} piece{}, to {MEETS_MM} mm as cut",
                if n == 1 { "" } else { "s" }
            );
            let help = format!(
                "{} of cloth are kept free for it, as the search leaves room for one repeat beside each piece",
                used.for_pattern.kept_free.in_m2_and_yd2()
            );
            said.push(Diagnostic::note(message).help(help));
        }
        let alone = used.for_pattern.left_alone.iter();
        said.extend(alone.map(|stock| {
            let message = format!(
                "stock `{stock}` of `{name}` is left alone: it holds only some of the pieces among which lines run on"
            );
            let help = "the pattern is known along one piece of cloth, not from one to the next";
            Diagnostic::note(message).help(help)
        }));
        let apart = own.iter().filter(|(_, runs_on)| !runs_on.meets());
        said.extend(apart.map(|(piece, runs_on)| does_not_meet(&used.cloth, piece, runs_on)));
    }
    said
}

fn does_not_meet(cloth: &Cloth, piece: &PlacedPiece, runs_on: &RunsOn) -> Diagnostic {
    let (id, from) = (piece.id(), &runs_on.from);
    let Some([along, across]) = runs_on.off else {
        return Diagnostic::warning(format!(
            "lines may not meet from {from} into {id}: they are cut from two pieces of `{}`",
            cloth.name
        ))
        .help(
            "cut the second only when the first lies on the mould, moved by up to one repeat on its cloth; or take out \
             of `stock` what is too small for both",
        );
    };
    Diagnostic::warning(format!(
        "lines do not meet from {from} into {id} as they are cut: {} along the warp and {} along the weft are missing",
        along.in_mm_and_inches(),
        across.in_mm_and_inches()
    ))
    .help(
        "the piece has no room to be put to the pattern on its cloth: move it in the lap, or take a wider roll, a longer \
         table, or more pieces",
    )
}

#[cfg(test)]
mod tests {
    use crate::geometry::Point;
    use crate::geometry::trig::sin_cos;
    use crate::plan::tests::plan_of;
    use crate::plan::{PlacedPiece, Plan};
    use crate::units::Angle;

    /// A hood of 200 × 90 mm, and a cowl along its upper edge that is drawn 10 mm too far to the right and 5 mm too high.
    const DRAWING: &str = r#"<path id="hood" d="M10 190H210L200 100H10Z"/><path id="cowl" d="M20 95H210L190 35H60Z"/>"#;

    fn job(look: &str, stock: &str, shift: &str) -> String {
        let part = |name: &str, key: &str| {
            let outline = name.to_lowercase();
            format!(
                "[[part]]\nname = \"{name}\"\npattern = \"p.svg\"\noutline = \"{outline}\"\nsets = 3\n{key}\n\
                 [[part.ply]]\ncloth = \"c\"\nangle = 20\nappearance = true\n"
            )
        };
        let cowl = format!("runs_on_from = \"HOOD\"\nruns_on_shift = {shift}");
        format!(
            "[cutting]\ntrim = \"0 mm\"\n[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"500 mm\"\n\
             {look}\n{stock}\n{}{}",
            part("HOOD", ""),
            part("COWL", &cowl)
        )
    }

    fn pieces(plan: &Plan) -> Vec<&PlacedPiece> {
        plan.layouts()
            .iter()
            .flat_map(|layout| layout.pieces())
            .collect()
    }

    /// A place on the common edge lies on the roll at two places, once on either piece; from one to the other the pattern
    /// goes through whole repeats: across lines at 63°, 7 mm apart, or along warp and weft.
    #[test]
    fn the_pattern_of_every_set_meets_on_the_common_edge() {
        let (sin, cos) = sin_cos(Angle::degrees(63.0));
        let across = move |along: f64, up: f64| [(up * cos - along * sin) / 7.0, 0.0];
        let both = |along: f64, up: f64| [along / 11.0, up / 6.5];
        type Repeats<'a> = &'a dyn Fn(f64, f64) -> [f64; 2];
        let looks: [(&str, Repeats<'_>); 2] = [
            ("line = 63\nrepeat = \"7 mm\"", &across),
            ("repeat = \"11 mm\"\nrepeat_weft = \"6.5 mm\"", &both),
        ];
        for (look, repeats) in looks {
            let plan = plan_of(&job(look, "", "[\"-10 mm\", \"-5 mm\"]"), DRAWING);
            let all = pieces(&plan);
            let of = |part: &str, set: u32| {
                let mut own = all.iter().filter(|p| p.part() == part && p.set() == set);
                own.next().unwrap().placement()
            };
            for set in 1..=3 {
                // On the drawing y counts up from the lower edge of its page, 200 mm high.
                for (x, y) in [(10.0, 100.0), (120.0, 100.0), (200.0, 100.0)] {
                    let on_hood = of("HOOD", set).apply(Point::new(x, y));
                    let on_cowl = of("COWL", set).apply(Point::new(x + 10.0, y + 5.0));
                    let d = on_cowl - on_hood;
                    for n in repeats(d.x, d.y) {
                        assert!((n - n.round()).abs() < 0.01, "{look}: {n} repeats");
                    }
                }
            }
            assert!(
                all.iter()
                    .filter_map(|p| p.runs_on())
                    .all(super::RunsOn::meets)
            );
        }
    }

    /// A remnant that holds the cowls alone is left alone, and used where nothing runs on.
    #[test]
    fn a_remnant_that_holds_only_some_is_left_alone() {
        let stock = "stock = [{ length = \"700 mm\", width = \"110 mm\" }]";
        let look = "turns = \"half\"\nrepeat = \"7 mm\"";
        let text = job(look, stock, "[\"0 mm\", \"0 mm\"]").replace("angle = 20", "angle = 0");
        let plan = plan_of(&text, DRAWING);
        assert!(plan.layouts().iter().all(|layout| layout.stock().is_none()));
        let said = plan.remarks().to_string();
        assert!(said.contains("is left alone"), "{said}");
        let free = text
            .replace("runs_on_from = \"HOOD\"\n", "")
            .replace("runs_on_shift = [\"0 mm\", \"0 mm\"]", "");
        let plan = plan_of(&free, DRAWING);
        assert!(plan.layouts().iter().any(|layout| layout.stock().is_some()));
    }
}
