//! The remnant file: how stock that is left is written down, and read again for the next job.
//!
//! Written and read by the same types, so that what one plan leaves, another can use. Version 1:
//! `{"warpwise_remnant": 1, "units": "mm", "cloth", "name", "outline": {"outer": [[x, y], …],
//! "openings": […]}, "selvedges": {"low", "high"}, "flaws": [{"outer", "openings", "margin"}],
//! "area_mm2", "largest_rectangle": [x0, y0, x1, y1]}` with x along the warp, y across, and the
//! corner of the outline's box at the origin. `area_mm2` and `largest_rectangle` are for people and
//! not read.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Flaw, Selvedges, Stock};
use crate::geometry::{Bounds, Outline, Point, Ring, largest_rectangle, surrounding};
use crate::units::Length;

/// The version this program writes, and the highest it reads.
const VERSION: u32 = 1;

/// Decimals of a written coordinate: as in `plan.json`.
const SCALE: f64 = 1e4;

#[derive(Serialize, Deserialize)]
struct Written {
    warpwise_remnant: u32,
    units: String,
    cloth: String,
    name: String,
    outline: WrittenOutline,
    #[serde(default)]
    selvedges: WrittenSelvedges,
    #[serde(default)]
    flaws: Vec<WrittenFlaw>,
    #[serde(default)]
    area_mm2: f64,
    #[serde(default)]
    largest_rectangle: Option<[f64; 4]>,
}

#[derive(Serialize, Deserialize)]
struct WrittenOutline {
    outer: Vec<[f64; 2]>,
    #[serde(default)]
    openings: Vec<Vec<[f64; 2]>>,
}

#[derive(Default, Serialize, Deserialize)]
struct WrittenSelvedges {
    low: bool,
    high: bool,
}

#[derive(Serialize, Deserialize)]
struct WrittenFlaw {
    outer: Vec<[f64; 2]>,
    #[serde(default)]
    openings: Vec<Vec<[f64; 2]>>,
    #[serde(default)]
    margin: f64,
}

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
}

impl fmt::Display for RemnantError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(why) => write!(f, "this is no remnant file: {why}"),
            Self::Version(version) => write!(
                f,
                "this remnant file has version {version}, and this program knows {VERSION}"
            ),
            Self::Units(units) => write!(f, "the remnant is in `{units}`, not in mm"),
            Self::Outline(what) => write!(f, "{what} of the remnant is no outline"),
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
    let points = |ring: &Ring| -> Vec<[f64; 2]> {
        let points = ring.points().iter();
        points.map(|p| [rounded(p.x), rounded(p.y)]).collect()
    };
    let openings = |outline: &Outline| outline.openings.iter().map(points).collect();
    let written = Written {
        warpwise_remnant: VERSION,
        units: "mm".to_owned(),
        cloth: cloth.to_owned(),
        name: stock.name.clone(),
        outline: WrittenOutline {
            outer: points(&stock.outline.outer),
            openings: openings(&stock.outline),
        },
        selvedges: WrittenSelvedges {
            low: stock.selvedges.low,
            high: stock.selvedges.high,
        },
        flaws: stock
            .flaws
            .iter()
            .map(|flaw| WrittenFlaw {
                outer: points(&flaw.area.outer),
                openings: openings(&flaw.area),
                margin: rounded(flaw.margin.to_mm()),
            })
            .collect(),
        area_mm2: (stock.outline.area() * 100.0).round() / 100.0,
        largest_rectangle: rectangle.map(|b| [b.min.x, b.min.y, b.max.x, b.max.y].map(rounded)),
    };
    let mut text = serde_json::to_string(&written).expect("numbers and texts are always JSON");
    text.push('\n');
    text
}

/// The cloth and the remnant written in `bytes`; its margin is `margin`.
///
/// The outline is moved so that the corner of its box is the origin.
///
/// # Errors
/// [`RemnantError`] if it is no remnant file, of a later version, or without cloth.
pub fn read_remnant(bytes: &[u8], margin: Length) -> Result<(String, Stock), RemnantError> {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let written: Written =
        serde_json::from_slice(text).map_err(|e| RemnantError::Unreadable(e.to_string()))?;
    if written.warpwise_remnant != VERSION {
        return Err(RemnantError::Version(written.warpwise_remnant));
    }
    if written.units != "mm" {
        return Err(RemnantError::Units(written.units));
    }
    let outline = outline(
        &written.outline.outer,
        &written.outline.openings,
        "the edge",
    )?;
    let shift = Point::default() - outline.bounds().min;
    let flaws = written.flaws.iter().map(|flaw| {
        let area = self::outline(&flaw.outer, &flaw.openings, "a flaw")?;
        if !(flaw.margin.is_finite() && flaw.margin >= 0.0) {
            return Err(RemnantError::Outline("the margin of a flaw"));
        }
        Ok(Flaw {
            area: area.shifted(shift),
            margin: Length::mm(flaw.margin),
        })
    });
    let stock = Stock {
        name: written.name,
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

fn rounded(value: f64) -> f64 {
    (value * SCALE).round() / SCALE + 0.0
}

fn outline(
    outer: &[[f64; 2]],
    openings: &[Vec<[f64; 2]>],
    what: &'static str,
) -> Result<Outline, RemnantError> {
    let ring = |points: &[[f64; 2]]| {
        Ring::new(points.iter().map(|p| Point::new(p[0], p[1])))
            .ok()
            .filter(|ring| ring.crossing().is_none())
            .ok_or(RemnantError::Outline(what))
    };
    let outline = Outline {
        outer: ring(outer)?,
        openings: openings.iter().map(|o| ring(o)).collect::<Result<_, _>>()?,
    };
    let is_within = |o: &Ring| outline.outer.contains(o.points()[0]);
    if outline.openings.iter().all(is_within)
        && outline.crossing().is_none()
        && outline.area() > 0.0
    {
        Ok(outline)
    } else {
        Err(RemnantError::Outline(what))
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
