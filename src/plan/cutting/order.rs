//! The order in which a layout is labelled and cut.
//!
//! Frame by frame on the table (and in it by what a machine reaches at once); in each frame all labels and marks first, since a piece that has
//! been cut free may shift, then the cuts. What lies inside a line is cut before that line: openings
//! before their outer boundary, and a piece nested in an opening before that opening. Among what
//! is allowed next, the way with the blade up is kept short ([`tour`]). Every line begins away from
//! corners, where a blade that turns or overruns does no harm, and runs so that the piece lies to
//! its left: outer boundaries counter-clockwise, openings clockwise.

use super::tour::{tour, way_length};
use crate::geometry::{Bounds, Point, Ring, trig};
use crate::plan::{Layout, PlacedPiece};
use crate::units::Length;

/// The order of work on one layout.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutOrder {
    /// The frames along the roll, in order; one if the layout is cut in one go.
    pub frames: Vec<CutFrame>,
    /// Way between the cuts, with the blade up.
    pub cut_travel: Travel,
    /// Way between the labels.
    pub label_travel: Travel,
}

/// The way between lines, from the lower left corner of each frame to the first and on to the last.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Travel {
    /// In the order found.
    pub ordered: Length,
    /// For the pieces in the order in which they lie along the roll, openings first, each line from
    /// its first vertex.
    pub as_placed: Length,
}

impl Travel {
    fn add(&mut self, ordered: f64, as_placed: f64) {
        self.ordered = self.ordered + Length::mm(ordered);
        self.as_placed = self.as_placed + Length::mm(as_placed);
    }
}

/// What is labelled and cut while the cloth lies still.
#[derive(Clone, Debug, PartialEq)]
pub struct CutFrame {
    /// Where it begins along the roll, mm.
    pub from: f64,
    /// Where it ends along the roll, mm.
    pub to: f64,
    /// Pieces of the layout (as indices) in the order in which they are labelled.
    pub labels: Vec<usize>,
    /// The lines in the order in which they are cut.
    pub cuts: Vec<Cut>,
}

/// A closed line to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// The piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Which of its openings; none for the outer boundary.
    pub opening: Option<usize>,
    /// Its points in the roll frame, mm, from the start, which is not repeated; the piece lies to
    /// the left.
    pub points: Vec<Point>,
}

/// A turn of the line of more than this (degrees) is a corner. Larger: a blade may start on a bend
/// that shows; smaller: curves of few chords have no place to start.
const CORNER_DEG: f64 = 15.0;
/// A line begins this far (mm) from the next corner, or half-way between two that are nearer.
const CLEAR_MM: f64 = 15.0;
/// Most places where a line may begin. Larger: slower; smaller: longer ways.
const MOST_STARTS: usize = 24;
/// A piece may reach this far (mm) beyond its frame and still belong to it.
const BEYOND_MM: f64 = 0.01;

/// Orders the work on `layout`, table frame by table frame and in each by what a machine reaches
/// at once (`reach`), and puts its pieces in the order in which they come free.
pub(in crate::plan) fn arrange(layout: &mut Layout, reach: Option<Length>) {
    let frames = frames(layout, reach);
    let mut order = ordered(&layout.pieces, &frames);
    let free: Vec<usize> = order
        .frames
        .iter()
        .flat_map(|f| &f.cuts)
        .filter(|cut| cut.opening.is_none())
        .map(|cut| cut.piece)
        .collect();
    let mut number = vec![0; layout.pieces.len()];
    for (n, &piece) in free.iter().enumerate() {
        number[piece] = n;
        layout.pieces[piece].sequence = n + 1;
    }
    layout.pieces.sort_by_key(|piece| piece.sequence);
    for frame in &mut order.frames {
        frame
            .labels
            .iter_mut()
            .for_each(|piece| *piece = number[*piece]);
        frame
            .cuts
            .iter_mut()
            .for_each(|cut| cut.piece = number[cut.piece]);
    }
    layout.order = order;
}

