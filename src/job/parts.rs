//! Reads the `[[part]]` tables.

use std::collections::BTreeMap;

use super::bagging::{Bagging, PEEL_PLY, check_shared};
use super::cloths::Cloths;
use super::core::{self, Core};
use super::cutting::CuttingKeys;
use super::keys::KeyEntry;
use super::part::{OutlineChoice, Part, PartFace, PartKeys, Ply, ZeroDirection};
use super::reader::JobReader;
use super::rules::MAX_PIECES;
use super::schedule::{PlySteps, Schedule};
use super::table::JobTable;
use super::wording::shown;
use super::{DrawnView, Located, check_name, drawing, drawn, mould, seen, splice};
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
            let mut other = other_hand(reader, name, part.as_ref()?, &mut pieces)?;
            seen::run_on_from_other_hand(&mut other, &parts);
            seen::check_lines(reader, part.as_ref()?, &other, cloths);
            Some(other)
        });
        parts.extend(part);
        parts.extend(other);
    }
    check_readings(reader, &parts);
    check_shared(reader, &parts, around.bagging);
    seen::check_runs_on(reader, &parts, cloths);
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
pub(super) struct PieceCount {
    n: u64,
}

impl PieceCount {
    /// Counts `n` more; complains the first time that there are too many.
    pub(super) fn add(&mut self, reader: &mut JobReader, n: u64, place: &Place) -> bool {
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
    let on_mould = mould::on_mould(reader, table, &keys);
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
    let marks = drawn::read_marks(reader, keys.mark.value.unwrap_or_default());
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
    seen::show_good_faces(reader, &mut plies, keys.seen.value, cloths);
    let lines = keys.lines.clone().located();
    seen::warn_of_lines(
        reader,
        table,
        lines.as_ref(),
        (keys.mirror.is_there(), &plies),
    );
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
        marks,
        overlap_edges: keys.overlap_edges.located(),
        tool: keys.tool.value,
        seen: keys.seen.value,
        lines: keys.lines.value,
        runs_on: seen::runs_on(
            reader,
            table,
            keys.runs_on_from.located(),
            &keys.runs_on_shift,
        ),
        bag: keys.bag.located(),
        moulds: keys.moulds.value,
        plies_of_stages: stages,
        plies,
        cores,
        of_job: None,
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
