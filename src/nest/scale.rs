//! One size for all problems. What the search holds for contact, for next to nothing or for near
//! enough are lengths in the end, and so is what the offset library rounds to. So a problem is
//! searched in a unit in which its pieces are about as large as plies in millimetres: the same
//! layout comes out in whatever unit it is posed. The factor is a power of two, so nothing is
//! rounded on the way there and back.

use super::{Container, Extent, Forbidden, Nesting, Problem, Shape, StockNesting, StockProblem};
use crate::geometry::{Outline, Point, Ring};

/// The root of the mean area of the pieces is brought to between this and its double.
const UNIT: f64 = 256.0;

/// No coordinate is brought beyond the double of this; what a piece is grown by needs room too.
const FARTHEST: f64 = 0.25 * Ring::FARTHEST_MM;

/// What lengths are multiplied by, a power of two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale(f64);

impl Scale {
    /// The one that brings `shapes` to the size that the search wants, as far as all coordinates
    /// of them and of `containers` stay within what a [`Ring`] may have.
    pub(super) fn of(shapes: &[Shape], containers: &[Container]) -> Self {
        let areas = shapes.iter().map(|s| s.outline.area() * s.demand as f64);
        let n_pieces: usize = shapes.iter().map(|s| s.demand).sum();
        let unit = (areas.sum::<f64>() / n_pieces as f64).sqrt();
        let boxes = shapes.iter().map(|s| s.outline.bounds());
        let boxes = boxes.chain(containers.iter().map(Container::bounds));
        let numbers = boxes.flat_map(|b| [b.min.x, b.min.y, b.max.x, b.max.y]);
        let farthest = numbers
            .filter(|v| v.is_finite())
            .fold(0.0, |far: f64, v| far.max(v.abs()));
        let mut factor = 1.0;
        if unit > 0.0 && unit.is_finite() {
            while unit * factor < UNIT && farthest * factor < FARTHEST {
                factor *= 2.0;
            }
            while unit * factor >= 2.0 * UNIT {
                factor *= 0.5;
            }
        }
        Self(factor)
    }

    /// The way back.
    pub(super) fn back(self) -> Self {
        Self(1.0 / self.0)
    }

    pub(super) fn length(self, length: f64) -> f64 {
        length * self.0
    }

    pub(super) fn area(self, area: f64) -> f64 {
        area * self.0 * self.0
    }

    pub(super) fn problem(self, problem: &Problem) -> Problem {
        Problem {
            shapes: self.shapes(&problem.shapes),
            container: self.container(&problem.container),
            gap: self.length(problem.gap),
        }
    }

    pub(super) fn stock_problem(self, problem: &StockProblem) -> StockProblem {
        let containers = problem.containers.iter();
        StockProblem {
            shapes: self.shapes(&problem.shapes),
            containers: containers.map(|c| self.container(c)).collect(),
            gap: self.length(problem.gap),
        }
    }

    pub(super) fn layout(self, mut layout: Nesting) -> Nesting {
        layout.length = self.length(layout.length);
        for placed in &mut layout.placed {
            placed.placement.shift = placed.placement.shift * self.0;
        }
        layout
    }

    pub(super) fn layouts(self, found: StockNesting) -> StockNesting {
        let layouts = found.layouts.into_iter();
        StockNesting {
            layouts: layouts.map(|layout| self.layout(layout)).collect(),
            left: found.left,
        }
    }

    fn shapes(self, shapes: &[Shape]) -> Vec<Shape> {
        let scaled = |shape: &Shape| Shape {
            outline: self.outline(&shape.outline),
            ..shape.clone()
        };
        shapes.iter().map(scaled).collect()
    }

    fn container(self, container: &Container) -> Container {
        let forbidden = container.forbidden.iter().map(|forbidden| Forbidden {
            area: self.outline(&forbidden.area),
            margin: self.length(forbidden.margin),
        });
        Container {
            extent: match &container.extent {
                Extent::Strip { width } => Extent::Strip {
                    width: self.length(*width),
                },
                Extent::Sheet { length, width } => Extent::Sheet {
                    length: self.length(*length),
                    width: self.length(*width),
                },
                Extent::Remnant(outline) => Extent::Remnant(self.outline(outline)),
            },
            forbidden: forbidden.collect(),
        }
    }

    fn outline(self, outline: &Outline) -> Outline {
        let scaled = |p: Point| Point::default() + (p - Point::default()) * self.0;
        outline.map_rings(|ring| ring.map_similar(scaled))
    }
}
