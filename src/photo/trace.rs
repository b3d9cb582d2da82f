//! An edge of a template to a fraction of a pixel: by its colour, and where nothing is printed beside it by its brightness.
//!
//! Files keep brightness for every pixel, and colour mostly for blocks of four. So an edge is found by its colour, which ink and
//! shadows have none of, and then, beside plain paper, placed by its brightness (`brightness`). Where both do not agree about the
//! place of an edge, there is a shadow, and colour counts. Points that only colour places, and those near ink, are weak: whoever makes an edge
//! of them weighs them by how badly they are seen.

use super::brightness::{EdgeSides, share_line};
use super::picture::DecodedPicture;
use super::printed::Printed;
use super::template::{FoundLine, LEAST_COLOUR, TemplateColour};
use crate::geometry::{Point, Vector};

/// Finds edges in a picture.
pub(super) struct EdgeTracer<'p> {
    pub(super) picture: &'p DecodedPicture,
    pub(super) colour: TemplateColour,
    pub(super) printed: Option<Printed>,
}

/// A place of an edge by its colour.
#[derive(Clone, Copy)]
struct ColourEdge {
    /// Where it is looked for, and the way out of the template.
    at: Point,
    out: Vector,
    /// How far along that it is, and how wide from a quarter of the step to three quarters; none where nothing is seen.
    found: Option<(f64, f64)>,
    at_border: bool,
}

impl ColourEdge {
    fn place(&self) -> Point {
        self.found
            .map_or(self.at, |found| self.at + self.out * found.0)
    }
}

