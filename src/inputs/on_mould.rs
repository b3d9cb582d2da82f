//! Parts on a mould: their plies laid on it, and the flat outlines that come of that.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::cloth::{Cloth, Weave};
use crate::diag::{Diagnostic, Diagnostics, counted, nearest};
use crate::drape::{
    ClothGive, Dart, Darts, Drape, DrapeError, Fibres, LayChoice, PlyLies, Trial, TrimChoice,
    drape, trials,
};
use crate::geometry::Point;
use crate::job::{Core, Job, OnMould, Part, Ply};
use crate::mould::area::Area;
use crate::mould::{AreaChoice, AreaError, LineSeen, Mould, place_in_words};
use crate::pattern::{FlatOutline, Pattern};
use crate::units::{Area as MouldArea, Length};

/// All that is laid on one area of a mould in one way.
#[derive(Clone, Debug)]
pub(super) struct LaidOnMould {
    area: Arc<Area>,
    /// By how much (mm) the plies beneath may differ for two plies that are laid alike.
    step: f64,
    lay: LayChoice,
    file: String,
    /// Each ply that lies differently, on what is beneath it.
    drapes: Vec<Arc<Drape>>,
    /// Each of them as it would lie on the mould itself.
    on_mould: Vec<Arc<Drape>>,
    pattern: Pattern,
    /// How far plies are to reach beyond the part.
    trims: Vec<TrimChoice>,
}

/// What parts have in common that share their flat outlines.
pub(super) fn key(part: &Part, on: &OnMould) -> String {
    format!("{}: {on:?}", part.pattern.value)
}

impl LaidOnMould {
    /// The area of `part` on `mould`, within the `line` if it has one, with nothing laid on it yet; what is to be known of it goes to `said`.
    pub(super) fn on(
        mould: &Mould,
        part: &Part,
        (on, line): (&OnMould, Option<LineSeen>),
        said: &mut Diagnostics,
    ) -> Option<Self> {
        let place = part.pattern.place.clone();
        let choice = AreaChoice {
            line,
            ..on.area.clone()
        };
        let area = match mould.part(&choice) {
            Ok(area) => area,
            Err(error) => {
                said.push(not_there(&error, mould, part).at(place));
                return None;
            }
        };
        if area.n_covered > 0 {
            let message = format!(
                "part `{}`: the cloth covers {} of the mould",
                part.name,
                counted(area.n_covered, "hole", "holes")
            );
            let help = "write `holes = \"cut\"` in `[part.area]` if they are openings of the part";
            said.push(Diagnostic::note(message).at(place.clone()).help(help));
        }
        if let Some(most) = area.smoothed {
            let message = format!(
                "the scan of part `{}` was smoothed: its points moved by up to {most:.2} mm",
                part.name
            );
            let help =
                "much more than the noise of the scanner: a fold was rounded; leave out `scan`";
            said.push(Diagnostic::note(message).at(place.clone()).help(help));
        }
        /// So much (of the part) left out is seldom meant.
        const MUCH: f64 = 0.02;
        if area.left_out > MUCH * area.on_mould() {
            let message = format!(
                "part `{}` is {}; {} of the same kind do not hang together with it",
                part.name,
                both(area.on_mould()),
                both(area.left_out)
            );
            let help = "say with `seed` in `[part.area]` which piece it is";
            said.push(Diagnostic::note(message).at(place).help(help));
        }
        let file = mould.file().to_owned();
        Some(Self {
            step: LEAST_STEP_MM.max(ALIKE_MM / area.spread_of_normals()),
            area: Arc::new(area),
            lay: on.lay.clone(),
            pattern: Pattern::flat(&file, std::iter::empty()),
            drapes: Vec::new(),
            on_mould: Vec::new(),
            trims: Vec::new(),
            file,
        })
    }

    /// Notes how far the plies of `part` reach beyond it.
    fn note_trims(&mut self, part: &Part) {
        for choice in part.plies.iter().filter_map(trim_on_mould) {
            if !self.trims.contains(&choice) {
                self.trims.push(choice);
            }
        }
    }

