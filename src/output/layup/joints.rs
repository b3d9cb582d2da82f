//! Where the pieces of a spliced ply meet: drawn flat, and in words.

use super::Sheets;
use crate::geometry::{Bounds, Outline, Point, Vector, clip, trig};
use crate::output::figure::{Figure, Label, Look, Mark, rings};
use crate::output::report::words::angle;
use crate::output::sheet::{Block, Text};
use crate::plan::{LaidPiece, LaidPly, PartUse, PlyUse};
use crate::ply::{Joint, Lies};

/// Room for one ply, and from ply to ply, pixels.
const WIDTH: f64 = 345.0;
const DEPTH: f64 = 190.0;
const BETWEEN: f64 = 30.0;
/// Room for the name above a ply, and around everything, pixels.
const ABOVE: f64 = 24.0;
const AROUND: f64 = 3.0;
/// Largest and smallest letters of an id, pixels.
const LETTERS: (f64, f64) = (13.0, 7.0);
/// Letters along a joint, pixels, and from the joint to their middle.
const ALONG: f64 = 10.0;
const BESIDE: f64 = 8.0;
/// Where along its joint a text stands: not in the middle, where the ids are.
const AT: f64 = 0.25;
/// Width of a letter in heights of the font, on the safe side.
const LETTER: f64 = 0.66;

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
pub(super) fn section(sheets: &Sheets<'_>, idx: usize, blocks: &mut Vec<Block>) {
    let part = &sheets.plan.parts[idx];
    let laid = sheets.plan.work.laid.get(idx).into_iter().flatten();
    let spliced: Vec<(&PlyUse, &LaidPly)> = part
        .plies
        .iter()
        .zip(laid)
        .filter(|(_, laid)| !laid.pieces.is_empty())
        .collect();
    if spliced.is_empty() {
        return;
    }
    blocks.push(Block::Heading("Where plies are joined".to_owned()));
    blocks.push(Block::Paragraph(Text::of(
        "Flat, seen from the bag side, 0° to the right. Solid: the edge of the piece on top. Dashed: \
         the edge beneath it. Grey: the lap between them. Pieces are laid in the order of their letters.",
    )));
    for two in spliced.chunks(2) {
        blocks.push(Block::Figure(figure(part, two)));
        for (ply, laid) in two {
            blocks.push(Block::Paragraph(in_words(part, ply, laid)));
        }
    }
}

/// `Ply 3: RUD-3-B over RUD-3-A, lap 25 mm (0.98 in).`
fn in_words(part: &PartUse, ply: &PlyUse, laid: &LaidPly) -> Text {
    let id = |letter: char| format!("{}-{}-{letter}", part.name, ply.n);
    let mut text = Text::new().strong(format!("Ply {}", ply.n)).and(": ");
    let mut is_first = true;
    for (piece, joint) in each_once(laid) {
        if !is_first {
            text = text.and("; ");
        }
        is_first = false;
        let (own, mate) = (id(piece.letter), id(joint.mate));
        text = match joint.lies {
            Lies::Beside => text.and(format!("{own} butted to {mate}")),
            Lies::Under => lap(text.and(format!("{mate} over {own}, lap ")), joint),
            Lies::Over => lap(text.and(format!("{own} over {mate}, lap ")), joint),
        };
    }
    text.and(if part.sets > 1 { ", in each set." } else { "." })
}

fn lap(text: Text, joint: &Joint) -> Text {
    text.quantity(joint.lap.in_mm_and_inches())
}

/// Every joint once, with the piece that is laid first.
fn each_once(laid: &LaidPly) -> impl Iterator<Item = (&LaidPiece, &Joint)> {
    laid.pieces.iter().flat_map(|piece| {
        let later = piece.joints.iter().filter(|j| piece.letter < j.mate);
        later.map(move |joint| (piece, joint))
    })
}

/// Plies side by side.
fn figure(part: &PartUse, plies: &[(&PlyUse, &LaidPly)]) -> Figure {
    let mut marks = Vec::new();
    let mut lowest = 0.0_f64;
    for (i, (ply, laid)) in plies.iter().enumerate() {
        let corner = Point::new(AROUND + (WIDTH + BETWEEN) * i as f64, ABOVE);
        lowest = lowest.max(draw(part, ply, laid, corner, &mut marks));
    }
    let numbers: Vec<String> = plies.iter().map(|(ply, _)| ply.n.to_string()).collect();
    Figure {
        kind: "joints",
        width: 2.0 * (WIDTH + AROUND) + BETWEEN,
        height: lowest + AROUND,
        title: format!("Joints of ply {} of {}", numbers.join(" and "), part.name),
        marks,
    }
}

