//! From dots seen to the cameras, the sheets and the board's waves: one least-squares problem.
//!
//! Unknown are the numbers of the camera of each picture, for every sheet of paper how far it lies from its place (two shifts
//! and a turn), and the height of the board as a smooth surface (cubic B-splines). A sheet askew and a wave
//! look alike at one dot, but not over a whole sheet, for what is nearer the camera is also larger.
//! Solved by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963); dots that fit badly count less
//! (Huber's weights).

use super::board::{Board, BoardPaper, BoardSheet};
use super::camera::{Camera, Space, UNKNOWNS};
use super::solve::Normal;
use crate::geometry::{Point, Vector, trig};

/// A place of the board that was seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct SeenPoint {
    pub(super) tile: BoardSheet,
    /// From the middle of its tile as printed, mm.
    pub(super) at: Vector,
    pub(super) pixel: Point,
    /// In which of the pictures.
    pub(super) view: usize,
}

/// A picture of the board.
#[derive(Clone, Debug)]
struct BoardView {
    camera: Camera,
    usual_focal: f64,
    middle: Point,
}

/// What is known of a board and the cameras that saw it.
#[derive(Clone, Debug)]
pub(super) struct BoardPose {
    views: Vec<BoardView>,
    /// The picture that is looked at.
    own: usize,
    board: Board,
    /// Printed over true lengths, along x and y.
    print: [f64; 2],
    /// Lengths of the two lines, where a person measured them, mm.
    measured: [Option<f64>; 2],
    /// Shifts (mm) and turn (radians) of the tiles; none for a board in one piece.
    sheets: Vec<[f64; 3]>,
    surface: Surface,
    /// How far dots are off, in pixels.
    pub(super) noise: f64,
}

/// How free the unknowns are.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Freedom {
    /// The cameras with the first lens number alone.
    Rough,
    /// All.
    Full,
}

/// How far dots are off at least, in pixels; what is off by less than a few times the noise counts in full.
pub(super) const DOT_NOISE: f64 = 0.04;
/// How far dots may be off (in units of their noise) before they count less.
const HUBER: f64 = 3.0;
const MOST_STEPS: usize = 25;
/// Sheets lie so far from their places (mm) and are turned so far (radians), taped by hand and printed by printers
/// that feed not quite straight.
const SHEET_OFF: [f64; 3] = [2.0, 2.0, 0.01];
/// Printers are off by such a part.
const PRINT_OFF: f64 = 0.004;
/// A person measures a long line so well, mm.
const MEASURED_OFF: f64 = 0.1;
/// Distance of the surface's knots, mm: waves shorter than twice this are not followed.
const KNOTS: f64 = 180.0;
/// Waves are so high, mm.
const WAVES: f64 = 2.5;
/// How far the lens's numbers are expected from zero.
const LENS_ODDITY: f64 = 0.3;
const DECENTRING_ODDITY: f64 = 0.003;
/// How far the focal length may be from the usual one, as a factor; and the centre, in focal lengths.
const FOCAL_OFF: f64 = 0.2;
const CENTRE_OFF: f64 = 0.02;

/// The height of the board: cubic B-splines over it.
#[derive(Clone, Debug)]
struct Surface {
    columns: usize,
    rows: usize,
    heights: Vec<f64>,
}

impl Surface {
    fn flat(board: &Board) -> Self {
        let [columns, rows] = board.size().map(|side| (side / KNOTS).ceil() as usize + 3);
        Self {
            columns,
            rows,
            heights: vec![0.0; columns * rows],
        }
    }

