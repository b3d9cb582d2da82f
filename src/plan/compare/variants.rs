//! Other ways of doing a job: the job with one thing changed.

use super::as_stiff::StackFigures;
use crate::cloth::{Cloth, Faces, Weave};
use crate::diag::counted;
use crate::job::{DrawnAngle, Job, Ply};
use crate::laminate::{Construction, Lamina, LayerStiffness};
use crate::units::{Angle, Length, PricePerLength};

/// A job with one thing changed.
#[derive(Clone, Debug)]
pub struct Variant {
    /// What it is called, for example `twill 60 in wide`.
    pub name: String,
    /// What is not as in the job, in a sentence; empty for the job itself.
    pub change: String,
    /// The job so changed.
    pub job: Job,
    /// How many times over everything is made.
    pub times: u32,
    /// Whether plies are laid otherwise or of another cloth, so that the laminate is another one.
    pub is_other_laminate: bool,
    /// The stack of the part whose stiffness is asked for; `None` where none is.
    pub stack: Option<StackFigures>,
}

impl Variant {
    /// The job as it is there.
    pub(super) fn designed(job: &Job) -> Self {
        Self::same("as designed".to_owned(), String::new(), job.clone())
    }

    /// The laminate of `job` as it is there, once.
    fn same(name: String, change: String, job: Job) -> Self {
        Self {
            name,
            change,
            job,
            times: 1,
            is_other_laminate: false,
            stack: None,
        }
    }

    /// Another laminate in `job`.
    pub(super) fn other(name: String, change: String, job: Job) -> Self {
        Self {
            is_other_laminate: true,
            ..Self::same(name, change, job)
        }
    }
}

/// Which variants to make beside the job as designed.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// Whether to try other layups and cloths: all plies straight, plies at ±45° from a biaxial,
    /// turning over.
    pub layups: bool,
    /// Other roll widths of [`Choices::wide`].
    pub widths: Vec<Length>,
    /// Index of the cloth to try them on.
    pub wide: usize,
    /// How many times the order to try.
    pub times: Vec<u32>,
    /// The angle tolerance to try.
    pub tolerance: Option<Angle>,
}

/// An angle nearer than this to a multiple of 90° or to ±45° counts as that, degrees.
const SAME_ANGLE: f64 = 0.5;

/// The job as designed and, after it, every variant that differs from it.
#[must_use]
pub fn variants(job: &Job, choices: &Choices) -> Vec<Variant> {
    let mut all = vec![Variant::designed(job)];
    if choices.layups {
        all.extend(straight(job));
        all.extend(from_biaxial(job));
    }
    all.extend((choices.widths.iter()).filter_map(|&w| with_width(job, choices.wide, w)));
    all.extend(choices.tolerance.and_then(|angle| tolerant(job, angle)));
    all.extend(Some(job).filter(|_| choices.layups).and_then(turned_over));
    all.extend(choices.times.iter().filter_map(|&n| more(job, n)));
    all
}

fn plies(job: &Job) -> impl Iterator<Item = &Ply> {
    job.parts().iter().flat_map(|part| &part.plies)
}

/// Whether `angle` is `target` or turned from it by a multiple of 180°.
fn is_near(angle: DrawnAngle, target: f64) -> bool {
    (angle.on_drawing() - Angle::degrees(target))
        .as_fibre()
        .to_degrees()
        .abs()
        < SAME_ANGLE
}

/// Every woven and unidirectional ply that lies off-axis is laid straight.
fn straight(job: &Job) -> Option<Variant> {
    let mut changed = job.clone();
    let mut n = 0;
    for ply in changed.plies_mut() {
        let weave = job.cloths()[ply.cloth].weave;
        let is_one_layer = weave.has_direction() && weave.faces() != Faces::TwoLayers;
        if is_one_layer && !is_near(ply.drawn_angle, 0.0) && !is_near(ply.drawn_angle, 90.0) {
            let is_across =
                ply.drawn_angle.on_drawing().as_fibre().to_degrees().abs() > 45.0 + SAME_ANGLE;
            let degrees = if is_across { 90.0 } else { 0.0 };
            ply.drawn_angle = DrawnAngle::new(Angle::degrees(degrees));
            n += 1;
        }
    }
    (n > 0).then(|| {
        let change = format!(
            "{} off-axis, now at 0° or 90°, whichever is nearer (45° becomes 0°); stitched \
             biaxial is left as it is",
            counted(n, "ply was", "plies were")
        );
        Variant::other("all at 0/90".to_owned(), change, changed)
    })
}

