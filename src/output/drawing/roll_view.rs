//! What every picture of a roll has in common, whatever it is drawn with: scale, rows, strips that
//! are not used, fills and hatches, and what its key must explain.

use super::label::TextSize;
use super::roll::roll;
use super::shape::{Drawing, Drawn, Shape};
use crate::geometry::{Bounds, Point};
use crate::output::style::{Layer, hatch};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::Angle;

/// Fills for parts; further parts begin again.
const N_TINTS: usize = 6;
/// A row that goes on in the next is at least this part of a full one …
const SHORTEST_ROW: f64 = 0.75;
/// … and ends at the best of so many places and one.
const N_BREAKS: u32 = 40;

/// The room for a row of a roll, pixels.
#[derive(Clone, Copy)]
pub(in crate::output) struct Room {
    /// Longest row.
    pub(in crate::output) row: f64,
    /// A short roll is drawn no higher than this.
    pub(in crate::output) highest: f64,
    /// A long roll is drawn no lower than this; it goes on in further rows.
    pub(in crate::output) lowest: f64,
    /// Heights of capitals on pieces.
    pub(in crate::output) letters: TextSize,
}

/// A roll to be drawn.
pub(in crate::output) struct RollView<'a> {
    pub(in crate::output) plan: &'a Plan,
    pub(in crate::output) layout: &'a Layout,
    /// Length of the drawing, mm.
    pub(in crate::output) length: f64,
    /// Width of the roll, mm.
    pub(in crate::output) width: f64,
    /// Millimetres in a pixel.
    pub(in crate::output) px: f64,
    room: Room,
    drawing: Drawing<Layer>,
}

/// Where along the roll a piece and its label lie, mm.
struct Breakable {
    piece: [f64; 2],
    label: [f64; 2],
}

impl Breakable {
    fn of(piece: &PlacedPiece) -> Self {
        let Bounds { min, max } = piece.cut().bounds();
        let half = piece.label().width.max(piece.label().height) / 2.0;
        let middle = piece.label().centre.x;
        Self {
            piece: [min.x, max.x],
            label: [middle - half, middle + half],
        }
    }

    /// How much a break at `x` cuts through.
    fn cost_at(&self, x: f64) -> usize {
        let crosses = |[from, to]: [f64; 2]| usize::from(from < x && x < to);
        crosses(self.piece) + 10 * crosses(self.label)
    }
}

/// The fill of a part, the same on all drawings of a plan.
pub(in crate::output) fn tint(plan: &Plan, part: &str) -> usize {
    let position = plan.parts().iter().position(|p| p.name() == part);
    position.unwrap_or(0) % N_TINTS
}

impl<'a> RollView<'a> {
    pub(in crate::output) fn new(plan: &'a Plan, layout: &'a Layout, room: Room) -> Self {
        let (length, width) = (layout.drawn_length().to_mm(), layout.roll_width().to_mm());
        let px = (length / room.row)
            .clamp(width / room.highest, width / room.lowest)
            .max(0.01);
        let letters = TextSize {
            least: room.letters.least * px,
            most: room.letters.most * px,
        };
        Self {
            drawing: roll(plan, layout, letters),
            plan,
            layout,
            length,
            width,
            px,
            room,
        }
    }

    /// Where the rows begin and end along the roll, mm.
    ///
    /// A roll that is too long for one row goes on in the next at a place that cuts through few
    /// pieces, and above all through few labels.
    pub(in crate::output) fn rows(&self) -> Vec<[f64; 2]> {
        let longest = self.room.row * self.px;
        let breakable: Vec<Breakable> = (self.layout.pieces().iter()).map(Breakable::of).collect();
        let mut rows = Vec::new();
        let mut from = 0.0;
        while self.length - from > longest * 1.001 {
            let candidates = (0..=N_BREAKS).map(|i| {
                let back = f64::from(i) / f64::from(N_BREAKS) * (1.0 - SHORTEST_ROW);
                from + longest * (1.0 - back)
            });
            let to = candidates
                .min_by_key(|&x| {
                    breakable
                        .iter()
                        .map(|piece| piece.cost_at(x))
                        .sum::<usize>()
                })
                .expect("there is at least one candidate");
            rows.push([from, to]);
            from = to;
        }
        rows.push([from, self.length]);
        rows
    }

    /// What `layer` shows of the roll itself.
    pub(in crate::output) fn of_roll(&self, layer: Layer) -> impl Iterator<Item = &Shape> {
        let items = self.drawing.items.iter();
        let of_roll = items.filter(move |item| item.piece.is_none() && item.layer == layer);
        of_roll.map(|item| &item.shape)
    }