/// The order of work on `pieces` in `frames` (where they begin and end along the roll, mm,
/// increasing).
///
/// A piece belongs to the first frame that holds all of it; one that no frame holds to the last
/// one it reaches, so it comes free when the cloth has been moved on.
#[must_use]
pub fn ordered(pieces: &[PlacedPiece], frames: &[[f64; 2]]) -> CutOrder {
    let lines = lines(pieces);
    let mut order = CutOrder::default();
    let mut done = f64::NEG_INFINITY;
    for (k, &[from, to]) in frames.iter().enumerate() {
        let is_last = k + 1 == frames.len();
        let belongs = |piece: usize| {
            let reach = pieces[piece].cut.bounds().max.x - BEYOND_MM;
            reach > done && (reach <= to || is_last)
        };
        let home = Point::new(from, 0.0);
        let labelled: Vec<usize> = (0..pieces.len()).filter(|&p| belongs(p)).collect();
        let centres: Vec<Point> = labelled.iter().map(|&p| pieces[p].label.centre).collect();
        let stops: Vec<Vec<Point>> = centres.iter().map(|&c| vec![c]).collect();
        let labels = tour(home, &stops, &[]);
        order.label_travel.add(
            way_length(home, labels.iter().map(|v| centres[v.stop])),
            way_length(home, centres.iter().copied()),
        );

        let cut: Vec<&Line> = lines.iter().filter(|l| belongs(l.piece)).collect();
        let cuts = in_order(home, &cut);
        order.cut_travel.add(
            way_length(home, cuts.iter().map(|c| c.points[0])),
            way_length(home, cut.iter().map(|l| l.points[0])),
        );
        order.frames.push(CutFrame {
            from,
            to,
            labels: labels.iter().map(|v| labelled[v.stop]).collect(),
            cuts,
        });
        done = to;
    }
    order
}

/// Where the frames begin and end: those on the table, or the used length, divided where a machine
/// reaches less far.
fn frames(layout: &Layout, reach: Option<Length>) -> Vec<[f64; 2]> {
    let on_table = match layout.frames[..] {
        [] => vec![[0.0, layout.used_length.to_mm()]],
        _ => layout.frames.clone(),
    };
    let reach = reach.map(Length::to_mm).filter(|&reach| reach > 0.0);
    let divided = |frame| match reach {
        Some(reach) => divided(layout, frame, reach),
        None => vec![frame],
    };
    on_table.into_iter().flat_map(divided).collect()
}

/// A frame divided into some no longer than `longest` mm, rather where few pieces are crossed.
fn divided(layout: &Layout, [mut from, to]: [f64; 2], longest: f64) -> Vec<[f64; 2]> {
    /// Share of a frame that may be given up so that fewer pieces are crossed.
    const GIVEN_UP: f64 = 0.4;
    const N_TRIED: u32 = 80;
    let mut frames = Vec::new();
    while to - from > longest + BEYOND_MM {
        let crossed = |x: f64| {
            let bounds = layout.pieces.iter().map(|p| p.cut.bounds());
            bounds.filter(|b| b.min.x < x && x < b.max.x).count()
        };
        let tried = (0..=N_TRIED)
            .map(|i| from + longest * (1.0 - GIVEN_UP * f64::from(i) / f64::from(N_TRIED)));
        // The first of equals is the longest frame.
        let end = tried.min_by_key(|&x| crossed(x)).unwrap_or(from + longest);
        frames.push([from, end]);
        from = end;
    }
    frames.push([from, to]);
    frames
}

/// A boundary to cut, its points in the direction of cutting.
struct Line {
    piece: usize,
    opening: Option<usize>,
    points: Vec<Point>,
    bounds: Bounds,
}

/// All boundaries of `pieces`, openings first, as they lie.
fn lines(pieces: &[PlacedPiece]) -> Vec<Line> {
    let mut lines = Vec::new();
    for (piece, placed) in pieces.iter().enumerate() {
        for (k, ring) in placed.cut.openings.iter().enumerate() {
            let mut points = ring.points().to_vec();
            points.reverse();
            lines.push(Line {
                piece,
                opening: Some(k),
                points,
                bounds: ring.bounds(),
            });
        }
        lines.push(Line {
            piece,
            opening: None,
            points: placed.cut.outer.points().to_vec(),
            bounds: placed.cut.bounds(),
        });
    }
    lines
}

