//! The `[[part]]` tables and their laminate schedules.

use std::collections::BTreeMap;

use super::cloths::Cloths;
use super::cutting::Cutting;
use super::drawing;
use super::layup::{self, LayupPly};
use super::place::{read_shift, read_tool};
use super::reader::Reader;
use super::rules::{self, LIKELY_SETS, MAX_PIECES};
use super::table::Table;
use super::wording::{shown, suggestion};
use super::{
    DrawnAngle, DrawnView, Located, OutlineChoice, Part, Ply, Side, ZeroDirection, splice,
};
use crate::diag::Place;
use crate::pattern::Settings;
use crate::units::{Angle, Length, LengthUnit};

/// Reads all `[[part]]` tables of `job`.
pub(super) fn read_parts(
    reader: &mut Reader,
    job: &Table<'_>,
    cloths: &mut Cloths,
    cutting: Cutting,
    drawing: &Settings,
) -> Vec<Part> {
    let mut names = BTreeMap::new();
    let mut pieces = PieceCount::default();
    let mut parts = Vec::new();
    let around = Around { cutting, drawing };
    for mut table in job.listed_tables(reader, "part", "part") {
        if reader.is_full() {
            break;
        }
        let name = read_name(reader, &mut table, &mut names);
        let part = read_part(reader, &table, name, cloths, &around, &mut pieces);
        let other = read_mirror(reader, &table, part.as_ref(), &mut names, &mut pieces);
        parts.extend(part);
        parts.extend(other);
    }
    check_readings(reader, &parts);
    parts
}

/// What the job says for all its parts.
struct Around<'a> {
    cutting: Cutting,
    drawing: &'a Settings,
}

/// Complains about parts that want one file read in different ways: it is read once.
fn check_readings(reader: &mut Reader, parts: &[Part]) {
    for (i, part) in parts.iter().enumerate() {
        let same_file = |p: &&Part| p.pattern.value == part.pattern.value;
        let Some(first) = parts[..i].iter().find(same_file) else {
            continue;
        };
        if first.reading != part.reading {
            let message = format!(
                "parts {} and {} read this file in different ways",
                shown(&first.name),
                shown(&part.name)
            );
            let help = "give both the same `units` and `[part.drawing]` (or one `[drawing]` for \
                        the job), or a copy of the file each";
            reader.error(&part.pattern.place, message, help);
        }
    }
}

/// How many pieces the job has so far.
#[derive(Default)]
struct PieceCount {
    n: u64,
}

impl PieceCount {
    /// Counts `n` more; complains the first time that there are too many.
    fn add(&mut self, reader: &mut Reader, n: u64, place: &Place) -> bool {
        let before = self.n;
        self.n += n;
        if self.n > MAX_PIECES && before <= MAX_PIECES {
            let message = format!("with this the job has more than {MAX_PIECES} pieces");
            let help = "pieces are plies times sets; lower `sets` or `layers`, or divide the job";
            reader.error(place, message, help);
        }
        self.n <= MAX_PIECES
    }
}

/// Reads the part's name and takes it into the table's own name.
///
/// `names` holds those taken so far, in lower case.
fn read_name(
    reader: &mut Reader,
    table: &mut Table<'_>,
    names: &mut BTreeMap<String, Place>,
) -> Option<Located<String>> {
    table.require(reader, "name");
    let name = table.word(reader, "name")?;
    table.what = format!("part {}", shown(&name.value));
    take_name(reader, &name, names);
    Some(name)
}

/// Complains about a part's name that cannot be, or is taken.
fn take_name(reader: &mut Reader, name: &Located<String>, names: &mut BTreeMap<String, Place>) {
    super::check_name(reader, "part", name);
    if let Some(first) = names.insert(name.value.to_ascii_lowercase(), name.place.clone()) {
        let message = format!("two parts are called {}", shown(&name.value));
        let help = format!(
            "line {} has the first; every piece carries its part's name, so each needs its own \
             (capitals do not count)",
            reader.line(&first)
        );
        reader.error(&name.place, message, &help);
    }
}

/// The other hand of a left and right pair, if the part has one.
fn read_mirror(
    reader: &mut Reader,
    table: &Table<'_>,
    part: Option<&Part>,
    names: &mut BTreeMap<String, Place>,
    pieces: &mut PieceCount,
) -> Option<Part> {
    let name = table.word(reader, "mirror")?;
    take_name(reader, &name, names);
    let part = part?;
    let n_pieces = part.plies.len() as u64 * u64::from(part.sets);
    if !pieces.add(reader, n_pieces, &name.place) {
        return None;
    }
    Some(Part {
        name: name.value,
        view: DrawnView {
            other_hand: true,
            ..part.view
        },
        ..part.clone()
    })
}

