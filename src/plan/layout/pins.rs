//! Pieces that the job pins: where they lie, and whether they may lie there.

use std::sync::Arc;

use super::offers;
use super::piece::PlacedPiece;
use super::rolls::{self, Misplaced};
use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics, nearest};
use crate::geometry::{Face, Outline, Placement, Turn, Vector};
use crate::job::Pin;
use crate::ply::{Piece, Pieces};
use crate::units::{Angle, Length};

/// A turn in a job file may be off the permitted one by this many degrees: rounding.
const SAME_TURN_DEG: f64 = 1e-3;

/// A piece that the job pins, where it lies.
#[derive(Clone)]
pub(in crate::plan) struct Pinned {
    /// What it is cut from: index into the cloth's stock; `None` for the roll that is bought.
    pub stock: Option<usize>,
    /// Where its cloth is cut, roll frame.
    pub cut: Outline,
    piece: Arc<Piece>,
    set: u32,
    placement: Placement,
}

impl Pinned {
    /// Whether it is this piece.
    pub(in crate::plan) fn is(&self, piece: &Piece, set: u32) -> bool {
        let which = |piece: &Piece| {
            let letter = piece.splice().map(|splice| splice.letter);
            (piece.part_idx(), piece.ply_idx(), letter)
        };
        self.set == set && which(&self.piece) == which(piece)
    }

    /// The same where only these of the cloth's stock are there.
    pub(in crate::plan) fn on_one_of(&self, stock: &[usize]) -> Self {
        let place = |idx| stock.iter().position(|&there| there == idx);
        Self {
            stock: self.stock.and_then(place),
            ..self.clone()
        }
    }

    /// The piece on its roll.
    pub(in crate::plan) fn placed(&self) -> PlacedPiece {
        PlacedPiece::of_ply(&self.piece, self.set, &self.placement)
    }

    /// Its id.
    pub(in crate::plan) fn id(&self) -> String {
        self.piece.id(self.set)
    }
}

/// Whether every pin of the job of `pieces` holds on one of the rolls that its cloth is offered on.
///
/// # Errors
/// Every pin of a piece that there is not, in a turn that its cloth does not permit, off the cloth, on a flaw, or nearer
/// to another than the gap.
pub fn check_pins(pieces: &Pieces) -> Result<(), Diagnostics> {
    let mut problems = Diagnostics::new();
    let job = pieces.job();
    let is_known = |pin: &&Pin| !pieces.iter().any(|piece| is_of_ply(pin, piece));
    for pin in job.pins().iter().filter(is_known) {
        problems.push(no_such_piece(pin, pieces.iter()));
    }
    for (idx, cloth) in job.cloths().iter().enumerate() {
        let mut first = None;
        let holds = (0..1 + cloth.supply.offers.len()).any(|way| {
            let mut ways = pieces.ways().to_vec();
            ways[idx] = way;
            let Ok(pieces) = pieces.bought(ways) else {
                return false;
            };
            let Some(cloth) = offers::bought(&pieces, idx) else {
                return false;
            };
            let found = of_cloth(&pieces, &offers::of_cloth(&pieces, idx), &cloth).err();
            let holds = found.is_none();
            first = first.take().or(found);
            holds
        });
        if !holds {
            let told = first.into_iter().flatten();
            told.for_each(|problem| problems.push(problem));
        }
    }
    match problems.is_empty() {
        true => Ok(()),
        false => Err(problems),
    }
}

/// Those of the pieces `own` of a cloth that the job pins.
pub(in crate::plan) fn of_cloth(
    pieces: &Pieces,
    own: &[&Arc<Piece>],
    cloth: &Cloth,
) -> Result<Vec<Pinned>, Vec<Diagnostic>> {
    let (mut pinned, mut pins, mut problems) = (Vec::new(), Vec::new(), Vec::new());
    let job = Arc::clone(pieces.job());
    for pin in job.pins() {
        if !own.iter().any(|piece| is_of_ply(pin, piece)) {
            continue;
        }
        match resolved(pin, own, cloth) {
            Ok(found) => {
                pinned.push(found);
                pins.push(pin);
            }
            Err(problem) => problems.push(problem),
        }
    }
    let misplaced = rolls::misplaced(cloth, &pinned).into_iter();
    problems.extend(
        misplaced.map(|(which, how)| told(&pinned, which, how).at(pins[which].place.clone())),
    );
    match problems.is_empty() {
        true => Ok(pinned),
        false => Err(problems),
    }
}

