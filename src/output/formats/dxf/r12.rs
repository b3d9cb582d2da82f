//! The drawing as R12 (AC1009), for machines and programs that stopped there.
//!
//! No handles, no owners, old-style polylines, names in capitals, plain ASCII. R12 has no code for
//! the unit of a drawing; a comment at the top says it. Follows the Autodesk DXF reference (R12).

use std::fmt::{Display, Write as _};

use super::decimals;
use super::drawing::{APPLICATION, DxfBlock, Groups, ModelSpace};
use crate::geometry::Point;
use crate::number::number;
use crate::output::drawing::arcs::Vertex;
use crate::output::style::DASH;

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
        file.entity(drawing, entity);
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
    const STYLE: &'static str = "STANDARD";
    const PERCENTS: &'static str = "% %";

    fn out(&mut self) -> &mut String {
        &mut self.out
    }

    fn decimals(&self) -> i32 {
        self.decimals
    }

    fn int(&mut self, code: u16, value: impl Display) {
        _ = writeln!(self.out, "{code:>3}\n{value:>6}");
    }

    fn begin(&mut self, kind: &str, _: &str, layer: &str) {
        self.text(0, kind);
        self.text(8, &layer.to_uppercase());
    }

    fn polyline(&mut self, layer: &str, (vertices, closed): (&[Vertex], bool), id: Option<&str>) {
        self.begin("POLYLINE", "", layer);
        self.int(66, 1);
        self.point(10, Point::default());
        self.int(70, usize::from(closed));
        self.identity(id);
        for vertex in vertices {
            self.begin("VERTEX", "", layer);
            self.point(10, vertex.point);
            if vertex.bulge != 0.0 {
                self.text(42, &number(vertex.bulge, 9));
            }
        }
        self.begin("SEQEND", "", layer);
    }

    fn plain(text: &str) -> String {
        let plain = |c: char| match c {
            c if c.is_ascii() && !c.is_control() => c,
            _ if c.is_control() => ' ',
            _ => '?',
        };
        text.chars().map(plain).collect()
    }
}

impl File<'_> {
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
            self.entity(self.drawing, entity);
        }
        self.text(0, "ENDBLK");
        self.text(8, "0");
    }
}
