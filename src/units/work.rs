//! Times, amounts of liquid, and how much surface an hour or a litre covers.

use std::fmt;
use std::ops::{Add, Mul};
use std::str::FromStr;

use super::length::Area;
use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// Square metres in a square foot.
const M2_PER_FT2: f64 = 0.3048 * 0.3048;
/// Square metres in a square yard.
const M2_PER_YD2: f64 = 0.9144 * 0.9144;
/// Litres in a US gallon (NIST SP 811: 3.785 412 L).
const L_PER_GAL: f64 = 3.785_411_784;

/// A span of time. Held in minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Duration(f64);

impl Duration {
    /// No time.
    pub const ZERO: Self = Self(0.0);

    /// A span of `value` minutes.
    #[must_use]
    pub const fn minutes(value: f64) -> Self {
        Self(value)
    }

    /// The span in minutes.
    #[must_use]
    pub const fn to_minutes(self) -> f64 {
        self.0
    }
}

impl Add for Duration {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Mul<f64> for Duration {
    type Output = Self;
    fn mul(self, times: f64) -> Self {
        Self(self.0 * times)
    }
}

impl fmt::Display for Duration {
    /// `25 min` below two hours, else `24 h` or `3 h 20 min`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minutes = self.0.round();
        if minutes < 120.0 {
            return write!(f, "{minutes:.0} min");
        }
        let (hours, rest) = ((minutes / 60.0).floor(), minutes % 60.0);
        if rest == 0.0 {
            write!(f, "{hours:.0} h")
        } else {
            write!(f, "{hours:.0} h {rest:.0} min")
        }
    }
}

const TIME: Kind = Kind {
    quantity: "time",
    example: "25 min",
    known: "min, h, d, s",
    units: Units::Listed(&[
        ("s", 1.0 / 60.0),
        ("min", 1.0),
        ("minutes", 1.0),
        ("h", 60.0),
        ("hours", 60.0),
        ("hour", 60.0),
        ("d", 24.0 * 60.0),
        ("days", 24.0 * 60.0),
        ("day", 24.0 * 60.0),
    ]),
};

impl Written for Duration {
    const FORM: Form = TIME.form(|| TIME.pattern());
}

impl FromStr for Duration {
    type Err = UnitError;

    /// Reads `25 min`, `24 h`, `7 d`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &TIME).map(Self)
    }
}

/// How fast cloth is laid and wetted out. Held in square metres per hour.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct LayingSpeed(f64);

impl LayingSpeed {
    /// A speed of `value` m²/h.
    #[must_use]
    pub const fn m2_per_hour(value: f64) -> Self {
        Self(value)
    }

    /// The speed in m²/h.
    #[must_use]
    pub const fn to_m2_per_hour(self) -> f64 {
        self.0
    }

    /// How long `area` takes.
    #[must_use]
    pub fn time_for(self, area: Area) -> Duration {
        Duration(area.to_m2() / self.0 * 60.0)
    }
}

impl fmt::Display for LayingSpeed {
    /// Both systems, for example `1.5 m²/h (16 ft²/h)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} m²/h ({:.0} ft²/h)", self.0, self.0 / M2_PER_FT2)
    }
}

const SPEED: Kind = Kind {
    quantity: "laying speed",
    example: "1.5 m2/h",
    known: "m2/h, ft2/h, yd2/h",
    units: Units::Listed(&[("m2/h", 1.0), ("ft2/h", M2_PER_FT2), ("yd2/h", M2_PER_YD2)]),
};

impl Written for LayingSpeed {
    const FORM: Form = SPEED.form(|| SPEED.pattern());
}

impl FromStr for LayingSpeed {
    type Err = UnitError;

    /// Reads `1.5 m2/h`, `16 ft2/h`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &SPEED).map(Self)
    }
}

/// An amount of liquid. Held in litres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Volume(f64);

impl Volume {
    /// Nothing.
    pub const ZERO: Self = Self(0.0);

