//! How plies are cut: settings that a job, a part or a ply may give, the nearer one winning.

use super::keys::{Checked, Key, Number, OfForm, OneOf, Refused, keys};
use super::reader::JobReader;
use super::rules::{AngleRule, LengthRule};
use super::splice::{JointKind, SpliceLines, SpliceRule};
use super::wording::shown;
use super::{Join, Located};
use crate::units::{Angle, Form, Length, WithUnit as _};
use crate::words::words;

/// How a ply is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct CutRules {
    /// Trim allowance all round.
    pub trim: Length,
    /// Allowance beyond the trim along edges that are marked for overlap.
    pub overlap: Length,
    /// Corner style of the allowance.
    pub join: Join,
    /// What becomes of openings.
    pub openings: OpeningRule,
    /// How far the layout may turn it off its angle, to either side; zero for not at all. An
    /// appearance ply has only what it states itself.
    pub angle_tolerance: Angle,
    /// Whether and how it may be divided where it is larger than its cloth.
    pub splice: SpliceRule,
}

/// What becomes of an opening in the net outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OpeningRule {
    /// Cut in the cloth, with the allowance inside the opening; one that the allowance closes up,
    /// or of which it leaves a hole under 10 mm, is left uncut, with a note.
    Cut,
    /// Left uncut: opened after cure.
    AfterCure,
    /// Cut if the smaller side of the hole that the allowance leaves is at least this long, else
    /// left uncut.
    CutFrom(Length),
}

words! {
    /// Corners of the allowance.
    pub(super) enum JoinStyle {
        Round = "round",
        Mitre = "mitre",
        Bevel = "bevel",
    }
}

const TRIM: LengthRule = LengthRule::not_negative("trim allowance")
    .help(
        "an allowance adds cloth outside the net line; to make a ply smaller use \
                `step`, for example `step = \"-5 mm\"`",
    )
    .likely(0.0..=150.0)
    .most(2_000.0);
const OVERLAP: LengthRule = LengthRule::not_negative("overlap")
    .help("an overlap adds cloth beyond the trim allowance, along marked edges: 0 mm or more")
    .likely(0.0..=300.0)
    .most(2_000.0);
const LAP: LengthRule = LengthRule::positive("lap")
    .help("for pieces that meet edge to edge write `splice = \"butt\"`")
    .likely(5.0..=200.0)
    .most(2_000.0);
const STAGGER: LengthRule = LengthRule::not_negative("stagger")
    .help("it is the least distance between joints of neighbouring plies: 0 mm or more")
    .likely(15.0..=500.0)
    .most(5_000.0);
const OPENING: LengthRule = LengthRule::not_negative("size from which openings are cut")
    .help("to cut every opening write \"cut\"")
    .likely(0.0..=2_000.0)
    .most(100_000.0);

/// Mitre limits above this leave spikes of cloth at sharp corners.
const LIKELY_MITRE: f64 = 10.0;

/// `"cut"`, `"after cure"` or `"from 40 mm"`.
const OPENINGS: Checked<OfForm<OpeningRule>, OpeningRule> = Checked {
    kind: OfForm {
        form: Form {
            what: "rule",
            units: "`cut`, `after cure`, or `from` and a length",
            pattern: || format!(r"cut|after\s+cure|from\s*{}", (Length::FORM.pattern)()),
        },
        words: &["cut", "after cure"],
        read: read_openings,
    },
    check: check_openings,
};

// A trim allowance of 25 mm: common practice, no source. So are laps and staggers of 25 mm: a lap of
// 13 to 25 mm is usual for wet fabric; MIL-HDBK-17-3F rule A-31 wants 15 mm at least between butts.
keys! {
    /// What a job, a part and a ply alike may say of how plies are cut; the nearest counts.
    CuttingKeys: inherited;
    trim: Length = TRIM, Is("25 mm"), "25 mm", "allowance outside the finished edge";
    overlap: Length = OVERLAP, Is("0 mm"), "40 mm", "allowance beyond the trim along marked edges, square at their ends";
    join: JoinStyle = OneOf, Is("round"), "mitre", "corners of the allowance";
    mitre_limit: f64 = Number { least: 1.0, most: None }, Is("2"), "2.5", "with `join = \"mitre\"`: how many allowances a corner may reach out";
    openings: OpeningRule = OPENINGS, Is("cut"), "from 40 mm", "`cut`, `after cure`, or e.g. `from 40 mm`: those of which the trim leaves a hole so wide (smaller ones after cure; none under 10 mm is cut)";
    angle_tolerance: Angle = AngleRule::Tolerance, Is("0 deg"), "2 deg", "how far a layout may turn a piece off its angle where that saves cloth";
    splice: Option<JointKind> = OneOf, Is("no"), "lap", "joint for plies larger than their cloth";
    splice_lines: SpliceLines = OneOf, Means("along the fibres of a unidirectional, else `either`"), "across", "which way joints run: along or across the warp, or whichever takes less cloth";
    lap: Length = LAP, Is("25 mm"), "25 mm", "how far pieces lie on one another in a lap";
    stagger: Length = STAGGER, Is("25 mm"), "25 mm", "least clear distance between joints of neighbouring plies";
}

impl CuttingKeys<'_> {
    /// Queries a mitre limit that does nothing or too much; call it where the limit may be written.
    pub(super) fn check(&self, reader: &mut JobReader) {
        let (Some(place), limit) = (self.mitre_limit.place(), self.mitre_limit.value) else {
            return;
        };
        if self.join.value != JoinStyle::Mitre {
            let message = "`mitre_limit` does nothing without `join = \"mitre\"`";
            let help = "add `join = \"mitre\"` or leave the limit out";
            reader.warn(place, message, help);
        } else if limit > LIKELY_MITRE {
            let message = format!("a mitre limit of {limit} is unusual");
            let help = "sharp corners may reach that many allowances out; 2 to 4 is usual";
            reader.warn(place, message, help);
        }
    }

    /// The rules for a ply.
    pub(super) const fn rules(&self) -> CutRules {
        CutRules {
            trim: self.trim.value,
            overlap: self.overlap.value,
            join: match self.join.value {
                JoinStyle::Round => Join::Round,
                JoinStyle::Bevel => Join::Bevel,
                JoinStyle::Mitre => Join::Mitre {
                    limit: self.mitre_limit.value,
                },
            },
            openings: self.openings.value,
            angle_tolerance: self.angle_tolerance.value,
            splice: SpliceRule {
                joint: self.splice.value,
                lines: self.splice_lines.value,
                lap: self.lap.value,
                stagger: self.stagger.value,
            },
        }
    }
}

fn read_openings(text: &str) -> Result<OpeningRule, Refused> {
    match text.split_whitespace().collect::<Vec<_>>()[..] {
        ["cut"] => Ok(OpeningRule::Cut),
        ["after", "cure"] => Ok(OpeningRule::AfterCure),
        ["from", ..] => {
            let text = text.trim_start();
            let size = text.strip_prefix("from").unwrap_or(text).parse();
            size.map(OpeningRule::CutFrom).map_err(Refused::Unit)
        }
        _ => {
            let help = "it is \"cut\", \"after cure\", or a size such as \"from 40 mm\"";
            let message = format!("`openings` cannot be {}", shown(text));
            Err(Refused::Other(message, help.to_owned()))
        }
    }
}

fn check_openings(reader: &mut JobReader, key: &'static Key, rule: &Located<OpeningRule>) -> bool {
    let OpeningRule::CutFrom(size) = rule.value else {
        return true;
    };
    let size = Located {
        value: size,
        place: rule.place.clone(),
    };
    OPENING.check(reader, key.name, &size)
}
