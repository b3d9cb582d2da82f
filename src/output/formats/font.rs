//! Letters as outlines, from a font that is part of the program (see `drawing/face`).

use tiny_skia::{Path, PathBuilder, Transform};
use ttf_parser::OutlineBuilder;

use crate::output::drawing::face::{face, glyph, shown};

/// The outline of `text` with its baseline from the origin, and its length, in pixels at `size`.
pub(super) fn outline(text: &str, size: f32) -> (Option<Path>, f32) {
    let scale = size / f32::from(face().units_per_em());
    let mut pen = GlyphPen {
        builder: PathBuilder::new(),
        along: 0.0,
    };
    for c in text.chars() {
        let (glyph, advance) = glyph(shown(c));
        face().outline_glyph(glyph, &mut pen);
        pen.along += f32::from(advance);
    }
    let length = pen.along * scale;
    let path = pen.builder.finish();
    // Fonts count upwards.
    let path = path.and_then(|p| p.transform(Transform::from_scale(scale, -scale)));
    (path, length)
}

/// Takes a glyph's outline, shifted along the line.
struct GlyphPen {
    builder: PathBuilder,
    along: f32,
}

impl OutlineBuilder for GlyphPen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.builder.move_to(x + self.along, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.builder.line_to(x + self.along, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.builder.quad_to(x1 + self.along, y1, x + self.along, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.builder
            .cubic_to(x1 + self.along, y1, x2 + self.along, y2, x + self.along, y);
    }

    fn close(&mut self) {
        self.builder.close();
    }
}
