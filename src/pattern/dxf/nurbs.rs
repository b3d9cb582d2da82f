//! SPLINE entities: NURBS of any degree, and curves given by fit points alone.

use super::document::Record;
use super::tags::TagFault;
use crate::geometry::Point;
use crate::pattern::flatten::CurvePen;

/// Weights further apart than this make a curve that no drawing program draws.
const MOST_WEIGHT_RATIO: f64 = 1e6;

/// Highest degree that is read; drawing programs write 3, some up to 11.
const MOST_DEGREE: usize = 25;

/// A SPLINE's curve.
#[derive(Debug)]
pub(super) enum Spline {
    /// Control points with positive weights, knots, degree.
    Nurbs {
        degree: usize,
        knots: Vec<f64>,
        control: Vec<(Point, f64)>,
    },
    /// Points to lay a curve through.
    Fit { points: Vec<Point>, closed: bool },
}

impl Spline {
    pub(super) fn is_interpolated(&self) -> bool {
        matches!(self, Self::Fit { points, .. } if points.len() > 2)
    }

    /// Reads a SPLINE (Autodesk DXF reference, SPLINE).
    pub(super) fn read(record: &Record<'_>) -> Result<Self, TagFault> {
        let (mut flags, mut degree) = (0, 3);
        let (mut knots, mut weights) = (Vec::new(), Vec::new());
        let (mut control, mut fit): (Vec<Point>, Vec<Point>) = (Vec::new(), Vec::new());
        for tag in &record.tags {
            match tag.code {
                70 => flags = tag.integer()?,
                71 => degree = tag.integer()?,
                40 => knots.push(tag.real()?),
                41 => weights.push(tag.real()?),
                10 => control.push(Point::new(tag.real()?, 0.0)),
                20 => set_y(&mut control, tag.real()?),
                11 => fit.push(Point::new(tag.real()?, 0.0)),
                21 => set_y(&mut fit, tag.real()?),
                _ => {}
            }
        }
        let refuse = |message: String| Err(record.fault(message));
        if control.is_empty() {
            if fit.len() < 2 {
                return refuse("it has neither control points nor fit points".to_owned());
            }
            return Ok(Self::Fit {
                points: fit,
                closed: flags & 1 != 0,
            });
        }
        let degree = match usize::try_from(degree) {
            Ok(d @ 1..=MOST_DEGREE) => d,
            _ => {
                return refuse(format!(
                    "its degree {degree} is not between 1 and {MOST_DEGREE}"
                ));
            }
        };
        if control.len() <= degree || knots.len() != control.len() + degree + 1 {
            return refuse(format!(
                "{} control points of degree {degree} need {} knots, but it has {}",
                control.len(),
                control.len() + degree + 1,
                knots.len()
            ));
        }
        if knots.windows(2).any(|w| w[1] < w[0]) || knots[degree] >= knots[control.len()] {
            return refuse("its knots do not rise".to_owned());
        }
        if weights.is_empty() {
            weights.resize(control.len(), 1.0);
        }
        if weights.len() != control.len() || weights.iter().any(|&w| w <= 0.0) {
            return refuse("its weights are not one positive number per control point".to_owned());
        }
        let heaviest = weights.iter().copied().fold(0.0, f64::max);
        if weights.iter().any(|&w| w * MOST_WEIGHT_RATIO < heaviest) {
            return refuse("its weights differ by more than a million".to_owned());
        }
        Ok(Self::Nurbs {
            degree,
            knots,
            control: control.into_iter().zip(weights).collect(),
        })
    }

    /// Draws the curve as a stroke of its own.
    pub(super) fn draw(&self, pen: &mut CurvePen<'_>) {
        match self {
            Self::Nurbs {
                degree,
                knots,
                control,
            } => {
                let mut started = false;
                for k in *degree..control.len() {
                    if knots[k + 1] > knots[k] {
                        let bezier = bezier(*degree, knots, control, k);
                        if !started {
                            pen.move_to(bezier[0].0);
                            started = true;
                        }
                        pen.rational_to(&bezier);
                    }
                }
            }
            Self::Fit { points, closed } => draw_fit(points, *closed, pen),
        }
    }
}

fn set_y(points: &mut [Point], y: f64) {
    if let Some(last) = points.last_mut() {
        last.y = y;
    }
}

/// The rational Bézier curve that a NURBS is between knots `k` and `k + 1`.
///
/// Its control points are values of the polar form (blossom) at the two knots, each found by de
/// Boor's construction with a knot of its own per step (Ramshaw 1987).
fn bezier(degree: usize, knots: &[f64], control: &[(Point, f64)], k: usize) -> Vec<(Point, f64)> {
    let (from, to) = (knots[k], knots[k + 1]);
    (0..=degree)
        .map(|j| {
            let mut d: Vec<[f64; 3]> = control[k - degree..=k]
                .iter()
                .map(|&(p, w)| [p.x * w, p.y * w, w])
                .collect();
            for r in 1..=degree {
                let argument = if r <= j { to } else { from };
                for i in (r..=degree).rev() {
                    let (low, high) = (knots[i + k - degree], knots[i + 1 + k - r]);
                    let t = (argument - low) / (high - low);
                    d[i] = [0, 1, 2].map(|c| (1.0 - t) * d[i - 1][c] + t * d[i][c]);
                }
            }
            let [x, y, w] = d[degree];
            (Point::new(x / w, y / w), w)
        })
        .collect()
}