    /// The knots that count at a place, with their weights.
    fn weights(&self, p: Point) -> [(usize, f64); 16] {
        let along = |x: f64, n: usize| {
            let x = (x / KNOTS).clamp(0.0, (n - 3) as f64 - 1e-9);
            let (i, t) = (x.floor(), x - x.floor());
            let s = 1.0 - t;
            let weights = [
                s * s * s / 6.0,
                (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0,
                (3.0 * s * s * s - 6.0 * s * s + 4.0) / 6.0,
                t * t * t / 6.0,
            ];
            (i as usize, weights)
        };
        let (i, across) = along(p.x, self.columns);
        let (j, up) = along(p.y, self.rows);
        std::array::from_fn(|k| {
            let (a, b) = (k % 4, k / 4);
            ((j + b) * self.columns + i + a, across[a] * up[b])
        })
    }

    fn height(&self, p: Point) -> f64 {
        self.weights(p)
            .iter()
            .map(|&(k, w)| w * self.heights[k])
            .sum()
    }
}

impl BoardPose {
    /// A board seen by `camera`, whose picture has its middle there (pixels), with a usual focal length of
    /// `usual_focal` pixels.
    pub(super) fn new(
        board: Board,
        camera: Camera,
        usual_focal: f64,
        middle: Point,
        measured: [Option<f64>; 2],
    ) -> Self {
        let n = if board.paper == BoardPaper::One {
            0
        } else {
            board.columns * board.rows
        };
        let view = BoardView {
            camera,
            usual_focal,
            middle,
        };
        Self {
            views: vec![view],
            own: 0,
            board,
            print: [1.0; 2],
            measured,
            sheets: vec![[0.0; 3]; n],
            surface: Surface::flat(&board),
            noise: 10.0 * DOT_NOISE,
        }
    }

    /// The same board seen in several pictures, each by its camera; what board and sheets are begins as in the first.
    pub(super) fn of_all(poses: &[Self]) -> Option<Self> {
        let mut all = poses.first()?.clone();
        all.views = poses.iter().flat_map(|pose| pose.views.clone()).collect();
        all.noise = 10.0 * DOT_NOISE;
        Some(all)
    }

    /// It as it is looked at in picture `own`.
    pub(super) fn seen_in(&self, own: usize) -> Self {
        Self {
            own,
            ..self.clone()
        }
    }

    pub(super) fn n_views(&self) -> usize {
        self.views.len()
    }

    fn camera(&self) -> &Camera {
        &self.views[self.own].camera
    }

    /// The numbers of the first unknown of the print, after those of the cameras.
    fn first_of_board(&self) -> usize {
        UNKNOWNS * self.views.len()
    }

    /// Where a printed place lies on the board: sheets are as large as paper is, what is printed on them is not quite.
    fn on_board(&self, tile: BoardSheet, at: Vector) -> Point {
        let printed = |v: Vector| Vector::new(v.x * self.print[0], v.y * self.print[1]);
        let middle = self.board.middle(tile);
        match self.sheets.get(self.board.index(tile)) {
            None => Point::default() + printed(middle - Point::default() + at),
            Some(&[dx, dy, turn]) => {
                let (sin, cos) = trig::sin_cos_radians(turn);
                let at = printed(at);
                middle + Vector::new(at.x * cos - at.y * sin + dx, at.x * sin + at.y * cos + dy)
            }
        }
    }

    /// How that place moves on the board with each unknown of board and sheets, but for the surface.
    fn moves(&self, tile: BoardSheet, at: Vector) -> Vec<(usize, Vector)> {
        let index = self.board.index(tile);
        let print = self.first_of_board();
        let (x, y) = (Vector::new(1.0, 0.0), Vector::new(0.0, 1.0));
        let Some(&[_, _, turn]) = self.sheets.get(index) else {
            let whole = self.board.middle(tile) - Point::default() + at;
            return vec![(print, x * whole.x), (print + 1, y * whole.y)];
        };
        let (sin, cos) = trig::sin_cos_radians(turn);
        let arm = Vector::new(at.x * self.print[0], at.y * self.print[1]);
        let arm = Vector::new(arm.x * cos - arm.y * sin, arm.x * sin + arm.y * cos);
        let first = print + 2 + 3 * index;
        vec![
            (print, Vector::new(cos, sin) * at.x),
            (print + 1, Vector::new(-sin, cos) * at.y),
            (first, x),
            (first + 1, y),
            (first + 2, Vector::new(-arm.y, arm.x)),
        ]
    }

    /// The number of the first unknown of the surface.
    fn first_knot(&self) -> usize {
        self.first_of_board() + 2 + 3 * self.sheets.len()
    }

    /// Where a place on the board is in space.
    fn in_space(&self, p: Point) -> Space {
        [p.x, p.y, self.surface.height(p)]
    }

