//! The hot kernels of the nesting engine, through its public face.
//!
//! `cargo bench --bench nest`. What the engine reaches is measured by `examples/nest_bench.rs`.

use divan::{Bencher, black_box};
use warpwise::geometry::{Outline, Point, Ring, trig::sin_cos_radians};
use warpwise::nest::{Continue, Effort, Problem, SearchSettings, Shape, check, nest};

fn main() {
    divan::main();
}

/// Lobed closed curves of `n_vertices`, each of another size.
fn curved(n_pieces: usize, n_vertices: usize) -> Problem {
    let shapes = (0..n_pieces)
        .map(|piece| {
            let radius = 60.0 + 10.0 * (piece % 7) as f64;
            let lobes = 2.0 + (piece % 3) as f64;
            let points = (0..n_vertices).map(|k| {
                let t = std::f64::consts::TAU * k as f64 / n_vertices as f64;
                let (sin, cos) = sin_cos_radians(t);
                let r = radius * (1.0 + 0.25 * sin_cos_radians(lobes * t).1);
                Point::new(r * cos, r * sin)
            });
            let ring = Ring::new(points).expect("a star-shaped curve is a ring");
            Shape::new(Outline::solid(ring), &[0.0, 180.0], 1)
        })
        .collect();
    Problem::strip(shapes, 1000.0, 3.0)
}

const SETTINGS: SearchSettings = SearchSettings {
    effort: Effort::Quick,
    seed: 1,
    threads: 1,
};

/// Everything up to and including the first valid layout.
#[divan::bench(args = [50, 100, 200], sample_count = 5)]
fn first_layout(bencher: Bencher, n_vertices: usize) {
    let problem = curved(40, n_vertices);
    bencher.bench_local(|| nest(black_box(&problem), &SETTINGS, &|_| Continue::Stop));
}

/// The same as the number of pieces grows.
#[divan::bench(args = [30, 100, 300], sample_count = 3)]
fn first_layout_of(bencher: Bencher, n_pieces: usize) {
    let problem = curved(n_pieces, 60);
    bencher.bench_local(|| nest(black_box(&problem), &SETTINGS, &|_| Continue::Stop));
}

/// A whole quick search: collision tests, moves, weights.
#[divan::bench(args = [50, 200], sample_count = 3)]
fn quick_search(bencher: Bencher, n_vertices: usize) {
    let problem = curved(12, n_vertices);
    bencher.bench_local(|| nest(black_box(&problem), &SETTINGS, &|_| Continue::Yes));
}

/// The independent validity check.
#[divan::bench(args = [50, 200], sample_count = 5)]
fn check_layout(bencher: Bencher, n_vertices: usize) {
    let problem = curved(40, n_vertices);
    let layout = nest(&problem, &SETTINGS, &|_| Continue::Stop).expect("every piece fits");
    bencher.bench_local(|| check(black_box(&problem), &layout));
}
