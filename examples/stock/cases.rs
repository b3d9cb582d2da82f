//! Generated stock: the same cases each time.

use warpwise::geometry::trig::sin_cos_radians;
use warpwise::geometry::{Face, Outline, Point, Ring, Turn};
use warpwise::nest::{Container, Forbidden, Shape, StockProblem};
use warpwise::units::Angle;

/// Every case with its name.
pub(crate) fn all() -> Vec<(&'static str, StockProblem)> {
    vec![
        ("more-than-fits", more_than_fits()),
        ("jigsaw", jigsaw()),
        ("remnants-first", remnants_first()),
        ("flawed-roll", flawed_roll()),
        ("short-roll", short_roll()),
        ("sieve", sieve()),
    ]
}

/// One sheet, and mixed pieces for two and a half of it.
fn more_than_fits() -> StockProblem {
    let mut random = Random::new(1);
    problem(
        vec![Container::sheet(1000.0, 600.0)],
        2.0,
        mixed(&mut random, 60),
    )
}

/// The pieces of a sheet cut up by straight cuts, and some more that fit nowhere beside them.
fn jigsaw() -> StockProblem {
    let mut random = Random::new(2);
    let mut rects = vec![(600.0, 400.0)];
    while rects.len() < 12 {
        // The largest is cut across its longer side.
        let at = (0..rects.len()).fold(0, |a, b| {
            let area = |k: usize| rects[k].0 * rects[k].1;
            if area(b) > area(a) { b } else { a }
        });
        let (l, w): (f64, f64) = rects.swap_remove(at);
        let t = (10.0 * random.between(0.3, 0.7)).round() / 10.0;
        rects.extend(if l > w {
            [(l * t, w), (l - l * t, w)]
        } else {
            [(l, w * t), (l, w - w * t)]
        });
    }
    let mut shapes: Vec<Shape> = (rects.iter())
        .map(|&(l, w)| Shape::new(rectangle(l, w), &[0.0], 1))
        .collect();
    shapes.push(Shape::new(blob(&mut random, 90.0, 40), &[0.0, 180.0], 3));
    problem(vec![Container::sheet(600.0, 400.0)], 0.0, shapes)
}

/// Three odd remnants with flaws, then a roll.
fn remnants_first() -> StockProblem {
    let mut random = Random::new(3);
    let l = Outline {
        outer: ring(&[
            (200., 100.),
            (1100., 100.),
            (1100., 450.),
            (650., 450.),
            (600., 800.),
            (200., 800.),
        ]),
        openings: vec![blob(&mut random, 70.0, 30).outer],
    };
    let moved = |outline: Outline, x: f64, y: f64| shifted(&outline, x, y);
    let l = Outline {
        openings: vec![moved(Outline::solid(l.openings[0].clone()), 400., 300.).outer],
        ..l
    };
    let mut round = Container::remnant(blob(&mut random, 420.0, 120));
    round.forbidden = vec![
        Forbidden {
            area: blob(&mut random, 30.0, 24),
            margin: 5.0,
        },
        Forbidden {
            area: moved(rectangle(120.0, 8.0), -250.0, 100.0),
            margin: 0.0,
        },
    ];
    let narrow = Container::remnant(Outline::solid(ring(&[
        (0., 0.),
        (900., 60.),
        (880., 190.),
        (0., 240.),
    ])));
    let containers = vec![
        Container::remnant(l),
        round,
        narrow,
        Container::strip(1000.0),
    ];
    problem(containers, 3.0, mixed(&mut random, 60))
}

/// A roll with flaws every half metre.
fn flawed_roll() -> StockProblem {
    let mut random = Random::new(4);
    let mut strip = Container::strip(800.0);
    strip.forbidden = (0..8)
        .map(|k| {
            let (x, y) = (
                300.0 + 500.0 * f64::from(k) + random.between(-150.0, 150.0),
                random.between(0.0, 800.0),
            );
            let size = random.between(5.0, 60.0);
            Forbidden {
                area: shifted(&blob(&mut random, size, 20), x, y),
                margin: 10.0,
            }
        })
        .collect();
    problem(vec![strip], 2.0, mixed(&mut random, 50))
}

