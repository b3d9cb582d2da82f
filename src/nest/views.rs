//! What the simplified views of the shapes cost and save: what a bench reports.

use super::scale::Scale;
use super::shape::{Detail, Misfits, Scene};
use super::{NestError, Problem};
use crate::geometry::signed_area;

/// How the search sees the shapes of a problem in one view.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct View {
    /// What the view adds to the area of the pieces, as a share of it; half the gap included.
    pub added_area: f64,
    /// Convex parts of a piece, in the mean.
    pub parts: f64,
}

/// The view for exploring and the one for the last squeeze.
///
/// # Errors
/// [`NestError`] as [`super::nest`] has it.
pub fn views(problem: &Problem) -> Result<[View; 2], NestError> {
    let containers = std::slice::from_ref(&problem.container);
    let problem = Scale::of(&problem.shapes, containers).problem(problem);
    let scene = Scene::new(&problem, Misfits::Refuse)?;
    Ok([Detail::Coarse, Detail::Fine].map(|detail| {
        let (mut area, mut n_parts) = (0.0, 0);
        for piece in &scene.pieces {
            let parts = scene.variants[piece.choices[0].variant].parts_in(detail);
            area += parts.iter().map(|part| signed_area(part)).sum::<f64>();
            n_parts += parts.len();
        }
        View {
            added_area: area / scene.area - 1.0,
            parts: n_parts as f64 / scene.pieces.len() as f64,
        }
    }))
}
