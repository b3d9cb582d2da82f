//! Tags: what is written beside a piece that is too small for its label, with a line that leads to it.

use super::face::usual_width;
use super::label::TextSize;
use super::shape::{Align, TextLine};
use crate::geometry::distance::long_direction;
use crate::geometry::{Bounds, Outline, Point, Vector, clip, trig};
use crate::units::Angle;

/// Words beside a piece.
#[derive(Clone, Debug)]
pub(in crate::output) struct Tag {
    pub(in crate::output) text: TextLine,
    /// From the words to the piece.
    pub(in crate::output) line: [Point; 2],
    /// The box that the words take.
    pub(in crate::output) bounds: Bounds,
}

/// Height of the words, in the least heights that can be read.
const HEIGHT: f64 = 1.2;
/// Free room on each side of the words, in heights.
const AIR: f64 = 0.4;
/// From one distance to the next at which room is looked for, in heights, and how many there are.
/// More: words far from their piece; fewer: none where pieces lie close together.
const STEP: f64 = 2.0;
const N_STEPS: u32 = 9;
/// Directions in which room is looked for.
const N_DIRECTIONS: u32 = 12;

/// How far from its piece a tag may reach, mm.
pub(in crate::output) fn reach(text: &str, size: TextSize) -> f64 {
    size.least * HEIGHT * (usual_width(text) + STEP * f64::from(N_STEPS) + 2.0)
}

/// Where lines may lead to: shares of its length from the middle of a piece, which lies `at`.
const AWAY: [f64; 7] = [0.0, 0.2, -0.2, 0.4, -0.4, 0.48, -0.48];

/// The places within `piece` that the line of its tag may lead to, the best first.
pub(in crate::output) fn aims(piece: &Outline, at: Point) -> impl Iterator<Item = Point> {
    let (along, length) = long_direction(&piece.outer).map_or((Vector::default(), 0.0), |long| {
        let (sin, cos) = trig::sin_cos(long.direction);
        (Vector::new(cos, sin), long.length)
    });
    (AWAY.into_iter())
        .map(move |share| at + along * (share * length))
        .filter(move |&aim| aim == at || piece.outer.contains(aim))
}

/// The tag that tells `text` of the piece `own` with a line to `at`: as near as the words lie within
/// `room` and off all `others`, and the line crosses none of them.
pub(in crate::output) fn beside(
    (at, own): (Point, &Outline),
    text: &str,
    size: TextSize,
    room: &dyn Fn(&Bounds) -> bool,
    others: &[&Outline],
) -> Option<Tag> {
    let height = (size.least * HEIGHT).min(size.most);
    let half = Vector::new(
        height * (usual_width(text) / 2.0 + AIR),
        height * (0.5 + AIR),
    );
    let places = (1..=N_STEPS).flat_map(|step| {
        let far = f64::from(step) * STEP * height;
        (0..N_DIRECTIONS).map(move |turn| {
            let turn = Angle::degrees(90.0 + 360.0 * f64::from(turn) / f64::from(N_DIRECTIONS));
            let (sin, cos) = trig::sin_cos(turn);
            at + Vector::new(cos * (far + half.x), sin * (far + half.y))
        })
    });
    places
        .map(|centre| Tag {
            text: TextLine {
                text: text.to_owned(),
                at: centre,
                align: Align::Centre,
                height,
                angle: Angle::ZERO,
            },
            line: [at, at],
            bounds: Bounds {
                min: centre - half,
                max: centre + half,
            },
        })
        .map(|tag| Tag {
            line: [tag.bounds.nearest(at), at],
            ..tag
        })
        .find(|tag| {
            room(&tag.bounds)
                && !covers(own, &tag.bounds)
                && !(others.iter())
                    .any(|other| covers(other, &tag.bounds) || crosses(other, tag.line))
        })
}

/// Whether `outline` covers any of the box.
fn covers(outline: &Outline, bounds: &Bounds) -> bool {
    let is_near = || {
        let mut edges = outline.rings().flat_map(|ring| ring.edges());
        edges.any(|(a, b)| bounds.part_of_edge(a, b).is_some())
    };
    let holds = |p: Point| {
        outline.outer.contains(p) && !outline.openings.iter().any(|opening| opening.contains(p))
    };
    outline.bounds().meets(bounds) && (is_near() || holds(bounds.centre()))
}

/// Whether a line runs over `outline`.
fn crosses(outline: &Outline, line: [Point; 2]) -> bool {
    let reach = Bounds::at(line[0]).union(&Bounds::at(line[1]));
    outline.bounds().meets(&reach) && !clip::line_within(outline, line).is_empty()
}