    /// An amount of `value` litres.
    #[must_use]
    pub const fn litres(value: f64) -> Self {
        Self(value)
    }

    /// The amount in litres.
    #[must_use]
    pub const fn to_litres(self) -> f64 {
        self.0
    }

    /// Both systems, for example `0.25 l (8.5 fl oz)`: US fluid ounces.
    #[must_use]
    pub fn in_litres_and_ounces(self) -> String {
        format!("{:.2} l ({:.1} fl oz)", self.0, self.0 / L_PER_GAL * 128.0)
    }
}

const VOLUME: Kind = Kind {
    quantity: "volume",
    example: "1 l",
    known: "l, ml, gal, qt, fl oz",
    units: Units::Listed(&[
        ("l", 1.0),
        ("L", 1.0),
        ("ml", 0.001),
        ("mL", 0.001),
        ("gal", L_PER_GAL),
        ("qt", L_PER_GAL / 4.0),
        ("floz", L_PER_GAL / 128.0),
    ]),
};

impl Written for Volume {
    const FORM: Form = VOLUME.form(|| VOLUME.pattern());
}

impl FromStr for Volume {
    type Err = UnitError;

    /// Reads `1 l`, `500 ml`, `1 qt`; the American measures are those of the United States.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &VOLUME).map(Self)
    }
}

/// How much surface a litre covers. Held in square metres per litre.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Coverage(f64);

impl Coverage {
    /// A coverage of `value` m²/l.
    #[must_use]
    pub const fn m2_per_litre(value: f64) -> Self {
        Self(value)
    }

    /// What `area` takes.
    #[must_use]
    pub fn volume_for(self, area: Area) -> Volume {
        Volume(area.to_m2() / self.0)
    }
}

impl fmt::Display for Coverage {
    /// Both systems, for example `8 m²/l (326 ft²/gal)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ft2_per_gal = self.0 * L_PER_GAL / M2_PER_FT2;
        write!(f, "{:.1} m²/l ({ft2_per_gal:.0} ft²/gal)", self.0)
    }
}

const COVERAGE: Kind = Kind {
    quantity: "coverage",
    example: "8 m2/l",
    known: "m2/l, ft2/gal, ft2/qt",
    units: Units::Listed(&[
        ("m2/l", 1.0),
        ("m2/L", 1.0),
        ("ft2/gal", M2_PER_FT2 / L_PER_GAL),
        ("ft2/qt", M2_PER_FT2 / L_PER_GAL * 4.0),
    ]),
};

impl Written for Coverage {
    const FORM: Form = COVERAGE.form(|| COVERAGE.pattern());
}

impl FromStr for Coverage {
    type Err = UnitError;

    /// Reads `8 m2/l`, `300 ft2/gal`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &COVERAGE).map(Self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_rates_are_read_and_printed() {
        let time = |text: &str| text.parse::<Duration>().expect("a time");
        assert_eq!(time("25 min").to_string(), "25 min");
        assert_eq!(time("1 1/2 h").to_string(), "90 min");
        assert_eq!(time("1 d").to_string(), "24 h");
        assert_eq!(time("200 min").to_string(), "3 h 20 min");
        let speed: LayingSpeed = "2 m2/h".parse().expect("a speed");
        assert_eq!(speed.time_for(Area::mm2(500_000.0)).to_minutes(), 15.0);
        let pva: Coverage = "8 m2/l".parse().expect("a coverage");
        assert_eq!(pva.volume_for(Area::mm2(2e6)).to_litres(), 0.25);
        assert_eq!(
            Volume::litres(0.25).in_litres_and_ounces(),
            "0.25 l (8.5 fl oz)"
        );
        let gallon: Volume = "1 gal".parse().expect("a volume");
        assert!((gallon.to_litres() - 3.785_412).abs() < 1e-6);
        assert!("25".parse::<Duration>().is_err());
    }
}
