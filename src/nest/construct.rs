//! A first valid layout: one piece after another, largest first, each as far left as it goes.
//!
//! At a given y every pair of convex parts forbids one exact interval of x, so the leftmost free x
//! on a scan line is found without trial and error, also inside openings and between pieces.

mod front;

use super::measure::Depths;
use super::shape::Scene;
use super::strip::{Pose, Poses, room};
use crate::geometry::{Bounds, Point};
use front::Front;

/// Scan lines tried for each piece and turn. More: denser start; fewer: faster with many pieces.
const N_LINES: usize = 12;
/// With more pieces than this, the number of lines is brought down.
const MANY: usize = 150;

/// Scan lines through the edges of what lies already, at most, where room is tight.
const N_CONTACTS: usize = 40;

/// What lies already: a variant and where its middle is.
pub(super) type Lying = (usize, Point);

/// What lies there before any piece does.
pub(super) fn obstacles(scene: &Scene) -> Vec<Lying> {
    let obstacles = scene.obstacles.iter();
    obstacles.map(|o| (o.variant, o.at)).collect()
}

/// A piece at its pose as it lies.
pub(super) fn lying(scene: &Scene, piece: usize, pose: Pose) -> Lying {
    let variant = scene.pieces[piece].choices[pose.choice].variant;
    (variant, pose.at)
}

/// Of a piece that fits in none of its turns; a scene holds none such.
const UNPLACED: Pose = Pose::straight(0, Point::new(0.0, 0.0));

/// A valid layout in a strip as long as needed; pieces are placed in `order`.
pub(super) fn bottom_left(scene: &Scene, measure: &Depths, order: &[usize]) -> Poses {
    let n = scene.pieces.len();
    let mut poses = vec![UNPLACED; n];
    let mut front = Front::new(scene, measure);
    let n_lines = if n > MANY { N_LINES / 2 } else { N_LINES };
    for &piece in order {
        poses[piece] = front.find(piece, n_lines).unwrap_or(UNPLACED);
        front.add(lying(scene, piece, poses[piece]));
    }
    poses
}

/// A valid layout whatever the pieces: each in a stretch of the strip of its own, beyond all
/// obstacles.
pub(super) fn one_after_another(scene: &Scene, order: &[usize]) -> Poses {
    let obstacles = scene.obstacles.iter();
    let ends = obstacles.map(|o| o.at.x + scene.variants[o.variant].grown.max.x);
    let mut end = ends.fold(0.0, f64::max);
    let mut poses = vec![UNPLACED; scene.pieces.len()];
    for &piece in order {
        let mut choices = scene.pieces[piece].choices.iter().enumerate();
        let fitting = choices.find_map(|(choice, option)| {
            let variant = &scene.variants[option.variant];
            let room = room(variant, f64::INFINITY, scene.width)?;
            Some((choice, variant, room))
        });
        if let Some((choice, variant, room)) = fitting {
            let x = (end - variant.grown.min.x).max(room.min.x);
            poses[piece] = Pose::straight(choice, Point::new(x, room.min.y));
            end = x + variant.grown.max.x;
        }
    }
    poses
}

/// Pieces by falling hull area, equal ones in order of index.
pub(super) fn by_size(scene: &Scene) -> Vec<usize> {
    let mut order: Vec<usize> = (0..scene.pieces.len()).collect();
    order.sort_by(|&a, &b| {
        scene.pieces[b]
            .hull_area
            .total_cmp(&scene.pieces[a].hull_area)
            .then(a.cmp(&b))
    });
    order
}

/// The leftmost place of `piece` in a strip of `length`, or `None` if no line has one. `lines`
/// gives the values of y to try for a variant in its room. `first_free` answers, for the variant, the
/// number of its line, y, the least x and the x beyond which the answer no longer matters, the least
/// free x.
fn leftmost(
    scene: &Scene,
    piece: usize,
    length: f64,
    lines: impl Fn(usize, &Bounds) -> Vec<f64>,
    mut first_free: impl FnMut(usize, (usize, f64), f64, f64) -> f64,
) -> Option<Pose> {
    let mut best: Option<(f64, f64, Pose)> = None;
    for (choice, option) in scene.pieces[piece].choices.iter().enumerate() {
        let variant = &scene.variants[option.variant];
        let Some(room) = room(variant, length, scene.width) else {
            continue;
        };
        for line in lines(option.variant, &room).into_iter().enumerate() {
            // What ends where the best does may still lie lower, rounding or not.
            let most = best.map_or(f64::INFINITY, |(end, ..)| {
                end - variant.net.max.x + 1e-9 * (1.0 + end.abs())
            });
            let x = first_free(option.variant, line, room.min.x, most.min(room.max.x));
            if x > room.max.x {
                continue;
            }
            let y = line.1;
            let (end, low) = (x + variant.net.max.x, y + variant.net.min.y);
            if best.is_none_or(|(e, l, _)| end < e || (end == e && low < l)) {
                best = Some((end, low, Pose::straight(choice, Point::new(x, y))));
            }
        }
    }
    best.map(|(_, _, pose)| pose)
}

