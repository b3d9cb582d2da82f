//! Strokes as drawn → outlines with openings, open lines and labels, with every fault named.

use std::collections::BTreeMap;

use super::chain::{Chain, Chained, Segment, chain, is_nearly_closed, length};
use super::clean::{Cleaned, MOST_CROSSINGS, clean, self_crossings, split};
use super::doubt::doubt_size;
use super::faults::{Faults, LineFault};
use super::marks::pair_cut_lines;
use super::names::{Ids, label};
use super::openings::nest;
use super::settings::{CrossingRule, Role, Settings};
use super::shape::{LIMIT_MM, RawDrawing};
use super::thin::{almost_alike, double_contour, thin_ring};
use super::{Healing, LabelWords, Pattern, PatternLine, PatternMark, PatternOutline};
use crate::diag::{Diagnostic, Place};
use crate::geometry::{
    Bounds, Buckets, Crossing, Outline, Point, Ring, RingFault, Tolerance, crossing_of_two,
    signed_area,
};

/// Outlines with less area than this (mm²) are dust: nobody cuts a ply of half a millimetre.
const DUST_MM2: f64 = 0.25;

/// Rings are drawn twice if box, area and length agree within this (mm, mm per mm of length).
const TWIN_MM: f64 = 0.01;

/// Crossings of one outline that are told one by one.
const MOST_CROSSINGS_TOLD: usize = 10;

/// Outlines in one corner that a new one is held against.
const MOST_TWINS: usize = 1000;

/// Sorts a drawing into a pattern; if no closed outline is left, an error among its problems says so.
pub(super) fn assemble(mut drawing: RawDrawing, settings: &Settings) -> Pattern {
    drawing.note_left_out();
    let healing = Healing {
        largest_off_mm: drawing.largest_off_mm,
        ..Healing::default()
    };
    let mut assembly = Assembly {
        tolerance: settings.tolerance,
        crossing: settings.crossing,
        faults: Faults::after(std::mem::take(&mut drawing.problems)),
        healing,
        outlines: Vec::new(),
        lines: Vec::new(),
        marks: Vec::new(),
        refused: Vec::new(),
        drawing,
    };
    for ((layer, role), parts) in assembly.parts_by_layer() {
        match role.filter(|r| r.is_mark()) {
            Some(role) => assembly.marks(role, parts),
            None => assembly.layer(layer, parts),
        }
    }
    assembly.finish()
}

/// What one layer holds: closed strokes and loose segments.
#[derive(Default)]
struct Parts {
    closed: Vec<Chain>,
    loose: Vec<Segment>,
}

/// A layer by its number, and what its shapes stand for.
type LayerAndRole = (usize, Option<Role>);

/// A closed boundary on the way to becoming an outline or an opening.
struct ClosedLine {
    ring: Ring,
    shape: usize,
    segments: usize,
    faulty: bool,
}

struct Assembly {
    tolerance: Tolerance,
    crossing: CrossingRule,
    drawing: RawDrawing,
    faults: Faults,
    healing: Healing,
    /// With the number of the first shape, for the order of the file.
    outlines: Vec<(usize, PatternOutline)>,
    lines: Vec<(usize, PatternLine)>,
    marks: Vec<(usize, PatternMark)>,
    refused: Vec<(usize, PatternLine)>,
}

