//! The template told from the board by its colour; its edges are traced by `trace`.
//!
//! Black ink, shadow and white paper have no colour of their own, so colour alone counts: how far a pixel's light
//! is from grey, in the direction of the template's colour, with the colour of the light taken out. A pixel that
//! shows half template and half board then lies half-way between the two, whatever is printed there.
//!
//! The lens mixes light, but JPEG keeps colour for blocks of pixels and so mixes its coded values. Light places
//! edges too far in, coded values too far out; what is used lies between (`MIXED`, found by trials on rendered pictures).

use super::board::Board;
use super::fit::BoardPose;
use super::light::Light;
use super::locate::LocatedMarks;
use super::picture::{DecodedPicture, between};
use super::printed::Printed;
use super::regions::{PixelMask, Regions};
use super::trace::{EdgeTracer, median};
use crate::geometry::Point;

/// Colour weaker than this part of the paper's light is none.
pub(super) const LEAST_COLOUR: f64 = 0.07;
/// Regions of colour smaller than this (mm²) are no template, and smaller than this part of the largest.
const LEAST_AREA: f64 = 400.0;
const LEAST_PART: f64 = 0.02;
/// Pixels of the small picture along the side of a block in which light is taken as constant.
const BLOCK: usize = 16;
/// How near the edge of the board (mm) a template is over it.
pub(super) const BORDER: f64 = 3.0;

/// Colour over a picture: how much of the template's each pixel has.
pub(super) struct TemplateColour {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

/// A closed line in pixels of a picture, the template to the right of the way as seen.
pub(super) struct FoundLine {
    pub(super) points: Vec<Point>,
    /// Which of them are at the border of the board or the picture, or so near it that the true edge is not seen.
    pub(super) at_border: Vec<bool>,
    /// How wide its edge is seen, from a quarter of the step to three quarters, in pixels, here and there.
    pub(super) softness: Vec<f64>,
    /// Which of them are less sure, since ink is near; and how wide it is seen there.
    pub(super) is_weak: Vec<bool>,
    pub(super) weak_softness: f64,
    /// Whether brightness placed it, and not colour alone.
    pub(super) is_bright: bool,
}

/// A template in a picture.
pub(super) struct FoundTemplate {
    pub(super) edge: FoundLine,
    /// The edges of what is seen through it.
    pub(super) holes: Vec<FoundLine>,
    /// Dark lines on it: the middles of the pixels of each.
    pub(super) inked: Vec<Vec<Point>>,
    /// How wide its edge is seen, from a quarter of the step to three quarters, in pixels.
    pub(super) softness: f64,
}

/// The templates on a board, or in all of a scan, in such a light; the largest first.
pub(super) fn find(
    picture: &DecodedPicture,
    board: Option<&Board>,
    located: &LocatedMarks,
    light: Light,
) -> Vec<FoundTemplate> {
    let scene = &located.scene;
    let scale = picture.scale();
    let (width, height) = (picture.width / scale, picture.height / scale);
    let on_board = match board {
        Some(board) => inside_board(board, scene, [width, height], scale),
        None => vec![true; width * height],
    };
    let chroma = small_chroma(picture, &light, [width, height], scale);
    let coloured = PixelMask {
        width,
        height,
        is_in: (0..width * height)
            .map(|i| on_board[i] && chroma[i][0].hypot(chroma[i][1]) > LEAST_COLOUR as f32)
            .collect(),
    };
    let Some(direction) = main_colour(&coloured.regions(), &chroma) else {
        return Vec::new();
    };
    let along: Vec<f32> = chroma
        .iter()
        .map(|c| c[0] * direction[0] + c[1] * direction[1])
        .collect();
    let level = levels(&along, &coloured, [width, height]);
    let mask = PixelMask {
        width,
        height,
        is_in: (0..width * height)
            .map(|i| on_board[i] && along[i] > level[i])
            .collect(),
    };
    let colour = TemplateColour::of(picture, &light, direction);
    let finder = Finder {
        picture,
        scene,
        tracer: EdgeTracer {
            picture,
            colour,
            printed: board.map(|board| Printed::of(board, scene, picture)),
        },
        scale,
        on_board,
        light,
    };
    finder.templates(&mask)
}

struct Finder<'p> {
    picture: &'p DecodedPicture,
    scene: &'p BoardPose,
    tracer: EdgeTracer<'p>,
    scale: usize,
    on_board: Vec<bool>,
    light: Light,
}

