//! Pieces that stay where a person put them: `[[pin]]`.

use super::Located;
use super::keys::{Flag, SomeText, keys};
use super::reader::JobReader;
use super::rules::{AngleRule, FARTHEST_MM, LengthRule, MAX_PIECES};
use super::table::JobTable;
use super::wording::shown;
use crate::diag::Place;
use crate::units::{Angle, Length};

/// A piece that lies where the job says; the others are laid around it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Pin {
    /// The piece, as its label names it.
    pub piece: Located<String>,
    /// The roll or remnant on hand that it lies on; `None` for the roll that is bought.
    pub stock: Option<Located<String>>,
    /// Where its cut line begins along the warp, from the beginning of the roll.
    pub along: Length,
    /// Where its cut line begins across, from the lower selvedge.
    pub across: Length,
    /// The rotation from the drawing (seen from the bag side) to the roll, if the job says.
    pub turn: Option<Located<Angle>>,
    /// Whether it is cut with the cloth face down.
    pub turned_over: bool,
    /// Where it is written.
    pub place: Place,
}

const PIN_AT: LengthRule = LengthRule::not_negative("place of a piece")
    .help("places count from the beginning of the roll and from its lower selvedge")
    .likely(0.0..=200_000.0)
    .most(FARTHEST_MM);

keys! {
    /// What `[[pin]]` says.
    PinKeys: "a pin", "[[pin]]", "A piece that stays where it is put by hand; the search lays the others around it. Its place is that of its cut line: where it begins along and across the roll.";
    piece: String = SomeText, Required, "HATCH-1", "the piece, as its label and `plan.json` name it";
    stock: String = SomeText, Means("the roll that is bought"), "roll-3", "the roll or remnant on hand that it lies on, by its name";
    along: Length = PIN_AT, Required, "1.2 m", "where it begins along the warp, from the beginning of the roll";
    across: Length = PIN_AT, Required, "100 mm", "where it begins across, from the lower selvedge";
    turn: Angle = AngleRule::Direction, Means("the first that its cloth permits"), "180 deg", "how it is turned from the drawing, as `turn` in `plan.json`";
    turned_over: bool = Flag, Is("false"), "true", "whether it is cut with the cloth face down, as in `plan.json`";
}

/// Reads the `[[pin]]` tables of a job.
pub(super) fn read_pins(reader: &mut JobReader, tables: Vec<JobTable<'_>>) -> Vec<Pin> {
    let mut pins: Vec<Pin> = Vec::new();
    for table in tables {
        let keys = PinKeys::read(reader, Some(&table));
        let (Some(piece), Some(along), Some(across)) =
            (keys.piece.located(), keys.along.value, keys.across.value)
        else {
            continue;
        };
        if pins.len() as u64 >= MAX_PIECES {
            let help = format!("at most {MAX_PIECES} are taken");
            reader.error(&table.header, "too many pieces are pinned", &help);
            return pins;
        }
        pins.push(Pin {
            piece,
            stock: keys.stock.located(),
            along,
            across,
            turn: keys.turn.located(),
            turned_over: keys.turned_over.value,
            place: table.header,
        });
    }
    let mut known = std::collections::BTreeSet::new();
    for pin in &pins {
        if !known.insert(&pin.piece.value) {
            let message = format!("piece {} is pinned twice", shown(&pin.piece.value));
            reader.error(&pin.piece.place, message, "leave one of the two out");
        }
    }
    pins
}
