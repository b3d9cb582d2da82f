//! What is written on a piece and where: one layout for the cut files and the report.
//!
//! A label is a few centred lines of text with a *compass*: the warp arrow, which always points
//! along the roll, and a tick that shows where the part's 0° lies. The layout tries a few
//! arrangements and takes the one with the largest letters; where even that is too small to read
//! it says less, down to the sequence number, rather than writing what nobody can read.

use super::face::usual_width;
use super::shape::{Align, Pointer, TextLine, arrow_head};
use crate::geometry::{Point, Vector, trig};
use crate::number::number;
use crate::output::notes::Note;
pub(in crate::output) use crate::output::style::TextSize;
use crate::plan::{Label, PlacedPiece};
use crate::units::Angle;

/// A label ready to be drawn, in the roll frame.
#[derive(Clone, Debug)]
pub(in crate::output) struct LabelDrawing {
    pub(in crate::output) lines: Vec<TextLine>,
    /// The warp arrow, and a tick along the part's 0° direction unless that is the warp's.
    pub(in crate::output) pointers: Vec<Pointer>,
    /// Whether its letters are as high as they have to be.
    pub(in crate::output) is_legible: bool,
}

/// Lays out the label of `piece` within its label box; empty if the box holds nothing at all.
pub(in crate::output) fn lay_out(piece: &PlacedPiece, size: TextSize) -> LabelDrawing {
    let levels = levels(piece);
    let fitted: Vec<(&Arrangement, f64)> = levels
        .iter()
        .map(|level| largest(level, &piece.label(), size.most))
        .collect();
    let is_legible = |&&(_, height): &&(&Arrangement, f64)| height >= size.least;
    match fitted.iter().find(is_legible).or(fitted.last()) {
        Some((arrangement, height)) if *height >= INVISIBLE => {
            arrangement.draw(piece, *height, size)
        }
        _ => LabelDrawing {
            lines: Vec::new(),
            pointers: Vec::new(),
            is_legible: false,
        },
    }
}

/// What a tag beside `piece` says, the most telling first.
pub(in crate::output) fn tag_texts(piece: &PlacedPiece) -> [String; 2] {
    let order = format!("#{}", piece.sequence());
    [format!("{}{SEPARATOR}{order}", clean(piece.id())), order]
}

/// Letters lower than this (mm) are a blot, and some programs refuse texts without height.
const INVISIBLE: f64 = 0.3;

/// Ways to set the label, the most telling first; each level holds equivalent arrangements.
fn levels(piece: &PlacedPiece) -> Vec<Vec<Arrangement>> {
    let id = clean(piece.id());
    let order = format!("#{}", piece.sequence());
    let angle = format!("{}°", number(piece.angle_design().to_degrees(), 1));
    let marks = marks(piece).join(", ");
    let info = format!("{order}{SEPARATOR}{angle}");
    let full = if marks.is_empty() {
        info.clone()
    } else {
        format!("{info}{SEPARATOR}{marks}")
    };
    let mut complete = vec![
        Arrangement::new([&id, &full], CompassPlace::Left),
        Arrangement::new([&id, &full], CompassPlace::Below),
        Arrangement::new([&format!("{id}{SEPARATOR}{full}")], CompassPlace::Left),
    ];
    if !marks.is_empty() {
        complete.push(Arrangement::new([&id, &info, &marks], CompassPlace::Left));
        complete.push(Arrangement::new([&id, &info, &marks], CompassPlace::Below));
    }
    vec![
        complete,
        vec![
            Arrangement::new([&id, &order], CompassPlace::Left),
            Arrangement::new([&id, &order], CompassPlace::Below),
            Arrangement::new([&format!("{id}{SEPARATOR}{order}")], CompassPlace::Left),
        ],
        vec![
            Arrangement::new([&order], CompassPlace::Left),
            Arrangement::new([&order], CompassPlace::Below),
        ],
        vec![Arrangement::new([&order], CompassPlace::Nowhere)],
    ]
}

/// Stands between the entries of a line.
pub(in crate::output) const SEPARATOR: &str = " · ";

/// What a laminator must know of this piece beyond id, order and angle.
pub(in crate::output) fn marks(piece: &PlacedPiece) -> Vec<&'static str> {
    let notes = Note::of_piece(piece).into_iter();
    notes.filter_map(Note::short).collect()
}

/// `text` with everything that is no printable character as a space.
fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if is_printable(c) { c } else { ' ' })
        .collect()
}

/// Whether `c` may stand in XML and in one line of a DXF.
pub(in crate::output) fn is_printable(c: char) -> bool {
    !c.is_control() && !matches!(c, '\u{2028}' | '\u{2029}' | '\u{FFFE}' | '\u{FFFF}')
}

