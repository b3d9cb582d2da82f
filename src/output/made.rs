//! What was made against what was planned: `plan.json` beside what was ticked and written down on the layup sheets,
//! and what the next job should say.

use std::collections::BTreeMap;

use super::pages::sheet_paths;
use super::record::{PartRecord, PlanRecord};
use crate::number::rounded;
use crate::units::{Length, Mass};

/// What stands on a sheet: what was ticked, or what a blank holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Noted {
    /// The sheet, such as `layup/LID.html`.
    pub sheet: String,
    /// Its number on the sheet and its words: `12 LID-1`, `blank 7 Weight`.
    pub what: String,
    /// The moment of a tick in UTC (`2026-11-27T10:00:00.000Z`), or what was written.
    pub is: String,
}

/// A figure as it was planned and as it came out.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[non_exhaustive]
pub struct MadeFigure {
    /// The part, or the cloth.
    pub of: String,
    /// What it is.
    pub what: MadeWhat,
    /// As planned.
    pub planned: f64,
    /// As it came out.
    pub made: f64,
}

/// What is compared, with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[non_exhaustive]
pub enum MadeWhat {
    /// Laying and wetting out the batches whose times are known, minutes.
    #[serde(rename = "laying_min")]
    Laying,
    /// All work on one set, minutes of one person.
    #[serde(rename = "work_min")]
    Hours,
    /// Mass of one set, grams.
    #[serde(rename = "weight_g")]
    Weight,
    /// Thickness, mm.
    #[serde(rename = "thickness_mm")]
    Thickness,
    /// Resin of the batches that were mixed, grams.
    #[serde(rename = "mixed_g")]
    Mixed,
    /// Length that came off a roll, mm.
    #[serde(rename = "off_the_roll_mm")]
    OffTheRoll,
}

/// What the next job should say.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[non_exhaustive]
pub struct SuggestedKey {
    /// The table, such as `[resin]`.
    pub table: String,
    /// The key and its value, as in a job file.
    pub line: String,
}

/// What was made of a plan.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
#[non_exhaustive]
pub struct Made {
    /// The figures of which both sides are known.
    pub figures: Vec<MadeFigure>,
    /// What follows from them.
    pub keys: Vec<SuggestedKey>,
}

impl Made {
    /// Compares `plan` with the record of its sheets; later entries go before earlier ones.
    #[must_use]
    pub fn of(plan: &PlanRecord, record: &[Noted]) -> Self {
        let record = LastWords::of(record);
        let mut made = Self::default();
        made.laying(plan, &record);
        let paths = sheet_paths(plan.parts.iter().map(|part| &part.name[..]));
        for (part, path) in plan.parts.iter().zip(&paths) {
            made.part(plan, part, &|words| record.blank(path, words));
        }
        made.resin(plan, &record);
        made.cloth(plan, &record);
        made
    }

    fn add(&mut self, of: &str, what: MadeWhat, planned: f64, made: f64) {
        self.figures.push(MadeFigure {
            of: of.to_owned(),
            what,
            planned,
            made,
        });
    }

    fn suggest(&mut self, table: impl Into<String>, line: String) {
        self.keys.push(SuggestedKey {
            table: table.into(),
            line,
        });
    }

    /// Time from when a batch was ticked, mixed, to when its last piece was; and how fast that is.
    fn laying(&mut self, plan: &PlanRecord, record: &LastWords<'_>) {
        let Some(resin) = &plan.resin else {
            return;
        };
        let (mut all_planned, mut all_made) = (0.0, 0.0);
        let mut by_part: BTreeMap<usize, [f64; 2]> = BTreeMap::new();
        // Of a ply that takes several batches nobody knows which of them was used up when.
        let whole = resin.batches.iter();
        for batch in whole.filter(|batch| batch.share_of_ply.is_none()) {
            let part_of = |id: &String| part_of_piece(plan, id);
            let laid: Option<Vec<f64>> = batch.plies.iter().map(|id| record.ticked(id)).collect();
            let (Some(mixed), Some(laid)) = (record.ticked(&batch.n.to_string()), laid) else {
                continue;
            };
            let took = laid.into_iter().fold(mixed, f64::max) - mixed;
            let part = batch.plies.first().and_then(part_of);
            // What was ticked all at once afterwards, or went on the next day, tells nothing.
            let Some(part) =
                part.filter(|_| took > batch.minutes / LIKELY && took < batch.minutes * LIKELY)
            else {
                continue;
            };
            let sums = by_part.entry(part).or_default();
            sums[0] += batch.minutes;
            sums[1] += took;
            all_planned += batch.minutes;
            all_made += took;
        }
        for (part, [planned, made]) in by_part {
            self.add(&plan.parts[part].name, MadeWhat::Laying, planned, made);
        }
        if all_made > 0.0 {
            let speed = resin.laying_speed_m2_h * all_planned / all_made;
            self.suggest(
                "[resin]",
                format!("laying_speed = \"{} m2/h\"", rounded(speed, 2)),
            );
        }
    }

