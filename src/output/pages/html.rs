//! A handout as one self-contained HTML file: style inside, drawings as inline SVG, nothing fetched.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::model::{Group, Handout, Heading, Passage, Remark, Svg, Tone};
use super::prose::{Prose, Span, TICK};
use super::table::{About, Column, ColumnKind, DataTable, Row};
use crate::diag::Severity;
use crate::output::formats::svg::figure::svg_figure;
use crate::output::style::{GENERATOR, paper_css, screen_css};

/// What a page is made for.
pub(super) enum Medium<'a> {
    /// Read on a screen, light or dark as the reader has it, with a script; may be printed.
    Screen { script: &'a str },
    /// Paper wherever it is shown: black on white.
    Paper,
}

impl Handout {
    /// The whole file, called `name`, with `foot` at the end of the page.
    pub(super) fn html(&self, name: &str, foot: &str, medium: &Medium<'_>) -> String {
        let (css, own, script, scheme) = match medium {
            Medium::Screen { script } => (
                screen_css(),
                include_str!("screen.css"),
                *script,
                "light dark",
            ),
            Medium::Paper => (paper_css(), include_str!("paper.css"), "", "light"),
        };
        let body = html! {
            body {
                (self.header())
                main { (sections(&self.passages)) }
                footer { p { "Made by " (GENERATOR) (foot) } }
                @if !script.is_empty() { script { (PreEscaped(script)) } }
            }
        };
        let styles = [&css, own, include_str!("surface.css")];
        document(name, scheme, &styles, &body) + "\n"
    }

    fn header(&self) -> Markup {
        let headings = self.passages.iter().filter_map(|passage| match passage {
            Passage::Heading(heading) if !heading.short.is_empty() => Some(heading),
            _ => None,
        });
        let contents: Vec<&Heading> = headings.collect();
        html! {
            header {
                p .kind { (self.kind) }
                h1 { (self.title) @if !self.beside.is_empty() { " " small { (self.beside) } } }
                @for about in &self.about { p { (prose(about)) } }
                @if !contents.is_empty() {
                    nav aria-label="Contents" {
                        ul { @for heading in contents { li { a href={ "#" (heading.anchor) } { (heading.short) } } } }
                    }
                }
            }
        }
    }
}

/// A whole page called `name` in these colour schemes, with its style sheets in it.
pub(super) fn document(name: &str, schemes: &str, styles: &[&str], body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(schemes);
                meta name="generator" content=(GENERATOR);
                title { (name) }
                style { @for style in styles { (PreEscaped(style)) } }
            }
            (body)
        }
    };
    page.into_string()
}

/// Passages in sections, each of which begins with a heading.
fn sections(all: &[Passage]) -> Markup {
    let sections = all.chunk_by(|_, next| !matches!(next, Passage::Heading(_)));
    html! {
        @for section in sections {
            @match section {
                [Passage::Heading(heading), rest @ ..] if !heading.anchor.is_empty() => {
                    @let title = format!("{}-title", heading.anchor);
                    section id=(heading.anchor) aria-labelledby=(title) {
                        h2 id=(title) { (heading.title) }
                        (passages(rest))
                    }
                }
                rest => section { (passages(rest)) }
            }
        }
    }
}

pub(super) fn passages(all: &[Passage]) -> Markup {
    html! { @for one in all { (passage(one)) } }
}

