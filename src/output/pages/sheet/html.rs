//! A sheet as a self-contained page that prints on A4 and Letter: black on white.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::text::{Span, TICK, Text};
use super::{About, Block, ColumnKind, Row, Sheet, Table};
use crate::output::pages::report::words::both;
use crate::output::style::{GENERATOR, paper_css};

const STYLE: &str = include_str!("style.css");

/// A whole file around `body`.
pub(in crate::output) fn page(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(GENERATOR);
                title { (title) }
                style { (PreEscaped(paper_css())) (PreEscaped(STYLE)) }
            }
            body { main { (body) } footer { p { "Made by " (GENERATOR) "." } } }
        }
    }
}

impl Sheet {
    /// It as the body of a page.
    pub(in crate::output) fn html(&self) -> Markup {
        // Every heading but the first thing on the sheet begins a section.
        let sections = self
            .blocks
            .chunk_by(|_, next| !matches!(next, Block::Heading(_)));
        html! {
            header {
                p .kind { (self.kind) }
                h1 { (self.title) @if !self.beside.is_empty() { " " small { (self.beside) } } }
            }
            @for blocks in sections { section { @for block in blocks { (self::block(block)) } } }
        }
    }
}

fn block(block: &Block) -> Markup {
    match block {
        Block::Heading(words) => html! { h2 { (words) } },
        Block::Paragraph(text) => html! { p { (self::text(text)) } },
        Block::Cautions(lead, points) => html! {
            div .cautions {
                p { (text(lead)) }
                ul { @for point in points { li { (text(point)) } } }
            }
        },
        Block::Steps(steps) => html! { ol .steps { @for step in steps { li { (text(step)) } } } },
        Block::Table(table) => self::table(table),
        Block::Figure(figure) => html! { figure { (figure.svg()) } },
    }
}

fn table(table: &Table) -> Markup {
    html! {
        div .scroll {
            table {
                thead { tr {
                    @for column in &table.columns {
                        th .n[column.kind == ColumnKind::Number] { (column.title) }
                    }
                } }
                tbody { @for row in &table.rows { (self::row(table, row)) } }
            }
        }
    }
}

fn row(table: &Table, row: &Row) -> Markup {
    let (cut, kit) = match &row.about {
        Some(About::Cut(id)) => (Some(id), None),
        Some(About::Kit(id)) => (None, Some(id)),
        None => (None, None),
    };
    html! {
        tr data-cut=[cut] data-kit=[kit] {
            @for (column, cell) in table.columns.iter().zip(&row.cells) {
                @match column.kind {
                    ColumnKind::Name => { th { (text(cell)) } }
                    ColumnKind::Words => { td { (text(cell)) } }
                    ColumnKind::Number => { td .n { (text(cell)) } }
                    ColumnKind::Tick => { td .tick { (text(cell)) } }
                    ColumnKind::Write => { td .write { (text(cell)) } }
                }
            }
        }
    }
}

fn text(text: &Text) -> Markup {
    // Lines to write on that follow each other wrap as a group.
    let groups = text.0.chunk_by(|a, b| is_blank(a) && is_blank(b));
    html! {
        @for spans in groups {
            @if is_blank(&spans[0]) { " " span .fills { @for span in spans { (self::span(span)) } } }
            @else { (self::span(&spans[0])) }
        }
    }
}

fn is_blank(span: &Span) -> bool {
    matches!(span, Span::Blank(_))
}

fn span(span: &Span) -> Markup {
    match span {
        Span::Words(words) => html! { (words) },
        Span::Strong(words) => html! { strong { (words) } },
        Span::Quantity { text, is_strong } => {
            html! { @if *is_strong { strong { (both(text)) } } @else { (both(text)) } }
        }
        Span::Tick(what) if what.is_empty() => html! { (TICK) " " },
        Span::Tick(what) => html! { span .box { (TICK) " " (what) } " " },
        Span::Blank(name) => html! { span .fill { (name) " " span .blank {} } },
    }
}