    /// Weight, thickness and hours of one set of a part.
    fn part(
        &mut self,
        plan: &PlanRecord,
        part: &PartRecord,
        blank: &dyn Fn(&str) -> Option<String>,
    ) {
        let weight = blank("Weight").and_then(|text| grams(&text));
        if let (Some(planned), Some(made)) = (part.mass_g, weight) {
            self.add(&part.name, MadeWhat::Weight, planned, made);
            let cores: f64 = part
                .cores
                .iter()
                .map(|core| core.mass_g + core.resin_mass_g)
                .sum();
            let laminate = made - cores - part.gel_coat_mass_g.unwrap_or(0.0);
            let share = part.cloth_mass_g / laminate;
            let mut cloths: Vec<&str> = part.plies.iter().map(|ply| &ply.cloth[..]).collect();
            cloths.sort_unstable();
            cloths.dedup();
            // Of several cloths nobody knows which holds more.
            if let ([cloth], true) = (&cloths[..], (0.2..0.9).contains(&share)) {
                let line = format!(
                    "fibre_weight_fraction = \"{} %\"",
                    rounded(100.0 * share, 1)
                );
                self.suggest(format!("[cloth.{cloth}]"), line);
            }
        }
        let thickness = blank("Thickness").and_then(|text| millimetres(&text));
        if let (Some(planned), Some(made)) = (part.stack.laminate.thickness_mm, thickness) {
            self.add(&part.name, MadeWhat::Thickness, planned, made);
        }
        let hours = blank("Hours of work").and_then(|text| minutes(&text));
        let planned = plan.prices.iter().flat_map(|prices| &prices.sets);
        let planned = planned.filter(|price| price.part == part.name);
        let planned = planned
            .map(|price| price.minutes.values().sum::<f64>())
            .next();
        if let (Some(planned), Some(made)) = (planned, hours) {
            self.add(&part.name, MadeWhat::Hours, planned, made);
        }
    }

    /// Resin of the batches that were ticked; and, where every set was weighed, what stayed in pots.
    fn resin(&mut self, plan: &PlanRecord, record: &LastWords<'_>) {
        let Some(resin) = &plan.resin else {
            return;
        };
        let ticked = resin
            .batches
            .iter()
            .filter(|batch| record.ticked(&batch.n.to_string()).is_some());
        let mixed: f64 = ticked.map(|batch| batch.mix.mixed_g).sum();
        if mixed <= 0.0 {
            return;
        }
        self.add(&resin.name, MadeWhat::Mixed, resin.mix.mixed_g, mixed);
        let weighed = |part: &PartRecord| {
            let figure = self
                .figures
                .iter()
                .find(|figure| figure.of == part.name && figure.what == MadeWhat::Weight);
            figure.map(|figure| f64::from(part.sets) * (figure.made - figure.planned))
        };
        let more: Option<Vec<f64>> = plan.parts.iter().map(weighed).collect();
        let is_whole = (mixed - resin.mix.mixed_g).abs() < 0.5;
        if let (Some(more), true) = (more, is_whole) {
            // What the parts weigh more is resin, and the trim has its share of it.
            let goes = &resin.goes;
            let in_parts = goes.in_parts_g + goes.in_cores_g.unwrap_or(0.0);
            let more: f64 = more.iter().sum();
            let used = in_parts + more + goes.in_trim_g * (1.0 + more / in_parts) + goes.take_up_g;
            let share = (mixed - used) / used;
            if in_parts > 0.0 && (0.0..1.0).contains(&share) {
                self.suggest(
                    "[resin]",
                    format!("waste = \"{} %\"", rounded(100.0 * share, 1)),
                );
            }
        }
    }

    /// Cloth that came off each roll, by the cutting list.
    fn cloth(&mut self, plan: &PlanRecord, record: &LastWords<'_>) {
        for cloth in &plan.cloths {
            let written = record.blank(CUTTING_LIST, &off_the_roll(&cloth.name));
            let Some(made) = written.and_then(|text| millimetres(&text)) else {
                continue;
            };
            self.add(
                &cloth.name,
                MadeWhat::OffTheRoll,
                cloth.used_length_mm,
                made,
            );
            let spare = made / cloth.used_length_mm - 1.0;
            if (0.0..1.0).contains(&spare) && cloth.used_length_mm > 0.0 {
                self.suggest(
                    format!("[cloth.{}]", cloth.name),
                    format!("spare = \"{} %\"", rounded(100.0 * spare, 1)),
                );
            }
        }
    }
}

