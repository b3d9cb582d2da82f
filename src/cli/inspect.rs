//! `warpwise inspect`: what pattern files hold.

use super::args::InspectOptions;
use super::progress::Busy;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::Diagnostics;
use crate::output::Picture;
use crate::pattern::inspect::Inspection;
use crate::pattern::{CrossingRule, Hatches, Pattern, Settings};
use crate::photo::PhotoSettings;

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
        },
        ..Settings::default()
    }
}

pub(super) fn run(options: &InspectOptions) -> Result<(), Failure> {
    let settings = settings(options);
    let busy = Busy::new("reading", options.quiet);
    let read: Vec<(String, Result<Pattern, Diagnostics>)> = options
        .patterns
        .iter()
        .map(|path| {
            let read = input::read_pattern_file(path, &settings);
            (path.display().to_string(), read)
        })
        .collect();
    drop(busy);
    let mut failed = false;
    for (_, read) in &read {
        let problems = match read {
            Ok(pattern) => pattern.problems(),
            Err(problems) => problems,
        };
        messages::show_all(problems);
        failed |= problems.has_errors();
    }
    let inspection = Inspection::of(read.iter().map(|(path, read)| (path.as_str(), read)));
    write_pictures(options, &read)?;
    if options.json {
        messages::print_json(&inspection);
    } else if !options.quiet {
        messages::print(&inspection.table());
    }
    if failed { Err(Failure::Input) } else { Ok(()) }
}

/// Writes the picture of the files where the options ask for it.
fn write_pictures(
    options: &InspectOptions,
    read: &[(String, Result<Pattern, Diagnostics>)],
) -> Result<(), Failure> {
    if options.svg.is_none() && options.png.is_none() {
        return Ok(());
    }
    let files: Vec<_> = read
        .iter()
        .map(|(path, read)| read.as_ref().map_err(|problems| (path.as_str(), problems)))
        .collect();
    let picture = Picture::of(&files);
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
