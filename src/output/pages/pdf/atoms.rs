//! What of a text is never torn at the end of a line.

use crate::output::drawing::label::SEPARATOR;
use crate::output::pages::prose::{Prose, Span};

/// What is never torn: words between two spaces, a quantity, a box with its name.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Atom {
    pub(super) runs: Vec<Run>,
    /// Whether a space stands before it, if it does not begin a line.
    pub(super) space: bool,
}

/// A run of an atom.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Run {
    Text {
        text: String,
        is_strong: bool,
    },
    Box,
    /// A line to write on.
    Line,
}

/// The atoms of `prose`, from left to right.
pub(super) fn atoms(prose: &Prose) -> Vec<Atom> {
    let mut atoms = Atoms::default();
    atoms.prose(prose, false);
    atoms.done
}

/// Atoms in the making.
#[derive(Default)]
struct Atoms {
    done: Vec<Atom>,
    /// Whether the next run begins a new atom.
    space: bool,
}

impl Atoms {
    fn prose(&mut self, prose: &Prose, is_strong: bool) {
        for (i, span) in prose.0.iter().enumerate() {
            match span {
                Span::Words(text)
                | Span::Code(text)
                | Span::Link(_, text)
                | Span::Picture(_, text) => {
                    self.words(text, is_strong);
                }
                Span::Strong(within) => self.prose(within, true),
                Span::Aside(within) => self.prose(within, is_strong),
                Span::Small(within) | Span::Line(within) => {
                    self.space = true;
                    self.prose(within, is_strong);
                }
                Span::Mark(within) => {
                    if matches!(i.checked_sub(1).map(|i| &prose.0[i]), Some(Span::Mark(_))) {
                        self.words(SEPARATOR, is_strong);
                    }
                    self.prose(within, is_strong);
                }
                Span::Quantity(text) => self.quantity(text, is_strong),
                Span::Tick(what) => {
                    self.space = true;
                    self.run(Run::Box);
                    if !what.is_empty() {
                        self.run(text_run(&format!(" {what}"), false));
                    }
                    self.space = true;
                }
                Span::Blank(name) => {
                    self.space = true;
                    self.run(text_run(&format!("{name} "), false));
                    self.run(Run::Line);
                    self.space = true;
                }
            }
        }
    }

    fn quantity(&mut self, text: &str, is_strong: bool) {
        let (first, second) = text.split_once(" (").unwrap_or((text, ""));
        self.run(text_run(first, is_strong));
        if !second.is_empty() {
            self.space = true;
            self.run(text_run(&format!("({second}"), is_strong));
        }
    }

    fn run(&mut self, run: Run) {
        match self.done.last_mut() {
            Some(last) if !self.space => last.runs.push(run),
            _ => self.done.push(Atom {
                runs: vec![run],
                space: self.space,
            }),
        }
        self.space = false;
    }

    fn words(&mut self, text: &str, is_strong: bool) {
        for (i, word) in text.split(' ').enumerate() {
            self.space |= i > 0;
            if !word.is_empty() {
                self.run(text_run(word, is_strong));
            }
        }
    }
}

fn text_run(text: &str, is_strong: bool) -> Run {
    Run::Text {
        text: text.replace(' ', "\u{a0}"),
        is_strong,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pages::prose::prose;

    fn shown(text: &Prose) -> String {
        let atom = |atom: &Atom| {
            let runs = atom.runs.iter().map(|run| match run {
                Run::Text { text, .. } => text.replace('\u{a0}', "~"),
                Run::Box => "#".to_owned(),
                Run::Line => "_".to_owned(),
            });
            format!(
                "{}{}",
                if atom.space { " " } else { "" },
                runs.collect::<String>()
            )
        };
        let atoms: Vec<String> = atoms(text).iter().map(atom).collect();
        atoms.join("|")
    }

    #[test]
    fn what_belongs_together_is_not_torn() {
        let text = prose! {
            "Stick down " Strong { "the line" } ", " (Prose::quantity("2.35 m (2.57 yd)")) "."
            Tick("RUD-1 A") Blank("Date")
        };
        assert_eq!(
            shown(&text),
            "Stick| down| the| line,| 2.35~m| (2.57~yd).| #~RUD-1~A| Date~_"
        );
    }
}
