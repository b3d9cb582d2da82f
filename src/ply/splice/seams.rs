//! Where no splice may lie: near the splices of neighbouring plies, and in keep-out areas.

use super::bands::Bands;
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Outline, Point, Ring, Turn, Vector, clip};
use crate::ply::Piece;

/// Splices of plies with fewer plies than this between them are kept apart (MIL-HDBK-17-3F rule
/// at least four plies between splices that coincide).
const PLIES_BETWEEN: usize = 4;

/// Splices whose directions differ by less than this run alongside each other and can be kept
/// apart; others must cross. Sine of 30°.
const ALONGSIDE: f64 = 0.5;

/// Distances are kept to within this, mm.
const SAME_MM: f64 = 1e-3;

/// The splices of the plies of a part so far, in its pattern frame.
#[derive(Default)]
pub(in crate::ply) struct Seams(Vec<Seam>);

/// The splices of one ply.
struct Seam {
    /// Position of the ply in the schedule.
    position: usize,
    /// Middle lines, each from edge to edge of the net line.
    lines: Vec<[Point; 2]>,
    /// Half the lap.
    half: f64,
}

/// Heights at which no line may lie, for one ply in one frame.
pub(super) struct Barred {
    /// Nearby splices in the frame.
    lines: Vec<([Point; 2], f64)>,
    /// Intervals that keep-out areas take, the lap counted.
    kept_out: Vec<(f64, f64)>,
    /// Half the lap of the ply itself.
    half: f64,
    stagger: f64,
}

/// What bars a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bar {
    KeepOut,
    Stagger,
}

impl Seams {
    pub(in crate::ply) fn new() -> Self {
        Self::default()
    }

    /// What bars lines in `frame` for the ply `whole`; `keep_out` is in the pattern frame.
    pub(super) fn barred(&self, whole: &Piece, frame: Turn, lap: f64, keep_out: &[Ring]) -> Barred {
        let net = frame.outline(&whole.net);
        let half = lap / 2.0;
        let kept_out = keep_out
            .iter()
            .map(|ring| frame.outline(&Outline::solid(ring.clone())))
            .flat_map(|area| clip::common(&net, &area))
            .map(|area| area.bounds())
            .map(|b| (b.min.y - half, b.max.y + half))
            .collect();
        let near = |seam: &&Seam| whole.ply - seam.position <= PLIES_BETWEEN;
        let lines = self
            .0
            .iter()
            .filter(near)
            .flat_map(|seam| seam.lines.iter().map(|line| (line, seam.half)))
            .map(|(line, half)| (line.map(|p| frame.apply(p)), half))
            .filter(|(line, _)| {
                let along = line[1] - line[0];
                along.y.abs() < ALONGSIDE * along.length()
            })
            .collect();
        Barred {
            lines,
            kept_out,
            half,
            stagger: whole.ply().cutting.splice.stagger.to_mm(),
        }
    }

    /// Remembers the lines at heights `at` of the ply `whole` that `bands` divides.
    pub(super) fn remember(&mut self, whole: &Piece, bands: &Bands<'_>, at: &[f64]) {
        let back = Turn::rotation(-bands.frame.angle);
        let lines = at
            .iter()
            .flat_map(|&y| level_lines(&bands.net, y))
            .map(|line| line.map(|p| back.apply(p)))
            .collect();
        self.0.push(Seam {
            position: whole.ply,
            lines,
            half: bands.lap / 2.0,
        });
    }
}

impl Barred {
    /// What bars a line at height `y` across `net`, if anything.
    pub(super) fn bars(&self, net: &Outline, y: f64) -> Option<Bar> {
        let inside = |&(low, high): &(f64, f64)| low + SAME_MM < y && y < high - SAME_MM;
        if self.kept_out.iter().any(inside) {
            return Some(Bar::KeepOut);
        }
        let too_near = level_lines(net, y).any(|line| {
            self.lines.iter().any(|&(other, half)| {
                between(line, other) - self.half - half < self.stagger - SAME_MM
            })
        });
        too_near.then_some(Bar::Stagger)
    }

    /// Heights just beside what bars lines: where a splice lies best if its own place is taken.
    pub(super) fn edges(&self) -> Vec<f64> {
        let beside = self.kept_out.iter().flat_map(|&(low, high)| [low, high]);
        let staggered = self.lines.iter().flat_map(|(line, half)| {
            let clear = self.half + half + self.stagger;
            let (low, high) = (line[0].y.min(line[1].y), line[0].y.max(line[1].y));
            [low - clear, high + clear]
        });
        beside.chain(staggered).collect()
    }
}

/// The level lines at height `y` inside `net`.
pub(super) fn level_lines(net: &Outline, y: f64) -> impl Iterator<Item = [Point; 2]> {
    let ends = clip::chords(net, y).into_iter();
    ends.map(move |(from, to)| [Point::new(from, y), Point::new(to, y)])
}

/// Distance between two segments.
fn between(a: [Point; 2], b: [Point; 2]) -> f64 {
    let side = |[from, to]: [Point; 2], p: Point| Vector::cross(to - from, p - from);
    let apart = |line, [p, q]: [Point; 2]| side(line, p) * side(line, q) < 0.0;
    if apart(a, b) && apart(b, a) {
        return 0.0;
    }
    let ends = [
        point_to_segment(a[0], b[0], b[1]),
        point_to_segment(a[1], b[0], b[1]),
        point_to_segment(b[0], a[0], a[1]),
        point_to_segment(b[1], a[0], a[1]),
    ];
    ends.into_iter().fold(f64::INFINITY, f64::min)
}
