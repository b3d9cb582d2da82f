//! Strokes as drawn → outlines with openings, open lines and labels, with every fault named.

use std::collections::{BTreeMap, HashMap};

use super::buckets::Buckets;
use super::chain::{Chain, Chained, Segment, chain, length};
use super::faults::{Fault, Faults};
use super::openings::{nest, smallest_around};
use super::shape::{Drawing, Shape};
use super::{Pattern, PatternLine, PatternOutline};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{
    Bounds, Outline, Point, Ring, RingFault, Tolerance, crossing, crossing_of_two,
};

/// Outlines with less area than this (mm²) are dust: nobody cuts a ply of half a millimetre.
const DUST_MM2: f64 = 0.25;

/// Rings are drawn twice if box, area and length agree within this (mm, mm per mm of length).
const TWIN_MM: f64 = 0.01;

/// Coordinates beyond this (mm) are refused, as in [`Ring::new`].
const LIMIT_MM: f64 = 1e6;

/// Sorts a drawing into a pattern.
///
/// # Errors
/// All problems found, if no closed outline is left.
pub(super) fn assemble(
    file: &str,
    mut drawing: Drawing,
    tolerance: &Tolerance,
) -> Result<Pattern, Diagnostics> {
    let mut assembly = Assembly {
        file,
        faults: Faults::after(std::mem::take(&mut drawing.problems)),
        outlines: Vec::new(),
        lines: Vec::new(),
        drawing,
    };
    for (layer, parts) in assembly.parts_by_layer() {
        assembly.layer(layer, parts, tolerance);
    }
    assembly.finish()
}

/// What one layer holds: closed strokes and loose segments.
#[derive(Default)]
struct Parts {
    closed: Vec<Chain>,
    loose: Vec<Segment>,
}

/// A closed boundary on the way to becoming an outline or an opening.
struct Candidate {
    ring: Ring,
    shape: usize,
    segments: usize,
    faulty: bool,
}

struct Assembly<'a> {
    file: &'a str,
    drawing: Drawing,
    faults: Faults,
    /// With the number of the first shape, for the order of the file.
    outlines: Vec<(usize, PatternOutline)>,
    lines: Vec<(usize, PatternLine)>,
}

