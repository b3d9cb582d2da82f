//! What of an outline lies within a box.

use super::distance::{from_geo, to_geo};
use super::{Bounds, Outline};

/// Pieces smaller than this (mm²) are rounding, not cloth.
const SLIVER_MM2: f64 = 1e-2;

/// The parts of `outline` that lie within `bounds`, from left to right, then upwards; slivers are
/// dropped.
///
/// The work is done by a general geometry library, whose grid is fine enough that areas are true
/// to well below 1 mm² on a roll.
#[must_use]
pub fn within(outline: &Outline, bounds: &Bounds) -> Vec<Outline> {
    use geo::BooleanOps;
    let own = outline.bounds();
    let holds = bounds.min.x <= own.min.x
        && bounds.min.y <= own.min.y
        && bounds.max.x >= own.max.x
        && bounds.max.y >= own.max.y;
    if holds {
        return vec![outline.clone()];
    }
    let Some(frame) = bounds.outline() else {
        return Vec::new();
    };
    let shared = to_geo(outline).intersection(&to_geo(&frame));
    let mut parts: Vec<Outline> = shared
        .0
        .iter()
        .filter_map(from_geo)
        .filter(|part| part.area() > SLIVER_MM2)
        .collect();
    let corner = |part: &Outline| part.bounds().min;
    parts.sort_by(|a, b| {
        let (a, b) = (corner(a), corner(b));
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Ring};

    #[test]
    fn a_fork_cut_off_at_its_prongs_is_two_parts() {
        let points = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 20.0),
            (40.0, 20.0),
            (40.0, 60.0),
            (100.0, 60.0),
            (100.0, 80.0),
            (0.0, 80.0),
        ];
        let fork = Outline::solid(Ring::new(points.map(|(x, y)| Point::new(x, y))).unwrap());
        let beyond = Bounds {
            min: Point::new(50.0, -10.0),
            max: Point::new(200.0, 200.0),
        };
        let parts = within(&fork, &beyond);
        assert_eq!(parts.len(), 2);
        for part in &parts {
            assert!((part.area() - 1000.0).abs() < 1e-3);
        }
        assert!(parts[0].bounds().max.y < parts[1].bounds().min.y);
        assert_eq!(within(&fork, &fork.bounds()), [fork]);
    }
}
