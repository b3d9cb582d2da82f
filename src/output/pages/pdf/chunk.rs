//! The passages of a handout in the few forms in which paper takes them.

use std::borrow::Cow;

use crate::output::drawing::figure::Figure;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::DataTable;

/// Between two drawings beside each other, pixels.
const BETWEEN: f64 = 30.0;

/// What flows down a page in one form.
pub(super) enum Chunk<'a> {
    Heading(&'a str),
    Paragraph(Cow<'a, Prose>),
    /// A lead and points in a frame.
    Cautions(&'a Prose, &'a [Prose]),
    /// Each with the mark that stands before it.
    List(Vec<(String, Cow<'a, Prose>)>),
    Table(&'a DataTable),
    Figure(Cow<'a, Figure>),
}

/// `passages` one after another; what holds others is opened, and what only a screen shows goes.
pub(super) fn chunks(passages: &[Passage]) -> Vec<Chunk<'_>> {
    passages.iter().flat_map(chunks_of).collect()
}

fn chunks_of(passage: &Passage) -> Vec<Chunk<'_>> {
    let one = match passage {
        Passage::Heading(heading) => Chunk::Heading(&heading.title),
        Passage::Subheading(title) => Chunk::Paragraph(Cow::Owned(title.made_strong())),
        Passage::Paragraph(_, prose) => Chunk::Paragraph(Cow::Borrowed(prose)),
        Passage::Cautions(lead, points) => Chunk::Cautions(lead, points),
        Passage::Terms { terms, .. } => points(terms.iter().map(|(term, said)| {
            Cow::Owned(prose! { Strong { (term.clone()) ":" } " " (said.clone()) })
        })),
        Passage::Remarks(remarks) => points(remarks.iter().map(|remark| {
            let help = remark.help.as_ref().map(|help| prose! { ". " (help) });
            Cow::Owned(prose! { (remark.message.clone()) (help) })
        })),
        Passage::Points(all) => points(all.iter().map(Cow::Borrowed)),
        Passage::Steps(steps) => {
            let numbers = (1..).map(|n: usize| format!("{n}."));
            Chunk::List(numbers.zip(steps.iter().map(Cow::Borrowed)).collect())
        }
        Passage::Table(table) => Chunk::Table(table),
        Passage::Figure(figure) => Chunk::Figure(Cow::Borrowed(figure)),
        Passage::Drawing(_) => return Vec::new(),
        Passage::Group(Group::Plans, within) => return within.chunks(2).flat_map(pair).collect(),
        Passage::Group(group, within) => {
            let mut all = chunks(within);
            if let Group::Captioned(_, caption) = group {
                all.insert(0, Chunk::Paragraph(Cow::Borrowed(caption)));
            }
            return all;
        }
    };
    vec![one]
}

/// Two drawings beside each other.
fn pair(two: &[Passage]) -> Vec<Chunk<'_>> {
    match two {
        [Passage::Figure(left), Passage::Figure(right)] => {
            vec![Chunk::Figure(Cow::Owned(left.beside(right, BETWEEN)))]
        }
        other => chunks(other),
    }
}

fn points<'a>(points: impl Iterator<Item = Cow<'a, Prose>>) -> Chunk<'a> {
    Chunk::List(points.map(|point| ("–".to_owned(), point)).collect())
}
