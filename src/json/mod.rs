//! JSON: how it is written, and how what is written is declared.

mod text;

pub(crate) use text::text;

use crate::geometry::{Bounds, Outline, Point, Ring};
use crate::number::{COORDINATE, rounded, vertices};

/// Declares what a program can read: the members of a JSON object in their order, each with its
/// meaning, its type and what fills it. So there is one list of them, which writes and reads.
macro_rules! record {
    ($(
        $(#[$about:meta])*
        $vis:vis struct $name:ident of ($($from:ident: $source:ty),* $(,)?) {
            $($(#[$of_member:meta])* $member:ident: $type:ty = $value:expr,)*
        }
    )*) => {$(
        $(#[$about])*
        #[derive(Clone, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
        #[non_exhaustive]
        $vis struct $name {
            $($(#[$of_member])* pub $member: $type,)*
        }

        impl $name {
            pub(crate) fn of($($from: $source),*) -> Self {
                Self { $($member: $value,)* }
            }
        }
    )*};
}
pub(crate) use record;

record! {
    /// A boundary with its openings, mm. The first point of a ring is not repeated at its end.
    pub struct OutlineRecord of (outline: &Outline) {
        /// Counter-clockwise.
        outer: Vec<[f64; 2]> = points(&vertices(outline.outer.points())),
        /// Clockwise.
        #[serde(default)]
        openings: Vec<Vec<[f64; 2]>> = (outline.openings.iter())
            .map(|opening| points(vertices(opening.points()).iter().rev()))
            .collect(),
    }
}

impl OutlineRecord {
    /// The outline; `None` if a ring encloses nothing.
    #[must_use]
    pub fn outline(&self) -> Option<Outline> {
        let openings = self.openings.iter().map(|points| ring(points));
        Some(Outline {
            outer: ring(&self.outer)?,
            openings: openings.collect::<Option<_>>()?,
        })
    }
}

/// The ring through `points`, if they enclose anything.
pub(crate) fn ring(points: &[[f64; 2]]) -> Option<Ring> {
    Ring::new(points.iter().map(|p| Point::new(p[0], p[1]))).ok()
}

/// Points as they are written.
pub(crate) fn points<'a>(points: impl IntoIterator<Item = &'a Point>) -> Vec<[f64; 2]> {
    points.into_iter().map(point).collect()
}

/// A point as it is written.
pub(crate) fn point(point: &Point) -> [f64; 2] {
    [point.x, point.y].map(|v| rounded(v, COORDINATE))
}

/// Lowest x and y, highest x and y, as they are written.
pub(crate) fn corners(bounds: &Bounds) -> [f64; 4] {
    let [[x0, y0], [x1, y1]] = [bounds.min, bounds.max].map(|corner| point(&corner));
    [x0, y0, x1, y1]
}
