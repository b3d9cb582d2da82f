//! Times, speeds, amounts of liquid, and how much surface an hour or a litre covers.

use std::fmt;
use std::str::FromStr;

use super::UnitError;
use super::length::{Area, M2_PER_FT2, M2_PER_YD2};
use super::quantity::{adds_up, quantity};
use super::read::{Form, Reading, Units, WithUnit};

/// Litres in a US gallon (NIST SP 811: 3.785 412 L).
const L_PER_GAL: f64 = 3.785_411_784;

quantity! {
    /// A span of time.
    Duration, "time", like "25 min";
    held in "minutes": minutes, to_minutes;
    known "min, h, d, s": Units::Listed(&[
        ("s", 1.0 / 60.0),
        ("min", 1.0),
        ("minutes", 1.0),
        ("h", 60.0),
        ("hours", 60.0),
        ("hour", 60.0),
        ("d", 24.0 * 60.0),
        ("days", 24.0 * 60.0),
        ("day", 24.0 * 60.0),
    ])
}

adds_up!(Duration);

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

quantity! {
    /// A speed of a tool, as machines take it.
    Speed, "speed", like "3000 mm/min";
    held in "mm/min": mm_per_min, to_mm_per_min;
    known "mm/min, mm/s, m/min, in/min, in/s":
        Units::LengthPer(&[("min", 1.0), ("s", 1.0 / 60.0), ("sec", 1.0 / 60.0)])
}

quantity! {
    /// How fast cloth is laid and wetted out.
    LayingSpeed, "laying speed", like "1.5 m2/h";
    held in "m²/h": m2_per_hour, to_m2_per_hour;
    known "m2/h, ft2/h, yd2/h":
        Units::Listed(&[("m2/h", 1.0), ("ft2/h", M2_PER_FT2), ("yd2/h", M2_PER_YD2)])
}

impl LayingSpeed {
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

quantity! {
    /// How warm something is.
    Temperature, "temperature";
    held in "°C": celsius, to_celsius
}

impl Temperature {
    const READING: Reading = Reading {
        quantity: "temperature",
        example: "23 °C",
        known: "°C, °F",
        // The zeros differ as well: see `from_str`.
        units: Units::Listed(&[("°C", 1.0), ("C", 1.0), ("°F", 1.0), ("F", 1.0)]),
    };
}

impl WithUnit for Temperature {
    const FORM: Form = Self::READING.form(|| Self::READING.pattern());
}

impl FromStr for Temperature {
    type Err = UnitError;

    /// Reads `23 °C`, `73 F`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let value = Self::READING.value(text)?;
        Ok(Self(if text.trim_end().ends_with('F') {
            (value - 32.0) / 1.8
        } else {
            value
        }))
    }
}

impl fmt::Display for Temperature {
    /// Both systems, for example `23 °C (73 °F)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} °C ({:.0} °F)", self.0, self.0 * 1.8 + 32.0)
    }
}

quantity! {
    /// How fast something is warmed.
    HeatingRate, "heating rate", like "10 °C/h";
    held in "°C/h": celsius_per_hour, to_celsius_per_hour;
    known "°C/h, °C/min, °F/h, °F/min": Units::Listed(&[
        ("°C/h", 1.0),
        ("C/h", 1.0),
        ("K/h", 1.0),
        ("°C/min", 60.0),
        ("C/min", 60.0),
        ("°F/h", 1.0 / 1.8),
        ("F/h", 1.0 / 1.8),
        ("°F/min", 60.0 / 1.8),
        ("F/min", 60.0 / 1.8),
    ])
}

impl HeatingRate {
    /// How long it takes from one temperature to another.
    #[must_use]
    pub fn time_for(self, from: Temperature, to: Temperature) -> Duration {
        Duration::minutes((to.to_celsius() - from.to_celsius()).abs() / self.0 * 60.0)
    }
}

impl fmt::Display for HeatingRate {
    /// Both systems, for example `10 °C/h (18 °F/h)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} °C/h ({:.0} °F/h)", self.0, self.0 * 1.8)
    }
}

quantity! {
    /// An amount of liquid; the American measures are those of the United States.
    Volume, "volume", like "1 l";
    held in "litres": litres, to_litres;
    known "l, ml, gal, qt, fl oz": Units::Listed(&[
        ("l", 1.0),
        ("L", 1.0),
        ("ml", 0.001),
        ("mL", 0.001),
        ("gal", L_PER_GAL),
        ("qt", L_PER_GAL / 4.0),
        ("floz", L_PER_GAL / 128.0),
    ])
}

adds_up!(Volume);

impl Volume {
    /// Both systems, for example `0.25 l (8.5 fl oz)`: US fluid ounces.
    #[must_use]
    pub fn in_litres_and_ounces(self) -> String {
        let ounces = self.0 / L_PER_GAL * 128.0;
        // Nobody measures hundredths of a litre.
        if self.0 < 1.0 {
            return format!("{:.0} ml ({ounces:.1} fl oz)", 1000.0 * self.0);
        }
        format!("{:.2} l ({ounces:.1} fl oz)", self.0)
    }
}

quantity! {
    /// How much surface a litre covers.
    Coverage, "coverage", like "8 m2/l";
    held in "m²/l": m2_per_litre, to_m2_per_litre;
    known "m2/l, ft2/gal, ft2/qt": Units::Listed(&[
        ("m2/l", 1.0),
        ("m2/L", 1.0),
        ("ft2/gal", M2_PER_FT2 / L_PER_GAL),
        ("ft2/qt", M2_PER_FT2 / L_PER_GAL * 4.0),
    ])
}

impl Coverage {
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
