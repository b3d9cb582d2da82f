//! Jobs as they come to the cutting table: the plies of skins, frames, lids, knees, ribs and strips
//! at 0°, ±45° and 90°, with trim, stepped edges, left and right hands, and the turns of their cloth.

use std::f64::consts::{FRAC_PI_2, PI};

use warpwise::geometry::trig::sin_cos_radians;
use warpwise::geometry::{Join, Outline, Point, Ring, offset};

use super::Item;
use super::generate::Random;

/// Width of the roll in mm: 50 in, the usual one. All of it is taken as usable.
pub(crate) const ROLL_WIDTH: f64 = 1270.0;
/// Least distance between two cut lines, mm.
pub(crate) const GAP: f64 = 2.0;
/// Cloth beyond the net line of a first ply, all round, mm.
const TRIM: f64 = 12.0;
/// Each ply ends this much inside the one below it, mm.
const STEP: f64 = 4.0;

/// What the cloth permits.
#[derive(Clone, Copy)]
pub(crate) enum Weave {
    /// Warp and weft alike: every quarter turn shows the same fibres.
    Balanced,
    /// Fibres along the warp only: end for end.
    Unidirectional,
}

impl Weave {
    /// The permitted rotations of a ply at `angle` degrees that is seen or not.
    fn rotations(self, angle: f64, is_seen: bool) -> Vec<f64> {
        let step = match self {
            // The weave's lines run the same way on every part that is seen.
            Self::Balanced if !is_seen => 90.0,
            _ => 180.0,
        };
        let n = (360.0 / step) as u32;
        (0..n)
            .map(|k| (step * f64::from(k) - angle).rem_euclid(360.0))
            .collect()
    }
}

/// A part: its net outline, the angles of its plies, whether the first is seen, how many are made.
struct Part {
    net: Outline,
    angles: &'static [f64],
    is_seen: bool,
    sets: usize,
}

/// `n_pieces` plies on one cloth.
pub(crate) fn plies(random: &mut Random, n_pieces: usize, weave: Weave) -> Vec<Item> {
    let mut items = Vec::new();
    let mut left = n_pieces;
    for kind in (0..).map(|k| k % 6) {
        for part in parts(kind, random) {
            for (k, &angle) in part.angles.iter().enumerate() {
                if left == 0 {
                    return items;
                }
                let by = TRIM - STEP * k as f64;
                let cut = offset(&part.net, by, Join::Round).expect("the parts are wide enough");
                let demand = part.sets.min(left);
                left -= demand;
                items.push(Item {
                    demand,
                    allowed_rotations_deg: weave.rotations(angle, part.is_seen && k == 0),
                    outline: points(&cut.outer),
                    openings: cut.openings.iter().map(points).collect(),
                });
            }
        }
    }
    items
}

fn parts(kind: u32, random: &mut Random) -> Vec<Part> {
    let one = |net, angles, is_seen, sets| {
        vec![Part {
            net,
            angles,
            is_seen,
            sets,
        }]
    };
    match kind {
        0 => {
            let port = skin(random);
            let starboard = mirrored(&port);
            let hand = |net| one(net, &[0.0, 45.0, -45.0, 90.0], true, 1);
            hand(port).into_iter().chain(hand(starboard)).collect()
        }
        1 => one(frame(random), &[0.0, 45.0, 90.0], false, 2),
        2 => one(lid(random), &[0.0, 90.0], true, 2),
        3 => one(knee(random), &[45.0, 0.0], false, 4),
        4 => one(rib(random), &[45.0, -45.0], false, 2),
        _ => one(strip(random), &[0.0, 0.0, 0.0], false, 2),
    }
}

/// The skin of a tapered blade with a curved leading edge.
fn skin(random: &mut Random) -> Outline {
    let length = random.between(450.0, 850.0);
    let (root, tip) = (random.between(150.0, 280.0), random.between(60.0, 120.0));
    let sweep = 0.2 * (root - tip);
    let n = 36;
    let nose = (0..=n).map(|k| {
        let t = f64::from(k) / f64::from(n);
        let (_, cos) = sin_cos_radians(FRAC_PI_2 * (1.0 - t));
        Point::new(length * (1.0 - t), sweep + tip + (root - tip - sweep) * cos)
    });
    solid(
        [Point::new(0.0, 0.0), Point::new(length, sweep)]
            .into_iter()
            .chain(nose),
    )
}