/// A time that differs by more than so many times from the planned one was not taken at the mould.
const LIKELY: f64 = 8.0;

const CUTTING_LIST: &str = "layup/kit-list.html";

/// What the blank beside a roll that is bought is called, so that it is found again.
pub(super) fn off_the_roll(cloth: &str) -> String {
    format!("Off the roll of {cloth}")
}

/// The index of the part that a piece is of.
fn part_of_piece(plan: &PlanRecord, id: &str) -> Option<usize> {
    let mut pieces = plan.layouts.iter().flat_map(|layout| &layout.pieces);
    let piece = pieces.find(|piece| piece.id == id)?;
    plan.parts.iter().position(|part| part.name == piece.part)
}

/// What each box and blank says in the end.
struct LastWords<'a> {
    boxes: BTreeMap<&'a str, &'a str>,
    blanks: BTreeMap<(&'a str, &'a str), &'a str>,
}

impl<'a> LastWords<'a> {
    fn of(record: &'a [Noted]) -> Self {
        let (mut boxes, mut blanks) = (BTreeMap::new(), BTreeMap::new());
        for noted in record {
            let words = |text: &'a str| text.split_once(' ').map_or("", |(_, words)| words);
            match noted.what.strip_prefix("blank ") {
                Some(blank) => _ = blanks.insert((&noted.sheet[..], words(blank)), &noted.is[..]),
                None => _ = boxes.insert(words(&noted.what), &noted.is[..]),
            }
        }
        Self { boxes, blanks }
    }

    /// When the box with these words was ticked, in minutes; `None` if it is not.
    fn ticked(&self, words: &str) -> Option<f64> {
        moment(self.boxes.get(words)?)
    }

    /// What the blank with these words holds.
    fn blank(&self, sheet: &str, words: &str) -> Option<String> {
        let written = self.blanks.get(&(sheet, words))?.trim();
        (!written.is_empty()).then(|| written.to_owned())
    }
}

/// Minutes since the first of January 1970 of a moment like `2026-11-27T10:00:00.000Z` (days of the civil calendar by
/// the rule of 400 years).
fn moment(text: &str) -> Option<f64> {
    let (date, time) = text.strip_suffix('Z')?.split_once('T')?;
    let date: Vec<i64> = date
        .split('-')
        .map(|n| n.parse().ok())
        .collect::<Option<_>>()?;
    let time: Vec<f64> = time
        .split(':')
        .map(|n| n.parse().ok())
        .collect::<Option<_>>()?;
    let (&[year, month, day], &[hours, minutes, seconds]) = (&date[..], &time[..]) else {
        return None;
    };
    if !(1970..3000).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    // Years begin in March, so that a leap day is the last.
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let days =
        365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + day - 719_469;
    Some(days as f64 * 1440.0 + hours * 60.0 + minutes + seconds / 60.0)
}

/// A weight as somebody writes it; grams without a unit.
fn grams(text: &str) -> Option<f64> {
    let text = text.replace(',', ".");
    let mass = text.parse::<Mass>().map(Mass::to_grams);
    mass.ok()
        .or_else(|| text.parse().ok())
        .filter(|g| g.is_finite() && *g > 0.0)
}

/// A length as somebody writes it; millimetres without a unit.
fn millimetres(text: &str) -> Option<f64> {
    let text = text.replace(',', ".");
    let length = text.parse::<Length>().map(Length::to_mm);
    length
        .ok()
        .or_else(|| text.parse().ok())
        .filter(|mm| mm.is_finite() && *mm > 0.0)
}

/// Hours as somebody writes them: `3:30`, `3.5`, `3.5 h`, `200 min`.
fn minutes(text: &str) -> Option<f64> {
    let text = text.replace(',', ".");
    if let Some((hours, minutes)) = text.split_once(':') {
        let (hours, minutes): (f64, f64) =
            (hours.trim().parse().ok()?, minutes.trim().parse().ok()?);
        return Some(60.0 * hours + minutes).filter(|m| m.is_finite() && *m > 0.0);
    }
    let time = text
        .parse::<crate::units::Duration>()
        .map(crate::units::Duration::to_minutes);
    let hours = || text.parse().ok().map(|hours: f64| 60.0 * hours);
    time.ok()
        .or_else(hours)
        .filter(|m| m.is_finite() && *m > 0.0)
}