    /// The pieces that reach between two places along the roll, and what is drawn of each.
    pub(in crate::output) fn pieces_between(
        &self,
        from: f64,
        to: f64,
    ) -> impl Iterator<Item = (&'a PlacedPiece, &[Drawn<Layer>])> {
        let runs = (self.drawing.items).chunk_by(|a, b| a.piece == b.piece);
        let pieces = runs.filter_map(|items| Some((&self.layout.pieces()[items[0].piece?], items)));
        pieces.filter(move |(piece, _)| {
            let Bounds { min, max } = piece.cut().bounds();
            min.x < to && max.x > from
        })
    }

    /// The strips at selvedges and ends that are not used; of an odd remnant only its far end.
    pub(in crate::output) fn unused(&self) -> Vec<Bounds> {
        let (low, high) = self.layout.usable_y();
        let margin = self.layout.end_margin().to_mm();
        let used = self.layout.used_length().to_mm();
        let strip = |x0, y0, x1, y1| Bounds {
            min: Point::new(x0, y0),
            max: Point::new(x1, y1),
        };
        let mut unused = vec![strip(used - margin, 0.0, self.length, self.width)];
        if !self.is_odd() {
            unused.push(strip(0.0, high, used, self.width));
            unused.push(strip(0.0, 0.0, used, low));
            unused.push(strip(0.0, 0.0, margin, self.width));
        }
        unused
    }

    /// Whether the cloth is a remnant of odd outline.
    fn is_odd(&self) -> bool {
        let whole = self.layout.whole();
        let bounds = whole.bounds();
        bounds.width() * bounds.height() - whole.area() > 1.0
    }

    /// The fill of a part.
    pub(in crate::output) fn tint(&self, part: &str) -> usize {
        tint(self.plan, part)
    }

    /// The parts that lie on the roll, as they come.
    pub(in crate::output) fn parts(&self) -> Vec<&'a str> {
        let mut parts: Vec<&str> = Vec::new();
        for piece in self.layout.pieces() {
            if !parts.contains(&piece.part()) {
                parts.push(piece.part());
            }
        }
        parts
    }

    /// The directions of the hatch of all pieces, counter-clockwise from the length of the roll.
    pub(in crate::output) fn hatch(&self) -> Vec<Angle> {
        hatch::on_roll(self.layout.cloth().weave)
    }

    /// What the hatch shows, if there is one.
    pub(in crate::output) fn hatch_in_words(&self) -> Option<&'static str> {
        let weave = self.layout.cloth().weave;
        match weave.drawn_as_warp().len() {
            0 => None,
            1 if weave.runs_one_way() => Some("fibres as they lie on the roll"),
            1 => Some("warp as it lies on the roll"),
            _ => Some("both layers of fibres as they lie on the roll"),
        }
    }

    pub(in crate::output) fn has_splices(&self) -> bool {
        self.layout.pieces().iter().any(|p| p.splice().is_some())
    }

    pub(in crate::output) fn has_kept(&self) -> bool {
        self.of_roll(Layer::Keep).next().is_some()
    }

    /// What is written below the row between `from` and `to`.
    pub(in crate::output) fn length_text(&self, from: f64, to: f64) -> String {
        use crate::units::Length;
        let used = self.layout.used_length().in_metres_and_yards();
        let is_whole = to - from == self.length;
        if self.layout.stock().is_some() && is_whole {
            let all = Length::mm(self.length).in_metres_and_yards();
            format!("{all} on hand, {used} used")
        } else if is_whole {
            format!("used length {used}")
        } else {
            format!(
                "{} to {} of {used} used",
                Length::mm(from).in_metres_and_yards(),
                Length::mm(to).in_metres_and_yards(),
            )
        }
    }

    /// Lengths in mm and names of the two scale bars, one in each unit system, of at most `most`
    /// pixels where there are such.
    pub(in crate::output) fn scale_bars(&self, most: f64) -> [(f64, &'static str); 2] {
        const METRIC: [(f64, &str); 5] = [
            (100.0, "100 mm"),
            (200.0, "200 mm"),
            (500.0, "0.5 m"),
            (1000.0, "1 m"),
            (2000.0, "2 m"),
        ];
        const INCHES: [(f64, &str); 5] = [
            (101.6, "4 in"),
            (203.2, "8 in"),
            (304.8, "1 ft"),
            (914.4, "1 yd"),
            (1828.8, "2 yd"),
        ];
        [METRIC, INCHES].map(|lengths| {
            let fitting = lengths.iter().rev().find(|(mm, _)| *mm <= most * self.px);
            *fitting.unwrap_or(&lengths[0])
        })
    }
}