fn read_part(
    reader: &mut Reader,
    table: &Table<'_>,
    name: Option<Located<String>>,
    cloths: &mut Cloths,
    around: &Around<'_>,
    pieces: &mut PieceCount,
) -> Option<Part> {
    table.check_keys(reader);
    table.require(reader, "pattern");
    let pattern = table.word(reader, "pattern");
    let units = read_units(reader, table);
    let header = "`[part.drawing]`";
    let reading = drawing::overridden_by(around.drawing, reader, table, header);
    let sides = [("bag", Side::Bag), ("tool", Side::Tool)];
    let seen_from = table.choice(reader, "seen_from", &sides);
    let zero = read_zero(reader, table);
    let sets = read_sets(reader, table);
    let tool = read_tool(reader, table);
    let defaults = PlyDefaults {
        cloth: table
            .word(reader, "cloth")
            .and_then(|name| cloths.find(reader, &name)),
        outline: read_outline(reader, table),
        cutting: around.cutting.overridden_by(reader, table),
        steps: Steps::read(reader, table),
    };
    let keep_out = splice::read_keep_out(reader, table);
    let overlap_edges = table.words(reader, "overlap_edges");
    let mut schedule = Schedule {
        reader,
        cloths,
        part: table,
        defaults,
        sets,
        pieces,
        numbers: BTreeMap::new(),
        next: 1,
        plies: Vec::new(),
    };
    schedule.read();
    let plies = schedule.plies;
    Some(Part {
        name: name?.value,
        pattern: pattern?,
        reading: Settings {
            unit: units,
            ..reading
        },
        view: DrawnView {
            seen_from: seen_from.map_or(Side::Bag, |side| side.value),
            other_hand: false,
        },
        zero,
        sets,
        sets_are_stated: table.has("sets"),
        keep_out,
        overlap_edges,
        tool,
        plies,
    })
}

pub(super) fn read_units(reader: &mut Reader, table: &Table<'_>) -> Option<LengthUnit> {
    let word = table.word(reader, "units")?;
    let unit = LengthUnit::from_symbol(word.value.trim());
    if unit.is_none() {
        let known = ["mm", "cm", "m", "in", "ft", "yd", "mil", "um"];
        let message = format!("{} is not a unit of length", shown(&word.value));
        reader.error(
            &word.place,
            message,
            &suggestion(&word.value, &known, "known are"),
        );
    }
    unit
}

fn read_zero(reader: &mut Reader, table: &Table<'_>) -> ZeroDirection {
    let angle = table.angle(reader, "zero_direction");
    let line = table.word(reader, "zero_line");
    if table.has("zero_direction")
        && let Some(place) = table.key_place(reader, "zero_line")
    {
        let message = format!("{} has both `zero_direction` and `zero_line`", table.what);
        let help = "the 0° direction comes from an angle or from a line of the pattern: keep one";
        reader.error(&place, message, help);
    }
    match (line, angle) {
        (Some(line), _) => ZeroDirection::Line(line),
        (None, Some(angle)) => ZeroDirection::Angle(angle.value),
        (None, None) => ZeroDirection::Drawing,
    }
}

fn read_sets(reader: &mut Reader, table: &Table<'_>) -> u32 {
    let Some(sets) = table.count(reader, "sets") else {
        return 1;
    };
    if sets.value > LIKELY_SETS {
        let message = format!("{} sets of {} are unusually many", sets.value, table.what);
        reader.warn(
            &sets.place,
            message,
            "one set is one finished part; is the number right?",
        );
    }
    sets.value
}

fn read_outline(reader: &mut Reader, table: &Table<'_>) -> Option<OutlineChoice> {
    table.word(reader, "outline").map(OutlineChoice::Named)
}

/// What a part says for all its plies.
struct PlyDefaults {
    cloth: Option<usize>,
    outline: Option<OutlineChoice>,
    cutting: Cutting,
    steps: Steps,
}

/// How far the outlines of plies in a row are grown.
#[derive(Clone, Copy)]
struct Steps {
    /// The first one.
    first: Length,
    /// Each one more than the one before.
    taper: Length,
}

impl Steps {
    fn read(reader: &mut Reader, table: &Table<'_>) -> Self {
        let length = |found: Option<Located<Length>>| found.map_or(Length::ZERO, |l| l.value);
        Self {
            first: length(table.length(reader, "step")),
            taper: length(table.length(reader, "taper")),
        }
    }

    /// The step of the ply after `n_before` others.
    fn of(self, n_before: usize) -> Length {
        self.first + self.taper * n_before as f64
    }
}

