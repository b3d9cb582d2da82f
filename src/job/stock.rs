//! What is on hand of a cloth, `[[cloth.NAME.stock]]`, and where it is flawed, `[[….flaw]]`.

use super::keys::{Listed, Name, Places, SomeText, keys};
use super::part::UNITS;
use super::reader::JobReader;
use super::rules::{FARTHEST_MM, LengthRule};
use super::table::JobTable;
use super::{Located, OutlineChoice, check_name};
use crate::cloth::Flaw;
use crate::diag::Place;
use crate::geometry::{Bounds, Outline, Point, Ring};
use crate::pattern::Settings;
use crate::units::{Length, LengthUnit};

/// A roll or remnant on hand, as the job file says.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct StockEntry {
    /// Index into [`Job::cloths`](crate::job::Job::cloths).
    pub cloth: usize,
    /// Its name, if the job gives it one.
    pub name: Option<String>,
    /// What it is.
    pub shape: StockShape,
    /// Strip along its edges that is not used, but for selvedges.
    pub margin: Length,
    /// Its flawed areas.
    pub flaws: Vec<Flaw>,
    /// Where it is written.
    pub place: Place,
}

/// The shape of what is on hand.
#[derive(Clone, Debug, PartialEq)]
pub enum StockShape {
    /// The rest of a roll, with both its selvedges.
    Roll {
        /// Along the warp.
        length: Length,
    },
    /// A rectangle without selvedges.
    Rectangle {
        /// Along the warp.
        length: Length,
        /// Across the warp.
        width: Length,
    },
    /// In a file: a drawing with the warp along x, a remnant file, or a folder of those.
    File {
        /// The path as written: relative to the job file.
        path: Located<String>,
        /// Which outline of a drawing.
        outline: OutlineChoice,
        /// How a drawing is to be read.
        reading: Box<Settings>,
    },
    /// The remnants of the cloth on the shelf that is kept.
    Shelf {
        /// The path of its folder, relative to the job file.
        path: Located<String>,
    },
}

const STOCK_LENGTH: LengthRule = LengthRule::positive("length on hand")
    .help("write how much of the roll is left, along the warp")
    .likely(100.0..=200_000.0)
    .most(FARTHEST_MM);
const STOCK_WIDTH: LengthRule = LengthRule::positive("width on hand")
    .help("write the extent across the warp; leave `width` out for the whole roll width")
    .likely(50.0..=5_000.0)
    .most(20_000.0);
const STOCK_MARGIN: LengthRule = LengthRule::not_negative("margin")
    .help("the margin is a strip left unused: 0 mm or more")
    .likely(0.0..=500.0)
    .most(10_000.0);
const FLAW_AT: LengthRule = LengthRule::not_negative("place of a flaw")
    .help("places count from the beginning of the roll and from its lower selvedge")
    .likely(0.0..=200_000.0)
    .most(FARTHEST_MM);
const FLAW_SIZE: LengthRule = LengthRule::positive("size of a flaw")
    .help("write how much of the cloth is flawed")
    .likely(1.0..=10_000.0)
    .most(FARTHEST_MM);

/// Most rolls and remnants on hand of one cloth, most flaws of a roll.
const MAX_STOCK: usize = 500;

/// Reach of a flaw that goes across the whole cloth, beyond any roll, mm.
const ACROSS_MM: f64 = 25_000.0;

keys! {
    /// What `[[cloth.NAME.stock]]` says.
    StockKeys: "stock", "[[cloth.NAME.stock]]", "A roll or remnant on hand: a `length` (and a `width`, if it is not the whole roll), or a `file`.";
    name: String = Name, Means("from the file, else made up"), "roll-3", "what its label says";
    length: Length = STOCK_LENGTH, Means("`file`"), "3.2 m", "along the warp";
    width: Length = STOCK_WIDTH, Means("the whole roll"), "400 mm", "across the warp";
    file: String = SomeText, Means("`length`"), "offcut.svg", "a drawing (warp along x), a remnant file, or a folder of remnant files, those of other cloths passed over; relative to the job file";
    outline: String = SomeText, Means("the only one"), "LAYER or id", "which outline of a drawing";
    units: LengthUnit = UNITS, Means("as in the file"), "in", "unit of a drawing that does not state one";
    margin: Length = STOCK_MARGIN, Means("`end_margin`"), "10 mm", "strip along its edges that is not used (selvedges have their own)";
    flaw: Vec<JobTable<'t>> = Listed(FlawKeys::keys), Means("none"), "[{ from = \"1.2 m\", length = \"60 mm\" }]", "flawed areas on it";
}

keys! {
    /// What `[[cloth.NAME.flaw]]` says.
    FlawKeys: "a flaw", "[[cloth.NAME.flaw]]", "A flawed area, from the beginning of the roll and its lower selvedge; in stock likewise. `from` and `length`, or `points`.";
    from: Length = FLAW_AT, Means("`points`"), "1.2 m", "where it begins along the warp";
    length: Length = FLAW_SIZE, Means("`points`"), "60 mm", "how far it goes along the warp";
    across: Length = FLAW_AT, Means("all across, with `width`"), "100 mm", "where it begins from the lower selvedge";
    width: Length = FLAW_SIZE, Means("all across, with `across`"), "50 mm", "how far it goes across";
    points: Vec<[Length; 2]> = Places, Means("`from` and `length`"), "[[\"1 m\", \"0 mm\"], [\"1.2 m\", \"0 mm\"], [\"1.1 m\", \"60 mm\"]]", "its corners, along and across";
    margin: Length = STOCK_MARGIN, Is("0 mm"), "10 mm", "strip around it that is not used";
}

