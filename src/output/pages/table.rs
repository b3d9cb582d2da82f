//! Tables, made column by column: the title of a column stands beside what is in its cells.

use super::prose::{Prose, prose};

/// A table whose head is repeated on every printed page.
#[derive(Clone, Debug)]
pub(super) struct DataTable {
    /// What it shows, for those who cannot see it.
    pub(super) name: String,
    /// What is shown above it; may be empty.
    pub(super) caption: String,
    /// Its class in HTML; may be empty.
    pub(super) class: &'static str,
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<Row>,
    /// Sums and the like.
    pub(super) foot: Vec<Row>,
}

/// A column of a table.
#[derive(Clone, Debug)]
pub(super) struct Column {
    pub(super) title: Prose,
    pub(super) kind: ColumnKind,
}

/// What is in a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum ColumnKind {
    Words,
    /// What names the row.
    Name,
    /// What names the row and those after it that have the same name.
    Group,
    /// A number that names the row.
    Place,
    /// Set flush right.
    Number,
    /// The number that the table is there for.
    Key,
    /// A box to tick.
    Tick,
    /// Nothing yet: room to write.
    Write,
}

impl ColumnKind {
    /// Whether its cells are set flush right.
    pub(super) const fn is_number(self) -> bool {
        matches!(self, Self::Number | Self::Key | Self::Place)
    }

    /// Whether its cells name their rows.
    pub(super) const fn is_name(self) -> bool {
        matches!(self, Self::Name | Self::Group | Self::Place)
    }
}

/// A row of a table: a text for each column. The last one takes all columns that are left in a row
/// of the body, the first one in a row of the foot.
#[derive(Clone, Debug, Default)]
pub(super) struct Row {
    pub(super) about: About,
    pub(super) cells: Vec<Prose>,
}

/// What a row is about, for programs that read the HTML.
#[derive(Clone, Debug, Default)]
pub(super) enum About {
    #[default]
    Nothing,
    /// A piece to cut.
    Cut(String),
    /// A piece to lay.
    Kit(String),
    /// Something to buy.
    Item(String),
    /// A piece that is drawn as well.
    Piece {
        id: String,
        part: String,
        ply: u32,
        cloth: String,
    },
}

/// A table in the making, a row for each `T`; `None` for a row that is finished early.
pub(super) struct TableOf<T> {
    items: Vec<Option<T>>,
    table: DataTable,
}

impl<T> TableOf<T> {
    /// A table called `name` with a row for each of `items`.
    pub(super) fn new(name: impl Into<String>, items: impl IntoIterator<Item = T>) -> Self {
        let items: Vec<Option<T>> = items.into_iter().map(Some).collect();
        Self {
            table: DataTable {
                name: name.into(),
                caption: String::new(),
                class: "",
                columns: Vec::new(),
                rows: vec![Row::default(); items.len()],
                foot: Vec::new(),
            },
            items,
        }
    }

    pub(super) fn caption(mut self, caption: impl Into<String>) -> Self {
        self.table.caption = caption.into();
        self
    }

    pub(super) fn class(mut self, class: &'static str) -> Self {
        self.table.class = class;
        self
    }

    /// What each row is about.
    pub(super) fn about(mut self, about: impl Fn(&T) -> About) -> Self {
        for (row, item) in self.table.rows.iter_mut().zip(&self.items) {
            row.about = item.as_ref().map_or(About::Nothing, &about);
        }
        self
    }

    /// Adds a column with what `cell` says of each item.
    pub(super) fn column<P: Into<Prose>>(
        mut self,
        kind: ColumnKind,
        title: impl Into<Prose>,
        cell: impl Fn(&T) -> P,
    ) -> Self {
        let title = title.into();
        self.table.columns.push(Column { title, kind });
        for (row, item) in self.table.rows.iter_mut().zip(&self.items) {
            row.cells
                .extend(item.as_ref().map(|item| cell(item).into()));
        }
        self
    }

    pub(super) fn words<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Words, title, cell)
    }

    pub(super) fn name<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Name, title, cell)
    }

    pub(super) fn group<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Group, title, cell)
    }

    pub(super) fn place<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Place, title, cell)
    }

    pub(super) fn number<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Number, title, cell)
    }

    pub(super) fn key<P: Into<Prose>>(self, title: &str, cell: impl Fn(&T) -> P) -> Self {
        self.column(ColumnKind::Key, title, cell)
    }

    /// A box to tick in every row.
    pub(super) fn tick(self, title: &str) -> Self {
        self.column(ColumnKind::Tick, title, |_| prose! { Tick("") })
    }

    /// Room to write in every row.
    pub(super) fn write(self, title: &str) -> Self {
        self.column(ColumnKind::Write, title, |_| "")
    }

    /// Adds the columns of `columns` if `is_so`.
    pub(super) fn when(self, is_so: bool, columns: impl FnOnce(Self) -> Self) -> Self {
        if is_so { columns(self) } else { self }
    }

    /// Goes on with what `next` makes of each item; a row for which there is nothing ends with what
    /// `next` says instead.
    pub(super) fn narrowed<U>(mut self, next: impl Fn(T) -> Result<U, Prose>) -> TableOf<U> {
        let rows = self.table.rows.iter_mut().zip(self.items);
        let items = rows.map(|(row, item)| match next(item?) {
            Ok(item) => Some(item),
            Err(instead) => {
                row.cells.push(instead);
                None
            }
        });
        TableOf {
            items: items.collect(),
            table: self.table,
        }
    }

    /// Adds a row at the foot: its name and what stands in the last columns.
    pub(super) fn foot<P: Into<Prose>>(
        mut self,
        name: &str,
        cells: impl IntoIterator<Item = P>,
    ) -> Self {
        let cells = cells.into_iter().map(P::into);
        let cells = std::iter::once(name.into()).chain(cells).collect();
        self.table.foot.push(Row {
            about: About::Nothing,
            cells,
        });
        self
    }

    pub(super) fn done(self) -> super::model::Passage {
        super::model::Passage::Table(self.table)
    }
}
