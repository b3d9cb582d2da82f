//! How plies are cut: settings that a job, a part or a ply may give, the nearer one winning.

use super::reader::Reader;
use super::rules::{self, LIKELY_MITRE};
use super::table::Table;
use super::wording::shown;
use super::{Join, Located, OpeningRule, SpliceRule};
use crate::units::{Angle, Length, UnitError};

/// The settings in force for a ply.
#[derive(Clone, Copy)]
pub(super) struct Cutting {
    pub trim: Length,
    pub overlap: Length,
    pub openings: OpeningRule,
    pub angle_tolerance: Angle,
    pub splice: SpliceRule,
    style: JoinStyle,
    mitre_limit: f64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum JoinStyle {
    Round,
    Mitre,
    Bevel,
}

impl Default for Cutting {
    /// A trim allowance of 25 mm (common practice, no source), round corners, openings cut.
    fn default() -> Self {
        Self {
            trim: Length::mm(25.0),
            overlap: Length::ZERO,
            openings: OpeningRule::Cut,
            angle_tolerance: Angle::ZERO,
            splice: SpliceRule::default(),
            style: JoinStyle::Round,
            mitre_limit: 2.0,
        }
    }
}

impl Cutting {
    /// What is in force where `table` is read inside something that has `self` in force.
    pub(super) fn overridden_by(self, reader: &mut Reader, table: &Table<'_>) -> Self {
        let mut cutting = self;
        if let Some(trim) = table.length(reader, "trim") {
            cutting.trim = trim.value;
        }
        if let Some(overlap) = table.length(reader, "overlap") {
            cutting.overlap = overlap.value;
        }
        let styles = [
            ("round", JoinStyle::Round),
            ("mitre", JoinStyle::Mitre),
            ("bevel", JoinStyle::Bevel),
        ];
        if let Some(style) = table.choice(reader, "join", &styles) {
            cutting.style = style.value;
        }
        if let Some(limit) = table.number(reader, "mitre_limit") {
            cutting.set_mitre_limit(reader, &limit);
        }
        if let Some(openings) = read_openings(reader, table) {
            cutting.openings = openings;
        }
        if let Some(tolerance) = table.angle(reader, "angle_tolerance") {
            cutting.angle_tolerance = tolerance.value;
        }
        cutting.splice = cutting.splice.overridden_by(reader, table);
        cutting
    }

    fn set_mitre_limit(&mut self, reader: &mut Reader, limit: &Located<f64>) {
        self.mitre_limit = limit.value;
        if self.style != JoinStyle::Mitre {
            let message = "`mitre_limit` does nothing without `join = \"mitre\"`";
            let help = "add `join = \"mitre\"` or leave the limit out";
            reader.warn(&limit.place, message, help);
        } else if limit.value > LIKELY_MITRE {
            let message = format!("a mitre limit of {} is unusual", limit.value);
            let help = "sharp corners may reach that many allowances out; 2 to 4 is usual";
            reader.warn(&limit.place, message, help);
        }
    }

    /// The corner style.
    pub(super) fn join(&self) -> Join {
        match self.style {
            JoinStyle::Round => Join::Round,
            JoinStyle::Bevel => Join::Bevel,
            JoinStyle::Mitre => Join::Mitre {
                limit: self.mitre_limit,
            },
        }
    }
}

/// Reads `"cut"`, `"after cure"` or `"from 40 mm"`.
fn read_openings(reader: &mut Reader, table: &Table<'_>) -> Option<OpeningRule> {
    const KEY: &str = "openings";
    let text = table.word(reader, KEY)?;
    match text.value.split_whitespace().collect::<Vec<_>>()[..] {
        ["cut"] => Some(OpeningRule::Cut),
        ["after", "cure"] => Some(OpeningRule::AfterCure),
        ["from", ..] => read_opening_size(reader, table),
        _ => {
            let help = "it is \"cut\", \"after cure\", or a size such as \"from 40 mm\"";
            let message = format!("`{KEY}` cannot be {}", shown(&text.value));
            reader.error(&text.place, message, help);
            None
        }
    }
}

fn read_opening_size(reader: &mut Reader, table: &Table<'_>) -> Option<OpeningRule> {
    let after_from = |text: &str| -> Result<Length, UnitError> {
        let text = text.trim_start();
        text.strip_prefix("from").unwrap_or(text).parse()
    };
    let size: Located<Length> = table.read_with(reader, "openings", after_from)?;
    rules::OPENING
        .check(reader, "openings", &size)
        .then_some(OpeningRule::CutFrom(size.value))
}
