//! Templates that are seen in several pictures, or in one: the lines of all pictures made whole.
//!
//! All pictures are in millimetres of one board, so lines of two pictures that show the same edge lie on each other.
//! What is whole in one picture is taken from it. What a picture cuts off goes on in another, which shows the last
//! of it too.

use super::edges::WeakPlaces;
use super::pen::PenMark;
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Point, Ring, Vector, signed_area};

/// A template in one picture, in millimetres of the board.
pub(super) struct LaidTemplate {
    /// Its edge and those of its openings; a template lies to the right of their ways as seen.
    pub(super) lines: Vec<LaidLine>,
    pub(super) pen: Vec<PenMark>,
}

/// A closed line in millimetres, and which of its points are no edge but where the picture ends.
pub(super) struct LaidLine {
    pub(super) points: Vec<Point>,
    pub(super) at_border: Vec<bool>,
    /// Those of its points that are less sure.
    pub(super) weak: Vec<Point>,
}

/// A template whose lines are whole.
#[derive(Default)]
pub(super) struct WholeTemplate {
    pub(super) edge: Vec<Point>,
    pub(super) openings: Vec<Vec<Point>>,
    pub(super) pen: Vec<PenMark>,
}

impl WholeTemplate {
    fn contains(&self, p: Point) -> bool {
        Ring::new(self.edge.iter().copied()).is_ok_and(|edge| edge.contains(p))
    }
}

/// Templates made whole.
pub(super) struct JoinedPictures {
    /// The largest first.
    pub(super) templates: Vec<WholeTemplate>,
    /// How far lines of two pictures are off each other where one goes on in the other, mm.
    pub(super) seam: f64,
    /// Which of their points are less sure.
    pub(super) weak: WeakPlaces,
}

/// How far (mm) lines of two pictures may be off each other.
const SEAM: f64 = 1.0;
/// Where an edge is seen in two places so far apart (mm), its template does not lie flat.
const LIFTED: f64 = 0.6;
/// How far (mm) beside where it should go on an edge is looked for whose template was moved between two pictures.
const MOVED: f64 = 30.0;
/// Edges shorter than this (mm) between two borders are none.
const LEAST: f64 = 4.0;
/// A line that a picture cuts off is seen as an edge that comes back so near (mm).
const PEN_WIDTH: f64 = 5.0;

/// A stretch of an edge from where a picture begins to show it to where that ends.
struct PictureChain {
    view: usize,
    points: Vec<Point>,
}

/// Why lines cannot be made whole, with a place (mm).
pub(super) enum JoinFault {
    /// No picture shows the edge there.
    NotShown(Point),
    /// Two pictures show it in two places: it is up from the board, or was moved a little.
    Lifted(Point),
    /// It lies elsewhere in one picture than in another.
    Moved(Point),
}

/// What the `pictures` show, made whole.
pub(super) fn joined(pictures: &[Vec<LaidTemplate>]) -> Result<JoinedPictures, JoinFault> {
    let (mut rings, mut chains): (Vec<Vec<Point>>, Vec<PictureChain>) = (Vec::new(), Vec::new());
    let mut seam = 0.0_f64;
    for (view, templates) in pictures.iter().enumerate() {
        for line in templates.iter().flat_map(|template| &template.lines) {
            if line.at_border.contains(&true) {
                let points = line.between_borders();
                chains.extend(
                    points
                        .into_iter()
                        .map(|points| PictureChain { view, points }),
                );
            } else if view == 0 {
                rings.push(line.points.clone());
            } else if let Some(off) = off_rings(&rings, &line.points)? {
                seam = seam.max(off);
            } else {
                rings.push(line.points.clone());
            }
        }
    }
    leave_known(&mut chains, &rings, &mut seam)?;
    while let Some(start) = longest(&chains) {
        let (ring, off) = ring_from(start, &chains).map_err(|end| {
            let is_beside = { rings.iter() }.any(|ring| runs_beside(ring, end.at, end.along)) || {
                chains.iter()
            }
            .filter(|chain| chain.view != end.view)
            .any(|chain| runs_beside(&chain.points, end.at, end.along));
            if is_beside {
                JoinFault::Moved(end.at)
            } else {
                JoinFault::NotShown(end.at)
            }
        })?;
        seam = off.max(seam);
        leave_known(&mut chains, std::slice::from_ref(&ring), &mut seam)?;
        rings.push(ring);
    }
    let mut templates = nested(rings);
    // In one picture noise may look so; what such an edge is worth is told of it later.
    if pictures.len() > 1
        && let Some(at) = overlap(&templates)
    {
        return Err(JoinFault::Moved(at));
    }
    for mark in pictures.iter().flatten().flat_map(|template| &template.pen) {
        let at = mark.place();
        // Templates lie beside each other; the smallest that is around a mark carries it.
        let mut own = templates.iter_mut().rev();
        let own = own.find(|t| at.is_none_or(|at| t.contains(at)));
        if let Some(own) = own
            && own.pen.iter().all(|other| !other.is_same(mark))
        {
            own.pen.push(mark.clone());
        }
    }
    let lines = pictures
        .iter()
        .flatten()
        .flat_map(|template| &template.lines);
    let weak = lines.flat_map(|line| line.weak.iter().copied()).collect();
    Ok(JoinedPictures {
        templates,
        seam,
        weak,
    })
}

