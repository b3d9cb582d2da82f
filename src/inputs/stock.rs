//! What is on hand, as the job and the files it names say → the stock of every cloth.
//!
//! A file is a drawing (SVG or DXF, warp along x), a remnant file of an earlier plan, or a folder
//! of those; the command line reads them. Nothing here decides what is used: that is the plan's.

use std::collections::{BTreeMap, BTreeSet};

use super::{InputFile, Open, Unopened};
use crate::cloth::{Flaw, RemnantError, Selvedges, Stock, is_remnant_file, read_remnant};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, shortened};
use crate::geometry::{Bounds, Outline, Point, level_pairs};
use crate::job::{Job, OutlineChoice, StockEntry, StockShape};
use crate::pattern::{self, ChoiceError, Settings};
use crate::units::Length;

/// What is behind the paths of the job's stock, as the job writes them.
type StockFiles = BTreeMap<String, Shelf>;

/// What is behind one path.
enum Shelf {
    /// A drawing, or a remnant file.
    File(InputFile),
    /// The remnants in a folder. Its files are read one by one, and no more is kept of them.
    Folder(Vec<Remnant>),
}

/// A remnant with its cloth.
struct Remnant {
    cloth: String,
    stock: Stock,
}

/// Makes the stock of every cloth of `job` from its entries and the files that they name; whether
/// all of it could be used. What there is to be said goes to `said`.
///
/// Remnant files of other cloths in a folder are passed over; a file that is named itself must be
/// of the cloth. Every piece of stock gets a name that no other of its cloth has.
pub(super) fn put_on_shelves(job: &mut Job, open: &mut Open<'_>, said: &mut Diagnostics) -> bool {
    let Some(files) = opened(job, open, said) else {
        return false;
    };
    let mut shelves: Vec<Vec<Stock>> = vec![Vec::new(); job.cloths().len()];
    for entry in job.stock() {
        match stock_of(job, entry, &files, said) {
            Ok(found) => match found
                .iter()
                .find(|stock| is_ragged(stock, table(job, entry)))
            {
                None => shelves[entry.cloth].extend(found),
                Some(stock) => said.push(too_ragged(entry, stock)),
            },
            Err(more) => said.append(more),
        }
    }
    let place = job.shelf().map(|path| path.place.clone());
    for (cloth, mut shelf) in job.cloths_mut().iter_mut().zip(shelves) {
        for name in listed_twice(&shelf) {
            let message = format!("the remnant `{name}` of the shelf is there twice");
            let problem = Diagnostic::error(message).help(
                "a shelf is used whole: leave out the `[[cloth.NAME.stock]]` with its folder or file",
            );
            said.push(match &place {
                Some(place) => problem.at(place.clone()),
                None => problem,
            });
        }
        name_apart(&mut shelf, &cloth.name);
        cloth.supply.stock = shelf;
    }
    !said.has_errors()
}

/// Every file of the job's stock, or `None` if one cannot be opened.
fn opened(job: &Job, open: &mut Open<'_>, said: &mut Diagnostics) -> Option<StockFiles> {
    let mut files = StockFiles::new();
    let mut is_whole = true;
    for entry in job.stock() {
        let (StockShape::File { path, .. } | StockShape::Shelf { path }) = &entry.shape else {
            continue;
        };
        if files.contains_key(&path.value) {
            continue;
        }
        let found = match open(&path.value) {
            Ok(found) => found,
            Err(why) => {
                is_whole = false;
                said.push(why.diagnostic("the stock", path));
                continue;
            }
        };
        let shelf = match <[InputFile; 1]>::try_from(found) {
            Ok([file]) if !file.in_folder => Shelf::File(file),
            Ok([file]) => Shelf::Folder(remnants(vec![file], open, said)),
            Err(found) => Shelf::Folder(remnants(found, open, said)),
        };
        files.insert(path.value.clone(), shelf);
    }
    (is_whole && !said.has_errors()).then_some(files)
}

/// The remnants in the files of a folder; what cannot be read goes to `said` with its name.
fn remnants(named: Vec<InputFile>, open: &mut Open<'_>, said: &mut Diagnostics) -> Vec<Remnant> {
    let mut found = Vec::new();
    for InputFile { name, .. } in named {
        let opened = open(&name).and_then(|files| match &files[..] {
            [file] if !file.in_folder => Ok(remnant(file)),
            _ => Err(Unopened::from("it is a folder")),
        });
        match opened {
            Ok(Ok(one)) => found.push(one),
            Ok(Err(problem)) => said.push(problem),
            Err(why) => {
                let message = format!("the remnant cannot be read: {}", why.why);
                said.push(Diagnostic::error(message).at(Place::File(name)));
            }
        }
    }
    found
}

