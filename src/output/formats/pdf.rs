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

use crate::geometry::{Point, Vector, trig};
use crate::output::drawing::face::{self, FONT};
pub(in crate::output) use crate::output::drawing::shape::Align;
use crate::output::number::rounded;
use crate::output::style::{CAPITALS_PER_SIZE, Colour, GENERATOR, ink};
use crate::units::Angle;

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

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(in crate::output) struct Pen {
    pub(in crate::output) colour: Colour,
    /// Width in mm.
    pub(in crate::output) width: f64,
    /// Dashes and spaces in mm; none for a solid line.
    pub(in crate::output) dash: Option<(f64, f64)>,
}

impl Pen {
    pub(in crate::output) const fn solid(colour: Colour, width: f64) -> Self {
        Self {
            colour,
            width,
            dash: None,
        }
    }

    pub(in crate::output) const fn dashed(colour: Colour, width: f64, dash: (f64, f64)) -> Self {
        Self {
            colour,
            width,
            dash: Some(dash),
        }
    }
}

/// A document in the making.
pub(in crate::output) struct Document {
    title: String,
    pages: Vec<(f64, f64, Vec<u8>)>,
    font: Font,
}

/// A page in the making: millimetres, origin in the lower left corner, y up.
pub(in crate::output) struct Page<'f> {
    width: f64,
    height: f64,
    content: Content,
    font: &'f mut Font,
}

/// Which glyphs of the face stand for which characters.
#[derive(Default)]
struct Font {
    used: BTreeMap<u16, char>,
}

impl Document {
    pub(in crate::output) fn new(title: &str) -> Self {
        Self {
            title: title.to_owned(),
            pages: Vec::new(),
            font: Font::default(),
        }
    }

    /// Width in mm of `text` whose capitals are `height` mm high.
    pub(in crate::output) fn text_width(&self, text: &str, height: f64) -> f64 {
        face::width(text, height)
    }

    /// Adds a page of `width` × `height` mm that `draw` fills.
    pub(in crate::output) fn page(
        &mut self,
        width: f64,
        height: f64,
        draw: impl FnOnce(&mut Page<'_>),
    ) {
        let mut page = Page {
            width,
            height,
            content: Content::new(),
            font: &mut self.font,
        };
        let scale = POINTS_PER_MM;
        page.content.transform([scale, 0.0, 0.0, scale, 0.0, 0.0]);
        page.content.set_line_cap(LineCapStyle::ButtCap);
        page.content.set_line_join(LineJoinStyle::RoundJoin);
        draw(&mut page);
        let content = page.content.finish();
        self.pages.push((width, height, content.to_vec()));
    }

    /// The whole file.
    pub(in crate::output) fn finish(self) -> Vec<u8> {
        let mut next = 0;
        let mut id = || {
            next += 1;
            Ref::new(next)
        };
        let (catalog, tree, info, font) = (id(), id(), id(), id());
        let ids: Vec<(Ref, Ref)> = self.pages.iter().map(|_| (id(), id())).collect();
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
            .title(TextStr(&self.title))
            .producer(TextStr(GENERATOR));
        pdf.pages(tree)
            .kids(ids.iter().map(|(page, _)| *page))
            .count(ids.len() as i32);
        for ((width, height, content), (page, stream)) in self.pages.iter().zip(&ids) {
            let points = |mm: f64| mm as f32 * POINTS_PER_MM;
            let mut written = pdf.page(*page);
            written
                .parent(tree)
                .media_box(Rect::new(0.0, 0.0, points(*width), points(*height)))
                .contents(*stream);
            written.resources().fonts().pair(Name(b"F"), font);
            written.finish();
            let packed = compress_to_vec_zlib(content, LEVEL);
            pdf.stream(*stream, &packed).filter(Filter::FlateDecode);
        }
        self.font.write(&mut pdf, font, parts);
        pdf.finish()
    }
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

impl Page<'_> {
    pub(in crate::output) fn width(&self) -> f64 {
        self.width
    }

    pub(in crate::output) fn height(&self) -> f64 {
        self.height
    }

    /// Draws a line through `points`.
    pub(in crate::output) fn line(&mut self, points: &[Point], closed: bool, pen: Pen) {
        self.pen(pen);
        self.trace(points, closed);
        self.content.stroke();
    }

    fn trace_all<'r>(&mut self, rings: impl IntoIterator<Item = &'r [Point]>) {
        for ring in rings {
            self.trace(ring, true);
        }
    }

