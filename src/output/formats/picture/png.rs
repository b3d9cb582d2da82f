//! The picture as PNG, through `tiny-skia`.

use tiny_skia::{
    Color, FillRule, Mask, Paint as Ink, Path, PathBuilder, Pixmap, Rect, Stroke, StrokeDash,
    Transform,
};

use super::font::outline;
use super::indexed;
use super::{Colour, Item, Paint, Picture, WIDTH, Words};
use crate::output::style::ink;

/// Width of the halo around letters.
pub(super) const HALO: f32 = 4.5;

impl Picture {
    /// The picture as a PNG file, or `None` if it could not be painted.
    #[must_use]
    pub fn png(&self) -> Option<Vec<u8>> {
        let mut canvas = Canvas {
            pixels: Pixmap::new(WIDTH as u32, self.height as u32)?,
            within: None,
        };
        let [r, g, b] = ink::WHITE;
        canvas.pixels.fill(Color::from_rgba8(r, g, b, 255));
        for item in &self.items {
            match item {
                Item::Lines {
                    runs,
                    closed,
                    paint,
                } => {
                    if let Some(path) = lines(runs, *closed) {
                        canvas.draw(&path, paint);
                    }
                }
                Item::Circle {
                    centre: (x, y),
                    radius,
                    paint,
                } => {
                    if let Some(path) = PathBuilder::from_circle(*x, *y, *radius) {
                        canvas.draw(&path, paint);
                    }
                }
                Item::Text(words) => canvas.write(words),
                Item::Within(bounds) => canvas.within = canvas.mask(*bounds),
                Item::Everywhere => canvas.within = None,
            }
        }
        indexed::encode(&canvas.pixels)
    }
}

/// What is painted so far, and where painting shows.
struct Canvas {
    pixels: Pixmap,
    within: Option<Mask>,
}

impl Canvas {
    /// A mask that is open within left, top, right, bottom.
    fn mask(&self, [left, top, right, bottom]: [f32; 4]) -> Option<Mask> {
        let mut mask = Mask::new(self.pixels.width(), self.pixels.height())?;
        let path = PathBuilder::from_rect(Rect::from_ltrb(left, top, right, bottom)?);
        mask.fill_path(&path, FillRule::Winding, true, Transform::identity());
        Some(mask)
    }

    fn draw(&mut self, path: &Path, paint: &Paint) {
        let (there, mask) = (Transform::identity(), self.within.as_ref());
        if let Some(area) = paint.area {
            let rule = FillRule::EvenOdd;
            (self.pixels).fill_path(path, &paint_of(area), rule, there, mask);
        }
        if paint.width == 0.0 {
            return;
        }
        let stroke = Stroke {
            width: paint.width,
            dash: StrokeDash::new(paint.dash.to_vec(), 0.0),
            ..Stroke::default()
        };
        (self.pixels).stroke_path(path, &paint_of(paint.line), &stroke, there, mask);
    }

    fn write(&mut self, words: &Words) {
        let (path, length) = outline(&words.text, words.size);
        let Some(path) = path else { return };
        let (x, y) = words.at;
        let back = if words.centred { -length / 2.0 } else { 0.0 };
        let there = Transform::from_translate(back, 0.0)
            .post_rotate(-words.turn)
            .post_translate(x, y);
        let mask = self.within.as_ref();
        let halo = Stroke {
            width: HALO,
            ..Stroke::default()
        };
        (self.pixels).stroke_path(&path, &paint_of(words.halo), &halo, there, mask);
        let rule = FillRule::Winding;
        (self.pixels).fill_path(&path, &paint_of(words.colour), rule, there, mask);
    }
}

fn lines(runs: &[Vec<(f32, f32)>], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for run in runs {
        for (i, &(x, y)) in run.iter().enumerate() {
            if i == 0 {
                builder.move_to(x, y);
            } else {
                builder.line_to(x, y);
            }
        }
        if closed {
            builder.close();
        }
    }
    builder.finish()
}

fn paint_of([r, g, b]: Colour) -> Ink<'static> {
    let mut ink = Ink::default();
    ink.set_color_rgba8(r, g, b, 255);
    ink
}
