//! What stands on a page, in order, whatever it is written with.
//!
//! A handout is made once of passages (headings, paragraphs, tables, steps, drawings) and then
//! written as an HTML page ([`super::html`]) or as pages of a PDF ([`super::pdf`]), so that the two
//! cannot disagree.

use maud::Markup;

use super::prose::Prose;
use super::table::DataTable;
use crate::output::drawing::figure::Figure;

/// What is given to people to read or to work by; in print it begins on a page of its own.
#[derive(Clone, Debug)]
pub(super) struct Handout {
    /// What kind of page of which job.
    pub(super) kind: String,
    /// What it is about: also at the foot of every printed page.
    pub(super) title: String,
    /// Beside the title, smaller.
    pub(super) beside: String,
    /// Below the title.
    pub(super) about: Vec<Prose>,
    pub(super) passages: Vec<Passage>,
}

/// A part of a handout.
#[derive(Clone, Debug)]
pub(super) enum Passage {
    /// Begins a section.
    Heading(Heading),
    /// Begins a part of a section.
    Subheading(Prose),
    Paragraph(Tone, Prose),
    /// What must not be overlooked, framed: a lead and points.
    Cautions(Prose, Vec<Prose>),
    /// Words and what is said of each; framed if they are cautions.
    Terms {
        is_caution: bool,
        terms: Vec<(Prose, Prose)>,
    },
    Remarks(Vec<Remark>),
    Points(Vec<Prose>),
    /// Steps in their order, numbered.
    Steps(Vec<Prose>),
    Table(DataTable),
    Figure(Figure),
    Drawing(Svg),
    /// Passages that belong together.
    Group(Group, Vec<Self>),
}

/// The title of a section, and where links find it.
#[derive(Clone, Debug)]
pub(super) struct Heading {
    pub(super) title: String,
    /// What links to the section end with; empty if nothing leads there.
    pub(super) anchor: &'static str,
    /// What it is called in the list of contents; empty if it is not in it.
    pub(super) short: &'static str,
}

/// How loudly a paragraph speaks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tone {
    Plain,
    /// Leads into what comes next.
    Lead,
    /// Figures about what stands beside it.
    Facts,
    /// Stands out.
    Note,
}

/// What came up, how much it matters, and what to do about it.
#[derive(Clone, Debug)]
pub(super) struct Remark {
    pub(super) severity: crate::diag::Severity,
    pub(super) message: Prose,
    pub(super) help: Option<String>,
}

/// Why passages belong together.
#[derive(Clone, Debug)]
pub(super) enum Group {
    /// They are not parted by the end of a page if that can be helped.
    Kept,
    /// They are about one roll.
    Roll { roll: String, is_for_bag: bool },
    /// A drawing with what is said about it.
    Captioned(&'static str, Prose),
    /// They stand side by side where there is room.
    Beside,
    /// Drawings half as wide as a page, two beside each other where there is room.
    Plans,
}

/// A drawing as SVG, for HTML alone.
#[derive(Clone, Debug)]
pub(super) struct Svg(pub(super) Markup);

impl Passage {
    /// A heading that nothing leads to.
    pub(super) fn heading(title: impl Into<String>) -> Self {
        Self::section(title, "", "")
    }

    /// A heading that links lead to.
    pub(super) fn section(
        title: impl Into<String>,
        anchor: &'static str,
        short: &'static str,
    ) -> Self {
        Self::Heading(Heading {
            title: title.into(),
            anchor,
            short,
        })
    }

    pub(super) fn plain(prose: impl Into<Prose>) -> Self {
        Self::Paragraph(Tone::Plain, prose.into())
    }

    pub(super) fn lead(prose: impl Into<Prose>) -> Self {
        Self::Paragraph(Tone::Lead, prose.into())
    }

    pub(super) fn facts(prose: impl Into<Prose>) -> Self {
        Self::Paragraph(Tone::Facts, prose.into())
    }

    pub(super) fn note(prose: impl Into<Prose>) -> Self {
        Self::Paragraph(Tone::Note, prose.into())
    }
}
