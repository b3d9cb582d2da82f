//! What every drawing of a roll shows beside its pieces: flaws, frames, what is kept.

use crate::cloth::Flaw;
use crate::geometry::{Bounds, Outline, Point, clip};
use crate::output::style::Layer;
use crate::plan::{Layout, Plan};

/// Something drawn of the roll itself.
pub(in crate::output) enum Drawn {
    /// An area by its boundaries.
    Area(Outline),
    /// A line across the roll.
    Border([Point; 2]),
}

/// Everything that is drawn of the roll itself: its edge, flaws, borders of frames, what is kept.
pub(in crate::output) fn around(plan: &Plan, layout: &Layout) -> Vec<(Layer, Drawn)> {
    let width = layout.roll_width().to_mm();
    let edge = match layout.stock() {
        Some(_) => Some(layout.whole().clone()),
        None => sheet(layout).outline(),
    };
    let flaws = layout.flaws().iter().flat_map(|f| drawn_flaw(layout, f));
    let border = |x| Drawn::Border([Point::new(x, 0.0), Point::new(x, width)]);
    let area = |layer| move |outline| (layer, Drawn::Area(outline));
    let mut all: Vec<(Layer, Drawn)> = edge.into_iter().map(area(Layer::Cloth)).collect();
    all.extend(flaws.map(area(Layer::Flaw)));
    all.extend(machine_borders(layout).map(|x| (Layer::Frame, border(x))));
    all.extend(drawn_kept(plan, layout).map(area(Layer::Keep)));
    all
}

/// The box of the drawn cloth.
fn sheet(layout: &Layout) -> Bounds {
    Bounds {
        min: Point::default(),
        max: Point::new(layout.drawn_length().to_mm(), layout.roll_width().to_mm()),
    }
}

/// What of a flaw lies on the drawn cloth.
pub(in crate::output) fn drawn_flaw(layout: &Layout, flaw: &Flaw) -> Vec<Outline> {
    clip::within(&flaw.area, &sheet(layout))
}

/// Where one frame on the cutting table ends and the next begins, mm along the roll.
pub(in crate::output) fn frame_borders(layout: &Layout) -> impl Iterator<Item = f64> + '_ {
    layout.frames().iter().skip(1).map(|frame| frame[0])
}

/// The same with the borders between what a machine reaches at once; pieces may lie across those.
fn machine_borders(layout: &Layout) -> impl Iterator<Item = f64> + '_ {
    let reached = layout.order().frames.iter().skip(1).map(|frame| frame.from);
    let is_divided = layout.order().frames.len() >= layout.frames().len();
    let on_table = frame_borders(layout).filter(move |_| !is_divided);
    reached.filter(move |_| is_divided).chain(on_table)
}

/// What is kept of the drawn cloth; of a bought roll, what lies beyond the used length is not on
/// the drawing.
pub(in crate::output) fn drawn_kept<'a>(
    plan: &'a Plan,
    layout: &'a Layout,
) -> impl Iterator<Item = Outline> + 'a {
    let end = layout.drawn_length().to_mm();
    plan.left_of(layout)
        .filter(move |left| left.place().max.x <= end + 0.01)
        .map(|left| left.outline_on_roll())
}
