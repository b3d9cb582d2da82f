//! The board as it is painted, its sheets askew, with a template on it.

use super::render::{Paint, Polygon, Random, Shot};
use warpwise::geometry::{Point, Vector};
use warpwise::photo::SeenTemplate;
use warpwise::photo::board::{Board, BoardMark, BoardPaper, BoardSheet, DOT, MARK};

/// A board with a template.
pub struct Table {
    pub board: Board,
    /// Shifts (mm) and turn (degrees) of every sheet.
    pub askew: Vec<[f64; 3]>,
    /// Printed lengths over true ones.
    pub print: [f64; 2],
    pub template: Polygon,
    pub colour: [f64; 3],
    /// How far the paper is crumpled sideways, mm.
    pub crumpled: f64,
    /// Pen lines on the template: ends and width, mm.
    pub pen: Vec<([f64; 2], [f64; 2], f64)>,
    /// Which places of the field have a dot.
    dots: Vec<bool>,
    marks: Vec<Vec<(BoardMark, Vector)>>,
}

const PAPER: [f64; 3] = [0.86, 0.86, 0.85];
const INK: [f64; 3] = [0.045, 0.045, 0.05];
const WOOD: [f64; 3] = [0.35, 0.22, 0.12];

impl Table {
    pub fn new(board: Board, template: Polygon, colour: [f64; 3]) -> Self {
        Self {
            board,
            askew: vec![[0.0; 3]; board.columns * board.rows],
            print: [1.0; 2],
            template,
            colour,
            crumpled: 0.0,
            pen: Vec::new(),
            dots: dots(&board),
            marks: (board.tiles())
                .map(|tile| {
                    board
                        .marks(tile)
                        .map(|m| (m, board.mark_at(m.corner)))
                        .collect()
                })
                .collect(),
        }
    }

    /// Tapes every sheet so far off at most: mm and degrees.
    pub fn tape(&mut self, mm: f64, degrees: f64, seed: u64) {
        let mut random = Random::new(seed);
        for sheet in &mut self.askew {
            *sheet = [
                random.between(-mm, mm) * 0.7,
                random.between(-mm, mm) * 0.7,
                random.between(-degrees, degrees),
            ];
        }
    }

    /// The middle of a tile: sheets are as large as paper is, whatever the printer does; one page is not.
    fn middle(&self, tile: BoardSheet) -> Point {
        let middle = self.board.middle(tile);
        match self.board.paper {
            BoardPaper::One => Point::new(middle.x * self.print[0], middle.y * self.print[1]),
            _ => middle,
        }
    }

    /// Lengths of the two lines that a person measures on the print.
    pub fn true_lengths(&self) -> [f64; 2] {
        self.board.measured_lines().map(|line| {
            let [a, b] = line.ends.map(|(tile, at)| {
                let [dx, dy, turn] = self.askew[self.board.index(tile)];
                let (sin, cos) = (libm::sin(turn.to_radians()), libm::cos(turn.to_radians()));
                let middle = self.middle(tile);
                let (x, y) = (at.x * self.print[0], at.y * self.print[1]);
                middle + Vector::new(x * cos - y * sin + dx, x * sin + y * cos + dy)
            });
            a.distance(b)
        })
    }
}

