//! What edges carry beyond the trim allowance: overlap along marked edges, darts cut into them.

use super::{PlyIn, both, list_of, mould, name, tell};
use crate::diag::{Diagnostic, Diagnostics, nearest};
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Outline, Point, Ring, Turn, Vector, clip, trig};
use crate::pattern::{PatternOutline, Role};

/// A line that stays within this (mm) of an edge lies on it.
const ON_EDGE_MM: f64 = 0.5;

/// Largest distance in mm between the round corner of an overlap and its chords.
const ARC_MM: f64 = 0.01;

/// Net and cut line on their way.
pub(super) struct Edges {
    pub(super) net: Outline,
    pub(super) cut: Outline,
}

/// Adds the ply's overlap along the edges of `drawn` that the drawing or the job marks.
///
/// Along them the allowance is trim and overlap together; it ends square at the ends of the marked
/// edge and is round at its outer corners, whatever the corners of the trim allowance are.
pub(super) fn add_overlap(
    within: &PlyIn<'_>,
    drawn: &PatternOutline,
    turn: Turn,
    edges: Edges,
    problems: &mut Diagnostics,
) -> Result<Edges, Diagnostic> {
    let &PlyIn { part, ply, .. } = within;
    let lines = overlap_lines(within, drawn, problems)?;
    if lines.is_empty() {
        return Ok(edges);
    }
    let overlap = ply.cutting.overlap.to_mm();
    if overlap == 0.0 {
        let message = format!(
            "the drawing marks overlap edges on part `{}`, but the job states no overlap: these edges get the trim alone",
            part.name
        );
        let help = "say how much with `overlap`, for example `overlap = \"40 mm\"`";
        tell(
            Diagnostic::warning(message)
                .at(part.pattern.place.clone())
                .help(help),
            problems,
        );
        return Ok(edges);
    }
    let reach = ply.cutting.trim.to_mm() + overlap;
    let strips: Vec<Ring> = lines
        .iter()
        .map(|line| line.iter().map(|&p| turn.apply(p)).collect::<Vec<_>>())
        .flat_map(|line| strips(&stretch(&edges.net.outer, &line), reach))
        .collect();
    one(clip::with(&edges.cut, &strips))
        .map(|cut| Edges { cut, ..edges })
        .ok_or_else(|| {
            Diagnostic::error(format!(
                "the overlap of {} does not join its cut line",
                name(part, ply)
            ))
            .at(ply.place.clone())
            .help("look at the marked edges with `warpwise inspect`")
        })
}

/// The lines on the edge of `drawn` that mark overlap, as drawn.
fn overlap_lines(
    within: &PlyIn<'_>,
    drawn: &PatternOutline,
    problems: &mut Diagnostics,
) -> Result<Vec<Vec<Point>>, Diagnostic> {
    let &PlyIn { part, pattern, .. } = within;
    let mut marked: Vec<(String, Vec<Point>)> = pattern
        .marks()
        .iter()
        .filter(|m| m.role == Role::Overlap && m.points.len() > 1)
        .map(|m| (m.id.clone(), closed_up(&m.points, m.closed)))
        .collect();
    for word in part.overlap_edges.iter().flat_map(|w| &w.value) {
        let found = pattern.lines_called(word);
        if found.is_empty() {
            let place = part.overlap_edges.as_ref().map(|w| w.place.clone());
            let known: Vec<String> = pattern.lines().iter().map(|l| l.id.clone()).collect();
            let near = nearest(word, known.iter().map(String::as_str));
            let help = match near {
                Some(near) => format!("did you mean `{near}`? There are {}", list_of(&known)),
                None if known.is_empty() => "the drawing has no open lines".to_owned(),
                None => format!("there are {}", list_of(&known)),
            };
            let message = format!(
                "the edge with overlap is not there: {} holds no open line called `{word}`",
                pattern.file()
            );
            let place = place.unwrap_or_else(|| part.pattern.place.clone());
            return Err(Diagnostic::error(message).at(place).help(help));
        }
        let known = |id: &str| marked.iter().any(|(known, _)| known == id);
        let new: Vec<_> = found.into_iter().filter(|l| !known(&l.id)).collect();
        marked.extend(new.into_iter().map(|l| (l.id.clone(), l.points.clone())));
    }
    let ring = &drawn.outline.outer;
    let mut lines = Vec::new();
    for (id, points) in marked {
        let off: Vec<f64> = probes(&points).map(|p| locate(ring, p).off).collect();
        let (least, most) = off
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(a, b), &d| (a.min(d), b.max(d)));
        if most <= ON_EDGE_MM {
            lines.push(points);
        } else if least <= ON_EDGE_MM {
            let message = format!(
                "line {id}, which marks overlap, leaves the edge of outline {} by up to {}: no \
                 overlap is added along it",
                drawn.id,
                both(most)
            );
            let help = "draw it on the finished edge, or copy the edge onto its layer";
            tell(
                Diagnostic::warning(message)
                    .at(part.pattern.place.clone())
                    .help(help),
                problems,
            );
        }
    }
    Ok(lines)
}

