//! Families of instances with a seed, so that what the engine is tuned on and what it is judged on
//! can be kept apart: seeds below 100 are for tuning, those from 100 on are only reported.

use warpwise::geometry::trig::sin_cos_radians;

use super::Item;
use super::generate::Random;

/// Half turns are allowed.
const TURNS: [f64; 2] = [0.0, 180.0];

/// A strip's width and what lies in it.
pub(crate) type Family = (f64, Vec<Item>);

/// Sizes of the cells of a jigsaw.
const CELL: [f64; 2] = [1000.0, 800.0];

/// A rectangle cut along curves with one lobe each into `nx` by `ny` pieces, all different; a lobe
/// bulges by up to `depth` of a cell's side and has `n_vertices`. The optimum is 100 %.
pub(crate) fn bays(
    random: &mut Random,
    [nx, ny]: [usize; 2],
    depth: f64,
    n_vertices: usize,
) -> Option<Family> {
    // Cuts that cross are drawn again, each cell's two at a time.
    for _ in 0..10_000 {
        let cells = jigsaw(random, [nx, ny], depth, n_vertices);
        if cells.iter().all(|cell| is_simple(cell)) {
            let items = cells.into_iter().map(|c| Item::solid(c, &TURNS, 1));
            return Some((CELL[1] * ny as f64, items.collect()));
        }
    }
    None
}

/// A curve from (0, 0) to (1, 0) with a lobe to one side.
fn lobe(random: &mut Random, depth: f64, n_vertices: usize) -> Vec<[f64; 2]> {
    let side = if random.below(2) == 0 { 1.0 } else { -1.0 };
    let height = side * depth * random.between(0.7, 1.0);
    let (lean, wide) = (random.between(-0.15, 0.15), random.between(0.5, 0.8));
    let middle = random.between(0.45, 0.55);
    (0..=n_vertices)
        .map(|k| {
            let t = k as f64 / n_vertices as f64;
            let s = ((t - middle) / wide + 0.5).clamp(0.0, 1.0);
            let sin = sin_cos_radians(std::f64::consts::PI * s).0;
            let bulge = sin * sin;
            [t + lean * bulge, height * bulge]
        })
        .collect()
}

fn jigsaw(
    random: &mut Random,
    [nx, ny]: [usize; 2],
    depth: f64,
    n_vertices: usize,
) -> Vec<Vec<[f64; 2]>> {
    let [w, h] = CELL;
    let straight = vec![[0.0, 0.0], [1.0, 0.0]];
    let mut cut = |is_inner: bool| match is_inner {
        true => lobe(random, depth, n_vertices),
        false => straight.clone(),
    };
    // Across at [i][0 ..= ny], and along at [0 ..= nx][j].
    let across: Vec<Vec<_>> = (0..nx)
        .map(|_| (0..=ny).map(|j| cut(j > 0 && j < ny)).collect())
        .collect();
    let along: Vec<Vec<_>> = (0..=nx)
        .map(|i| (0..ny).map(|_| cut(i > 0 && i < nx)).collect())
        .collect();
    let flat = |cut: &[[f64; 2]], x: f64, y: f64| -> Vec<[f64; 2]> {
        cut.iter().map(|&[t, d]| [x + t * w, y + d * h]).collect()
    };
    let upright = |cut: &[[f64; 2]], x: f64, y: f64| -> Vec<[f64; 2]> {
        cut.iter().map(|&[t, d]| [x - d * w, y + t * h]).collect()
    };
    let cell = |k: usize| {
        let (i, j) = (k / ny, k % ny);
        let (x, y) = (i as f64 * w, j as f64 * h);
        let mut top = flat(&across[i][j + 1], x, y + h);
        let mut left = upright(&along[i][j], x, y);
        top.reverse();
        left.reverse();
        let (bottom, right) = (
            flat(&across[i][j], x, y),
            upright(&along[i + 1][j], x + w, y),
        );
        let sides = [bottom, right, top, left];
        let ring = sides.iter().flat_map(|side| &side[..side.len() - 1]);
        without_straight(ring.copied().collect())
    };
    (0..nx * ny).map(cell).collect()
}

fn cross(o: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// The ring without vertices on straight runs.
fn without_straight(ring: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let n = ring.len();
    (0..n)
        .filter(|&k| cross(ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]).abs() > 1e-6)
        .map(|k| ring[k])
        .collect()
}

/// Whether no two edges of the ring cross.
fn is_simple(ring: &[[f64; 2]]) -> bool {
    let n = ring.len();
    let edge = |k: usize| (ring[k], ring[(k + 1) % n]);
    (0..n).all(|i| {
        let (a, b) = edge(i);
        (i + 2..n).all(|j| {
            let (c, d) = edge(j);
            (i == 0 && j == n - 1)
                || cross(a, b, c) * cross(a, b, d) >= 0.0
                || cross(c, d, a) * cross(c, d, b) >= 0.0
        })
    })
}

/// A block of `width` by `height` unit squares cut into `n_kinds` pieces, and `nx` by `ny` such
/// blocks: few kinds, many of each, all edges on a lattice. The optimum is 100 %.
pub(crate) fn lattice(
    random: &mut Random,
    [width, height]: [usize; 2],
    n_kinds: usize,
    [nx, ny]: [usize; 2],
) -> Option<Family> {
    for _ in 0..10_000 {
        let owner = grown_cells(random, [width, height], n_kinds);
        let rings: Vec<_> = (0..n_kinds)
            .filter_map(|kind| ring_of(&owner, [width, height], kind))
            .collect();
        let size = |kind: usize| owner.iter().filter(|&&o| o == kind).count();
        let is_even = (0..n_kinds).all(|kind| 2 * size(kind) * n_kinds >= width * height);
        if rings.len() == n_kinds && is_even && rings.iter().all(|r| r.len() >= 6) {
            let items = rings.into_iter().map(|r| Item::solid(r, &TURNS, nx * ny));
            return Some(((height * ny) as f64, items.collect()));
        }
    }
    None
}

