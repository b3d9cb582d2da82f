//! Which values are impossible and which are only unlikely.
//!
//! An impossible value is an error; an unlikely one a warning, because it is more often a slip of
//! the unit than meant. The likely ranges are common practice, no source.

use std::ops::RangeInclusive;

use super::Located;
use super::reader::Reader;
use crate::units::{Angle, ArealWeight, Length};

/// Longest job file that is read, in bytes: far above any real job, so that a wrong file is
/// refused before it is parsed.
pub(super) const MAX_TEXT: usize = 4 << 20;
/// Most pieces (plies × sets) in a job: bounds memory and time of everything that follows.
pub const MAX_PIECES: u64 = 10_000;
/// Most cloths in a job.
pub(super) const MAX_CLOTHS: usize = 500;
/// Most sets of one part.
pub const MAX_SETS: u32 = 10_000;
/// More sets than this are more often a slip than an order.
pub(super) const LIKELY_SETS: u32 = 200;
/// Highest ply number and most layers of one ply.
pub(super) const MAX_PLIES: u32 = 10_000;
/// Longest name of a part or cloth: it has to fit on a label and in a file name.
pub(super) const MAX_NAME: usize = 40;
/// Largest share of spare cloth that is not queried.
pub(super) const LIKELY_SPARE: f64 = 0.5;
/// Mitre limits above this leave spikes of cloth at sharp corners.
pub(super) const LIKELY_MITRE: f64 = 10.0;

/// Which signs a length may have.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    Any,
    NotNegative,
    Positive,
}

/// What a length may be.
pub(super) struct LengthRule {
    /// What it is, for messages.
    pub what: &'static str,
    pub sign: Sign,
    /// What to do if the sign is wrong.
    pub sign_help: &'static str,
    /// Likely range, mm; a warning outside.
    pub likely: RangeInclusive<f64>,
    /// Largest size, mm; an error beyond.
    pub most: f64,
}