/// A laminate schedule while it is read.
struct Schedule<'r, 't> {
    reader: &'r mut Reader,
    cloths: &'r mut Cloths,
    part: &'r Table<'t>,
    defaults: PlyDefaults,
    sets: u32,
    pieces: &'r mut PieceCount,
    /// Ply numbers taken so far, with their place.
    numbers: BTreeMap<u32, Place>,
    /// Number of the next ply that does not give one.
    next: u32,
    plies: Vec<Ply>,
}

impl Schedule<'_, '_> {
    /// Reads the plies, from `layup` or from `[[part.ply]]`.
    fn read(&mut self) {
        let (has_layup, has_plies) = (self.part.has("layup"), self.part.has("ply"));
        let what = &self.part.what;
        if has_layup && has_plies {
            let message = format!("{what} has both `layup` and `[[part.ply]]` tables");
            let place = self.part.key_place(self.reader, "layup");
            let place = place.unwrap_or_else(|| self.part.header.clone());
            let help = "write the laminate schedule one way or the other";
            self.reader.error(&place, message, help);
        }
        self.read_layup();
        for ply in self.part.listed_tables(self.reader, "ply", "part.ply") {
            if self.reader.is_full() {
                break;
            }
            self.read_ply(ply);
        }
        // A list of plies may also be there and hold none.
        let has_neither = !has_layup && !has_plies && !self.part.is_misspelt(&["layup", "ply"]);
        if has_neither || self.plies.is_empty() && !self.reader.has_errors() {
            let message = format!("{what} has no plies");
            let help = "add `layup = \"[0/45/-45/90]s\"`, or a `[[part.ply]]` table for each ply";
            self.reader.error(&self.part.header, message, help);
        }
    }

    fn read_layup(&mut self) {
        let Some(code) = self.part.word(self.reader, "layup") else {
            return;
        };
        if !self.part.has("cloth") {
            let message = format!("{} has a `layup` but no `cloth`", self.part.what);
            let help = format!("add `cloth = \"{}\"` to the part", self.cloths.first_name());
            self.reader.error(&code.place, message, &help);
        }
        match layup::parse(&code.value) {
            Ok(plies) => self.take_layup(&code, &plies),
            Err(fault) => {
                let place = self.reader.within(&code.place, &code.value, fault.span);
                self.reader.error(&place, fault.message, fault.help);
            }
        }
    }

    fn take_layup(&mut self, code: &Located<String>, plies: &[LayupPly]) {
        let mut complained_of = Vec::new();
        for ply in plies {
            let place = self
                .reader
                .within(&code.place, &code.value, ply.span.clone());
            let angle = Angle::degrees(ply.degrees);
            // A mirrored or repeated angle is one slip of the pen, not several.
            let is_new = !complained_of.contains(&ply.span.start);
            if !rules::is_ply_angle(ply.degrees) {
                if is_new {
                    complained_of.push(ply.span.start);
                    let (message, help) = (rules::out_of_range(angle), rules::equivalent(angle));
                    self.reader.error(&place, message, &help);
                }
                continue;
            }
            if ply.paired && is_new && self.default_cloth_has_two_directions() {
                complained_of.push(ply.span.start);
                self.warn_of_pair(&place);
            }
            let written = PlyAsWritten {
                cloth: self.defaults.cloth,
                angle: Some(angle),
                outline: None,
                cutting: self.defaults.cutting,
                steps: self.next_steps(),
                appearance: false,
                shift: None,
                place,
            };
            self.add(&written, 1);
        }
    }

    /// The part's own steps from the next ply on.
    fn next_steps(&self) -> Steps {
        let Steps { taper, .. } = self.defaults.steps;
        Steps {
            first: self.defaults.steps.of(self.plies.len()),
            taper,
        }
    }

    fn default_cloth_has_two_directions(&self) -> bool {
        self.defaults
            .cloth
            .and_then(|cloth| self.cloths.weave(cloth))
            .is_some_and(|weave| weave.fibres().len() > 1)
    }

    fn warn_of_pair(&mut self, place: &Place) {
        let message = "`±` is read as two plies of this cloth, which itself has fibres both ways";
        let help = "for one ply write the angle once, for example \"[0/45]\"";
        self.reader.warn(place, message, help);
    }

