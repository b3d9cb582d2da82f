//! A camera over the board: where a place in space is seen, and along which line a pixel looks.
//!
//! Pinhole with lens: radial terms r², r⁴, r⁶, r⁸ and two decentring terms (D. C. Brown, "Close-range camera
//! calibration", Photogrammetric Engineering 37, 1971). Pixels have their origin in the upper left corner
//! of the picture, x right, y down; the middle of the first pixel is (0.5, 0.5).

use crate::geometry::{Point, trig};

/// A place or a direction in space: x, y on the board, z up from it, mm.
pub(super) type Space = [f64; 3];

/// How many numbers a camera has.
pub(super) const UNKNOWNS: usize = 15;

/// Rounds of the search for the direction that the lens bends into a pixel.
const UNBENDING_ROUNDS: usize = 20;

#[derive(Clone, Debug)]
pub(super) struct Camera {
    /// Focal length, pixels.
    pub(super) focal: f64,
    /// Where the lens's axis meets the picture, pixels.
    pub(super) centre: Point,
    radial: [f64; 4],
    decentring: [f64; 2],
    /// Rows: the camera's x (right), y (down) and z (ahead), in the board's axes.
    rotation: [Space; 3],
    /// Where the board's origin is in the camera's axes.
    shift: Space,
}

impl Camera {
    /// The camera of so long a lens that sees the plane z = 0 through `homography` (row by row, board to
    /// pixels) with its axis at `centre`, without distortion.
    pub(super) fn of_homography(focal: f64, centre: Point, h: &[f64; 9]) -> Option<Self> {
        let column = |i: usize| -> Space {
            let w = h[6 + i];
            [
                (h[i] - centre.x * w) / focal,
                (h[3 + i] - centre.y * w) / focal,
                w,
            ]
        };
        let [x, y, shift] = [column(0), column(1), column(2)];
        // The board lies in front of the camera.
        let scale = 2.0 / (length(x) + length(y)) * shift[2].signum();
        let x = unit(x.map(|v| v * scale))?;
        let y = y.map(|v| v * scale);
        let y = unit(minus(y, x.map(|v| v * dot(x, y))))?;
        let z = cross(x, y);
        Some(Self {
            focal,
            centre,
            radial: [0.0; 4],
            decentring: [0.0; 2],
            rotation: [0, 1, 2].map(|i| [x[i], y[i], z[i]]),
            shift: shift.map(|v| v * scale),
        })
    }

    /// Where `place` is seen; `None` behind the camera.
    pub(super) fn pixel(&self, place: Space) -> Option<Point> {
        let seen = [0, 1, 2].map(|i| dot(self.rotation[i], place) + self.shift[i]);
        if seen[2] <= 1e-6 {
            return None;
        }
        let bent = self.bent(seen[0] / seen[2], seen[1] / seen[2]);
        Some(Point::new(
            self.centre.x + self.focal * bent.0,
            self.centre.y + self.focal * bent.1,
        ))
    }

    /// Where the lens shows a direction.
    fn bent(&self, x: f64, y: f64) -> (f64, f64) {
        let rr = x * x + y * y;
        let [a, b, c, d] = self.radial;
        let [p, q] = self.decentring;
        let stretch = 1.0 + rr * (a + rr * (b + rr * (c + rr * d)));
        (
            x * stretch + 2.0 * p * x * y + q * (rr + 2.0 * x * x),
            y * stretch + p * (rr + 2.0 * y * y) + 2.0 * q * x * y,
        )
    }

    /// Where the camera is.
    pub(super) fn eye(&self) -> Space {
        [0, 1, 2].map(|j| {
            -(0..3)
                .map(|i| self.rotation[i][j] * self.shift[i])
                .sum::<f64>()
        })
    }

    /// The direction in which `pixel` looks; of no given length.
    pub(super) fn ray(&self, pixel: Point) -> Space {
        let wanted = (
            (pixel.x - self.centre.x) / self.focal,
            (pixel.y - self.centre.y) / self.focal,
        );
        let (mut x, mut y) = wanted;
        for _ in 0..UNBENDING_ROUNDS {
            let bent = self.bent(x, y);
            let off = (wanted.0 - bent.0, wanted.1 - bent.1);
            x += off.0;
            y += off.1;
            if off.0.abs() + off.1.abs() < 1e-10 {
                break;
            }
        }
        [0, 1, 2].map(|j| self.rotation[0][j] * x + self.rotation[1][j] * y + self.rotation[2][j])
    }

    /// By how much its axis leans from straight down, in radians.
    pub(super) fn tilt(&self) -> f64 {
        trig::acos_radians((-self.rotation[2][2]).clamp(-1.0, 1.0))
    }

    /// It with unknown `i` changed by `by`: focal length (relative), centre (focal lengths), radial, decentring,
    /// turns about its own axes (radians), shift (mm).
    pub(super) fn changed(&self, i: usize, by: f64) -> Self {
        let mut other = self.clone();
        match i {
            0 => other.focal *= 1.0 + by,
            1 => other.centre.x += by * self.focal,
            2 => other.centre.y += by * self.focal,
            3..=6 => other.radial[i - 3] += by,
            7..=8 => other.decentring[i - 7] += by,
            9..=11 => other.turn(i - 9, by),
            _ => other.shift[i - 12] += by,
        }
        other
    }

    /// The value of unknown `i` that is expected to be near zero for any lens.
    pub(super) fn oddity(&self, i: usize) -> f64 {
        match i {
            3..=6 => self.radial[i - 3],
            7..=8 => self.decentring[i - 7],
            _ => 0.0,
        }
    }

    fn turn(&mut self, axis: usize, by: f64) {
        let (sin, cos) = trig::sin_cos_radians(by);
        let (a, b) = ((axis + 1) % 3, (axis + 2) % 3);
        let (ra, rb) = (self.rotation[a], self.rotation[b]);
        self.rotation[a] = [0, 1, 2].map(|j| cos * ra[j] - sin * rb[j]);
        self.rotation[b] = [0, 1, 2].map(|j| sin * ra[j] + cos * rb[j]);
        let (sa, sb) = (self.shift[a], self.shift[b]);
        self.shift[a] = cos * sa - sin * sb;
        self.shift[b] = sin * sa + cos * sb;
    }
}

fn dot(a: Space, b: Space) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn length(a: Space) -> f64 {
    dot(a, a).sqrt()
}

fn minus(a: Space, b: Space) -> Space {
    [0, 1, 2].map(|i| a[i] - b[i])
}

fn unit(a: Space) -> Option<Space> {
    let n = length(a);
    (n > 1e-12 && n.is_finite()).then(|| a.map(|v| v / n))
}

fn cross(a: Space, b: Space) -> Space {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
