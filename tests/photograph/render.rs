//! A renderer of photographs of a template on its board, for tests: its lens works in the opposite direction
//! of the one that is fitted (from the pixel to the ray), every pixel is the mean of several rays, and light, shadow,
//! blur, noise and the halved colour of JPEG are added.

use std::f64::consts::TAU;
use std::sync::LazyLock;

/// What is seen: light reflected in red, green and blue at places in mm.
pub trait Paint: Sync {
    /// On the board.
    fn board(&self, x: f64, y: f64) -> [f64; 3];
    /// On the template, where it is.
    fn template(&self, x: f64, y: f64) -> Option<[f64; 3]>;
}

/// A closed line, found quickly.
pub struct Polygon {
    rings: Vec<Vec<[f64; 2]>>,
    low: f64,
    rows: Vec<Vec<[[f64; 2]; 2]>>,
}

impl Polygon {
    /// The inside of `rings` by the even-odd rule.
    pub fn new(rings: Vec<Vec<[f64; 2]>>) -> Self {
        let ys = || rings.iter().flatten().map(|p| p[1]);
        let low = ys().fold(f64::MAX, f64::min).floor();
        let high = ys().fold(f64::MIN, f64::max).ceil();
        let mut rows = vec![Vec::new(); (high - low).max(0.0) as usize + 2];
        for ring in &rings {
            for i in 0..ring.len() {
                let edge = [ring[i], ring[(i + 1) % ring.len()]];
                let (a, b) = (edge[0][1].min(edge[1][1]), edge[0][1].max(edge[1][1]));
                for row in &mut rows[(a - low) as usize..=(b - low) as usize] {
                    row.push(edge);
                }
            }
        }
        Self { rings, low, rows }
    }

    pub fn rings(&self) -> &[Vec<[f64; 2]>] {
        &self.rings
    }