/// Draws a ply with its upper left corner at `corner`; the y of its lower edge.
fn draw(part: &PartUse, ply: &PlyUse, laid: &LaidPly, corner: Point, marks: &mut Vec<Mark>) -> f64 {
    let bounds: Bounds = laid.outline.bounds();
    let scale = (WIDTH / bounds.width()).min(DEPTH / bounds.height());
    let at =
        |p: Point| corner + Vector::new((p.x - bounds.min.x) * scale, (bounds.max.y - p.y) * scale);
    let name = format!("Ply {} · {} {}", ply.n, angle(ply.angle), ply.cloth);
    let above = Point::new(corner.x, corner.y - 8.0);
    marks.push(Mark::Text(Label::new(Look::Name, above, name)));
    marks.push(Mark::Area(Look::Ply, rings([&laid.outline], at)));
    for lap in laps(laid) {
        marks.push(Mark::Area(Look::Lap, rings([&lap], at)));
    }
    for edge in lines(laid) {
        marks.push(Mark::Line(edge.look, edge.ends.map(at).to_vec()));
    }
    marks.push(Mark::Area(Look::Rim, rings([&laid.outline], at)));
    for piece in &laid.pieces {
        let id = format!("{}-{}-{}", part.name, ply.n, piece.letter);
        marks.push(Mark::Text(name_of(
            piece,
            &id,
            at(piece.label.centre),
            scale,
        )));
    }
    for (piece, joint) in each_once(laid) {
        let longest = clip::line_within(&laid.outline, joint.line)
            .into_iter()
            .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])));
        if let Some(ends) = longest {
            marks.extend(beside(piece, joint, ends.map(at)).map(Mark::Text));
        }
    }
    corner.y + bounds.height() * scale
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

/// The id of a piece in the middle of it; only its letter where there is no room.
fn name_of(piece: &LaidPiece, id: &str, centre: Point, scale: f64) -> Label {
    let (along, across) = (piece.label.width * scale, piece.label.height * scale);
    let size_of = |text: &str| {
        let letters = text.chars().count() as f64 * LETTER;
        (along / letters).min(across).min(LETTERS.0)
    };
    let (text, size) = match size_of(id) {
        size if size >= LETTERS.1 => (id.to_owned(), size),
        _ => {
            let letter = piece.letter.to_string();
            let size = size_of(&letter).max(LETTERS.1);
            (letter, size)
        }
    };
    let (sin, cos) = trig::sin_cos(piece.label.angle);
    let down = size * 0.36;
    Label {
        look: Look::Inside,
        // y down: the baseline is below the middle, as the text reads.
        at: centre + Vector::new(down * sin, down * cos),
        text,
        size: Some(size),
        angle: piece.label.angle,
    }
}

/// `B over A` along a joint whose edge on top has these ends on the drawing, on the side of the
/// piece beneath; none where there is no room.
fn beside(piece: &LaidPiece, joint: &Joint, [from, to]: [Point; 2]) -> Option<Label> {
    let text = match joint.lies {
        Lies::Under => format!("{} over {}", joint.mate, piece.letter),
        Lies::Over => format!("{} over {}", piece.letter, joint.mate),
        Lies::Beside => format!("{} beside {}", piece.letter, joint.mate),
    };
    if from.distance(to) < text.chars().count() as f64 * LETTER * ALONG / 2.0 / AT {
        return None;
    }
    let along = to - from;
    let angle = trig::direction(along.x, -along.y).as_fibre();
    let inward = Vector::new(joint.inward.x, -joint.inward.y);
    let middle = from.towards(to, AT) + inward * BESIDE;
    let (sin, cos) = trig::sin_cos(angle);
    let down = ALONG * 0.36;
    Some(Label {
        look: Look::Along,
        at: middle + Vector::new(down * sin, down * cos),
        text,
        size: Some(ALONG),
        angle,
    })
}
