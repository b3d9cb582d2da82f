//! A renderer of photographs of a template on its board, for tests: its lens works in the opposite direction
//! of the one that is fitted (from the pixel to the ray), every pixel at an edge is the mean of several rays, and light,
//! shadow, blur and noise are added.

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
    /// One ray for each pixel, or twice so many along each side of one at an edge.
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
    /// Whether the file keeps colour in half as many pixels each way, as most cameras do.
    pub halved: bool,
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
            halved: true,
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

    /// Nearly normal: four parts of a number of 64 bits, each even, in sum.
    pub fn normal(&mut self) -> f64 {
        self.unit();
        let bits = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D);
        let sum: u64 = (0..4).map(|k| (bits >> (16 * k)) & 0xFFFF).sum();
        (sum as f64 / 65536.0 - 2.0) * libm::sqrt(3.0)
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

    /// The light of every pixel: one ray through its middle, and where neighbours differ the mean of several.
    fn rays_of(&self, paint: &dyn Paint) -> Vec<[f32; 3]> {
        let eye = self.eye();
        let once = by_rows(self.width, self.height, |x, y| {
            self.seen_at(&eye, x as f64 + 0.5, y as f64 + 0.5, paint)
        });
        let differs = |x: usize, y: usize| {
            let own = once[y * self.width + x];
            let rows = y.saturating_sub(1)..(y + 2).min(self.height);
            let near = rows.flat_map(|y| {
                once[y * self.width..][x.saturating_sub(1)..(x + 2).min(self.width)].iter()
            });
            { near }.any(|other| (0..3).any(|i| (other[i] - own[i]).abs() > 0.02))
        };
        let n = self.rays.max(2) * 2;
        by_rows(self.width, self.height, |x, y| {
            if self.rays < 2 || !differs(x, y) {
                return once[y * self.width + x];
            }
            let mut sum = [0.0; 3];
            for k in 0..n * n {
                let px = x as f64 + ((k % n) as f64 + 0.5) / n as f64;
                let py = y as f64 + ((k / n) as f64 + 0.5) / n as f64;
                let seen = self.seen_at(&eye, px, py, paint);
                for i in 0..3 {
                    sum[i] += seen[i];
                }
            }
            sum.map(|v| v / (n * n) as f32)
        })
    }

    /// Where the camera is and how it is turned.
    fn eye(&self) -> Eye {
        let (w, h) = (self.width as f64, self.height as f64);
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
        let (cb, sb) = (sa * cr - ca * sr, sa * sr + ca * cr);
        let mix = |a: f64, b: f64| [0, 1, 2].map(|i| right0[i] * a + down0[i] * b);
        Eye {
            at: [
                self.aim[0] - ahead[0] * self.distance,
                self.aim[1] - ahead[1] * self.distance,
                -ahead[2] * self.distance,
            ],
            axes: [mix(cb, -sb), mix(sb, cb), ahead],
            focal: 0.5 * w / libm::tan(0.5 * self.view_deg.to_radians()),
            half: 0.5 * (w * w + h * h).sqrt(),
        }
    }

    /// What is seen at a place in pixels.
    fn seen_at(&self, eye: &Eye, px: f64, py: f64, paint: &dyn Paint) -> [f32; 3] {
        let u = px - 0.5 * self.width as f64 - self.off_axis[0];
        let v = py - 0.5 * self.height as f64 - self.off_axis[1];
        let rr = (u * u + v * v) / (eye.half * eye.half);
        let stretch = (1.0 + rr * (self.lens[0] + rr * self.lens[1])) / eye.focal;
        let (u, v) = (u * stretch, v * stretch);
        let [right, down, ahead] = eye.axes;
        let ray = [0, 1, 2].map(|i| ahead[i] + u * right[i] + v * down[i]);
        self.meets(eye.at, ray, paint).map(|v| v as f32)
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

    fn blur(&self, light: &mut Vec<[f32; 3]>) {
        if self.blur <= 0.0 {
            return;
        }
        let reach = (3.0 * self.blur).ceil() as isize;
        let mut taps: Vec<f32> = (-reach..=reach)
            .map(|k| libm::exp(-0.5 * (k as f64 / self.blur).powi(2)) as f32)
            .collect();
        let sum: f32 = taps.iter().sum();
        taps.iter_mut().for_each(|t| *t /= sum);
        let (w, h) = (self.width, self.height);
        let reach = reach as usize;
        for down in [false, true] {
            let from = std::mem::take(light);
            let lines = by_lines(h, |y| {
                let mut row = vec![[0.0_f32; 3]; w];
                let mut padded = Vec::new();
                for (k, tap) in taps.iter().enumerate() {
                    let taken = if down {
                        let y = (y + k).saturating_sub(reach).min(h - 1);
                        &from[y * w..][..w]
                    } else {
                        if k == 0 {
                            let own = &from[y * w..][..w];
                            padded.extend((0..reach).map(|_| own[0]));
                            padded.extend_from_slice(own);
                            padded.extend((0..reach).map(|_| own[w - 1]));
                        }
                        &padded[k..][..w]
                    };
                    let sums = row.as_flattened_mut().iter_mut();
                    for (sum, value) in sums.zip(taken.as_flattened()) {
                        *sum += tap * value;
                    }
                }
                row
            });
            *light = lines.concat();
        }
    }

    /// With noise, as values of a picture.
    fn values(&self, light: &[[f32; 3]]) -> Vec<u8> {
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
        let coded = by_rows(self.width, self.height, |x, y| {
            let place = (y * self.width + x) as u64;
            let mut random = Random::new(self.seed ^ 0xACE1 ^ (place << 20));
            light[y * self.width + x].map(|v| {
                let noisy = fast(f64::from(v)) + self.noise * random.normal();
                (noisy * 255.0).round().clamp(0.0, 255.0) as u8
            })
        });
        coded.into_flattened()
    }
}

/// A camera in its place.
struct Eye {
    at: [f64; 3],
    /// To the right, down and ahead.
    axes: [[f64; 3]; 3],
    focal: f64,
    /// Half the diagonal, pixels.
    half: f64,
}

/// Something for every pixel.
fn by_rows<T: Send>(width: usize, height: usize, of: impl Fn(usize, usize) -> T + Sync) -> Vec<T> {
    let rows = by_lines(height, |y| (0..width).map(|x| of(x, y)).collect::<Vec<T>>());
    rows.into_iter().flatten().collect()
}

/// Something for every row of pixels, by two workers.
fn by_lines<T: Send>(height: usize, of: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let upper = height / 2;
    std::thread::scope(|scope| {
        let first = scope.spawn(|| (0..upper).map(&of).collect::<Vec<T>>());
        let second: Vec<T> = (upper..height).map(&of).collect();
        let mut all = first.join().expect("a thread of the renderer");
        all.extend(second);
        all
    })
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
