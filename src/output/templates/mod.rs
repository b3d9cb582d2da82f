//! `templates/templates-<paper>.pdf`: true-scale paper patterns of every different piece.
//!
//! A first page to check the printer by, a list, an assembly map of everything that takes several
//! sheets, then the sheets: large pieces on overlapping sheets with seams and matching marks, small
//! ones nested together. Pieces are shown as they lie on the mould, seen from the bag side.

mod cover;
mod drawing;
mod shape;
mod sharing;
mod tiling;

use cover::{Entry, list_pages, map_pages};
use drawing::{Paper, draw_shared, draw_tile};
use shape::{Template, templates};
use sharing::{Shared, share};
use tiling::Tiling;

use super::pdf::Document;
use crate::plan::Plan;

/// The paper patterns of `plan` as PDF.
#[must_use]
pub fn templates_pdf(plan: &Plan) -> Vec<u8> {
    let paper = Paper::of(&plan.outputs);
    let templates = templates(plan);
    let (mut tiled, mut small) = (Vec::new(), Vec::new());
    for template in &templates {
        let tiling = Tiling::best(template, paper.tile);
        if tiling.cells.len() > 1 {
            tiled.push(tiling);
        } else {
            small.push(tiling.template);
        }
    }
    let shared = share(small, paper.tile.width, paper.tile.height);
    write(plan, &paper, &templates, &tiled, &shared)
}

fn write(
    plan: &Plan,
    paper: &Paper,
    templates: &[Template],
    tiled: &[Tiling],
    shared: &[Shared],
) -> Vec<u8> {
    let mut document = Document::new(&format!("{}: templates", plan.title));
    let n_front = 1 + list_pages(paper, templates.len()) + map_pages(paper, tiled.len());
    let n_tiles: usize = tiled.iter().map(|t| t.cells.len()).sum();
    let n_pages = n_front + n_tiles + shared.len();
    let mut entries: Vec<Entry<'_>> = templates
        .iter()
        .map(|template| Entry {
            template,
            first_page: 0,
            n_pages: 1,
        })
        .collect();
    let mut next = n_front + 1;
    for tiling in tiled {
        let entry = &mut entries[tiling.template.number - 1];
        (entry.first_page, entry.n_pages) = (next, tiling.cells.len());
        next += tiling.cells.len();
    }
    for sheet in shared {
        for template in &sheet.templates {
            entries[template.number - 1].first_page = next;
        }
        next += 1;
    }
    cover::draw_cover(&mut document, plan, paper, n_pages);
    cover::draw_list(&mut document, paper, &entries);
    cover::draw_maps(&mut document, paper, tiled, &entries);
    let mut page = n_front;
    for tiling in tiled {
        for &cell in &tiling.cells {
            page += 1;
            draw_tile(&mut document, paper, tiling, cell, (page, n_pages));
        }
    }
    for sheet in shared {
        page += 1;
        draw_shared(&mut document, paper, sheet, (page, n_pages));
    }
    document.finish()
}
