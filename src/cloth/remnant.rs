//! The remnant file: how stock that is left is written down, and read again for the next job.
//!
//! Written and read by the same types, so that what one plan leaves, another can use.

use std::fmt;

use super::{Flaw, Selvedges, Stock};
use crate::geometry::{Bounds, Outline, Point, Ring, largest_rectangle, surrounding};
use crate::json::{self, OutlineRecord, corners, record};
use crate::number::{COORDINATE, rounded};
use crate::units::Length;

/// The version this program writes, and the highest it reads.
const VERSION: u32 = 1;

record! {
    /// A remnant file. x runs along the warp, y across; the corner of the outline's box is the origin.
    pub struct RemnantRecord of (of: &str, stock: &Stock, rectangle: Option<Bounds>) {
        /// Version of the form.
        warpwise_remnant: u32 = VERSION,
        /// `mm`.
        units: String = "mm".to_owned(),
        /// Name of the cloth.
        cloth: String = of.to_owned(),
        /// Name of the remnant.
        name: String = stock.name.clone(),
        /// The maker's lot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lot: Option<String> = stock.lot.clone(),
        /// Its edge.
        outline: OutlineRecord = OutlineRecord::of(&stock.outline),
        /// Which of its long edges are selvedges.
        #[serde(default)]
        selvedges: SelvedgesRecord = SelvedgesRecord::of(stock.selvedges),
        /// Where it cannot be used.
        #[serde(default)]
        flaws: Vec<RemnantFlawRecord> = stock.flaws.iter().map(RemnantFlawRecord::of).collect(),
        /// Its area; for people, not read.
        #[serde(default)]
        area_mm2: f64 = rounded(stock.outline.area(), 2),
        /// Lowest x and y, highest x and y of the largest usable rectangle; for people, not read.
        #[serde(default)]
        largest_rectangle: Option<[f64; 4]> = rectangle.map(|bounds| corners(&bounds)),
    }

    /// Which edges of a remnant are selvedges.
    pub struct SelvedgesRecord of (edges: Selvedges) {
        /// The edge at the lowest y.
        low: bool = edges.low,
        /// The edge at the highest y.
        high: bool = edges.high,
    }

    /// A flawed area of a remnant.
    pub struct RemnantFlawRecord of (flaw: &Flaw) {
        /// Its edge.
        #[serde(flatten)]
        area: OutlineRecord = OutlineRecord::of(&flaw.area),
        /// How far pieces keep off it.
        #[serde(default)]
        margin: f64 = rounded(flaw.margin.to_mm(), COORDINATE),
    }
}

/// Longest cloth on hand, in a remnant file and in a job, mm.
pub(crate) const LONGEST_MM: f64 = 900_000.0;

/// Widest margin around a flaw (mm): a flaw is no wider than a roll.
const WIDEST_MARGIN_MM: f64 = 20_000.0;

/// Longest name in bytes.
const LONGEST_NAME: usize = 255;

/// Why a remnant file cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RemnantError {
    /// It is no remnant file, or not whole; says what the reader stumbled over.
    Unreadable(String),
    /// It is of a later version than this program knows.
    Version(u32),
    /// Its coordinates are not millimetres.
    Units(String),
    /// What it names does not enclose any cloth, or crosses itself.
    Outline(&'static str),
    /// What it names is larger than any cloth, or longer than any name.
    TooLarge(&'static str),
}

impl fmt::Display for RemnantError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(why) => write!(f, "this is no remnant file: {why}"),
            Self::Version(version) => write!(
                f,
                "this remnant file has version {version}, and this program knows {VERSION}"
            ),
            Self::Units(units) => {
                write!(f, "the remnant is in `{units}`, not in mm")
            }
            Self::Outline(what) => write!(f, "{what} of the remnant is no outline"),
            Self::TooLarge(what) => write!(f, "{what} of the remnant is impossibly large"),
        }
    }
}

impl std::error::Error for RemnantError {}

/// Whether `bytes` look like a remnant file rather than a drawing.
#[must_use]
pub fn is_remnant_file(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    text.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'{')
}

/// The text of the remnant file of `stock`, a remnant of `cloth`.
///
/// Coordinates are rounded to 0.0001 mm. Margins along the edges are the job's business, not the
/// cloth's, and are not written.
#[must_use]
pub fn remnant_file(cloth: &str, stock: &Stock, rectangle: Option<Bounds>) -> String {
    json::text(&RemnantRecord::of(cloth, stock, rectangle))
}

