//! True-scale paper patterns of every different piece.
//!
//! A first page to check the printer by, a list, an assembly map of everything that takes several
//! sheets, then the sheets: large pieces on overlapping sheets with seams and matching marks, others
//! nested beside them or together. Plies that differ only in cloth or direction of the warp share a
//! template. Pieces are shown as they lie on the mould, seen from the bag side.

mod arrows;
mod cover;
mod drawing;
mod labels;
mod paper;
mod raster;
mod shape;
mod sharing;
mod tags;
mod tiling;

use cover::{CoverEntry, list_pages, map_pages};
use drawing::draw_sheets;
use paper::PatternPaper;
use shape::{Template, templates, trim_templates};
use sharing::share;
use tiling::Tiling;

use crate::diag::Diagnostic;
use crate::job::Paper;
use crate::output::drawing::page::Page;
use crate::plan::Plan;
use crate::units::Length;

/// What templates are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::output) enum Purpose {
    /// To cut the pieces by.
    Cut,
    /// To trim and drill the finished parts by.
    Trim,
}

/// Paper patterns.
pub(in crate::output) struct Patterns {
    /// A first page, a list, maps, and the sheets; none if there is nothing to draw.
    pub(in crate::output) pages: Vec<Page>,
    /// How many of the pages are sheets with patterns.
    pub(in crate::output) n_sheets: usize,
}

/// The paper patterns of `plan`.
pub(in crate::output) fn patterns(plan: &Plan, purpose: Purpose) -> Patterns {
    let paper = PatternPaper::of(plan.outputs().paper, plan);
    let templates = made(plan, purpose);
    if templates.is_empty() {
        return Patterns {
            pages: Vec::new(),
            n_sheets: 0,
        };
    }
    let tilings = share(&templates, paper.tile, purpose);
    // Those that take several sheets come first.
    let n_tiled = tilings.iter().filter(|t| t.cells.len() > 1).count();
    let n_rows = templates.iter().map(|t| t.lays.len()).sum();
    let n_front = 1 + list_pages(&paper, n_rows) + map_pages(&paper, n_tiled);
    let n_sheets = n_sheets(&tilings);
    let n_pages = n_front + n_sheets;
    let mut first_pages = Vec::new();
    let mut next = n_front + 1;
    for tiling in &tilings {
        first_pages.push(next);
        next += tiling.cells.len();
    }
    let entries = entries(&templates, &tilings, &first_pages);
    let maps: Vec<(&Tiling, usize)> = tilings.iter().zip(first_pages).collect();
    let mut pages = vec![cover::draw_cover(
        plan, &paper, &templates, n_pages, purpose,
    )];
    pages.extend(cover::draw_list(&paper, &entries));
    pages.extend(cover::draw_maps(&paper, &maps[..n_tiled]));
    for (i, &(tiling, first)) in maps.iter().enumerate() {
        pages.extend(draw_sheets(&paper, (i + 1, tiling), (first, n_pages)));
    }
    Patterns { pages, n_sheets }
}

fn made(plan: &Plan, purpose: Purpose) -> Vec<Template> {
    match purpose {
        Purpose::Cut => templates(plan),
        Purpose::Trim => trim_templates(plan),
    }
}

fn n_sheets(tilings: &[Tiling]) -> usize {
    tilings.iter().map(|tiling| tiling.cells.len()).sum()
}

/// From so many sheets on a wider paper is worth a walk to the print shop (common practice, no source).
const MANY_SHEETS: usize = 40;

/// Pieces whose templates are laid on wider paper too, to count its sheets: of more that takes as long as all templates do.
const MOST_COUNTED: usize = 50;

/// Warns of templates of `n_own` sheets that are many to tape, and says what wider paper takes.
pub(in crate::output) fn many_sheets(plan: &Plan, n_own: usize) -> Option<Diagnostic> {
    let own = plan.outputs().paper;
    if n_own < MANY_SHEETS {
        return None;
    }
    let n_pieces = plan.layouts().iter().map(|layout| layout.pieces().len());
    let ways = match n_pieces.sum::<usize>() <= MOST_COUNTED {
        true => counted_on_wider(plan),
        false => guessed_on_wider(own, n_own),
    };
    let message = format!("the templates take {n_own} sheets of {}", own.name());
    let help = match &ways[..] {
        [] => "cut with the list for cutting by hand, or order pieces cut".to_owned(),
        ways => format!("{}; print shops have such rolls", ways.join(", ")),
    };
    Some(Diagnostic::warning(message).help(help))
}

fn is_wider(paper: Paper, own: Paper) -> bool {
    paper.size().0 > own.size().0
}

/// Rolls of print shops: their names, and their widths in inches.
const ROLLS: [(&str, f64); 2] = [("roll 24 in", 24.0), ("roll 36 in", 36.0)];

/// What the templates take on wider paper.
fn counted_on_wider(plan: &Plan) -> Vec<String> {
    let own = plan.outputs().paper;
    let templates = made(plan, Purpose::Cut);
    let n_on = |paper: Paper| {
        let tile = PatternPaper::of(paper, plan).tile;
        n_sheets(&share(&templates, tile, Purpose::Cut))
    };
    let sheets = Some(Paper::A3).filter(|a3| is_wider(*a3, own));
    let sheets = sheets.map(|a3| format!("`paper = \"A3\"` takes {} sheets", n_on(a3)));
    let rolls = ROLLS.into_iter().filter_map(|(name, inches)| {
        let roll = Some(Paper::Roll(Length::inches(inches))).filter(|roll| is_wider(*roll, own))?;
        let n = n_on(roll);
        let strips = if n == 1 { "strip" } else { "strips" };
        Some(format!("`paper = \"{name}\"` {n} {strips}"))
    });
    sheets.into_iter().chain(rolls).collect()
}

/// About what templates of `n_own` sheets of `own` take on wider paper.
fn guessed_on_wider(own: Paper, n_own: usize) -> Vec<String> {
    let area = |paper: Paper| paper.size().1.map(|height| paper.size().0 * height);
    let smaller = area(own).zip(area(Paper::A3)).map_or(1.0, |(a, b)| a / b);
    let n = (n_own as f64 * smaller).ceil();
    let sheets = is_wider(Paper::A3, own);
    let sheets = sheets.then(|| format!("`paper = \"A3\"` takes about {n:.0} sheets"));
    let rolls = ROLLS.into_iter();
    let rolls = rolls.filter(|(_, inches)| is_wider(Paper::Roll(Length::inches(*inches)), own));
    let rolls = rolls.map(|(name, _)| format!("`paper = \"{name}\"` long strips"));
    sheets.into_iter().chain(rolls).collect()
}

/// The templates with the pages they are on, in their order.
fn entries<'t>(
    templates: &'t [Template],
    tilings: &[Tiling],
    first_pages: &[usize],
) -> Vec<CoverEntry<'t>> {
    let mut entries: Vec<CoverEntry<'_>> = templates
        .iter()
        .map(|template| CoverEntry {
            template,
            pages: Vec::new(),
        })
        .collect();
    for (tiling, first) in tilings.iter().zip(first_pages) {
        for placed in &tiling.templates {
            let cells = tiling.cells.iter().enumerate();
            let own = tiling.sheets_of(placed);
            entries[placed.number - 1].pages = cells
                .filter(|(_, cell)| own.contains(cell))
                .map(|(i, _)| first + i)
                .collect();
        }
    }
    entries
}
