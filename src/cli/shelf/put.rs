//! `warpwise shelf --put`, `--cloth`: rolls and remnants come onto a shelf.

use std::path::Path;

use super::{event, input, unwritten};
use crate::cli::args::ShelfOptions;
use crate::cli::writing::HeldShelf;
use crate::cli::{Failure, input as files, messages};
use crate::cloth::{Selvedges, Stock, read_remnant, remnant_file, usable_rectangle};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{Bounds, Outline, Placement, Point, Turn};
use crate::pattern::Settings;
use crate::shelf::{Deed, Journal, Remnant, is_name, plain};
use crate::units::{Angle, Area, Length};

pub(super) fn run(options: &ShelfOptions) -> Result<(), Failure> {
    let mut found = Vec::new();
    for file in &options.put {
        found.push(read(file).map_err(|why| input(why.into()))?);
    }
    if let Some(cloth) = &options.cloth {
        let outline = match &options.drawing {
            Some(file) => drawn(file).map_err(input)?,
            None => measured(options).map_err(|why| input(why.into()))?,
        };
        found.push((cloth.clone(), of_shape(options, outline)));
    }
    let mut held = HeldShelf::hold(&options.folder).map_err(unwritten)?;
    let mut event = event(Deed::Put, "", options.who.as_deref());
    let mut texts = Vec::new();
    let mut told = String::new();
    for (cloth, mut stock) in found {
        if !is_name(&cloth) {
            let problem = Diagnostic::error(format!("no cloth can be called `{cloth}`"));
            let help = "use letters, digits, `-`, `_` and `.`, as a job does";
            return Err(input(problem.help(help).into()));
        }
        if stock.name.is_empty() || options.rename {
            stock.name = free_name(&held.view.journal, &cloth, &event.on);
        } else if !is_name(&stock.name) {
            let problem = Diagnostic::error(format!("no label can say `{}`", stock.name));
            let help = "`--rename` gives it the next free name of its cloth";
            return Err(input(problem.help(help).into()));
        }
        if let Some(lot) = &options.lot {
            stock.lot = Some(plain(lot));
        }
        let area = Area::mm2(stock.outline.area());
        let text = remnant_file(&cloth, &stock, usable_rectangle(&stock, 0.0));
        told.push_str(&format!(
            "on the shelf: {} ({cloth}, {} × {}); write the name on its label\n",
            stock.name,
            Length::mm(stock.length()).in_mm_and_inches(),
            Length::mm(stock.width()).in_mm_and_inches()
        ));
        event
            .on
            .push(Remnant::new(&stock.name, &cloth, area, stock.lot.clone()));
        texts.push((stock.name, text));
    }
    held.book(event, &texts).map_err(input)?;
    if !options.quiet {
        messages::print(&told);
    }
    Ok(())
}

/// The cloth and the remnant in `file`.
fn read(file: &Path) -> Result<(String, Stock), Diagnostic> {
    let refused = |why: String| {
        Diagnostic::error(why)
            .at(Place::File(file.display().to_string()))
            .help("name a remnant file that a plan wrote into `stock/`, or measure: `--cloth NAME --length L --width W`")
    };
    let text = files::read_text(file, "remnant file")?;
    read_remnant(text.as_bytes(), Length::ZERO).map_err(|why| refused(why.to_string()))
}

/// The one outline of a drawing, its corner at the origin.
fn drawn(file: &Path) -> Result<Outline, Diagnostics> {
    let name = file.display().to_string();
    let read = files::read_pattern_file(file, &Settings::default())?;
    let chosen = read.only().map_err(|_| {
        let message = format!("{name} does not hold one outline alone");
        Diagnostic::error(message)
            .at(Place::File(name.clone()))
            .help("draw the edge of the piece and its holes, the warp along x; nothing else closed beside it")
    })?;
    let shift = Point::default() - chosen.outline.bounds().min;
    Ok(Placement {
        turn: Turn::rotation(Angle::ZERO),
        shift,
    }
    .outline(&chosen.outline)
    .rounded())
}

/// A rectangle as it was measured.
fn measured(options: &ShelfOptions) -> Result<Outline, Diagnostic> {
    let no_area = || {
        Diagnostic::error("a remnant needs a length and a width above zero, of a kilometre at most")
            .help("for example `--length \"900 mm\" --width \"400 mm\"`; the length is along the warp")
    };
    let size = options.length.zip(options.width).ok_or_else(no_area)?;
    let (length, width) = (size.0.to_mm(), size.1.to_mm());
    const LONGEST_MM: f64 = 1e6;
    let is_possible = |mm: f64| mm > 0.0 && mm <= LONGEST_MM;
    let bounds = Bounds {
        min: Point::default(),
        max: Point::new(length, width),
    };
    let outline = bounds
        .outline()
        .filter(|_| is_possible(length) && is_possible(width));
    Ok(outline.ok_or_else(no_area)?.rounded())
}

/// What is put on the shelf with this `outline`.
fn of_shape(options: &ShelfOptions, outline: Outline) -> Stock {
    Stock {
        name: options.name.clone().unwrap_or_default(),
        outline,
        selvedges: match options.roll {
            true => Selvedges::BOTH,
            false => Selvedges::default(),
        },
        margin: Length::ZERO,
        flaws: Vec::new(),
        lot: None,
        is_on_shelf: true,
    }
}

/// The next free name of a remnant of `cloth`, beside those in `more`.
fn free_name(journal: &Journal, cloth: &str, more: &[Remnant]) -> String {
    let mut names = (journal.next_number(cloth, "")..).map(|n| format!("{cloth}-r{n}"));
    let is_free = |name: &String| {
        more.iter()
            .all(|other| !other.name.eq_ignore_ascii_case(name))
    };
    names.find(is_free).unwrap_or_default()
}
