//! Reads the `[[part]]` tables and their laminate schedules.

use std::collections::BTreeMap;

use super::bagging::{Bagging, PEEL_PLY};
use super::cloths::{Cloths, RollFace};
use super::core::{self, Core};
use super::cutting::CuttingKeys;
use super::keys::KeyEntry;
use super::layup::{self, LayupPly};
use super::part::{OutlineChoice, Part, PartFace, PartKeys, Ply, PlyKeys, ZeroDirection};
use super::reader::JobReader;
use super::rules::{self, MAX_PIECES};
use super::table::JobTable;
use super::wording::shown;
use super::{DrawnAngle, DrawnView, Located, OnMould, check_name, drawing, mould, splice};
use crate::cloth::Faces;
use crate::diag::Place;
use crate::geometry::Face;
use crate::pattern::Settings;
use crate::units::{Angle, Length};

/// More sets than this are more often a slip than an order.
const LIKELY_SETS: u32 = 200;

/// What the job says for all its parts.
pub(super) struct Around<'a, 't> {
    pub cutting: CuttingKeys<'t>,
    pub drawing: &'a Settings,
    pub bagging: Option<&'a Bagging>,
}

/// Reads all `[[part]]` tables of a job.
pub(super) fn read_parts<'t>(
    reader: &mut JobReader,
    tables: Vec<JobTable<'t>>,
    cloths: &mut Cloths,
    around: &Around<'_, 't>,
) -> Vec<Part> {
    let mut names = BTreeMap::new();
    let mut pieces = PieceCount::default();
    let mut parts = Vec::new();
    for mut table in tables {
        if reader.is_full() {
            break;
        }
        if let Some(name) = table.text("name") {
            table.what = format!("part {}", shown(name));
        }
        let keys = PartKeys::read(reader, Some(&table));
        let name = keys.name.clone().located();
        if let Some(name) = &name {
            take_name(reader, name, &mut names);
        }
        let mirror = keys.mirror.clone().located();
        let part = read_part(reader, &table, keys, cloths, around, &mut pieces);
        let other = mirror.and_then(|name| {
            take_name(reader, &name, &mut names);
            other_hand(reader, name, part.as_ref()?, &mut pieces)
        });
        parts.extend(part);
        parts.extend(other);
    }
    check_readings(reader, &parts);
    parts
}

