//! A mould as it is, with what may be a part of it.

use super::view::{Eye, MouldView, Sides};
use super::{ABOVE, AROUND, HIGHEST, WIDTH, number, sides};
use crate::geometry::{Point, Vector};
use crate::mould::Mould;
use crate::mould::inspect::pieces;
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::shape::Drawing;

/// `mould` seen slantwise and from three sides, its candidates in tints and numbered.
pub(in crate::output) fn candidates(mould: &Mould) -> Vec<Figure> {
    let surface = mould.surface();
    let pieces = pieces(surface);
    let mut owner = vec![usize::MAX; surface.n_faces() as usize];
    for (k, piece) in pieces.iter().enumerate() {
        piece.iter().for_each(|&face| owner[face as usize] = k);
    }
    let largest = pieces.first().into_iter().flatten().copied();
    let figures = sides(surface, largest).into_iter().filter_map(|side| {
        let room = (WIDTH - 2.0 * AROUND, HIGHEST);
        let view = MouldView::new(surface, Eye::from(side.from), Sides::Both, room)?;
        let (wide, high) = view.size();
        let corner = Vector::new((WIDTH - wide) / 2.0, ABOVE);
        let mut drawing = Drawing::default();
        drawing.text(Look::Name, Point::new(0.0, 14.0), side.name.as_str());
        let mut on_view = Drawing::default();
        on_view.area(Look::Mould, view.area(|_| true));
        let mut numbers = Vec::new();
        for k in 0..pieces.len() {
            let mask = view.faces(|face| owner[face as usize] == k);
            on_view.area(Look::Tint(k), view.rings(&mask));
            numbers.extend(
                mask.innermost()
                    .map(|(at, _)| (MouldView::drawn(at), (k + 1).to_string())),
            );
        }
        on_view.lines(Look::Rim, view.edges());
        for (at, text) in numbers {
            number(at, text, &mut on_view);
        }
        for item in on_view.items {
            drawing.add(item.layer, None, item.shape.mapped(|p| p + corner, 1.0));
        }
        Some(Figure {
            kind: "surface",
            width: WIDTH,
            height: ABOVE + high + AROUND,
            title: side.name,
            drawing,
        })
    });
    figures.collect()
}
