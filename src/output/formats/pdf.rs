//! A small PDF writer for true-scale pages: millimetres, vector lines, one embedded font.
//!
//! The font is the program's own (`drawing/face`), embedded whole as a TrueType CID font with a
//! map back to Unicode, so that texts can be searched and copied. No date and no id is written, so
//! the same pages are the same bytes. ISO 32000-1 §7.7, §8, §9.7.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{
    CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo, TextRenderingMode, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Rect, Ref, Str, TextStr};
use ttf_parser::GlyphId;

use crate::geometry::{Bounds, Point, trig};
use crate::number::rounded;
use crate::output::drawing::face::{self, FONT};
use crate::output::drawing::page::Page;
use crate::output::drawing::shape::{Drawn, Shape, TextLine};
use crate::output::style::{CAPITALS_PER_SIZE, Colour, GENERATOR, Paint, Pen};

/// Points in a millimetre.
const POINTS_PER_MM: f32 = 72.0 / 25.4;
/// Decimals of a written coordinate, mm.
const DECIMALS: i32 = 3;
/// Compression: smaller files are slower to write, and beyond this hardly smaller.
const LEVEL: u8 = 6;
const FONT_NAME: Name<'static> = Name(b"DejaVuSans");
const SYSTEM: SystemInfo<'static> = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// Which glyphs of the face stand for which characters.
#[derive(Default)]
struct Font {
    used: BTreeMap<u16, char>,
}

/// `pages` as a file called `title`.
pub(in crate::output) fn document(title: &str, pages: &[Page]) -> Vec<u8> {
    let mut font = Font::default();
    let contents: Vec<Vec<u8>> = pages.iter().map(|page| content(page, &mut font)).collect();
    let mut next = 0;
    let mut id = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, info, face) = (id(), id(), id(), id());
    let ids: Vec<(Ref, Ref)> = pages.iter().map(|_| (id(), id())).collect();
    let parts = [id(), id(), id(), id()];
    let mut pdf = Pdf::new();
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    // Printed at true size unless the person says otherwise.
    root.viewer_preferences()
        .display_doc_title(true)
        .pair(Name(b"PrintScaling"), Name(b"None"))
        .pair(Name(b"Duplex"), Name(b"Simplex"));
    root.finish();
    pdf.document_info(info)
        .title(TextStr(title))
        .producer(TextStr(GENERATOR));
    pdf.pages(tree)
        .kids(ids.iter().map(|(page, _)| *page))
        .count(ids.len() as i32);
    for ((page, content), (id, stream)) in pages.iter().zip(&contents).zip(&ids) {
        let points = |mm: f64| mm as f32 * POINTS_PER_MM;
        let mut written = pdf.page(*id);
        written
            .parent(tree)
            .media_box(Rect::new(
                0.0,
                0.0,
                points(page.width()),
                points(page.height()),
            ))
            .contents(*stream);
        written.resources().fonts().pair(Name(b"F"), face);
        written.finish();
        let packed = compress_to_vec_zlib(content, LEVEL);
        pdf.stream(*stream, &packed).filter(Filter::FlateDecode);
    }
    font.write(&mut pdf, face, parts);
    pdf.finish()
}

