//! Lengths and areas, held in millimetres and square millimetres.

use std::fmt;
use std::ops::Mul;
use std::str::FromStr;

use super::quantity::{adds_up, quantity};
use super::read::{Form, Reading, UnitError, Units, WithUnit, length_unit_pattern};

/// Square metres in a square foot.
pub(super) const M2_PER_FT2: f64 = 0.3048 * 0.3048;
/// Square metres in a square yard.
pub(super) const M2_PER_YD2: f64 = 0.9144 * 0.9144;

/// A unit in which a pattern file or a person states lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// International inch, exactly 25.4 mm.
    Inch,
    /// International foot, 12 in.
    Foot,
    /// International yard, 36 in.
    Yard,
    /// Thousandth of an inch.
    Mil,
    /// Thousandth of a millimetre.
    Micrometre,
}

impl LengthUnit {
    /// Each unit with its length in mm and every way to write it that is understood, the symbol
    /// first.
    const ALL: [(Self, f64, &'static [&'static str]); 8] = [
        (Self::Millimetre, 1.0, &["mm", "millimetre", "millimeter"]),
        (Self::Centimetre, 10.0, &["cm", "centimetre", "centimeter"]),
        (
            Self::Metre,
            1000.0,
            &["m", "metre", "meter", "metres", "meters"],
        ),
        (Self::Inch, 25.4, &["in", "inch", "inches", "\"", "″"]),
        (Self::Foot, 304.8, &["ft", "foot", "feet", "'", "′"]),
        (Self::Yard, 914.4, &["yd", "yard", "yards", "yds"]),
        (Self::Mil, 0.0254, &["mil", "thou"]),
        (Self::Micrometre, 0.001, &["um", "µm", "μm"]),
    ];

    /// Millimetres in one of this unit.
    #[must_use]
    pub const fn in_mm(self) -> f64 {
        Self::ALL[self as usize].1
    }

    /// The unit's symbol as printed and as written in a job file.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        Self::ALL[self as usize].2[0]
    }

    /// Every way to write a unit that is understood.
    pub(super) fn spellings() -> impl Iterator<Item = &'static str> {
        Self::ALL
            .iter()
            .flat_map(|(_, _, spelt)| spelt.iter().copied())
    }

    /// How a unit of length itself is written.
    pub(crate) const FORM: Form = Form {
        what: "unit of length",
        units: Length::READING.known,
        pattern: length_unit_pattern,
    };

    /// The unit a person means by `text`, or `None`.
    #[must_use]
    pub fn from_symbol(text: &str) -> Option<Self> {
        let known = Self::ALL
            .iter()
            .find(|(_, _, spelt)| spelt.contains(&text))?;
        Some(known.0)
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

quantity! {
    /// A length; may be negative where a sign has meaning (a ply step).
    Length, "length";
    held in "millimetres": mm, to_mm
}

adds_up!(Length, Area);

impl Length {
    const READING: Reading = Reading {
        quantity: "length",
        example: "50 in",
        known: "mm, cm, m, in, ft, yd",
        units: Units::Length,
    };

    /// A length of `value` metres.
    #[must_use]
    pub const fn metres(value: f64) -> Self {
        Self(value * 1000.0)
    }

    /// A length of `value` inches (25.4 mm exactly, NIST SP 811).
    #[must_use]
    pub const fn inches(value: f64) -> Self {
        Self(value * 25.4)
    }

    /// A length of `value` yards (0.9144 m exactly, NIST SP 811).
    #[must_use]
    pub const fn yards(value: f64) -> Self {
        Self(value * 914.4)
    }

    /// A length of `value` times `unit`.
    #[must_use]
    pub const fn of(value: f64, unit: LengthUnit) -> Self {
        Self(value * unit.in_mm())
    }

    /// The length in metres.
    #[must_use]
    pub const fn to_metres(self) -> f64 {
        self.0 / 1000.0
    }

    /// The length in inches.
    #[must_use]
    pub const fn to_inches(self) -> f64 {
        self.0 / 25.4
    }

    /// The length in yards.
    #[must_use]
    pub const fn to_yards(self) -> f64 {
        self.0 / 914.4
    }

    /// Small lengths in both systems, for example `12.7 mm (0.50 in)`.
    #[must_use]
    pub fn in_mm_and_inches(self) -> String {
        format!(
            "{} mm ({} in)",
            trim_zeros(self.0, 1),
            fixed(self.to_inches(), 2)
        )
    }

    /// Running lengths of cloth in both systems, for example `2.35 m (2.57 yd)`.
    #[must_use]
    pub fn in_metres_and_yards(self) -> String {
        format!(
            "{} m ({} yd)",
            fixed(self.to_metres(), 2),
            fixed(self.to_yards(), 2)
        )
    }
}

/// `value` with `decimals` decimals; what rounds to zero has no sign.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(size) if size.chars().all(|c| matches!(c, '0' | '.')) => size.to_owned(),
        _ => text,
    }
}

/// `value` with at most `decimals` decimals, zeros at the end left off.
pub(crate) fn trim_zeros(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

impl WithUnit for Length {
    // A zero needs no unit.
    const FORM: Form = Self::READING.form(|| format!("(?:{}|0)", Self::READING.pattern()));
}

impl FromStr for Length {
    type Err = UnitError;

    /// Reads `50 in`, `1.27 m`, `1/2 in`, `1 1/2 in`, `50"`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        // A zero needs no unit.
        if text.trim() == "0" {
            return Ok(Self::ZERO);
        }
        Self::READING.value(text).map(Self)
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

quantity! {
    /// An area.
    Area, "area";
    held in "square millimetres": mm2, to_mm2
}

impl Area {
    /// The area in square metres.
    #[must_use]
    pub const fn to_m2(self) -> f64 {
        self.0 / 1e6
    }

    /// The area in square yards.
    #[must_use]
    pub const fn to_yd2(self) -> f64 {
        self.0 / (914.4 * 914.4)
    }

    /// Both systems, for example `1.235 m² (1.48 yd²)`.
    #[must_use]
    pub fn in_m2_and_yd2(self) -> String {
        format!(
            "{} m² ({} yd²)",
            fixed(self.to_m2(), 3),
            fixed(self.to_yd2(), 2)
        )
    }
}
