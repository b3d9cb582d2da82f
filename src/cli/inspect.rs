//! `warpwise inspect`: what pattern files and moulds hold.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::args::InspectOptions;
use super::progress::Busy;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Diagnostics};
use crate::mould::{Mould, MouldInspection};
use crate::output::{self, Picture};
use crate::pattern::inspect::{FileInspection, Inspection};
use crate::pattern::{CrossingRule, Hatches, Pattern, Settings};
use crate::photo::{self, PhotoFile, PhotoSettings};
use crate::units::LengthUnit;

/// How the files are to be read.
fn settings(options: &InspectOptions) -> Settings {
    Settings {
        unit: options.units,
        dpi: options.dpi,
        hatches: match options.hatches {
            true => Hatches::Outlines,
            false => Hatches::LeftOut,
        },
        crossing: match options.split {
            true => CrossingRule::Split,
            false => CrossingRule::Refuse,
        },
        photo: PhotoSettings {
            measured: [options.board_width, options.board_height],
            thickness: options.template_thickness,
            scan_dpi: options.scan_dpi,
            ..PhotoSettings::default()
        },
        ..Settings::default()
    }
}

/// What was read of the files: drawings, and moulds.
struct Read {
    drawings: Vec<(String, Result<Pattern, Diagnostics>)>,
    moulds: Vec<Mould>,
    /// Whether a mould could not be read.
    failed: bool,
}

/// What they hold, as JSON.
#[derive(Serialize)]
struct Held<'a> {
    files: &'a [FileInspection],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    moulds: Vec<MouldInspection>,
}

pub(super) fn run(options: &InspectOptions) -> Result<(), Failure> {
    let read = read(options);
    let mut failed = read.failed;
    for (_, read) in &read.drawings {
        let problems = match read {
            Ok(pattern) => pattern.problems(),
            Err(problems) => problems,
        };
        messages::show_all(problems);
        failed |= problems.has_errors();
    }
    let drawings = read.drawings.iter();
    let inspection = Inspection::of(drawings.map(|(path, read)| (path.as_str(), read)));
    let unit = options.units.unwrap_or(LengthUnit::Millimetre);
    let moulds = read.moulds.iter();
    let moulds = moulds.map(|mould| mould.inspect(unit.symbol(), options.units.is_some()));
    let held = Held {
        files: &inspection.files,
        moulds: moulds.collect(),
    };
    write_pictures(options, &read)?;
    if let Some(path) = &options.over {
        write_photograph(options, path)?;
    }
    if let Some(path) = &options.outline {
        write_outlines(options, &read, path)?;
    }
    if options.json {
        messages::print_json(&held);
    } else if !options.quiet {
        let tables = held.moulds.iter().map(MouldInspection::table);
        let drawings = (!held.files.is_empty()).then(|| inspection.table());
        let tables: Vec<String> = drawings.into_iter().chain(tables).collect();
        messages::print(&tables.join("\n"));
    }
    if failed { Err(Failure::Input) } else { Ok(()) }
}

/// Reads the files; what is to be said of moulds is said.
fn read(options: &InspectOptions) -> Read {
    let settings = settings(options);
    let busy = Busy::new("reading", options.quiet);
    let (moulds, drawings): (Vec<&PathBuf>, Vec<_>) = options
        .patterns
        .iter()
        .partition(|path| input::is_mould(path));
    let drawings = match drawings.first() {
        Some(first) if options.join => {
            let read = input::read_joined_photographs(&drawings, &settings);
            vec![(first.display().to_string(), read)]
        }
        _ => {
            let each = drawings.into_iter().map(|path| {
                let read = input::read_pattern_file(path, &settings);
                (path.display().to_string(), read)
            });
            each.collect()
        }
    };
    let moulds: Vec<_> = (moulds.into_iter())
        .map(|path| input::read_mould_file(path, options.units))
        .collect();
    drop(busy);
    let mut read = Read {
        drawings,
        moulds: Vec::new(),
        failed: false,
    };
    for mould in moulds {
        match mould {
            Ok((mould, said)) => {
                messages::show_all(&said);
                read.moulds.push(mould);
            }
            Err(problems) => {
                messages::show_all(&problems);
                read.failed = true;
            }
        }
    }
    read
}

/// Writes the outlines of the one drawing as SVG to `path`.
fn write_outlines(options: &InspectOptions, read: &Read, path: &Path) -> Result<(), Failure> {
    let [(_, drawing)] = &read.drawings[..] else {
        let message = "`--outline` writes the outlines of one drawing or photograph";
        let help = "name one file";
        messages::show_all(&Diagnostic::error(message).help(help).into());
        return Err(Failure::Input);
    };
    // Why there are none was told when it was read.
    let svg = drawing.as_ref().ok().and_then(output::outlines_svg);
    let Some(svg) = svg else {
        return Ok(());
    };
    let svg = format!("{svg}<!-- written by warpwise -->\n");
    let existing = Existing::replaced(options.replace);
    write_file(path, svg.as_bytes(), existing, &options.patterns)
}

/// Writes the photograph with the outline over it to `path`.
fn write_photograph(options: &InspectOptions, path: &Path) -> Result<(), Failure> {
    let refused = |problems: Diagnostics| {
        messages::show_all(&problems);
        Failure::Input
    };
    if options.patterns.len() > 1 && !options.join {
        let message = "`--over` shows one photograph, or several that are joined";
        let help = "name one file, or join them with `--join`";
        return Err(refused(Diagnostic::error(message).help(help).into()));
    }
    let files: Result<Vec<_>, Diagnostics> = (options.patterns.iter())
        .map(|path| Ok((path.display().to_string(), input::read_picture(path)?)))
        .collect();
    let files = files.map_err(refused)?;
    let files: Vec<PhotoFile<'_>> = (files.iter())
        .map(|(name, bytes)| PhotoFile::new(name, bytes))
        .collect();
    let shown = photo::rectified(&files, &settings(options).photo, Picture::PHOTOGRAPH);
    // What cannot be decoded was told when it was read.
    let Ok(shown) = shown else { return Ok(()) };
    let picture = Picture::of_photograph(files[0].name, shown);
    let png = picture
        .png()
        .expect("a picture has a size and encodes into memory");
    write_file(
        path,
        &png,
        Existing::replaced(options.replace),
        &options.patterns,
    )
}

/// Writes the picture of the files where the options ask for it.
fn write_pictures(options: &InspectOptions, read: &Read) -> Result<(), Failure> {
    if options.svg.is_none() && options.png.is_none() {
        return Ok(());
    }
    let files: Vec<_> = (read.drawings.iter())
        .map(|(path, read)| read.as_ref().map_err(|problems| (path.as_str(), problems)))
        .collect();
    let picture = Picture::of(&files).with_moulds(&read.moulds);
    let existing = Existing::replaced(options.replace);
    let write = |path, bytes: &[u8]| write_file(path, bytes, existing, &options.patterns);
    if let Some(path) = &options.svg {
        let svg = format!("{}<!-- written by warpwise -->\n", picture.svg());
        write(path, svg.as_bytes())?;
    }
    if let Some(path) = &options.png {
        let png = picture
            .png()
            .expect("a picture has a size and encodes into memory");
        write(path, &png)?;
    }
    Ok(())
}
