//! Pixels that have something in common, and the lines around them.

use std::collections::BTreeMap;

use crate::geometry::{Point, Ring};

/// Which pixels of a picture belong to something.
#[derive(Clone, Debug)]
pub(super) struct AreaMask {
    width: usize,
    height: usize,
    pixels: Vec<bool>,
}

/// How far (pixels of the mask) a line around pixels may be off.
const SIMPLIFY: f64 = 0.45;

/// From the middle of a pixel to that of the next across a corner.
const DIAGONAL: f64 = std::f64::consts::SQRT_2;

/// Smaller areas (pixels of the mask) are specks.
const SPECK: f64 = 12.0;

impl AreaMask {
    /// The pixels of which `is_wanted` (by their index, row by row from the top).
    pub(super) fn of(width: usize, height: usize, is_wanted: impl Fn(usize) -> bool) -> Self {
        Self {
            width,
            height,
            pixels: (0..width * height).map(is_wanted).collect(),
        }
    }

    fn has(&self, x: i32, y: i32) -> bool {
        let is_in = (0..self.width as i32).contains(&x) && (0..self.height as i32).contains(&y);
        is_in && self.pixels[y as usize * self.width + x as usize]
    }

    /// The lines around its areas and openings, in pixels, through the middles of the sides of pixels; without
    /// specks.
    pub(super) fn rings(&self) -> Vec<Vec<Point>> {
        // Sides from corner to corner with the area to one hand, by where they begin.
        let mut sides: BTreeMap<(i32, i32), Vec<(i32, i32)>> = BTreeMap::new();
        for y in 0..self.height as i32 {
            for x in (0..self.width as i32).filter(|&x| self.has(x, y)) {
                let around = [
                    ((x, y - 1), (x, y), (x + 1, y)),
                    ((x + 1, y), (x + 1, y), (x + 1, y + 1)),
                    ((x, y + 1), (x + 1, y + 1), (x, y + 1)),
                    ((x - 1, y), (x, y + 1), (x, y)),
                ];
                for (beside, from, to) in around {
                    if !self.has(beside.0, beside.1) {
                        sides.entry(from).or_default().push(to);
                    }
                }
            }
        }
        let mut rings = Vec::new();
        while let Some((&start, _)) = sides.first_key_value() {
            let mut corners = vec![start];
            while let Some(next) = corners.last().and_then(|&at| take(&mut sides, at)) {
                if next == start {
                    break;
                }
                corners.push(next);
            }
            rings.extend(smooth(&corners));
        }
        rings
    }

    /// The pixel that lies furthest inside, and how far its middle is from the edge, pixels.
    pub(super) fn innermost(&self) -> Option<(Point, f64)> {
        // From pixel to pixel, twice over: down from the upper left, up from the lower right.
        let (w, h) = (self.width as i32, self.height as i32);
        let mut off = vec![0.0_f64; self.pixels.len()];
        let step = |off: &mut Vec<f64>, x: i32, y: i32, from: [(i32, i32, f64); 4]| {
            let at = (y * w + x) as usize;
            let by = |&(dx, dy, length): &(i32, i32, f64)| match self.has(x + dx, y + dy) {
                true => off[((y + dy) * w + x + dx) as usize] + length,
                false => 0.5,
            };
            let least = from.iter().map(by).fold(off[at], f64::min);
            off[at] = least;
        };
        for (at, &is) in self.pixels.iter().enumerate() {
            off[at] = if is { f64::INFINITY } else { 0.0 };
        }
        for y in 0..h {
            for x in (0..w).filter(|&x| self.has(x, y)) {
                let from = [
                    (-1, 0, 1.0),
                    (0, -1, 1.0),
                    (-1, -1, DIAGONAL),
                    (1, -1, DIAGONAL),
                ];
                step(&mut off, x, y, from);
            }
        }
        for y in (0..h).rev() {
            for x in (0..w).rev().filter(|&x| self.has(x, y)) {
                let from = [
                    (1, 0, 1.0),
                    (0, 1, 1.0),
                    (1, 1, DIAGONAL),
                    (-1, 1, DIAGONAL),
                ];
                step(&mut off, x, y, from);
            }
        }
        let (mut best, mut most) = (None, 0.0);
        for (at, &off) in off.iter().enumerate() {
            if self.pixels[at] && off > most {
                most = off;
                best = Some(at);
            }
        }
        let at = best?;
        let (x, y) = (at % self.width, at / self.width);
        Some((Point::new(x as f64 + 0.5, y as f64 + 0.5), most))
    }
}

/// Takes a side that begins at `at`.
fn take(sides: &mut BTreeMap<(i32, i32), Vec<(i32, i32)>>, at: (i32, i32)) -> Option<(i32, i32)> {
    let there = sides.get_mut(&at)?;
    let next = there.pop();
    if there.is_empty() {
        sides.remove(&at);
    }
    next
}

/// The ring through the middles of the sides between `corners`; none of a speck.
fn smooth(corners: &[(i32, i32)]) -> Option<Vec<Point>> {
    let n = corners.len();
    let middle = |k: usize| {
        let ((x, y), (u, v)) = (corners[k], corners[(k + 1) % n]);
        Point::new(f64::from(x + u) / 2.0, f64::from(y + v) / 2.0)
    };
    let ring = Ring::new((0..n).map(middle)).ok()?;
    let is_speck = ring.area() < SPECK;
    (!is_speck).then(|| ring.simplified(SIMPLIFY).points().to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_with_an_opening_has_two_rings_and_its_area() {
        let (w, h) = (120, 100);
        let off = |at: usize, x: f64, y: f64| {
            let (dx, dy) = ((at % w) as f64 + 0.5 - x, (at / w) as f64 + 0.5 - y);
            dx.hypot(dy)
        };
        let mask = AreaMask::of(w, h, |at| {
            off(at, 60.0, 50.0) < 40.0 && off(at, 50.0, 50.0) > 15.0
        });
        let rings = mask.rings();
        let mut areas: Vec<f64> = rings
            .iter()
            .map(|ring| Ring::new(ring.iter().copied()).unwrap().area())
            .collect();
        areas.sort_by(f64::total_cmp);
        let exact = [15.0, 40.0].map(|r: f64| std::f64::consts::PI * r * r);
        assert_eq!(areas.len(), 2);
        for (found, exact) in areas.into_iter().zip(exact) {
            assert!((found / exact - 1.0).abs() < 0.02, "{found} for {exact}");
        }
        // The widest place lies to the right of the opening.
        let (at, off) = mask.innermost().unwrap();
        assert!(
            (at.x - 82.5).abs() < 2.0 && (off - 17.5).abs() < 1.5,
            "{at:?} {off}"
        );
        let points: usize = rings.iter().map(Vec::len).sum();
        assert!(points < 120, "{points} points");
    }
}
