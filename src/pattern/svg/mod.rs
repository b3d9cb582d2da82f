//! SVG files → strokes in the pattern frame.
//!
//! The tree is walked from the page down ([`walk`]); [`size`] finds the page's true size, [`style`] (with the rules of [`sheet`])
//! what is hidden, moved and coloured, [`path`] and [`shapes`] draw. Meaning of elements and attributes: SVG 1.1 (Second
//! Edition); lengths: CSS Values and Units 3. Widths, clipping and everything that only
//! paints is not read.

mod guard;
mod path;
mod shapes;
mod sheet;
mod size;
mod style;
mod transform;
mod walk;

use encoding_rs::{Encoding, UTF_8};
use roxmltree::{Document, ParsingOptions};

use super::flatten::Chords;
use super::shape::RawDrawing;
use super::{Format, Settings};
use crate::diag::{Diagnostic, Diagnostics, Place};

/// Elements, texts and comments that a file may hold.
const MOST_NODES: u32 = 4_000_000;

/// The namespace of SVG elements.
const SVG: &str = "http://www.w3.org/2000/svg";

/// Whether `bytes` look like SVG: text whose first element is `svg`, or any XML.
pub(super) fn is_svg(bytes: &[u8]) -> bool {
    let head = decode(&bytes[..bytes.len().min(4096)]);
    let head = head.trim_start();
    head.starts_with("<?xml") || head.starts_with("<svg") || head.contains("<svg")
}

/// Reads an SVG file.
///
/// # Errors
/// Text that is no XML, or XML that is no SVG.
pub(super) fn read(
    file: &str,
    bytes: &[u8],
    settings: &Settings,
) -> Result<RawDrawing, Diagnostics> {
    let text = decode(bytes);
    guard::check(&text).map_err(|problem| problem.at(Place::File(file.to_owned())))?;
    let options = ParsingOptions {
        // Some editors keep namespaces in entities; entity bombs are refused by the parser.
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(&text, options).map_err(|error| {
        let line = error.pos().row as usize;
        Diagnostics::from(
            Diagnostic::error(format!("the file is not well-formed XML: {error}"))
                .at(Place::Line {
                    file: file.to_owned(),
                    line,
                })
                .help("export the drawing again; the file may have been cut short or edited"),
        )
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        let message = format!(
            "this is XML, but no SVG: it holds <{}>",
            root.tag_name().name()
        );
        return Err(Diagnostic::error(message)
            .at(Place::File(file.to_owned()))
            .into());
    }
    let mut problems = Diagnostics::new();
    let page = size::page(file, root, settings, &mut problems);
    let drawing = RawDrawing::new(
        file,
        Format::Svg,
        page.unit,
        settings,
        bytes.len(),
        problems,
    );
    let chords = Chords::new(settings.tolerance.chord, drawing.room());
    let mut drawing = walk::walk(&document, &page, &chords, drawing);
    drawing.largest_off_mm = chords.largest_mm();
    drawing.circles = chords.take_circles();
    Ok(drawing)
}

/// The text of the file, by its byte-order mark or the encoding its XML declaration names.
fn decode(bytes: &[u8]) -> String {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        return encoding
            .decode_without_bom_handling(&bytes[mark..])
            .0
            .into_owned();
    }
    let declaration = &bytes[..bytes.len().min(200)];
    let declaration = String::from_utf8_lossy(declaration);
    let named = declaration
        .strip_prefix("<?xml")
        .and_then(|d| d.split_once("?>"))
        .and_then(|(d, _)| d.split_once("encoding"))
        .and_then(|(_, d)| d.split(['"', '\'']).nth(1))
        .and_then(|label| Encoding::for_label(label.as_bytes()));
    let encoding = named.unwrap_or(UTF_8);
    encoding.decode_without_bom_handling(bytes).0.into_owned()
}
