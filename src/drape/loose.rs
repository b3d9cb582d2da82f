//! Cloth without a direction (mat, fleece): its fibres slip past one another every way, so it goes where it is strained
//! least.
//!
//! The net of a woven cloth is only where it begins: the sides and both diagonals of its cells are springs of the length
//! that they have on the mould, and their crossings are let go on the flat cloth until the springs rest. On squares
//! equal springs along sides and diagonals make a sheet alike in all directions.

use glam::{DMat2, DVec2, DVec3};

use super::net::Net;
use crate::geometry::trig;

/// Rounds of turning the springs and moving their ends, and steps of each move.
const ROUNDS: usize = 200;
const STEPS: usize = 12;

struct Spring {
    ends: [u32; 2],
    length: f64,
}

/// `net` with its crossings on the flat cloth where it is strained least; the shear of a cell is then the largest change
/// of a right angle in it.
pub(super) fn relaxed(net: &Net) -> Net {
    let mut springs = Vec::new();
    for corners in net.corners_of_cells() {
        for (a, b) in [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)] {
            let ends = [corners[a], corners[b]];
            let [p, q] = ends.map(|k| net.spots[k as usize].at);
            springs.push(Spring {
                ends,
                length: p.distance(q),
            });
        }
    }
    let mut flat = net.flat.clone();
    for _ in 0..ROUNDS {
        settle(&springs, &mut flat);
    }
    // Start and warp stay where they were.
    let of = |at| net.number(at).map(|k| flat[k as usize]);
    let start = of((0, 0)).unwrap_or_default();
    let along = [of((1, 0)), of((-1, 0))];
    let warp = match along {
        [Some(on), Some(back)] => on - back,
        [Some(on), None] => on - start,
        [None, Some(back)] => start - back,
        [None, None] => DVec2::X,
    };
    let warp = warp.try_normalize().unwrap_or(DVec2::X);
    let turn = DMat2::from_cols(DVec2::new(warp.x, -warp.y), DVec2::new(warp.y, warp.x));
    let place = |k: usize| turn * (flat[k] - start);
    let crossings = (net.crossings.iter().zip(&net.spots).enumerate())
        .map(|(k, (&at, &spot))| (at, spot, place(k)));
    Net::of_crossings(net.spacing, crossings.collect(), |net, corners| {
        let p = corners.map(|k| net.spots[k as usize].at);
        let q = corners.map(|k| net.flat[k as usize]);
        change_of_angle(p, q)
    })
}

/// Moves the ends of the springs so that each is as near as can be to its length in its own direction: the steps of
/// conjugate gradients towards the solution of that.
fn settle(springs: &[Spring], flat: &mut [DVec2]) {
    let pull = |of: &dyn Fn(&Spring) -> DVec2, n: usize| {
        let mut sums = vec![DVec2::ZERO; n];
        for spring in springs {
            let force = of(spring);
            let [a, b] = spring.ends.map(|k| k as usize);
            sums[a] += force;
            sums[b] -= force;
        }
        sums
    };
    let n = flat.len();
    let between = |places: &[DVec2], spring: &Spring| {
        let [a, b] = spring.ends.map(|k| places[k as usize]);
        b - a
    };
    let strained = |spring: &Spring| {
        let along = between(flat, spring);
        along - along.normalize_or_zero() * spring.length
    };
    let mut left = pull(&strained, n);
    let mut toward = left.clone();
    let dot = |a: &[DVec2], b: &[DVec2]| a.iter().zip(b).map(|(a, b)| a.dot(*b)).sum::<f64>();
    let mut size = dot(&left, &left);
    for _ in 0..STEPS {
        let answer = pull(&|spring| -between(&toward, spring), n);
        let share = dot(&toward, &answer);
        if size <= f64::MIN_POSITIVE || share <= 0.0 {
            break;
        }
        let step = size / share;
        for k in 0..n {
            flat[k] += toward[k] * step;
            left[k] -= answer[k] * step;
        }
        let next = dot(&left, &left);
        for k in 0..n {
            toward[k] = left[k] + toward[k] * (next / size);
        }
        size = next;
    }
}

/// The largest change of a right angle, degrees, from a cell on the flat cloth to the mould: by the two main stretches
/// of it.
fn change_of_angle([a, b, c, d]: [DVec3; 4], [e, f, g, h]: [DVec2; 4]) -> f64 {
    let (along, across) = (b - a + c - d, d - a + c - b);
    let flat = DMat2::from_cols(f - e + g - h, h - e + g - f);
    if flat.determinant() <= 0.0 {
        return 90.0;
    }
    let back = flat.inverse();
    let on = DMat2::from_cols(
        DVec2::new(along.dot(along), along.dot(across)),
        DVec2::new(along.dot(across), across.dot(across)),
    );
    let stretch = back.transpose() * on * back;
    let half = (stretch.x_axis.x - stretch.y_axis.y) / 2.0;
    let most = f64::hypot(half, stretch.x_axis.y);
    let mean = (stretch.x_axis.x + stretch.y_axis.y) / 2.0;
    let sin = (most / mean).min(1.0);
    trig::atan2_radians(sin, (1.0 - sin * sin).sqrt()).to_degrees()
}