impl Assembly {
    /// Takes the strokes out of the drawing, layer by layer; refuses what is out of range.
    fn parts_by_layer(&mut self) -> BTreeMap<LayerAndRole, Parts> {
        let mut layers: BTreeMap<LayerAndRole, Parts> = BTreeMap::new();
        for index in 0..self.drawing.shapes.len() {
            let shape = &mut self.drawing.shapes[index];
            let strokes = shape.strokes.take();
            let is_mark = shape.role.is_some_and(|r| r.is_mark());
            let parts = layers.entry((shape.layer, shape.role)).or_default();
            let mut far = None;
            for stroke in strokes {
                let out =
                    |p: &&Point| !p.is_finite() || p.x.abs() > LIMIT_MM || p.y.abs() > LIMIT_MM;
                let (n, points) = (stroke.points.len(), stroke.points);
                if let Some(&p) = points.iter().find(out) {
                    far = Some(p);
                    continue;
                }
                let shape = index;
                if stroke.closed && n > 2 {
                    parts.closed.push(Segment { points, shape }.into());
                } else if n > 1 || is_mark {
                    parts.loose.push(Segment { points, shape });
                }
            }
            if let Some(p) = far {
                let at = p.is_finite().then_some(p);
                self.faults
                    .tell(&LineFault::TooFar, self.place(index, 1, at));
            }
        }
        layers
    }

    fn layer(&mut self, layer: usize, parts: Parts) {
        let Parts { mut closed, loose } = parts;
        let chained = chain(loose, self.tolerance.join);
        self.report_left_out(layer, &chained);
        self.report_branches(layer, &chained.branches);
        closed.extend(chained.rings);
        closed.sort_by_key(|c| c.shape);
        let mut candidates: Vec<ClosedLine> = Vec::with_capacity(closed.len());
        for chain in closed {
            self.candidates_of(chain, &mut candidates);
        }
        let candidates = self.without_twins(candidates);
        let first = self.outlines.len();
        self.outlines_of(candidates);
        if !self.report_almost_alike(first) {
            self.report_crossing_of_two(first);
        }
        self.open_lines(chained.lines);
    }

    /// Takes a layer of marks. Directions, edges, areas and darts may be drawn in pieces and are
    /// joined; notches and drill marks stay as drawn.
    fn marks(&mut self, role: Role, parts: Parts) {
        let (mut closed, mut open) = (parts.closed, Vec::new());
        if matches!(role, Role::Notch | Role::Drill) {
            open.extend(parts.loose.into_iter().map(Chain::from));
        } else {
            let lines = parts.loose.into_iter().filter(|s| s.points.len() > 1);
            let chained = chain(lines.collect(), self.tolerance.join);
            closed.extend(chained.rings);
            open.extend(chained.lines);
        }
        let closed = closed.into_iter().map(|c| (c, true));
        for (stroke, closed) in closed.chain(open.into_iter().map(|c| (c, false))) {
            let start = stroke.points[0];
            let line = self.line(stroke.shape, 1, stroke.points, start);
            let mark = PatternMark::new(role, line.clone(), closed);
            if mark.is_line() {
                self.lines.push((stroke.shape, line));
            }
            self.marks.push((stroke.shape, mark));
        }
    }

    /// The line through `points` that starts with `shape`, with `at` for messages.
    fn line(&self, shape: usize, segments: usize, points: Vec<Point>, at: Point) -> PatternLine {
        PatternLine {
            id: self.drawing.shapes[shape].id.to_string(),
            layer: self.layer_name(shape),
            points,
            place: self.place(shape, segments, Some(at)),
        }
    }

    /// The name of the layer that `shape` is on.
    fn layer_name(&self, shape: usize) -> String {
        let layer = self.drawing.shapes[shape].layer;
        self.drawing.layers[layer].name.clone()
    }

