//! Connected regions of a picture of yes and no, and the lines around them.

use crate::geometry::Point;

/// Yes or no for every pixel, row by row.
pub(super) struct PixelMask {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) is_in: Vec<bool>,
}

/// A connected region of a mask.
#[derive(Clone, Debug)]
pub(super) struct PixelRegion {
    pub(super) pixels: usize,
    /// Least and greatest x and y.
    pub(super) low: [usize; 2],
    pub(super) high: [usize; 2],
    /// The first of its pixels, row by row: its left neighbour and those above are not in it.
    pub(super) first: [usize; 2],
}

/// Regions of a mask, and the number of its region for every pixel that is in.
pub(super) struct Regions {
    width: usize,
    pub(super) all: Vec<PixelRegion>,
    of: Vec<u32>,
}

/// What is in no region.
const NONE: u32 = u32::MAX;

impl PixelMask {
    /// Regions of pixels that share sides.
    pub(super) fn regions(&self) -> Regions {
        let (width, height) = (self.width, self.height);
        let mut parent: Vec<u32> = Vec::new();
        let mut of = vec![NONE; width * height];
        fn root(parent: &mut [u32], mut i: u32) -> u32 {
            while parent[i as usize] != i {
                parent[i as usize] = parent[parent[i as usize] as usize];
                i = parent[i as usize];
            }
            i
        }
        for y in 0..height {
            for x in 0..width {
                let at = y * width + x;
                if !self.is_in[at] {
                    continue;
                }
                let left = if x > 0 { of[at - 1] } else { NONE };
                let above = if y > 0 { of[at - width] } else { NONE };
                of[at] = match (left, above) {
                    (NONE, NONE) => {
                        parent.push(parent.len() as u32);
                        parent.len() as u32 - 1
                    }
                    (NONE, one) | (one, NONE) => one,
                    (a, b) => {
                        let (a, b) = (root(&mut parent, a), root(&mut parent, b));
                        parent[a.max(b) as usize] = a.min(b);
                        a.min(b)
                    }
                };
            }
        }
        let mut number = vec![NONE; parent.len()];
        let mut all: Vec<PixelRegion> = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let at = y * width + x;
                if of[at] == NONE {
                    continue;
                }
                let root = root(&mut parent, of[at]) as usize;
                if number[root] == NONE {
                    number[root] = all.len() as u32;
                    all.push(PixelRegion {
                        pixels: 0,
                        low: [x, y],
                        high: [x, y],
                        first: [x, y],
                    });
                }
                of[at] = number[root];
                let region = &mut all[number[root] as usize];
                region.pixels += 1;
                region.low[0] = region.low[0].min(x);
                region.high[0] = region.high[0].max(x);
                region.high[1] = y;
            }
        }
        Regions { width, all, of }
    }
}

impl Regions {
    /// Whether the pixel is in region `i`.
    pub(super) fn is_in(&self, i: usize, x: isize, y: isize) -> bool {
        let height = self.of.len() / self.width.max(1);
        x >= 0
            && y >= 0
            && (x as usize) < self.width
            && (y as usize) < height
            && self.of[y as usize * self.width + x as usize] == i as u32
    }

    pub(super) const fn width(&self) -> usize {
        self.width
    }

    pub(super) fn height(&self) -> usize {
        self.of.len() / self.width.max(1)
    }

    /// The number of the region of a pixel by its number.
    pub(super) fn of(&self, pixel: usize) -> Option<usize> {
        (self.of[pixel] != NONE).then_some(self.of[pixel] as usize)
    }

    /// The number of the region of a pixel.
    pub(super) fn at(&self, x: usize, y: usize) -> Option<usize> {
        let of = self.of[y * self.width + x];
        (of != NONE).then_some(of as usize)
    }

    /// The outer line around region `i`: corners of pixels one pixel apart, the region to the right of the way
    /// (y down: clockwise as seen).
    pub(super) fn around(&self, i: usize) -> Vec<Point> {
        let [x0, y0] = self.all[i].first;
        self.line_from(i, x0 as isize, y0 as isize)
    }

    /// The line around region `i` that passes above its pixel at x, y, whose upper neighbour is not in it.
    fn line_from(&self, i: usize, x0: isize, y0: isize) -> Vec<Point> {
        // At corner (x, y) going in direction d; the pixel ahead on the right is in, the one on the left is not.
        const STEPS: [(isize, isize); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];
        // The pixels ahead to the left and to the right of a corner, for each direction.
        const LEFT: [(isize, isize); 4] = [(0, -1), (0, 0), (-1, 0), (-1, -1)];
        const RIGHT: [(isize, isize); 4] = [(0, 0), (-1, 0), (-1, -1), (0, -1)];
        let (mut x, mut y, mut d) = (x0, y0, 0);
        let mut line = Vec::new();
        loop {
            line.push(Point::new(x as f64, y as f64));
            x += STEPS[d].0;
            y += STEPS[d].1;
            let is_in = |(dx, dy): (isize, isize)| self.is_in(i, x + dx, y + dy);
            // Regions hang together by sides: keep to the right first.
            if !is_in(RIGHT[d]) {
                d = (d + 1) % 4;
            } else if is_in(LEFT[d]) {
                d = (d + 3) % 4;
            }
            if (x, y, d) == (x0, y0, 0) {
                return line;
            }
        }
    }
}
