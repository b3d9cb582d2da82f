//! Where the pieces of a spliced ply meet: drawn on the flat ply, and in words.

use crate::geometry::{Outline, Point, Ring, Vector, clip, trig};
use crate::output::drawing::face;
use crate::output::drawing::figure::{Look, rings};
use crate::output::drawing::shape::{Align, Drawing, Shape, TextLine};
use crate::output::pages::model::Passage;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::words::width;
use crate::output::style::CAPITALS_PER_SIZE;
use crate::plan::{LaidPiece, LaidPly, PartUse, PlyUse};
use crate::ply::{Joint, Lies};
use crate::units::Angle;

/// Largest and smallest letters of an id, pixels.
const LETTERS: (f64, f64) = (13.0, 7.0);
/// Letters along a joint, pixels, and from the joint to their middle.
const ALONG: f64 = 10.0;
const BESIDE: f64 = 8.0;
/// Where along its joint a text may stand, the best first: not in the middle, where the ids are.
const AT: [f64; 7] = [0.25, 0.75, 0.4, 0.6, 0.15, 0.85, 0.5];
/// Free around a text, pixels.
const FREE: f64 = 2.0;

/// An edge of a piece at a joint, in the frame of its ply.
pub(super) struct Edge {
    pub(super) look: Look,
    pub(super) ends: [Point; 2],
}

/// The edges of all pieces of `laid` at their joints, as far as they lie within the ply.
pub(super) fn lines(laid: &LaidPly) -> Vec<Edge> {
    let joints = laid.pieces.iter().flat_map(|piece| &piece.joints);
    joints
        .flat_map(|joint| {
            // The line is the mate's edge.
            let look = match joint.lies {
                Lies::Under | Lies::Beside => Look::Edge,
                Lies::Over => Look::Hidden,
            };
            let within = clip::line_within(&laid.outline, joint.line);
            within.into_iter().map(move |ends| Edge { look, ends })
        })
        .collect()
}

/// The section on the joints of the plies of `part`; nothing where none is spliced.
pub(super) fn section(part: &PartUse, passages: &mut Vec<Passage>) {
    let spliced: Vec<(&PlyUse, &LaidPly)> = part
        .plies
        .iter()
        .zip(&part.laid)
        .filter(|(_, laid)| !laid.pieces.is_empty())
        .collect();
    if spliced.is_empty() {
        return;
    }
    passages.push(Passage::heading("Where plies are joined"));
    passages.push(Passage::plain(
        "In the drawings above, solid: the edge of the piece on top. Dashed: the edge below. Grey: the lap \
         between them. Lay the pieces in the order of their letters. Wet a lap out to the edge of the lower \
         piece before the next piece goes over it.",
    ));
    let words = (spliced.into_iter()).map(|(ply, laid)| in_words(part, ply, laid));
    passages.extend(words.map(Passage::plain));
}

/// `Ply 3: RUD-3-B over RUD-3-A, lap 25 mm (0.98 in).`
fn in_words(part: &PartUse, ply: &PlyUse, laid: &LaidPly) -> Prose {
    let id = |letter: char| format!("{}-{}-{letter}", part.name(), ply.n());
    // A joint that an opening divides is told once.
    let mut told: Vec<(&LaidPiece, &Joint)> = Vec::new();
    for (piece, joint) in each_once(laid) {
        let is_same =
            |(p, j): &(&LaidPiece, &Joint)| (p.letter, j.mate) == (piece.letter, joint.mate);
        if !told.iter().any(is_same) {
            told.push((piece, joint));
        }
    }
    let joints = told.into_iter().map(|(piece, joint)| {
        let (own, mate) = (id(piece.letter), id(joint.mate));
        match joint.lies {
            Lies::Beside => format!("{own} butted to {mate}").into(),
            Lies::Under => prose! { (mate) " over " (own) ", lap " (width(joint.lap)) },
            Lies::Over => prose! { (own) " over " (mate) ", lap " (width(joint.lap)) },
        }
    });
    let end = if part.sets > 1 { ", in each set." } else { "." };
    prose! { Strong { (format!("Ply {}", ply.n())) } ": " (Prose::joined::<Prose>(joints, "; ")) (end) }
}

/// Every joint once, with the piece that is laid first.
fn each_once(laid: &LaidPly) -> impl Iterator<Item = (&LaidPiece, &Joint)> {
    laid.pieces.iter().flat_map(|piece| {
        let later = piece.joints.iter().filter(|j| piece.letter < j.mate);
        later.map(move |joint| (piece, joint))
    })
}

