//! Dots in a picture: the middle of each to a few hundredths of a pixel.

use super::board::{Board, DOT, PITCH};
use super::fit::{BoardPose, SeenPoint};
use super::picture::DecodedPicture;
use crate::geometry::{Point, Vector};

/// A dot must be dark by this part of its surroundings.
const DARK: f64 = 0.5;
/// What lies around a dot is white, and alike all round within this part.
const ALIKE: f64 = 0.72;
/// Places around a dot that are looked at.
const AROUND: usize = 16;

/// The dots of `board` that are seen whole in `picture`, near where `scene` has them.
pub(super) fn find(picture: &DecodedPicture, board: &Board, scene: &BoardPose) -> Vec<SeenPoint> {
    let dots = board.dots();
    let mut seen = Vec::new();
    for tile in board.tiles() {
        for &at in &dots {
            let Some((pixel, right, up)) = scene.disc(tile, at, DOT / 2.0) else {
                continue;
            };
            if let Some(pixel) = middle(picture, pixel, right, up) {
                seen.push(SeenPoint {
                    tile,
                    at,
                    pixel,
                    view: 0,
                });
            }
        }
    }
    seen
}

/// The middle of the dot near `guess` whose rim is so far from it to the right and up.
fn middle(picture: &DecodedPicture, guess: Point, right: Vector, up: Vector) -> Option<Point> {
    let mut at = guess;
    let size = right.length().max(up.length());
    if !(1.5..200.0).contains(&size) {
        return None;
    }
    let mut last = f64::INFINITY;
    for _ in 0..6 {
        let next = centroid(picture, at, right, up)?;
        last = next.distance(at);
        at = next;
        if at.distance(guess) > 0.5 * size * PITCH / DOT {
            return None;
        }
        if last < 0.02 {
            break;
        }
    }
    (last < 0.3).then_some(at)
}

fn centroid(picture: &DecodedPicture, at: Point, right: Vector, up: Vector) -> Option<Point> {
    /// Radii of the circle where there is paper, and of the window, in radii of the dot.
    const RING: f64 = 1.9;
    const WINDOW: f64 = 1.6;
    let (w, h) = (picture.width as f64, picture.height as f64);
    let reach_x = RING * (right.x.abs() + up.x.abs()) + 1.0;
    let reach_y = RING * (right.y.abs() + up.y.abs()) + 1.0;
    if at.x < reach_x || at.y < reach_y || at.x > w - reach_x || at.y > h - reach_y {
        return None;
    }
    let around: Vec<f64> = (0..AROUND)
        .map(|k| {
            let (sin, cos) = crate::geometry::trig::sin_cos_radians(
                std::f64::consts::TAU * k as f64 / AROUND as f64,
            );
            picture.brightness_at(at + right * (RING * cos) + up * (RING * sin))
        })
        .collect();
    let (low, high) = around
        .iter()
        .fold((f64::MAX, 0.0_f64), |(l, h), &v| (l.min(v), h.max(v)));
    let white = around.iter().sum::<f64>() / AROUND as f64;
    if low < ALIKE * high || white < 0.02 {
        return None;
    }
    let black = picture.brightness_at(at);
    if black > DARK * white {
        return None;
    }
    // In the dot's own coordinates, so that the window is round on the board.
    let turn = right.cross(up);
    let inverse = |d: Vector| Vector::new(d.cross(up) / turn, right.cross(d) / turn);
    let (mut sum, mut sum_x, mut sum_y, mut wanted) = (0.0, 0.0, 0.0, 0.0);
    let span = |c: f64, r: f64| ((c - r).floor() as isize, (c + r).ceil() as isize);
    let (x0, x1) = span(at.x, WINDOW * (right.x.abs() + up.x.abs()));
    let (y0, y1) = span(at.y, WINDOW * (right.y.abs() + up.y.abs()));
    for y in y0..=y1 {
        for x in x0..=x1 {
            let d = Point::new(x as f64 + 0.5, y as f64 + 0.5) - at;
            let own = inverse(d);
            let far = own.length();
            if far > WINDOW {
                continue;
            }
            wanted += f64::from(u8::from(far < 1.0));
            let ink = (white - picture.brightness(x, y)) / (white - black);
            // Noise of the paper far from the middle would pull.
            let ink = if far > 1.25 && ink < 0.15 { 0.0 } else { ink };
            sum += ink;
            sum_x += ink * d.x;
            sum_y += ink * d.y;
        }
    }
    let is_dot = sum > 0.6 * wanted && sum < 1.6 * wanted;
    is_dot.then(|| at + Vector::new(sum_x / sum, sum_y / sum))
}
