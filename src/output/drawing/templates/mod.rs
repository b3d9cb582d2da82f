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
mod tiling;

use cover::{Entry, list_pages, map_pages};
use drawing::draw_sheets;
use paper::PatternPaper;
use shape::{Template, templates};
use sharing::share;
use tiling::Tiling;

use crate::output::drawing::page::Page;
use crate::plan::Plan;

/// The pages of the paper patterns of `plan`.
pub(in crate::output) fn pages(plan: &Plan) -> Vec<Page> {
    let paper = PatternPaper::of(plan.outputs(), plan.marks());
    let templates = templates(plan);
    let tilings = share(&templates, paper.tile);
    // Those that take several sheets come first.
    let n_tiled = tilings.iter().filter(|t| t.cells.len() > 1).count();
    let n_rows = templates.iter().map(|t| t.lays.len()).sum();
    let n_front = 1 + list_pages(&paper, n_rows) + map_pages(&paper, n_tiled);
    let n_pages = n_front + tilings.iter().map(|t| t.cells.len()).sum::<usize>();
    let mut first_pages = Vec::new();
    let mut next = n_front + 1;
    for tiling in &tilings {
        first_pages.push(next);
        next += tiling.cells.len();
    }
    let entries = entries(&templates, &tilings, &first_pages);
    let maps: Vec<(&Tiling, usize)> = tilings.iter().zip(first_pages).collect();
    let mut pages = vec![cover::draw_cover(plan, &paper, &templates, n_pages)];
    pages.extend(cover::draw_list(&paper, &entries));
    pages.extend(cover::draw_maps(&paper, &maps[..n_tiled]));
    for (i, &(tiling, first)) in maps.iter().enumerate() {
        pages.extend(draw_sheets(&paper, (i + 1, tiling), (first, n_pages)));
    }
    pages
}

/// The templates with the pages they are on, in their order.
fn entries<'t>(
    templates: &'t [Template],
    tilings: &[Tiling],
    first_pages: &[usize],
) -> Vec<Entry<'t>> {
    let mut entries: Vec<Entry<'_>> = templates
        .iter()
        .map(|template| Entry {
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