impl LaidLine {
    /// Its stretches between borders that are long enough to be edges.
    fn between_borders(&self) -> Vec<Vec<Point>> {
        let n = self.points.len();
        let Some(first) = self.at_border.iter().position(|border| *border) else {
            return vec![self.points.clone()];
        };
        let mut all = vec![Vec::new()];
        for k in (first..first + n).map(|k| k % n) {
            if self.at_border[k] {
                all.push(Vec::new());
            } else if let Some(last) = all.last_mut() {
                last.push(self.points[k]);
            }
        }
        all.retain(|points| match points[..] {
            [a, .., b] => {
                let length = length(points);
                length > LEAST && (a.distance(b) > PEN_WIDTH || length < 2.0 * PEN_WIDTH)
            }
            _ => false,
        });
        all
    }
}

fn length(points: &[Point]) -> f64 {
    points
        .windows(2)
        .map(|pair| pair[0].distance(pair[1]))
        .sum()
}

fn longest(chains: &[PictureChain]) -> Option<usize> {
    (0..chains.len())
        .max_by(|&a, &b| length(&chains[a].points).total_cmp(&length(&chains[b].points)))
}

/// Leaves out the chains that lie on `rings`.
fn leave_known(
    chains: &mut Vec<PictureChain>,
    rings: &[Vec<Point>],
    seam: &mut f64,
) -> Result<(), JoinFault> {
    let mut left = Vec::new();
    for chain in chains.drain(..) {
        match off_rings(rings, &chain.points)? {
            Some(off) => *seam = off.max(*seam),
            None => left.push(chain),
        }
    }
    *chains = left;
    Ok(())
}

/// How far `points` are off that of the closed lines `rings` that they lie on, mm, noise averaged out; `None` if they lie
/// on none.
fn off_rings(rings: &[Vec<Point>], points: &[Point]) -> Result<Option<f64>, JoinFault> {
    /// So many places together are not off by noise.
    const TOGETHER: usize = 8;
    let step = points.len().div_ceil(300).max(1);
    let probes: Vec<Point> = points.iter().copied().step_by(step).collect();
    for ring in rings {
        let off = |p: &Point| {
            let ends = ring.iter().zip(ring.iter().cycle().skip(1));
            let gaps = ends.map(|(&a, &b)| point_to_segment(*p, a, b));
            gaps.fold(f64::INFINITY, f64::min)
        };
        let offs: Vec<f64> = probes.iter().map(off).collect();
        let on = offs.iter().filter(|off| **off < SEAM).count();
        // Two templates may touch, but they do not share much of their edges.
        if on * 4 < offs.len() {
            continue;
        }
        let together = offs.windows(TOGETHER.min(offs.len()));
        let least = together.map(|w| w.iter().copied().fold(f64::INFINITY, f64::min));
        let worst = least.enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((k, worst)) = worst else { continue };
        if worst > LIFTED {
            return Err(JoinFault::Lifted(probes[k]));
        }
        return Ok(Some(worst));
    }
    Ok(None)
}

