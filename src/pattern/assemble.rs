//! Strokes as drawn → outlines with openings, open lines and labels, with every fault named.

use std::collections::{BTreeMap, HashMap};

use super::buckets::Buckets;
use super::chain::{Chain, Segment, chain, length};
use super::openings::nest;
use super::shape::{Drawing, Shape, counted};
use super::{Pattern, PatternLine, PatternOutline};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{Bounds, Outline, Point, Ring, RingFault, Tolerance, crossing};

/// Outlines with less area than this (mm²) are dust: nobody cuts a ply of half a millimetre.
const DUST_MM2: f64 = 0.25;

/// Rings are drawn twice if box, area and length agree within this (mm, mm per mm of length).
const TWIN_MM: f64 = 0.01;

/// Coordinates beyond this (mm) are refused, as in [`Ring::new`].
const LIMIT_MM: f64 = 1e6;

/// Notes of one kind that are worth reading; the rest is counted.
const MOST_NOTES: usize = 20;

/// Sorts a drawing into a pattern.
///
/// # Errors
/// All problems found, if no closed outline is left.
pub(super) fn assemble(
    file: &str,
    drawing: Drawing,
    tolerance: &Tolerance,
) -> Result<Pattern, Diagnostics> {
    let mut assembly = Assembly {
        file,
        problems: drawing.problems.clone(),
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
    problems: Diagnostics,
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
                let place = self.place(index, 1, at);
                self.problems.push(
                    Diagnostic::error("this lies more than a kilometre from the origin")
                        .at(place)
                        .help("check the unit of the file, or move the drawing to its origin"),
                );
            }
        }
        layers
    }

    fn layer(&mut self, layer: usize, parts: Parts, tolerance: &Tolerance) {
        let Parts { mut closed, loose } = parts;
        let chained = chain(loose, tolerance.join);
        self.report_left_out(layer, &chained.doubles, &chained.specks);
        self.report_branches(layer, &chained.branches);
        closed.extend(chained.rings);
        closed.sort_by_key(|c| c.shape);
        let candidates: Vec<Candidate> = closed
            .into_iter()
            .filter_map(|c| self.candidate(c))
            .collect();
        let candidates = self.without_twins(candidates);
        self.outlines_of(candidates);
        self.open_lines(layer, chained.lines, tolerance);
    }

    /// The ring of a closed chain, or a word on why there is none.
    fn candidate(&mut self, chain: Chain) -> Option<Candidate> {
        let (shape, segments) = (chain.shape, chain.segments);
        let first = chain.points[0];
        if let Some(gap) = chain.closed_gap {
            let place = self.place(shape, segments, Some(gap.from));
            self.problems
                .push(Diagnostic::note(format!("closed a gap of {:.3} mm", gap.size())).at(place));
        }
        let ring = match Ring::new(chain.points.iter().copied()) {
            Ok(ring) => ring,
            Err(fault) => {
                self.report_no_ring(&chain, fault);
                return None;
            }
        };
        if ring.area() < DUST_MM2 {
            let size = ring.bounds();
            let place = self.place(shape, segments, Some(first));
            self.problems.push(
                Diagnostic::warning(format!(
                    "outline of {:.3} × {:.3} mm is too small to be meant and was left out",
                    size.width(),
                    size.height()
                ))
                .at(place)
                .help("check the unit of the file, or delete the speck"),
            );
            return None;
        }
        let crossing = ring.crossing();
        if let Some(c) = crossing {
            self.report_crossing(shape, segments, c.at);
        }
        Some(Candidate {
            ring,
            shape,
            segments,
            faulty: crossing.is_some(),
        })
    }

    fn report_no_ring(&mut self, chain: &Chain, fault: RingFault) {
        // A figure of eight may enclose as much to the right as to the left.
        let mut points = chain.points.clone();
        points.dedup();
        if let (RingFault::NoArea, false, Some(c)) =
            (fault, is_straight(&points), crossing(&[&points]))
        {
            return self.report_crossing(chain.shape, chain.segments, c.at);
        }
        let place = self.place(chain.shape, chain.segments, Some(chain.points[0]));
        self.problems.push(
            Diagnostic::warning("a closed line that encloses nothing was left out").at(place),
        );
    }

    fn report_crossing(&mut self, shape: usize, segments: usize, at: Point) {
        let place = self.place(shape, segments, Some(at));
        self.problems.push(
            Diagnostic::error("outline crosses itself")
                .at(place)
                .help("move or delete a point there so that the edge no longer passes over itself"),
        );
    }

    fn report_left_out(&mut self, layer: usize, doubles: &[Segment], specks: &[Segment]) {
        let texts = [
            (doubles, "drawn twice; the second was left out"),
            (specks, "without length; left out"),
        ];
        for (segments, what) in texts {
            let Some(first) = segments.first() else {
                continue;
            };
            let place = self.place(first.shape, 1, Some(first.points[0]));
            let lines = counted(segments.len(), "line", "lines");
            let on = on_layer(&self.drawing.layers[layer]);
            self.problems
                .push(Diagnostic::warning(format!("{lines}{on} {what}")).at(place));
        }
    }

    fn report_branches(&mut self, layer: usize, branches: &[(Point, usize)]) {
        let Some(&(at, n)) = branches.first() else {
            return;
        };
        let on = on_layer(&self.drawing.layers[layer]);
        let more = match branches.len() {
            1 => String::new(),
            more => format!(
                " (and at {})",
                counted(more - 1, "more place", "more places")
            ),
        };
        let place = Place::Entity {
            file: self.file.to_owned(),
            entity: "where lines meet".to_owned(),
            at_mm: Some((at.x, at.y)),
        };
        self.problems.push(
            Diagnostic::warning(format!(
                "{n} lines{on} meet in one point{more}, so which of them bound an outline is a guess"
            ))
            .at(place)
            .help("put inner lines on a layer of their own"),
        );
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
                let first = &self.drawing.shapes[kept[i].1.shape];
                let message = format!(
                    "outline is drawn twice, first as {} {}; the second was left out",
                    first.kind, first.id
                );
                let at = candidate.ring.points()[0];
                let place = self.place(candidate.shape, candidate.segments, Some(at));
                self.problems.push(Diagnostic::warning(message).at(place));
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
            let place = self.place(shape, segments, Some(c.at));
            self.problems.push(
                Diagnostic::error("an opening crosses the outline or another opening")
                    .at(place)
                    .help("move it inside, or put it on a layer of its own"),
            );
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

    fn open_lines(&mut self, layer: usize, lines: Vec<Chain>, tolerance: &Tolerance) {
        let on = on_layer(&self.drawing.layers[layer]);
        let many = lines.len();
        for (i, line) in lines.into_iter().enumerate() {
            let place = self.place(line.shape, line.segments, Some(line.points[0]));
            if i < MOST_NOTES {
                self.problems
                    .push(open_line(&line.points, tolerance).at(place.clone()));
            } else if i == MOST_NOTES {
                let more = counted(many - MOST_NOTES, "more open line", "more open lines");
                let message = format!("{more}{on}");
                self.problems
                    .push(Diagnostic::note(message).at(place.clone()));
            }
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
        if self.outlines.is_empty() {
            let message = if self.problems.has_errors() {
                "no usable outline is left in this file"
            } else {
                "this file holds no closed outline"
            };
            let help = match self.lines.len() {
                0 => "draw the ply as one closed line".to_owned(),
                1 => "one open line was found: close it".to_owned(),
                n => format!("{n} open lines were found: join them end to end"),
            };
            self.problems.push(
                Diagnostic::error(message)
                    .at(Place::File(self.file.to_owned()))
                    .help(help),
            );
            return Err(self.problems);
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
            problems: self.problems,
        };
        label(&mut pattern);
        Ok(pattern)
    }
}

/// What to say of an open line: a warning if it looks like an outline that should be closed.
fn open_line(points: &[Point], tolerance: &Tolerance) -> Diagnostic {
    let (from, to) = (points[0], points[points.len() - 1]);
    let (gap, run) = (from.distance(to), length(points));
    if points.len() > 2 && gap < run / 2.0 {
        let message = format!(
            "outline is open: {gap:.3} mm between its ends ({:.2}, {:.2}) and ({:.2}, {:.2})",
            from.x, from.y, to.x, to.y
        );
        Diagnostic::warning(message).help(format!(
            "close the gap in the drawing; gaps up to {} mm are closed on reading",
            tolerance.join
        ))
    } else {
        Diagnostic::note(format!(
            "open line of {run:.2} mm from ({:.2}, {:.2}) to ({:.2}, {:.2}), {gap:.2} mm apart",
            from.x, from.y, to.x, to.y
        ))
    }
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

fn on_layer(layer: &str) -> String {
    if layer.is_empty() {
        String::new()
    } else {
        format!(" on layer {layer}")
    }
}

/// Gives each text to the smallest outline around its anchor.
fn label(pattern: &mut Pattern) {
    let areas: Vec<f64> = pattern
        .outlines
        .iter()
        .map(|o| o.outline.outer.area())
        .collect();
    let boxes: Vec<Bounds> = pattern
        .outlines
        .iter()
        .map(|o| o.outline.bounds())
        .collect();
    for text in &pattern.texts {
        let at = text.at;
        let smallest = (0..areas.len())
            .filter(|&i| {
                let b = &boxes[i];
                b.min.x <= at.x && at.x <= b.max.x && b.min.y <= at.y && at.y <= b.max.y
            })
            .filter(|&i| pattern.outlines[i].outline.contains(at))
            .min_by(|&i, &j| areas[i].total_cmp(&areas[j]));
        if let Some(i) = smallest {
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