/// Complains about parts that want one file read in different ways: it is read once.
fn check_readings(reader: &mut JobReader, parts: &[Part]) {
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
    fn add(&mut self, reader: &mut JobReader, n: u64, place: &Place) -> bool {
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

/// Complains about a part's name that cannot be, or is taken.
fn take_name(reader: &mut JobReader, name: &Located<String>, names: &mut BTreeMap<String, Place>) {
    check_name(reader, "part", name);
    if let Some(first) = names.insert(name.value.to_ascii_lowercase(), name.place.clone()) {
        let message = format!("two parts are called {}", shown(&name.value));
        let help = format!(
            "{} has the first; every piece carries its part's name, so each needs its own \
             (capitals do not count)",
            reader.line(&first)
        );
        reader.error(&name.place, message, &help);
    }
}

/// The other hand of a left and right pair, called `name`.
fn other_hand(
    reader: &mut JobReader,
    name: Located<String>,
    part: &Part,
    pieces: &mut PieceCount,
) -> Option<Part> {
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

fn read_part<'t>(
    reader: &mut JobReader,
    table: &JobTable<'t>,
    keys: PartKeys<'t>,
    cloths: &mut Cloths,
    around: &Around<'_, 't>,
    pieces: &mut PieceCount,
) -> Option<Part> {
    let on_mould = on_mould(reader, table, &keys);
    let zero = match on_mould {
        // The flat outlines are turned so.
        Some(_) => ZeroDirection::Angle(Angle::ZERO),
        None => zero_direction(reader, table, keys.zero_line, keys.zero_direction),
    };
    let reading = drawing::overridden_by(around.drawing, reader, keys.drawing.value);
    let sets_are_stated = keys.sets.is_there();
    let sets = sets(reader, table, keys.sets.located());
    let has_cloth = keys.cloth.is_there();
    let cloth = (keys.cloth.located()).and_then(|name| cloths.find(reader, &name));
    let cutting = around.cutting.clone().overridden_by(reader, table);
    cutting.check(reader);
    let keep_out = keys.keep_out_box.value.unwrap_or_default();
    let keep_out = splice::read_keep_out(reader, keep_out);
    let of_part = (keys.outline.located()).map_or(OutlineChoice::Only, OutlineChoice::Named);
    let mut schedule = Schedule {
        reader,
        cloths,
        part: table,
        cloth,
        has_cloth,
        outline: of_part.clone(),
        cutting,
        steps: PlySteps {
            first: keys.step.value,
            taper: keys.taper.value,
        },
        sets,
        pieces,
        numbers: BTreeMap::new(),
        next: 1,
        plies: Vec::new(),
    };
    schedule.read(keys.layup, keys.ply);
    let mut plies = schedule.plies;
    if let Some(face) = keys.face.value {
        lay_faces(face, &mut plies, cloths);
    }
    warn_of_tape(reader, table, &plies, cloths);
    let stages = stages(
        reader,
        table,
        keys.stages.located(),
        plies.len(),
        around.bagging,
    );
    let cores = read_cores(
        reader,
        table,
        keys.core.value.unwrap_or_default(),
        &of_part,
        &plies,
    );
    let file = match on_mould {
        Some(_) => keys.mould.located(),
        None => keys.pattern.located(),
    };
    Some(Part {
        name: keys.name.value?,
        pattern: file?,
        on_mould,
        reading: Settings {
            unit: keys.units.value,
            ..reading
        },
        view: DrawnView {
            seen_from: keys.seen_from.value,
            other_hand: false,
        },
        zero,
        sets,
        sets_are_stated,
        keep_out,
        overlap_edges: keys.overlap_edges.located(),
        tool: keys.tool.value,
        moulds: keys.moulds.value,
        plies_of_stages: stages,
        plies,
        cores,
    })
}

/// Tells the satins among `plies` that do not say it themselves which face is up.
fn lay_faces(face: PartFace, plies: &mut [Ply], cloths: &Cloths) {
    let n = plies.len();
    for (i, ply) in plies.iter_mut().enumerate() {
        let is_satin = (cloths.weave(ply.cloth)).is_some_and(|w| w.faces() == Faces::WarpAndWeft);
        let up = match face {
            PartFace::Up => Face::Up,
            PartFace::Down => Face::Down,
            PartFace::Mirrored if 2 * i + 1 < n => Face::Down,
            PartFace::Mirrored => Face::Up,
        };
        ply.face = ply.face.or(is_satin.then_some(up));
    }
}

/// Warns of cloths whose edges ravel where the tape that holds them has no room in the trim.
fn warn_of_tape(reader: &mut JobReader, part: &JobTable<'_>, plies: &[Ply], cloths: &Cloths) {
    let mut told = Vec::new();
    for ply in plies {
        let Some((name, tape)) = cloths.edge_tape(ply.cloth) else {
            continue;
        };
        let trim = ply.cutting.trim;
        if trim * 2.0 >= tape || told.contains(&ply.cloth) {
            continue;
        }
        told.push(ply.cloth);
        let wanted = (tape * 0.5).in_mm_and_inches();
        let (message, help) = if trim == Length::ZERO {
            (
                format!(
                    "{} ravels at its edges in {}, and has no trim for tape",
                    shown(name),
                    part.what
                ),
                format!(
                    "tape would end in the part, so none is planned: make `trim` {wanted} or more, or hold the edges \
                     with a binder that the resin permits"
                ),
            )
        } else {
            (
                format!(
                    "half of the tape on edges of {} is wider than the trim of {}",
                    shown(name),
                    part.what
                ),
                format!(
                    "it is laid beside the finished edge, so that none ends in the part: {} of it on the trim, the rest \
                     on the waste; make `trim` {wanted} or more to cut through its middle",
                    trim.in_mm_and_inches()
                ),
            )
        };
        reader.warn(&ply.place, message, &help);
    }
}

/// How many plies each stage of a part with `n_plies` holds; none where all are laid at once.
fn stages(
    reader: &mut JobReader,
    part: &JobTable<'_>,
    stages: Option<Located<Vec<u32>>>,
    n_plies: usize,
    bagging: Option<&Bagging>,
) -> Vec<u32> {
    let Some(Located { value, place }) = stages else {
        return Vec::new();
    };
    let in_stages: u64 = value.iter().map(|n| u64::from(*n)).sum();
    // After an error, plies may only seem to be missing.
    if in_stages != n_plies as u64 && !reader.has_errors() {
        let message = format!(
            "the stages of {} hold {in_stages} plies, and it has {n_plies}",
            part.what
        );
        let help = "write how many plies each stage holds, from the mould up, for example `stages = [2, 2]`";
        reader.error(&place, message, help);
    }
    if value.len() < 2 {
        return Vec::new();
    }
    let lies_in = |bag: &Bagging| bag.layers.iter().any(|layer| layer.roll.name == PEEL_PLY);
    match bagging {
        None => {
            let message = format!(
                "peel ply between the stages of {} is not planned",
                part.what
            );
            let help = "have some at hand; with `[bag]` it is cut and bought";
            reader.warn(&place, message, help);
        }
        Some(bag) if !lies_in(bag) && !reader.has_errors() => {
            let message = format!("no peel ply goes between the stages of {}", part.what);
            let help = format!("name `\"{PEEL_PLY}\"` in the `stack` of `[bag]`");
            reader.error(&place, message, &help);
        }
        Some(_) => {}
    }
    value
}

/// What a part on a mould says of it; `None` for one that is drawn flat. Complains of a part that is neither, or both,
/// and of what only drawings have.
fn on_mould(reader: &mut JobReader, table: &JobTable<'_>, keys: &PartKeys<'_>) -> Option<OnMould> {
    let Some(at) = &keys.mould.at else {
        if !keys.pattern.is_there() {
            table.require(reader, keys.pattern.key);
        }
        for at in [&keys.area.at, &keys.lay.at].into_iter().flatten() {
            let help = "they go with `mould`, a file of triangles; a drawing is flat already";
            reader.error(&at.key, format!("{} names no mould", table.what), help);
        }
        return None;
    };
    if keys.pattern.is_there() {
        let message = format!("{} has both `pattern` and `mould`", table.what);
        let help = "its outlines are drawn, or computed on a mould: keep one";
        reader.error(&at.key, message, help);
    }
    let drawn = [
        &keys.drawing.at,
        &keys.seen_from.at,
        &keys.zero_direction.at,
        &keys.zero_line.at,
        &keys.outline.at,
        &keys.overlap_edges.at,
        &keys.keep_out_box.at,
    ];
    for at in drawn.into_iter().flatten() {
        let message = format!("{} has a mould, not a drawing", table.what);
        let help = "this key is for drawings; `[part.area]` and `[part.lay]` say what of the mould \
                    it is, and how it is laid";
        reader.error(&at.key, message, help);
    }
    Some(mould::read_mould(
        reader,
        keys.area.value.as_ref(),
        keys.lay.value.as_ref(),
    ))
}

/// Most cores and inserts of a part.
const MAX_CORES: usize = 200;

/// The cores of a part with these `plies`.
fn read_cores(
    reader: &mut JobReader,
    part: &JobTable<'_>,
    tables: Vec<JobTable<'_>>,
    of_part: &OutlineChoice,
    plies: &[Ply],
) -> Vec<Core> {
    if tables.len() > MAX_CORES {
        let help = format!("at most {MAX_CORES} are read");
        reader.error(
            &part.header,
            format!("{} has too many cores", part.what),
            &help,
        );
        return Vec::new();
    }
    let mut cores = Vec::new();
    for mut table in tables {
        table.what = format!("{} of {}", table.what, part.what);
        let Some(core) = core::read_core(reader, &table, of_part) else {
            continue;
        };
        if plies.iter().all(|ply| ply.n != core.on_ply) && !reader.has_errors() {
            let message = format!("{} has no ply {} to lay a core on", part.what, core.on_ply);
            let help = "`on_ply` is the number of a ply, from 1, first against the mould";
            reader.error(&core.place, message, help);
        }
        cores.push(core);
    }
    cores
}

fn zero_direction(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    line: KeyEntry<Option<String>>,
    angle: KeyEntry<Option<Angle>>,
) -> ZeroDirection {
    if let (true, Some(at)) = (angle.is_there(), &line.at) {
        let message = format!("{} has both `zero_direction` and `zero_line`", table.what);
        let help = "the 0° direction comes from an angle or from a line of the pattern: keep one";
        reader.error(&at.key, message, help);
    }
    match (line.located(), angle.value) {
        (Some(line), _) => ZeroDirection::Line(line),
        (None, Some(angle)) => ZeroDirection::Angle(angle),
        (None, None) => ZeroDirection::Drawing,
    }
}

fn sets(reader: &mut JobReader, table: &JobTable<'_>, sets: Option<Located<u32>>) -> u32 {
    let Some(sets) = sets else {
        return 1;
    };
    if sets.value > LIKELY_SETS {
        let message = format!("{} sets of {} are unusually many", sets.value, table.what);
        let help = "one set is one finished part; is the number right?";
        reader.warn(&sets.place, message, help);
    }
    sets.value
}

/// How far the outlines of plies in a row are grown.
#[derive(Clone, Copy)]
struct PlySteps {
    /// The first one.
    first: Length,
    /// Each one more than the one before.
    taper: Length,
}

impl PlySteps {
    /// The step of the ply after `n_before` others.
    fn of(self, n_before: usize) -> Length {
        self.first + self.taper * n_before as f64
    }
}

/// A laminate schedule while it is read.
struct Schedule<'r, 't> {
    reader: &'r mut JobReader,
    cloths: &'r mut Cloths,
    part: &'r JobTable<'t>,
    /// What the part says for all its plies.
    cloth: Option<usize>,
    has_cloth: bool,
    outline: OutlineChoice,
    cutting: CuttingKeys<'t>,
    steps: PlySteps,
    sets: u32,
    pieces: &'r mut PieceCount,
    /// Ply numbers taken so far, with their place.
    numbers: BTreeMap<u32, Place>,
    /// Number of the next ply that does not give one.
    next: u32,
    plies: Vec<Ply>,
}

impl<'t> Schedule<'_, 't> {
    /// Reads the plies, from `layup` or from `[[part.ply]]`.
    fn read(
        &mut self,
        layup: KeyEntry<Option<String>>,
        plies: KeyEntry<Option<Vec<JobTable<'t>>>>,
    ) {
        let what = &self.part.what;
        let (has_layup, has_plies) = (layup.is_there(), plies.is_there());
        if let (Some(at), true) = (&layup.at, has_plies) {
            let message = format!("{what} has both `layup` and `[[part.ply]]` tables");
            let help = "write the laminate schedule one way or the other";
            self.reader.error(&at.key, message, help);
        }
        if let Some(code) = layup.located() {
            self.read_layup(&code);
        }
        for ply in plies.value.unwrap_or_default() {
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

    fn read_layup(&mut self, code: &Located<String>) {
        if !self.has_cloth {
            let message = format!("{} has a `layup` but no `cloth`", self.part.what);
            let help = format!("add `cloth = \"{}\"` to the part", self.cloths.first_name());
            self.reader.error(&code.place, message, &help);
        }
        match layup::parse(&code.value) {
            Ok(plies) => self.take_layup(code, &plies),
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
            let like = self.cloth.map(|cloth| Ply {
                n: self.next,
                cloth,
                drawn_angle: DrawnAngle::new(angle),
                outline: self.outline.clone(),
                cutting: self.cutting.rules(),
                step: Length::ZERO,
                appearance: false,
                face: None,
                shift: None,
                place: place.clone(),
            });
            self.add(like, self.next_steps(), 1, &place);
        }
    }

    /// The part's own steps from the next ply on.
    fn next_steps(&self) -> PlySteps {
        PlySteps {
            first: self.steps.of(self.plies.len()),
            taper: self.steps.taper,
        }
    }

    fn default_cloth_has_two_directions(&self) -> bool {
        (self.cloth.and_then(|cloth| self.cloths.weave(cloth)))
            .is_some_and(|weave| weave.fibres().len() > 1)
    }

    fn warn_of_pair(&mut self, place: &Place) {
        let message = "`±` is read as two plies of this cloth, which itself has fibres both ways";
        let help = "for one ply write the angle once, for example \"[0/45]\"";
        self.reader.warn(place, message, help);
    }

    fn read_ply(&mut self, mut table: JobTable<'t>) {
        table.what = format!("{} of {}", table.what, self.part.what);
        let keys = PlyKeys::read(self.reader, Some(&table));
        let cloth = self.cloth_of(&table, keys.cloth);
        let angle = self.angle_of(&table, keys.angle, cloth);
        let steps = if keys.step.is_there() || keys.taper.is_there() {
            PlySteps {
                first: keys.step.value.unwrap_or(Length::ZERO),
                taper: keys.taper.value.unwrap_or(Length::ZERO),
            }
        } else {
            self.next_steps()
        };
        self.take_number(keys.number.located());
        let mut cutting = self.cutting.clone();
        if keys.appearance.value {
            // The weave line runs the same way on every part, unless the ply itself says otherwise.
            cutting.angle_tolerance.value = Angle::ZERO;
        }
        let cutting = cutting.overridden_by(self.reader, &table);
        cutting.check(self.reader);
        let outline = keys.outline.located().map(OutlineChoice::Named);
        let face = self.own_face(keys.face.located(), cloth);
        let like = cloth.zip(angle).map(|(cloth, angle)| Ply {
            n: self.next,
            cloth,
            drawn_angle: DrawnAngle::new(angle),
            outline: outline.unwrap_or_else(|| self.outline.clone()),
            cutting: cutting.rules(),
            step: steps.first,
            appearance: keys.appearance.value,
            face,
            shift: keys.shift.value,
            place: table.header.clone(),
        });
        self.add(like, steps, keys.layers.value, &table.header);
    }

    /// The face that a ply of its own says is up; complains where its cloth has none to tell apart.
    fn own_face(&mut self, face: Option<Located<RollFace>>, cloth: Option<usize>) -> Option<Face> {
        let face = face?;
        let weave = self.cloths.weave(cloth?)?;
        if weave.faces() != Faces::WarpAndWeft {
            let message = format!("`face` says nothing of a {} cloth", weave.word());
            let help = "only a satin has a warp face and a weft face; leave it out";
            self.reader.warn(&face.place, message, help);
            return None;
        }
        Some(face.value.into())
    }

    /// The ply's cloth, its own or the part's; complains if neither names one.
    fn cloth_of(&mut self, table: &JobTable<'_>, cloth: KeyEntry<Option<String>>) -> Option<usize> {
        if cloth.is_there() {
            return self.cloths.find(self.reader, &cloth.located()?);
        }
        if !self.has_cloth {
            let message = format!("{} has no cloth", table.what);
            let name = self.cloths.first_name();
            let help =
                format!("add `cloth = \"{name}\"` to the ply, or to the part for all its plies");
            self.reader.error(&table.header, message, &help);
        }
        self.cloth
    }

    /// The ply's angle; only a cloth without a direction may go without.
    fn angle_of(
        &mut self,
        table: &JobTable<'_>,
        angle: KeyEntry<Option<Angle>>,
        cloth: Option<usize>,
    ) -> Option<Angle> {
        let weave = cloth.and_then(|cloth| self.cloths.weave(cloth));
        if !angle.is_there() && weave.is_some_and(|weave| !weave.has_direction()) {
            return Some(Angle::ZERO);
        }
        table.require(self.reader, angle.key);
        angle.value
    }

    /// Takes the number of the ply's first layer, if it gives one.
    fn take_number(&mut self, number: Option<Located<u32>>) {
        let Some(number) = number else {
            return;
        };
        if number.value < self.next && !self.numbers.contains_key(&number.value) {
            let message = format!("ply {} comes after ply {}", number.value, self.next - 1);
            let help = "plies are laid in the order of the file, first against the mould";
            self.reader.warn(&number.place, message, help);
        }
        self.next = number.value;
    }

    /// Adds `layers` plies alike; `like` is missing if its cloth or angle could not be read.
    fn add(&mut self, like: Option<Ply>, steps: PlySteps, layers: u32, place: &Place) {
        let n_pieces = u64::from(layers) * u64::from(self.sets);
        if !self.pieces.add(self.reader, n_pieces, place) {
            return;
        }
        if let Some(ply) = &like {
            self.cloths.mark_used(ply.cloth);
        }
        for layer in 0..layers as usize {
            let n = self.next;
            self.next += 1;
            if let Some(first) = self.numbers.insert(n, place.clone()) {
                let message = format!("{} has two plies numbered {n}", self.part.what);
                let help = format!(
                    "{} has the other; without `number` plies are numbered in a row",
                    self.reader.line(&first)
                );
                self.reader.error(place, message, &help);
                return;
            }
            self.plies.extend(like.clone().map(|like| Ply {
                n,
                step: steps.of(layer),
                ..like
            }));
        }
    }
}