/// The arrangement with the largest letters and their height, at most `most`; the first of equals.
fn largest<'a>(level: &'a [Arrangement], label: &Label, most: f64) -> (&'a Arrangement, f64) {
    let mut best: Option<(&Arrangement, f64)> = None;
    for arrangement in level {
        let height = arrangement.text_height(label).min(most);
        if best.is_none_or(|(_, h)| height > h) {
            best = Some((arrangement, height));
        }
    }
    best.expect("a level holds at least one arrangement")
}

/// Where the compass stands beside the lines.
#[derive(Clone, Copy, PartialEq)]
enum CompassPlace {
    Left,
    Below,
    Nowhere,
}

/// Lines and compass in proportion to a capital's height.
struct Arrangement {
    lines: Vec<String>,
    compass: CompassPlace,
}

/// From one line's middle to the next one's, in capital heights.
const PITCH: f64 = 1.6;
/// Room above and below a block of lines, for descenders, in capital heights.
const PADDING: f64 = 0.25;
/// Between compass and text, in capital heights.
const GUTTER: f64 = 0.6;

impl Arrangement {
    fn new<const N: usize>(lines: [&String; N], compass: CompassPlace) -> Self {
        Self {
            lines: lines.map(Clone::clone).to_vec(),
            compass,
        }
    }

    fn block_width(&self) -> f64 {
        self.lines
            .iter()
            .map(|l| usual_width(l))
            .fold(0.0, f64::max)
    }

    fn block_height(&self) -> f64 {
        (self.lines.len() - 1) as f64 * PITCH + 1.0 + 2.0 * PADDING
    }

    /// Side of the square the compass takes.
    fn compass_side(&self) -> f64 {
        match self.compass {
            CompassPlace::Left => self.block_height().min(3.1),
            CompassPlace::Below => 2.6,
            CompassPlace::Nowhere => 0.0,
        }
    }

    /// The largest capital height at which it fits the box.
    fn text_height(&self, label: &Label) -> f64 {
        let (w, h, side) = (self.block_width(), self.block_height(), self.compass_side());
        let (w, h) = match self.compass {
            CompassPlace::Left => (side + GUTTER + w, h.max(side)),
            CompassPlace::Below => (w.max(side), h + side),
            CompassPlace::Nowhere => (w, h),
        };
        (label.width / w).min(label.height / h)
    }

    fn draw(&self, piece: &PlacedPiece, height: f64, size: TextSize) -> LabelDrawing {
        let label = &piece.label();
        let (sin, cos) = trig::sin_cos(label.angle);
        // From the text's own directions (along, up) to the roll frame.
        let at = |along: f64, up: f64| {
            label.centre + Vector::new(along * cos - up * sin, along * sin + up * cos) * height
        };
        let (w, h, side) = (self.block_width(), self.block_height(), self.compass_side());
        let (block, compass) = match self.compass {
            CompassPlace::Left => (
                ((side + GUTTER) / 2.0, 0.0),
                Some((-(GUTTER + w) / 2.0, 0.0)),
            ),
            CompassPlace::Below => ((0.0, side / 2.0), Some((0.0, -h / 2.0))),
            CompassPlace::Nowhere => ((0.0, 0.0), None),
        };
        let top = (self.lines.len() - 1) as f64 * PITCH / 2.0;
        let lines = self.lines.iter().enumerate();
        let mut drawing = LabelDrawing {
            lines: lines
                .map(|(i, text)| TextLine {
                    text: text.clone(),
                    at: at(block.0, block.1 + top - i as f64 * PITCH),
                    align: Align::Centre,
                    height,
                    angle: label.angle,
                })
                .collect(),
            pointers: Vec::new(),
            is_legible: height >= size.least,
        };
        if let Some((along, up)) = compass {
            drawing.compass(at(along, up), side * height, piece.zero_direction(), size);
        }
        drawing
    }
}

impl LabelDrawing {
    /// A compass that fills a square of `side` mm around `centre`.
    fn compass(&mut self, centre: Point, side: f64, zero: Angle, size: TextSize) {
        let at = |x: f64, y: f64| centre + Vector::new(x, y) * side;
        self.pointers.push(Pointer {
            shaft: [at(-0.5, 0.0), at(0.5, 0.0)],
            head: Some(arrow_head((0.2, 0.08), |x, y| at(0.5 + x, y))),
        });
        let zero = zero.as_rotation();
        let (sin, cos) = trig::sin_cos(zero);
        if zero != Angle::ZERO {
            self.pointers.push(Pointer {
                shaft: [centre, at(0.5 * cos, 0.5 * sin)],
                head: None,
            });
        }
        let height = 0.22 * side;
        if height >= size.least {
            let (x, y) = beside(cos, sin);
            self.lines.push(TextLine {
                text: "0°".to_owned(),
                at: at(x, y),
                align: Align::Centre,
                height,
                angle: Angle::ZERO,
            });
        }
    }
}

