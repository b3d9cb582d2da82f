//! A problem as a value: how bad, where, what is wrong, and how to mend it.
//!
//! Stages return every problem they can find, not only the first; warnings ride along with a good
//! result. Nothing here prints: [`Diagnostic::render`] returns text and the command line shows it.

mod render;
mod visible;

pub use render::TextColour;
pub use visible::{is_active, shortened, visible};

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// How bad a problem is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; nothing was changed because of it.
    Note,
    /// The result stands, but a person should look.
    Warning,
    /// No result.
    Error,
}

/// A text file that a problem can point into.
#[derive(Debug, PartialEq, Eq)]
pub struct SourceText {
    /// The file's name as the user gave it.
    pub name: String,
    /// Its whole text.
    pub text: String,
}

/// Where a problem is.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Place {
    /// The file as a whole.
    File(String),
    /// A stretch of text, shown with a caret under it.
    Text {
        /// The file.
        source: Arc<SourceText>,
        /// Byte range in the text.
        span: Range<usize>,
    },
    /// A line of a file whose text is not worth showing (DXF).
    Line {
        /// The file's name.
        file: String,
        /// Line number, from 1.
        line: usize,
    },
    /// An element or entity of a drawing.
    Entity {
        /// The file's name.
        file: String,
        /// How a person finds it, for example `path "skin-left"` or `LWPOLYLINE 3F on layer CUT`.
        entity: String,
        /// Where on the drawing, in millimetres, x right and y up.
        at_mm: Option<(f64, f64)>,
    },
}

/// What may be written into the job to mend a problem, where that is the person's to permit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remedy {
    /// What it permits, as a button says it.
    pub label: String,
    /// What comes of it.
    pub about: String,
    /// The part whose table takes the keys.
    pub part: String,
    /// Keys and their values.
    pub keys: Vec<(&'static str, &'static str)>,
}

/// One problem.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in the user's words, without a final full stop.
    pub message: String,
    /// Where.
    pub place: Option<Place>,
    /// The next step for the user.
    pub help: Option<String>,
    /// What may be permitted to mend it.
    pub remedy: Option<Remedy>,
}

impl Diagnostic {
    /// An error that says `message`.
    #[must_use]
    pub fn error(message: impl Into<String>) -> Self {
        Self::new(Severity::Error, message)
    }

    /// A warning that says `message`.
    #[must_use]
    pub fn warning(message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, message)
    }

    /// A note that says `message`.
    #[must_use]
    pub fn note(message: impl Into<String>) -> Self {
        Self::new(Severity::Note, message)
    }

    fn new(severity: Severity, message: impl Into<String>) -> Self {
        Self {
            severity,
            message: message.into(),
            place: None,
            help: None,
            remedy: None,
        }
    }

    /// The same problem, placed.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// The same problem with the next step for the user.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The same problem with what may be permitted to mend it.
    #[must_use]
    pub fn remedy(mut self, remedy: Remedy) -> Self {
        self.remedy = Some(remedy);
        self
    }
}

/// The problem as [`Diagnostic::render`] tells it, without colours.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(TextColour::Plain))
    }
}

/// All problems a stage found, in the order it found them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Diagnostics(Vec<Diagnostic>);

impl Diagnostics {
    /// No problem yet.
    #[must_use]
    pub const fn new() -> Self {
        Self(Vec::new())
    }

    /// Adds a problem.
    pub fn push(&mut self, problem: Diagnostic) {
        self.0.push(problem);
    }

    /// Adds all of `others`.
    pub fn append(&mut self, others: Self) {
        self.0.extend(others.0);
    }

    /// Whether any problem is an error.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.0.iter().any(|p| p.severity == Severity::Error)
    }

    /// Those that are as bad as `severity` or worse.
    #[must_use]
    pub fn at_least(&self, severity: Severity) -> Self {
        let bad = self.0.iter().filter(|p| p.severity >= severity);
        Self(bad.cloned().collect())
    }

    /// Whether there is no problem at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The problems in order.
    pub fn iter(&self) -> std::slice::Iter<'_, Diagnostic> {
        self.0.iter()
    }
}

impl std::error::Error for Diagnostic {}

/// Every problem, without colours.
impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.iter().try_for_each(|problem| problem.fmt(f))
    }
}

impl std::error::Error for Diagnostics {}

impl From<Diagnostic> for Diagnostics {
    fn from(problem: Diagnostic) -> Self {
        Self(vec![problem])
    }
}

impl IntoIterator for Diagnostics {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

/// `1 line`, `2 lines`.
pub(crate) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// `"did you mean …"` for a word that is not among `known`: the nearest one, if it is near at all.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    known
        .into_iter()
        .map(|k| (strsim::damerau_levenshtein(&word, &k.to_lowercase()), k))
        .filter(|&(distance, k)| distance <= (word.len().max(k.len()) / 3).max(1))
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, k)| k)
}