    /// Lays what the plies of `part` need that is not laid yet; complaints go to `said`.
    pub(super) fn lay(&mut self, job: &Job, part: &Part, said: &mut Diagnostics) {
        let smaller = part.cores.iter().filter(|core| !carries_all_over(core));
        smaller.for_each(|core| said.push(smaller_core(part, core)));
        let mut raised: Option<(f64, Arc<Area>)> = None;
        for ply in &part.plies {
            let lies = self.lies(job, part, ply);
            if laid_so(&self.drapes, lies).is_some() {
                continue;
            }
            let made = self
                .laid_on_mould(lies, &job.cloths()[ply.cloth])
                .and_then(|on_mould| {
                    if lies.under == 0.0 {
                        return Ok(on_mould);
                    }
                    if raised.as_ref().is_none_or(|(by, _)| *by != lies.under) {
                        let area = self.area.raised(lies.under).map(Arc::new);
                        if area.is_none() {
                            let problem = no_room(part, ply.n, lies.under);
                            tell_once(problem.at(part.pattern.place.clone()), said);
                        }
                        raised = Some((lies.under, area.unwrap_or_else(|| Arc::clone(&self.area))));
                    }
                    let area = raised.as_ref().map_or(&self.area, |(_, area)| area);
                    let lay = LayChoice {
                        start: Some(on_mould.start()),
                        ..self.lay.clone()
                    };
                    drape(area, &lay, lies, on_mould.name().to_owned(), &self.trims).map(Arc::new)
                });
            match made {
                Ok(laid) => self.drapes.push(laid),
                Err(error) => {
                    let problem = not_laid(&error, part, lies.angle_deg);
                    tell_once(problem.at(part.pattern.place.clone()), said);
                }
            }
        }
        self.pattern = Pattern::flat(&self.file, self.drapes.iter().map(|drape| flat(drape)));
    }

    /// What lies so, on the mould itself: laid now, if it was not yet.
    fn laid_on_mould(&mut self, lies: PlyLies, cloth: &Cloth) -> Result<Arc<Drape>, DrapeError> {
        let lies = PlyLies { under: 0.0, ..lies };
        if let Some(known) = laid_so(&self.on_mould, lies) {
            return Ok(Arc::clone(known));
        }
        let degrees = lies.angle_deg;
        let is_first = self.on_mould.iter().all(|drape| drape.angle() != degrees);
        let name = match is_first {
            true => format!("{degrees}°"),
            false => format!("{degrees}° {}", cloth.name),
        };
        let laid = Arc::new(drape(&self.area, &self.lay, lies, name, &self.trims)?);
        self.on_mould.push(Arc::clone(&laid));
        Ok(laid)
    }

    /// How `ply` of `part` lies: by its angle, its cloth and the plies and cores beneath it.
    fn lies(&self, job: &Job, part: &Part, ply: &Ply) -> PlyLies {
        let beneath = part.plies.iter().take_while(|below| below.n != ply.n);
        let thickness = beneath.filter_map(|below| job.laminae()[below.cloth].as_ref());
        let cores = part.cores.iter().filter(|core| core.on_ply < ply.n);
        let carrying = cores.filter(|core| carries_all_over(core));
        let under: f64 = (thickness.map(|lamina| lamina.thickness.to_mm()))
            .chain(carrying.map(|core| core.thickness.to_mm()))
            .sum();
        PlyLies {
            angle_deg: degrees(ply),
            give: self.give(&job.cloths()[ply.cloth]),
            under: (under / self.step).floor() * self.step,
        }
    }

    pub(super) const fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// How `ply` of `part` lies on what is beneath it, and how it would on the mould itself.
    pub(super) fn drape(&self, job: &Job, part: &Part, ply: &Ply) -> Option<[&Arc<Drape>; 2]> {
        let lies = self.lies(job, part, ply);
        let on_mould = laid_so(&self.on_mould, PlyLies { under: 0.0, ..lies })?;
        Some([laid_so(&self.drapes, lies)?, on_mould])
    }

    /// How a cloth gives, as far as that changes how it lies.
    fn give(&self, cloth: &Cloth) -> ClothGive {
        match self.lay.darts {
            Darts::No => ClothGive::endless(fibres(cloth)),
            Darts::WhereNeeded => own(cloth),
        }
    }