    fn read_ply(&mut self, mut table: Table<'_>) {
        table.what = format!("{} of {}", table.what, self.part.what);
        table.check_keys(self.reader);
        let cloth = self.read_cloth(&table);
        let angle = self.read_angle(&table, cloth);
        let steps = if table.has("step") || table.has("taper") {
            Steps::read(self.reader, &table)
        } else {
            self.next_steps()
        };
        let appearance = table.flag(self.reader, "appearance");
        let layers = table.count(self.reader, "layers");
        self.read_number(&table);
        let mut cutting = self.defaults.cutting;
        if appearance.as_ref().is_some_and(|seen| seen.value) {
            // The weave line runs the same way on every part, unless the ply itself says otherwise.
            cutting.angle_tolerance = Angle::ZERO;
        }
        let written = PlyAsWritten {
            cloth,
            angle,
            outline: read_outline(self.reader, &table),
            cutting: cutting.overridden_by(self.reader, &table),
            steps,
            appearance: appearance.is_some_and(|appearance| appearance.value),
            shift: read_shift(self.reader, &table),
            place: table.header,
        };
        self.add(&written, layers.map_or(1, |layers| layers.value));
    }

    /// The ply's cloth, its own or the part's; complains if neither names one.
    fn read_cloth(&mut self, table: &Table<'_>) -> Option<usize> {
        if !table.has("cloth") && !self.part.has("cloth") {
            let message = format!("{} has no cloth", table.what);
            let name = self.cloths.first_name();
            let help =
                format!("add `cloth = \"{name}\"` to the ply, or to the part for all its plies");
            self.reader.error(&table.header, message, &help);
        }
        if !table.has("cloth") {
            return self.defaults.cloth;
        }
        let name = table.word(self.reader, "cloth")?;
        self.cloths.find(self.reader, &name)
    }

    /// The ply's angle; only a cloth without a direction may go without.
    fn read_angle(&mut self, table: &Table<'_>, cloth: Option<usize>) -> Option<Angle> {
        let weave = cloth.and_then(|cloth| self.cloths.weave(cloth));
        if !table.has("angle") && weave.is_some_and(|weave| !weave.has_direction()) {
            return Some(Angle::ZERO);
        }
        table.require(self.reader, "angle");
        table.angle(self.reader, "angle").map(|angle| angle.value)
    }

    /// Takes the number of the ply's first layer, if it gives one.
    fn read_number(&mut self, table: &Table<'_>) {
        let Some(number) = table.count(self.reader, "number") else {
            return;
        };
        if number.value < self.next && !self.numbers.contains_key(&number.value) {
            let message = format!("ply {} comes after ply {}", number.value, self.next - 1);
            let help = "plies are laid in the order of the file, first against the mould";
            self.reader.warn(&number.place, message, help);
        }
        self.next = number.value;
    }

    /// Adds `layers` plies alike.
    fn add(&mut self, ply: &PlyAsWritten, layers: u32) {
        let n_pieces = u64::from(layers) * u64::from(self.sets);
        if !self.pieces.add(self.reader, n_pieces, &ply.place) {
            return;
        }
        if let Some(cloth) = ply.cloth {
            self.cloths.mark_used(cloth);
        }
        for layer in 0..layers as usize {
            let n = self.next;
            self.next += 1;
            if let Some(first) = self.numbers.insert(n, ply.place.clone()) {
                let message = format!("{} has two plies numbered {n}", self.part.what);
                let help = format!(
                    "line {} has the other; without `number` plies are numbered in a row",
                    self.reader.line(&first)
                );
                self.reader.error(&ply.place, message, &help);
                return;
            }
            self.plies
                .extend(ply.numbered(n, layer, self.defaults.outline.as_ref()));
        }
    }
}

/// A ply before it has its number.
struct PlyAsWritten {
    cloth: Option<usize>,
    angle: Option<Angle>,
    outline: Option<OutlineChoice>,
    cutting: Cutting,
    steps: Steps,
    appearance: bool,
    shift: Option<[Length; 2]>,
    place: Place,
}

impl PlyAsWritten {
    /// The ply with number `n`, after `layer` others alike; `None` if its cloth or angle could not
    /// be read.
    fn numbered(&self, n: u32, layer: usize, part_outline: Option<&OutlineChoice>) -> Option<Ply> {
        let outline = self.outline.as_ref().or(part_outline);
        Some(Ply {
            n,
            cloth: self.cloth?,
            drawn_angle: DrawnAngle::new(self.angle?),
            outline: outline.cloned().unwrap_or(OutlineChoice::Only),
            trim: self.cutting.trim,
            overlap: self.cutting.overlap,
            join: self.cutting.join(),
            step: self.steps.of(layer),
            openings: self.cutting.openings,
            appearance: self.appearance,
            shift: self.shift,
            angle_tolerance: self.cutting.angle_tolerance,
            splice: self.cutting.splice,
            place: self.place.clone(),
        })
    }
}
