//! Instances made up from a name; the same name always gives the same instance.
//!
//! - `curved:PIECES:VERTICES`: smooth curved shapes, each once, the same curves whatever the number
//!   of vertices on them. Few vertices cut corners: 50 of them hold some 0.3 % less area than 200.
//! - `mixed:PIECES`: such shapes of 30 to 150 vertices.
//! - `plies:PIECES`, `plies:PIECES:ud`: a job of plies on a balanced cloth or on a unidirectional.
//! - `bays:NX:NY:DEPTH:VERTICES:SEED`, `lattice:WIDTH:HEIGHT:KINDS:NX:NY:SEED`,
//!   `production:PIECES:SEED`: families with a seed (`families`).

use warpwise::geometry::trig::sin_cos_radians;

use super::families::{Family, bays, lattice, production};
use super::plies::{self, Weave, plies};
use super::{Instance, Item};

/// Width of the strip for shapes that are not plies, mm.
const STRIP_WIDTH: f64 = 1200.0;

/// The instance `name` stands for, or `None` if it is not such a name.
pub(crate) fn instance(name: &str) -> Option<Instance> {
    let mut words = name.split(':');
    let kind = words.next()?;
    if let Some((strip_width, items)) = family(kind, &words.clone().collect::<Vec<_>>()) {
        return Some(Instance {
            name: name.replace(':', "-"),
            strip_width,
            gap: 0.0,
            items,
        });
    }
    let n_pieces: usize = words.next()?.parse().ok()?;
    let mut random = Random(0x2545_f491_4f6c_dd1d ^ n_pieces as u64);
    let (mut strip_width, mut gap) = (STRIP_WIDTH, 0.0);
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
        "plies" => {
            let weave = match words.next() {
                None => Weave::Balanced,
                Some("ud") => Weave::Unidirectional,
                Some(_) => return None,
            };
            (strip_width, gap) = (plies::ROLL_WIDTH, plies::GAP);
            plies(&mut random, n_pieces, weave)
        }
        _ => return None,
    };
    Some(Instance {
        name: name.replace(':', "-"),
        strip_width,
        gap,
        items,
    })
}

/// The instance of a family with a seed.
fn family(kind: &str, words: &[&str]) -> Option<Family> {
    let number = |k: usize| words.get(k)?.parse::<usize>().ok();
    let random = |seed: usize| Random(0x9e37_79b9_7f4a_7c15 ^ (seed as u64 + 1) << 20);
    match (kind, words.len()) {
        ("bays", 5) => {
            let depth = words[2].parse().ok()?;
            let cells = [number(0)?, number(1)?];
            bays(&mut random(number(4)?), cells, depth, number(3)?)
        }
        ("lattice", 6) => {
            let (block, repeats) = ([number(0)?, number(1)?], [number(3)?, number(4)?]);
            lattice(&mut random(number(5)?), block, number(2)?, repeats)
        }
        ("production", 2) => Some(production(&mut random(number(1)?), number(0)?)),
        _ => None,
    }
}

/// A small generator (xorshift), enough for test data.
pub(crate) struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub(crate) fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
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