/// The cloth and the remnant written in `bytes`; its margin is `margin`.
///
/// The outline is moved so that the corner of its box is the origin.
///
/// # Errors
/// [`RemnantError`] if it is no remnant file, of a later version, or without cloth.
pub fn read_remnant(bytes: &[u8], margin: Length) -> Result<(String, Stock), RemnantError> {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let written: RemnantRecord =
        serde_json::from_slice(text).map_err(|e| RemnantError::Unreadable(e.to_string()))?;
    if written.warpwise_remnant != VERSION {
        return Err(RemnantError::Version(written.warpwise_remnant));
    }
    if written.units != "mm" {
        let shown = written.units.chars().take(40);
        return Err(RemnantError::Units(shown.collect()));
    }
    if written.name.len().max(written.cloth.len()) > LONGEST_NAME {
        return Err(RemnantError::TooLarge("the name"));
    }
    let outline = outline(&written.outline, "the edge")?;
    let size = outline.bounds();
    if size.long_side() > LONGEST_MM {
        return Err(RemnantError::TooLarge("the edge"));
    }
    let shift = Point::default() - outline.bounds().min;
    let flaws = written.flaws.iter().map(|flaw| {
        let area = self::outline(&flaw.area, "a flaw")?;
        if !(flaw.margin.is_finite() && flaw.margin >= 0.0) {
            return Err(RemnantError::Outline("the margin of a flaw"));
        }
        if flaw.margin > WIDEST_MARGIN_MM {
            return Err(RemnantError::TooLarge("the margin of a flaw"));
        }
        Ok(Flaw {
            area: area.shifted(shift),
            margin: Length::mm(flaw.margin),
        })
    });
    let longest = (written.lot.as_ref()).map_or(0, String::len);
    if longest > LONGEST_NAME {
        return Err(RemnantError::TooLarge("the lot"));
    }
    let stock = Stock {
        name: written.name,
        lot: written.lot,
        is_on_shelf: false,
        flaws: flaws.collect::<Result<_, _>>()?,
        outline: outline.shifted(shift),
        selvedges: Selvedges {
            low: written.selvedges.low,
            high: written.selvedges.high,
        },
        margin,
    };
    Ok((written.cloth, stock))
}

/// The largest rectangle in `stock` that is off its flaws, with sides of at least `least` mm.
#[must_use]
pub fn usable_rectangle(stock: &Stock, least: f64) -> Option<Bounds> {
    let flaws: Vec<Outline> = stock.flaws.iter().map(Flaw::grown).collect();
    largest_rectangle(&stock.outline, &flaws, least)
}

impl Flaw {
    /// The flawed area with its margin around it.
    #[must_use]
    pub fn grown(&self) -> Outline {
        surrounding(&self.area, self.margin.to_mm())
    }
}

fn outline(written: &OutlineRecord, what: &'static str) -> Result<Outline, RemnantError> {
    let refused = RemnantError::Outline(what);
    let Some(outline) = written.outline() else {
        return Err(refused);
    };
    let is_within = |o: &Ring| outline.outer.contains(o.points()[0]);
    if outline.openings.iter().all(is_within)
        && outline.crossing().is_none()
        && outline.area() > 0.0
    {
        Ok(outline)
    } else {
        Err(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
        let bounds = Bounds {
            min: Point::new(x0, y0),
            max: Point::new(x1, y1),
        };
        bounds.outline().unwrap()
    }

    #[test]
    fn what_is_written_is_read_again() {
        let mut outline = rectangle(0.0, 0.0, 1200.5, 400.0);
        outline
            .openings
            .push(rectangle(100.0, 100.0, 150.0, 150.0).outer);
        let stock = Stock {
            name: "twill-r1".to_owned(),
            outline,
            selvedges: Selvedges {
                low: true,
                high: false,
            },
            margin: Length::mm(10.0),
            flaws: vec![Flaw {
                area: rectangle(600.0, -5.0, 650.0, 50.0),
                margin: Length::mm(8.0),
            }],
            lot: Some("B 12".to_owned()),
            is_on_shelf: false,
        };
        let text = remnant_file("twill", &stock, usable_rectangle(&stock, 100.0));
        let read = read_remnant(text.as_bytes(), Length::mm(10.0)).unwrap();
        assert_eq!(read, ("twill".to_owned(), stock));
        assert!(is_remnant_file(text.as_bytes()));
    }

    #[test]
    fn what_is_no_remnant_is_refused_with_a_reason() {
        let read = |text: &str| read_remnant(text.as_bytes(), Length::ZERO).unwrap_err();
        assert!(matches!(read("{}"), RemnantError::Unreadable(_)));
        let file = |version: u32, units: &str, outer: &str| {
            format!(
                r#"{{"warpwise_remnant": {version}, "units": "{units}", "cloth": "c", "name": "n",
                "outline": {{"outer": {outer}}}}}"#
            )
        };
        let square = "[[0,0],[9,0],[9,9],[0,9]]";
        assert_eq!(read(&file(2, "mm", square)), RemnantError::Version(2));
        assert_eq!(
            read(&file(1, "in", square)),
            RemnantError::Units("in".to_owned())
        );
        let crossed = "[[0,0],[9,9],[9,0],[0,12]]";
        assert_eq!(
            read(&file(1, "mm", crossed)),
            RemnantError::Outline("the edge")
        );
    }
}