/// Adds to `spans` where on the line at `y` a piece of `variant` may not lie because of `other`;
/// `forbidden` adds those as seen from it.
fn forbidden_by(
    scene: &Scene,
    variant: usize,
    y: f64,
    (other, at): Lying,
    spans: &mut Vec<(f64, f64)>,
    forbidden: impl FnOnce(f64, &mut Vec<(f64, f64)>),
) {
    let (known, own) = (&scene.variants[other].grown, &scene.variants[variant].grown);
    if at.y + known.min.y >= y + own.max.y || at.y + known.max.y <= y + own.min.y {
        return;
    }
    let first = spans.len();
    forbidden(y - at.y, spans);
    for span in &mut spans[first..] {
        *span = (span.0 + at.x, span.1 + at.x);
    }
}

/// The leftmost place of `piece` in a strip of fixed length, or `None` if no scan line has one.
///
/// In addition to evenly spaced lines it tries those on which the piece would touch something
/// above or below, and leaves no hair's breadth, so that what fits exactly is found.
pub(super) fn snug(
    scene: &Scene,
    measure: &Depths,
    piece: usize,
    there: &[Lying],
    work: &mut u64,
) -> Option<Pose> {
    let lines = |variant, room: &Bounds| contact_lines(scene, variant, room, there);
    let mut spans = Vec::new();
    leftmost(
        scene,
        piece,
        scene.length,
        lines,
        |variant, line, from, _| {
            spans.clear();
            for &other in there {
                let pair = (other.0, variant);
                forbidden_by(scene, variant, line.1, other, &mut spans, |by, spans| {
                    measure.forbidden_exactly(pair, by, spans, work);
                });
            }
            first_free(&mut spans, from)
        },
    )
}

/// Evenly spaced values of y; one where there is no choice.
fn even_lines(room: &Bounds, n_lines: usize) -> Vec<f64> {
    let n = if room.max.y <= room.min.y { 1 } else { n_lines };
    let share = |line: usize| line as f64 / (n_lines - 1).max(1) as f64;
    let lines = (0..n).map(|line| room.min.y + share(line) * (room.max.y - room.min.y));
    lines.collect()
}

/// Values of y worth trying for a variant among what lies there, rising.
fn contact_lines(scene: &Scene, variant: usize, room: &Bounds, there: &[Lying]) -> Vec<f64> {
    let own = &scene.variants[variant];
    let (lo, hi) = (room.min.y, room.max.y);
    let even = (0..N_LINES).map(|k| lo + (hi - lo) * k as f64 / (N_LINES - 1) as f64);
    let mut contacts: Vec<f64> = (there.iter())
        .flat_map(|&(other, at)| {
            let known = &scene.variants[other];
            let b = if known.is_obstacle {
                &own.net
            } else {
                &own.grown
            };
            [
                at.y + known.grown.max.y - b.min.y,
                at.y + known.grown.min.y - b.max.y,
            ]
        })
        .filter(|y| (lo..=hi).contains(y))
        .collect();
    let same = |a: &mut f64, b: &mut f64| (*a - *b).abs() <= 1e-9 * scene.unit;
    contacts.sort_by(f64::total_cmp);
    contacts.dedup_by(same);
    let step = contacts.len().div_ceil(N_CONTACTS).max(1);
    let mut lines: Vec<f64> = contacts.into_iter().step_by(step).chain(even).collect();
    lines.sort_by(f64::total_cmp);
    lines.dedup_by(same);
    lines
}

/// The least x ≥ `from` in none of the open intervals `spans`.
fn first_free(spans: &mut [(f64, f64)], from: f64) -> f64 {
    spans.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut x = from;
    for &(lo, hi) in spans.iter() {
        if lo >= x {
            break;
        }
        if hi > x {
            x = hi;
        }
    }
    x
}