/// Cuts the darts of the drawing into net and cut line: their legs run straight on through the
/// allowance, which would close them up otherwise.
pub(super) fn cut_darts(
    within: &PlyIn<'_>,
    drawn: &PatternOutline,
    turn: Turn,
    edges: Edges,
    problems: &mut Diagnostics,
) -> Result<Edges, Diagnostic> {
    let &PlyIn { part, ply, .. } = within;
    let mut allowance =
        ply.cutting.trim.to_mm() + ply.cutting.overlap.to_mm() + ply.step.to_mm().abs();
    if within.drapes.is_some() {
        allowance *= mould::MOST_TRIM;
    }
    let mut wedges = Vec::new();
    let marks = within.pattern.marks_of(drawn);
    for mark in marks.filter(|mark| mark.role == Role::Dart) {
        if !mark.points.iter().any(|&p| is_inside(&drawn.outline, p)) {
            continue;
        }
        let legs = legs(&mark.points, mark.closed, &drawn.outline.outer);
        let wedge = legs.and_then(|legs| wedge(&legs, allowance));
        match wedge {
            Some(points) => {
                wedges.extend(Ring::new(points.into_iter().map(|p| turn.apply(p))).ok())
            }
            None => {
                let message = format!(
                    "dart {} does not run from the edge of outline {} to its point and back: it is \
                     not cut",
                    mark.id, drawn.id
                );
                let help = "draw it as a V whose two ends lie on the finished edge";
                tell(
                    Diagnostic::warning(message)
                        .at(mark.place.clone())
                        .help(help),
                    problems,
                );
            }
        }
    }
    if wedges.is_empty() {
        return Ok(edges);
    }
    let net = one(clip::without(&edges.net, &wedges));
    let cut = one(clip::without(&edges.cut, &wedges));
    net.zip(cut)
        .map(|(net, cut)| Edges { net, cut })
        .ok_or_else(|| {
            Diagnostic::error(format!("the darts of {} cut it apart", name(part, ply)))
                .at(ply.place.clone())
                .help("a dart ends inside the ply; draw separate plies as outlines of their own")
        })
}

/// Strictly inside the material, and not just on the edge.
fn is_inside(outline: &Outline, p: Point) -> bool {
    outline.contains(p) && locate(&outline.outer, p).off > ON_EDGE_MM
}

/// The legs of a dart in one line, from edge to edge.
fn legs(points: &[Point], closed: bool, ring: &Ring) -> Option<Vec<Point>> {
    let at_edge = |p: Point| locate(ring, p).off <= ON_EDGE_MM || !ring.contains(p);
    let mut line = points.to_vec();
    if closed {
        // The side that lies on the edge is its mouth, not a leg.
        let n = line.len();
        let mouth = (0..n).find(|&i| at_edge(line[i]) && at_edge(line[(i + 1) % n]))?;
        line.rotate_left((mouth + 1) % n);
    }
    let (first, last) = (*line.first()?, *line.last()?);
    (line.len() >= 3 && at_edge(first) && at_edge(last)).then_some(line)
}

/// The wedge between the legs, run on beyond the edge so far that it passes the allowance at any
/// usual slant.
fn wedge(legs: &[Point], allowance: f64) -> Option<Vec<Point>> {
    const SLANT: f64 = 4.0;
    const CLEAR_MM: f64 = 5.0;
    let beyond = allowance * SLANT + CLEAR_MM;
    let on = |end: Point, before: Point| {
        let along = end - before;
        let length = along.length();
        (length > 0.0).then(|| end + along * (beyond / length))
    };
    let n = legs.len();
    let mut points = vec![on(legs[0], legs[1])?];
    points.extend(legs);
    points.push(on(legs[n - 1], legs[n - 2])?);
    Some(points)
}

fn one(mut outlines: Vec<Outline>) -> Option<Outline> {
    (outlines.len() == 1).then(|| outlines.swap_remove(0))
}

fn closed_up(points: &[Point], closed: bool) -> Vec<Point> {
    let mut line = points.to_vec();
    if closed {
        line.extend(points.first());
    }
    line
}