/// The cloth whose stock is read.
pub(super) struct StockOf<'a, 't> {
    pub table: &'a JobTable<'t>,
    /// Its index in the job.
    pub index: usize,
    pub roll_width: Option<Length>,
    pub end_margin: Length,
}

/// Reads the `[[cloth.NAME.stock]]` tables of a cloth.
pub(super) fn read_stock(
    reader: &mut JobReader,
    cloth: &StockOf<'_, '_>,
    tables: Vec<JobTable<'_>>,
) -> Vec<StockEntry> {
    if tables.len() > MAX_STOCK {
        let help = format!("at most {MAX_STOCK} are taken");
        let header = &cloth.table.header;
        reader.error(header, "there is too much stock of one cloth", &help);
        return Vec::new();
    }
    let mut entries: Vec<StockEntry> = Vec::new();
    for table in tables {
        let keys = StockKeys::read(reader, Some(&table));
        let name = keys.name.clone().located();
        if let Some(name) = &name {
            check_name(reader, "stock", name);
            let mut others = entries.iter();
            if others.any(|e| e.name.as_ref() == Some(&name.value)) {
                let help = "a label on the shelf should say which one it is";
                reader.error(&name.place, "two of the stock have one name", help);
            }
        }
        let margin = keys.margin.value.unwrap_or(cloth.end_margin);
        let flaws = keys.flaw.value.clone().unwrap_or_default();
        let shape = read_shape(reader, &table, keys, cloth.roll_width);
        let width = match &shape {
            Some(StockShape::Rectangle { width, .. }) => Some(*width),
            _ => cloth.roll_width,
        };
        let flaws = read_flaws(reader, &table, flaws, width);
        entries.extend(shape.map(|shape| StockEntry {
            cloth: cloth.index,
            name: name.map(|name| name.value),
            shape,
            margin,
            flaws,
            place: table.header,
        }));
    }
    entries
}

fn read_shape(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    keys: StockKeys<'_>,
    roll_width: Option<Length>,
) -> Option<StockShape> {
    if keys.length.is_there() == keys.file.is_there() {
        let help = "write the `length` (and `width`, if it is not the whole roll's), or a `file` \
                    with its outline";
        let message = "stock needs either a `length` or a `file`";
        reader.error(&table.header, message, help);
        return None;
    }
    if let Some(path) = keys.file.located() {
        let outline = keys.outline.located();
        return Some(StockShape::File {
            path: reader.path_from_job(path),
            outline: outline.map_or(OutlineChoice::Only, OutlineChoice::Named),
            reading: Box::new(Settings {
                unit: keys.units.value,
                ..Settings::default()
            }),
        });
    }
    let length = keys.length.value?;
    let has_width = keys.width.is_there();
    let Some(width) = keys.width.located() else {
        return (!has_width).then_some(StockShape::Roll { length });
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

/// Reads the `[[….flaw]]` tables of what `owner` describes; a flaw without a place across goes all
/// across.
pub(super) fn read_flaws(
    reader: &mut JobReader,
    owner: &JobTable<'_>,
    tables: Vec<JobTable<'_>>,
    width: Option<Length>,
) -> Vec<Flaw> {
    if tables.len() > MAX_STOCK {
        let help = format!("at most {MAX_STOCK} are taken");
        reader.error(&owner.header, "there are too many flaws on one roll", &help);
        return Vec::new();
    }
    let read = tables.into_iter().filter_map(|table| {
        let keys = FlawKeys::read(reader, Some(&table));
        let margin = keys.margin.value;
        let area = read_area(reader, &table, keys, width)?;
        Some(Flaw { area, margin })
    });
    read.collect()
}

fn read_area(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    keys: FlawKeys<'_>,
    width: Option<Length>,
) -> Option<Outline> {
    if keys.points.is_there() {
        return ring_of(reader, &keys.points.located()?);
    }
    table.require(reader, keys.from.key);
    table.require(reader, keys.length.key);
    let (low, high) = match (keys.across.located(), keys.width.value) {
        (None, None) => (-ACROSS_MM, ACROSS_MM),
        (Some(across), Some(extent)) => {
            let low = across.value.to_mm();
            if width.is_some_and(|width| across.value >= width) {
                let help = "`across` counts from the lower selvedge";
                reader.warn(&across.place, "the flaw lies beside the cloth", help);
            }
            (low, low + extent.to_mm())
        }
        _ => {
            let help = "write both `across` (from the lower selvedge) and `width`, or neither for a \
                        flaw all across the roll";
            reader.error(&table.header, "the flaw says half of where it lies", help);
            return None;
        }
    };
    let (from, length) = (keys.from.value?.to_mm(), keys.length.value?.to_mm());
    let bounds = Bounds {
        min: Point::new(from, low),
        max: Point::new(from + length, high),
    };
    bounds.outline()
}

fn ring_of(reader: &mut JobReader, points: &Located<Vec<[Length; 2]>>) -> Option<Outline> {
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