impl Assembly<'_> {
    /// Takes the strokes out of the drawing, layer by layer; refuses what is out of range.
    fn parts_by_layer(&mut self) -> BTreeMap<usize, Parts> {
        let mut layers: BTreeMap<usize, Parts> = BTreeMap::new();
        for index in 0..self.drawing.shapes.len() {
            let shape = &mut self.drawing.shapes[index];
            let strokes = std::mem::take(&mut shape.strokes);
            let parts = layers.entry(shape.layer).or_default();
            let mut far = None;
            for stroke in strokes {
                let out =
                    |p: &&Point| !p.is_finite() || p.x.abs() > LIMIT_MM || p.y.abs() > LIMIT_MM;
                if let Some(&p) = stroke.points.iter().find(out) {
                    far = Some(p);
                } else if stroke.closed && stroke.points.len() > 2 {
                    parts.closed.push(Chain {
                        points: stroke.points,
                        shape: index,
                        segments: 1,
                        closed_gap: None,
                    });
                } else if stroke.points.len() > 1 {
                    parts.loose.push(Segment {
                        points: stroke.points,
                        shape: index,
                    });
                }
            }
            if let Some(p) = far {
                let at = p.is_finite().then_some(p);
                self.faults.tell(&Fault::TooFar, self.place(index, 1, at));
            }
        }
        layers
    }

    fn layer(&mut self, layer: usize, parts: Parts, tolerance: &Tolerance) {
        let Parts { mut closed, loose } = parts;
        let chained = chain(loose, tolerance.join);
        self.report_left_out(layer, &chained);
        self.report_branches(layer, &chained.branches);
        closed.extend(chained.rings);
        closed.sort_by_key(|c| c.shape);
        let candidates: Vec<Candidate> = closed
            .into_iter()
            .filter_map(|c| self.candidate(c))
            .collect();
        let candidates = self.without_twins(candidates);
        let first = self.outlines.len();
        self.outlines_of(candidates);
        self.report_crossing_of_two(first);
        self.open_lines(chained.lines, tolerance);
    }

    /// The ring of a closed chain, or a word on why there is none.
    fn candidate(&mut self, chain: Chain) -> Option<Candidate> {
        let (shape, segments) = (chain.shape, chain.segments);
        if let Some(gap) = chain.closed_gap {
            let fault = Fault::ClosedGap(gap.size());
            self.tell(&fault, shape, segments, gap.from);
        }
        let ring = match Ring::new(chain.points.iter().copied()) {
            Ok(ring) => ring,
            Err(fault) => {
                let (fault, at) = no_ring(chain.points, fault);
                self.tell(&fault, shape, segments, at);
                return None;
            }
        };
        if ring.area() < DUST_MM2 {
            let size = ring.bounds();
            let fault = Fault::Dust {
                width: size.width(),
                height: size.height(),
            };
            self.tell(&fault, shape, segments, chain.points[0]);
            return None;
        }
        let crossing = ring.crossing();
        if let Some(c) = crossing {
            self.tell(&Fault::CrossesItself, shape, segments, c.at);
        }
        Some(Candidate {
            ring,
            shape,
            segments,
            faulty: crossing.is_some(),
        })
    }

    fn report_left_out(&mut self, layer: usize, chained: &Chained) {
        let layer = &self.drawing.layers[layer];
        let (n, twice) = (chained.doubles.len(), chained.doubles.first());
        let twice = twice.map(|s| {
            (
                s,
                Fault::LinesDrawnTwice {
                    n,
                    layer: layer.clone(),
                },
            )
        });
        let (n, speck) = (chained.specks.len(), chained.specks.first());
        let speck = speck.map(|s| {
            (
                s,
                Fault::Specks {
                    n,
                    layer: layer.clone(),
                },
            )
        });
        for (segment, fault) in twice.into_iter().chain(speck) {
            self.tell(&fault, segment.shape, 1, segment.points[0]);
        }
    }

    fn report_branches(&mut self, layer: usize, branches: &[(Point, usize)]) {
        let Some(&(at, lines)) = branches.first() else {
            return;
        };
        let fault = Fault::Branch {
            lines,
            places: branches.len(),
            layer: self.drawing.layers[layer].clone(),
        };
        let place = Place::Entity {
            file: self.file.to_owned(),
            entity: "where lines meet".to_owned(),
            at_mm: Some((at.x, at.y)),
        };
        self.faults.tell(&fault, place);
    }

    /// Looks for outlines, from the one numbered `first` on, that cross each other.
    fn report_crossing_of_two(&mut self, first: usize) {
        let outlines = &self.outlines[first..];
        let rings = outlines.iter().flat_map(|(_, o)| o.outline.rings());
        let rings: Vec<&[Point]> = rings.map(Ring::points).collect();
        let Some(crossing) = crossing_of_two(&rings) else {
            return;
        };
        let owner = |edge: usize| {
            let mut past = 0;
            outlines.iter().find(|(_, o)| {
                past += o.outline.rings().map(|r| r.points().len()).sum::<usize>();
                edge < past
            })
        };
        if let (Some(one), Some(other)) = (owner(crossing.edges.0), owner(crossing.edges.1)) {
            let fault = Fault::CrossesAnother(self.name(other.0));
            self.tell(&fault, one.0, 1, crossing.at);
        }
    }

    /// Drops rings that lie on an earlier one of the layer.
    fn without_twins(&mut self, candidates: Vec<Candidate>) -> Vec<Candidate> {
        let mut seen = Buckets::new(TWIN_MM, candidates.len());
        let mut kept: Vec<(Bounds, Candidate)> = Vec::with_capacity(candidates.len());
        for candidate in candidates {
            let bounds = candidate.ring.bounds();
            let is_twin = |&i: &usize| {
                let (other, earlier) = &kept[i];
                let slack = TWIN_MM * candidate.ring.perimeter();
                other.min.distance(bounds.min) <= TWIN_MM
                    && other.max.distance(bounds.max) <= TWIN_MM
                    && (earlier.ring.area() - candidate.ring.area()).abs() <= slack
                    && (earlier.ring.perimeter() - candidate.ring.perimeter()).abs() <= slack
            };
            let twin = seen.near(bounds.min, TWIN_MM).find(is_twin);
            if let Some(i) = twin {
                let fault = Fault::DrawnTwice(self.name(kept[i].1.shape));
                let at = candidate.ring.points()[0];
                self.tell(&fault, candidate.shape, candidate.segments, at);
            } else {
                seen.insert(bounds.min, kept.len());
                kept.push((bounds, candidate));
            }
        }
        kept.into_iter().map(|(_, c)| c).collect()
    }

    /// Sorts rings into outlines with openings.
    fn outlines_of(&mut self, candidates: Vec<Candidate>) {
        let rings: Vec<&Ring> = candidates.iter().map(|c| &c.ring).collect();
        let nested = nest(&rings);
        let mut openings: Vec<Vec<usize>> = vec![Vec::new(); candidates.len()];
        for (i, n) in nested.iter().enumerate() {
            if let (true, Some(parent)) = (n.is_opening(), n.parent) {
                openings[parent].push(i);
            }
        }
        for (i, candidate) in candidates.iter().enumerate() {
            if nested[i].is_opening() {
                continue;
            }
            let members =
                || std::iter::once(candidate).chain(openings[i].iter().map(|&o| &candidates[o]));
            if members().any(|c| c.faulty) {
                continue;
            }
            let outline = Outline {
                outer: candidate.ring.clone(),
                openings: openings[i]
                    .iter()
                    .map(|&o| candidates[o].ring.clone())
                    .collect(),
            };
            self.outline(candidate, outline);
        }
    }

    fn outline(&mut self, candidate: &Candidate, outline: Outline) {
        let (shape, segments) = (candidate.shape, candidate.segments);
        if !outline.openings.is_empty()
            && let Some(c) = outline.crossing()
        {
            self.tell(&Fault::OpeningCrosses, shape, segments, c.at);
            return;
        }
        let at = outline.outer.points()[0];
        let place = self.place(shape, segments, Some(at));
        let drawn = &self.drawing.shapes[shape];
        let outline = PatternOutline {
            id: drawn.id.clone(),
            layer: self.drawing.layers[drawn.layer].clone(),
            labels: Vec::new(),
            outline,
            place,
        };
        self.outlines.push((shape, outline));
    }

    fn open_lines(&mut self, lines: Vec<Chain>, tolerance: &Tolerance) {
        for line in lines {
            let from = line.points[0];
            let fault = open_line(&line.points, tolerance);
            self.tell(&fault, line.shape, line.segments, from);
            let place = self.place(line.shape, line.segments, Some(from));
            let shape = &self.drawing.shapes[line.shape];
            self.lines.push((
                line.shape,
                PatternLine {
                    id: shape.id.clone(),
                    layer: self.drawing.layers[shape.layer].clone(),
                    points: line.points,
                    place,
                },
            ));
        }
    }

    fn tell(&mut self, fault: &Fault, shape: usize, segments: usize, at: Point) {
        let place = self.place(shape, segments, Some(at));
        self.faults.tell(fault, place);
    }

    /// `LWPOLYLINE 3F`.
    fn name(&self, shape: usize) -> String {
        let shape = &self.drawing.shapes[shape];
        format!("{} {}", shape.kind, shape.id)
    }

    fn place(&self, shape: usize, segments: usize, at: Option<Point>) -> Place {
        let shape: &Shape = &self.drawing.shapes[shape];
        let mut place = self.drawing.place(self.file, shape, at);
        if let Place::Entity { entity, .. } = &mut place
            && segments > 1
        {
            entity.push_str(&format!(" and {} joined to it", segments - 1));
        }
        place
    }

    fn finish(mut self) -> Result<Pattern, Diagnostics> {
        let mut problems = self.faults.into_problems(self.file);
        if self.outlines.is_empty() {
            problems.push(nothing_left(
                self.file,
                self.lines.len(),
                problems.has_errors(),
            ));
            return Err(problems);
        }
        self.outlines.sort_by_key(|&(shape, _)| shape);
        self.lines.sort_by_key(|&(shape, _)| shape);
        let mut ids = Ids::default();
        let outlines = self.outlines.iter_mut().map(|(_, o)| &mut o.id);
        for id in outlines.chain(self.lines.iter_mut().map(|(_, l)| &mut l.id)) {
            *id = ids.unique(id);
        }
        let mut pattern = Pattern {
            file: self.file.to_owned(),
            format: self.drawing.format,
            unit: self.drawing.unit,
            outlines: self.outlines.into_iter().map(|(_, o)| o).collect(),
            lines: self.lines.into_iter().map(|(_, l)| l).collect(),
            texts: self.drawing.texts,
            problems,
        };
        label(&mut pattern);
        Ok(pattern)
    }
}

