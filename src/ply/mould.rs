//! What is to be known of a ply that lies on a mould.

use super::marks::first_crossing;
use super::{Piece, PlyIn, both, tell as tell_once};
use crate::diag::{Diagnostic, Diagnostics, counted};
use crate::drape::{Darts, Drape, Fibres, Trimmed};
use crate::geometry::{Outline, Placement, Point, Ring, Vector, trig};
use crate::inputs::trim_on_mould;
use crate::mould::place_in_words;

/// Where a piece is put down first on its mould, and how its first yarns leave it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartLines {
    /// The start, in the frame of the piece's lines, mm.
    pub start: Point,
    /// Where its finished edge is met from there: along +warp, −warp, +weft, −weft of the cloth's net.
    pub ends: [Option<Point>; 4],
}

impl StartLines {
    /// The lines where `placement` puts them.
    #[must_use]
    pub fn placed(&self, placement: &Placement) -> Self {
        Self {
            start: placement.apply(self.start),
            ends: self.ends.map(|end| end.map(|end| placement.apply(end))),
        }
    }

    /// From edge to edge along warp and weft, as far as they go.
    pub fn lines(&self) -> impl Iterator<Item = [Point; 2]> + '_ {
        let pairs = self.ends.chunks(2);
        pairs
            .map(|ends| [ends[1], ends[0]].map(|end| end.unwrap_or(self.start)))
            .filter(|[from, to]| from != to)
    }
}

impl Piece {
    /// Its start on the mould and the lines from there; `None` for a ply that is drawn flat, and for a piece of a divided ply
    /// that does not have the start.
    #[must_use]
    pub fn start_lines(&self) -> Option<StartLines> {
        let drape = self.drape()?;
        let start = Point::default();
        let (sin, cos) = trig::sin_cos_radians(drape.angle().to_radians());
        let (warp, weft) = (Vector::new(cos, sin), Vector::new(-sin, cos));
        let end = |along| first_crossing(start, along, &self.net().outer);
        (self.net().outer.contains(start)).then(|| StartLines {
            start,
            ends: [warp, -warp, weft, -weft].map(end),
        })
    }
}

/// More shear than this (degrees) changes a trim that is added on the flat cloth enough to tell.
const MUCH_DEG: f64 = 10.0;

/// Tells where the cloth shears beyond what it bears, and what becomes of the trim.
pub(super) fn tell(within: &PlyIn<'_>, drape: &Drape, problems: &mut Diagnostics) {
    let told = [
        locked(within, drape),
        fibres_that_slip(within, drape),
        trim_in_the_flat(within, drape),
    ];
    for problem in told.into_iter().flatten() {
        tell_once(problem.at(within.part.pattern.place.clone()), problems);
    }
}

fn locked(within: &PlyIn<'_>, drape: &Drape) -> Option<Diagnostic> {
    let cloth = &within.job.cloths()[within.ply.cloth];
    let senses = drape.by_sense().into_iter().zip(cloth.locks());
    let (shear, lock) = senses
        .filter(|(shear, lock)| shear.degrees > *lock)
        .max_by(|(a, x), (b, y)| (a.degrees - x).total_cmp(&(b.degrees - y)))?;
    let n = drape.cuts().count();
    let darts = match n {
        0 => String::new(),
        _ => format!(" with {}", counted(n, "cut", "cuts")),
    };
    let message = format!(
        "cloth at {} on part `{}` {} by {:.1}°{darts} at {} on the mould; `{}` locks at {lock:.0}° and wrinkles there",
        drape.name(),
        within.part.name,
        drape.fibres().word(),
        shear.degrees,
        place_in_words(shear.at, 0),
        cloth.name,
    );
    let evened = drape.evened().degrees;
    let has_darts = within
        .part
        .on_mould
        .as_ref()
        .is_some_and(|on| on.lay.darts == Darts::WhereNeeded);
    let help = if evened < lock {
        format!(
            "smoothed out evenly it {} by {evened:.1}° at most",
            drape.fibres().word()
        )
    } else if drape.is_saddled() {
        "the mould is saddled, and no cut that opens on it helps there. Divide the part by `[part.area]`, whose `lap` lets \
         its pieces lie on one another, or start elsewhere (`start` in `[part.lay]`)"
            .to_owned()
    } else if has_darts {
        "darts and gussets do not suffice: divide the part into several by `[part.area]` (with `lap`), start elsewhere (`start` in `[part.lay]`), \
         or take another direction or a looser cloth"
            .to_owned()
    } else {
        "start elsewhere (`start` in `[part.lay]`), take another direction or a looser cloth, let it be cut (`darts = \
         \"where needed\"` in `[part.lay]`), or divide the part into several by `[part.area]` (with `lap`)"
            .to_owned()
    };
    Some(Diagnostic::warning(message).help(help))
}

