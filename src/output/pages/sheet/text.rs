//! Text with what stands out in it.

/// A run of text on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Span {
    Words(String),
    Strong(String),
    /// A quantity in two units, such as `12.7 mm (0.50 in)`, neither of which is torn.
    Quantity {
        text: String,
        is_strong: bool,
    },
    /// A box to tick and what it is for, which are not torn.
    Tick(String),
    /// A name and a line to write on.
    Blank(String),
}

/// Text in runs, put together from left to right.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::output) struct Text(pub(super) Vec<Span>);

impl Text {
    pub(in crate::output) fn new() -> Self {
        Self::default()
    }

    /// Plain words.
    pub(in crate::output) fn of(words: impl Into<String>) -> Self {
        Self::new().and(words)
    }

    pub(in crate::output) fn and(self, words: impl Into<String>) -> Self {
        self.with(Span::Words(words.into()))
    }

    /// Words that stand out.
    pub(in crate::output) fn strong(self, words: impl Into<String>) -> Self {
        self.with(Span::Strong(words.into()))
    }

    /// A quantity in two units.
    pub(in crate::output) fn quantity(self, text: impl Into<String>) -> Self {
        let text = text.into();
        let is_strong = false;
        self.with(Span::Quantity { text, is_strong })
    }

    /// A quantity that stands out.
    pub(in crate::output) fn strong_quantity(self, text: impl Into<String>) -> Self {
        let text = text.into();
        let is_strong = true;
        self.with(Span::Quantity { text, is_strong })
    }

    /// A box to tick for `what`, which may be nothing.
    pub(in crate::output) fn tick(self, what: impl Into<String>) -> Self {
        self.with(Span::Tick(what.into()))
    }

    /// `name` and a line to write on.
    pub(in crate::output) fn blank(self, name: impl Into<String>) -> Self {
        self.with(Span::Blank(name.into()))
    }

    /// The same, all of it standing out.
    pub(super) fn made_strong(&self) -> Self {
        let spans = self.0.iter().cloned().map(|span| match span {
            Span::Words(words) => Span::Strong(words),
            Span::Quantity { text, .. } => Span::Quantity {
                text,
                is_strong: true,
            },
            other => other,
        });
        Self(spans.collect())
    }

    fn with(mut self, span: Span) -> Self {
        self.0.push(span);
        self
    }
}

/// A box to tick, where there is a letter for it.
pub(super) const TICK: &str = "☐";

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

impl Text {
    /// Its atoms, from left to right.
    pub(super) fn atoms(&self) -> Vec<Atom> {
        let mut atoms = Atoms::default();
        for span in &self.0 {
            match span {
                Span::Words(text) => atoms.words(text, false),
                Span::Strong(text) => atoms.words(text, true),
                Span::Quantity { text, is_strong } => {
                    let (first, second) = text.split_once(" (").unwrap_or((text, ""));
                    atoms.run(text_run(first, *is_strong));
                    if !second.is_empty() {
                        atoms.space = true;
                        atoms.run(text_run(&format!("({second}"), *is_strong));
                    }
                }
                Span::Tick(what) => {
                    atoms.space = true;
                    atoms.run(Run::Box);
                    if !what.is_empty() {
                        atoms.run(text_run(&format!(" {what}"), false));
                    }
                    atoms.space = true;
                }
                Span::Blank(name) => {
                    atoms.space = true;
                    atoms.run(text_run(&format!("{name} "), false));
                    atoms.run(Run::Line);
                    atoms.space = true;
                }
            }
        }
        atoms.done
    }
}

fn text_run(text: &str, is_strong: bool) -> Run {
    Run::Text {
        text: text.replace(' ', "\u{a0}"),
        is_strong,
    }
}

/// Atoms in the making.
#[derive(Default)]
struct Atoms {
    done: Vec<Atom>,
    /// Whether the next run begins a new atom.
    space: bool,
}

impl Atoms {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &Text) -> String {
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
        let atoms: Vec<String> = text.atoms().iter().map(atom).collect();
        atoms.join("|")
    }

    #[test]
    fn what_belongs_together_is_not_torn() {
        let text = Text::of("Stick down ")
            .strong("the line")
            .and(", ")
            .quantity("2.35 m (2.57 yd)")
            .and(".")
            .tick("RUD-1 A")
            .blank("Date");
        assert_eq!(
            shown(&text),
            "Stick| down| the| line,| 2.35~m| (2.57~yd).| #~RUD-1~A| Date~_"
        );
    }
}