impl EdgeTracer<'_> {
    /// The line where a template ends, near `coarse`, of which these places are at a border; it is looked for so many pixels to both
    /// sides.
    pub(super) fn traced(
        &self,
        coarse: &[Point],
        mut at_border: Vec<bool>,
        reach: f64,
    ) -> FoundLine {
        /// Points on each side that are averaged before directions are taken.
        const SMOOTHED: usize = 4;
        let mut points = smoothed(coarse, SMOOTHED);
        let mut edges = Vec::new();
        for _ in 0..2 {
            if points.len() < 8 {
                break;
            }
            edges = self.by_colour(&points, &at_border, reach);
            // That there is a border must not be lost.
            edges.retain(|edge| edge.found.is_some() || edge.at_border);
            points = edges.iter().map(ColourEdge::place).collect();
            at_border = edges.iter().map(|edge| edge.at_border).collect();
        }
        let softness = (edges.iter())
            .filter(|edge| !edge.at_border)
            .filter_map(|edge| Some(edge.found?.1));
        let softness: Vec<f64> = softness.collect();
        let mut line = FoundLine {
            points,
            at_border,
            weak_softness: median(softness.iter().copied()),
            softness,
            is_weak: Vec::new(),
            is_bright: false,
        };
        self.place_by_brightness(&edges, reach, &mut line);
        line
    }

    fn by_colour(&self, points: &[Point], at_border: &[bool], reach: f64) -> Vec<ColourEdge> {
        let n = points.len();
        let directions = smoothed(points, 2);
        (0..n)
            .filter_map(|k| {
                let along = directions[(k + 3) % n] - directions[(k + n - 3) % n];
                let length = along.length();
                if length < 1e-6 {
                    return None;
                }
                // The template is to the right of the way (y down), so this leads out of it.
                let out = Vector::new(along.y, -along.x) * (1.0 / length);
                Some(ColourEdge {
                    at: points[k],
                    out,
                    found: self.edge(points[k], out, reach),
                    at_border: at_border[k],
                })
            })
            .collect()
    }

    /// How far along `out` the colour falls to half, and how soft that is.
    fn edge(&self, at: Point, out: Vector, reach: f64) -> Option<(f64, f64)> {
        const STEP: f64 = 0.5;
        const MOST: usize = 64;
        /// How far on both sides the step is added up, pixels.
        const WINDOW: f64 = 4.0;
        let n = ((2.0 * reach / STEP) as usize).min(MOST - 1);
        let mut values = [0.0; MOST];
        for (k, value) in values.iter_mut().enumerate().take(n + 1) {
            *value = self.colour.at(at + out * (k as f64 * STEP - reach));
        }
        let mean =
            |from: usize, to: usize| values[from..to].iter().sum::<f64>() / (to - from) as f64;
        let ends = 4;
        let (inside, outside) = (mean(0, ends), mean(n + 1 - ends, n + 1));
        if inside - outside < 0.4 * LEAST_COLOUR {
            return None;
        }
        let crossing = |part: f64| {
            let level = outside + part * (inside - outside);
            let middle = n / 2;
            let falls = (1..=n).filter(|&k| values[k - 1] >= level && values[k] < level);
            let k = falls.min_by_key(|&k| k.abs_diff(middle))?;
            let t = (values[k - 1] - level) / (values[k - 1] - values[k]);
            Some((k as f64 - 1.0 + t) * STEP - reach)
        };
        let half = crossing(0.5)?;
        let soft = crossing(0.25)? - crossing(0.75)?;
        // The area under the step is true whatever pixels and their halved colour made of the step itself.
        let about = ((half + reach) / STEP).round() as usize;
        let window = (WINDOW / STEP) as usize;
        let (from, to) = (about.saturating_sub(window), (about + window).min(n));
        let part = |k: usize| (values[k] - outside) / (inside - outside);
        let area = (from..to)
            .map(|k| 0.5 * (part(k) + part(k + 1)))
            .sum::<f64>()
            * STEP;
        Some((from as f64 * STEP - reach + area, soft.abs()))
    }

    /// Moves the points of `line` to where brightness has them, wherever that can be told.
    fn place_by_brightness(&self, edges: &[ColourEdge], reach: f64, line: &mut FoundLine) {
        /// Points on each side whose paper and template are the same.
        const ALIKE: usize = 12;
        /// Points on each side of which the means by colour and by brightness are compared.
        const COMPARED: usize = 60;
        /// Least part of an edge that is placed surely: less tells nothing of the rest.
        const LEAST: usize = 4;
        /// Means that differ by more pixels are of two edges: of a template and its shadow.
        const SHADOW: f64 = 0.5;
        let n = edges.len();
        let compared = COMPARED.min(n / 2);
        let is_printed =
            |edge: &ColourEdge| (self.printed.as_ref()).is_some_and(|p| p.is_near(edge.place()));
        let printed: Vec<bool> = edges.iter().map(is_printed).collect();
        line.is_weak.clone_from(&printed);
        if n < 2 * ALIKE {
            return;
        }
        let sides: Vec<Option<EdgeSides>> = (edges.iter().zip(&printed))
            .map(|(edge, printed)| {
                let place = edge.place();
                let is_plain = edge.found.is_some() && !edge.at_border && !printed;
                is_plain.then(|| EdgeSides::seen(self.picture, place, edge.out, reach))?
            })
            .collect();
        let found: Vec<Option<(f64, f64)>> = (0..n)
            .map(|k| {
                let own = sides[k].as_ref()?;
                let near = (0..=2 * ALIKE).filter_map(|j| sides[(k + n + j - ALIKE) % n].as_ref());
                let sides = EdgeSides::mean(near.filter(|side| side.is_even))?;
                let place = edges[k].place();
                share_line(self.picture, place, edges[k].out, &sides)
                    .filter(|_| own.is_template(&sides))
            })
            .collect();
        if found.iter().flatten().count() * LEAST < n {
            return;
        }
        for k in 0..n {
            let near = (0..=2 * compared).filter_map(|j| found[(k + n + j - compared) % n]);
            let offs: Vec<f64> = near.map(|found| found.0).collect();
            line.is_weak[k] = true;
            // Too few tell nothing of the rest.
            if offs.len() < compared / 3 || edges[k].at_border || edges[k].found.is_none() {
                continue;
            }
            let off = median(offs.into_iter());
            if off.abs() > SHADOW {
                continue;
            }
            let by = found[k].map_or(off, |found| found.0);
            line.points[k] = line.points[k] + edges[k].out * by;
            line.is_weak[k] = found[k].is_none();
        }
        let sure = found.iter().zip(&line.is_weak).filter(|(_, weak)| !**weak);
        let softness: Vec<f64> = sure.filter_map(|(found, _)| Some((*found)?.1)).collect();
        if softness.len() * LEAST > n {
            line.softness = softness;
            line.is_bright = true;
        }
    }
}

/// The middle one of values; 0 if there are none.
pub(super) fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// A closed line with every point the mean of those around it.
fn smoothed(line: &[Point], reach: usize) -> Vec<Point> {
    let n = line.len();
    if n <= 2 * reach + 1 {
        return line.to_vec();
    }
    (0..n)
        .map(|k| {
            let (mut x, mut y) = (0.0, 0.0);
            for j in 0..=2 * reach {
                let p = line[(k + n + j - reach) % n];
                x += p.x;
                y += p.y;
            }
            let m = (2 * reach + 1) as f64;
            Point::new(x / m, y / m)
        })
        .collect()
}