/// What to say of points that make no ring, and where.
fn no_ring(mut points: Vec<Point>, fault: RingFault) -> (Fault, Point) {
    points.dedup();
    // A figure of eight may enclose as much to the right as to the left.
    let figure_of_eight = match fault {
        RingFault::NoArea if !is_straight(&points) => crossing(&[&points]),
        _ => None,
    };
    match figure_of_eight {
        Some(c) => (Fault::CrossesItself, c.at),
        None => (Fault::EnclosesNothing, points[0]),
    }
}

/// What to say of an open line: does it look like an outline that should be closed?
fn open_line(points: &[Point], tolerance: &Tolerance) -> Fault {
    let (from, to) = (points[0], points[points.len() - 1]);
    let length = length(points);
    if points.len() > 2 && from.distance(to) < length / 2.0 {
        let join = tolerance.join;
        Fault::OpenOutline { from, to, join }
    } else {
        Fault::OpenLine { from, to, length }
    }
}

fn nothing_left(file: &str, n_lines: usize, after_errors: bool) -> Diagnostic {
    let message = if after_errors {
        "no usable outline is left in this file"
    } else {
        "this file holds no closed outline"
    };
    let help = match n_lines {
        0 => "draw the ply as one closed line".to_owned(),
        1 => "one open line was found: close it".to_owned(),
        n => format!("{n} open lines were found: join them end to end"),
    };
    Diagnostic::error(message)
        .at(Place::File(file.to_owned()))
        .help(help)
}

