//! What is to be known of a ply that lies on a mould.

use super::{PlyIn, both, tell as tell_once};
use crate::cloth::Weave;
use crate::diag::{Diagnostic, Diagnostics};
use crate::drape::Drape;
use crate::geometry::trig;

/// More shear than this (degrees) changes a trim that is added on the flat cloth enough to tell.
const MUCH_DEG: f64 = 10.0;

/// Tells where the cloth shears beyond what it bears, and what becomes of the trim.
pub(super) fn tell(within: &PlyIn<'_>, drape: &Drape, problems: &mut Diagnostics) {
    let &PlyIn { job, part, ply, .. } = within;
    let shear = drape.shear();
    let [x, y, z] = shear.at;
    let cloth = &job.cloths()[ply.cloth];
    let where_it_is = format!("at ({x:.0}, {y:.0}, {z:.0}) mm on the mould");
    if let Some(lock) = cloth.lock.filter(|lock| shear.degrees > lock.to_degrees()) {
        let message = format!(
            "cloth at {} on part `{}` shears by {:.1}° {where_it_is}; `{}` locks at {lock} and wrinkles there",
            drape.name(),
            part.name,
            shear.degrees,
            cloth.name,
        );
        let evened = drape.evened().degrees;
        let help = match evened < lock.to_degrees() {
            true => format!("smoothed out evenly it shears by {evened:.1}° at most"),
            false => "start elsewhere (`start` in `[part.lay]`), take another direction or a looser cloth, or \
                      cut a dart there"
                .to_owned(),
        };
        tell_once(
            Diagnostic::warning(message)
                .at(part.pattern.place.clone())
                .help(help),
            problems,
        );
    }
    if cloth.weave == Weave::Unidirectional && shear.degrees > MUCH_DEG {
        let message = format!(
            "`{}` is laid on part `{}` as if it were woven; its fibres slip instead of turning at crossings",
            cloth.name, part.name
        );
        let help = "divide the part so that it shears less, or try the ply with paper first";
        tell_once(
            Diagnostic::warning(message)
                .at(part.pattern.place.clone())
                .help(help),
            problems,
        );
    }
    let trim = ply.cutting.trim.to_mm();
    if trim > 0.0 && shear.degrees > MUCH_DEG {
        let (sin, _) = trig::sin_cos_radians(shear.degrees.to_radians());
        let [least, most] = [1.0 - sin, 1.0 + sin].map(|square| both(trim * square.sqrt()));
        let message = format!(
            "the trim of {} round part `{}` is added on the flat cloth; where that shears by {:.0}° it becomes {least} \
             to {most} on the mould",
            both(trim),
            part.name,
            shear.degrees
        );
        tell_once(
            Diagnostic::note(message).at(part.pattern.place.clone()),
            problems,
        );
    }
}
