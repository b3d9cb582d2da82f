//! The frame of an R2000 file: header, tables, blocks and objects around a flat list of entities.
//!
//! Follows the Autodesk DXF reference (R2000, AC1015). Everything has a handle and an owner;
//! handles are given in the order of writing, so the same drawing is the same bytes.

use std::fmt::{Display, Write as _};

use encoding_rs::WINDOWS_1252;

use super::decimals;
use super::drawing::{APPLICATION, DxfBlock, Groups, ModelSpace};
use crate::geometry::Point;
use crate::number::{COORDINATE, number};
use crate::output::drawing::arcs::Vertex;
use crate::output::style::DASH;
use crate::units::LengthUnit;

/// Decimals of a bulge: at a radius of 20 m less than 0.1 µm.
const BULGE: i32 = 9;

/// Handles of everything that others refer to.
mod handle {
    pub(super) const VPORT: u32 = 0x1;
    pub(super) const LTYPE: u32 = 0x2;
    pub(super) const LAYER: u32 = 0x3;
    pub(super) const STYLE: u32 = 0x4;
    pub(super) const VIEW: u32 = 0x5;
    pub(super) const UCS: u32 = 0x6;
    pub(super) const APPID: u32 = 0x7;
    pub(super) const DIMSTYLE: u32 = 0x8;
    pub(super) const BLOCK_RECORD: u32 = 0x9;
    pub(super) const ROOT: u32 = 0xA;
    pub(super) const GROUPS: u32 = 0xB;
    pub(super) const PLOT_STYLES: u32 = 0xC;
    pub(super) const PLOT_STYLE: u32 = 0xD;
    pub(super) const MODEL_SPACE: u32 = 0xE;
    pub(super) const PAPER_SPACE: u32 = 0xF;
    /// The first one given out on the way.
    pub(super) const FIRST_FREE: u32 = 0x10;
}

/// The whole file.
pub(super) fn write(drawing: &ModelSpace) -> Vec<u8> {
    let decimals = decimals(drawing);
    // Owners are named before they are written, so blocks get their handles first.
    let blocks: Vec<(&DxfBlock, u32)> = (handle::FIRST_FREE..)
        .zip(&drawing.blocks)
        .map(|(handle, block)| (block, handle))
        .collect();
    let first_free = handle::FIRST_FREE + blocks.len() as u32;
    let mut entities = GroupCodes::after(first_free, decimals);
    for entity in &drawing.entities {
        entities.entity(drawing, entity);
    }
    let mut tables = GroupCodes::after(entities.next_handle, decimals);
    tables.tables(drawing, &blocks);
    let mut sections = GroupCodes::after(tables.next_handle, decimals);
    sections.blocks(drawing, &blocks);
    let mut file = GroupCodes::after(sections.next_handle, decimals);
    file.header(drawing);
    file.section("CLASSES", &classes());
    file.section("TABLES", &tables);
    file.section("BLOCKS", &sections);
    file.section("ENTITIES", &entities);
    file.section("OBJECTS", &objects());
    file.text(0, "EOF");
    // Every character is in the code page: `plain` saw to that.
    WINDOWS_1252.encode(&file.out).0.into_owned()
}

/// Pairs of group code and value.
struct GroupCodes {
    out: String,
    next_handle: u32,
    /// The block, or the model space, whose entities are written.
    owner: u32,
    /// Decimals of coordinates.
    decimals: i32,
}

impl Groups for GroupCodes {
    const STYLE: &'static str = "Standard";
    const PERCENTS: &'static str = "\\U+0025\\U+0025";

    fn out(&mut self) -> &mut String {
        &mut self.out
    }

    fn decimals(&self) -> i32 {
        self.decimals
    }

    fn int(&mut self, code: u16, value: impl Display) {
        _ = writeln!(self.out, "{code:>3}\n{value}");
    }

    fn begin(&mut self, kind: &str, class: &str, layer: &str) {
        self.text(0, kind);
        self.own_handle(5);
        self.handle(330, self.owner);
        self.text(100, "AcDbEntity");
        self.text(8, layer);
        self.text(100, class);
    }

    fn polyline(&mut self, layer: &str, (vertices, closed): (&[Vertex], bool), id: Option<&str>) {
        self.begin("LWPOLYLINE", "AcDbPolyline", layer);
        self.int(90, vertices.len());
        self.int(70, usize::from(closed));
        self.real(43, 0.0);
        for vertex in vertices {
            self.real(10, vertex.point.x);
            self.real(20, vertex.point.y);
            if vertex.bulge != 0.0 {
                self.text(42, &number(vertex.bulge, BULGE));
            }
        }
        self.identity(id);
    }

