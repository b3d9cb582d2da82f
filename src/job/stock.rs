//! What is on hand of a cloth, `[[cloth.NAME.stock]]`, and where it is flawed, `[[….flaw]]`.

use super::parts::read_units;
use super::reader::Reader;
use super::rules::MAX_STOCK;
use super::table::Table;
use super::{Located, OutlineChoice, StockEntry, StockShape};
use crate::cloth::Flaw;
use crate::geometry::{Bounds, Outline, Point, Ring};
use crate::pattern::Settings;
use crate::units::Length;

/// Reach of a flaw that goes across the whole cloth, beyond any roll, mm.
const ACROSS_MM: f64 = 25_000.0;

/// Reads the `[[cloth.NAME.stock]]` tables of the cloth called `name`, the `index`th of the job.
pub(super) fn read_stock(
    reader: &mut Reader,
    cloth: &Table<'_>,
    index: usize,
    name: &str,
    roll_width: Option<Length>,
    end_margin: Length,
) -> Vec<StockEntry> {
    let header = format!("cloth.{name}.stock");
    let tables = cloth.listed_tables(reader, "stock", &header);
    if tables.len() > MAX_STOCK {
        let help = format!("at most {MAX_STOCK} are taken");
        reader.error(&cloth.header, "there is too much stock of one cloth", &help);
        return Vec::new();
    }
    let mut entries: Vec<StockEntry> = Vec::new();
    for table in tables {
        table.check_keys(reader);
        let given = table.word(reader, "name");
        if let Some(given) = &given {
            super::check_name(reader, "stock", given);
            if entries
                .iter()
                .any(|e| e.name.as_ref() == Some(&given.value))
            {
                let help = "a label on the shelf should say which one it is";
                reader.error(&given.place, "two of the stock have one name", help);
            }
        }
        let margin = table.length(reader, "margin");
        let shape = read_shape(reader, &table, roll_width);
        let width = match &shape {
            Some(StockShape::Rectangle { width, .. }) => Some(*width),
            _ => roll_width,
        };
        let flaws = read_flaws(reader, &table, &header, width);
        if let Some(shape) = shape {
            entries.push(StockEntry {
                cloth: index,
                name: given.map(|name| name.value),
                shape,
                margin: margin.map_or(end_margin, |margin| margin.value),
                flaws,
                place: table.header,
            });
        }
    }
    entries
}

fn read_shape(
    reader: &mut Reader,
    table: &Table<'_>,
    roll_width: Option<Length>,
) -> Option<StockShape> {
    let length = table.length(reader, "length");
    let width = table.length(reader, "width");
    let file = table.word(reader, "file");
    let outline = table.word(reader, "outline");
    let unit = read_units(reader, table);
    if table.has("length") == table.has("file") {
        let help = "write the `length` (and `width`, if it is not the whole roll's), or a `file` \
                    with its outline";
        let message = "stock needs either a `length` or a `file`";
        reader.error(&table.header, message, help);
        return None;
    }
    if let Some(path) = file {
        return Some(StockShape::File {
            path,
            outline: outline.map_or(OutlineChoice::Only, OutlineChoice::Named),
            reading: Box::new(Settings {
                unit,
                ..Settings::default()
            }),
        });
    }
    let length = length?.value;
    let Some(width) = width else {
        return (!table.has("width")).then_some(StockShape::Roll { length });
    };
    if roll_width.is_some_and(|roll| width.value > roll) {
        let help =
            "a remnant can be no wider than the roll it came from; `width` is across the warp";
        reader.warn(&width.place, "the remnant is wider than the roll", help);
    }
    Some(StockShape::Rectangle {
        length,
        width: width.value,
    })
}

/// Reads the `[[….flaw]]` tables of `table`; a flaw without a place across goes all across.
pub(super) fn read_flaws(
    reader: &mut Reader,
    table: &Table<'_>,
    header: &str,
    width: Option<Length>,
) -> Vec<Flaw> {
    let tables = table.listed_tables(reader, "flaw", &format!("{header}.flaw"));
    if tables.len() > MAX_STOCK {
        let help = format!("at most {MAX_STOCK} are taken");
        reader.error(&table.header, "there are too many flaws on one roll", &help);
        return Vec::new();
    }
    let mut flaws = Vec::new();
    for table in tables {
        table.check_keys(reader);
        let margin = table.length(reader, "margin");
        if let Some(area) = read_area(reader, &table, width) {
            flaws.push(Flaw {
                area,
                margin: margin.map_or(Length::ZERO, |margin| margin.value),
            });
        }
    }
    flaws
}

fn read_area(reader: &mut Reader, table: &Table<'_>, width: Option<Length>) -> Option<Outline> {
    let from = table.length(reader, "from");
    let length = table.length(reader, "length");
    let across = table.length(reader, "across");
    let extent = table.length(reader, "width");
    if table.has("points") {
        let points = table.places(reader, "points")?;
        return ring_of(reader, &points);
    }
    table.require(reader, "from");
    table.require(reader, "length");
    let (low, high) = match (&across, &extent) {
        (None, None) => (-ACROSS_MM, ACROSS_MM),
        (Some(across), Some(extent)) => {
            let low = across.value.to_mm();
            if width.is_some_and(|width| across.value >= width) {
                let help = "`across` counts from the lower selvedge";
                reader.warn(&across.place, "the flaw lies beside the cloth", help);
            }
            (low, low + extent.value.to_mm())
        }
        _ => {
            let help = "write both `across` (from the lower selvedge) and `width`, or neither for a \
                        flaw all across the roll";
            reader.error(&table.header, "the flaw says half of where it lies", help);
            return None;
        }
    };
    let (from, length) = (from?.value.to_mm(), length?.value.to_mm());
    let bounds = Bounds {
        min: Point::new(from, low),
        max: Point::new(from + length, high),
    };
    bounds.outline()
}

fn ring_of(reader: &mut Reader, points: &Located<Vec<[Length; 2]>>) -> Option<Outline> {
    let corners = points.value.iter();
    let ring = Ring::new(corners.map(|[x, y]| Point::new(x.to_mm(), y.to_mm())));
    match ring {
        Ok(ring) if ring.crossing().is_none() => Some(Outline::solid(ring)),
        _ => {
            let help = "list its corners in order, at least three, so that no edge crosses another";
            reader.error(
                &points.place,
                "the corners of the flaw make no outline",
                help,
            );
            None
        }
    }
}
