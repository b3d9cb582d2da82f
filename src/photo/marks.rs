//! Coded marks in a picture: dark regions with four straight sides whose squares say something sensible.

use super::code::{CELLS, MarkCode};
use super::picture::Grey;
use super::regions::PixelMask;
use super::shape::line;
use super::solve::{homography, mapped};
use crate::geometry::{Point, Vector};

/// A mark that was seen.
#[derive(Clone, Debug)]
pub(super) struct FoundMark {
    pub(super) label: MarkCode,
    /// Its corners in pixels of the whole picture: upper left, upper right, lower right, lower left, as printed.
    pub(super) corners: [Point; 4],
}

/// Smallest mark, in pixels of the small picture: two for each square.
const SMALLEST: usize = 2 * CELLS + 2;
/// Half the side of the window around a pixel whose mean its darkness is held against, as a part of the picture's
/// longer side.
const WINDOW: usize = 36;
/// Darker than this part of that mean is dark.
const DARK: f64 = 0.62;
/// Least difference of black and white, of 255.
const CONTRAST: f64 = 25.0;

/// The marks in a picture.
pub(super) fn find(grey: &Grey) -> Vec<FoundMark> {
    let dark = darker_than_around(grey);
    let regions = dark.regions();
    let mut found: Vec<FoundMark> = Vec::new();
    for (i, region) in regions.all.iter().enumerate() {
        let [w, h] = [0, 1].map(|k| region.high[k] - region.low[k] + 1);
        let most = grey.width.max(grey.height) / 4;
        let is_likely = w.min(h) >= SMALLEST && w.max(h) <= most && w.max(h) <= 4 * w.min(h);
        if !is_likely || region.pixels * 6 < w * h {
            continue;
        }
        let line = regions.around(i);
        let mark = quad(&line).and_then(|rough| read(grey, refined(grey, rough)?));
        if let Some(mark) = mark
            && found.iter().all(|other| other.label != mark.label)
        {
            found.push(mark);
        }
    }
    found
}

fn darker_than_around(grey: &Grey) -> PixelMask {
    let (width, height) = (grey.width, grey.height);
    let half = width.max(height) / WINDOW;
    // Sums of all values above and to the left.
    let mut sums = vec![0_u32; (width + 1) * (height + 1)];
    for y in 0..height {
        let mut row = 0;
        for x in 0..width {
            row += u32::from(grey.values[y * width + x]);
            sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1].wrapping_add(row);
        }
    }
    let mut is_in = Vec::with_capacity(width * height);
    for y in 0..height {
        let (top, bottom) = (y.saturating_sub(half), (y + half + 1).min(height));
        for x in 0..width {
            let (left, right) = (x.saturating_sub(half), (x + half + 1).min(width));
            let at = |x: usize, y: usize| sums[y * (width + 1) + x];
            let sum = at(right, bottom)
                .wrapping_add(at(left, top))
                .wrapping_sub(at(right, top))
                .wrapping_sub(at(left, bottom));
            let mean = f64::from(sum) / ((right - left) * (bottom - top)) as f64;
            is_in.push(f64::from(grey.values[y * width + x]) < DARK * mean);
        }
    }
    PixelMask {
        width,
        height,
        is_in,
    }
}

/// The four corners of a line around something with four straight sides, in the order of the line.
fn quad(line: &[Point]) -> Option<[Point; 4]> {
    let far = |score: &dyn Fn(Point) -> f64| {
        let best = (0..line.len()).max_by(|&a, &b| score(line[a]).total_cmp(&score(line[b])));
        best.map(|i| (i, score(line[i])))
    };
    let n = line.len() as f64;
    let middle = Point::new(
        line.iter().map(|p| p.x).sum::<f64>() / n,
        line.iter().map(|p| p.y).sum::<f64>() / n,
    );
    let (a, _) = far(&|p| p.distance(middle))?;
    let (c, _) = far(&|p| p.distance(line[a]))?;
    let across = line[c] - line[a];
    let (b, left) = far(&|p| across.cross(p - line[a]))?;
    let (d, right) = far(&|p| -across.cross(p - line[a]))?;
    let mut order = [a, b, c, d];
    order.sort_unstable();
    let corners = order.map(|i| line[i]);
    let area = 0.5 * (left + right);
    // The line must keep to the sides.
    let side = |i: usize| (corners[i], corners[(i + 1) % 4]);
    let off = |p: Point| {
        let of = |(a, b): (Point, Point)| ((b - a).cross(p - a) / a.distance(b).max(1e-9)).abs();
        (0..4).map(|i| of(side(i))).fold(f64::INFINITY, f64::min)
    };
    let worst = line.iter().map(|&p| off(p)).fold(0.0, f64::max);
    (area > 100.0 && worst < 1.5 + 0.06 * area.sqrt()).then_some(corners)
}

