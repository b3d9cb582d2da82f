//! An edge of a template to a fraction of a pixel: by its colour, and where nothing is printed beside it by its brightness.
//!
//! Files keep brightness for every pixel, and colour mostly for blocks of four. So an edge is found by its colour, which ink and
//! shadows have none of, and then, beside plain paper, placed by its brightness (`brightness`). Where both do not agree about the
//! place of an edge, there is a shadow, and colour counts.

use super::brightness::{EdgeSides, share_line};
use super::picture::DecodedPicture;
use super::printed::Printed;
use super::ring::StretchWay;
use super::template::{FoundLine, LEAST_COLOUR, TemplateColour};
use crate::geometry::distance::point_to_segment;
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
            weak: Vec::new(),
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
        /// Means that differ by more pixels are of two edges: of a template and its shadow.
        const SHADOW: f64 = 0.5;
        let n = edges.len();
        if n < 2 * COMPARED {
            return;
        }
        let sides: Vec<Option<EdgeSides>> = edges
            .iter()
            .map(|edge| {
                let place = edge.place();
                let printed = self.printed.as_ref().is_some_and(|p| p.is_near(place));
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
        // What is placed now by the one and now by the other looks like an edge of many parts.
        if found.iter().flatten().count() * 5 < n * 3 {
            return;
        }
        let mut placed = vec![Placed::ByColour; n];
        for k in 0..n {
            let near = (0..=2 * COMPARED).filter_map(|j| found[(k + n + j - COMPARED) % n]);
            let offs: Vec<f64> = near.map(|found| found.0).collect();
            // Too few tell nothing of the rest.
            if offs.len() < COMPARED / 3 || edges[k].at_border || edges[k].found.is_none() {
                continue;
            }
            let off = median(offs.into_iter());
            if off.abs() > SHADOW {
                continue;
            }
            let by = found[k].map_or(off, |found| found.0);
            line.points[k] = line.points[k] + edges[k].out * by;
            placed[k] = match found[k] {
                Some((_, soft)) => Placed::Surely(soft),
                None => Placed::Between,
            };
        }
        let softness = placed.iter().filter_map(|placed| match placed {
            Placed::Surely(soft) => Some(*soft),
            _ => None,
        });
        let softness: Vec<f64> = softness.collect();
        if softness.len() * 3 > n {
            line.softness = softness;
            line.is_bright = true;
        }
        place_between(line, &placed);
    }
}

/// By what a point was placed.
#[derive(Clone, Copy, PartialEq)]
enum Placed {
    ByColour,
    /// Near ink, as far from where colour has it as its neighbours are.
    Between,
    /// By brightness, with how wide it is.
    Surely(f64),
}

/// A stretch of points near ink between two that are sure.
struct Between<'l> {
    points: &'l [Point],
    /// The last sure point before it, and the first after it; the latter may be counted past the end.
    ends: [usize; 2],
}