    fn end_text(&mut self) {
        self.text(100, "AcDbText");
    }

    /// `text` on one line of the file: characters beyond its code page as `\U+XXXX`, those beyond the
    /// basic plane, which R2000 cannot say, as `?`, control characters as spaces.
    fn plain(text: &str) -> String {
        let mut out = String::new();
        for c in text.chars() {
            match u32::from(c) {
                _ if c.is_control() => out.push(' '),
                _ if is_in_code_page(c) => out.push(c),
                code @ ..=0xFFFF => _ = write!(out, "\\U+{code:04X}"),
                _ => out.push('?'),
            }
        }
        out
    }
}

impl GroupCodes {
    /// Codes without handles and coordinates of their own.
    fn new() -> Self {
        Self::after(handle::FIRST_FREE, COORDINATE)
    }

    fn after(next_handle: u32, decimals: i32) -> Self {
        Self {
            out: String::new(),
            next_handle,
            owner: handle::MODEL_SPACE,
            decimals,
        }
    }

    fn handle(&mut self, code: u16, handle: u32) {
        _ = writeln!(self.out, "{code:>3}\n{handle:X}");
    }

    /// A new handle under `code`.
    fn own_handle(&mut self, code: u16) {
        self.handle(code, self.next_handle);
        self.next_handle += 1;
    }

    fn section(&mut self, name: &str, content: &Self) {
        self.text(0, "SECTION");
        self.text(2, name);
        self.out.push_str(&content.out);
        self.text(0, "ENDSEC");
    }

    fn header(&mut self, drawing: &ModelSpace) {
        let (length, width) = drawing.size;
        // Codes of $INSUNITS and $MEASUREMENT (Autodesk DXF reference).
        let (unit, measurement) = match drawing.unit {
            LengthUnit::Inch => (1, 0),
            _ => (4, 1),
        };
        let mut header = Self::after(0, self.decimals);
        header.variable("ACADVER", |t| t.text(1, "AC1015"));
        header.variable("DWGCODEPAGE", |t| t.text(3, "ANSI_1252"));
        header.variable("EXTMIN", |t| t.point(10, Point::new(0.0, 0.0)));
        header.variable("EXTMAX", |t| t.point(10, Point::new(length, width)));
        header.variable("LTSCALE", |t| t.real(40, 1.0));
        header.variable("INSUNITS", |t| t.int(70, unit));
        header.variable("MEASUREMENT", |t| t.int(70, measurement));
        let next_handle = self.next_handle;
        header.variable("HANDSEED", |t| t.handle(5, next_handle));
        self.section("HEADER", &header);
    }

    fn variable(&mut self, name: &str, value: impl FnOnce(&mut Self)) {
        self.text(9, &format!("${name}"));
        value(self);
    }

    fn tables(&mut self, drawing: &ModelSpace, blocks: &[(&DxfBlock, u32)]) {
        self.table("VPORT", handle::VPORT, 1);
        self.view(drawing.size.0, drawing.size.1);
        self.end_table();
        self.line_types(1.0 / drawing.unit.in_mm());
        self.layers(drawing);
        self.table("STYLE", handle::STYLE, 1);
        self.text_style();
        self.end_table();
        self.table("VIEW", handle::VIEW, 0);
        self.end_table();
        self.table("UCS", handle::UCS, 0);
        self.end_table();
        self.table("APPID", handle::APPID, 2);
        for name in ["ACAD", APPLICATION] {
            self.record("APPID", handle::APPID, "AcDbRegAppTableRecord", name);
            self.int(70, 0);
        }
        self.end_table();
        self.dimension_styles();
        self.table("BLOCK_RECORD", handle::BLOCK_RECORD, 2 + blocks.len());
        let pieces = blocks
            .iter()
            .map(|(block, own)| (block.name.as_str(), *own));
        for (name, block) in SPACES.into_iter().chain(pieces) {
            self.text(0, "BLOCK_RECORD");
            self.handle(5, block);
            self.record_head(handle::BLOCK_RECORD, "AcDbBlockTableRecord", name);
            self.handle(340, 0);
        }
        self.end_table();
    }

    fn table(&mut self, name: &str, table: u32, n_records: usize) {
        self.text(0, "TABLE");
        self.text(2, name);
        self.handle(5, table);
        self.handle(330, 0);
        self.text(100, "AcDbSymbolTable");
        self.int(70, n_records);
    }