/// The lines in the order of cutting, each from its best start.
fn in_order(home: Point, lines: &[&Line]) -> Vec<Cut> {
    let starts: Vec<Vec<Start>> = lines.iter().map(|l| starts(&l.points)).collect();
    let stops: Vec<Vec<Point>> = starts
        .iter()
        .map(|s| s.iter().map(|start| start.point).collect())
        .collect();
    tour(home, &stops, &inner_first(lines))
        .iter()
        .map(|visit| {
            let line = lines[visit.stop];
            Cut {
                piece: line.piece,
                opening: line.opening,
                points: starts[visit.stop][visit.point].line(&line.points),
            }
        })
        .collect()
}

/// Pairs of lines of which the first lies inside the second.
fn inner_first(lines: &[&Line]) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    let outer_of = |piece: usize| {
        lines
            .iter()
            .position(|l| l.piece == piece && l.opening.is_none())
    };
    for (k, line) in lines
        .iter()
        .enumerate()
        .filter(|(_, l)| l.opening.is_some())
    {
        pairs.extend(outer_of(line.piece).map(|outer| (k, outer)));
        let Ok(hole) = Ring::new(line.points.iter().copied()) else {
            continue;
        };
        let holds = |other: &Line| {
            other.opening.is_none()
                && other.piece != line.piece
                && line.bounds.holds(&other.bounds, 0.0)
                && hole.contains(other.points[0])
        };
        let inside = lines.iter().enumerate().filter(|(_, other)| holds(other));
        pairs.extend(inside.map(|(inner, _)| (inner, k)));
    }
    pairs
}

/// A place where a line may begin.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Start {
    /// The edge it lies on, by its first vertex.
    edge: usize,
    point: Point,
}

impl Start {
    /// The closed line through `points` from here.
    fn line(&self, points: &[Point]) -> Vec<Point> {
        let mut line = Vec::with_capacity(points.len() + 1);
        line.push(self.point);
        let rest = points.iter().cycle().skip(self.edge + 1).take(points.len());
        line.extend(rest.copied().filter(|&p| p != self.point));
        line
    }
}

/// Places on the closed line where it may begin, spread over its length and away from corners.
fn starts(points: &[Point]) -> Vec<Start> {
    let n = points.len();
    let lengths: Vec<f64> = (0..n)
        .map(|i| points[i].distance(points[(i + 1) % n]))
        .collect();
    let corners: Vec<usize> = (0..n).filter(|&i| is_corner(points, i)).collect();
    let perimeter: f64 = lengths.iter().sum();
    let spacing = perimeter / MOST_STARTS as f64;
    // Without corners one stretch goes all round, and any place will do.
    let stretches: Vec<(usize, usize)> = match corners[..] {
        [] => vec![(0, n)],
        _ => (0..corners.len())
            .map(|k| {
                let next = corners.get(k + 1).copied().unwrap_or(corners[0] + n);
                (corners[k], next)
            })
            .collect(),
    };
    // The longer half of the stretches offers enough choice.
    let length_of =
        |&(from, to): &(usize, usize)| -> f64 { (from..to).map(|i| lengths[i % n]).sum() };
    let mut all: Vec<(f64, (usize, usize))> =
        stretches.iter().map(|s| (length_of(s), *s)).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let longest = all[0].0;
    all.retain(|(length, _)| *length >= (2.0 * CLEAR_MM).min(longest));
    all.truncate(MOST_STARTS);
    let mut starts = Vec::new();
    for (length, (from, to)) in all {
        let clear = if corners.is_empty() {
            0.0
        } else {
            CLEAR_MM.min(length / 2.0)
        };
        let free = length - 2.0 * clear;
        let steps = (free / spacing).floor().max(0.0);
        for k in 0..=(steps as usize) {
            let along = if steps > 0.0 {
                free * k as f64 / steps
            } else {
                free / 2.0
            };
            starts.extend(at(points, &lengths, (from, to), clear + along));
        }
    }
    starts
}

/// The place `along` mm from vertex `from`, before vertex `to` (counted on beyond the last).
fn at(
    points: &[Point],
    lengths: &[f64],
    (from, to): (usize, usize),
    mut along: f64,
) -> Option<Start> {
    let n = points.len();
    for i in from..to {
        let edge = i % n;
        if along <= lengths[edge] {
            let t = along / lengths[edge];
            return Some(Start {
                edge,
                point: points[edge].towards(points[(edge + 1) % n], t),
            });
        }
        along -= lengths[edge];
    }
    None
}