/// Draws the joints of a ply, and the ids of its pieces, where `at` says, `scale` pixels to a mm.
pub(super) fn draw(
    part: &PartUse,
    ply: &PlyUse,
    laid: &LaidPly,
    (at, scale): (&dyn Fn(Point) -> Point, f64),
    drawing: &mut Drawing<Look>,
) {
    for lap in laps(laid) {
        drawing.area(Look::Lap, rings([&lap], at));
    }
    for edge in lines(laid) {
        drawing.line(edge.look, &edge.ends.map(at));
    }
    let mut taken = Vec::new();
    for piece in &laid.pieces {
        let id = format!("{}-{}-{}", part.name(), ply.n(), piece.letter);
        let (text, size) = name_of(piece, &id, scale);
        let (centre, angle) = (piece.label.centre, piece.label.angle);
        taken.extend(ground(centre, angle, &text, size, scale));
        let shape = centred(at(centre), text, size, angle);
        drawing.add(Look::Inside, None, shape);
    }
    for (piece, joint) in each_once(laid) {
        let text = over(piece, joint);
        if let Some((middle, angle, ground)) = beside(laid, joint, &text, &taken, scale) {
            taken.push(ground);
            let shape = centred(at(middle), text, ALONG, angle);
            drawing.add(Look::Along, None, shape);
        }
    }
}

/// Where two pieces lie on one another.
fn laps(laid: &LaidPly) -> Vec<Outline> {
    let of = |letter: char| laid.pieces.iter().find(|piece| piece.letter == letter);
    each_once(laid)
        .filter(|(_, joint)| joint.lies != Lies::Beside)
        .filter_map(|(piece, joint)| Some(clip::common(&piece.outline, &of(joint.mate)?.outline)))
        .flatten()
        .collect()
}

/// The id of a piece, or only its letter where there is no room, and the size of its letters.
fn name_of(piece: &LaidPiece, id: &str, scale: f64) -> (String, f64) {
    let (along, across) = (piece.label.width * scale, piece.label.height * scale);
    let size_of = |text: &str| (along / letters(text)).min(across).min(LETTERS.0);
    let size = size_of(id);
    if size >= LETTERS.1 {
        return (id.to_owned(), size);
    }
    let letter = piece.letter.to_string();
    let size = size_of(&letter).max(LETTERS.1);
    (letter, size)
}

/// Width of `text` in sizes of the font.
fn letters(text: &str) -> f64 {
    face::width(text, CAPITALS_PER_SIZE)
}

/// A text around `middle` on the drawing.
fn centred(middle: Point, text: String, size: f64, angle: Angle) -> Shape {
    let (sin, cos) = trig::sin_cos(angle);
    let down = size * 0.36;
    Shape::Text(TextLine {
        // y down: the baseline is below the middle, as the text reads.
        at: middle + Vector::new(down * sin, down * cos),
        text,
        align: Align::Middle,
        height: size * CAPITALS_PER_SIZE,
        angle,
    })
}

/// What a text of `size` pixels around `middle` takes of the ply, `scale` pixels to a mm.
fn ground(middle: Point, angle: Angle, text: &str, size: f64, scale: f64) -> Option<Outline> {
    let (sin, cos) = trig::sin_cos(angle);
    let half = [letters(text) * size, size].map(|extent| (extent / 2.0 + FREE) / scale);
    let along = Vector::new(cos, sin) * half[0];
    let up = Vector::new(-sin, cos) * half[1];
    let corners = [
        middle - along - up,
        middle + along - up,
        middle + along + up,
        middle - along + up,
    ];
    let outer = Ring::new(corners).ok()?;
    Some(Outline {
        outer,
        openings: Vec::new(),
    })
}

/// `B over A`.
fn over(piece: &LaidPiece, joint: &Joint) -> String {
    match joint.lies {
        Lies::Under => format!("{} over {}", joint.mate, piece.letter),
        Lies::Over => format!("{} over {}", piece.letter, joint.mate),
        Lies::Beside => format!("{} beside {}", piece.letter, joint.mate),
    }
}

/// Where `text` stands along `joint`, on the side of the piece beneath, clear of the rim, of other
/// joints and of what is `taken`: its middle and angle on the ply and what it takes. None where
/// there is no room.
fn beside(
    laid: &LaidPly,
    joint: &Joint,
    text: &str,
    taken: &[Outline],
    scale: f64,
) -> Option<(Point, Angle, Outline)> {
    let mut chords = clip::line_within(&laid.outline, joint.line);
    chords.sort_by(|a, b| b[0].distance(b[1]).total_cmp(&a[0].distance(a[1])));
    let edges = lines(laid);
    let is_free = |ground: &Outline| {
        let within = clip::common(ground, &laid.outline);
        let area: f64 = within.iter().map(Outline::area).sum();
        area > 0.999 * ground.area()
            && edges
                .iter()
                .all(|edge| clip::line_within(ground, edge.ends).is_empty())
            && taken
                .iter()
                .all(|other| clip::common(ground, other).is_empty())
    };
    let places = chords
        .iter()
        .flat_map(|ends| AT.map(|share| (*ends, share)));
    places
        .filter_map(|([from, to], share)| {
            let along = to - from;
            let angle = trig::direction(along.x, along.y).as_fibre();
            let middle = from.towards(to, share) + joint.inward * (BESIDE / scale);
            Some((middle, angle, ground(middle, angle, text, ALONG, scale)?))
        })
        .find(|(_, _, ground)| is_free(ground))
}