    fn end_table(&mut self) {
        self.text(0, "ENDTAB");
    }

    fn record(&mut self, kind: &str, table: u32, class: &str, name: &str) {
        self.text(0, kind);
        self.own_handle(5);
        self.record_head(table, class, name);
    }

    fn record_head(&mut self, table: u32, class: &str, name: &str) {
        self.handle(330, table);
        self.text(100, "AcDbSymbolTableRecord");
        self.text(100, class);
        self.text(2, name);
    }

    /// The view a program opens with: the whole used length.
    fn view(&mut self, length: f64, width: f64) {
        self.record("VPORT", handle::VPORT, "AcDbViewportTableRecord", "*Active");
        self.int(70, 0);
        let pairs = [
            (10, 0.0, 0.0),
            (11, 1.0, 1.0),
            (12, length / 2.0, width / 2.0),
            (13, 0.0, 0.0),
            (14, 10.0, 10.0),
            (15, 10.0, 10.0),
        ];
        for (code, x, y) in pairs {
            self.real(code, x);
            self.real(code + 10, y);
        }
        self.point(16, Point::new(0.0, 0.0));
        self.point(17, Point::new(0.0, 0.0));
        // A window of 16:9 just holds the roll.
        self.real(40, (width * 1.1).max(length * 1.1 * 9.0 / 16.0));
        self.real(41, 16.0 / 9.0);
        self.real(42, 50.0);
        for code in [43, 44, 50, 51] {
            self.real(code, 0.0);
        }
        for (code, value) in [
            (71, 0),
            (72, 1000),
            (73, 1),
            (74, 3),
            (75, 0),
            (76, 0),
            (77, 0),
            (78, 0),
        ] {
            self.int(code, value);
        }
    }

    fn line_types(&mut self, scale: f64) {
        self.table("LTYPE", handle::LTYPE, 4);
        for name in ["ByBlock", "ByLayer", "Continuous"] {
            self.line_type(name, "", &[]);
        }
        self.line_type("DASHED", "__ __ __ __", &[DASH.0 * scale, -DASH.1 * scale]);
        self.end_table();
    }

    /// A line type of dashes (positive) and spaces (negative).
    fn line_type(&mut self, name: &str, picture: &str, dashes: &[f64]) {
        self.record("LTYPE", handle::LTYPE, "AcDbLinetypeTableRecord", name);
        self.int(70, 0);
        self.text(3, picture);
        self.int(72, 65);
        self.int(73, dashes.len());
        self.real(40, dashes.iter().map(|d| d.abs()).sum());
        for &dash in dashes {
            self.real(49, dash);
            self.int(74, 0);
        }
    }

    fn layers(&mut self, drawing: &ModelSpace) {
        self.table("LAYER", handle::LAYER, drawing.layers.len() + 1);
        self.layer("0", 7, "Continuous", -3);
        for layer in &drawing.layers {
            let dashes = if layer.is_dashed {
                "DASHED"
            } else {
                "Continuous"
            };
            let hundredths = (layer.line_width * 100.0).round() as i32;
            self.layer(&layer.name, layer.colour, dashes, hundredths);
        }
        self.end_table();
    }

    /// A layer; `width` in hundredths of a millimetre, −3 for the program's own.
    fn layer(&mut self, name: &str, colour: u8, line_type: &str, width: i32) {
        self.record("LAYER", handle::LAYER, "AcDbLayerTableRecord", name);
        self.int(70, 0);
        self.int(62, colour);
        self.text(6, line_type);
        self.int(370, width);
        self.handle(390, handle::PLOT_STYLE);
    }

    fn text_style(&mut self) {
        self.record(
            "STYLE",
            handle::STYLE,
            "AcDbTextStyleTableRecord",
            "Standard",
        );
        self.int(70, 0);
        self.real(40, 0.0);
        self.real(41, 1.0);
        self.real(50, 0.0);
        self.int(71, 0);
        self.real(42, 2.5);
        // Single strokes, which a pen can write.
        self.text(3, "txt");
        self.text(4, "");
    }

    fn dimension_styles(&mut self) {
        self.table("DIMSTYLE", handle::DIMSTYLE, 1);
        self.text(100, "AcDbDimStyleTable");
        self.text(0, "DIMSTYLE");
        // The one kind of record whose handle is not under code 5.
        self.own_handle(105);
        self.record_head(handle::DIMSTYLE, "AcDbDimStyleTableRecord", "Standard");
        self.int(70, 0);
        self.end_table();
    }

