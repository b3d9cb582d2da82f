//! Instances made up from a name: `curved:PIECES:VERTICES`, `mixed:PIECES` and `plies:PIECES`.
//!
//! The same name always gives the same instance.

use warpwise::geometry::trig::sin_cos_radians;

use super::{Instance, Item};

/// The instance `name` stands for, or `None` if it is not such a name.
pub(crate) fn instance(name: &str) -> Option<Instance> {
    let mut words = name.split(':');
    let kind = words.next()?;
    let n_pieces: usize = words.next()?.parse().ok()?;
    let mut random = Random(0x2545_f491_4f6c_dd1d ^ n_pieces as u64);
    let items = match kind {
        "curved" => {
            let n_vertices = words.next()?.parse().ok()?;
            // The same curves whatever the number of vertices.
            (0..n_pieces)
                .map(|_| Item::solid(curve(&mut random, n_vertices), &[0.0, 180.0], 1))
                .collect()
        }
        "mixed" => (0..n_pieces)
            .map(|_| {
                let n_vertices = 30 + random.below(121);
                Item::solid(curve(&mut random, n_vertices), &[0.0, 180.0], 1)
            })
            .collect(),
        "plies" => plies(&mut random, n_pieces),
        _ => return None,
    };
    Some(Instance {
        name: name.replace(':', "-"),
        strip_width: 1200.0,
        gap: 0.0,
        items,
    })
}

/// A small generator (xorshift), enough for test data.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
}

/// A smooth closed curve with a few waves, some of them hollow, 80 to 400 mm across.
fn curve(random: &mut Random, n_vertices: usize) -> Vec<[f64; 2]> {
    let radius = random.between(40.0, 200.0);
    let flat = random.between(0.4, 1.0);
    let waves: Vec<(f64, f64, f64)> = (2..6)
        .map(|k| {
            let size = random.between(0.0, 0.25) / f64::from(k).sqrt();
            (
                f64::from(k),
                size,
                random.between(0.0, std::f64::consts::TAU),
            )
        })
        .collect();
    (0..n_vertices)
        .map(|k| {
            let t = std::f64::consts::TAU * k as f64 / n_vertices as f64;
            let wave: f64 = (waves.iter())
                .map(|(n, size, phase)| size * sin_cos_radians(n * t + phase).1)
                .sum();
            let (sin, cos) = sin_cos_radians(t);
            let r = radius * (1.0 + wave);
            [r * cos, flat * r * sin]
        })
        .collect()
}

/// Plies of a few parts, each part's plies at 0, 90 and ±45: skins, ribs, strips and a frame.
fn plies(random: &mut Random, n_pieces: usize) -> Vec<Item> {
    let mut items = Vec::new();
    let mut placed = 0;
    while placed < n_pieces {
        let (outline, openings) = match random.below(4) {
            0 => (skin(random), vec![]),
            1 => (rib(random), vec![]),
            2 => {
                let (l, w) = (random.between(200.0, 700.0), random.between(25.0, 80.0));
                (vec![[0., 0.], [l, 0.], [l, w], [0., w]], vec![])
            }
            _ => frame(random),
        };
        for angle in [0.0, 90.0, 45.0, -45.0] {
            if placed < n_pieces {
                let demand = 2.min(n_pieces - placed);
                placed += demand;
                items.push(Item {
                    demand,
                    allowed_rotations_deg: vec![angle, angle + 180.0],
                    outline: outline.clone(),
                    openings: openings.clone(),
                });
            }
        }
    }
    items
}

/// A tapered skin with a curved leading edge.
fn skin(random: &mut Random) -> Vec<[f64; 2]> {
    let (length, root, tip) = (
        random.between(300.0, 700.0),
        random.between(120.0, 260.0),
        random.between(50.0, 110.0),
    );
    let n = 24;
    let mut points = vec![[0.0, 0.0], [length, 0.2 * (root - tip)]];
    points.extend((0..=n).map(|k| {
        let t = f64::from(k) / f64::from(n);
        let (_, c) = sin_cos_radians(std::f64::consts::FRAC_PI_2 * (1.0 - t));
        let y = 0.2 * (root - tip) + tip + (0.8 * (root - tip)) * c;
        [length * (1.0 - t), y]
    }));
    points
}

/// The section of a wing: round nose, thin tail.
fn rib(random: &mut Random) -> Vec<[f64; 2]> {
    let (chord, thickness) = (random.between(150.0, 420.0), random.between(0.09, 0.16));
    let n = 30;
    (0..2 * n)
        .map(|k| {
            let (sin, cos) = sin_cos_radians(std::f64::consts::PI * f64::from(k) / f64::from(n));
            let x = 0.5 * (1.0 + cos);
            let half = thickness * x.sqrt().min(1.0) * (1.0 - x) * 2.2 + 0.004;
            [
                chord * (1.0 - x),
                chord * half * if sin >= 0.0 { 1.0 } else { -1.0 },
            ]
        })
        .map(|[x, y]| [chord - x, y])
        .rev()
        .collect()
}

/// A hatch frame: rounded outside, one round-cornered opening.
fn frame(random: &mut Random) -> (Vec<[f64; 2]>, Vec<Vec<[f64; 2]>>) {
    let (w, h, border) = (
        random.between(200.0, 420.0),
        random.between(160.0, 300.0),
        random.between(25.0, 45.0),
    );
    let outer = rounded(w, h, 40.0);
    let inner = rounded(w - 2.0 * border, h - 2.0 * border, 25.0);
    let shift = |p: [f64; 2]| [p[0] + border, p[1] + border];
    (outer, vec![inner.into_iter().map(shift).collect()])
}

fn rounded(w: f64, h: f64, r: f64) -> Vec<[f64; 2]> {
    let corners = [
        (w - r, r, -0.5),
        (w - r, h - r, 0.0),
        (r, h - r, 0.5),
        (r, r, 1.0),
    ];
    corners
        .iter()
        .flat_map(|&(x, y, start)| {
            (0..=8).map(move |k| {
                let t = std::f64::consts::PI * (start + f64::from(k) / 16.0);
                let (sin, cos) = sin_cos_radians(t);
                [x + r * cos, y + r * sin]
            })
        })
        .collect()
}
