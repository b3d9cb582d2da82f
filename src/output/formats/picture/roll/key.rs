//! The key below a roll: what its fills, hatches and lines mean.

use super::{KEEP_DASH, LEADING, MARGIN, NET_DASH, SPLICE_DASH, Sketch, width};
use crate::geometry::Point;
use crate::output::drawing::roll_view::RollView;
use crate::output::formats::picture::font::outline;
use crate::output::formats::picture::{Paint, SOLID, WIDTH};
use crate::output::number::number;
use crate::output::style::{DRAWN, hatch, stroke, text};
use crate::units::Angle;

/// Size of a chip, pixels.
const CHIP: (f32, f32) = (44.0, 24.0);

/// A sample in the key.
enum Chip {
    Area(Paint),
    Hatch(Vec<Angle>),
    Crosses,
    Line(Paint),
}

impl Sketch {
    /// What fills, hatches and lines mean.
    pub(super) fn key(&mut self, view: &RollView<'_>) {
        let ground = Paint {
            area: Some(DRAWN.card),
            ..Paint::line(DRAWN.soft, 1.0)
        };
        let mut entries: Vec<(String, Chip)> = Vec::new();
        for part in view.parts() {
            let paint = Paint {
                area: Some(DRAWN.tints[view.tint(part)]),
                ..Paint::line(DRAWN.cut, width(stroke::LINE))
            };
            entries.push((part.to_owned(), Chip::Area(paint)));
        }
        for angle in view.angles() {
            let degrees = number(angle.to_degrees(), 1);
            let name = format!("{}°", degrees.replace('-', "−"));
            entries.push((
                name,
                Chip::Hatch(
                    view.hatch(angle)
                        .iter()
                        .map(|axis| axis.from_zero())
                        .collect(),
                ),
            ));
        }
        let line = |colour, mm, dash| Chip::Line(Paint::dashed(colour, width(mm), dash));
        let mut lines = vec![
            ("cut line", line(DRAWN.cut, stroke::LINE, SOLID)),
            ("net line", line(DRAWN.net, stroke::THIN, NET_DASH)),
        ];
        if view.has_splices() {
            let chip = line(DRAWN.splice, stroke::LINE, SPLICE_DASH);
            lines.push(("splice: edge of the neighbour", chip));
        }
        if view.has_kept() {
            let paint = Paint {
                area: Some(DRAWN.card),
                ..Paint::dashed(DRAWN.keep, width(stroke::LINE), KEEP_DASH)
            };
            lines.push(("kept as stock", Chip::Area(paint)));
        }
        if !view.layout.flaws().is_empty() {
            lines.push(("flaw", Chip::Crosses));
        }
        let paint = Paint {
            area: Some(DRAWN.unused),
            ..Paint::line(DRAWN.soft, 0.6)
        };
        lines.push(("not used", Chip::Area(paint)));
        entries.extend(
            lines
                .into_iter()
                .map(|(name, chip)| (name.to_owned(), chip)),
        );
        let (mut x, size) = (MARGIN, text::BODY);
        for (name, chip) in entries {
            let (_, long) = outline(&name, size);
            if x + CHIP.0 + 10.0 + long > WIDTH - MARGIN && x > MARGIN {
                x = MARGIN;
                self.below += CHIP.1 + 12.0;
            }
            self.chip(&chip, x, ground);
            let baseline = self.below + CHIP.1 / 2.0 + size * 0.36;
            self.write(&name, (x + CHIP.0 + 10.0, baseline), size, DRAWN.soft);
            x += CHIP.0 + 10.0 + long + 28.0;
        }
        self.below += CHIP.1 + size * LEADING;
        let notes = "Hatches run as the fibres run on the part, its 0° to the right. On the roll the \
                     warp runs from left to right; the tick beside an arrow is the part's 0°.";
        self.below += size * 0.6;
        self.write(notes, (MARGIN, self.below), size, DRAWN.soft);
    }

    fn chip(&mut self, chip: &Chip, x: f32, ground: Paint) {
        let (y, (wide, high)) = (self.below, CHIP);
        let corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)];
        let hatched = |sketch: &mut Self, directions: &[Angle], spacing: f64, paint: Paint| {
            sketch.lines(vec![corners.to_vec()], true, ground);
            // Here y runs down, so a line that rises has a negative slope.
            let points = corners.map(|(x, y)| Point::new(f64::from(x), f64::from(y)));
            let area = [points.to_vec()];
            for direction in directions {
                let level = -*direction;
                let lines = hatch::lines(&area, level, spacing);
                let pixel = |p: &Point| (p.x as f32, p.y as f32);
                let runs = lines.iter().map(|l| l.iter().map(pixel).collect());
                sketch.lines(runs.collect(), false, paint);
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
                self.line((x, middle), (x + wide, middle), *paint);
            }
        }
    }
}
