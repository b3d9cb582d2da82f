//! The key below a roll: what its fills, hatches and lines mean.

use super::{LEADING, MARGIN, dashed, width};
use crate::geometry::Point;
use crate::output::drawing::face;
use crate::output::drawing::roll_view::RollView;
use crate::output::formats::picture::{Picture, WIDTH};
use crate::output::style::{CAPITALS_PER_SIZE, DRAWN, Paint, hatch, stroke, text};
use crate::units::Angle;

/// Size of a chip, pixels.
const CHIP: (f64, f64) = (44.0, 24.0);

/// A sample in the key.
enum Chip {
    Area(Paint),
    Hatch(Vec<Angle>),
    Crosses,
    Line(Paint),
}

impl Picture {
    /// What fills, hatches and lines mean.
    pub(super) fn key(&mut self, view: &RollView<'_>) {
        let ground = Paint::line(DRAWN.soft, 1.0).over(DRAWN.card);
        let mut entries: Vec<(String, Chip)> = Vec::new();
        for part in view.parts() {
            let paint =
                Paint::line(DRAWN.cut, width(stroke::LINE)).over(DRAWN.tints[view.tint(part)]);
            entries.push((part.to_owned(), Chip::Area(paint)));
        }
        if let Some(words) = view.hatch_in_words() {
            entries.push((words.to_owned(), Chip::Hatch(view.hatch())));
        }
        let line = |colour, mm, dash| Chip::Line(dashed(colour, mm, dash));
        let mut lines = vec![
            ("cut line", line(DRAWN.cut, stroke::LINE, &[])),
            (
                "finished edge",
                line(DRAWN.net, stroke::THIN, &stroke::NET_DASH),
            ),
        ];
        if view.has_splices() {
            let chip = line(DRAWN.splice, stroke::LINE, &stroke::SPLICE_DASH);
            lines.push(("splice: edge of the neighbour", chip));
        }
        if view.has_kept() {
            let paint = dashed(DRAWN.keep, stroke::LINE, &stroke::KEEP_DASH).over(DRAWN.card);
            lines.push(("kept as stock", Chip::Area(paint)));
        }
        if !view.layout.flaws().is_empty() {
            lines.push(("flaw", Chip::Crosses));
        }
        let paint = Paint::line(DRAWN.soft, 0.6).over(DRAWN.unused);
        lines.push(("not used", Chip::Area(paint)));
        entries.extend(
            lines
                .into_iter()
                .map(|(name, chip)| (name.to_owned(), chip)),
        );
        let (mut x, size) = (MARGIN, text::BODY);
        for (name, chip) in entries {
            let long = face::width(&name, size * CAPITALS_PER_SIZE);
            if x + CHIP.0 + 10.0 + long > WIDTH - MARGIN && x > MARGIN {
                x = MARGIN;
                self.height += CHIP.1 + 12.0;
            }
            self.chip(&chip, x, ground);
            let baseline = self.height + CHIP.1 / 2.0 + size * 0.36;
            self.note(&name, (x + CHIP.0 + 10.0, baseline), size, DRAWN.soft);
            x += CHIP.0 + 10.0 + long + 28.0;
        }
        self.height += CHIP.1 + size * LEADING;
        let notes = "The warp runs from left to right; the tick beside an arrow is the part's 0°.";
        self.height += size * 0.6;
        self.note(notes, (MARGIN, self.height), size, DRAWN.soft);
    }

    fn chip(&mut self, chip: &Chip, x: f64, ground: Paint) {
        let (y, (wide, high)) = (self.height, CHIP);
        let corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)];
        let corners = corners.map(|(x, y)| Point::new(x, y));
        let hatched = |picture: &mut Self, directions: &[Angle], spacing: f64, paint: Paint| {
            picture.lines(vec![corners.to_vec()], true, ground);
            // Here y runs down, so a line that rises has a negative slope.
            let area = [corners.to_vec()];
            for direction in directions {
                let level = -*direction;
                let lines = hatch::lines(&area, level, spacing);
                let lines = lines.iter().map(|line| line.to_vec());
                picture.lines(lines.collect(), false, paint);
            }
        };
        match chip {
            Chip::Area(paint) => self.lines(vec![corners.to_vec()], true, *paint),
            Chip::Hatch(directions) => {
                let paint = Paint::line(DRAWN.hatch, 1.4);
                hatched(self, directions, 8.0, paint);
            }
            Chip::Crosses => {
                let directions = [45.0, -45.0].map(Angle::degrees);
                hatched(self, &directions, 7.0, Paint::line(DRAWN.flaw, 1.0));
            }
            Chip::Line(paint) => {
                let middle = y + high / 2.0;
                self.line(Point::new(x, middle), Point::new(x + wide, middle), *paint);
            }
        }
    }
}