pub(super) const TRIM: LengthRule = LengthRule {
    what: "trim allowance",
    sign: Sign::NotNegative,
    sign_help: "an allowance adds cloth outside the net line; to make a ply smaller use \
                `step`, for example `step = \"-5 mm\"`",
    likely: 0.0..=150.0,
    most: 2_000.0,
};
pub(super) const JOIN_GAP: LengthRule = LengthRule {
    what: "gap that is closed",
    sign: Sign::Positive,
    sign_help: "ends of lines nearer than this are joined: 0.001 mm or more",
    likely: 0.001..=2.0,
    most: 20.0,
};
pub(super) const CHORD: LengthRule = LengthRule {
    what: "distance of chords from curves",
    sign: Sign::Positive,
    sign_help: "curves become chords that leave them by no more than this",
    likely: 0.0005..=0.1,
    most: 1.0,
};
/// Pixels in an inch, at least and at most.
pub(super) const LEAST_DPI: f64 = 1.0;
pub(super) const MOST_DPI: f64 = 10_000.0;
pub(super) const STEP: LengthRule = LengthRule {
    what: "step",
    sign: Sign::Any,
    sign_help: "",
    likely: -500.0..=500.0,
    most: 5_000.0,
};
pub(super) const TAPER: LengthRule = LengthRule {
    what: "taper",
    sign: Sign::Any,
    sign_help: "",
    likely: -100.0..=100.0,
    most: 5_000.0,
};
pub(super) const OVERLAP: LengthRule = LengthRule {
    what: "overlap",
    sign: Sign::NotNegative,
    sign_help: "an overlap adds cloth beyond the trim allowance, along marked edges: 0 mm or more",
    likely: 0.0..=300.0,
    most: 2_000.0,
};
pub(super) const LAP: LengthRule = LengthRule {
    what: "lap",
    sign: Sign::Positive,
    sign_help: "for pieces that meet edge to edge write `splice = \"butt\"`",
    likely: 5.0..=200.0,
    most: 2_000.0,
};
pub(super) const STAGGER: LengthRule = LengthRule {
    what: "stagger",
    sign: Sign::NotNegative,
    sign_help: "it is the least distance between joints of neighbouring plies: 0 mm or more",
    likely: 15.0..=500.0,
    most: 5_000.0,
};
pub(super) const PLACE: LengthRule = LengthRule {
    what: "corner of the box",
    sign: Sign::Any,
    sign_help: "",
    likely: -100_000.0..=100_000.0,
    most: 1_000_000.0,
};
pub(super) const BOX_SIDE: LengthRule = LengthRule {
    what: "side of the box",
    sign: Sign::Positive,
    sign_help: "`x` and `y` are its lower left corner on the drawing",
    likely: 1.0..=100_000.0,
    most: 1_000_000.0,
};
pub(super) const OPENING: LengthRule = LengthRule {
    what: "size from which openings are cut",
    sign: Sign::NotNegative,
    sign_help: "to cut every opening write \"cut\"",
    likely: 0.0..=2_000.0,
    most: 100_000.0,
};
pub(super) const GAP: LengthRule = LengthRule {
    what: "gap",
    sign: Sign::NotNegative,
    sign_help: "the gap is the least distance between two cut lines: 0 mm or more",
    likely: 0.0..=100.0,
    most: 1_000.0,
};
pub(super) const END_MARGIN: LengthRule = LengthRule {
    what: "end margin",
    sign: Sign::NotNegative,
    sign_help: "the end margin is a strip left unused at each end of the cloth: 0 mm or more",
    likely: 0.0..=500.0,
    most: 10_000.0,
};
pub(super) const SELVEDGE: LengthRule = LengthRule {
    what: "selvedge strip",
    sign: Sign::NotNegative,
    sign_help: "the selvedge strip is left unused along each edge of the roll: 0 mm or more",
    likely: 0.0..=100.0,
    most: 10_000.0,
};
pub(super) const ROLL_WIDTH: LengthRule = LengthRule {
    what: "roll width",
    sign: Sign::Positive,
    sign_help: "write the width of the roll from selvedge to selvedge, for example \"50 in\"",
    likely: 100.0..=5_000.0,
    most: 20_000.0,
};
pub(super) const SOLD_BY: LengthRule = LengthRule {
    what: "length the cloth is sold by",
    sign: Sign::Positive,
    sign_help: "leave `sold_by` out if the shop sells any length",
    likely: 1.0..=200_000.0,
    most: 10_000_000.0,
};
pub(super) const PRICE_BREAK: LengthRule = LengthRule {
    what: "length of a price break",
    sign: Sign::Positive,
    sign_help: "write the length from which the price holds, for example \"10 yd\"",
    likely: 1.0..=1_000_000.0,
    most: 10_000_000.0,
};
/// Most rolls and remnants on hand of one cloth, most offers, most flaws of a roll.
pub(super) const MAX_STOCK: usize = 500;
/// No place on a roll is farther from its corner than this, mm.
pub(super) const FARTHEST_MM: f64 = 900_000.0;
pub(super) const TABLE_LENGTH: LengthRule = LengthRule {
    what: "cutting table",
    sign: Sign::Positive,
    sign_help: "leave `table_length` out if pieces may lie anywhere along the roll",
    likely: 500.0..=30_000.0,
    most: 500_000.0,
};
pub(super) const LEAST_REMNANT: LengthRule = LengthRule {
    what: "least remnant",
    sign: Sign::Positive,
    sign_help: "what is left is kept if a rectangle in it has sides at least this long",
    likely: 20.0..=3_000.0,
    most: 100_000.0,
};
pub(super) const STOCK_LENGTH: LengthRule = LengthRule {
    what: "length on hand",
    sign: Sign::Positive,
    sign_help: "write how much of the roll is left, along the warp",
    likely: 100.0..=200_000.0,
    most: FARTHEST_MM,
};
pub(super) const STOCK_WIDTH: LengthRule = LengthRule {
    what: "width on hand",
    sign: Sign::Positive,
    sign_help: "write the extent across the warp; leave `width` out for the whole roll width",
    likely: 50.0..=5_000.0,
    most: 20_000.0,
};
pub(super) const STOCK_MARGIN: LengthRule = LengthRule {
    what: "margin",
    sign: Sign::NotNegative,
    sign_help: "the margin is a strip left unused: 0 mm or more",
    likely: 0.0..=500.0,
    most: 10_000.0,
};
pub(super) const FLAW_AT: LengthRule = LengthRule {
    what: "place of a flaw",
    sign: Sign::NotNegative,
    sign_help: "places count from the beginning of the roll and from its lower selvedge",
    likely: 0.0..=200_000.0,
    most: FARTHEST_MM,
};
pub(super) const FLAW_SIZE: LengthRule = LengthRule {
    what: "size of a flaw",
    sign: Sign::Positive,
    sign_help: "write how much of the cloth is flawed",
    likely: 1.0..=10_000.0,
    most: FARTHEST_MM,
};
pub(super) const LEAST_SOLD: LengthRule = LengthRule {
    what: "least length sold",
    sign: Sign::Positive,
    sign_help: "leave `least_sold` out if there is none",
    likely: 1.0..=200_000.0,
    most: 10_000_000.0,
};
pub(super) const FRAME: LengthRule = LengthRule {
    what: "length of a frame",
    sign: Sign::Positive,
    sign_help: "write how much of the roll the machine reaches at once, or leave `frame` out",
    likely: 200.0..=20_000.0,
    most: 1_000_000.0,
};
pub(super) const PAPER_ROLL: LengthRule = LengthRule {
    what: "width of the paper",
    sign: Sign::Positive,
    sign_help: "write the width of the paper roll, for example \"roll 24 in\"",
    likely: 250.0..=1_700.0,
    most: 5_000.0,
};
pub(super) const PAPER_OVERLAP: LengthRule = LengthRule {
    what: "overlap of sheets",
    sign: Sign::NotNegative,
    sign_help: "sheets that are glued together overlap by this: 0 mm or more",
    likely: 4.0..=40.0,
    most: 60.0,
};
pub(super) const PAPER_MARGIN: LengthRule = LengthRule {
    what: "margin of the paper",
    sign: Sign::NotNegative,
    sign_help: "no printer prints to the edge; write how much it leaves white, for example \"8 mm\"",
    likely: 3.0..=25.0,
    most: 40.0,
};
pub(super) const BLADE_OFFSET: LengthRule = LengthRule {
    what: "blade offset",
    sign: Sign::Positive,
    sign_help: "a drag knife's tip trails its axis by this; a knife without it is `kind = \"plain\"`",
    likely: 0.1..=6.0,
    most: 30.0,
};
pub(super) const OVERCUT: LengthRule = LengthRule {
    what: "overcut",
    sign: Sign::NotNegative,
    sign_help: "the cut goes on beyond its start by this: 0 mm or more",
    likely: 0.0..=10.0,
    most: 50.0,
};
pub(super) const KNIFE_HEIGHT: LengthRule = LengthRule {
    what: "height of the knife",
    sign: Sign::Any,
    sign_help: "",
    likely: -30.0..=100.0,
    most: 500.0,
};