/// The kind of each cell of a block, at x · height + y, grown from random cells.
fn grown_cells(random: &mut Random, [width, height]: [usize; 2], n_kinds: usize) -> Vec<usize> {
    const FREE: usize = usize::MAX;
    let mut owner = vec![FREE; width * height];
    let mut taken = Vec::new();
    while taken.len() < n_kinds {
        let cell = random.below(owner.len());
        if owner[cell] == FREE {
            owner[cell] = taken.len();
            taken.push(cell);
        }
    }
    while taken.len() < owner.len() {
        let cell = taken[random.below(taken.len())];
        let (x, y) = (cell / height, cell % height);
        let next = match random.below(4) {
            0 if x + 1 < width => cell + height,
            1 if x > 0 => cell - height,
            2 if y + 1 < height => cell + 1,
            3 if y > 0 => cell - 1,
            _ => continue,
        };
        if owner[next] == FREE {
            owner[next] = owner[cell];
            taken.push(next);
        }
    }
    owner
}

/// The outline of one kind, `None` if it has a hole or touches itself at a corner.
fn ring_of(owner: &[usize], [width, height]: [usize; 2], kind: usize) -> Option<Vec<[f64; 2]>> {
    let is_own = |x: i64, y: i64| {
        x >= 0
            && y >= 0
            && x < width as i64
            && y < height as i64
            && owner[x as usize * height + y as usize] == kind
    };
    let mut edges = std::collections::BTreeMap::new();
    for x in 0..width as i64 {
        for y in 0..height as i64 {
            if !is_own(x, y) {
                continue;
            }
            let around = [
                ((x, y), (x + 1, y), (x, y - 1)),
                ((x + 1, y), (x + 1, y + 1), (x + 1, y)),
                ((x + 1, y + 1), (x, y + 1), (x, y + 1)),
                ((x, y + 1), (x, y), (x - 1, y)),
            ];
            for (from, to, beyond) in around {
                if !is_own(beyond.0, beyond.1) && edges.insert(from, to).is_some() {
                    return None;
                }
            }
        }
    }
    let start = *edges.keys().next()?;
    let (mut ring, mut at) = (Vec::new(), start);
    while ring.is_empty() || at != start {
        ring.push([at.0 as f64, at.1 as f64]);
        at = *edges.get(&at)?;
    }
    (ring.len() == edges.len()).then(|| without_straight(ring))
}

/// Outlines as drawn for production: `n_pieces` of some kinds, 300 to 2000 mm long, each of a few
/// straight and curved sides that bulge or are hollow, digitised closely (50 to 400 vertices) with
/// an uncertainty of 0.2 mm, some with small notches.
pub(crate) fn production(random: &mut Random, n_pieces: usize) -> Family {
    let n_kinds = (n_pieces / 4).max(1);
    let items = (0..n_kinds).map(|kind| {
        let demand = n_pieces / n_kinds + usize::from(kind < n_pieces % n_kinds);
        let ring = loop {
            let ring = drawn(random);
            if is_simple(&ring) {
                break ring;
            }
        };
        Item::solid(ring, &TURNS, demand)
    });
    (1500.0, items.collect())
}

/// One such outline.
fn drawn(random: &mut Random) -> Vec<[f64; 2]> {
    let n_corners = 4 + random.below(5);
    let (long, wide) = (random.between(150.0, 1000.0), random.between(100.0, 450.0));
    let corner = |random: &mut Random, k: usize| {
        let at = std::f64::consts::TAU * (k as f64 + random.between(-0.25, 0.25));
        let (sin, cos) = sin_cos_radians(at / n_corners as f64);
        let r = random.between(0.6, 1.0);
        [long * r * cos, wide * r * sin]
    };
    let corners: Vec<[f64; 2]> = (0..n_corners).map(|k| corner(random, k)).collect();
    let per_side = random.between(50.0, 400.0) / n_corners as f64;
    let mut ring = Vec::new();
    for k in 0..n_corners {
        let (a, b) = (corners[k], corners[(k + 1) % n_corners]);
        let by = [b[0] - a[0], b[1] - a[1]];
        let bulge = match random.below(3) {
            0 => 0.0,
            _ => random.between(-0.35, 0.25),
        };
        let is_notched = random.below(4) == 0;
        let n = per_side.max(8.0) as usize;
        for step in 0..n {
            let t = step as f64 / n as f64;
            let sin = sin_cos_radians(std::f64::consts::PI * t).0;
            let mut out = bulge * sin;
            if is_notched && step == n / 2 {
                out -= 6.0 / by[0].hypot(by[1]);
            }
            let noise = if step == 0 {
                0.0
            } else {
                random.between(-0.1, 0.1)
            };
            // Counter-clockwise: outward is to the right of the way.
            let along = by[0].hypot(by[1]);
            ring.push([
                a[0] + t * by[0] + (out + noise / along) * by[1],
                a[1] + t * by[1] - (out + noise / along) * by[0],
            ]);
        }
    }
    ring
}
