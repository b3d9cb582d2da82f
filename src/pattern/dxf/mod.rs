//! DXF files, ASCII and binary, R12 and later → strokes in the pattern frame.
//!
//! The pairs are read by a flat scan of our own ([`tags`]), which knows line numbers and refuses
//! what is no number; [`document`] finds header, layers and blocks; [`reader`] runs through
//! the entities and [`entities`] draws them. Names,
//! group codes and their meaning are those of the Autodesk DXF reference. Line types, heights of
//! text and everything out of the plane are not read.

mod document;
mod entities;
mod hatch;
mod nurbs;
mod reader;
mod tags;
mod text;

use document::{Document, Records};
use reader::{EntityReader, Insertion, Level};
use tags::{BINARY_SENTINEL, TagFault, TagPlace, TagReader};

use super::affine::Affine;
use super::flatten::Chords;
use super::shape::RawDrawing;
use super::{Format, Settings, UnitFound};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::units::LengthUnit;

/// Whether `bytes` look like DXF: the binary sentinel, or a first pair of 0 SECTION or 999 comment.
pub(super) fn is_dxf(bytes: &[u8]) -> bool {
    if bytes.starts_with(BINARY_SENTINEL) {
        return true;
    }
    let first = TagReader::new(&bytes[..bytes.len().min(4096)]).next();
    matches!(first, Ok(Some(tag)) if tag.starts(b"SECTION") || tag.starts(b"EOF") || tag.code == 999)
}

/// Reads a DXF file.
///
/// # Errors
/// A file that is no sequence of pairs, or is cut short.
pub(super) fn read(
    file: &str,
    bytes: &[u8],
    settings: &Settings,
) -> Result<RawDrawing, Diagnostics> {
    let document = Document::read(bytes).map_err(|fault| Diagnostics::from(told(file, &fault)))?;
    let mut problems = Diagnostics::new();
    let (unit, mm_per_unit) = unit(file, document.unit_code, settings, &mut problems);
    let drawing = RawDrawing::new(file, Format::Dxf, unit, settings, bytes.len(), problems);
    let chords = Chords::new(settings.tolerance.chord, drawing.room());
    let mut reader = EntityReader::new(&document, &chords, settings.hatches, drawing);
    if let Some(entities) = document.entities {
        let mut level = Level::new(Insertion::top(Affine::scale(mm_per_unit, mm_per_unit)));
        let mut records = Records::new(entities);
        loop {
            match records.next() {
                Ok(Some(record)) => reader.feed(&mut level, record),
                Ok(None) => break,
                Err(fault) => return Err(told(file, &fault).into()),
            }
        }
        reader.end_polyline(&mut level);
    } else {
        let message = "this file has no ENTITIES section, so nothing is drawn in it";
        reader.drawing.problem(Diagnostic::error(message));
    }
    let mut drawing = reader.finish();
    drawing.largest_off_mm = chords.largest_mm();
    drawing.circles = chords.take_circles();
    Ok(drawing)
}

/// A fault in the pairs as a problem with its line.
fn told(file: &str, fault: &TagFault) -> Diagnostic {
    match fault.at {
        TagPlace::Line(line) => Diagnostic::error(&fault.message).at(Place::Line {
            file: file.to_owned(),
            line,
        }),
        TagPlace::Byte(offset) => {
            Diagnostic::error(format!("{} (at byte {offset})", fault.message))
                .at(Place::File(file.to_owned()))
        }
    }
}

/// The unit of the coordinates and its size in mm: the job's, else the file's, else millimetres.
fn unit(
    file: &str,
    code: Option<i64>,
    settings: &Settings,
    problems: &mut Diagnostics,
) -> (UnitFound, f64) {
    let place = Place::File(file.to_owned());
    let stated = code.and_then(unit_of_code);
    if let Some(given) = settings.unit {
        if let Some(stated) = stated.filter(|&s| s != given) {
            let message = format!("read in {given} as asked, though the file says {stated}");
            problems.push(Diagnostic::note(message).at(place));
        }
        return (UnitFound::Given(given), given.in_mm());
    }
    if let Some(stated) = stated {
        return (UnitFound::File(stated), stated.in_mm());
    }
    let message = match code {
        None | Some(0) => "the file does not say its unit ($INSUNITS); read as mm".to_owned(),
        Some(code) => format!("the file's unit ($INSUNITS {code}) is not known; read as mm"),
    };
    problems.push(
        Diagnostic::warning(message)
            .at(place)
            .help("state the unit in the job, for example `units = \"in\"`"),
    );
    (UnitFound::Assumed, 1.0)
}

/// The unit behind a `$INSUNITS` code (Autodesk DXF reference, HEADER).
fn unit_of_code(code: i64) -> Option<LengthUnit> {
    Some(match code {
        1 => LengthUnit::Inch,
        2 => LengthUnit::Foot,
        4 => LengthUnit::Millimetre,
        5 => LengthUnit::Centimetre,
        6 => LengthUnit::Metre,
        9 => LengthUnit::Mil,
        10 => LengthUnit::Yard,
        13 => LengthUnit::Micrometre,
        _ => return None,
    })
}