    fn blocks(&mut self, drawing: &ModelSpace, blocks: &[(&DxfBlock, u32)]) {
        for (name, block) in SPACES {
            self.begin_block(name, block, Point::default());
            self.text(0, "ENDBLK");
            self.block_head(block, "AcDbBlockEnd");
        }
        for (block, own) in blocks {
            self.begin_block(&block.name, *own, block.base);
            self.owner = *own;
            for entity in &block.entities {
                self.entity(drawing, entity);
            }
            self.text(0, "ENDBLK");
            self.block_head(*own, "AcDbBlockEnd");
        }
    }

    fn begin_block(&mut self, name: &str, record: u32, base: Point) {
        self.text(0, "BLOCK");
        self.block_head(record, "AcDbBlockBegin");
        self.text(2, name);
        self.int(70, 0);
        self.point(10, base);
        self.text(3, name);
        self.text(1, "");
    }

    fn block_head(&mut self, block: u32, class: &str) {
        self.own_handle(5);
        self.handle(330, block);
        self.text(100, "AcDbEntity");
        if block == handle::PAPER_SPACE {
            self.int(67, 1);
        }
        self.text(8, "0");
        self.text(100, class);
    }
}

const SPACES: [(&str, u32); 2] = [
    ("*Model_Space", handle::MODEL_SPACE),
    ("*Paper_Space", handle::PAPER_SPACE),
];

/// The two kinds of object that are not built into R2000.
fn classes() -> GroupCodes {
    let mut tags = GroupCodes::new();
    for (name, class) in [
        ("ACDBDICTIONARYWDFLT", "AcDbDictionaryWithDefault"),
        ("ACDBPLACEHOLDER", "AcDbPlaceHolder"),
    ] {
        tags.text(0, "CLASS");
        tags.text(1, name);
        tags.text(2, class);
        tags.text(3, "ObjectDBX Classes");
        tags.int(90, 0);
        tags.int(280, 0);
        tags.int(281, 0);
    }
    tags
}

fn objects() -> GroupCodes {
    let mut tags = GroupCodes::new();
    let mut dictionary = |kind: &str, own: u32, owner: u32, entries: &[(&str, u32)]| {
        tags.text(0, kind);
        tags.handle(5, own);
        tags.handle(330, owner);
        tags.text(100, "AcDbDictionary");
        tags.int(281, 1);
        for (name, entry) in entries {
            tags.text(3, name);
            tags.handle(350, *entry);
        }
    };
    dictionary(
        "DICTIONARY",
        handle::ROOT,
        0,
        &[
            ("ACAD_GROUP", handle::GROUPS),
            ("ACAD_PLOTSTYLENAME", handle::PLOT_STYLES),
        ],
    );
    dictionary("DICTIONARY", handle::GROUPS, handle::ROOT, &[]);
    dictionary(
        "ACDBDICTIONARYWDFLT",
        handle::PLOT_STYLES,
        handle::ROOT,
        &[("Normal", handle::PLOT_STYLE)],
    );
    tags.text(100, "AcDbDictionaryWithDefault");
    tags.handle(340, handle::PLOT_STYLE);
    tags.text(0, "ACDBPLACEHOLDER");
    tags.handle(5, handle::PLOT_STYLE);
    tags.handle(330, handle::PLOT_STYLES);
    tags
}

/// Whether the file's code page has `c`.
fn is_in_code_page(c: char) -> bool {
    let mut buffer = [0; 4];
    let (_, _, is_lost) = WINDOWS_1252.encode(c.encode_utf8(&mut buffer));
    !is_lost
}

#[cfg(test)]
mod tests {
    use super::{GroupCodes, Groups as _};

    #[test]
    fn text_shows_what_was_meant() {
        assert_eq!(GroupCodes::shown("RUD-1#1"), "RUD-1#1");
        assert_eq!(GroupCodes::shown("#3 · -45°"), "#3  -45%%d");
        assert_eq!(GroupCodes::shown("Flügel λ 😀"), "Flügel \\U+03BB ?");
        assert_eq!(GroupCodes::shown("5%%d^J\n"), "5\\U+0025\\U+0025d^ J ");
    }

    #[test]
    fn ids_in_extended_data_are_written_as_they_are() {
        assert_eq!(GroupCodes::plain("a°^%%d λ"), "a°^%%d \\U+03BB");
    }
}