/// Every woven ply at ±45° that is not seen is cut from a stitched biaxial of the same fibre, on
/// which it lies straight.
fn from_biaxial(job: &Job) -> Option<Variant> {
    let is_off_axis = |ply: &&Ply| {
        let is_woven = job.cloths()[ply.cloth].weave.construction() == Construction::Woven;
        is_woven
            && !ply.appearance
            && (is_near(ply.drawn_angle, 45.0) || is_near(ply.drawn_angle, -45.0))
    };
    let first = plies(job).find(is_off_axis)?.cloth;
    let wanted = |ply: &Ply| is_off_axis(&ply) && is_of_one_fibre(job, ply.cloth, first);
    let mut changed = job.clone();
    let is_like_it = |&(idx, cloth): &(usize, &Cloth)| {
        cloth.weave == Weave::Biaxial && is_of_one_fibre(job, idx, first)
    };
    let own = job.cloths().iter().enumerate().find(is_like_it);
    let own = own.map(|(idx, _)| idx);
    let biaxial = own.unwrap_or_else(|| {
        let like = &job.cloths()[first];
        let cloth = Cloth {
            name: free_name(job, &format!("{}-biaxial", like.name)),
            weave: Weave::Biaxial,
            turns: Weave::Biaxial.turns(),
            warp_share: 0.5,
            edge_tape: None,
            warp_face: None,
            look: crate::cloth::Look::default(),
            ..like.clone()
        };
        // Fibres are as stiff in a layer of it; what was measured on the woven ply does not tell.
        let lamina = job.laminae()[first].map(|lamina| Lamina {
            stiffness: (lamina.stiffness).filter(|s| matches!(s, LayerStiffness::Fibres(_))),
            ..lamina
        });
        changed.add_cloth(cloth, lamina)
    });
    let mut n = 0;
    for ply in changed.plies_mut() {
        if wanted(ply) {
            ply.cloth = biaxial;
            ply.drawn_angle = DrawnAngle::new(Angle::degrees(45.0));
            n += 1;
        }
    }
    let name = &changed.cloths()[biaxial].name;
    let like = if own.is_some() {
        String::new()
    } else {
        let like = &job.cloths()[first].name;
        format!(", a stitched biaxial of the weight, width and price of `{like}`")
    };
    let change = format!(
        "{} at ±45° cut from `{name}`{like}",
        counted(n, "woven ply", "woven plies")
    );
    Some(Variant::other(
        "45s from biaxial".to_owned(),
        change,
        changed,
    ))
}

/// Whether two cloths are of one fibre, as far as the job tells.
fn is_of_one_fibre(job: &Job, one: usize, other: usize) -> bool {
    /// Densities of one fibre are told no more exactly, as a share.
    const SAME_DENSITY: f64 = 0.01;
    let density = |idx: usize| {
        let lamina = job.laminae()[idx]?;
        Some(lamina.constituents.fibre.to_g_per_cm3())
    };
    one == other
        || density(one)
            .zip(density(other))
            .is_some_and(|(a, b)| (a / b - 1.0).abs() < SAME_DENSITY)
}

fn free_name(job: &Job, wanted: &str) -> String {
    let is_taken = |name: &str| job.cloths().iter().any(|c| c.name == name);
    let mut name = wanted.to_owned();
    while is_taken(&name) {
        name.push('x');
    }
    name
}