/// The corners where the edges of light and dark meet along the sides of `rough`.
fn refined(grey: &Grey, rough: [Point; 4]) -> Option<[Point; 4]> {
    const PROBES: usize = 12;
    let mut sides: [(Point, Vector); 4] = [(Point::default(), Vector::new(0.0, 0.0)); 4];
    for (i, side) in sides.iter_mut().enumerate() {
        let (a, b) = (rough[i], rough[(i + 1) % 4]);
        let length = a.distance(b);
        let along = (b - a) * (1.0 / length.max(1e-9));
        // The mark is to the right of the way (y down), so this leads out of it.
        let out = Vector::new(along.y, -along.x);
        let reach = (length / CELLS as f64 * 0.6).clamp(1.5, 4.0);
        let probes = (0..PROBES).filter_map(|k| {
            let t = 0.12 + 0.76 * k as f64 / (PROBES - 1) as f64;
            edge(grey, a.towards(b, t), out, reach)
        });
        *side = line_through(&probes.collect::<Vec<_>>())?;
    }
    let corner = |i: usize| {
        let ((p, v), (q, w)) = (sides[(i + 3) % 4], sides[i]);
        let turn = v.cross(w);
        (turn.abs() > 0.1).then(|| p + v * ((q - p).cross(w) / turn))
    };
    let corners = [corner(0)?, corner(1)?, corner(2)?, corner(3)?];
    let near =
        (0..4).all(|i| corners[i].distance(rough[i]) < 6.0 + 0.1 * rough[0].distance(rough[2]));
    near.then_some(corners)
}

/// Where the picture gets half as light as it will be along `out`.
fn edge(grey: &Grey, at: Point, out: Vector, reach: f64) -> Option<Point> {
    const STEP: f64 = 0.25;
    let n = (2.0 * reach / STEP) as usize;
    let value = |k: usize| grey.at(at + out * (k as f64 * STEP - reach));
    let (low, high) = (value(0), value(n));
    let half = 0.5 * (low + high);
    if high - low < CONTRAST {
        return None;
    }
    let k = (1..=n).find(|&k| value(k - 1) < half && value(k) >= half)?;
    let (before, after) = (value(k - 1), value(k));
    let t = k as f64 - (after - half) / (after - before).max(1e-9);
    Some(at + out * (t * STEP - reach))
}

/// A point and the direction of the straight line through `points`; too few of them show none.
fn line_through(points: &[Point]) -> Option<(Point, Vector)> {
    (points.len() >= 5).then(|| line(points))?
}

/// What the squares within `corners` say.
fn read(grey: &Grey, corners: [Point; 4]) -> Option<FoundMark> {
    let n = CELLS as f64;
    let square = [(0.0, 0.0), (n, 0.0), (n, n), (0.0, n)].map(|(x, y)| Point::new(x, y));
    let pairs: Vec<(Point, Point)> = square.into_iter().zip(corners).collect();
    let map = homography(&pairs)?;
    let value = |column: f64, row: f64| {
        let taps = [-0.22, 0.0, 0.22];
        let all = taps.iter().flat_map(|dx| taps.map(|dy| (dx, dy)));
        let sum: f64 = all
            .map(|(dx, dy)| grey.at(mapped(&map, Point::new(column + 0.5 + dx, row + 0.5 + dy))))
            .sum();
        sum / 9.0
    };
    // White around it, black in the frame.
    let around = (0..CELLS).flat_map(|i| {
        let i = i as f64;
        [(i, -1.0), (i, n), (-1.0, i), (n, i)]
    });
    let white: Vec<f64> = around.map(|(c, r)| value(c, r)).collect();
    let frame = (0..CELLS).flat_map(|i| {
        let i = i as f64;
        [(i, 0.0), (i, n - 1.0), (0.0, i), (n - 1.0, i)]
    });
    let black: Vec<f64> = frame.map(|(c, r)| value(c, r)).collect();
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (light, dark) = (mean(&white), mean(&black));
    let half = 0.5 * (light + dark);
    let wrong =
        white.iter().filter(|v| **v < half).count() + black.iter().filter(|v| **v > half).count();
    if light - dark < CONTRAST || wrong > 4 {
        return None;
    }
    let cells: Vec<bool> = (0..CELLS * CELLS)
        .map(|i| value((i % CELLS) as f64, (i / CELLS) as f64) < half)
        .collect();
    let (label, turns) = MarkCode::read(|column, row| cells[row * CELLS + column])?;
    // The corners of the mark as it was printed.
    let corners: [Point; 4] = std::array::from_fn(|i| corners[(i + 4 - turns) % 4]);
    let scale = grey.scale as f64;
    Some(FoundMark {
        label,
        corners: corners.map(|p| Point::new(p.x * scale, p.y * scale)),
    })
}