fn passage(passage: &Passage) -> Markup {
    match passage {
        Passage::Heading(heading) => html! { h2 { (heading.title) } },
        Passage::Subheading(title) => html! { h3 { (prose(title)) } },
        Passage::Paragraph(tone, text) => html! { p class=[class(*tone)] { (prose(text)) } },
        Passage::Cautions(lead, points) => html! {
            div .cautions {
                p { (prose(lead)) }
                ul { @for point in points { li { (prose(point)) } } }
            }
        },
        Passage::Terms { is_caution, terms } => html! {
            dl class=(if *is_caution { "cautions" } else { "terms" }) {
                @for (term, said) in terms { dt { (prose(term)) } dd { (prose(said)) } }
            }
        },
        Passage::Remarks(remarks) => {
            html! { ul .remarks { @for one in remarks { (remark(one)) } } }
        }
        Passage::Points(points) => html! { ul { @for point in points { li { (prose(point)) } } } },
        Passage::Steps(steps) => {
            html! { ol .steps { @for step in steps { li { (prose(step)) } } } }
        }
        Passage::Table(table) => self::table(table),
        Passage::Figure(figure) => html! { figure { (svg_figure(figure)) } },
        Passage::Drawing(Svg(svg)) => html! { (svg) },
        Passage::Group(group, within) => self::group(group, &passages(within)),
    }
}

const fn class(tone: Tone) -> Option<&'static str> {
    match tone {
        Tone::Plain => None,
        Tone::Lead => Some("lead"),
        Tone::Facts => Some("facts"),
        Tone::Note => Some("note"),
    }
}

fn group(group: &Group, within: &Markup) -> Markup {
    match group {
        Group::Kept => html! { div .keep { (within) } },
        Group::Roll { roll, is_for_bag } => {
            let class = is_for_bag.then_some("consumable");
            html! { article class=[class] data-roll=(roll) { (within) } }
        }
        Group::Captioned(class, caption) => {
            html! { figure class=(class) { figcaption { (prose(caption)) } (within) } }
        }
        Group::Beside => html! { div .laminates { (within) } },
        Group::Plans => html! { div .plans { (within) } },
    }
}

fn remark(remark: &Remark) -> Markup {
    let (class, word) = match remark.severity {
        Severity::Note => ("note", "Note"),
        Severity::Warning => ("warning", "Warning"),
        Severity::Error => ("error", "Error"),
    };
    html! {
        li .(class) {
            p { strong { (word) ": " } (prose(&remark.message)) }
            @if let Some(help) = &remark.help { p .help { (help) } }
        }
    }
}

fn table(table: &DataTable) -> Markup {
    let class = (!table.class.is_empty()).then_some(table.class);
    let has_head = table
        .columns
        .iter()
        .any(|column| !column.title.0.is_empty());
    let rows = html! {
        table class=[class] {
            @if !table.caption.is_empty() { caption { (table.caption) } }
            @if has_head { thead { tr { @for column in &table.columns { (head(column)) } } } }
            tbody { @for (i, row) in table.rows.iter().enumerate() { (self::row(table, row, i)) } }
            @if !table.foot.is_empty() { tfoot { @for row in &table.foot { (foot(table, row)) } } }
        }
    };
    // Without a head it is too narrow ever to be scrolled.
    if has_head {
        html! { div .scroll tabindex="0" role="region" aria-label=(table.name) { (rows) } }
    } else {
        rows
    }
}

fn head(column: &Column) -> Markup {
    let class = column.kind.is_number().then_some("n");
    html! { th class=[class] scope="col" { (prose(&column.title)) } }
}

fn row(table: &DataTable, row: &Row, idx: usize) -> Markup {
    let n = row.cells.len();
    let cells = table.columns.iter().zip(&row.cells).enumerate();
    let cells = cells.map(|(i, (column, text))| {
        let span = if i + 1 == n {
            table.columns.len() - i
        } else {
            1
        };
        match column.kind {
            ColumnKind::Group => group_cell(table, idx, text),
            kind => cell(kind, "row", span, text),
        }
    });
    html! { (about(&row.about, html! { @for cell in cells { (cell) } })) }
}

/// The name of a group beside its first row.
fn group_cell(table: &DataTable, idx: usize, text: &Prose) -> Markup {
    let (before, from) = table.rows.split_at(idx);
    let name = |row: &Row| row.cells.first().map(prose).map(Markup::into_string);
    let own = name(&table.rows[idx]);
    if before.last().is_some_and(|row| name(row) == own) {
        return html! {};
    }
    let n = from.iter().take_while(|row| name(row) == own).count();
    html! { th scope="rowgroup" rowspan=(n) { (prose(text)) } }
}

