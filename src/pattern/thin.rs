//! Lines that lie almost on each other: double contours.

use crate::geometry::{Bounds, Buckets, Outline, Region};

/// A ring of cloth narrower than this (mm) falls apart on the table: a line drawn twice.
const THIN_RING_MM: f64 = 2.0;

/// Smaller outlines (mm) are letters or symbols, whose strokes are thin.
const LETTER_MM: f64 = 20.0;

/// Corners of the boxes of two outlines that lie almost on each other are no farther apart than this, mm. Larger:
/// more pairs are looked at in vain; smaller: a copy that is a little turned is missed.
const CORNERS_MM: f64 = 3.0 * THIN_RING_MM;

/// Outlines in one corner that each is held against; more would cost time, and one tells the fault.
const MOST_NEAR: usize = 8;

/// How wide (mm) `outline` is, if it is a ring too thin to be meant.
pub(super) fn thin_ring(outline: &Outline) -> Option<f64> {
    let width = outline.ring_width()?;
    (width < THIN_RING_MM && !is_letter(outline)).then_some(width)
}

/// How far (mm) the boundary of `outline` and an opening that lies almost on it are apart in the mean.
pub(super) fn double_contour(outline: &Outline) -> Option<f64> {
    let outer = Outline::solid(outline.outer.clone());
    let openings = outline.openings.iter().take(MOST_NEAR);
    let mut openings = openings.map(|opening| Outline::solid(opening.clone()));
    openings.find_map(|opening| apart(&outer, &opening))
}

fn is_letter(outline: &Outline) -> bool {
    outline.outer.bounds().long_side() < LETTER_MM
}

/// Those of `outlines` that lie almost on an earlier one and cross it, with that one and how far (mm) both are apart in
/// the mean.
pub(super) fn almost_alike<'a>(
    outlines: impl ExactSizeIterator<Item = &'a Outline>,
) -> Vec<(usize, usize, f64)> {
    let mut seen = Buckets::new(CORNERS_MM, outlines.len());
    let mut before: Vec<(Bounds, &Outline)> = Vec::with_capacity(outlines.len());
    let mut found = Vec::new();
    for (idx, outline) in outlines.enumerate() {
        let bounds = outline.bounds();
        if !is_letter(outline) {
            let is_near = |other: &Bounds| {
                other.min.distance(bounds.min) <= CORNERS_MM
                    && other.max.distance(bounds.max) <= CORNERS_MM
            };
            let near = seen.near(bounds.min, CORNERS_MM);
            let near = near.filter(|i| is_near(&before[*i].0)).take(MOST_NEAR);
            let alike = near.filter_map(|i| Some((i, apart(outline, before[i].1)?)));
            found.extend(alike.map(|(i, apart)| (idx, i, apart)).next());
        }
        seen.insert(bounds.min, idx);
        before.push((bounds, outline));
    }
    found
}

/// How far two outlines are apart in the mean, if that is little and both cross.
fn apart(one: &Outline, other: &Outline) -> Option<f64> {
    let (a, b) = (Region::of(one), Region::of(other));
    let (only_a, only_b) = (a.difference(&b).area(), b.difference(&a).area());
    let both_sides = one.outer.perimeter() + other.outer.perimeter();
    let apart = 2.0 * (only_a + only_b) / both_sides;
    // Of two that only touch, neither has nearly all in common with the other.
    (apart < THIN_RING_MM).then_some(apart)
}