impl Font {
    /// `text` as glyph numbers, two bytes each.
    fn encode(&mut self, text: &str) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(text.len() * 2);
        for c in text.chars().map(face::shown) {
            let glyph = face::glyph(c).0.0;
            self.used.entry(glyph).or_insert(c);
            bytes.extend(glyph.to_be_bytes());
        }
        bytes
    }

    fn write(&self, pdf: &mut Pdf, font: Ref, [cid, descriptor, file, unicode]: [Ref; 4]) {
        let face = face::face();
        let per_mille = 1000.0 / f32::from(face.units_per_em());
        let scaled = |units: i16| f32::from(units) * per_mille;
        pdf.type0_font(font)
            .base_font(FONT_NAME)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(unicode);
        let mut written = pdf.cid_font(cid);
        written
            .subtype(CidFontType::Type2)
            .base_font(FONT_NAME)
            .system_info(SYSTEM)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = written.widths();
        for &glyph in self.used.keys() {
            let advance = face.glyph_hor_advance(GlyphId(glyph)).unwrap_or(0);
            widths.same(glyph, glyph, f32::from(advance) * per_mille);
        }
        widths.finish();
        written.finish();
        let bounds = face.global_bounding_box();
        pdf.font_descriptor(descriptor)
            .name(FONT_NAME)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(
                scaled(bounds.x_min),
                scaled(bounds.y_min),
                scaled(bounds.x_max),
                scaled(bounds.y_max),
            ))
            .italic_angle(0.0)
            .ascent(scaled(face.ascender()))
            .descent(scaled(face.descender()))
            .cap_height(1000.0 * CAPITALS_PER_SIZE as f32)
            .stem_v(90.0)
            .font_file2(file);
        pdf.stream(file, packed_font())
            .filter(Filter::FlateDecode)
            .pair(Name(b"Length1"), FONT.len() as i32);
        let mut map = UnicodeCmap::new(Name(b"Custom"), SYSTEM);
        for (&glyph, &c) in &self.used {
            map.pair(glyph, c);
        }
        pdf.cmap(unicode, &map.finish());
    }
}

/// The font as it stands in every document, packed once.
fn packed_font() -> &'static [u8] {
    static PACKED: OnceLock<Vec<u8>> = OnceLock::new();
    PACKED.get_or_init(|| compress_to_vec_zlib(FONT, LEVEL))
}

/// The content stream of `page`.
fn content(page: &Page, font: &mut Font) -> Vec<u8> {
    let mut content = Content::new();
    let scale = POINTS_PER_MM;
    content.transform([scale, 0.0, 0.0, scale, 0.0, 0.0]);
    content.set_line_cap(LineCapStyle::ButtCap);
    content.set_line_join(LineJoinStyle::RoundJoin);
    let mut painter = Painter {
        content,
        font,
        pen: None,
        ink: None,
    };
    let items = &page.drawing().items;
    for alike in items.chunk_by(|a, b| a.within == b.within) {
        painter.paint_within(alike[0].within, alike);
    }
    painter.content.finish().to_vec()
}

/// A content stream in the making.
struct Painter<'f> {
    content: Content,
    font: &'f mut Font,
    /// Pen and ink that are set already: said once, a page of many lines is shorter.
    pen: Option<Pen>,
    ink: Option<Colour>,
}