/// Whether `pin` is about the ply of `piece`, in one piece or divided in whatever way.
fn is_of_ply(pin: &Pin, piece: &Piece) -> bool {
    let rest = (pin.piece.value.strip_prefix(&piece.part().name[..]))
        .and_then(|rest| rest.strip_prefix('-'))
        .and_then(|rest| rest.strip_prefix(&piece.ply().n.to_string()[..]));
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(['-', '#']))
}

fn no_such_piece<'a>(pin: &Pin, own: impl Iterator<Item = &'a Arc<Piece>>) -> Diagnostic {
    let name = &pin.piece.value;
    let ids = own.flat_map(|piece| (1..=piece.sets()).map(|set| piece.id(set)));
    let ids: Vec<String> = ids.take(crate::job::MAX_PIECES as usize).collect();
    let like = nearest(name, ids.iter().map(|id| &id[..]));
    let help = match like.or_else(|| ids.first().map(|id| &id[..])) {
        Some(id) => format!("pieces are called as on their labels, for example `{id}`"),
        None => "pieces are called as on their labels".to_owned(),
    };
    Diagnostic::error(format!("there is no piece `{name}` to pin"))
        .at(pin.piece.place.clone())
        .help(help)
}

fn resolved(pin: &Pin, own: &[&Arc<Piece>], cloth: &Cloth) -> Result<Pinned, Diagnostic> {
    let known = own.iter().find_map(|piece| {
        let set = (1..=piece.sets()).find(|set| piece.id(*set) == pin.piece.value)?;
        Some((Arc::clone(piece), set))
    });
    let of_ply = own.iter().filter(|piece| is_of_ply(pin, piece));
    let (piece, set) = known.ok_or_else(|| no_such_piece(pin, of_ply.copied()))?;
    let stock = match &pin.stock {
        None => None,
        Some(name) => {
            let on_hand = &cloth.supply.stock;
            let found = on_hand.iter().position(|stock| stock.name == name.value);
            Some(found.ok_or_else(|| {
                let names: Vec<String> = (on_hand.iter())
                    .map(|stock| format!("`{}`", stock.name))
                    .collect();
                let help = match names.is_empty() {
                    true => "leave `stock` out: nothing of it is on hand".to_owned(),
                    false => format!("on hand are {}", names.join(", ")),
                };
                let message = format!("there is no `{}` of cloth `{}`", name.value, cloth.name);
                Diagnostic::error(message).at(name.place.clone()).help(help)
            })?)
        }
    };
    let turn = turn_of(pin, &piece)?;
    let turned = turn.outline(piece.cut());
    let corner = turned.bounds().min;
    let shift = Vector::new(pin.along.to_mm() - corner.x, pin.across.to_mm() - corner.y);
    let placement = Placement { turn, shift };
    Ok(Pinned {
        stock,
        cut: placement.outline(piece.cut()),
        piece,
        set,
        placement,
    })
}

/// The permitted turn of `piece` that `pin` names.
fn turn_of(pin: &Pin, piece: &Piece) -> Result<Turn, Diagnostic> {
    let face = match pin.turned_over {
        true => Face::Down,
        false => Face::Up,
    };
    let may = || piece.turns().iter().filter(|turn| turn.face == face);
    let is_near = |turn: &&Turn, angle: Angle| {
        let off = (turn.angle - angle).as_rotation().to_degrees();
        off.min(360.0 - off) <= piece.tolerance().to_degrees() + SAME_TURN_DEG
    };
    let found = match &pin.turn {
        None => may().next().copied(),
        Some(angle) => may().find(|turn| is_near(turn, angle.value)).map(|turn| {
            let off = (turn.angle - angle.value).as_rotation().to_degrees();
            let is_rounded = off.min(360.0 - off) <= SAME_TURN_DEG;
            Turn {
                angle: if is_rounded {
                    turn.angle
                } else {
                    angle.value.as_rotation()
                },
                face,
            }
        }),
    };
    found.ok_or_else(|| {
        let place = pin.turn.as_ref().map_or(&pin.place, |turn| &turn.place);
        let permitted: Vec<String> = (piece.turns().iter())
            .map(|turn| match turn.face {
                Face::Up => turn.angle.to_string(),
                Face::Down => format!("{} turned over", turn.angle),
            })
            .collect();
        let message = format!(
            "cloth `{}` does not permit this turn of {}",
            piece.cloth().name,
            pin.piece.value
        );
        Diagnostic::error(message)
            .at(place.clone())
            .help(format!("permitted are {}", permitted.join(", ")))
    })
}