    /// How such a cloth would lie by other directions and starts.
    pub(super) fn trials(&self, cloth: &Cloth) -> Vec<Trial> {
        trials(&self.area, &self.lay, own(cloth)).unwrap_or_default()
    }

    /// How the first ply lies: its edge stands for that of the part.
    pub(super) fn first(&self) -> Option<&Arc<Drape>> {
        self.drapes.first()
    }
}

/// Lays what `job` needs that is not laid yet.
pub(super) fn lay_all(laid: &mut BTreeMap<String, LaidOnMould>, job: &Job, said: &mut Diagnostics) {
    // Parts on one area share what is laid there.
    for part in job.parts() {
        let on = part.on_mould.as_ref();
        if let Some(laid) = on.and_then(|on| laid.get_mut(&key(part, on))) {
            laid.note_trims(part);
        }
    }
    for part in job.parts() {
        let on = part.on_mould.as_ref();
        if let Some(laid) = on.and_then(|on| laid.get_mut(&key(part, on))) {
            laid.lay(job, part, said);
        }
    }
}

/// The flat outline of what is laid, with its start and where the first yarns leave it.
fn flat(drape: &Drape) -> FlatOutline {
    FlatOutline {
        id: drape.outline_name(),
        outline: drape.uncut().clone(),
        drill: Point::default(),
        notches: drape.start_lines().into_iter().flatten().collect(),
        darts: drape.cuts().map(legs).collect(),
    }
}

/// From mouth to tip and back.
fn legs(dart: &Dart) -> Vec<Point> {
    let [inward, outward] = &dart.lips;
    let outward = outward.iter().rev().skip(1);
    inward.iter().chain(outward).copied().collect()
}

fn own(cloth: &Cloth) -> ClothGive {
    ClothGive {
        locks: cloth.locks(),
        ..ClothGive::endless(fibres(cloth))
    }
}

/// The trim of a ply that is added on the mould: one that ends where the part does.
pub(crate) fn trim_on_mould(ply: &Ply) -> Option<TrimChoice> {
    let by = ply.cutting.trim.to_mm();
    let join = ply.cutting.join;
    (by > 0.0 && ply.step == Length::ZERO).then_some(TrimChoice { by, join })
}

/// Whether a core raises the plies over it as far as the part goes.
fn carries_all_over(core: &Core) -> bool {
    core.step >= Length::ZERO
}

/// The plies over a smaller core go down over its edge, by a way that only who chamfers it knows.
fn smaller_core(part: &Part, core: &Core) -> Diagnostic {
    let most = Length::mm(2.0 * core.thickness.to_mm()).in_mm_and_inches();
    let message = format!(
        "core `{}` of part `{}` is smaller than the part: the plies over it are laid as if it were not there",
        core.name, part.name
    );
    let help = format!(
        "over its edges a ply is longer by up to {most} than without it, less where they are chamfered: give its \
         plies a larger `trim`"
    );
    Diagnostic::note(message).at(core.place.clone()).help(help)
}

fn laid_so(drapes: &[Arc<Drape>], lies: PlyLies) -> Option<&Arc<Drape>> {
    drapes.iter().find(|drape| drape.lies() == lies)
}

/// Flat outlines may be off by about this (mm) for plies beneath that are not counted; and no less is told apart.
const ALIKE_MM: f64 = 0.2;
const LEAST_STEP_MM: f64 = 0.2;

fn tell_once(problem: Diagnostic, said: &mut Diagnostics) {
    if said.iter().all(|told| *told != problem) {
        said.push(problem);
    }
}

fn no_room(part: &Part, n: u32, under: f64) -> Diagnostic {
    let under = Length::mm(under).in_mm_and_inches();
    let message = format!(
        "part `{}`: a hollow of its mould is too narrow for the {under} of plies and cores beneath ply {n}",
        part.name
    );
    let help = "it is laid as if they were not there: it will span the hollow. Round the mould out, or fill the hollow \
                with strips first";
    Diagnostic::warning(message).help(help)
}

const fn fibres(cloth: &Cloth) -> Fibres {
    match cloth.weave {
        Weave::Unidirectional => Fibres::Parallel,
        Weave::NonDirectional => Fibres::Loose,
        Weave::Plain | Weave::Twill | Weave::Basket | Weave::Satin | Weave::Biaxial => {
            Fibres::Crossed
        }
    }
}

