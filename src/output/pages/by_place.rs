//! A part place by place on its mould: how its fibres lie there, how heavy and thick it is, how stiff.

use crate::cloth::Weave;
use crate::drape::Drape;
use crate::laminate::InPlane;
use crate::mould::place_in_words;
use crate::output::pages::model::Passage;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{known, thickness};
use crate::plan::{PartUse, PlaceOnMould, PlyUse};
use crate::units::{Angle, Modulus};

/// What a part is at some places of its mould.
pub(super) fn by_place(part: &PartUse) -> Passage {
    let drapes = part.drapes();
    let places = part.places();
    // Of plies that lie one over the other in one direction the lowest stands for all.
    let lowest = |drape: &&Drape| {
        let lies_so = |ply: &&PlyUse| ply.drape().is_some_and(|own| own.name() == drape.name());
        part.plies.iter().find(lies_so).map(PlyUse::n)
    };
    let lowest: Vec<u32> = drapes.iter().filter_map(lowest).collect();
    // Without a sign where nothing is left of it.
    let degrees = |angle: Angle| format!("{:.0}°", angle.to_degrees().round() + 0.0);
    let fibres = |place: &&PlaceOnMould| {
        let told = place.plies.iter().filter(|ply| lowest.contains(&ply.n));
        let told = told.map(|ply| {
            let [warp, weft] = ply.directions.map(degrees);
            match part
                .plies
                .iter()
                .find(|of| of.n() == ply.n)
                .map(PlyUse::weave)
            {
                Some(Weave::Unidirectional) => format!("ply {}: {warp}", ply.n),
                Some(Weave::NonDirectional) => format!("ply {}: all", ply.n),
                _ => format!("ply {}: {warp} and {weft}", ply.n),
            }
        });
        told.collect::<Vec<String>>().join("; ")
    };
    let modulus = |of: fn(&InPlane) -> Modulus| {
        move |place: &&PlaceOnMould| {
            known(place.in_plane.as_ref(), |sheet| of(sheet).in_gpa_and_msi())
        }
    };
    TableOf::new(format!("{} by place on its mould", part.name()), &places)
        .caption(
            "By place on the mould, as laid: where cloth is pushed out of square, its fibres turn, and as much of it covers \
             less, so it is heavier and thicker there. Angles from the part's 0° as it comes there straight over the mould",
        )
        .name("At", |place| place_in_words(place.at, 0))
        .words("Fibres at", fibres)
        .number("Dry cloth", |place| place.areal_weight.to_string())
        .number("Thickness", |place| known(place.thickness, thickness))
        .number("E along 0°", modulus(|sheet| sheet.ex))
        .number("E across", modulus(|sheet| sheet.ey))
        .number("Shear modulus", modulus(|sheet| sheet.gxy))
        .done()
}