    /// Adds the rings of a closed chain (one, or several if it was split), or says why there are
    /// none.
    fn candidates_of(&mut self, chain: Chain, candidates: &mut Vec<ClosedLine>) {
        let (shape, segments) = (chain.shape, chain.segments);
        if let Some(gap) = chain.closed_gap {
            self.healing.gaps += chain.n_gaps;
            self.healing.widest_gap_mm = self.healing.widest_gap_mm.max(gap.size());
            let fault = LineFault::ClosedGap {
                n: chain.n_gaps,
                size: gap.size(),
            };
            self.tell(&fault, shape, segments, gap.from);
        }
        let Some(&first) = chain.points.first() else {
            return;
        };
        let (points, cleaned) = clean(chain.points, self.tolerance.chord);
        self.report_cleaned(&cleaned, shape, segments);
        let rings = match Ring::new(points.iter().copied()) {
            Ok(ring) => {
                self.healing.turned += usize::from(signed_area(&points) < 0.0);
                match self_crossings(ring.points()) {
                    none if none.is_empty() => vec![(ring, false)],
                    crossings => self.crossed(ring.points(), &crossings, shape, segments),
                }
            }
            // A figure of eight may enclose as much to the right as to the left.
            Err(RingFault::NoArea) if !is_straight(&points) => match self_crossings(&points) {
                none if none.is_empty() => return self.encloses_nothing(shape, segments, first),
                crossings => self.crossed(&points, &crossings, shape, segments),
            },
            Err(_) => return self.encloses_nothing(shape, segments, first),
        };
        for (ring, faulty) in rings {
            if ring.area() < DUST_MM2 {
                let size = ring.bounds();
                let fault = LineFault::Dust {
                    width: size.width(),
                    height: size.height(),
                };
                self.healing.specks += 1;
                self.tell(&fault, shape, segments, first);
                continue;
            }
            candidates.push(ClosedLine {
                ring,
                shape,
                segments,
                faulty,
            });
        }
    }

    fn encloses_nothing(&mut self, shape: usize, segments: usize, at: Point) {
        self.healing.specks += 1;
        self.tell(&LineFault::EnclosesNothing, shape, segments, at);
    }

    /// What becomes of a closed line that crosses itself: a fault at every crossing, or its loops.
    /// The flag says whether a ring is of no use.
    fn crossed(
        &mut self,
        points: &[Point],
        crossings: &[Crossing],
        shape: usize,
        segments: usize,
    ) -> Vec<(Ring, bool)> {
        if self.crossing == CrossingRule::Split && crossings.len() < MOST_CROSSINGS {
            let loops = split(points, crossings);
            if loops.iter().all(|l| l.crossing().is_none()) {
                self.healing.split += 1;
                let fault = LineFault::Split {
                    crossings: crossings.len(),
                    loops: loops.len(),
                };
                self.tell(&fault, shape, segments, crossings[0].at);
                return loops.into_iter().map(|l| (l, false)).collect();
            }
        }
        for (i, crossing) in crossings.iter().take(MOST_CROSSINGS_TOLD).enumerate() {
            let fault = LineFault::CrossesItself {
                n: i + 1,
                of: crossings.len(),
            };
            self.tell(&fault, shape, segments, crossing.at);
        }
        let line = self.line(shape, segments, points.to_vec(), crossings[0].at);
        self.refused.push((shape, line));
        // It still says of what lies in it that it does.
        let ring = Ring::new(points.iter().copied());
        ring.map_or_else(|_| Vec::new(), |ring| vec![(ring, true)])
    }

    fn report_cleaned(&mut self, cleaned: &Cleaned, shape: usize, segments: usize) {
        self.healing.tiny_edges += cleaned.tiny;
        self.healing.spikes += cleaned.spikes;
        if let Some((length, tip)) = cleaned.longest {
            self.healing.longest_spike_mm = self.healing.longest_spike_mm.max(length);
            let fault = LineFault::Spikes {
                n: cleaned.spikes,
                longest: length,
            };
            self.tell(&fault, shape, segments, tip);
        }
    }

    fn report_left_out(&mut self, layer: usize, chained: &Chained) {
        self.healing.doubles += chained.doubles.len();
        self.healing.specks += chained.specks.len();
        let layer = self.drawing.layers[layer].name.clone();
        if let Some(first) = chained.doubles.first() {
            let (n, layer) = (chained.doubles.len(), layer.clone());
            let fault = LineFault::LinesDrawnTwice { n, layer };
            self.tell(&fault, first.shape, 1, first.points[0]);
        }
        if let Some(first) = chained.specks.first() {
            let n = chained.specks.len();
            self.tell(
                &LineFault::Specks { n, layer },
                first.shape,
                1,
                first.points[0],
            );
        }
    }

