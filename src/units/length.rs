//! Lengths and areas, held in millimetres and square millimetres.

use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};
use std::str::FromStr;

use super::read::{Form, Kind, UnitError, Units, Written, length_unit_pattern, quantity};

/// A length. Held in millimetres; may be negative where a sign has meaning (a ply step).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Length(f64);

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
    /// Millimetres in one of this unit.
    #[must_use]
    pub const fn in_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
            Self::Yard => 914.4,
            Self::Mil => 0.0254,
            Self::Micrometre => 0.001,
        }
    }

    /// The unit's symbol as printed and as written in a job file.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::Yard => "yd",
            Self::Mil => "mil",
            Self::Micrometre => "um",
        }
    }

    /// Every way to write a unit that is understood.
    pub(super) const SYMBOLS: [(&str, Self); 30] = [
        ("mm", Self::Millimetre),
        ("millimetre", Self::Millimetre),
        ("millimeter", Self::Millimetre),
        ("cm", Self::Centimetre),
        ("centimetre", Self::Centimetre),
        ("centimeter", Self::Centimetre),
        ("m", Self::Metre),
        ("metre", Self::Metre),
        ("meter", Self::Metre),
        ("metres", Self::Metre),
        ("meters", Self::Metre),
        ("in", Self::Inch),
        ("inch", Self::Inch),
        ("inches", Self::Inch),
        ("\"", Self::Inch),
        ("″", Self::Inch),
        ("ft", Self::Foot),
        ("foot", Self::Foot),
        ("feet", Self::Foot),
        ("'", Self::Foot),
        ("′", Self::Foot),
        ("yd", Self::Yard),
        ("yard", Self::Yard),
        ("yards", Self::Yard),
        ("yds", Self::Yard),
        ("mil", Self::Mil),
        ("thou", Self::Mil),
        ("um", Self::Micrometre),
        ("µm", Self::Micrometre),
        ("μm", Self::Micrometre),
    ];

    /// How a unit of length itself is written.
    pub(crate) const FORM: Form = Form {
        what: "unit of length",
        units: KIND.known,
        pattern: length_unit_pattern,
    };

    /// The unit a person means by `text`, or `None`.
    #[must_use]
    pub fn from_symbol(text: &str) -> Option<Self> {
        let known = Self::SYMBOLS.iter().find(|(symbol, _)| *symbol == text)?;
        Some(known.1)
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0.0);

    /// A length of `value` millimetres.
    #[must_use]
    pub const fn mm(value: f64) -> Self {
        Self(value)
    }

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

    /// The length in millimetres.
    #[must_use]
    pub const fn to_mm(self) -> f64 {
        self.0
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
fn fixed(value: f64, decimals: usize) -> String {
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

const KIND: Kind = Kind {
    quantity: "length",
    example: "50 in",
    known: "mm, cm, m, in, ft, yd",
    units: Units::Length,
};

impl Written for Length {
    // A zero needs no unit.
    const FORM: Form = KIND.form(|| format!("(?:{}|0)", KIND.pattern()));
}

impl FromStr for Length {
    type Err = UnitError;

    /// Reads `50 in`, `1.27 m`, `1/2 in`, `1 1/2 in`, `50"`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        // A zero needs no unit.
        if text.trim() == "0" {
            return Ok(Self::ZERO);
        }
        quantity(text, &KIND).map(Self)
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

/// An area. Held in square millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Area(f64);

impl Area {
    /// No area.
    pub const ZERO: Self = Self(0.0);

    /// An area of `value` square millimetres.
    #[must_use]
    pub const fn mm2(value: f64) -> Self {
        Self(value)
    }

    /// The area in square millimetres.
    #[must_use]
    pub const fn to_mm2(self) -> f64 {
        self.0
    }

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
        format!("{:.3} m² ({:.2} yd²)", self.to_m2(), self.to_yd2())
    }
}

impl Add for Area {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Area {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl std::iter::Sum for Area {
    fn sum<I: Iterator<Item = Self>>(areas: I) -> Self {
        areas.fold(Self::ZERO, Add::add)
    }
}