impl Between<'_> {
    fn at(&self, k: usize) -> Point {
        self.points[k % self.points.len()]
    }

    fn inner(&self) -> std::ops::Range<usize> {
        self.ends[0] + 1..self.ends[1]
    }

    fn chord(&self) -> f64 {
        self.at(self.ends[0]).distance(self.at(self.ends[1]))
    }

    /// How the edge runs into it and out of it, by the points on both sides.
    fn ways(&self) -> Option<[StretchWay; 2]> {
        /// Points on each side that tell.
        const NEAR: usize = 24;
        let n = self.points.len();
        let [from, to] = self.ends;
        let way = |first: usize, origin: usize| {
            let mut way = 0.0;
            let near: Vec<(f64, Point)> = (first..first + NEAR)
                .map(|k| {
                    way += self.at(k).distance(self.at(k + n - 1));
                    (way, self.at(k))
                })
                .collect();
            StretchWay::through(&near, near[origin - first].0)
        };
        Some([way(from + n + 1 - NEAR, from + n)?, way(to, to)?])
    }

    /// What is to be made of it.
    fn judged(&self) -> Judged {
        /// Longest without a corner and with one, pixels.
        const LONGEST: [f64; 2] = [200.0, 120.0];
        /// An edge that turns by less (radians) is taken for straight; by more it has a corner.
        const STRAIGHT: f64 = 0.06;
        const CORNER: f64 = 0.3;
        /// How far (pixels) points that are less sure may be off.
        const OFF: f64 = 1.8;
        /// How far those of a sharp corner are off the lines that meet in it.
        const BLUNT: f64 = 3.5;
        let Some([into, out]) = self.ways() else {
            return Judged::Kept;
        };
        let chord = self.chord();
        let turn = into.angle(&out);
        // How far it would turn if it went on as it is bent on both sides.
        let bent = |way: &StretchWay| 2.0 * way.along.cross(way.bend) / way.along.length().powi(3);
        let expected = 0.5 * chord * (bent(&into) + bent(&out));
        let is_round =
            turn.abs() > STRAIGHT && (turn - expected).abs() < STRAIGHT + 0.2 * turn.abs();
        let lines = [into.direction(), out.direction()];
        let curve = self.curve(lines);
        let off_curve = |p: Point| {
            let pairs = curve.windows(2);
            let off = pairs.map(|pair| point_to_segment(p, pair[0], pair[1]));
            off.fold(f64::INFINITY, f64::min)
        };
        let [start, end] = self.ends.map(|k| self.at(k));
        let off_lines = |p: Point| {
            let off = lines[0].cross(p - start).abs();
            off.min(lines[1].cross(p - end).abs())
        };
        let most = |off: &dyn Fn(Point) -> f64| {
            let inner = self.inner().skip(1).take(curve.len().saturating_sub(2));
            inner.map(|k| off(self.at(k))).fold(0.0, f64::max)
        };
        let (round, met) = (most(&off_curve), most(&off_lines));
        if is_round && chord < LONGEST[0] && round < OFF {
            return Judged::Round(curve);
        }
        // A sharp corner is as blunt as blur of colour makes it; one that is blunter may be round, and its points are needed.
        let limit = if turn.abs() < STRAIGHT { OFF } else { BLUNT };
        if chord < LONGEST[usize::from(turn.abs() > CORNER)] && met < limit {
            Judged::Met
        } else {
            Judged::Kept
        }
    }

    /// A curve that runs on between both ends in these directions (Hermite's cubic), a place for each point.
    fn curve(&self, [into, out]: [Vector; 2]) -> Vec<Point> {
        let chord = self.chord();
        let [start, end] = self.ends.map(|k| self.at(k));
        let n = (self.ends[1] - self.ends[0]) as f64;
        let place = |k: usize| {
            let t = (k - self.ends[0]) as f64 / n;
            let u = 1.0 - t;
            start.towards(end, t * t * (3.0 - 2.0 * t))
                + into * (chord * t * u * u)
                + out * (-chord * t * t * u)
        };
        self.inner().map(place).collect()
    }
}

/// What is made of a stretch near ink.
enum Judged {
    /// It is bent as the edge on both sides of it is, and runs on there.
    Round(Vec<Point>),
    /// The lines on both sides meet in it, or are one.
    Met,
    /// Something else: it stays as it was seen.
    Kept,
}

/// Places the points near ink where the edge between those that are sure runs on; those of a corner are left out and only tell
/// whether it is round.
fn place_between(line: &mut FoundLine, placed: &[Placed]) {
    let n = placed.len();
    let is_sure = |k: usize| matches!(placed[k % n], Placed::Surely(_));
    let Some(first) = (0..n).find(|&k| is_sure(k)) else {
        return;
    };
    let mut kept = vec![true; n];
    let mut moved = line.points.clone();
    let mut from = first;
    for k in first + 1..=first + n {
        if !is_sure(k) {
            continue;
        }
        let between = Between {
            points: &line.points,
            ends: [from, k],
        };
        if { between.inner() }.all(|k| placed[k % n] == Placed::Between) {
            match between.judged() {
                Judged::Round(places) => {
                    for (k, place) in between.inner().zip(places) {
                        moved[k % n] = place;
                    }
                }
                Judged::Met => between.inner().for_each(|k| kept[k % n] = false),
                Judged::Kept => {}
            }
        }
        from = k;
    }
    line.weak = (0..n)
        .filter(|&k| !kept[k])
        .map(|k| line.points[k])
        .collect();
    let kept = || kept.iter();
    let points = moved.into_iter().zip(kept());
    line.points = points.filter(|(_, kept)| **kept).map(|(p, _)| p).collect();
    let borders = line.at_border.iter().zip(kept());
    line.at_border = borders
        .filter(|(_, kept)| **kept)
        .map(|(b, _)| *b)
        .collect();
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
