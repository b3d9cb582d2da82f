//! The picture as PNG, through `tiny-skia`.

use tiny_skia::{
    Color, FillRule, Mask, Paint as Ink, Path, PathBuilder, Pixmap, Rect, Stroke, StrokeDash,
    Transform,
};

use super::indexed;
use super::photo::PhotoGround;
use super::{Picture, WIDTH};
use crate::geometry::{Bounds, Point};
use crate::output::drawing::shape::{Shape, TextLine};
use crate::output::formats::font::outline;
use crate::output::style::{CAPITALS_PER_SIZE, Colour, Paint, Pen, ink};

impl Picture {
    /// The picture as a PNG file, or `None` if it could not be painted.
    #[must_use]
    pub fn png(&self) -> Option<Vec<u8>> {
        let mut canvas = Canvas {
            pixels: Pixmap::new(WIDTH as u32, self.height as u32)?,
            within: None,
            broad: 0.0,
        };
        let [r, g, b] = ink::WHITE;
        canvas.pixels.fill(Color::from_rgba8(r, g, b, 255));
        if let Some(ground) = &self.ground {
            canvas.lay(ground);
        }
        for items in self.drawing.items.chunk_by(|a, b| a.within == b.within) {
            canvas.within = items[0].within.and_then(|window| canvas.mask(&window));
            for item in items {
                canvas.paint(&item.shape, &item.layer);
            }
        }
        match self.ground {
            // 256 colours are too few for a photograph.
            Some(_) => coloured(&canvas.pixels),
            None => indexed::encode(&canvas.pixels),
        }
    }
}

/// `pixels` as the bytes of a PNG file in full colour.
fn coloured(pixels: &Pixmap) -> Option<Vec<u8>> {
    let colours: Vec<u8> = (pixels.pixels().iter())
        .flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()])
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // By it the program knows a picture of its own before it replaces one.
    encoder
        .add_text_chunk("Software".to_owned(), "warpwise".to_owned())
        .ok()?;
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(&colours).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}

/// What is painted so far, and where painting shows.
struct Canvas {
    pixels: Pixmap,
    within: Option<Mask>,
    /// Length so far of lines broader than a pixel, pixels.
    broad: f64,
}

/// Pixels of lines broader than one that a picture may have; what comes after is one pixel broad, which
/// is painted twenty times as fast. Larger: a small file of long scribbles takes seconds; smaller: the
/// last pieces of a long roll have thin lines.
const MOST_BROAD: f64 = 1_500_000.0;

impl Canvas {
    /// Lays a photograph under everything.
    fn lay(&mut self, ground: &PhotoGround) {
        let width = self.pixels.width() as usize;
        let [left, top] = ground.corner;
        let rows = ground.pixels.chunks_exact(3 * ground.size[0]);
        for (y, row) in rows.enumerate() {
            for (x, colour) in row.chunks_exact(3).enumerate() {
                let at = 4 * ((top + y) * width + left + x);
                if let Some(pixel) = self.pixels.data_mut().get_mut(at..at + 3) {
                    pixel.copy_from_slice(colour);
                }
            }
        }
    }

    /// A mask that is open within `window`.
    fn mask(&self, window: &Bounds) -> Option<Mask> {
        let mut mask = Mask::new(self.pixels.width(), self.pixels.height())?;
        let Bounds { min, max } = window.to_owned();
        let (left, top, right, bottom) = (min.x as f32, min.y as f32, max.x as f32, max.y as f32);
        let path = PathBuilder::from_rect(Rect::from_ltrb(left, top, right, bottom)?);
        mask.fill_path(&path, FillRule::Winding, true, Transform::identity());
        Some(mask)
    }

    fn paint(&mut self, shape: &Shape, paint: &Paint) {
        let path = match shape {
            Shape::Text(line) => {
                self.write(line, paint);
                None
            }
            Shape::Dot { centre, radius } => {
                PathBuilder::from_circle(centre.x as f32, centre.y as f32, *radius as f32)
            }
            other => path(&other.pen_lines()),
        };
        if let Some(path) = path {
            self.draw(&path, paint);
        }
    }

    fn draw(&mut self, path: &Path, paint: &Paint) {
        let (there, mask) = (Transform::identity(), self.within.as_ref());
        if let Some(area) = paint.area {
            let rule = FillRule::EvenOdd;
            (self.pixels).fill_path(path, &paint_of(area), rule, there, mask);
        }
        if let Some(mut pen) = paint.line {
            if pen.width > 1.0 {
                self.broad += length(path);
                if self.broad > MOST_BROAD {
                    pen.width = 1.0;
                }
            }
            let colour = paint_of(pen.colour);
            (self.pixels).stroke_path(path, &colour, &stroke(&pen), there, mask);
        }
    }

    /// Letters over their halo.
    fn write(&mut self, line: &TextLine, paint: &Paint) {
        let (path, length) = outline(&line.text, (line.height / CAPITALS_PER_SIZE) as f32);
        let Some(path) = path else { return };
        let at = line.baseline();
        let back = line.align.back(f64::from(length));
        let there = Transform::from_translate(-back as f32, 0.0)
            .post_rotate(-line.angle.to_degrees() as f32)
            .post_translate(at.x as f32, at.y as f32);
        let mask = self.within.as_ref();
        if let Some(halo) = &paint.line {
            let colour = paint_of(halo.colour);
            (self.pixels).stroke_path(&path, &colour, &stroke(halo), there, mask);
        }
        if let Some(colour) = paint.area {
            let rule = FillRule::Winding;
            (self.pixels).fill_path(&path, &paint_of(colour), rule, there, mask);
        }
    }
}

/// Lines, each with whether it is closed, as one path.
fn path(lines: &[(Vec<Point>, bool)]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (points, closed) in lines {
        for (i, point) in points.iter().enumerate() {
            let (x, y) = (point.x as f32, point.y as f32);
            if i == 0 {
                builder.move_to(x, y);
            } else {
                builder.line_to(x, y);
            }
        }
        if *closed {
            builder.close();
        }
    }
    builder.finish()
}

fn stroke(pen: &Pen) -> Stroke {
    Stroke {
        width: pen.width as f32,
        dash: StrokeDash::new(pen.dashes().map(|length| length as f32).collect(), 0.0),
        ..Stroke::default()
    }
}

/// About how long the lines of `path` are.
fn length(path: &Path) -> f64 {
    let ends = path.points().windows(2);
    ends.map(|ends| f64::from(ends[0].distance(ends[1]))).sum()
}

fn paint_of([r, g, b]: Colour) -> Ink<'static> {
    let mut ink = Ink::default();
    ink.set_color_rgba8(r, g, b, 255);
    ink
}
