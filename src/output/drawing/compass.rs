//! A round picture of the directions of a piece: its warp, its fibres, and the part's 0°.

use super::directions::Directions;
use super::page::Page;
use super::pens::{WARP, ZERO, arrow};
use super::shape::{Align, Shape};
use crate::geometry::{Point, Vector, trig};
use crate::output::style::{Pen, ink};
use crate::units::Angle;

const FIBRES: Pen = Pen::solid(ink::FIBRE, 0.12);
/// Lines of fibres on each side of the middle, in the first direction and in others.
const N_LINES: (i32, i32) = (3, 2);
/// Letters lower than this are not worth writing, mm.
const LEGIBLE: f64 = 0.9;

/// Draws `directions` in a circle of `radius` about `centre`: an arrow along the warp, the fibres as fine
/// lines, those of a stitched biaxial with their angles, and a dashed line along 0°.
pub(in crate::output) fn draw_compass(
    page: &mut Page,
    directions: &Directions,
    centre: Point,
    radius: f64,
) {
    let towards = |angle: Angle, length: f64| {
        let (sin, cos) = trig::sin_cos(angle);
        centre + Vector::new(cos, sin) * length
    };
    let disc = radius * 0.66;
    for (i, axis) in directions.weave.fibres_of(directions.angle).enumerate() {
        let n = if i == 0 { N_LINES.0 } else { N_LINES.1 };
        let along = axis.where_zero_is(directions.zero);
        let across = along + Angle::degrees(90.0);
        for k in -n..=n {
            let off = disc * f64::from(k) / f64::from(n + 1);
            let half = (disc * disc - off * off).sqrt();
            let aside = towards(across, off) - centre;
            let ends = [towards(along, -half) + aside, towards(along, half) + aside];
            page.edge(ends, FIBRES);
        }
    }
    let circle = Shape::Dot {
        centre,
        radius: disc,
    };
    page.draw(circle, Pen::solid(ink::GREY, 0.15));
    let warp = directions.warp();
    // Short enough to stay clear of the names.
    let (tail, tip) = (towards(warp, -radius * 0.7), towards(warp, radius * 0.7));
    page.arrow(&arrow(tail, tip, radius * 0.3), WARP);
    page.edge([centre, towards(directions.zero, radius * 0.7)], ZERO);
    let height = radius * 0.26;
    if height > LEGIBLE {
        let zero = [(directions.zero, "0°".to_owned())];
        for (angle, text) in zero.into_iter().chain(directions.named_fibres()) {
            let at = towards(angle, radius * 0.97) - Vector::new(0.0, height / 2.0);
            page.text(&text, at, height, Align::Middle, ink::BLACK);
        }
    }
}