/// Whether the pixels of the small picture show the board, a little inside its border.
fn inside_board(
    board: &Board,
    scene: &BoardPose,
    [width, height]: [usize; 2],
    scale: usize,
) -> Vec<bool> {
    const STEP: usize = 4;
    let [w, h] = board.size();
    let rows = height.div_ceil(STEP);
    let columns = width.div_ceil(STEP);
    let inside: Vec<bool> = (0..rows * columns)
        .map(|k| {
            let middle = |n: usize| (n * STEP + STEP / 2) as f64 * scale as f64;
            let place = scene.place(Point::new(middle(k % columns), middle(k / columns)), 0.0);
            place.is_some_and(|p| {
                p.x > BORDER && p.y > BORDER && p.x < w - BORDER && p.y < h - BORDER
            })
        })
        .collect();
    (0..width * height)
        .map(|i| inside[i / width / STEP * columns + i % width / STEP])
        .collect()
}

/// Two axes of colour at right angles to grey and to each other.
const AXES: [[f64; 3]; 2] = [
    [0.707_106_781_186_547_5, -0.707_106_781_186_547_5, 0.0],
    [
        0.408_248_290_463_863,
        0.408_248_290_463_863,
        -0.816_496_580_927_726,
    ],
];

/// The colour of every pixel of the small picture, along both axes, white paper being 1.
fn small_chroma(
    picture: &DecodedPicture,
    light: &Light,
    [width, height]: [usize; 2],
    scale: usize,
) -> Vec<[f32; 2]> {
    let mut all = Vec::with_capacity(width * height);
    let blocks = width.div_ceil(BLOCK);
    let mut weights: Vec<[[f32; 3]; 2]> = Vec::new();
    for y in 0..height {
        if y % BLOCK == 0 {
            weights = (0..blocks)
                .map(|b| {
                    let middle = |n: usize| ((n * BLOCK + BLOCK / 2) * scale) as f64;
                    let white = light.white(Point::new(middle(b), middle(y / BLOCK)));
                    AXES.map(|axis| [0, 1, 2].map(|i| (axis[i] / white[i]) as f32))
                })
                .collect();
        }
        for x in 0..width {
            let mut sum = [0.0_f32; 3];
            for k in 0..scale * scale {
                let pixel = picture.colour(x * scale + k % scale, y * scale + k / scale);
                for i in 0..3 {
                    sum[i] += pixel[i];
                }
            }
            let n = (scale * scale) as f32;
            let [a, b] = weights[x / BLOCK];
            let along = |w: [f32; 3]| (w[0] * sum[0] + w[1] * sum[1] + w[2] * sum[2]) / n;
            all.push([along(a), along(b)]);
        }
    }
    all
}

/// The direction of colour of the largest coloured region.
fn main_colour(regions: &Regions, chroma: &[[f32; 2]]) -> Option<[f32; 2]> {
    let best = (0..regions.all.len()).max_by_key(|&i| regions.all[i].pixels)?;
    let mut sum = [0.0_f64; 2];
    for (i, c) in chroma.iter().enumerate() {
        if regions.of(i) == Some(best) {
            sum[0] += f64::from(c[0]);
            sum[1] += f64::from(c[1]);
        }
    }
    let length = sum[0].hypot(sum[1]);
    (length > 0.0).then(|| sum.map(|v| (v / length) as f32))
}