impl Painter<'_> {
    /// Paints `items`, of which only what lies within `bounds` is shown.
    fn paint_within(&mut self, bounds: Option<Bounds>, items: &[Drawn<Paint>]) {
        if let Some(bounds) = bounds {
            self.content.save_state();
            self.content.rect(
                coordinate(bounds.min.x),
                coordinate(bounds.min.y),
                coordinate(bounds.width()),
                coordinate(bounds.height()),
            );
            self.content.clip_nonzero().end_path();
        }
        for item in items {
            self.paint(&item.shape, item.layer);
        }
        if bounds.is_some() {
            self.restore();
        }
    }

    /// Goes back to the state that was saved; what was set since is forgotten.
    fn restore(&mut self) {
        self.content.restore_state();
        (self.pen, self.ink) = (None, None);
    }

    fn paint(&mut self, shape: &Shape, paint: Paint) {
        if let Shape::Text(line) = shape {
            return self.text(line, paint);
        }
        if let Some(colour) = paint.area {
            self.ink(colour);
            self.trace(shape);
            self.content.fill_even_odd();
        }
        if let Some(pen) = paint.line {
            self.pen(pen);
            self.trace(shape);
            self.content.stroke();
        }
    }

    fn trace(&mut self, shape: &Shape) {
        match shape {
            Shape::Area { rings, .. } => rings.iter().for_each(|ring| self.line(ring, true)),
            Shape::Rectangle(bounds) => self.line(&bounds.corners(), true),
            Shape::Line { points, closed } => self.line(points, *closed),
            Shape::Lines(lines) => lines.iter().for_each(|line| self.line(line, false)),
            Shape::Dot { centre, radius } => self.circle(*centre, *radius),
            Shape::Edge(ends) => self.line(ends, false),
            Shape::Pointer(pointer) => {
                self.line(&pointer.shaft, false);
                pointer.head.iter().for_each(|head| self.line(head, true));
            }
            Shape::Text(_) => {}
        }
    }

    fn line(&mut self, points: &[Point], closed: bool) {
        for (i, point) in points.iter().enumerate() {
            let (x, y) = (coordinate(point.x), coordinate(point.y));
            if i == 0 {
                self.content.move_to(x, y);
            } else {
                self.content.line_to(x, y);
            }
        }
        if closed {
            self.content.close_path();
        }
    }

    fn circle(&mut self, centre: Point, radius: f64) {
        /// Handle of a quarter circle as a cubic, in radii (well known).
        const HANDLE: f64 = 0.552_284_749_8;
        let at = |x: f64, y: f64| {
            (
                coordinate(centre.x + x * radius),
                coordinate(centre.y + y * radius),
            )
        };
        let (x, y) = at(1.0, 0.0);
        self.content.move_to(x, y);
        for [a, b, c] in [
            [(1.0, HANDLE), (HANDLE, 1.0), (0.0, 1.0)],
            [(-HANDLE, 1.0), (-1.0, HANDLE), (-1.0, 0.0)],
            [(-1.0, -HANDLE), (-HANDLE, -1.0), (0.0, -1.0)],
            [(HANDLE, -1.0), (1.0, -HANDLE), (1.0, 0.0)],
        ] {
            let ((x1, y1), (x2, y2), (x3, y3)) = (at(a.0, a.1), at(b.0, b.1), at(c.0, c.1));
            self.content.cubic_to(x1, y1, x2, y2, x3, y3);
        }
        self.content.close_path();
    }

    fn text(&mut self, line: &TextLine, paint: Paint) {
        let Some(colour) = paint.area.or(paint.line.map(|pen| pen.colour)) else {
            return;
        };
        let around = paint.line.filter(|_| paint.area.is_some());
        if let Some(pen) = around {
            self.content.save_state();
            self.pen(pen);
        }
        self.ink(colour);
        if around.is_some() {
            self.content
                .set_text_rendering_mode(TextRenderingMode::FillStroke);
        }
        self.show(line);
        if around.is_some() {
            self.restore();
        }
    }

    fn show(&mut self, line: &TextLine) {
        let back = line.align.back(face::width(&line.text, line.height));
        let (sin, cos) = trig::sin_cos(line.angle);
        let at = line.baseline();
        let (x, y) = (at.x - back * cos, at.y - back * sin);
        let encoded = self.font.encode(&line.text);
        let [a, b, c, d] = [cos, sin, -sin, cos].map(|v| rounded(v, 5) as f32);
        let matrix = [a, b, c, d, coordinate(x), coordinate(y)];
        self.content
            .begin_text()
            .set_font(Name(b"F"), coordinate(line.height / CAPITALS_PER_SIZE))
            .set_text_matrix(matrix)
            .show(Str(&encoded))
            .end_text();
    }

    fn pen(&mut self, pen: Pen) {
        if self.pen.replace(pen) == Some(pen) {
            return;
        }
        let [r, g, b] = pen.colour.map(|v| rounded(f64::from(v) / 255.0, 3) as f32);
        self.content.set_stroke_rgb(r, g, b);
        self.content.set_line_width(coordinate(pen.width));
        self.content
            .set_dash_pattern(pen.dashes().map(coordinate), 0.0);
    }

    fn ink(&mut self, colour: Colour) {
        if self.ink.replace(colour) == Some(colour) {
            return;
        }
        let [r, g, b] = colour.map(|v| rounded(f64::from(v) / 255.0, 3) as f32);
        self.content.set_fill_rgb(r, g, b);
    }
}

fn coordinate(mm: f64) -> f32 {
    rounded(mm, DECIMALS) as f32
}