/// Vertices and middles of a line.
fn probes(points: &[Point]) -> impl Iterator<Item = Point> + '_ {
    let middles = points.windows(2).map(|w| w[0].towards(w[1], 0.5));
    points.iter().copied().chain(middles)
}

/// The place on a ring that is nearest to a point.
#[derive(Clone, Copy)]
pub(super) struct Location {
    /// The vertex before it.
    pub(super) edge: usize,
    pub(super) at: Point,
    /// How far the point is off.
    pub(super) off: f64,
}

/// Where `p` comes nearest to `ring`.
pub(super) fn locate(ring: &Ring, p: Point) -> Location {
    let mut best = Location {
        edge: 0,
        at: ring.points()[0],
        off: f64::INFINITY,
    };
    for (edge, (a, b)) in ring.edges().enumerate() {
        let off = point_to_segment(p, a, b);
        if off < best.off {
            let along = b - a;
            let t = ((p - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
            let at = a + along * t;
            best = Location { edge, at, off };
        }
    }
    best
}

/// The stretch of `ring` beside `line`, counter-clockwise.
fn stretch(ring: &Ring, line: &[Point]) -> Vec<Point> {
    let ends = [line[0], line[line.len() - 1]].map(|p| locate(ring, p));
    if line[0].distance(line[line.len() - 1]) <= ON_EDGE_MM && length(line) > 2.0 * ON_EDGE_MM {
        return closed_up(ring.points(), true);
    }
    let middle = halfway(line);
    let ways = [run(ring, ends[0], ends[1]), run(ring, ends[1], ends[0])];
    let [a, b] = &ways;
    let off = |way: &[Point]| halfway(way).distance(middle);
    if off(a) <= off(b) {
        a.clone()
    } else {
        b.clone()
    }
}

/// From one place to another, counter-clockwise.
fn run(ring: &Ring, from: Location, to: Location) -> Vec<Point> {
    let points = ring.points();
    let n = points.len();
    let mut way = vec![from.at];
    let start = points[from.edge];
    let is_ahead = from.edge == to.edge && start.distance(to.at) >= start.distance(from.at);
    if !is_ahead {
        let steps = (to.edge + n - from.edge - 1) % n + 1;
        way.extend((1..=steps).map(|i| points[(from.edge + i) % n]));
    }
    way.push(to.at);
    way.dedup_by(|a, b| a.distance(*b) < 1e-6);
    way
}

fn length(line: &[Point]) -> f64 {
    line.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// The point half-way along a line.
fn halfway(line: &[Point]) -> Point {
    let mut left = length(line) / 2.0;
    for w in line.windows(2) {
        let edge = w[0].distance(w[1]);
        if edge >= left && edge > 0.0 {
            return w[0].towards(w[1], left / edge);
        }
        left -= edge;
    }
    line[0]
}

/// What lies within `reach` of a stretch of a counter-clockwise ring, on its outer side.
fn strips(stretch: &[Point], reach: f64) -> Vec<Ring> {
    let outwards = |a: Point, b: Point| {
        let along = b - a;
        Vector::new(along.y, -along.x) * (reach / along.length())
    };
    let mut rings = Vec::new();
    for w in stretch.windows(2) {
        let out = outwards(w[0], w[1]);
        rings.extend(Ring::new([w[0], w[1], w[1] + out, w[0] + out]).ok());
    }
    for w in stretch.windows(3) {
        let (before, after) = (outwards(w[0], w[1]), outwards(w[1], w[2]));
        if before.cross(after) > 0.0 {
            rings.extend(fan(w[1], before, after));
        }
    }
    rings
}

/// The sector about `centre` from one radius to another, counter-clockwise; its vertices lie on the
/// arc.
fn fan(centre: Point, from: Vector, to: Vector) -> Option<Ring> {
    let reach = from.length();
    let angle = trig::atan2_radians(from.cross(to), from.dot(to));
    let widest = 2.0 * trig::acos_radians(1.0 - ARC_MM / reach.max(ARC_MM));
    let n = (angle / widest).ceil().max(1.0) as usize;
    let spread = |i: usize| {
        let (sin, cos) = trig::sin_cos_radians(angle * i as f64 / n as f64);
        Vector::new(from.x * cos - from.y * sin, from.x * sin + from.y * cos)
    };
    let arc = (1..n).map(|i| centre + spread(i));
    let ends = [centre, centre + from];
    Ring::new(ends.into_iter().chain(arc).chain([centre + to])).ok()
}