fn stock_of(
    job: &Job,
    entry: &StockEntry,
    files: &StockFiles,
    problems: &mut Diagnostics,
) -> Result<Vec<Stock>, Diagnostics> {
    let cloth = &job.cloths()[entry.cloth];
    let rectangle = |length: Length, width: Length, selvedges| {
        let bounds = Bounds {
            min: Point::default(),
            max: Point::new(length.to_mm(), width.to_mm()),
        };
        let outline = bounds
            .outline()
            .ok_or_else(|| Diagnostic::error("the stock has no area").at(entry.place.clone()))?;
        Ok(vec![finished(entry, outline, selvedges, Vec::new())])
    };
    match &entry.shape {
        StockShape::Roll { length } => rectangle(*length, cloth.roll_width, Selvedges::BOTH),
        StockShape::Rectangle { length, width } => rectangle(*length, *width, Selvedges::default()),
        StockShape::Shelf { path } => {
            let Some(Shelf::Folder(remnants)) = files.get(&path.value) else {
                return Ok(Vec::new());
            };
            let own = remnants.iter().filter(|r| r.cloth == cloth.name);
            let own = own.map(|remnant| Stock {
                is_on_shelf: true,
                ..of_entry(entry, remnant.stock.clone())
            });
            Ok(own.collect())
        }
        StockShape::File {
            path,
            outline,
            reading,
        } => {
            let mut stock = Vec::new();
            match files.get(&path.value) {
                Some(Shelf::File(file)) if is_remnant_file(&file.bytes) => {
                    stock.push(remnant_of(entry, &cloth.name, file)?);
                }
                Some(Shelf::File(file)) => {
                    stock.push(drawn(entry, file, outline, reading, problems)?);
                }
                Some(Shelf::Folder(remnants)) => {
                    let own = remnants.iter().filter(|r| r.cloth == cloth.name);
                    stock.extend(own.map(|r| of_entry(entry, r.stock.clone())));
                }
                None => {}
            }
            if let Some(most) = stock.iter().find(|stock| is_endless(stock)) {
                let longest = Length::mm(most.length().max(most.width()));
                let message = format!(
                    "this stock is impossibly large: {}",
                    longest.in_metres_and_yards()
                );
                return Err(Diagnostic::error(message)
                    .at(path.place.clone())
                    .help("is its unit right? Stock is no longer than 1 km (1094 yd)")
                    .into());
            }
            if stock.is_empty() {
                problems.push(
                    Diagnostic::warning(format!("no stock of `{}` was found there", cloth.name))
                        .at(path.place.clone())
                        .help("a folder is searched for remnant files (.json) of this cloth"),
                );
            }
            Ok(stock)
        }
    }
}

/// Whether no shelf holds `stock`: it is longer than a kilometre, the most that is taken of a roll on
/// hand.
fn is_endless(stock: &Stock) -> bool {
    const LONGEST_MM: f64 = 1e6;
    stock.length().max(stock.width()) > LONGEST_MM
}

/// Pairs of a corner and an edge beside it that any stock may have, and how many more for each corner.
/// More: a small file of teeth or flaws beside each other takes minutes to plan with; fewer: a frayed edge
/// that was traced with care is refused.
const PAIRS_OF_ANY_STOCK: usize = 2_000_000;
const PAIRS_PER_CORNER: usize = 1000;

/// Flaws that all frames of the table may hold of any stock, one that lies in several counted in each.
const FLAWS_IN_FRAMES: f64 = 10_000.0;

/// The length of the table that the cloth of `entry` is cut on.
fn table(job: &Job, entry: &StockEntry) -> Option<Length> {
    job.cloths()[entry.cloth].supply.table
}

/// Whether so much of the edge and the flaws of `stock` lies beside each other, or in so many frames of
/// `table`, that planning with it takes longer than it is worth.
fn is_ragged(stock: &Stock, table: Option<Length>) -> bool {
    let frames = table.map_or(1.0, |table| stock.length() / table.to_mm());
    let frames_of = |flaw: &Flaw| {
        let length = flaw.area.bounds().width() + 2.0 * flaw.margin.to_mm();
        table
            .map_or(1.0, |table| length / table.to_mm())
            .min(frames)
            + 1.0
    };
    if stock.flaws.iter().map(frames_of).sum::<f64>() > FLAWS_IN_FRAMES {
        return true;
    }
    let flaws = (stock.flaws.iter()).map(|flaw| (&flaw.area, flaw.margin.to_mm()));
    let margin = stock.margin.to_mm();
    let outlines: Vec<(&Outline, f64)> = flaws.chain([(&stock.outline, margin)]).collect();
    level_pairs(&outlines) > PAIRS_OF_ANY_STOCK + PAIRS_PER_CORNER * corners(stock)
}

/// How many corners its edge and its flaws have.
fn corners(stock: &Stock) -> usize {
    let outlines = (stock.flaws.iter().map(|flaw| &flaw.area)).chain([&stock.outline]);
    let rings = outlines.flat_map(Outline::rings);
    rings.map(|ring| ring.points().len()).sum()
}

fn too_ragged(entry: &StockEntry, stock: &Stock) -> Diagnostic {
    let name = match stock.name.as_str() {
        "" => "this stock".to_owned(),
        name => format!("the stock `{}`", shortened(name, 40)),
    };
    let message = format!(
        "{name} is too ragged to plan with: its edge and its flaws have {} corners, too many of \
         them beside each other",
        corners(stock)
    );
    Diagnostic::error(message)
        .at(entry.place.clone())
        .help("draw a plain line around frayed edges, and one around flaws that lie together")
}