fn degrees(ply: &Ply) -> f64 {
    ply.drawn_angle.on_drawing().to_degrees()
}

fn both(mm2: f64) -> String {
    MouldArea::mm2(mm2).in_m2_and_yd2()
}

fn at(place: [f64; 3]) -> String {
    place_in_words(place, 1)
}

fn not_there(error: &AreaError, mould: &Mould, part: &Part) -> Diagnostic {
    let name = &part.name;
    let [low, high] = mould.bounds();
    match error {
        AreaError::NoGroup(group) => {
            let known = mould.groups();
            let near = nearest(group, known.iter().copied());
            let help = match (near, &known[..]) {
                (Some(near), _) => format!("did you mean `{near}`?"),
                (None, []) => "the file has no groups".to_owned(),
                (None, known) => format!("there are {}", known.join(", ")),
            };
            Diagnostic::error(format!("{} has no group `{group}`", mould.file())).help(help)
        }
        AreaError::FarSeed(off) => Diagnostic::error(format!(
            "the seed of part `{name}` lies {} from all that it could be",
            Length::mm(*off).in_mm_and_inches()
        ))
        .help(format!(
            "the mould reaches from {} to {}",
            at(low),
            at(high)
        )),
        AreaError::LineLeaves(place) => Diagnostic::error(format!(
            "the line around part `{name}` leaves the mould at {}",
            at(*place)
        ))
        .help(format!(
            "the mould reaches from {} to {}; move the line with `line_at`, or draw it smaller",
            at(low),
            at(high)
        )),
        AreaError::NoEdge => Diagnostic::error(format!(
            "part `{name}` has no edge: it goes all round the mould"
        ))
        .help("say in `[part.area]` where it ends: `above`, `below`, `crease` or `inside`"),
        AreaError::Nothing => Diagnostic::error(format!(
            "nothing of the mould is as the area of part `{name}` says"
        ))
        .help(format!(
            "the mould reaches from {} to {}",
            at(low),
            at(high)
        )),
    }
}

fn not_laid(error: &DrapeError, part: &Part, degrees: f64) -> Diagnostic {
    let name = &part.name;
    let cloth = format!("cloth at {degrees}° on part `{name}`");
    let message = match error {
        DrapeError::FarStart(off) => {
            let off = Length::mm(*off).in_mm_and_inches();
            let message = format!("the start of part `{name}` lies {off} from it");
            return Diagnostic::error(message)
                .help("it is a point on the part, in the mould's axes");
        }
        DrapeError::UprightZero => {
            let message =
                format!("the 0° of part `{name}` stands upright on the mould at the start");
            let help = "give another direction with `zero` in `[part.lay]`, or another `start`";
            return Diagnostic::error(message).help(help);
        }
        DrapeError::TooFine(n) => {
            let message = format!("the net of part `{name}` would have {n} crossings");
            return Diagnostic::error(message).help("take a larger `net`");
        }
        DrapeError::NoDart => {
            let message =
                format!("a line of `dart_lines` of part `{name}` does not come to its edge");
            let help = "each runs on the part from the tip of the dart towards the edge, and meets no other";
            return Diagnostic::error(message).help(help);
        }
        DrapeError::NotBorneOut(denied, spacing) => {
            let spacing = Length::mm(*spacing).in_mm_and_inches();
            let message = format!(
                "{cloth} is not borne out by the mould with a net of {spacing} still: {denied}"
            );
            let help = "where the mould bends more sharply than that, round it off; or start elsewhere (`start` in \
                        `[part.lay]`), or take another direction";
            return Diagnostic::error(message).help(help);
        }
        DrapeError::NotCovered(place) => format!(
            "{cloth} does not get to its edge at {}: it would shear more than any cloth can",
            at(*place)
        ),
        DrapeError::Closes(place) => format!("{cloth} meets itself at {}", at(*place)),
        DrapeError::Overlaps => format!("{cloth} lies over itself when it is flat"),
    };
    let help = "start elsewhere (`start` in `[part.lay]`), take another direction, or divide the part into \
                several by `[part.area]`";
    Diagnostic::error(message).help(help)
}
