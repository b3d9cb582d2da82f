//! Moving and turning all pieces at once: every pair of convex parts that overlaps is pushed apart
//! along its shallowest way, at the middle of the overlap, so that the push also turns both pieces;
//! sweep after sweep, until nothing overlaps or patience ends.
//!
//! What `joint` does for shifts alone. A push shares itself between shifting and turning as a blow
//! does: by mass and by moment of inertia, all masses alike (position-based dynamics: Müller,
//! Heidelberger, Hennix and Ratcliff 2007, Journal of Visual Communication and Image
//! Representation 18).

use super::bodies::{Bodies, Contact};
use crate::geometry::Point;

/// Pairs whose boxes are this share of the unit apart are still looked at. Larger: slower sweeps;
/// smaller: pieces pushed a long way meet pieces that are not looked at.
const REACH: f64 = 0.15;
/// Pushes are this much longer than the depth asks: pieces come clear of each other in finitely
/// many sweeps.
const EXTRA: f64 = 1.2;
/// Added to each push, as a share of the unit, for the same reason.
const CLEAR: f64 = 1e-7;
/// Every so many sweeps, the depths must have fallen below this share, or the attempt is given up.
const CHECK_EVERY: usize = 10;
const PROMISING: f64 = 0.8;

/// Pairs of pieces that are near each other, with what told their parts apart.
#[derive(Clone, Debug, Default)]
struct Neighbours {
    pairs: Vec<(usize, usize)>,
    /// First axis of each pair.
    starts: Vec<usize>,
    axes: Vec<u32>,
    /// Where the pieces were when this was made.
    listed_at: Vec<(Point, f64)>,
}

/// Pushes overlapping pieces apart for at most `n_sweeps`; whether nothing overlaps in the end and
/// all pieces lie in the strip.
///
/// The pieces are left where they came in either case.
pub(super) fn push_apart(bodies: &mut Bodies, n_sweeps: usize) -> bool {
    let mut near = Neighbours::of(bodies);
    let mut mark = f64::INFINITY;
    for sweep in 0..n_sweeps {
        let mut total = 0.0;
        for (k, &pair) in near.pairs.iter().enumerate() {
            let axes = &mut near.axes[near.starts[k]..near.starts[k + 1]];
            bodies.contacts(pair, axes, &mut |bodies, contact| {
                total += contact.depth;
                separate(bodies, pair, &contact);
            });
        }
        total += bodies.confine_all();
        let is_fresh = near.is_fresh(bodies);
        if total == 0.0 && is_fresh {
            return true;
        }
        if sweep % CHECK_EVERY == CHECK_EVERY - 1 {
            if total > PROMISING * mark {
                return false;
            }
            mark = total;
        }
        if !is_fresh {
            near = Neighbours::of(bodies);
        }
    }
    false
}

/// Pushes both pieces of a contact apart.
fn separate(bodies: &mut Bodies, (i, j): (usize, usize), contact: &Contact) {
    let way = contact.way;
    let lever_i = contact.centre;
    let lever_j = contact.centre - (bodies.lie(j).at - bodies.lie(i).at);
    let turn_i = bodies.turn_for_push(i, lever_i, -way);
    let turn_j = bodies.turn_for_push(j, lever_j, way);
    // How far the contact opens for each mm that both middles are pushed.
    let opens = 2.0 + turn_i * lever_i.cross(-way) + turn_j * lever_j.cross(way);
    let push = (contact.depth * EXTRA + CLEAR * bodies.scene.unit) / opens;
    bodies.shove(i, way * -push, (turn_i * push).to_degrees());
    bodies.shove(j, way * push, (turn_j * push).to_degrees());
}

impl Neighbours {
    /// Pairs whose boxes overlap or nearly do, left to right.
    fn of(bodies: &Bodies) -> Self {
        let margin = REACH * bodies.scene.unit;
        let mut frames: Vec<_> = (0..bodies.len()).map(|k| (k, bodies.bounds(k))).collect();
        frames.sort_by(|a, b| a.1.min.x.total_cmp(&b.1.min.x).then(a.0.cmp(&b.0)));
        let mut near = Self {
            starts: vec![0],
            ..Self::default()
        };
        let mut n_axes = 0;
        for (n, &(i, a)) in frames.iter().enumerate() {
            for &(j, b) in &frames[n + 1..] {
                if b.min.x >= a.max.x + margin {
                    break;
                }
                if a.min.y - margin < b.max.y && b.min.y - margin < a.max.y {
                    near.pairs.push((i, j));
                    n_axes += bodies.n_part_pairs(i, j);
                    near.starts.push(n_axes);
                }
            }
        }
        near.axes = vec![0; n_axes];
        near.listed_at = bodies.lies().iter().map(|lie| (lie.at, lie.tilt)).collect();
        near
    }

    /// Whether no piece has moved so far that its neighbours may have changed.
    fn is_fresh(&self, bodies: &Bodies) -> bool {
        let far = 0.5 * REACH * bodies.scene.unit;
        self.listed_at.iter().enumerate().all(|(k, &(at, tilt))| {
            let lie = bodies.lie(k);
            let swept = bodies.radius(k) * (lie.tilt - tilt).abs().to_radians();
            lie.at.distance(at) + swept <= far
        })
    }
}