/// What is wrong with the place of the pinned piece `which`, in words.
fn told(pinned: &[Pinned], which: usize, how: Misplaced) -> Diagnostic {
    let id = pinned[which].id();
    let off = "places count from the beginning of the roll and from its lower selvedge, to where the cut line begins";
    match how {
        Misplaced::OffCloth { by } => Diagnostic::error(format!(
            "piece {id} is pinned {} beyond the cloth that may be used",
            Length::mm(by).in_mm_and_inches()
        ))
        .help(match pinned[which].piece.cloth().supply.table {
            Some(_) => format!("{off}; no piece may lie across the end of a frame on the table"),
            None => off.to_owned(),
        }),
        Misplaced::OffRemnant => Diagnostic::error(format!(
            "piece {id} is pinned where the remnant has no cloth"
        ))
        .help(off),
        Misplaced::OnFlaw => Diagnostic::error(format!(
            "piece {id} is pinned on a flaw, or nearer to it than its margin"
        ))
        .help("move it off the flaw, or take its `[[pin]]` away"),
        Misplaced::Over { other } => Diagnostic::error(format!(
            "pieces {} and {id} are pinned over each other",
            pinned[other].id()
        ))
        .help("move one of the two, or take its `[[pin]]` away"),
        Misplaced::TooNear { other, distance } => Diagnostic::error(format!(
            "pieces {} and {id} are pinned {} apart, less than the gap of the cloth",
            pinned[other].id(),
            Length::mm(distance).in_mm_and_inches()
        ))
        .help("move one of the two, or make `gap` smaller"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance;
    use crate::inputs::{InputFile, Inputs};
    use crate::job::Job;
    use crate::nest::{Continue, Effort};
    use crate::plan::{Plan, Settings, build};
    use crate::ply;

    const LID: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
        viewBox="0 0 300 200"><path d="M0 0H300V200H150V100H0Z"/></svg>"#;
    const JOB: &str = "[cutting]\ntrim = \"0 mm\"\n[cloth.c]\nweave = \"unidirectional\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
        gap = \"3 mm\"\nselvedge = \"10 mm\"\nend_margin = \"5 mm\"\n";
    const PART: &str =
        "[[part]]\nname = \"P\"\npattern = \"p.svg\"\ncloth = \"c\"\nlayup = \"[0]\"\nsets = 6\n";

    fn pin(id: &str, along: f64, across: f64, more: &str) -> String {
        format!(
            "[[pin]]\npiece = \"{id}\"\nalong = \"{along} mm\"\nacross = \"{across} mm\"\n{more}\n"
        )
    }

    fn pieces(more: &str) -> Pieces {
        let (job, _) = Job::read("job.toml", &format!("{JOB}{more}")).unwrap();
        let open = &mut |name: &str| Ok(vec![InputFile::new(name, LID.as_bytes().to_vec())]);
        let (inputs, _) = Inputs::read(job, open).unwrap();
        ply::pieces(&inputs).unwrap().0
    }

    fn planned(pieces: &Pieces) -> Plan {
        check_pins(pieces).unwrap();
        let settings = Settings {
            effort: Effort::Quick,
            ..Settings::default()
        };
        build(pieces, &settings, &|_| Continue::Yes).unwrap()
    }

    /// Every piece is there once, those of `pinned` where they are pinned, all of them a gap apart.
    fn holds(plan: &Plan, pinned: &[(&str, f64, f64)]) {
        let all: Vec<&PlacedPiece> = (plan.layouts().iter())
            .flat_map(super::super::Layout::pieces)
            .collect();
        let mut ids: Vec<&str> = all.iter().map(|piece| piece.id()).collect();
        ids.sort_unstable();
        assert_eq!(ids, ["P-1#1", "P-1#2", "P-1#3", "P-1#4", "P-1#5", "P-1#6"]);
        for (id, along, across) in pinned {
            let piece = all.iter().find(|piece| piece.id() == *id).unwrap();
            let corner = piece.cut().bounds().min;
            let off = (corner.x - along).abs().max((corner.y - across).abs());
            assert!(off < 1e-6, "{id} is at {corner:?}");
        }
        for layout in plan.layouts() {
            for (i, one) in layout.pieces().iter().enumerate() {
                assert!(one.cut().bounds().max.x <= layout.used_length().to_mm() - 5.0 + 1e-6);
                for other in &layout.pieces()[i + 1..] {
                    let apart = distance::between(one.cut(), other.cut());
                    assert!(
                        apart > 3.0 - 1e-6,
                        "{} and {}: {apart}",
                        one.id(),
                        other.id()
                    );
                }
            }
        }
    }

    #[test]
    fn pinned_pieces_lie_where_they_are_pinned_and_the_others_around_them() {
        let far = planned(&pieces(&format!(
            "{PART}{}{}",
            pin("P-1#3", 400.0, 300.0, ""),
            pin("P-1#5", 900.0, 600.0, "turn = 180")
        )));
        holds(&far, &[("P-1#3", 400.0, 300.0), ("P-1#5", 900.0, 600.0)]);
        assert!((far.layouts()[0].used_length().to_mm() - 1205.0).abs() < 1e-6);
        let turned = far.layouts()[0]
            .pieces()
            .iter()
            .find(|piece| piece.id() == "P-1#5");
        assert!((turned.unwrap().turn().to_degrees() - 180.0).abs() < 1e-9);
    }

    #[test]
    fn all_may_be_pinned_and_some_on_stock_or_in_frames_on_the_table() {
        let at: Vec<(String, f64, f64)> = (0..6)
            .map(|k| (format!("P-1#{}", k + 1), 5.0 + 303.0 * f64::from(k), 10.0))
            .collect();
        let pins: String = at.iter().map(|(id, x, y)| pin(id, *x, *y, "")).collect();
        let at: Vec<(&str, f64, f64)> = at.iter().map(|(id, x, y)| (&id[..], *x, *y)).collect();
        holds(&planned(&pieces(&format!("{PART}{pins}"))), &at);

        let stock = "[[cloth.c.stock]]\nname = \"left\"\nlength = \"700 mm\"\n";
        let on_stock = pin("P-1#2", 330.0, 20.0, "stock = \"left\"");
        let plan = planned(&pieces(&format!("{stock}{PART}{on_stock}")));
        holds(&plan, &[("P-1#2", 330.0, 20.0)]);
        let stock = plan.layouts()[0].stock().unwrap();
        assert_eq!(stock.name, "left");
        assert!(
            plan.layouts()[0]
                .pieces()
                .iter()
                .any(|piece| piece.id() == "P-1#2")
        );

        let table = "table_length = \"700 mm\"\n";
        let text = format!(
            "{table}{PART}{}{}",
            pin("P-1#1", 800.0, 20.0, ""),
            pin("P-1#4", 1450.0, 20.0, "")
        );
        let plan = planned(&pieces(&text));
        holds(&plan, &[("P-1#1", 800.0, 20.0), ("P-1#4", 1450.0, 20.0)]);
        for piece in plan.layouts()[0].pieces() {
            let (own, frames) = (piece.cut().bounds(), plan.layouts()[0].frames());
            let is_in =
                |frame: &[f64; 2]| own.min.x >= frame[0] - 1e-6 && own.max.x <= frame[1] + 1e-6;
            assert!(frames.iter().any(is_in), "{} in {frames:?}", piece.id());
        }
    }

    #[test]
    fn pins_that_cannot_hold_are_told() {
        let faults = |pins: &str| -> Vec<String> {
            let problems = check_pins(&pieces(&format!("{PART}{pins}"))).unwrap_err();
            problems
                .iter()
                .map(|problem| problem.message.clone())
                .collect()
        };
        let told = [
            (
                pin("Q-1#1", 50.0, 50.0, ""),
                "there is no piece `Q-1#1` to pin",
            ),
            (pin("P-1", 50.0, 50.0, ""), "there is no piece `P-1` to pin"),
            (
                pin("P-1#1", 50.0, 5.0, ""),
                "5 mm (0.20 in) beyond the cloth",
            ),
            (
                pin("P-1#1", 0.0, 50.0, ""),
                "5 mm (0.20 in) beyond the cloth",
            ),
            (
                pin("P-1#1", 50.0, 50.0, "turn = 90"),
                "does not permit this turn",
            ),
            (
                pin("P-1#1", 50.0, 50.0, "stock = \"left\""),
                "there is no `left` of cloth `c`",
            ),
            (
                pin("P-1#1", 50.0, 50.0, "") + &pin("P-1#2", 200.0, 100.0, ""),
                "pinned over each other",
            ),
            (
                pin("P-1#1", 50.0, 50.0, "") + &pin("P-1#2", 351.0, 50.0, ""),
                "are pinned 1 mm (0.04 in) apart",
            ),
        ];
        for (pins, expected) in told {
            let found = faults(&pins);
            assert!(
                found.len() == 1 && found[0].contains(expected),
                "{expected}: {found:?}"
            );
        }
        let flaw = "[[cloth.c.flaw]]\nfrom = \"300 mm\"\nlength = \"20 mm\"\n";
        let pins = pin("P-1#1", 50.0, 50.0, "");
        let found = check_pins(&pieces(&format!("{flaw}{PART}{pins}"))).unwrap_err();
        assert!(found.iter().next().unwrap().message.contains("on a flaw"));
    }
}
