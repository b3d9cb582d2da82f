//! How the plies of a part lie on its mould, and what it is there place by place.

use crate::cloth::Weave;
use crate::drape::{Drape, Shear};
use crate::laminate::InPlane;
use crate::mould::place_in_words;
use crate::output::drawing::mould;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{known, piece_area, thickness};
use crate::plan::{PartUse, PlaceOnMould, PlyUse};
use crate::units::{Angle, Area, Modulus};

/// How the plies of a part lie on its mould; nothing for one that is drawn flat.
pub(super) fn on_mould(part: &PartUse) -> Vec<Passage> {
    let drapes = part.drapes();
    if drapes.is_empty() {
        return Vec::new();
    }
    let figures = drapes.iter().filter_map(|drape| {
        let mut figure = mould::figures(drape, part.lock(drape)).into_iter().next()?;
        figure.name_cloth(drape.name());
        Some(Passage::Figure(figure))
    });
    let degrees = |shear: Shear| format!("{:.1}°", shear.degrees);
    let table = TableOf::new(format!("Cloth on the mould of {}", part.name()), &drapes)
        .caption("On the mould: the largest shear of each cloth, and the area before and after it is laid flat")
        .name("Cloth at", |drape| drape.name().to_owned())
        .number("Shear as laid", |drape| degrees(drape.shear()))
        .words("At", |drape| place_in_words(drape.shear().at, 0))
        .number("Laid straight", |drape| degrees(drape.straight()))
        .number("Smoothed out evenly", |drape| degrees(drape.evened()))
        .number("On the mould", |drape| piece_area(Area::mm2(drape.mould_area())))
        .number("Flat", |drape| piece_area(Area::mm2(drape.outline().area())));
    vec![
        Passage::Group(Group::Plans, figures.collect()),
        table.done(),
        by_place(part, &drapes),
    ]
}

/// What a part is at some places of its mould.
fn by_place(part: &PartUse, drapes: &[&Drape]) -> Passage {
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
