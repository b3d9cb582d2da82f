//! How the plies of a part lie on its mould.

use crate::drape::Shear;
use crate::mould::place_in_words;
use crate::output::drawing::mould;
use crate::output::pages::by_place::by_place;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::piece_area;
use crate::plan::PartUse;
use crate::units::Area;

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
        by_place(part),
    ]
}