/// Whether the line turns sharply at vertex `i`.
fn is_corner(points: &[Point], i: usize) -> bool {
    let n = points.len();
    let before = points[i] - points[(i + n - 1) % n];
    let after = points[(i + 1) % n] - points[i];
    let turn = trig::atan2_radians(before.cross(after), before.dot(after));
    turn.abs().to_degrees() > CORNER_DEG
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Outline;
    use crate::plan::tests::{layout, piece};

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Ring {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap()
    }

    /// A frame with two openings, a tab nested in the first, and a plate far from it.
    fn nested() -> Vec<PlacedPiece> {
        let frame = Outline {
            outer: rectangle(0.0, 0.0, 400.0, 200.0),
            openings: vec![
                rectangle(20.0, 20.0, 160.0, 160.0),
                rectangle(220.0, 20.0, 160.0, 160.0),
            ],
        };
        let tab = Outline::solid(rectangle(60.0, 60.0, 50.0, 50.0));
        let plate = Outline::solid(rectangle(900.0, 0.0, 80.0, 80.0));
        vec![
            piece("FRAME", frame),
            piece("TAB", tab),
            piece("PLATE", plate),
        ]
    }

    fn names(pieces: &[PlacedPiece], frame: &CutFrame) -> Vec<String> {
        let name = |cut: &Cut| match cut.opening {
            Some(k) => format!("{}/{k}", pieces[cut.piece].id),
            None => pieces[cut.piece].id.clone(),
        };
        frame.cuts.iter().map(name).collect()
    }

    #[test]
    fn what_lies_inside_is_cut_first() {
        let pieces = nested();
        let order = ordered(&pieces, &[[0.0, 1000.0]]);
        let names = names(&pieces, &order.frames[0]);
        let place = |name: &str| names.iter().position(|n| n == name).unwrap();
        assert_eq!(names.len(), 5);
        assert!(place("TAB") < place("FRAME/0"), "{names:?}");
        assert!(place("FRAME/0") < place("FRAME") && place("FRAME/1") < place("FRAME"));
        assert_eq!(order.frames[0].labels.len(), 3);
    }

    #[test]
    fn frames_are_done_one_after_the_other() {
        let pieces = nested();
        let order = ordered(&pieces, &[[0.0, 500.0], [500.0, 1000.0]]);
        assert_eq!(names(&pieces, &order.frames[1]), ["PLATE"]);
        assert_eq!(order.frames[0].cuts.len(), 4);
    }

    #[test]
    fn a_cut_begins_away_from_corners_and_keeps_the_piece_on_its_left() {
        let pieces = nested();
        for cut in &ordered(&pieces, &[[0.0, 1000.0]]).frames[0].cuts {
            let ring = match cut.opening {
                Some(k) => &pieces[cut.piece].cut.openings[k],
                None => &pieces[cut.piece].cut.outer,
            };
            let start = cut.points[0];
            for corner in ring.points() {
                assert!(start.distance(*corner) >= CLEAR_MM - 1e-9, "{start:?}");
                assert!(cut.points.contains(corner));
            }
            assert_eq!(cut.points.len(), ring.points().len() + 1);
            let next = cut.points[1] - start;
            let left =
                start + crate::geometry::Vector::new(-next.y, next.x) * (1.0 / next.length());
            assert!(pieces[cut.piece].cut.contains(left), "{start:?}");
        }
    }

    #[test]
    fn pieces_are_numbered_as_they_come_free() {
        let mut layout = layout(Length::mm(1000.0), Length::mm(300.0), nested());
        arrange(&mut layout, Some(Length::mm(600.0)));
        let ids: Vec<&str> = layout.pieces.iter().map(|p| p.id.as_str()).collect();
        assert_eq!(ids, ["TAB", "FRAME", "PLATE"]);
        assert_eq!(layout.order.frames.len(), 2);
        // The first frame ends where no piece is cut through.
        let end = layout.order.frames[0].to;
        assert!((400.0..=600.0).contains(&end), "{end}");
        for cut in layout.order.frames.iter().flat_map(|f| &f.cuts) {
            assert!(layout.pieces[cut.piece].cut.bounds().max.x >= cut.points[0].x);
        }
    }
}