impl Paint for Table {
    fn template(&self, x: f64, y: f64) -> Option<[f64; 3]> {
        self.template.contains(x, y).then(|| {
            let inked = self.pen.iter().any(|(a, b, width)| {
                let (a, b, p) = (
                    Point::new(a[0], a[1]),
                    Point::new(b[0], b[1]),
                    Point::new(x, y),
                );
                let along = b - a;
                let t = ((p - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
                p.distance(a + along * t) < width / 2.0
            });
            if inked {
                [0.03, 0.03, 0.035]
            } else {
                self.colour
            }
        })
    }

    fn board(&self, x: f64, y: f64) -> [f64; 3] {
        let mut tile_size = self.board.paper.tile();
        let mut edge = 0.0;
        if self.board.paper == BoardPaper::One {
            tile_size = [tile_size[0] * self.print[0], tile_size[1] * self.print[1]];
            edge = 5.0;
        }
        let [width, height] = tile_size;
        let (all_x, all_y) = (
            width * self.board.columns as f64,
            height * self.board.rows as f64,
        );
        if x < -edge || y < -edge || x > all_x + edge || y > all_y + edge {
            return WOOD;
        }
        let tile = BoardSheet {
            column: ((x / width).max(0.0) as usize).min(self.board.columns - 1),
            row: ((y / height).max(0.0) as usize).min(self.board.rows - 1),
        };
        let index = self.board.index(tile);
        let [dx, dy, turn] = self.askew[index];
        let (sin, cos) = (libm::sin(turn.to_radians()), libm::cos(turn.to_radians()));
        let d = Point::new(x, y) - self.middle(tile) - Vector::new(dx, dy);
        let wave = |v: f64| self.crumpled * libm::sin(v / 9.0);
        let p = Vector::new(
            (d.x * cos + d.y * sin) / self.print[0] + wave(y),
            (d.y * cos - d.x * sin) / self.print[1] + wave(x),
        );
        if self.is_ink(index, p) { INK } else { PAPER }
    }
}

impl Table {
    fn is_ink(&self, index: usize, p: Vector) -> bool {
        for (mark, at) in &self.marks[index] {
            let d = p - *at;
            let half = MARK / 2.0;
            if d.x.abs() < half && d.y.abs() < half {
                let cell = |v: f64| ((v + half) / (MARK / 8.0)) as usize;
                return self
                    .board
                    .label(*mark)
                    .is_black(cell(d.x).min(7), 7 - cell(d.y).min(7));
            }
        }
        let r = DOT / 2.0;
        let pitch = 20.0;
        let grid = self.board.at(0.0, 0.0);
        let (i, j) = (
            ((p.x - grid.x) / pitch).round(),
            ((p.y - grid.y) / pitch).round(),
        );
        let near = grid + Vector::new(i * pitch, j * pitch);
        (p - near).length() < r && self.has_dot(near)
    }

    fn has_dot(&self, at: Vector) -> bool {
        let [nx, ny] = self.board.grid();
        let grid = self.board.at(0.0, 0.0);
        let (i, j) = ((at.x - grid.x) / 20.0, (at.y - grid.y) / 20.0);
        let (i, j) = (i.round(), j.round());
        if i < 0.0 || j < 0.0 || i >= nx as f64 || j >= ny as f64 {
            return false;
        }
        self.dots[j as usize * nx + i as usize]
    }
}

/// Which places of the field of a board have a dot, row by row.
fn dots(board: &Board) -> Vec<bool> {
    let ([nx, ny], grid) = (board.grid(), board.at(0.0, 0.0));
    let mut all = vec![false; nx * ny];
    for dot in board.dots() {
        let place = (dot - grid) * (1.0 / 20.0);
        all[place.y.round() as usize * nx + place.x.round() as usize] = true;
    }
    all
}

/// The JPEG file of a photograph (JFIF 1.02: luminance and two differences of colour).
pub fn jpeg(shot: &Shot, table: &Table, quality: u8) -> Vec<u8> {
    use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
    let (width, height) = (shot.width, shot.height);
    let mut coded: Vec<[f32; 3]> = (shot.take(table).chunks_exact(3))
        .map(|pixel| {
            let [r, g, b] = [0, 1, 2].map(|i| f32::from(pixel[i]));
            [
                0.299 * r + 0.587 * g + 0.114 * b,
                128.0 - 0.168_736 * r - 0.331_264 * g + 0.5 * b,
                128.0 + 0.5 * r - 0.418_688 * g - 0.081_312 * b,
            ]
        })
        .collect();
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, quality);
    if shot.halved {
        // The encoder takes one pixel of four.
        for y in (0..height - 1).step_by(2) {
            for x in (0..width - 1).step_by(2) {
                let at = y * width + x;
                let four = [at, at + 1, at + width, at + width + 1];
                for part in [1, 2] {
                    let mean = four.iter().map(|&k| coded[k][part]).sum::<f32>() / 4.0;
                    four.iter().for_each(|&k| coded[k][part] = mean);
                }
            }
        }
        encoder.set_sampling_factor(SamplingFactor::R_4_2_0);
    } else {
        encoder.set_sampling_factor(SamplingFactor::R_4_4_4);
    }
    let bytes: Vec<u8> = (coded.iter().flatten())
        .map(|v| v.round().clamp(0.0, 255.0) as u8)
        .collect();
    encoder
        .encode(&bytes, width as u16, height as u16, ColorType::Ycbcr)
        .unwrap();
    file
}

/// How far a closed line and true ones are from each other: root mean square and most, mm, both ways (from `line` to
/// the nearest of `truth`, and from that ring of `truth` which is nearest to `line`).
pub fn deviation(line: &[Point], truth: &[Vec<[f64; 2]>]) -> [f64; 2] {
    let probes = along(line);
    let Some(own) = nearest_ring(&probes, truth) else {
        return [f64::INFINITY; 2];
    };
    let (there, back) = (far(&probes, &own), far(&along(&own), line));
    [there.0.max(back.0), there.1.max(back.1)]
}

/// The true ring that is nearest to points along a line.
fn nearest_ring(probes: &[Point], truth: &[Vec<[f64; 2]>]) -> Option<Vec<Point>> {
    let rings = (truth.iter()).map(|ring| ring.iter().map(|p| Point::new(p[0], p[1])).collect());
    rings.min_by(|a: &Vec<Point>, b| far(probes, a).1.total_cmp(&far(probes, b).1))
}

/// The place where a line and the nearest of the true ones are farthest from each other.
pub fn farthest(line: &[Point], truth: &[Vec<[f64; 2]>]) -> Point {
    let probes = along(line);
    let own = nearest_ring(&probes, truth).unwrap_or_else(|| line.to_vec());
    let there = probes.into_iter().map(|p| (p.distance(foot(p, &own)), p));
    let back = along(&own)
        .into_iter()
        .map(|p| (p.distance(foot(p, line)), p));
    let most = there.chain(back).max_by(|a, b| a.0.total_cmp(&b.0));
    most.map_or(Point::default(), |most| most.1)
}

/// The lines of a template, the edge first, turned and shifted all alike so that the edge lies on its true ring as well as it can:
/// where on the board a template is seen matters to nobody, and nobody knows where that is when all sheets are taped askew.
pub fn laid_on(template: &SeenTemplate, truth: &[Vec<[f64; 2]>]) -> Vec<Vec<Point>> {
    let mut lines = vec![template.edge.clone()];
    lines.extend(template.openings.iter().cloned());
    let truth: Vec<Vec<Point>> = (truth.iter())
        .map(|ring| ring.iter().map(|p| Point::new(p[0], p[1])).collect())
        .collect();
    for _ in 0..6 {
        let probes = along(&lines[0]);
        let own = truth
            .iter()
            .min_by(|a, b| far(&probes, a).1.total_cmp(&far(&probes, b).1));
        let Some(own) = own else { return lines };
        let pairs: Vec<(Point, Point)> = probes.iter().map(|&p| (p, foot(p, own))).collect();
        let n = pairs.len() as f64;
        let middle = |of: &dyn Fn(&(Point, Point)) -> Point| {
            let sum = pairs.iter().fold((0.0, 0.0), |sum, pair| {
                (sum.0 + of(pair).x, sum.1 + of(pair).y)
            });
            Point::new(sum.0 / n, sum.1 / n)
        };
        let (from, to) = (middle(&|pair| pair.0), middle(&|pair| pair.1));
        let sums = pairs.iter().fold((0.0, 0.0), |sum, (p, q)| {
            let (a, b) = (*p - from, *q - to);
            (sum.0 + a.dot(b), sum.1 + a.cross(b))
        });
        let length = libm::hypot(sums.0, sums.1);
        let (cos, sin) = (sums.0 / length, sums.1 / length);
        for p in lines.iter_mut().flatten() {
            let d = *p - from;
            *p = to + Vector::new(d.x * cos - d.y * sin, d.x * sin + d.y * cos);
        }
    }
    lines
}

/// Places along a closed line, its corners and every millimetre or so.
pub fn along(line: &[Point]) -> Vec<Point> {
    let mut all = Vec::new();
    for (i, &a) in line.iter().enumerate() {
        let b = line[(i + 1) % line.len()];
        let n = (a.distance(b) / 1.5).ceil().max(1.0) as usize;
        all.extend((0..n).map(|k| a.towards(b, k as f64 / n as f64)));
    }
    all
}

fn far(points: &[Point], line: &[Point]) -> (f64, f64) {
    let off = |p: &Point| p.distance(foot(*p, line));
    let offs: Vec<f64> = points.iter().map(off).collect();
    let mean = offs.iter().map(|v| v * v).sum::<f64>() / offs.len() as f64;
    (mean.sqrt(), offs.iter().fold(0.0, |a, &b| a.max(b)))
}

/// The place of a closed line that is nearest to `p`.
pub fn foot(p: Point, line: &[Point]) -> Point {
    let edges = (0..line.len()).map(|i| (line[i], line[(i + 1) % line.len()]));
    let feet = edges.map(|(a, b)| {
        let d = b - a;
        a + d * ((p - a).dot(d) / d.dot(d).max(1e-12)).clamp(0.0, 1.0)
    });
    let nearest = feet.min_by(|a, b| p.distance(*a).total_cmp(&p.distance(*b)));
    nearest.unwrap_or(p)
}