    /// Where a printed place is seen.
    pub(super) fn pixel(&self, tile: BoardSheet, at: Vector) -> Option<Point> {
        self.camera().pixel(self.in_space(self.on_board(tile, at)))
    }

    /// The place on the board over which `pixel` sees something so high above it.
    pub(super) fn place(&self, pixel: Point, above: f64) -> Option<Point> {
        let (eye, ray) = (self.camera().eye(), self.camera().ray(pixel));
        let mut height = above;
        let mut place = None;
        for _ in 0..6 {
            let t = (height - eye[2]) / ray[2];
            let p = Point::new(eye[0] + t * ray[0], eye[1] + t * ray[1]);
            if t <= 0.0 || !p.is_finite() {
                return None;
            }
            place = Some(p);
            height = self.surface.height(p) + above;
        }
        place
    }

    /// Where a disc of `radius` mm about `at` on a sheet is seen: its middle, and the ways from there to its right and its upper end.
    pub(super) fn disc(
        &self,
        tile: BoardSheet,
        at: Vector,
        radius: f64,
    ) -> Option<(Point, Vector, Vector)> {
        let place = |by: Vector| self.pixel(tile, at + by);
        let middle = place(Vector::default())?;
        let right = place(Vector::new(radius, 0.0))?;
        let up = place(Vector::new(0.0, radius))?;
        Some((middle, right - middle, up - middle))
    }

    /// Where a place of the board is seen.
    pub(super) fn pixel_of(&self, place: Point) -> Option<Point> {
        self.camera().pixel(self.in_space(place))
    }

    /// The place over which the camera is.
    pub(super) fn eye(&self) -> Point {
        let [x, y, _] = self.camera().eye();
        Point::new(x, y)
    }

    /// How far from its place `seen` is seen, in pixels.
    pub(super) fn off(&self, seen: &SeenPoint) -> f64 {
        let place = self.in_space(self.on_board(seen.tile, seen.at));
        let pixel = self.views[seen.view].camera.pixel(place);
        pixel.map_or(f64::INFINITY, |p| p.distance(seen.pixel))
    }

    /// Lengths of the lines that are measured, as they come out.
    pub(super) fn lengths(&self) -> [f64; 2] {
        self.board.measured_lines().map(|line| {
            let [a, b] = line.ends.map(|(tile, at)| self.on_board(tile, at));
            a.distance(b)
        })
    }

    /// The largest height of the board's waves over places that were seen, mm.
    pub(super) fn waves(&self, seen: &[SeenPoint]) -> f64 {
        let heights = seen
            .iter()
            .map(|s| self.surface.height(self.on_board(s.tile, s.at)));
        let (low, high) = heights.fold((f64::MAX, f64::MIN), |(l, h), z| (l.min(z), h.max(z)));
        (high - low).max(0.0)
    }

    /// The furthest that a sheet that was seen lies from its place, mm and radians.
    pub(super) fn askew(&self) -> [f64; 2] {
        let shift = |s: &[f64; 3]| Vector::new(s[0], s[1]).length();
        let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
        [
            most(&mut self.sheets.iter().map(shift)),
            most(&mut self.sheets.iter().map(|s| s[2].abs())),
        ]
    }

    /// By how much the camera leaned from straight down, in radians.
    pub(super) fn tilt(&self) -> f64 {
        self.camera().tilt()
    }

    /// Fits it to what was seen.
    pub(super) fn fit(&mut self, seen: &[SeenPoint], freedom: Freedom) {
        let mut damping = 1e-4;
        let noise = self.noise;
        let problem = CameraFit {
            seen,
            freedom,
            noise,
        };
        let mut cost = problem.cost(self);
        for _ in 0..MOST_STEPS {
            let normal = problem.normal(self);
            let mut improved = None;
            while damping < 1e6 {
                let step = normal.solved(damping);
                if let Some(step) = step {
                    let other = problem.stepped(self, &step);
                    let other_cost = problem.cost(&other);
                    if other_cost < cost {
                        improved = Some((other, other_cost));
                        damping *= 0.1;
                        break;
                    }
                }
                damping = damping.max(1e-9) * 10.0;
            }
            let Some((other, other_cost)) = improved else {
                return;
            };
            let gain = (cost - other_cost) / cost;
            *self = other;
            cost = other_cost;
            if gain < 1e-6 {
                return;
            }
        }
    }
}

struct CameraFit<'s> {
    seen: &'s [SeenPoint],
    freedom: Freedom,
    noise: f64,
}

