//! What a plan reserves of a shelf, and what it will leave there.

use std::path::Path;

use super::{event, unwritten};
use crate::cli::Failure;
use crate::cli::writing::HeldShelf;
use crate::cloth::remnant_file;
use crate::plan::Plan;
use crate::shelf::{Account, Deed, Event, Remnant, ShelfFault};
use crate::units::Area;

/// What became of a reservation.
pub(in crate::cli) enum Reserved {
    /// It stands in the journal.
    Done,
    /// Another run has changed the shelf since the plan was begun.
    Changed(ShelfFault),
}

/// Reserves on the shelf in `folder` what `plan` uses, in place of what an earlier plan of the job did.
pub(in crate::cli) fn reserve(plan: &Plan, folder: &Path) -> Result<Reserved, Failure> {
    let (event, files) = booked(plan);
    let mut held = HeldShelf::hold(folder).map_err(unwritten)?;
    if let Err(why) = held.view.journal.clone().add(event.clone()) {
        return Ok(Reserved::Changed(why));
    }
    held.book(event, &files).map_err(unwritten)?;
    Ok(Reserved::Done)
}

/// The line for `plan`, and the remnant files that it leaves, by name.
fn booked(plan: &Plan) -> (Event, Vec<(String, String)>) {
    let mut event = event(Deed::Reserved, plan.title(), None);
    for layout in plan.layouts() {
        let Some(stock) = layout.stock().filter(|stock| stock.is_on_shelf) else {
            continue;
        };
        let area = Area::mm2(stock.outline.area());
        event.off.push(Remnant::new(
            &stock.name,
            &layout.cloth().name,
            area,
            stock.lot.clone(),
        ));
    }
    let mut files = Vec::new();
    for left in plan.stock_left().iter().filter(|left| left.from.is_some()) {
        let stock = &left.stock;
        let area = Area::mm2(stock.outline.area());
        event.on.push(Remnant::new(
            &stock.name,
            &left.cloth,
            area,
            stock.lot.clone(),
        ));
        let text = remnant_file(&left.cloth, stock, Some(left.rectangle));
        files.push((stock.name.clone(), text));
    }
    for used in plan.cloths() {
        let of_cloth = event.off.iter().filter(|off| off.cloth == used.cloth.name);
        let from_shelf: f64 = of_cloth.map(|off| off.area.to_mm2()).sum();
        // Sums of many areas: nothing may come out as less than nothing.
        let fresh = Area::mm2((used.cloth_in().to_mm2() - from_shelf).max(0.0));
        let areas = [fresh, used.net_area, used.waste.total()];
        event.accounts.push(Account::new(&used.cloth.name, areas));
    }
    (event, files)
}