/// Lays a curve through `points`: cubic pieces whose slopes make the curvature continuous, with
/// the chord lengths as parameter and free (natural) ends; a closed one runs round smoothly.
fn draw_fit(points: &[Point], closed: bool, pen: &mut CurvePen<'_>) {
    let mut points: Vec<Point> = points.to_vec();
    points.dedup();
    if closed && points.len() > 2 && points.first() != points.last() {
        points.push(points[0]);
    }
    let n = points.len();
    pen.move_to(points[0]);
    if n < 3 {
        if let Some(&p) = points.get(1) {
            pen.line_to(p);
        }
        return;
    }
    let round = closed && n > 3;
    // A closed curve is laid through itself three times over; the middle turn does not feel the ends.
    let laid: Vec<Point> = if round {
        let once = &points[..n - 1];
        [once, once, &points].concat()
    } else {
        points
    };
    let slopes = natural_slopes(&laid);
    let first = if round { n - 1 } else { 0 };
    for i in first..first + n - 1 {
        let (p, q) = (laid[i], laid[i + 1]);
        let h = p.distance(q);
        pen.cubic_to(p + slopes[i] * (h / 3.0), q - slopes[i + 1] * (h / 3.0), q);
    }
}

/// Slopes at `points` of the cubic spline with continuous curvature and natural ends.
fn natural_slopes(points: &[Point]) -> Vec<crate::geometry::Vector> {
    let n = points.len();
    let h: Vec<f64> = points.windows(2).map(|w| w[0].distance(w[1])).collect();
    let chord = |i: usize| (points[i + 1] - points[i]) * (1.0 / h[i]);
    // Tridiagonal system, eliminated from the front (Thomas).
    let mut upper = vec![0.0; n];
    let mut right = vec![crate::geometry::Vector::default(); n];
    (upper[0], right[0]) = (0.5, chord(0) * 1.5);
    for i in 1..n {
        let (lower, diagonal, above, value) = if i + 1 < n {
            let value = (chord(i - 1) * h[i] + chord(i) * h[i - 1]) * 3.0;
            (h[i], 2.0 * (h[i - 1] + h[i]), h[i - 1], value)
        } else {
            (1.0, 2.0, 0.0, chord(n - 2) * 3.0)
        };
        let pivot = diagonal - lower * upper[i - 1];
        upper[i] = above / pivot;
        right[i] = (value - right[i - 1] * lower) * (1.0 / pivot);
    }
    for i in (0..n - 1).rev() {
        right[i] = right[i] - right[i + 1] * upper[i];
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::affine::Affine;
    use crate::pattern::flatten::Chords;
    use crate::pattern::shape::Room;

    fn drawn(spline: &Spline) -> Vec<Point> {
        let chords = Chords::new(0.001, Room::new(100_000));
        let mut pen = CurvePen::new(Affine::IDENTITY, &chords);
        spline.draw(&mut pen);
        pen.take()
    }

    fn passes(points: &[Point], p: Point) -> bool {
        points.iter().any(|q| q.distance(p) < 1e-9)
    }

    #[test]
    fn a_uniform_closed_spline_passes_where_the_textbook_says() {
        // At its knots a uniform cubic B-spline is at (P0 + 4·P1 + P2) / 6 (de Boor 1978).
        let square = [
            (200.0, 200.0),
            (300.0, 200.0),
            (300.0, 300.0),
            (200.0, 300.0),
        ];
        let control: Vec<(Point, f64)> = (0..7)
            .map(|i| (Point::new(square[i % 4].0, square[i % 4].1), 1.0))
            .collect();
        let points = drawn(&Spline::Nurbs {
            degree: 3,
            knots: (0..11).map(f64::from).collect(),
            control,
        });
        for at in [(1700.0 / 6.0, 1300.0 / 6.0), (1700.0 / 6.0, 1700.0 / 6.0)] {
            assert!(passes(&points, Point::new(at.0, at.1)), "{at:?}");
        }
        assert!(points[0].distance(points[points.len() - 1]) < 1e-9);
        let right = points.iter().map(|p| p.x).fold(0.0, f64::max);
        assert!(
            (right - (200.0 + 100.0 * 46.0 / 48.0)).abs() < 1e-3,
            "{right}"
        );
    }

    #[test]
    fn a_curve_through_fit_points_passes_them_and_stays_round() {
        // Twelve points of a circle, closed: the curve leaves the circle by next to nothing.
        let fit: Vec<Point> = (0..12)
            .map(|i| {
                let t = f64::from(i) * std::f64::consts::TAU / 12.0;
                let (sin, cos) = crate::geometry::trig::sin_cos_radians(t);
                Point::new(100.0 * cos, 100.0 * sin)
            })
            .collect();
        let points = drawn(&Spline::Fit {
            points: fit.clone(),
            closed: true,
        });
        assert!(fit.iter().all(|&p| passes(&points, p)));
        for p in &points {
            assert!((p.distance(Point::default()) - 100.0).abs() < 0.1, "{p:?}");
        }
    }
}
