//! The paper of templates and labels.

use std::str::FromStr;

use crate::job::Located;
use crate::job::keys::{Checked, Parsed, any_capitals};
use crate::job::rules::LengthRule;
use crate::units::{Form, Length, UnitError, WithUnit as _};

/// The paper of templates and labels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8.5 × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// 11 × 17 in (ANSI/ASME Y14.1, size B).
    Tabloid,
    /// A roll of this width on a wide-format plotter.
    Roll(Length),
}

impl Paper {
    /// Width and height in mm, upright; a roll has no height.
    #[must_use]
    pub fn size(self) -> (f64, Option<f64>) {
        match self {
            Self::A4 => (210.0, Some(297.0)),
            Self::A3 => (297.0, Some(420.0)),
            Self::Letter => (215.9, Some(279.4)),
            Self::Tabloid => (279.4, Some(431.8)),
            Self::Roll(width) => (width.to_mm(), None),
        }
    }

    /// What it is called, also in file names.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::A4 => "A4".to_owned(),
            Self::A3 => "A3".to_owned(),
            Self::Letter => "Letter".to_owned(),
            Self::Tabloid => "Tabloid".to_owned(),
            Self::Roll(width) => format!("roll-{:.0}mm", width.to_mm()),
        }
    }
}

impl FromStr for Paper {
    type Err = UnitError;

    /// Reads `A4`, `A3`, `letter`, `tabloid`, `roll 24 in`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let text = text.trim();
        match text.to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "a3" => Ok(Self::A3),
            "letter" => Ok(Self::Letter),
            "tabloid" => Ok(Self::Tabloid),
            _ => {
                let width = text
                    .get(..4)
                    .filter(|head| head.eq_ignore_ascii_case("roll"))
                    .map_or(text, |_| &text[4..]);
                width.parse().map(Self::Roll)
            }
        }
    }
}

const PAPER_ROLL: LengthRule = LengthRule::positive("width of the paper")
    .help("write the width of the paper roll, for example \"roll 24 in\"")
    .likely(250.0..=1_700.0)
    .most(5_000.0);

/// How paper is written.
pub(super) const PAPER: Checked<Parsed<Paper>, Paper> = Checked {
    kind: Parsed {
        form: Form {
            what: "paper",
            units: "`A4`, `A3`, `letter`, `tabloid`, or `roll` and its width",
            pattern,
        },
        words: &["A4", "A3", "letter", "tabloid"],
        read: str::parse,
    },
    check: |reader, key, paper| {
        let Paper::Roll(width) = paper.value else {
            return true;
        };
        let width = Located {
            value: width,
            place: paper.place.clone(),
        };
        PAPER_ROLL.check(reader, key.name, &width)
    },
};

fn pattern() -> String {
    let words = PAPER.kind.words.iter().map(|word| any_capitals(word));
    let words = words.collect::<Vec<_>>().join("|");
    let roll = any_capitals("roll");
    format!(r"{words}|(?:{roll})?\s*{}", (Length::FORM.pattern)())
}