/// Cloth `index` on a roll of another width at the same price by area.
fn with_width(job: &Job, index: usize, width: Length) -> Option<Variant> {
    let old = job.cloths().get(index)?;
    if (width - old.roll_width).to_mm().abs() < 0.5 {
        return None;
    }
    let mut changed = job.clone();
    let cloth = &mut changed.cloths_mut()[index];
    cloth.roll_width = width;
    // That width it is, and no other that the shop offers.
    cloth.supply.offers.clear();
    let ratio = width.to_mm() / old.roll_width.to_mm();
    cloth.price = old.price.as_ref().map(|price| PricePerLength {
        amount: price.amount.share(ratio),
        ..price.clone()
    });
    let priced = match &cloth.price {
        Some(price) => format!(" at {price}, the same price by area"),
        None => String::new(),
    };
    Some(Variant::same(
        format!("{} {} wide", old.name, roll_width(width)),
        format!(
            "`{}` is {} wide{priced}",
            old.name,
            width.in_mm_and_inches()
        ),
        changed,
    ))
}

/// Every ply that is not seen may be off its angle; where some may already, none may.
fn tolerant(job: &Job, tolerance: Angle) -> Option<Variant> {
    let none = Angle::degrees(0.0);
    let has_some = plies(job).any(|ply| ply.cutting.angle_tolerance != none);
    let tolerance = if has_some { none } else { tolerance };
    if !has_some && tolerance == none {
        return None;
    }
    let mut changed = job.clone();
    for ply in changed.plies_mut() {
        if !ply.appearance {
            ply.cutting.angle_tolerance = tolerance;
        }
    }
    let degrees = tolerance.to_degrees();
    let (name, change) = match has_some {
        true => (
            "no angle tolerance".to_owned(),
            "every ply exactly at its angle".to_owned(),
        ),
        false => (
            format!("±{degrees}° tolerance"),
            format!("plies that are not seen may be cut up to {degrees}° off their angle"),
        ),
    };
    Some(Variant::same(name, change, changed))
}

/// Every cloth whose faces are alike may be turned over; where all may already, none may.
fn turned_over(job: &Job) -> Option<Variant> {
    let is_used = |index: usize| plies(job).any(|ply| ply.cloth == index);
    // A satin has two faces by nature, and turning a biaxial over exchanges its layers.
    let may = |cloth: &Cloth| cloth.weave.faces() == Faces::Alike;
    let mut changed = job.clone();
    let used = (changed.cloths_mut().iter_mut().enumerate())
        .filter(|(index, cloth)| is_used(*index) && may(cloth))
        .map(|(_, cloth)| cloth);
    let mut used: Vec<&mut Cloth> = used.collect();
    let all_may = used.iter().all(|cloth| cloth.turns.turn_over);
    if used.is_empty() {
        return None;
    }
    for cloth in &mut used {
        cloth.turns.turn_over = !all_may;
    }
    let names: Vec<String> = used.iter().map(|c| format!("`{}`", c.name)).collect();
    let (name, change) = match all_may {
        true => (
            "not turned over",
            "all cloth cut with the same face up".to_owned(),
        ),
        false => (
            "turned over",
            format!(
                "pieces of {} may be cut with either face up; the diagonal of a twill then runs \
                 the other way",
                names.join(", ")
            ),
        ),
    };
    Some(Variant::same(name.to_owned(), change, changed))
}

/// Everything so many times over.
fn more(job: &Job, times: u32) -> Option<Variant> {
    (times > 1).then(|| Variant {
        times,
        ..Variant::same(
            format!("{times} times the order"),
            format!("{times} times as many of every part"),
            job.clone(),
        )
    })
}

/// A roll's width as it is sold: in inches where it is whole inches or half ones, else in mm.
pub(crate) fn roll_width(width: Length) -> String {
    let inches = width.to_inches();
    if (inches * 2.0 - (inches * 2.0).round()).abs() < 1e-6 {
        format!("{inches} in")
    } else {
        format!("{} mm", (width.to_mm() * 10.0).round() / 10.0)
    }
}