/// Half of the template's colour around every pixel of the small picture.
fn levels(along: &[f32], coloured: &PixelMask, [width, height]: [usize; 2]) -> Vec<f32> {
    let (columns, rows) = (width.div_ceil(BLOCK), height.div_ceil(BLOCK));
    let mut sums = vec![(0.0_f32, 0.0_f32); columns * rows];
    let mut all = (0.0_f32, 0.0_f32);
    for (i, &value) in along.iter().enumerate() {
        if coloured.is_in[i] && value > 0.0 {
            // Stronger colour counts more, so that mixed pixels at edges hardly do.
            let weight = value * value;
            let block = &mut sums[i / width / BLOCK * columns + i % width / BLOCK];
            *block = (block.0 + weight * value, block.1 + weight);
            all = (all.0 + weight * value, all.1 + weight);
        }
    }
    let usual = all.0 / all.1.max(1e-12);
    let of_block = |k: usize| {
        let (c, r) = ((k % columns) as isize, (k / columns) as isize);
        let near = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (c + dx, r + dy)));
        let near = near
            .filter(|&(c, r)| c >= 0 && r >= 0 && (c as usize) < columns && (r as usize) < rows);
        let sum = near.fold((0.0, 0.0), |sum, (c, r)| {
            let block = sums[r as usize * columns + c as usize];
            (sum.0 + block.0, sum.1 + block.1)
        });
        0.5 * if sum.1 > 0.0 {
            (sum.0 / sum.1).max(0.3 * usual)
        } else {
            usual
        }
    };
    let blocks: Vec<f32> = (0..columns * rows).map(of_block).collect();
    (0..width * height)
        .map(|i| blocks[i / width / BLOCK * columns + i % width / BLOCK])
        .collect()
}

impl TemplateColour {
    fn of(picture: &DecodedPicture, light: &Light, direction: [f32; 2]) -> Self {
        let (width, height) = (picture.width, picture.height);
        const STEP: usize = 32;
        let mut values = Vec::with_capacity(width * height);
        let mut weights: Vec<[f32; 3]> = Vec::new();
        for y in 0..height {
            if y % STEP == 0 {
                weights = (0..width.div_ceil(STEP))
                    .map(|b| {
                        let at = |n: usize| (n * STEP + STEP / 2) as f64;
                        let white = light.white(Point::new(at(b), at(y / STEP)));
                        [0, 1, 2].map(|i| {
                            let axis = AXES[0][i] * f64::from(direction[0])
                                + AXES[1][i] * f64::from(direction[1]);
                            (axis / white[i]) as f32
                        })
                    })
                    .collect();
            }
            for x in 0..width {
                let [r, g, b] = picture.mixed(x, y);
                let w = weights[x / STEP];
                values.push(w[0] * r + w[1] * g + w[2] * b);
            }
        }
        Self {
            width,
            height,
            values,
        }
    }

    pub(super) fn at(&self, p: Point) -> f64 {
        between([self.width, self.height], p, |i| f64::from(self.values[i]))
    }
}

