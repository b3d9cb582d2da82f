//! Pages to work by: what stands on a sheet, in order, whatever it is printed with.
//!
//! A sheet is made once of blocks (headings, tables, steps, drawings) and then written as an HTML
//! page ([`html`]) or as pages of a PDF ([`pages`]), so that the two cannot disagree.

mod cells;
mod html;
mod pages;
mod text;

pub(super) use html::page;
pub(super) use pages::pdf;
pub(super) use text::Text;

use crate::output::drawing::figure::Figure;

/// One sheet, which begins on a page of its own.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    /// What kind of sheet of which job.
    pub(super) kind: String,
    /// What it is about: also at the foot of every page.
    pub(super) title: String,
    /// Beside the title, smaller.
    pub(super) beside: String,
    pub(super) blocks: Vec<Block>,
}

/// A part of a sheet.
#[derive(Clone, Debug)]
pub(super) enum Block {
    /// Begins a section.
    Heading(String),
    Paragraph(Text),
    /// What must not be overlooked, framed: a lead and points.
    Cautions(Text, Vec<Text>),
    /// Steps in their order, numbered.
    Steps(Vec<Text>),
    Table(Table),
    Figure(Figure),
}

/// A table whose head is repeated on every page.
#[derive(Clone, Debug)]
pub(super) struct Table {
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<Row>,
}

/// A column of a table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    pub(super) title: &'static str,
    pub(super) kind: ColumnKind,
}

/// What is in a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum ColumnKind {
    Words,
    /// What names the row.
    Name,
    /// Set flush right.
    Number,
    /// A box to tick.
    Tick,
    /// Nothing yet: room to write.
    Write,
}

/// A row of a table, a text for each column.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// What the row is about, for programs that read the HTML.
    pub(super) about: Option<About>,
    pub(super) cells: Vec<Text>,
}

/// What a row is about.
#[derive(Clone, Debug)]
pub(super) enum About {
    /// A piece to cut.
    Cut(String),
    /// A piece to lay.
    Kit(String),
}

impl Column {
    pub(super) const fn new(title: &'static str, kind: ColumnKind) -> Self {
        Self { title, kind }
    }
}