impl LengthRule {
    /// Whether `length` can stand; complains if not, or if it is unlikely.
    pub(super) fn check(&self, reader: &mut Reader, key: &str, length: &Located<Length>) -> bool {
        let (mm, what) = (length.value.to_mm(), self.what);
        let wrong_sign = match self.sign {
            Sign::Any => None,
            Sign::NotNegative => (mm < 0.0).then_some("negative"),
            Sign::Positive if mm == 0.0 => Some("zero"),
            Sign::Positive => (mm < 0.0).then_some("negative"),
        };
        if let Some(wrong) = wrong_sign {
            reader.error(
                &length.place,
                format!("the {what} is {wrong}"),
                self.sign_help,
            );
            return false;
        }
        if mm.abs() > self.most {
            let help = format!("at most {} is taken", both(self.most));
            reader.error(
                &length.place,
                format!("the {what} is impossibly large"),
                &help,
            );
            return false;
        }
        if !self.likely.contains(&mm) {
            let (low, high) = (both(*self.likely.start()), both(*self.likely.end()));
            let message = format!("a {what} of {} is unusual", both(mm));
            let help = format!("`{key}` is usually between {low} and {high}; is the unit right?");
            reader.warn(&length.place, message, &help);
        }
        true
    }
}

fn both(mm: f64) -> String {
    Length::mm(mm).in_mm_and_inches()
}