impl CameraFit<'_> {
    fn n_unknowns(&self, scene: &BoardPose) -> usize {
        match self.freedom {
            Freedom::Rough => scene.first_of_board(),
            Freedom::Full => scene.first_knot() + scene.surface.heights.len(),
        }
    }

    /// What each unknown is expected to be near: its number, how far it is off, and how far it may be.
    fn expectations(&self, scene: &BoardPose) -> Vec<(usize, f64, f64)> {
        let rough = self.freedom == Freedom::Rough;
        let mut all = Vec::new();
        for (n, view) in scene.views.iter().enumerate() {
            let own = view.expectations(rough).into_iter();
            all.extend(own.map(|(i, off, may_be)| (UNKNOWNS * n + i, off, may_be)));
        }
        if rough {
            return all;
        }
        let print = scene.first_of_board();
        for (s, sheet) in scene.sheets.iter().enumerate() {
            for k in 0..3 {
                all.push((print + 2 + 3 * s + k, -sheet[k], SHEET_OFF[k]));
            }
        }
        for (i, scale) in scene.print.iter().enumerate() {
            all.push((print + i, 1.0 - scale, PRINT_OFF));
        }
        let from = scene.first_knot();
        let heights = scene.surface.heights.iter().enumerate();
        all.extend(heights.map(|(k, z)| (from + k, -z, WAVES)));
        all
    }

    fn cost(&self, scene: &BoardPose) -> f64 {
        let dots = self.seen.iter().map(|seen| {
            let off = scene.off(seen) / self.noise;
            if off < HUBER {
                off * off
            } else {
                HUBER * (2.0 * off - HUBER)
            }
        });
        let expected = self.expectations(scene);
        let odd = expected
            .iter()
            .map(|(_, off, may_be)| (off / may_be).powi(2));
        let lengths = scene.lengths().into_iter().zip(scene.measured);
        let lines = lengths.map(|(length, measured)| {
            measured.map_or(0.0, |mm| ((length - mm) / MEASURED_OFF).powi(2))
        });
        let lines = if self.freedom == Freedom::Full {
            lines.sum()
        } else {
            0.0
        };
        dots.sum::<f64>() + odd.sum::<f64>() + lines
    }

    fn normal(&self, scene: &BoardPose) -> Normal {
        /// Steps of the derivatives: relative lengths and angles, and mm.
        const STEP: f64 = 1e-6;
        const STEP_MM: f64 = 1e-3;
        let mut normal = Normal::new(self.n_unknowns(scene));
        let sizes: [f64; UNKNOWNS] = std::array::from_fn(|i| if i < 12 { STEP } else { STEP_MM });
        let changed = |view: &BoardView| -> Vec<[Camera; 2]> {
            let ways = (0..UNKNOWNS).map(|i| [sizes[i], -sizes[i]].map(|by| (i, by)));
            ways.map(|ways| ways.map(|(i, by)| view.camera.changed(i, by)))
                .collect()
        };
        let changed: Vec<_> = scene.views.iter().map(changed).collect();
        for seen in self.seen {
            let on_board = scene.on_board(seen.tile, seen.at);
            let place = scene.in_space(on_board);
            let camera = &scene.views[seen.view].camera;
            let Some(pixel) = camera.pixel(place) else {
                continue;
            };
            let by_camera = |i: usize| {
                let [more, less] = &changed[seen.view][i];
                derivative(more.pixel(place), less.pixel(place), sizes[i])
            };
            let by_place = |axis: usize| {
                let moved = |by: f64| {
                    let mut other = place;
                    other[axis] += by;
                    camera.pixel(other)
                };
                derivative(moved(STEP_MM), moved(-STEP_MM), STEP_MM)
            };
            let mut rows: Vec<(usize, Vector)> = (0..UNKNOWNS)
                .map(|i| (UNKNOWNS * seen.view + i, by_camera(i)))
                .collect();
            if self.freedom == Freedom::Full {
                let (x, y, z) = (by_place(0), by_place(1), by_place(2));
                let moves = scene.moves(seen.tile, seen.at).into_iter();
                rows.extend(moves.map(|(i, by)| (i, x * by.x + y * by.y)));
                let from = scene.first_knot();
                let knots = scene.surface.weights(on_board);
                rows.extend(knots.map(|(k, w)| (from + k, z * w)));
            }
            let off = seen.pixel - pixel;
            let size = off.length() / self.noise;
            let weight = if size < HUBER { 1.0 } else { HUBER / size } / (self.noise * self.noise);
            let xs: Vec<(usize, f64)> = rows.iter().map(|&(i, v)| (i, v.x)).collect();
            normal.add(&xs, off.x, weight);
            let ys: Vec<(usize, f64)> = rows.iter().map(|&(i, v)| (i, v.y)).collect();
            normal.add(&ys, off.y, weight);
        }
        if self.freedom == Freedom::Full {
            self.add_measured(scene, &mut normal);
        }
        for (i, off, may_be) in self.expectations(scene) {
            normal.add(&[(i, 1.0)], off, 1.0 / (may_be * may_be));
        }
        normal
    }

    /// Adds that the lines are as long as a person measured them.
    fn add_measured(&self, scene: &BoardPose, normal: &mut Normal) {
        let lines = scene.board.measured_lines().into_iter().zip(scene.measured);
        for (line, measured) in lines {
            let Some(measured) = measured else { continue };
            let [(tile, from), (other, to)] = line.ends;
            let way = scene.on_board(other, to) - scene.on_board(tile, from);
            let along = way * (1.0 / way.length().max(1e-9));
            let ends = [(tile, from, -1.0), (other, to, 1.0)];
            let row = ends.iter().flat_map(|&(tile, at, sign)| {
                let moves = scene.moves(tile, at).into_iter();
                moves.map(move |(i, by)| (i, sign * by.dot(along)))
            });
            // Both ends may hang on the same unknown.
            let mut summed: std::collections::BTreeMap<usize, f64> = Default::default();
            row.for_each(|(i, by)| *summed.entry(i).or_default() += by);
            let row: Vec<(usize, f64)> = summed.into_iter().collect();
            normal.add(&row, measured - way.length(), MEASURED_OFF.powi(-2));
        }
    }

    fn stepped(&self, scene: &BoardPose, step: &[f64]) -> BoardPose {
        let mut other = scene.clone();
        for (view, own) in other.views.iter_mut().zip(step.chunks(UNKNOWNS)) {
            for (i, &by) in own.iter().enumerate() {
                view.camera = view.camera.changed(i, by);
            }
        }
        if self.freedom == Freedom::Full {
            let rest = &step[scene.first_of_board()..];
            let values = other
                .print
                .iter_mut()
                .chain(other.sheets.iter_mut().flatten());
            let heights = other.surface.heights.iter_mut();
            for (value, by) in values.chain(heights).zip(rest) {
                *value += by;
            }
        }
        other
    }
}

impl BoardView {
    /// What the numbers of its camera are expected to be near.
    fn expectations(&self, rough: bool) -> Vec<(usize, f64, f64)> {
        let camera = &self.camera;
        let centre = (self.middle - camera.centre) * (1.0 / camera.focal);
        let [focal_off, centre_off] = if rough {
            [1e-3, 1e-4]
        } else {
            [FOCAL_OFF, CENTRE_OFF]
        };
        let mut all = vec![
            (0, -libm::log(camera.focal / self.usual_focal), focal_off),
            (1, centre.x, centre_off),
            (2, centre.y, centre_off),
        ];
        for i in 3..9 {
            let may_be = match i {
                3 => LENS_ODDITY,
                _ if rough => 1e-6,
                4..=6 => LENS_ODDITY,
                _ => DECENTRING_ODDITY,
            };
            all.push((i, -camera.oddity(i), may_be));
        }
        all
    }
}

fn derivative(more: Option<Point>, less: Option<Point>, step: f64) -> Vector {
    match (more, less) {
        (Some(more), Some(less)) => (more - less) * (0.5 / step),
        _ => Vector::new(0.0, 0.0),
    }
}
