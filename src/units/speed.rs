//! Speed of a tool, held in millimetres per minute.

use std::str::FromStr;

use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// A speed. Held in millimetres per minute, as machines take it.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Speed(f64);

impl Speed {
    /// A speed of `value` millimetres per minute.
    #[must_use]
    pub const fn mm_per_min(value: f64) -> Self {
        Self(value)
    }

    /// The speed in millimetres per minute.
    #[must_use]
    pub const fn to_mm_per_min(self) -> f64 {
        self.0
    }
}

const KIND: Kind = Kind {
    quantity: "speed",
    example: "3000 mm/min",
    known: "mm/min, mm/s, m/min, in/min, in/s",
    units: Units::LengthPer(&[("min", 1.0), ("s", 1.0 / 60.0), ("sec", 1.0 / 60.0)]),
};

impl Written for Speed {
    const FORM: Form = KIND.form(|| KIND.pattern());
}

impl FromStr for Speed {
    type Err = UnitError;

    /// Reads `3000 mm/min`, `50 mm/s`, `120 in/min`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &KIND).map(Self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_are_read_in_both_systems() {
        let read = |text: &str| text.parse::<Speed>().unwrap().to_mm_per_min();
        assert_eq!(read("50 mm/s"), 3000.0);
        assert_eq!(read("100 in/min"), 2540.0);
        assert!("50 mm".parse::<Speed>().is_err());
        assert!("50 mm/h".parse::<Speed>().is_err());
    }
}
