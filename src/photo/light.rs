//! How light falls on the paper: colour and brightness of white, place by place.

use super::board::DOT;
use super::fit::{BoardPose, SeenPoint};
use super::picture::DecodedPicture;
use super::solve::Normal;
use crate::geometry::{Point, Vector};

/// Terms of a smooth field: 1, x, y, x², xy, y².
const TERMS: usize = 6;

/// The light of white paper over a picture, in red, green and blue.
pub(super) struct Light {
    size: [f64; 2],
    /// Logarithms of the light, as terms of the place.
    terms: [[f64; TERMS]; 3],
}

impl Light {
    /// It from the paper around the dots.
    pub(super) fn around(
        picture: &DecodedPicture,
        scene: &BoardPose,
        dots: &[SeenPoint],
    ) -> Option<Self> {
        /// Where the paper is looked at, in diameters of a dot from its middle.
        const OUT: f64 = 0.95;
        let size = [picture.width as f64, picture.height as f64];
        let mut normals: [Normal; 3] = std::array::from_fn(|_| Normal::new(TERMS));
        for dot in dots {
            let places = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
            let pixels = places.iter().filter_map(|&(x, y)| {
                scene.pixel(dot.tile, dot.at + Vector::new(x, y) * (OUT * DOT))
            });
            let colours: Vec<[f32; 3]> = pixels.filter_map(|p| picture.colour_of(p)).collect();
            if colours.is_empty() {
                continue;
            }
            let row = powers(size, dot.pixel);
            let row: Vec<(usize, f64)> = row.into_iter().enumerate().collect();
            for (i, normal) in normals.iter_mut().enumerate() {
                let mean =
                    colours.iter().map(|c| f64::from(c[i])).sum::<f64>() / colours.len() as f64;
                normal.add(&row, libm::log(mean.max(1e-3)), 1.0);
            }
        }
        let mut terms = [[0.0; TERMS]; 3];
        for (terms, normal) in terms.iter_mut().zip(&normals) {
            *terms = normal.solved(1e-9)?.try_into().ok()?;
        }
        Some(Self { size, terms })
    }

    /// The same light everywhere.
    pub(super) fn even(white: [f64; 3]) -> Self {
        let mut terms = [[0.0; TERMS]; 3];
        for (terms, white) in terms.iter_mut().zip(white) {
            terms[0] = libm::log(white.max(1e-3));
        }
        Self {
            size: [1.0; 2],
            terms,
        }
    }

    /// The light of white paper at a place in pixels.
    pub(super) fn white(&self, p: Point) -> [f64; 3] {
        let powers = powers(self.size, p);
        self.terms.map(|terms| {
            let sum: f64 = terms.iter().zip(powers).map(|(a, b)| a * b).sum();
            libm::exp(sum.clamp(-7.0, 2.0))
        })
    }
}

fn powers(size: [f64; 2], p: Point) -> [f64; TERMS] {
    let (x, y) = (2.0 * p.x / size[0] - 1.0, 2.0 * p.y / size[1] - 1.0);
    [1.0, x, y, x * x, x * y, y * y]
}