    /// Draws the closed lines of `rings` as one path.
    pub(in crate::output) fn rings<'r>(
        &mut self,
        rings: impl IntoIterator<Item = &'r [Point]>,
        pen: Pen,
    ) {
        self.pen(pen);
        self.trace_all(rings);
        self.content.stroke();
    }

    /// Fills the area within `rings`, by the even-odd rule.
    pub(in crate::output) fn fill<'r>(
        &mut self,
        rings: impl IntoIterator<Item = &'r [Point]>,
        colour: Colour,
    ) {
        self.ink(colour);
        self.trace_all(rings);
        self.content.fill_even_odd();
    }

    /// Fills the areas within each of `rings`, which may touch.
    pub(in crate::output) fn fill_all<'r>(
        &mut self,
        rings: impl IntoIterator<Item = &'r [Point]>,
        colour: Colour,
    ) {
        self.ink(colour);
        self.trace_all(rings);
        self.content.fill_nonzero();
    }

    /// Draws a circle.
    pub(in crate::output) fn circle(&mut self, centre: Point, radius: f64, pen: Pen) {
        self.pen(pen);
        self.trace_circle(centre, radius);
        self.content.close_and_stroke();
    }

    fn trace_circle(&mut self, centre: Point, radius: f64) {
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
    }

    /// Draws a full circle.
    pub(in crate::output) fn dot(&mut self, centre: Point, radius: f64, colour: Colour) {
        self.ink(colour);
        self.trace_circle(centre, radius);
        self.content.close_path().fill_nonzero();
    }

    /// Draws what `draw` draws, but only within the box between two corners.
    pub(in crate::output) fn within(
        &mut self,
        [low, high]: [Point; 2],
        draw: impl FnOnce(&mut Self),
    ) {
        self.content.save_state();
        self.content.rect(
            coordinate(low.x),
            coordinate(low.y),
            coordinate(high.x - low.x),
            coordinate(high.y - low.y),
        );
        self.content.clip_nonzero().end_path();
        draw(self);
        self.content.restore_state();
    }

    /// Writes `text` with capitals of `height` mm from its point on the baseline.
    pub(in crate::output) fn text(
        &mut self,
        text: &str,
        at: Point,
        height: f64,
        align: Align,
        colour: Colour,
    ) {
        self.turned_text(text, at, height, align, Angle::ZERO, colour);
    }

    /// The same along `angle`.
    pub(in crate::output) fn turned_text(
        &mut self,
        text: &str,
        at: Point,
        height: f64,
        align: Align,
        angle: Angle,
        colour: Colour,
    ) {
        self.ink(colour);
        self.show(text, at, height, align, angle);
    }

    /// The same in strong letters: the one face there is, with a pen around it.
    pub(in crate::output) fn strong_text(
        &mut self,
        text: &str,
        at: Point,
        height: f64,
        align: Align,
        angle: Angle,
        colour: Colour,
    ) {
        /// Width of the pen, in sizes of the font.
        const STRONG: f64 = 0.035;
        self.content.save_state();
        self.pen(Pen::solid(colour, STRONG * height / CAPITALS_PER_SIZE));
        self.ink(colour);
        self.content
            .set_text_rendering_mode(TextRenderingMode::FillStroke);
        self.show(text, at, height, align, angle);
        self.content.restore_state();
    }

    /// A white ground for a text that will be written over a drawing, so much (mm) larger all round.
    pub(in crate::output) fn ground(
        &mut self,
        text: &str,
        at: Point,
        height: f64,
        align: Align,
        angle: Angle,
        around: f64,
    ) {
        let width = self.text_width(text, height);
        let left = -align.back(width) - around;
        let (right, low, high) = (left + width + 2.0 * around, -around, height + around);
        let (sin, cos) = trig::sin_cos(angle);
        let corners = [(left, low), (right, low), (right, high), (left, high)]
            .map(|(x, y)| at + Vector::new(x * cos - y * sin, x * sin + y * cos));
        self.fill([corners.as_slice()], ink::WHITE);
    }

    fn show(&mut self, text: &str, at: Point, height: f64, align: Align, angle: Angle) {
        let back = align.back(self.text_width(text, height));
        let (sin, cos) = trig::sin_cos(angle);
        let (x, y) = (at.x - back * cos, at.y - back * sin);
        let encoded = self.font.encode(text);
        let matrix = [cos, sin, -sin, cos, x, y].map(|v| rounded(v, 5) as f32);
        self.content
            .begin_text()
            .set_font(Name(b"F"), coordinate(height / CAPITALS_PER_SIZE))
            .set_text_matrix(matrix)
            .show(Str(&encoded))
            .end_text();
    }

    /// Width in mm of `text` whose capitals are `height` mm high.
    pub(in crate::output) fn text_width(&self, text: &str, height: f64) -> f64 {
        face::width(text, height)
    }

    /// `text`, cut short with … if it is wider than `most` mm.
    pub(in crate::output) fn fitted(&self, text: &str, height: f64, most: f64) -> String {
        face::fitted(text, height, most)
    }

    fn pen(&mut self, pen: Pen) {
        let [r, g, b] = pen.colour.map(|v| rounded(f64::from(v) / 255.0, 3) as f32);
        self.content.set_stroke_rgb(r, g, b);
        self.content.set_line_width(coordinate(pen.width));
        let dashes = pen
            .dash
            .map(|(dash, space)| [coordinate(dash), coordinate(space)]);
        self.content
            .set_dash_pattern(dashes.into_iter().flatten(), 0.0);
    }

    fn ink(&mut self, colour: Colour) {
        let [r, g, b] = colour.map(|v| rounded(f64::from(v) / 255.0, 3) as f32);
        self.content.set_fill_rgb(r, g, b);
    }

    fn trace(&mut self, points: &[Point], closed: bool) {
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
}

fn coordinate(mm: f64) -> f32 {
    rounded(mm, DECIMALS) as f32
}
