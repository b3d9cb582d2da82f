//! Which values are impossible and which are only unlikely.
//!
//! An impossible value is an error; an unlikely one a warning, because it is more often a slip of
//! the unit than meant. The likely ranges are common practice, no source.

use std::ops::RangeInclusive;

use super::Located;
use super::reader::JobReader;
use crate::units::{Angle, Length};

/// Longest job file that is read, in bytes: far above any real job, so that a wrong file is
/// refused before it is parsed.
pub(super) const MAX_TEXT: usize = 4 << 20;
/// Most pieces (plies × sets) in a job: bounds memory and time of everything that follows.
pub const MAX_PIECES: u64 = 10_000;
/// Most sets of one part.
pub const MAX_SETS: u32 = 10_000;
/// Highest ply number and most layers of one ply.
pub(super) const MAX_PLIES: u32 = 10_000;
/// Longest title of a job in letters: it has to fit on a label and at the head of every page.
pub(super) const MAX_TITLE: usize = 120;
/// Longest name of a part or cloth: it has to fit on a label and in a file name.
pub(super) const MAX_NAME: usize = 40;

/// Which signs a length may have.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sign {
    Any,
    NotNegative,
    Positive,
}

/// What a length may be.
pub(super) struct LengthRule {
    /// What it is, for messages.
    what: &'static str,
    sign: Sign,
    /// What to do if the sign is wrong.
    sign_help: &'static str,
    /// Likely range, mm; a warning outside.
    likely: RangeInclusive<f64>,
    /// Largest size, mm; an error beyond.
    most: f64,
}

/// No place on a roll is farther from its corner than this, mm.
pub(super) const FARTHEST_MM: f64 = crate::cloth::LONGEST_MM;

impl LengthRule {
    const fn new(what: &'static str, sign: Sign) -> Self {
        Self {
            what,
            sign,
            sign_help: "",
            likely: 0.0..=0.0,
            most: 0.0,
        }
    }

    /// A length of any sign; `what` it is, for messages.
    pub(super) const fn any(what: &'static str) -> Self {
        Self::new(what, Sign::Any)
    }

    /// A length of 0 or more.
    pub(super) const fn not_negative(what: &'static str) -> Self {
        Self::new(what, Sign::NotNegative)
    }

    /// A length above 0.
    pub(super) const fn positive(what: &'static str) -> Self {
        Self::new(what, Sign::Positive)
    }

    /// What to do if the sign is wrong.
    pub(super) const fn help(mut self, help: &'static str) -> Self {
        self.sign_help = help;
        self
    }

    /// The likely range, mm.
    pub(super) const fn likely(mut self, range: RangeInclusive<f64>) -> Self {
        self.likely = range;
        self
    }

    /// The largest size that is taken, mm.
    pub(super) const fn most(mut self, mm: f64) -> Self {
        self.most = mm;
        self
    }

    /// The largest size that is taken.
    pub(crate) const fn largest(&self) -> Length {
        Length::mm(self.most)
    }

    /// Whether `length` can stand; complains if not, or if it is unlikely.
    pub(super) fn check(
        &self,
        reader: &mut JobReader,
        key: &str,
        length: &Located<Length>,
    ) -> bool {
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
#[derive(Clone, Copy)]
pub(crate) enum AngleRule {
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
    pub(super) fn check(&self, reader: &mut JobReader, key: &str, angle: &Located<Angle>) -> bool {
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
    format!("ply angle {angle} is out of range: angles run from above -90° up to 90°")
}

/// Help for a ply angle that is out of range: how the same fibre direction is written.
pub(super) fn equivalent(angle: Angle) -> String {
    format!(
        "write {} in place of {}: same fibres",
        plain(angle.as_fibre()),
        plain(angle)
    )
}

fn plain(angle: Angle) -> String {
    angle.to_string().trim_end_matches('°').to_owned()
}