    pub fn contains(&self, x: f64, y: f64) -> bool {
        if y < self.low {
            return false;
        }
        let Some(row) = self.rows.get((y - self.low) as usize) else {
            return false;
        };
        let crossed = row.iter().filter(|[a, b]| {
            (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        });
        crossed.count() % 2 == 1
    }
}

/// How a picture is taken.
#[derive(Clone, Debug)]
pub struct Shot {
    pub width: usize,
    pub height: usize,
    /// Angle of view across, degrees.
    pub view_deg: f64,
    /// Leaning from straight down, degrees, and towards where.
    pub tilt_deg: f64,
    pub tilt_to_deg: f64,
    /// Turn about the axis, degrees.
    pub turn_deg: f64,
    /// The place of the board in the middle of the picture, mm.
    pub aim: [f64; 2],
    /// Distance from there, mm.
    pub distance: f64,
    /// Undistorted radius = r (1 + a r² + b r⁴), r in half diagonals of the picture.
    pub lens: [f64; 2],
    /// Where the lens's axis is off the middle, pixels.
    pub off_axis: [f64; 2],
    /// Height of the board's waves from lowest to highest, mm.
    pub waves: f64,
    /// Thickness of the template, mm.
    pub thickness: f64,
    /// How far the template is up at its right end, mm: it begins to lift at this x, and is so high 100 mm further.
    pub lift: Option<(f64, f64)>,
    /// Rays along each side of a pixel.
    pub rays: usize,
    /// Blur, standard deviation in pixels.
    pub blur: f64,
    /// Noise, standard deviation of values from 0 to 1.
    pub noise: f64,
    /// How much darker the far end is, from 0 to 1.
    pub slope: f64,
    /// How dark a shadow is that falls over a part of it, from 0 to 1.
    pub shadow: f64,
    /// Colour of the light.
    pub light: [f64; 3],
    pub seed: u64,
}

impl Default for Shot {
    fn default() -> Self {
        Self {
            width: 4000,
            height: 3000,
            view_deg: 67.0,
            tilt_deg: 8.0,
            tilt_to_deg: 40.0,
            turn_deg: 0.0,
            aim: [600.0, 450.0],
            distance: 1050.0,
            lens: [0.03, 0.01],
            off_axis: [9.0, -14.0],
            waves: 0.0,
            thickness: 0.0,
            lift: None,
            rays: 3,
            blur: 0.8,
            noise: 0.008,
            slope: 0.3,
            shadow: 0.35,
            light: [1.0, 0.96, 0.88],
            seed: 1,
        }
    }
}

/// Numbers that look random.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03)
    }

    pub fn unit(&mut self) -> f64 {
        // xorshift64* (Vigna 2016).
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

fn sin_cos(degrees: f64) -> (f64, f64) {
    let radians = degrees.to_radians();
    (libm::sin(radians), libm::cos(radians))
}

impl Shot {
    /// Height of the board at a place, mm.
    pub fn board_height(&self, x: f64, y: f64) -> f64 {
        static WAYS: LazyLock<[(f64, f64); 2]> = LazyLock::new(|| [25.0, 115.0].map(sin_cos));
        let wave = |length: f64, (s, c): (f64, f64), b: f64| {
            libm::sin(((x * c + y * s) * 360.0 / length + b).to_radians())
        };
        self.waves * 0.5 * (0.6 * wave(640.0, WAYS[0], 40.0) + 0.4 * wave(430.0, WAYS[1], 200.0))
    }

    /// The picture as 8-bit red, green, blue, row by row. `paint` tells what is seen.
    pub fn take(&self, paint: &dyn Paint) -> Vec<u8> {
        let mut light = self.rays_of(paint);
        self.blur(&mut light);
        self.values(&light)
    }

    fn rays_of(&self, paint: &dyn Paint) -> Vec<[f32; 3]> {
        let (w, h) = (self.width as f64, self.height as f64);
        let focal = 0.5 * w / libm::tan(0.5 * self.view_deg.to_radians());
        let half = 0.5 * (w * w + h * h).sqrt();
        let (st, ct) = sin_cos(self.tilt_deg);
        let (sa, ca) = sin_cos(self.tilt_to_deg);
        let (sr, cr) = sin_cos(self.turn_deg);
        // The camera leans towards (ca, sa): it stands off to the other side and looks there.
        let ahead = [st * ca, st * sa, -ct];
        let right0 = [sa, -ca, 0.0];
        let down0 = [
            ahead[1] * right0[2] - ahead[2] * right0[1],
            ahead[2] * right0[0] - ahead[0] * right0[2],
            ahead[0] * right0[1] - ahead[1] * right0[0],
        ];
        // With no turn the picture's x runs along the board's.
        let (sb, cb) = (sa * cr - ca * sr, sa * sr + ca * cr);
        let (sb, cb) = (cb, sb);
        let mix = |a: f64, b: f64| [0, 1, 2].map(|i| right0[i] * a + down0[i] * b);
        let (right, down) = (mix(cb, -sb), mix(sb, cb));
        let eye = [
            self.aim[0] - ahead[0] * self.distance,
            self.aim[1] - ahead[1] * self.distance,
            -ahead[2] * self.distance,
        ];
        let n = self.rays;
        let mut all = vec![[0.0_f32; 3]; self.width * self.height];
        let rows: Vec<(usize, &mut [[f32; 3]])> = all.chunks_mut(self.width).enumerate().collect();
        let rows = std::sync::Mutex::new(rows);
        let work = || {
            loop {
                let Some((y, row)) = rows.lock().ok().and_then(|mut rows| rows.pop()) else {
                    return;
                };
                for (x, pixel) in row.iter_mut().enumerate() {
                    let mut sum = [0.0; 3];
                    for k in 0..n * n {
                        let px = x as f64 + ((k % n) as f64 + 0.5) / n as f64;
                        let py = y as f64 + ((k / n) as f64 + 0.5) / n as f64;
                        let u = px - 0.5 * w - self.off_axis[0];
                        let v = py - 0.5 * h - self.off_axis[1];
                        let rr = (u * u + v * v) / (half * half);
                        let stretch = (1.0 + rr * (self.lens[0] + rr * self.lens[1])) / focal;
                        let (u, v) = (u * stretch, v * stretch);
                        let ray = [0, 1, 2].map(|i| ahead[i] + u * right[i] + v * down[i]);
                        let seen = self.meets(eye, ray, paint);
                        for i in 0..3 {
                            sum[i] += seen[i];
                        }
                    }
                    *pixel = sum.map(|v| (v / (n * n) as f64) as f32);
                }
            }
        };
        std::thread::scope(|scope| {
            scope.spawn(work);
            work();
        });
        all
    }

    /// Height of the template's face over the board, mm.
    fn template_height(&self, x: f64) -> f64 {
        let lifted = self.lift.map_or(0.0, |(from, by)| {
            by * ((x - from) / 100.0).clamp(0.0, 1.5).powi(2)
        });
        self.thickness + lifted
    }

    /// How much of the light a lifted template takes from a place of the board: a window is to its left.
    fn shaded(&self, x: f64, y: f64, paint: &dyn Paint) -> f64 {
        if self.lift.is_none() {
            return 0.0;
        }
        let hidden = (0..9).filter(|k| {
            let (across, up) = (1.1 + 0.25 * f64::from(k % 3), 0.2 * f64::from(k / 3 - 1));
            let (mut px, mut py) = (x, y);
            for _ in 0..4 {
                let height = self.template_height(px);
                (px, py) = (x - across * height, y + up * height);
            }
            self.template_height(px) > 0.2 && paint.template(px, py).is_some()
        });
        0.6 * hidden.count() as f64 / 9.0
    }

    fn meets(&self, eye: [f64; 3], ray: [f64; 3], paint: &dyn Paint) -> [f64; 3] {
        let at = |above: &dyn Fn(f64) -> f64| {
            let mut height = above(eye[0]);
            let (mut x, mut y) = (0.0, 0.0);
            for _ in 0..4 {
                let t = (height - eye[2]) / ray[2];
                (x, y) = (eye[0] + t * ray[0], eye[1] + t * ray[1]);
                if self.waves == 0.0 && self.lift.is_none() {
                    break;
                }
                height = self.board_height(x, y) + above(x);
            }
            (x, y)
        };
        let (mut x, mut y) = at(&|x| self.template_height(x));
        let painted = paint.template(x, y).unwrap_or_else(|| {
            (x, y) = at(&|_| 0.0);
            let board = || {
                let light = 1.0 - self.shaded(x, y, paint);
                paint.board(x, y).map(|v| v * light)
            };
            // Its edge hides what lies behind it; that of one that is up does not reach down.
            let edge = paint
                .template(x, y)
                .filter(|_| self.template_height(x) <= self.thickness);
            edge.unwrap_or_else(board)
        });
        let slope = 1.0 - self.slope * (0.5 + x / 2400.0 + y / 3600.0).clamp(0.0, 1.0);
        // The soft edge of a shadow across the board.
        let into = (x * 0.5 + y * 0.86 - 520.0) / 60.0;
        let shade = 1.0 - self.shadow * (0.5 + 0.5 * into.clamp(-1.0, 1.0));
        [0, 1, 2].map(|i| painted[i] * slope * shade * self.light[i])
    }

    fn blur(&self, light: &mut [[f32; 3]]) {
        if self.blur <= 0.0 {
            return;
        }
        let reach = (3.0 * self.blur).ceil() as isize;
        let mut taps: Vec<f32> = (-reach..=reach)
            .map(|k| libm::exp(-0.5 * (k as f64 / self.blur).powi(2)) as f32)
            .collect();
        let sum: f32 = taps.iter().sum();
        taps.iter_mut().for_each(|t| *t /= sum);
        let (w, h) = (self.width as isize, self.height as isize);
        for (dx, dy) in [(1, 0), (0, 1)] {
            let from = light.to_vec();
            for y in 0..h {
                for x in 0..w {
                    let mut sum = [0.0; 3];
                    for (k, tap) in taps.iter().enumerate() {
                        let k = k as isize - reach;
                        let (a, b) = ((x + k * dx).clamp(0, w - 1), (y + k * dy).clamp(0, h - 1));
                        let v = from[(b * w + a) as usize];
                        for i in 0..3 {
                            sum[i] += tap * v[i];
                        }
                    }
                    light[(y * w + x) as usize] = sum;
                }
            }
        }
    }

    /// With noise, as values of a picture whose colour is known for every second pixel only.
    fn values(&self, light: &[[f32; 3]]) -> Vec<u8> {
        let mut random = Random::new(self.seed ^ 0xACE1);
        let code = |v: f64| {
            if v <= 0.003_130_8 {
                12.92 * v
            } else {
                1.055 * libm::pow(v, 1.0 / 2.4) - 0.055
            }
        };
        let table: Vec<f64> = (0..=4096).map(|i| code(i as f64 / 4096.0)).collect();
        let fast = |v: f64| {
            let x = v.clamp(0.0, 1.0) * 4096.0;
            let i = (x as usize).min(4095);
            table[i] + (table[i + 1] - table[i]) * (x - i as f64)
        };
        let (w, h) = (self.width, self.height);
        let mut coded: Vec<[f32; 3]> = light
            .iter()
            .map(|p| {
                let mut noisy = |i: usize| {
                    (fast(f64::from(p[i])) + self.noise * random.normal()).clamp(0.0, 1.0) as f32
                };
                let [r, g, b] = [noisy(0), noisy(1), noisy(2)];
                let luma = 0.299 * r + 0.587 * g + 0.114 * b;
                [luma, b - luma, r - luma]
            })
            .collect();
        // Colour is kept for blocks of 2 × 2 pixels, and decoded by straight lines between their middles.
        let (bw, bh) = (w / 2, h / 2);
        let mut blocks = vec![[0.0_f32; 2]; bw * bh];
        for (k, block) in blocks.iter_mut().enumerate() {
            let at = 2 * (k / bw) * w + 2 * (k % bw);
            for i in 0..2 {
                let sum: f32 = [at, at + 1, at + w, at + w + 1]
                    .iter()
                    .map(|&k| coded[k][i + 1])
                    .sum();
                block[i] = sum / 4.0;
            }
        }
        let near = |n: usize, most: usize| {
            let at = (n as f32 - 0.5) / 2.0;
            let low = at.floor().clamp(0.0, most as f32 - 1.0) as usize;
            (
                low,
                (low + 1).min(most - 1),
                (at - low as f32).clamp(0.0, 1.0),
            )
        };
        for y in 0..h {
            let (top, bottom, t) = near(y, bh);
            for x in 0..w {
                let (left, right, s) = near(x, bw);
                let at = |a: usize, b: usize, i: usize| blocks[b * bw + a][i];
                for i in 0..2 {
                    let above = at(left, top, i) * (1.0 - s) + at(right, top, i) * s;
                    let below = at(left, bottom, i) * (1.0 - s) + at(right, bottom, i) * s;
                    coded[y * w + x][i + 1] = above * (1.0 - t) + below * t;
                }
            }
        }
        let byte = |v: f32| (v * 255.0).round().clamp(0.0, 255.0) as u8;
        coded
            .iter()
            .flat_map(|&[luma, b, r]| {
                let (r, b) = (r + luma, b + luma);
                let g = (luma - 0.299 * r - 0.114 * b) / 0.587;
                [byte(r), byte(g), byte(b)]
            })
            .collect()
    }
}

/// A circle of points.
pub fn circle(x: f64, y: f64, r: f64, n: usize) -> Vec<[f64; 2]> {
    (0..n)
        .map(|i| {
            let a = TAU * i as f64 / n as f64;
            [x + r * libm::cos(a), y + r * libm::sin(a)]
        })
        .collect()
}
