//! The drawing as R12 (AC1009), for machines and programs that stopped there.
//!
//! No handles, no owners, old-style polylines, names in capitals, plain ASCII. R12 has no code for
//! the unit of a drawing; a comment at the top says it. Follows the Autodesk DXF reference (R12).

use std::fmt::Write as _;

use super::decimals;
use super::drawing::{DxfBlock, Entity, EntityShape, EntityText, Groups, ModelSpace};
use crate::geometry::Point;
use crate::number::{ANGLE, number};
use crate::output::style::DASH;

const APPLICATION: &str = "WARPWISE";

/// The whole file.
pub(super) fn write(drawing: &ModelSpace) -> Vec<u8> {
    let mut file = File {
        drawing,
        out: String::new(),
        decimals: decimals(drawing),
    };
    file.text(999, &format!("unit: {}", drawing.unit.symbol()));
    file.header();
    file.tables();
    file.section("BLOCKS");
    for block in &drawing.blocks {
        file.block(block);
    }
    file.text(0, "ENDSEC");
    file.section("ENTITIES");
    for entity in &drawing.entities {
        file.entity(entity);
    }
    file.text(0, "ENDSEC");
    file.text(0, "EOF");
    file.out.into_bytes()
}

struct File<'a> {
    drawing: &'a ModelSpace,
    out: String,
    decimals: i32,
}

impl Groups for File<'_> {
    fn out(&mut self) -> &mut String {
        &mut self.out
    }

    fn decimals(&self) -> i32 {
        self.decimals
    }
}

impl File<'_> {
    fn int(&mut self, code: u16, value: usize) {
        _ = writeln!(self.out, "{code:>3}\n{value:>6}");
    }

    fn section(&mut self, name: &str) {
        self.text(0, "SECTION");
        self.text(2, name);
    }

    fn header(&mut self) {
        let (length, width) = self.drawing.size;
        self.section("HEADER");
        self.text(9, "$ACADVER");
        self.text(1, "AC1009");
        self.text(9, "$EXTMIN");
        self.point(10, Point::default());
        self.text(9, "$EXTMAX");
        self.point(10, Point::new(length, width));
        self.text(9, "$LTSCALE");
        self.real(40, 1.0);
        self.text(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.section("TABLES");
        self.table("LTYPE", 2);
        let scale = 1.0 / self.drawing.unit.in_mm();
        self.line_type("CONTINUOUS", "Solid line", &[]);
        let dashes = [DASH.0 * scale, -DASH.1 * scale];
        self.line_type("DASHED", "__ __ __ __", &dashes);
        self.text(0, "ENDTAB");
        self.table("LAYER", self.drawing.layers.len() + 1);
        self.layer("0", 7, "CONTINUOUS");
        for layer in &self.drawing.layers {
            let line_type = if layer.is_dashed {
                "DASHED"
            } else {
                "CONTINUOUS"
            };
            self.layer(&layer.name.to_uppercase(), layer.colour, line_type);
        }
        self.text(0, "ENDTAB");
        self.table("STYLE", 1);
        self.text(0, "STYLE");
        self.text(2, "STANDARD");
        self.int(70, 0);
        for (code, value) in [(40, 0.0), (41, 1.0), (50, 0.0)] {
            self.real(code, value);
        }
        self.int(71, 0);
        self.real(42, 2.5);
        self.text(3, "txt");
        self.text(4, "");
        self.text(0, "ENDTAB");
        self.table("APPID", 1);
        self.text(0, "APPID");
        self.text(2, APPLICATION);
        self.int(70, 0);
        self.text(0, "ENDTAB");
        self.text(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, n_records: usize) {
        self.text(0, "TABLE");
        self.text(2, name);
        self.int(70, n_records);
    }

    fn line_type(&mut self, name: &str, picture: &str, dashes: &[f64]) {
        self.text(0, "LTYPE");
        self.text(2, name);
        self.int(70, 0);
        self.text(3, picture);
        self.int(72, 65);
        self.int(73, dashes.len());
        self.real(40, dashes.iter().map(|d| d.abs()).sum());
        for &dash in dashes {
            self.real(49, dash);
        }
    }

    fn layer(&mut self, name: &str, colour: u8, line_type: &str) {
        self.text(0, "LAYER");
        self.text(2, name);
        self.int(70, 0);
        self.int(62, usize::from(colour));
        self.text(6, line_type);
    }

    fn block(&mut self, block: &DxfBlock) {
        self.text(0, "BLOCK");
        self.text(8, "0");
        self.text(2, &block.name);
        self.int(70, 0);
        self.point(10, block.base);
        self.text(3, &block.name);
        for entity in &block.entities {
            self.entity(entity);
        }
        self.text(0, "ENDBLK");
        self.text(8, "0");
    }

    fn entity(&mut self, entity: &Entity) {
        let layer = self.drawing.layer(entity.layer).name.to_uppercase();
        let id = entity.id.as_deref();
        match &entity.shape {
            EntityShape::Polyline { vertices, closed } => {
                self.head("POLYLINE", &layer);
                self.int(66, 1);
                self.point(10, Point::default());
                self.int(70, usize::from(*closed));
                self.identity(id);
                for vertex in vertices {
                    self.head("VERTEX", &layer);
                    self.point(10, vertex.point);
                    if vertex.bulge != 0.0 {
                        self.text(42, &number(vertex.bulge, 9));
                    }
                }
                self.head("SEQEND", &layer);
            }
            EntityShape::Line([from, to]) => {
                self.head("LINE", &layer);
                self.point(10, *from);
                self.point(11, *to);
                self.identity(id);
            }
            EntityShape::Text(text) => {
                self.words(&layer, text);
                self.identity(id);
            }
            EntityShape::Insert { block, at } => {
                self.head("INSERT", &layer);
                self.text(2, block);
                self.point(10, *at);
                self.identity(id);
            }
        }
    }

    fn head(&mut self, kind: &str, layer: &str) {
        self.text(0, kind);
        self.text(8, layer);
    }

    fn words(&mut self, layer: &str, text: &EntityText) {
        self.head("TEXT", layer);
        self.point(10, text.start);
        self.real(40, text.height);
        self.text(1, &shown(&text.text));
        self.text(50, &number(text.angle.to_degrees(), ANGLE));
        self.text(7, "STANDARD");
        self.int(72, 1);
        self.point(11, text.middle);
    }

    fn identity(&mut self, id: Option<&str>) {
        if let Some(id) = id {
            self.text(1001, APPLICATION);
            self.text(1000, &ascii(id));
        }
    }
}

/// `text` so that R12 shows what was meant, as far as it can.
fn shown(text: &str) -> String {
    let text = text
        .replace(crate::output::drawing::label::SEPARATOR, "  ")
        .replace("%%", "% %")
        .replace('^', "^ ")
        .replace('°', "%%d");
    ascii(&text)
}

fn ascii(text: &str) -> String {
    let plain = |c: char| match c {
        c if c.is_ascii() && !c.is_control() => c,
        _ if c.is_control() => ' ',
        _ => '?',
    };
    text.chars().map(plain).collect()
}