/// A hatch frame: rounded outside, one rounded opening that small pieces fit into.
fn frame(random: &mut Random) -> Outline {
    let (width, height) = (random.between(260.0, 440.0), random.between(220.0, 340.0));
    let border = random.between(30.0, 45.0);
    let opening = rounded(width - 2.0 * border, height - 2.0 * border, 30.0)
        .map(move |p| Point::new(p.x + border, p.y + border));
    Outline {
        openings: vec![ring(opening)],
        ..solid(rounded(width, height, 60.0))
    }
}

/// A rounded lid.
fn lid(random: &mut Random) -> Outline {
    let (width, height) = (random.between(180.0, 340.0), random.between(140.0, 260.0));
    solid(rounded(width, height, 45.0))
}

/// A bracket between two legs, its third side hollowed out.
fn knee(random: &mut Random) -> Outline {
    let (long, short) = (random.between(150.0, 260.0), random.between(110.0, 180.0));
    let end = 35.0;
    let n = 24;
    let hollow = (0..=n).map(|k| {
        let (sin, cos) = sin_cos_radians(FRAC_PI_2 * f64::from(k) / f64::from(n));
        Point::new(long - (long - end) * sin, short - (short - end) * cos)
    });
    solid(
        [Point::new(0.0, 0.0), Point::new(long, 0.0)]
            .into_iter()
            .chain(hollow)
            .chain([Point::new(0.0, short)]),
    )
}

/// The section of a wing: the thickness of the NACA four-digit family (Jacobs, Ward and Pinkerton
/// 1933, NACA report 460), with a closed tail.
fn rib(random: &mut Random) -> Outline {
    let (chord, thickness) = (random.between(220.0, 460.0), random.between(0.12, 0.2));
    let n = 40;
    solid((0..2 * n).map(|k| {
        let (sin, cos) = sin_cos_radians(PI * f64::from(k) / f64::from(n));
        let x = 0.5 * (1.0 + cos);
        let half = 5.0
            * thickness
            * (0.2969 * x.sqrt() - x * (0.126 + x * (0.3516 - x * (0.2843 - x * 0.1036))));
        Point::new(chord * x, chord * half * sin.signum())
    }))
}

/// A spar cap or a reinforcement.
fn strip(random: &mut Random) -> Outline {
    let (length, width) = (random.between(300.0, 900.0), random.between(40.0, 80.0));
    solid([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]].map(|[x, y]| Point::new(x, y)))
}

/// A rectangle with its corner at the origin and corners of radius `r`.
fn rounded(width: f64, height: f64, r: f64) -> impl Iterator<Item = Point> {
    let n = 12;
    let corners = [
        (width - r, r, -0.5),
        (width - r, height - r, 0.0),
        (r, height - r, 0.5),
        (r, r, 1.0),
    ];
    corners.into_iter().flat_map(move |(x, y, start)| {
        (0..=n).map(move |k| {
            let (sin, cos) = sin_cos_radians(PI * (start + f64::from(k) / f64::from(2 * n)));
            Point::new(x + r * cos, y + r * sin)
        })
    })
}

fn mirrored(outline: &Outline) -> Outline {
    solid((outline.outer.points().iter().rev()).map(|p| Point::new(p.x, -p.y)))
}

fn solid(points: impl IntoIterator<Item = Point>) -> Outline {
    Outline::solid(ring(points))
}

fn ring(points: impl IntoIterator<Item = Point>) -> Ring {
    Ring::new(points).expect("the parts are drawn without faults")
}

/// Coordinates to the thousandth of a millimetre, as a pattern file would hold them.
fn points(ring: &Ring) -> Vec<[f64; 2]> {
    let round = |x: f64| (x * 1e3).round() / 1e3;
    ring.points()
        .iter()
        .map(|p| [round(p.x), round(p.y)])
        .collect()
}
