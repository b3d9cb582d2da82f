//! Parts on a mould: their plies laid on it, and the flat outlines that come of that.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::cloth::{Cloth, Weave};
use crate::diag::{Diagnostic, Diagnostics, counted, nearest};
use crate::drape::{
    ClothGive, Dart, Darts, Drape, DrapeError, Fibres, LayChoice, Trial, drape, trials,
};
use crate::geometry::Point;
use crate::job::{Job, OnMould, Part, Ply};
use crate::mould::area::Area;
use crate::mould::{AreaError, Mould, place_in_words};
use crate::pattern::{FlatOutline, Pattern};
use crate::units::{Area as MouldArea, Length};

/// All that is laid on one area of a mould in one way.
#[derive(Clone, Debug)]
pub(super) struct LaidOnMould {
    area: Arc<Area>,
    lay: LayChoice,
    file: String,
    drapes: Vec<Arc<Drape>>,
    pattern: Pattern,
}

/// What parts have in common that share their flat outlines.
pub(super) fn key(part: &Part, on: &OnMould) -> String {
    format!("{}: {on:?}", part.pattern.value)
}

impl LaidOnMould {
    /// The area of `part` on `mould`, with nothing laid on it yet; what is to be known of it goes to `said`.
    pub(super) fn on(
        mould: &Mould,
        part: &Part,
        on: &OnMould,
        said: &mut Diagnostics,
    ) -> Option<Self> {
        let place = part.pattern.place.clone();
        let area = match mould.part(&on.area) {
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
            area: Arc::new(area),
            lay: on.lay.clone(),
            pattern: Pattern::flat(&file, std::iter::empty()),
            drapes: Vec::new(),
            file,
        })
    }

    /// Lays what the plies of `part` need that is not laid yet; complaints go to `said`.
    pub(super) fn lay(&mut self, job: &Job, part: &Part, said: &mut Diagnostics) {
        for ply in &part.plies {
            if self.drape(job, ply).is_some() {
                continue;
            }
            let degrees = degrees(ply);
            let cloth = &job.cloths()[ply.cloth];
            let is_first = self.drapes.iter().all(|drape| drape.angle() != degrees);
            let name = match is_first {
                true => format!("{degrees}°"),
                false => format!("{degrees}° {}", cloth.name),
            };
            match drape(&self.area, &self.lay, degrees, self.give(cloth), name) {
                Ok(laid) => self.drapes.push(Arc::new(laid)),
                Err(error) => {
                    let problem = not_laid(&error, part, degrees).at(part.pattern.place.clone());
                    if said.iter().all(|told| *told != problem) {
                        said.push(problem);
                    }
                }
            }
        }
        self.pattern = Pattern::flat(&self.file, self.drapes.iter().map(|drape| flat(drape)));
    }

    pub(super) const fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// How plies as `ply` lie: of such a cloth, at its angle.
    pub(super) fn drape(&self, job: &Job, ply: &Ply) -> Option<&Arc<Drape>> {
        let give = self.give(&job.cloths()[ply.cloth]);
        self.drapes
            .iter()
            .find(|drape| drape.is_of(degrees(ply), give))
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
        id: drape.name().to_owned(),
        outline: drape.uncut().clone(),
        drill: Point::default(),
        notches: drape.start_lines().into_iter().flatten().collect(),
        darts: drape.darts().iter().map(legs).collect(),
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
            let known: Vec<&str> = mould
                .groups()
                .iter()
                .map(String::as_str)
                .filter(|n| !n.is_empty())
                .collect();
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