/// What an angle may be, degrees.
pub(super) enum AngleRule {
    /// A ply angle: −90 < θ ≤ 90.
    Ply,
    /// A direction on the drawing: within one full turn.
    Direction,
    /// A tolerance to either side.
    Tolerance,
    /// How sharply a line turns at a corner: 0 < θ < 180.
    Corner,
}

impl AngleRule {
    /// Whether `angle` can stand; complains if not, or if it is unlikely.
    pub(super) fn check(&self, reader: &mut Reader, key: &str, angle: &Located<Angle>) -> bool {
        let degrees = angle.value.to_degrees();
        let place = &angle.place;
        match self {
            Self::Ply if !is_ply_angle(degrees) => {
                reader.error(place, out_of_range(angle.value), &equivalent(angle.value));
                false
            }
            Self::Direction if degrees.abs() > 360.0 => {
                let turned = angle.value.as_rotation();
                let help = format!("the same direction is \"{} deg\"", plain(turned));
                reader.error(place, format!("`{key}` is more than a full turn"), &help);
                false
            }
            Self::Corner if !(degrees > 0.0 && degrees < 180.0) => {
                let help = "it is the turn of the line at a corner, for example \"20 deg\"";
                reader.error(place, format!("`{key}` is not between 0 and 180 deg"), help);
                false
            }
            Self::Tolerance if degrees < 0.0 => {
                let help = format!(
                    "it holds to either side: write \"{} deg\"",
                    plain(-angle.value)
                );
                reader.error(place, format!("`{key}` is negative"), &help);
                false
            }
            Self::Tolerance if degrees >= 45.0 => {
                let help =
                    "a tolerance of 45 deg leaves the fibres no direction; 1 to 3 deg is usual";
                reader.error(place, format!("`{key}` is impossibly large"), help);
                false
            }
            Self::Tolerance if degrees > 5.0 => {
                let message = format!("an angle tolerance of {} is unusual", angle.value);
                reader.warn(
                    place,
                    message,
                    "1 to 3 deg is usual; stiffness falls fast beyond",
                );
                true
            }
            _ => true,
        }
    }
}

/// Whether `degrees` is written the way ply angles are: −90 < θ ≤ 90.
pub(super) fn is_ply_angle(degrees: f64) -> bool {
    degrees > -90.0 && degrees <= 90.0
}

/// Message for a ply angle that is out of range.
pub(super) fn out_of_range(angle: Angle) -> String {
    format!("ply angle {angle} is not above -90° and at most 90°")
}

/// Help for a ply angle that is out of range: how the same fibre direction is written.
pub(super) fn equivalent(angle: Angle) -> String {
    format!(
        "a fibre direction repeats every 180 deg: write {} for the same ply",
        plain(angle.as_fibre())
    )
}

fn plain(angle: Angle) -> String {
    angle.to_string().trim_end_matches('°').to_owned()
}

/// Complains about an areal weight that is impossible or unlikely.
pub(super) fn check_areal_weight(reader: &mut Reader, weight: &Located<ArealWeight>) -> bool {
    let g = weight.value.to_g_per_m2();
    if g <= 0.0 {
        let wrong = if g < 0.0 { "negative" } else { "zero" };
        let help = "write the mass of the dry cloth by area, for example \"193 g/m2\"";
        reader.error(&weight.place, format!("the areal weight is {wrong}"), help);
        return false;
    }
    if g > 100_000.0 {
        let help = "at most 100000 g/m² is taken";
        reader.error(&weight.place, "the areal weight is impossibly large", help);
        return false;
    }
    if !(10.0..=3000.0).contains(&g) {
        let message = format!("an areal weight of {} is unusual", weight.value);
        let help = "it is usually between 10 and 3000 g/m² (0.3 and 88 oz/yd²); is the unit right?";
        reader.warn(&weight.place, message, help);
    }
    true
}