/// The stock in a remnant file that is named itself, which must be of `cloth`.
fn remnant_of(entry: &StockEntry, cloth: &str, file: &InputFile) -> Result<Stock, Diagnostic> {
    let Remnant { cloth: of, stock } = remnant(file)?;
    if of != cloth {
        let message = format!("the remnant is of cloth `{of}`, not of `{cloth}`");
        return Err(Diagnostic::error(message)
            .at(Place::File(file.name.clone()))
            .help("list it under the cloth it was cut from"));
    }
    let mut stock = of_entry(entry, stock);
    if let Some(name) = &entry.name {
        stock.name.clone_from(name);
    }
    Ok(stock)
}

/// The remnant in `file`, without what the job says of it.
fn remnant(file: &InputFile) -> Result<Remnant, Diagnostic> {
    let (cloth, stock) = read_remnant(&file.bytes, Length::ZERO).map_err(|e| {
        let help = match e {
            RemnantError::Version(_) => "a newer warpwise wrote it; use that one",
            RemnantError::TooLarge(_) => "no cloth is so large; is the file whole?",
            _ => "name a drawing (SVG, DXF) or a remnant file that a plan wrote into `stock/`",
        };
        let place = Place::File(file.name.clone());
        Diagnostic::error(e.to_string()).at(place).help(help)
    })?;
    Ok(Remnant { cloth, stock })
}

/// `stock` with the margin and the flaws that the job gives it.
fn of_entry(entry: &StockEntry, mut stock: Stock) -> Stock {
    stock.margin = entry.margin;
    stock.flaws.extend(entry.flaws.iter().cloned());
    stock
}

/// The stock that a drawing shows: the chosen outline, its openings cut out already.
fn drawn(
    entry: &StockEntry,
    file: &InputFile,
    choice: &OutlineChoice,
    reading: &Settings,
    problems: &mut Diagnostics,
) -> Result<Stock, Diagnostics> {
    let read = pattern::read(&file.name, &file.bytes, reading)?;
    problems.append(read.problems().at_least(Severity::Warning));
    let chosen = match choice {
        OutlineChoice::Only => read.only(),
        OutlineChoice::Named(named) => read.choose(&named.value),
    };
    let chosen = chosen.map_err(|error| {
        let (message, help) = match error {
            ChoiceError::Unknown { name, known } => (
                format!("{} holds no layer, label or id `{name}`", read.file()),
                format!("there are {}", known.join(", ")),
            ),
            ChoiceError::Ambiguous { name, ids } => (
                format!("`{name}` fits {} outlines in {}", ids.len(), read.file()),
                format!("name one of them: {}", ids.join(", ")),
            ),
            ChoiceError::NotOnly { ids } => (
                format!("{} holds {} outlines", read.file(), ids.len()),
                format!("add `outline = \"…\"` with one of {}", ids.join(", ")),
            ),
        };
        Diagnostic::error(message)
            .at(entry.place.clone())
            .help(help)
    })?;
    let outline = &chosen.outline;
    let shift = Point::default() - outline.bounds().min;
    Ok(finished(
        entry,
        outline.shifted(shift).rounded(),
        Selvedges::default(),
        Vec::new(),
    ))
}

fn finished(
    entry: &StockEntry,
    outline: Outline,
    selvedges: Selvedges,
    mut flaws: Vec<Flaw>,
) -> Stock {
    flaws.extend(entry.flaws.iter().cloned());
    Stock {
        name: entry.name.clone().unwrap_or_default(),
        outline,
        selvedges,
        margin: entry.margin,
        flaws,
        lot: None,
        is_on_shelf: false,
    }
}

/// The remnants of the shelf that are there twice: their cloth would be cut twice.
fn listed_twice(stock: &[Stock]) -> Vec<String> {
    let is_same = |a: &Stock, b: &Stock| {
        (a.is_on_shelf || b.is_on_shelf) && a.name.eq_ignore_ascii_case(&b.name)
    };
    (stock.iter().enumerate())
        .filter(|(idx, one)| stock[..*idx].iter().any(|other| is_same(one, other)))
        .map(|(_, one)| one.name.clone())
        .collect()
}

/// Gives the nameless a name, and every other a name of its own.
fn name_apart(shelf: &mut [Stock], cloth: &str) {
    let mut taken: BTreeSet<String> = BTreeSet::new();
    for stock in shelf.iter_mut().filter(|stock| !stock.name.is_empty()) {
        let given = stock.name.clone();
        let mut n = 2;
        while !taken.insert(stock.name.to_lowercase()) {
            stock.name = format!("{given}_{n}");
            n += 1;
        }
    }
    let mut n = 1;
    for stock in shelf.iter_mut().filter(|stock| stock.name.is_empty()) {
        loop {
            stock.name = format!("{cloth}-s{n}");
            n += 1;
            if taken.insert(stock.name.to_lowercase()) {
                break;
            }
        }
    }
}
