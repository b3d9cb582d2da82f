//! The picture as PNG, through `tiny-skia`.

use tiny_skia::{
    Color, FillRule, Paint as Ink, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};

use super::font::outline;
use super::{Colour, Item, Paint, Picture, WIDTH};

/// Width of the white halo around letters.
const HALO: f32 = 3.0;

impl Picture {
    /// The picture as a PNG file, or `None` if it could not be painted.
    #[must_use]
    pub fn png(&self) -> Option<Vec<u8>> {
        let mut canvas = Pixmap::new(WIDTH as u32, self.height as u32)?;
        canvas.fill(Color::WHITE);
        for item in &self.items {
            match item {
                Item::Lines {
                    runs,
                    closed,
                    paint,
                } => {
                    if let Some(path) = lines(runs, *closed) {
                        draw(&mut canvas, &path, paint);
                    }
                }
                Item::Circle {
                    centre: (x, y),
                    radius,
                    paint,
                } => {
                    if let Some(path) = PathBuilder::from_circle(*x, *y, *radius) {
                        draw(&mut canvas, &path, paint);
                    }
                }
                Item::Text {
                    at: (x, y),
                    size,
                    text,
                    colour,
                    centred,
                } => {
                    let (path, length) = outline(text, *size);
                    let x = if *centred { x - length / 2.0 } else { *x };
                    if let Some(path) = path {
                        letters(&mut canvas, &path, (x, *y), *colour);
                    }
                }
            }
        }
        canvas.encode_png().ok()
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

fn draw(canvas: &mut Pixmap, path: &Path, paint: &Paint) {
    if let Some(area) = paint.area {
        canvas.fill_path(
            path,
            &ink(area),
            FillRule::EvenOdd,
            Transform::identity(),
            None,
        );
    }
    let stroke = Stroke {
        width: paint.width,
        dash: paint
            .dashed
            .then(|| StrokeDash::new(vec![10.0, 5.0], 0.0))
            .flatten(),
        ..Stroke::default()
    };
    canvas.stroke_path(path, &ink(paint.line), &stroke, Transform::identity(), None);
}

fn letters(canvas: &mut Pixmap, path: &Path, (x, y): (f32, f32), colour: Colour) {
    let there = Transform::from_translate(x, y);
    let halo = Stroke {
        width: HALO,
        ..Stroke::default()
    };
    canvas.stroke_path(path, &ink([255, 255, 255]), &halo, there, None);
    canvas.fill_path(path, &ink(colour), FillRule::Winding, there, None);
}

fn ink([r, g, b]: Colour) -> Ink<'static> {
    let mut ink = Ink::default();
    ink.set_color_rgba8(r, g, b, 255);
    ink
}
