//! Templates of many shapes, as hands cut them: straight edges, rounded and sharp corners, notches, openings.

use super::render::{Random, circle};

/// A template around `middle` that reaches `half` to each side at most: its edge and its openings.
pub fn template(random: &mut Random, middle: [f64; 2], half: [f64; 2]) -> Vec<Vec<[f64; 2]>> {
    let half = half.map(|side| side * random.between(0.55, 1.0));
    let kind = (random.unit() * 5.0) as usize;
    let edge = match kind {
        0 => rounded(random, half),
        1 => many_cornered(random, half),
        2 => stepped(random, half),
        3 => notched(random, half),
        _ => wavy(random, half),
    };
    let turn = random.between(-20.0_f64, 20.0).to_radians() * 0.4;
    let (sin, cos) = (libm::sin(turn), libm::cos(turn));
    let placed = |p: &[f64; 2]| {
        [
            middle[0] + p[0] * cos - p[1] * sin,
            middle[1] + p[0] * sin + p[1] * cos,
        ]
    };
    let mut rings = vec![edge.iter().map(placed).collect()];
    if random.unit() < 0.6 {
        let r = random.between(12.0, 0.12 * half[0].min(half[1]) + 13.0);
        // An L has little in its middle.
        let off = if kind == 2 {
            [-0.6, -0.6]
        } else {
            [0.1, -0.05]
        };
        let at = [middle[0] + off[0] * half[0], middle[1] + off[1] * half[1]];
        rings.push(circle(at[0], at[1], r, 720));
    }
    rings
}

/// A rectangle with each corner rounded by its own radius, some of them sharp.
fn rounded(random: &mut Random, [a, b]: [f64; 2]) -> Vec<[f64; 2]> {
    let corners = [[a, b], [-a, b], [-a, -b], [a, -b]];
    let mut ring = Vec::new();
    for (k, corner) in corners.iter().enumerate() {
        let r = match random.unit() {
            u if u < 0.4 => 0.0,
            _ => random.between(8.0, 90.0),
        };
        let n = if r > 0.0 { 90 } else { 0 };
        let centre = [
            corner[0] - r * corner[0].signum(),
            corner[1] - r * corner[1].signum(),
        ];
        for i in 0..=n {
            let angle = (90.0 * k as f64 + 90.0 * f64::from(i) / f64::from(n.max(1))).to_radians();
            ring.push(match n {
                0 => *corner,
                _ => [
                    centre[0] + r * libm::cos(angle),
                    centre[1] + r * libm::sin(angle),
                ],
            });
        }
    }
    ring
}

/// A polygon of 4 to 9 corners.
fn many_cornered(random: &mut Random, [a, b]: [f64; 2]) -> Vec<[f64; 2]> {
    let n = 4 + (random.unit() * 6.0) as usize;
    (0..n)
        .map(|k| {
            let angle = std::f64::consts::TAU * (k as f64 + random.between(-0.25, 0.25)) / n as f64;
            let r = random.between(0.7, 1.0);
            [a * r * libm::cos(angle), b * r * libm::sin(angle)]
        })
        .collect()
}

/// An L.
fn stepped(random: &mut Random, [a, b]: [f64; 2]) -> Vec<[f64; 2]> {
    let (x, y) = (random.between(-0.3, 0.5) * a, random.between(-0.3, 0.5) * b);
    vec![[-a, -b], [a, -b], [a, y], [x, y], [x, b], [-a, b]]
}

/// A rectangle with V and U notches cut into its edges.
fn notched(random: &mut Random, [a, b]: [f64; 2]) -> Vec<[f64; 2]> {
    let (w, d) = (random.between(8.0, 20.0), random.between(10.0, 30.0));
    let (x, y) = (random.between(-0.5, 0.5) * a, random.between(-0.5, 0.5) * b);
    vec![
        [-a, -b],
        [x - w, -b],
        [x, -b + d],
        [x + w, -b],
        [a, -b],
        [a, y - w],
        [a - d, y - w],
        [a - d, y + w],
        [a, y + w],
        [a, b],
        [-a, b],
    ]
}

/// A smooth curve, straight at the bottom.
fn wavy(random: &mut Random, [a, b]: [f64; 2]) -> Vec<[f64; 2]> {
    let (p, q) = (random.between(0.0, 6.0), random.between(0.02, 0.09));
    let top = (0..=600).map(|k| {
        let t = std::f64::consts::PI * f64::from(k) / 600.0;
        let r = 1.0 - q + q * libm::cos(3.0 * t + p);
        [a * r * libm::cos(t), 2.0 * b * r * libm::sin(t) - b]
    });
    top.collect()
}