/// Where the word `0°` stands, for a tick along (`cos`, `sin`): near its end, on the side that
/// leads away from the arrow; for a tick along the arrow, above it.
fn beside(cos: f64, sin: f64) -> (f64, f64) {
    const ALONG: f64 = 0.3;
    const ASIDE: f64 = 0.24;
    let is_left = if sin >= 0.0 { cos >= 0.0 } else { cos <= 0.0 };
    let aside = if is_left { ASIDE } else { -ASIDE };
    (ALONG * cos - aside * sin, ALONG * sin + aside * cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Bounds, Outline, Ring};

    const SIZE: TextSize = TextSize {
        least: 2.0,
        most: 10.0,
    };

    /// A piece with a label box of `width` × `height` mm along `angle`, about (100, 50).
    fn piece(width: f64, height: f64, angle: f64) -> PlacedPiece {
        let square = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
        let ring = Ring::new(square.map(|(x, y)| Point::new(x, y))).unwrap();
        let outline = Outline::solid(ring);
        let label = Label {
            centre: Point::new(100.0, 50.0),
            width,
            height,
            angle: Angle::degrees(angle),
        };
        crate::plan::tests::labelled(outline, label)
    }

    fn words(drawing: &LabelDrawing) -> String {
        let lines = drawing.lines.iter().map(|l| l.text.as_str());
        let lines: Vec<&str> = lines.filter(|&line| line != "0°").collect();
        lines.join("|")
    }

    /// Extent of everything drawn, with the conservative widths of the texts.
    fn extent(drawing: &LabelDrawing) -> Bounds {
        let mut points = Vec::new();
        for line in &drawing.lines {
            let half = usual_width(&line.text) * line.height / 2.0;
            let (sin, cos) = trig::sin_cos(line.angle);
            for (along, up) in [(-half, -0.5), (half, -0.5), (-half, 0.5), (half, 0.5)] {
                let up = up * line.height;
                points.push(line.at + Vector::new(along * cos - up * sin, along * sin + up * cos));
            }
        }
        for pointer in &drawing.pointers {
            points.extend(pointer.shaft);
            points.extend(pointer.head.into_iter().flatten());
        }
        Bounds::of(points).unwrap()
    }

    #[test]
    fn a_roomy_box_holds_the_whole_label() {
        let drawing = lay_out(&piece(150.0, 60.0, 0.0), SIZE);
        assert_eq!(words(&drawing), "RUD-12#3|#27 · -45°|face down, bias");
        assert!(drawing.lines.iter().any(|line| line.text == "0°"));
    }

    #[test]
    fn nothing_leaves_the_box() {
        for (w, h) in [
            (150.0, 60.0),
            (60.0, 60.0),
            (300.0, 9.0),
            (40.0, 18.0),
            (25.0, 12.0),
            (8.0, 5.0),
        ] {
            for (angle, dx, dy) in [(0.0, w, h), (90.0, h, w)] {
                let drawing = lay_out(&piece(w, h, angle), SIZE);
                let b = extent(&drawing);
                let inside = b.min.x >= 100.0 - dx / 2.0 - 1e-6
                    && b.max.x <= 100.0 + dx / 2.0 + 1e-6
                    && b.min.y >= 50.0 - dy / 2.0 - 1e-6
                    && b.max.y <= 50.0 + dy / 2.0 + 1e-6;
                assert!(inside, "{w} × {h} at {angle}°: {b:?}");
            }
        }
    }

    #[test]
    fn a_small_box_says_less_instead_of_writing_too_small() {
        let drawing = lay_out(&piece(10.0, 6.0, 0.0), SIZE);
        assert_eq!(words(&drawing), "#27");
        assert!(drawing.lines[0].height >= SIZE.least);
    }

    #[test]
    fn the_warp_arrow_points_along_the_roll_however_the_text_runs() {
        for angle in [0.0, 90.0] {
            let pointers = lay_out(&piece(120.0, 40.0, angle), SIZE).pointers;
            let [tail, tip] = pointers[0].shaft;
            assert!(tip.x > tail.x && tip.y == tail.y);
            let [from, to] = pointers[1].shaft;
            assert!(to.x < from.x && to.y < from.y, "0° points to 225°");
        }
    }
}