/// A row of sums: its name takes the columns that its cells leave, but none to tick.
fn foot(table: &DataTable, row: &Row) -> Markup {
    let [name, cells @ ..] = row.cells.as_slice() else {
        return html! {};
    };
    let is_ticked = table
        .columns
        .first()
        .is_some_and(|column| column.kind == ColumnKind::Tick);
    let first = table.columns.len() - cells.len();
    html! {
        tr {
            @if is_ticked { td {} }
            (cell(ColumnKind::Name, "row", first - usize::from(is_ticked), name))
            @for (column, text) in table.columns[first..].iter().zip(cells) {
                (cell(column.kind, "row", 1, text))
            }
        }
    }
}

fn cell(kind: ColumnKind, scope: &str, span: usize, text: &Prose) -> Markup {
    let span = (span > 1).then_some(span);
    let class = match kind {
        ColumnKind::Words | ColumnKind::Name | ColumnKind::Group => None,
        _ if span.is_some() => None,
        ColumnKind::Number | ColumnKind::Place => Some("n"),
        ColumnKind::Key => Some("n key"),
        ColumnKind::Tick => Some("tick"),
        ColumnKind::Write => Some("write"),
    };
    if kind.is_name() {
        html! { th class=[class] scope=(scope) colspan=[span] { (prose(text)) } }
    } else {
        html! { td class=[class] colspan=[span] { (prose(text)) } }
    }
}

/// A row with what it is about.
fn about(about: &About, cells: Markup) -> Markup {
    match about {
        About::Nothing => html! { tr { (cells) } },
        About::Cut(id) => html! { tr data-cut=(id) { (cells) } },
        About::Kit(id) => html! { tr data-kit=(id) { (cells) } },
        About::Item(name) => html! { tr data-item=(name) { (cells) } },
        About::Piece {
            id,
            part,
            ply,
            cloth,
        } => html! {
            tr data-piece=(id) data-part=(part) data-ply=(ply) data-cloth=(cloth) { (cells) }
        },
    }
}

pub(super) fn prose(text: &Prose) -> Markup {
    // Lines to write on that follow each other wrap as a group.
    let groups = text.0.chunk_by(|a, b| is_blank(a) && is_blank(b));
    html! {
        @for spans in groups {
            @if is_blank(&spans[0]) { " " span .fills { @for one in spans { (span(one)) } } }
            @else { (span(&spans[0])) }
        }
    }
}

fn is_blank(span: &Span) -> bool {
    matches!(span, Span::Blank(_))
}

fn span(span: &Span) -> Markup {
    match span {
        Span::Words(words) => html! { (words) },
        Span::Strong(within) => html! { strong { (prose(within)) } },
        Span::Quantity(text) => quantity(text),
        Span::Code(text) => html! { code { (text) } },
        Span::Link(to, words) => html! { a href=(to) { (words) } },
        Span::Small(within) => html! { small { (prose(within)) } },
        Span::Line(within) => html! { br; (prose(within)) },
        Span::Aside(within) => html! { span .place { (prose(within)) } },
        Span::Mark(within) => html! { span .mark { (prose(within)) } " " },
        Span::Tick(what) if what.is_empty() => html! { (TICK) " " },
        Span::Tick(what) => html! { span .box { (TICK) " " (what) } " " },
        Span::Blank(name) => html! { span .fill { (name) " " span .blank {} } },
        Span::Picture(Svg(svg), name) => html! { span .pictured { (svg) (name) } },
    }
}

/// A quantity whose second unit may go to a new line but is never torn itself.
fn quantity(text: &str) -> Markup {
    let (first, second) = text.split_once(" (").unwrap_or((text, ""));
    html! {
        span .q { (first) }
        @if !second.is_empty() { " " span .q .other { "(" (second) } }
    }
}