    fn report_branches(&mut self, layer: usize, branches: &[(Point, usize)]) {
        let Some(&(at, lines)) = branches.first() else {
            return;
        };
        let fault = LineFault::Branch {
            lines,
            places: branches.len(),
            layer: self.drawing.layers[layer].name.clone(),
        };
        let place = Place::Entity {
            file: self.drawing.file.clone(),
            entity: "where lines meet".to_owned(),
            at_mm: Some((at.x, at.y)),
        };
        self.faults.tell(&fault, place);
    }

    /// Looks for outlines, from the one numbered `first` on, that lie almost on each other; whether there are any.
    fn report_almost_alike(&mut self, first: usize) -> bool {
        let outlines = self.outlines[first..].iter();
        let alike = almost_alike(outlines.map(|(_, outline)| &outline.outline));
        for (idx, earlier, apart) in &alike {
            let (shape, outline) = &self.outlines[first + idx];
            let fault = LineFault::AlmostAlike {
                other: self.name(self.outlines[first + earlier].0),
                apart: *apart,
            };
            let (shape, at) = (*shape, outline.outline.outer.points()[0]);
            self.tell(&fault, shape, 1, at);
        }
        !alike.is_empty()
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
            let fault = LineFault::CrossesAnother(self.name(other.0));
            self.tell(&fault, one.0, 1, crossing.at);
        }
    }

    /// Drops rings that lie on an earlier one of the layer.
    fn without_twins(&mut self, candidates: Vec<ClosedLine>) -> Vec<ClosedLine> {
        let mut seen = Buckets::new(TWIN_MM, candidates.len());
        let mut kept: Vec<(Bounds, ClosedLine)> = Vec::with_capacity(candidates.len());
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
            let twin = seen
                .near(bounds.min, TWIN_MM)
                .take(MOST_TWINS)
                .find(is_twin);
            if let Some(i) = twin {
                self.healing.doubles += 1;
                let fault = LineFault::DrawnTwice(self.name(kept[i].1.shape));
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
    fn outlines_of(&mut self, candidates: Vec<ClosedLine>) {
        let rings: Vec<&Ring> = candidates.iter().map(|c| &c.ring).collect();
        let nested = match nest(&rings) {
            Ok(nested) => nested,
            Err(piled) => return self.faults.of_file(piled.told(), &self.drawing.file),
        };
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

    fn outline(&mut self, candidate: &ClosedLine, outline: Outline) {
        let (shape, segments) = (candidate.shape, candidate.segments);
        if !outline.openings.is_empty()
            && let Some(c) = outline.crossing()
        {
            let fault = double_contour(&outline).map_or(LineFault::OpeningCrosses, |apart| {
                let other = "another closed line".to_owned();
                LineFault::AlmostAlike { other, apart }
            });
            self.tell(&fault, shape, segments, c.at);
            return;
        }
        let at = outline.outer.points()[0];
        if let Some(width) = thin_ring(&outline) {
            self.tell(&LineFault::ThinRing { width }, shape, segments, at);
            return;
        }
        let outline = PatternOutline {
            id: self.drawing.shapes[shape].id.to_string(),
            layer: self.layer_name(shape),
            labels: Vec::new(),
            words: LabelWords::default(),
            outline,
            drawn_cut: None,
            place: self.place(shape, segments, Some(at)),
        };
        self.outlines.push((shape, outline));
    }

    fn open_lines(&mut self, lines: Vec<Chain>) {
        for line in lines {
            let from = line.points[0];
            let fault = open_line(&line.points, &self.tolerance);
            self.tell(&fault, line.shape, line.segments, from);
            let drawn = self.line(line.shape, line.segments, line.points, from);
            self.lines.push((line.shape, drawn));
        }
    }

    fn tell(&mut self, fault: &LineFault, shape: usize, segments: usize, at: Point) {
        let place = self.place(shape, segments, Some(at));
        self.faults.tell(fault, place);
    }

    /// `LWPOLYLINE 3F`.
    fn name(&self, shape: usize) -> String {
        let shape = &self.drawing.shapes[shape];
        format!("{} {}", shape.kind, shape.id)
    }

    fn place(&self, shape: usize, segments: usize, at: Option<Point>) -> Place {
        let mut place = self.drawing.place(&self.drawing.shapes[shape], at);
        if let Place::Entity { entity, .. } = &mut place
            && segments > 1
        {
            entity.push_str(&format!(" and {} joined to it", segments - 1));
        }
        place
    }

    fn finish(mut self) -> Pattern {
        self.outlines.sort_by_key(|&(shape, _)| shape);
        let outlines = self.with_cut_lines();
        let mut problems = self.faults.into_problems(&self.drawing.file);
        if outlines.is_empty() {
            problems.push(nothing_left(
                &self.drawing.file,
                self.lines.len(),
                problems.has_errors(),
            ));
        }
        doubt_size(&self.drawing, &outlines, &mut problems);
        let mut pattern = Pattern {
            file: self.drawing.file,
            format: Some(self.drawing.format),
            unit: self.drawing.unit,
            outlines,
            lines: as_in_file(self.lines),
            marks: as_in_file(self.marks),
            refused: as_in_file(self.refused),
            texts: self.drawing.texts,
            circles: self.drawing.circles,
            healing: self.healing,
            problems,
        };
        let mut ids = Ids::default();
        let outlines = pattern.outlines.iter_mut().map(|o| &mut o.id);
        for id in outlines.chain(pattern.lines.iter_mut().map(|l| &mut l.id)) {
            *id = ids.unique(id);
        }
        if let Err(piled) = label(&mut pattern) {
            let place = Place::File(pattern.file.clone());
            pattern.problems.push(piled.told().at(place));
        }
        pattern
    }

    /// The outlines, those of cut and net lines as one.
    fn with_cut_lines(&mut self) -> Vec<PatternOutline> {
        let (shapes, outlines): (Vec<usize>, Vec<PatternOutline>) =
            std::mem::take(&mut self.outlines).into_iter().unzip();
        let role = |&shape: &usize| self.drawing.shapes[shape].role;
        let has_net = shapes.iter().any(|s| role(s) == Some(Role::Net));
        let roles: Vec<Option<Role>> = shapes
            .iter()
            .map(|shape| match role(shape) {
                // Beside net lines, a layer called CUT holds their cut lines.
                None if has_net && self.drawing.may_be_cut(self.drawing.shapes[*shape].layer) => {
                    Some(Role::Cut)
                }
                role => role,
            })
            .collect();
        if roles.iter().all(Option::is_none) {
            return outlines;
        }
        pair_cut_lines(outlines, &roles).unwrap_or_else(|piled| {
            self.faults.of_file(piled.told(), &self.drawing.file);
            Vec::new()
        })
    }
}

/// `items` in the order of the shapes they are of.
fn as_in_file<T>(mut items: Vec<(usize, T)>) -> Vec<T> {
    items.sort_by_key(|&(shape, _)| shape);
    items.into_iter().map(|(_, item)| item).collect()
}

/// What to say of an open line: does it look like an outline that should be closed?
fn open_line(points: &[Point], tolerance: &Tolerance) -> LineFault {
    let (from, to) = (points[0], points[points.len() - 1]);
    let length = length(points);
    if is_nearly_closed(points) {
        let join = tolerance.join;
        LineFault::OpenOutline { from, to, join }
    } else {
        LineFault::OpenLine { from, to, length }
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