/// A roll that all pieces fit on, with a good deal to spare.
fn short_roll() -> StockProblem {
    let mut random = Random::new(5);
    let containers = vec![Container::sheet(5000.0, 900.0), Container::strip(900.0)];
    problem(containers, 2.0, mixed(&mut random, 40))
}

/// What is left of a sheet that pieces were cut from: openings everywhere.
fn sieve() -> StockProblem {
    let mut random = Random::new(6);
    let mut outline = rectangle(1200.0, 800.0);
    for i in 0..4 {
        for j in 0..3 {
            let size = random.between(30.0, 90.0);
            let (x, y) = (170.0 + 285.0 * f64::from(i), 135.0 + 265.0 * f64::from(j));
            let hole = shifted(&blob(&mut random, size, 40), x, y);
            outline.openings.push(hole.outer);
        }
    }
    problem(
        vec![Container::remnant(outline)],
        2.0,
        mixed(&mut random, 60),
    )
}

fn problem(containers: Vec<Container>, gap: f64, shapes: Vec<Shape>) -> StockProblem {
    StockProblem {
        shapes,
        containers,
        gap,
    }
}

/// Curved pieces, strips and triangles, some of them twice, some turned over.
fn mixed(random: &mut Random, n_pieces: usize) -> Vec<Shape> {
    let mut shapes = Vec::new();
    let mut placed = 0;
    while placed < n_pieces {
        let demand = (1 + random.below(2)).min(n_pieces - placed);
        placed += demand;
        let mut next = match random.below(3) {
            0 => {
                let size = random.between(40.0, 130.0);
                Shape::new(blob(random, size, 60), &[0.0, 180.0], demand)
            }
            1 => {
                let (l, w) = (random.between(80.0, 400.0), random.between(30.0, 120.0));
                Shape::new(rectangle(l, w), &[0.0, 90.0], demand)
            }
            _ => {
                let (l, w) = (random.between(100.0, 300.0), random.between(80.0, 200.0));
                let tip = random.between(0.0, l);
                let corners = ring(&[(0., 0.), (l, 0.), (tip, w)]);
                Shape::new(Outline::solid(corners), &[0.0, 180.0, 45.0, 225.0], demand)
            }
        };
        if random.below(3) == 0 {
            let over = next.turns.iter().map(|t| Turn {
                face: Face::Down,
                ..*t
            });
            next.turns = next.turns.iter().copied().chain(over).collect();
        }
        shapes.push(next);
    }
    shapes
}

/// A rectangle from the origin.
pub(crate) fn rectangle(length: f64, width: f64) -> Outline {
    Outline::solid(ring(&[
        (0., 0.),
        (length, 0.),
        (length, width),
        (0., width),
    ]))
}

/// A smooth closed curve around the origin, with waves.
fn blob(random: &mut Random, radius: f64, n_vertices: usize) -> Outline {
    let waves: Vec<(f64, f64, f64)> = (2..5)
        .map(|k| {
            let size = random.between(0.0, 0.25) / f64::from(k).sqrt();
            let phase = random.between(0.0, std::f64::consts::TAU);
            (f64::from(k), size, phase)
        })
        .collect();
    let points: Vec<(f64, f64)> = (0..n_vertices)
        .map(|k| {
            let t = std::f64::consts::TAU * k as f64 / n_vertices as f64;
            let wave: f64 = (waves.iter())
                .map(|(n, size, phase)| size * sin_cos_radians(n * t + phase).1)
                .sum();
            let (sin, cos) = sin_cos_radians(t);
            (radius * (1.0 + wave) * cos, radius * (1.0 + wave) * sin)
        })
        .collect();
    Outline::solid(ring(&points))
}

fn ring(points: &[(f64, f64)]) -> Ring {
    let points = points.iter().map(|&(x, y)| Point::new(x, y));
    Ring::new(points).expect("the cases are made of sound rings")
}

fn shifted(outline: &Outline, x: f64, y: f64) -> Outline {
    warpwise::geometry::Placement {
        turn: Turn::rotation(Angle::ZERO),
        shift: warpwise::geometry::Vector::new(x, y),
    }
    .outline(outline)
}

/// A small generator (xorshift), enough for test data.
struct Random(u64);

impl Random {
    fn new(seed: u64) -> Self {
        Self(0x2545_f491_4f6c_dd1d ^ (seed << 20))
    }

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
