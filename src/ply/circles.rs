//! The circles that arcs of a ply's lines lie on, known from its drawing.

use super::PlyIn;
use crate::geometry::{Bounds, Circle, Outline, Placement, Ring, Turn, Vector};
use crate::job::Arcs;

/// Chords of an arc leave its circle by no more than this, mm: chord tolerance and what an offset
/// rounds. Larger: bends beside an arc become part of it; smaller: arcs stay chords.
pub const ON_ARC_MM: f64 = 0.0078;

/// The circles that the cut line and the net line follow with two chords or more, seen from the bag
/// side; none where the job wants chords.
///
/// An offset arc is an arc about the same centre, larger or smaller by the step and the
/// allowances: all that may be are tried.
pub(super) fn of_lines(within: &PlyIn<'_>, turn: Turn, lines: [&Outline; 2]) -> Vec<Circle> {
    let &PlyIn {
        job, ply, pattern, ..
    } = within;
    if job.outputs().arcs == Arcs::Chords {
        return Vec::new();
    }
    let step = ply.step.to_mm();
    let trimmed = step + ply.cutting.trim.to_mm();
    let overlapped = trimmed + ply.cutting.overlap.to_mm();
    let mut offsets = vec![0.0, step, -step, trimmed, -trimmed, overlapped, -overlapped];
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let turned = Placement {
        turn,
        shift: Vector::default(),
    };
    let bounds = lines[1].bounds().union(&lines[0].bounds());
    let rings: Vec<&Ring> = lines.iter().flat_map(|line| line.rings()).collect();
    let mut found = Vec::new();
    for circle in pattern.circles() {
        let circle = circle.placed(&turned);
        for radius in offsets.iter().map(|by| circle.radius + by) {
            let circle = Circle { radius, ..circle };
            let is_followed = || rings.iter().any(|ring| follows(ring, &circle));
            if radius > 0.0 && is_near(&circle, &bounds) && is_followed() {
                found.push(circle);
            }
        }
    }
    found
}

fn is_near(circle: &Circle, bounds: &Bounds) -> bool {
    let (c, r) = (circle.centre, circle.radius);
    c.x - r <= bounds.max.x
        && c.x + r >= bounds.min.x
        && c.y - r <= bounds.max.y
        && c.y + r >= bounds.min.y
}

/// Whether two chords of `ring` in a row lie on `circle`.
fn follows(ring: &Ring, circle: &Circle) -> bool {
    let points = ring.points();
    let at = |i: usize| points[i % points.len()];
    let is_on = |i: usize| circle.holds(at(i), at(i + 1), ON_ARC_MM);
    (0..points.len()).any(|i| is_on(i) && is_on(i + 1))
}