/// The closed line that begins with chain `start` and goes on in other pictures where one ends; and how far chains are
/// off each other there.
fn ring_from(start: usize, chains: &[PictureChain]) -> Result<(Vec<Point>, f64), ChainEnd> {
    let mut ways: Vec<(usize, Vec<Point>)> = vec![(start, chains[start].points.clone())];
    let mut seam = 0.0_f64;
    loop {
        let (own, points) = &ways[ways.len() - 1];
        let (end, along) = end_of(points);
        let goes_on_nowhere = || ChainEnd {
            view: chains[*own].view,
            at: end,
            along,
        };
        let nexts = chains.iter().enumerate().filter_map(|(k, chain)| {
            let is_other = chain.view != chains[*own].view || k == *own;
            let (from, gap) = is_other.then(|| goes_on(&chain.points, end, along, SEAM))??;
            Some((length(&chain.points[from..]), k, from, gap))
        });
        let Some((left, k, from, gap)) = nexts.max_by(|a, b| a.0.total_cmp(&b.0)) else {
            return Err(goes_on_nowhere());
        };
        // What comes back to its own end leads nowhere.
        if left < LEAST / 2.0 || ways.len() > chains.len() {
            return Err(goes_on_nowhere());
        }
        seam = seam.max(gap);
        let rest = chains[k].points[from..].to_vec();
        if let Some(first) = ways.iter().position(|way| way.0 == k) {
            ways[first].1 = rest;
            let ring = ways.into_iter().skip(first).flat_map(|way| way.1);
            return Ok((ring.collect(), seam));
        }
        ways.push((k, rest));
    }
}

/// The last point, and the way there.
fn end_of(points: &[Point]) -> (Point, Vector) {
    let n = points.len();
    (points[n - 1], points[n - 1] - points[n.saturating_sub(8)])
}

/// Where a chain ends that goes on in no picture.
struct ChainEnd {
    view: usize,
    at: Point,
    along: Vector,
}

/// The first of `points` beyond `at`, where they run along there as `along` does and are less than `within` (mm) off, and how far
/// off they are.
fn goes_on(points: &[Point], at: Point, along: Vector, within: f64) -> Option<(usize, f64)> {
    let pairs = points.windows(2).enumerate();
    let gaps = pairs.filter_map(|(i, pair)| {
        let gap = point_to_segment(at, pair[0], pair[1]);
        let near = points[(i + 4).min(points.len() - 1)] - points[i.saturating_sub(4)];
        (gap < within && near.dot(along) > 0.0).then_some((i, gap))
    });
    let (i, gap) = gaps.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((i + 1, gap))
}

/// Whether `points` pass beside `at`, and do not only begin or end near it.
fn runs_beside(points: &[Point], at: Point, along: Vector) -> bool {
    goes_on(points, at, along, MOVED).is_some_and(|(i, _)| i > 1 && i + 1 < points.len())
}

/// A place where two templates lie on each other, which those of one board cannot.
fn overlap(templates: &[WholeTemplate]) -> Option<Point> {
    let is_on = |template: &WholeTemplate, p: Point| {
        let edges = template
            .edge
            .iter()
            .zip(template.edge.iter().cycle().skip(1));
        let mut gaps = edges.map(|(&a, &b)| point_to_segment(p, a, b));
        let is_open = |ring: &Vec<Point>| {
            Ring::new(ring.iter().copied()).is_ok_and(|opening| opening.contains(p))
        };
        template.contains(p) && gaps.all(|gap| gap > SEAM) && !template.openings.iter().any(is_open)
    };
    templates.iter().enumerate().find_map(|(i, smaller)| {
        templates[..i].iter().find_map(|larger| {
            let step = smaller.edge.len().div_ceil(100).max(1);
            let probes = smaller.edge.iter().step_by(step);
            let on: Vec<Point> = probes.copied().filter(|&p| is_on(larger, p)).collect();
            // A quarter of an edge is no noise where two templates touch.
            (on.len() * step * 4 > smaller.edge.len()).then(|| on[0])
        })
    })
}

/// Templates with the openings in them, the largest first.
fn nested(rings: Vec<Vec<Point>>) -> Vec<WholeTemplate> {
    // A template lies to the right of the way, so its edge goes clockwise, and openings the other way.
    let (mut edges, openings): (Vec<_>, Vec<_>) = (rings.into_iter())
        .filter(|ring| ring.len() > 2)
        .partition(|ring| signed_area(ring) < 0.0);
    edges.sort_by(|a, b| signed_area(a).total_cmp(&signed_area(b)));
    let whole = |edge| WholeTemplate {
        edge,
        ..WholeTemplate::default()
    };
    let mut templates: Vec<WholeTemplate> = edges.into_iter().map(whole).collect();
    for opening in openings {
        let mut around = templates.iter_mut().rev();
        if let Some(own) = around.find(|t| t.contains(opening[0])) {
            own.openings.push(opening);
        }
    }
    templates
}
