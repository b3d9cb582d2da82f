//! What every drawing of a roll shows beside its pieces: flaws, frames, what is kept.

use crate::cloth::Flaw;
use crate::geometry::{Bounds, Outline, Point, clip};
use crate::plan::{Layout, Plan};

/// What of a flaw lies on the drawn cloth.
pub(super) fn drawn_flaw(layout: &Layout, flaw: &Flaw) -> Vec<Outline> {
    let sheet = Bounds {
        min: Point::default(),
        max: Point::new(layout.drawn_length().to_mm(), layout.roll_width.to_mm()),
    };
    clip::within(&flaw.area, &sheet)
}

/// Where one frame on the cutting table ends and the next begins, mm along the roll.
pub(super) fn frame_borders(layout: &Layout) -> impl Iterator<Item = f64> + '_ {
    layout.frames.iter().skip(1).map(|frame| frame[0])
}

/// What is kept of the drawn cloth; of a bought roll, what lies beyond the used length is not on
/// the drawing.
pub(super) fn drawn_kept<'a>(
    plan: &'a Plan,
    layout: &'a Layout,
) -> impl Iterator<Item = Outline> + 'a {
    let end = layout.drawn_length().to_mm();
    plan.left_of(layout)
        .filter(move |left| left.place().max.x <= end + 0.01)
        .map(|left| left.outline_on_roll())
}