impl Finder<'_> {
    fn templates(&self, mask: &PixelMask) -> Vec<FoundTemplate> {
        let regions = mask.regions();
        let mut order: Vec<usize> = (0..regions.all.len()).collect();
        order.sort_by_key(|&i| std::cmp::Reverse(regions.all[i].pixels));
        let Some(&largest) = order.first() else {
            return Vec::new();
        };
        let most = regions.all[largest].pixels as f64;
        let not = PixelMask {
            width: mask.width,
            height: mask.height,
            is_in: mask.is_in.iter().map(|is| !is).collect(),
        };
        let gaps = not.regions();
        order
            .into_iter()
            .filter(|&i| {
                let pixels = regions.all[i].pixels as f64;
                pixels > LEAST_PART * most && pixels * self.pixel_area(&regions, i) > LEAST_AREA
            })
            .take(100)
            .map(|i| self.template(&regions, i, &gaps))
            .collect()
    }

    /// The area (mm²) of a pixel of the small picture at region `i`.
    fn pixel_area(&self, regions: &Regions, i: usize) -> f64 {
        let region = &regions.all[i];
        let at = |dx: f64, dy: f64| {
            let middle = |k: usize| (region.low[k] + region.high[k]) as f64 / 2.0;
            let scale = self.scale as f64;
            self.scene.place(
                Point::new((middle(0) + dx) * scale, (middle(1) + dy) * scale),
                0.0,
            )
        };
        match (at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0)) {
            (Some(o), Some(x), Some(y)) => (x - o).cross(y - o).abs(),
            _ => 0.0,
        }
    }

    fn template(&self, regions: &Regions, i: usize, gaps: &Regions) -> FoundTemplate {
        let line = regions.around(i);
        let edge = self.traced(&line);
        let (mut holes, mut inked) = (Vec::new(), Vec::new());
        for (g, gap) in gaps.all.iter().enumerate() {
            // What lies within it begins to the right of one of its pixels.
            let [x, y] = gap.first;
            let is_own = x > 0 && y > 0 && regions.is_in(i, x as isize - 1, y as isize);
            let touches = gap.low[0] == 0
                || gap.low[1] == 0
                || gap.high[0] + 1 >= regions.width()
                || gap.high[1] + 1 >= regions.height();
            if !is_own || touches || gap.pixels < 12 || regions.is_in(i, x as isize, y as isize) {
                continue;
            }
            if self.shows_paper(gaps, g) {
                // So that the template is to the right of the way here too.
                let mut around = gaps.around(g);
                around.reverse();
                holes.push(self.traced(&around));
            } else {
                inked.push(self.pixels(gaps, g));
            }
        }
        let lines = || std::iter::once(&edge).chain(&holes);
        let softness = median(lines().flat_map(|line| line.softness.iter().copied()));
        FoundTemplate {
            softness,
            edge,
            holes,
            inked,
        }
    }

    /// The edge near a line of corners of the small picture.
    fn traced(&self, line: &[Point]) -> FoundLine {
        let scale = self.scale as f64;
        let coarse: Vec<Point> = (line.iter())
            .map(|p| Point::new(p.x * scale, p.y * scale))
            .collect();
        (self.tracer).traced(&coarse, self.near_border(line), 3.0 + 2.0 * scale)
    }

    /// Which points of a line of corners of the small picture are at a border, or within the reach of what smooths them.
    fn near_border(&self, line: &[Point]) -> Vec<bool> {
        const NEAR: usize = 10;
        let n = line.len();
        let mut near = vec![false; n];
        for (k, p) in line.iter().enumerate() {
            if self.is_border(*p) {
                (0..=2 * NEAR.min(n / 2))
                    .for_each(|j| near[(k + n + j - NEAR.min(n / 2)) % n] = true);
            }
        }
        near
    }

    /// Whether a corner of pixels of the small picture is at the border of the board or the picture.
    fn is_border(&self, p: Point) -> bool {
        let width = self.picture.width / self.scale;
        let height = self.picture.height / self.scale;
        let (x, y) = (p.x as usize, p.y as usize);
        if x < 3 || y < 3 || x + 3 > width || y + 3 > height {
            return true;
        }
        [
            (x - 2, y - 2),
            (x + 1, y - 2),
            (x - 2, y + 1),
            (x + 1, y + 1),
        ]
        .iter()
        .any(|&(x, y)| !self.on_board[y * width + x])
    }

    /// Whether a gap shows the board: bright somewhere.
    fn shows_paper(&self, gaps: &Regions, g: usize) -> bool {
        let pixels = self.pixels(gaps, g);
        let bright = pixels.iter().filter(|p| {
            let white = self.light.white(**p);
            let seen = self.picture.colour_of(**p).unwrap_or([0.0; 3]);
            (0..3).map(|i| f64::from(seen[i]) / white[i]).sum::<f64>() > 1.6
        });
        bright.count() * 6 > pixels.len()
    }

    fn pixels(&self, gaps: &Regions, g: usize) -> Vec<Point> {
        let gap = &gaps.all[g];
        let middle = |n: usize| (n as f64 + 0.5) * self.scale as f64;
        let rows = gap.low[1]..=gap.high[1];
        let all = rows.flat_map(|y| (gap.low[0]..=gap.high[0]).map(move |x| (x, y)));
        all.filter(|&(x, y)| gaps.at(x, y) == Some(g))
            .map(|(x, y)| Point::new(middle(x), middle(y)))
            .collect()
    }
}
