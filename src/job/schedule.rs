//! Laminate schedules: the plies of a part, from `layup` or from `[[part.ply]]`.

use std::collections::BTreeMap;

use super::cloths::{Cloths, RollFace};
use super::cutting::CuttingKeys;
use super::keys::KeyEntry;
use super::layup::{self, LayupPly};
use super::part::{OutlineChoice, Ply, PlyKeys};
use super::parts::PieceCount;
use super::reader::JobReader;
use super::rules;
use super::table::JobTable;
use super::{DrawnAngle, Located};
use crate::cloth::Faces;
use crate::diag::Place;
use crate::geometry::Face;
use crate::units::{Angle, Length};

/// How far the outlines of plies in a row are grown.
#[derive(Clone, Copy)]
pub(super) struct PlySteps {
    /// The first one.
    pub(super) first: Length,
    /// Each one more than the one before.
    pub(super) taper: Length,
}

impl PlySteps {
    /// The step of the ply after `n_before` others.
    fn of(self, n_before: usize) -> Length {
        self.first + self.taper * n_before as f64
    }
}

/// A laminate schedule while it is read.
pub(super) struct Schedule<'r, 't> {
    pub(super) reader: &'r mut JobReader,
    pub(super) cloths: &'r mut Cloths,
    pub(super) part: &'r JobTable<'t>,
    /// What the part says for all its plies.
    pub(super) cloth: Option<usize>,
    pub(super) has_cloth: bool,
    pub(super) outline: OutlineChoice,
    pub(super) cutting: CuttingKeys<'t>,
    pub(super) steps: PlySteps,
    pub(super) sets: u32,
    pub(super) pieces: &'r mut PieceCount,
    /// Ply numbers taken so far, with their place.
    pub(super) numbers: BTreeMap<u32, Place>,
    /// Number of the next ply that does not give one.
    pub(super) next: u32,
    pub(super) plies: Vec<Ply>,
}

impl<'t> Schedule<'_, 't> {
    /// Reads the plies, from `layup` or from `[[part.ply]]`.
    pub(super) fn read(
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
