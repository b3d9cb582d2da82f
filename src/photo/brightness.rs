//! Where an edge is by its brightness.
//!
//! A pixel at an edge shows so much of the template and so much of the paper. Light of both is known from beside the edge, and so is
//! how bright each mixture of them is in the file: that is turned round, and what is left is a step that no coding has bent. It is at a
//! half where the edge is, whatever the blur.

use super::picture::{DecodedPicture, coded};
use crate::geometry::{Point, Vector};

/// The light of the template and of the paper on both sides of an edge.
pub(super) struct EdgeSides {
    template: [f64; 3],
    paper: [f64; 3],
    /// Whether each is the same nearer to the edge and further away.
    pub(super) is_even: bool,
}

/// How red, green and blue make a file's brightness (JFIF 1.02).
const BRIGHTNESS: [f64; 3] = [0.299, 0.587, 0.114];
/// Paper and template that differ by less in brightness (parts of white) are not told by it.
const LEAST_STEP: f64 = 0.06;
/// Mixtures that are looked up.
const MIXTURES: usize = 16;

impl EdgeSides {
    /// What is seen so far from `at` on both sides.
    pub(super) fn seen(
        picture: &DecodedPicture,
        at: Point,
        out: Vector,
        reach: f64,
    ) -> Option<Self> {
        let mean = |far: [f64; 4]| {
            let mut sum = [0.0; 3];
            for mm in far {
                let colour = picture.colour_of(at + out * mm)?;
                for i in 0..3 {
                    sum[i] += f64::from(colour[i]) / 4.0;
                }
            }
            Some(sum)
        };
        let [far, near] = [
            [0.0, 0.7, 1.4, 2.1].map(|by| reach - by),
            [2.8, 3.3, 3.8, 4.3].map(|by| reach - by),
        ];
        let [template, within] = [mean(far.map(|mm| -mm))?, mean(near.map(|mm| -mm))?];
        let [paper, before] = [mean(far)?, mean(near)?];
        let alike = |a: [f64; 3], b: [f64; 3]| (bright(a) - bright(b)).abs() < 0.05;
        Some(Self {
            is_even: alike(template, within) && alike(paper, before),
            template,
            paper,
        })
    }

    /// The mean of several.
    pub(super) fn mean<'s>(all: impl Iterator<Item = &'s Self>) -> Option<Self> {
        let mut n = 0;
        let (mut template, mut paper) = ([0.0; 3], [0.0; 3]);
        for sides in all {
            n += 1;
            for i in 0..3 {
                template[i] += sides.template[i];
                paper[i] += sides.paper[i];
            }
        }
        let of = |sum: [f64; 3]| sum.map(|v| v / f64::from(n));
        (n > 4).then(|| Self {
            template: of(template),
            paper: of(paper),
            is_even: true,
        })
    }

    /// Whether its template is that of `usual`, with nothing drawn on it.
    pub(super) fn is_template(&self, usual: &Self) -> bool {
        (bright(self.template) - bright(usual.template)).abs() < 0.3 * usual.step().abs()
    }

    fn step(&self) -> f64 {
        bright(self.paper) - bright(self.template)
    }
}

/// The brightness that a file has for light of three colours.
fn bright(light: [f64; 3]) -> f64 {
    (0..3).map(|i| BRIGHTNESS[i] * coded(light[i])).sum()
}

/// How far from `at` along `out` half of what is seen is paper, and how far it is from a quarter to three quarters, pixels.
pub(super) fn share_line(
    picture: &DecodedPicture,
    at: Point,
    out: Vector,
    sides: &EdgeSides,
) -> Option<(f64, f64)> {
    const STEP: f64 = 0.25;
    /// How far the edge may be from where colour has it, pixels.
    const REACH: f64 = 4.5;
    if sides.step().abs() < LEAST_STEP {
        return None;
    }
    let steps: [f64; MIXTURES + 1] = std::array::from_fn(|k| {
        let share = k as f64 / MIXTURES as f64;
        bright([0, 1, 2].map(|i| sides.template[i] * (1.0 - share) + sides.paper[i] * share))
    });
    let rises = steps[MIXTURES] > steps[0];
    if !steps.windows(2).all(|pair| (pair[1] > pair[0]) == rises) {
        return None;
    }
    let share = |value: f64| {
        let k = (1..MIXTURES)
            .find(|&k| (value < steps[k]) == rises)
            .unwrap_or(MIXTURES);
        (k as f64 - 1.0 + (value - steps[k - 1]) / (steps[k] - steps[k - 1])) / MIXTURES as f64
    };
    let n = (2.0 * REACH / STEP) as usize;
    let shares: Vec<f64> = (0..=n)
        .map(|k| share(picture.coded_brightness(at + out * (k as f64 * STEP - REACH))))
        .collect();
    let crossing = |part: f64| {
        let rises = (1..=n).filter(|&k| shares[k - 1] < part && shares[k] >= part);
        let k = rises.min_by_key(|&k| k.abs_diff(n / 2))?;
        let t = (part - shares[k - 1]) / (shares[k] - shares[k - 1]);
        Some((k as f64 - 1.0 + t) * STEP - REACH)
    };
    let [low, half, high] = [crossing(0.25)?, crossing(0.5)?, crossing(0.75)?];
    (low < half && half < high).then_some((half, high - low))
}