/// Whether all points lie on one line, to a thousandth of a millimetre.
fn is_straight(points: &[Point]) -> bool {
    let first = points[0];
    let furthest = points
        .iter()
        .map(|&p| p - first)
        .max_by(|a, b| a.length().total_cmp(&b.length()));
    furthest.is_none_or(|along| {
        let mut off = points.iter().map(|&p| along.cross(p - first).abs());
        off.all(|area| area <= 1e-3 * along.length())
    })
}

/// Gives each text to the smallest outline around its anchor.
fn label(pattern: &mut Pattern) {
    let outlines: Vec<&Outline> = pattern.outlines.iter().map(|o| &o.outline).collect();
    let anchors: Vec<Point> = pattern.texts.iter().map(|t| t.at).collect();
    let around = smallest_around(&outlines, &anchors);
    for (text, outline) in pattern.texts.iter().zip(around) {
        if let Some(i) = outline {
            pattern.outlines[i].labels.push(text.text.clone());
        }
    }
}

/// Ids given out so far, to make each unique.
#[derive(Default)]
struct Ids(HashMap<String, usize>);

impl Ids {
    fn unique(&mut self, id: &str) -> String {
        let mut n = self.0.get(id).copied().unwrap_or(0);
        loop {
            n += 1;
            let name = if n == 1 {
                id.to_owned()
            } else {
                format!("{id}-{n}")
            };
            self.0.insert(id.to_owned(), n);
            if n == 1 || !self.0.contains_key(&name) {
                self.0.entry(name.clone()).or_insert(1);
                return name;
            }
        }
    }
}