/// Fibres all one way are not held at crossings: what was square to them leans.
fn fibres_that_slip(within: &PlyIn<'_>, drape: &Drape) -> Option<Diagnostic> {
    let shear = drape.shear();
    let slips = drape.fibres() == Fibres::Parallel && shear.degrees > MUCH_DEG;
    let message = format!(
        "the fibres of `{}` at {} on part `{}` slip along each other: what was square to them leans by {:.0}° at {} on \
         the mould",
        within.job.cloths()[within.ply.cloth].name,
        drape.name(),
        within.part.name,
        shear.degrees,
        place_in_words(shear.at, 0),
    );
    let help = "a cloth whose stitches or weft do not let go wrinkles there: try it with a cheap one, start elsewhere, or \
                divide the part";
    slips.then(|| Diagnostic::note(message).help(help))
}

/// Cloth that is pushed far out of square takes so many times the flat trim for one on the mould.
pub(super) const MOST_TRIM: f64 = 3.0;

/// The ply as it is cut with a trim that is added on the mould.
pub(super) fn trimmed<'a>(within: &PlyIn<'a>) -> Option<&'a Trimmed> {
    let [drape, ..] = within.drapes?;
    drape.trimmed(trim_on_mould(within.ply)?)
}

/// `cut` with those of its openings only that lie in one of `net`.
pub(super) fn with_openings_of(mut cut: Outline, net: &Outline) -> Outline {
    let is_of_net = |opening: &Ring| {
        let inner = opening.points()[0];
        net.openings.iter().any(|of_net| of_net.contains(inner))
    };
    cut.openings.retain(is_of_net);
    cut
}

/// What becomes of a trim where it is added on the flat cloth.
fn trim_in_the_flat(within: &PlyIn<'_>, drape: &Drape) -> Option<Diagnostic> {
    let trim = within.ply.cutting.trim.to_mm();
    let degrees = drape.shear().degrees;
    if trim <= 0.0 || degrees <= MUCH_DEG || drape.fibres() != Fibres::Crossed {
        return None;
    }
    let (sin, _) = trig::sin_cos_radians(degrees.to_radians());
    let [least, most] = [1.0 - sin, 1.0 + sin].map(|square| both(trim * square.sqrt()));
    let where_to = match trimmed(within) {
        None => String::new(),
        Some(trimmed) if trimmed.off_mould < NEXT_TO_NONE => return None,
        Some(trimmed) => format!(
            " along {:.0} % of its edge, where the mould ends sooner",
            (100.0 * trimmed.off_mould).max(1.0)
        ),
    };
    let message = format!(
        "the trim of {} round part `{}` is added on the flat cloth{where_to}; where that shears by {degrees:.0}° it \
         becomes {least} to {most} on the mould",
        both(trim),
        within.part.name,
    );
    Some(Diagnostic::note(message))
}

/// Less than this share of an edge is not told of.
const NEXT_TO_NONE: f64 = 0.005;
