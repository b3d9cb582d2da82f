//! The file that is read, and the problems found in it.

use std::ops::Range;
use std::sync::Arc;

use crate::diag::{Diagnostic, Diagnostics, Place, Severity, SourceText};

/// After this many problems reading stops. Larger: a file that is no job file at all floods the
/// screen; smaller: mending a long job takes more runs.
const MAX_PROBLEMS: usize = 100;

/// The file that is read and the problems found so far.
pub(super) struct JobReader {
    source: Arc<SourceText>,
    problems: Vec<Diagnostic>,
}

impl JobReader {
    pub(super) fn new(file_name: &str, text: &str) -> Self {
        Self {
            source: Arc::new(SourceText {
                name: file_name.to_owned(),
                text: text.to_owned(),
            }),
            problems: Vec::new(),
        }
    }

    /// The place of `span`, cut off at the end of its first line.
    pub(super) fn place(&self, span: Range<usize>) -> Place {
        let line_end = self
            .source
            .text
            .get(span.clone())
            .and_then(|text| text.find('\n'))
            .map_or(span.end, |at| span.start + at);
        Place::Text {
            source: Arc::clone(&self.source),
            span: span.start..line_end,
        }
    }

    /// The file as a whole.
    pub(super) fn file(&self) -> Place {
        Place::File(self.source.name.clone())
    }

    /// Line number of `place`, from 1.
    pub(super) fn line(&self, place: &Place) -> usize {
        match place {
            Place::Text { span, .. } => {
                let before = self.source.text.get(..span.start).unwrap_or_default();
                before.matches('\n').count() + 1
            }
            _ => 1,
        }
    }

    pub(super) fn push(&mut self, problem: Diagnostic) {
        if !self.is_full() {
            self.problems.push(problem);
        }
    }

    /// Whether there are so many problems that it is no use to go on.
    pub(super) fn is_full(&self) -> bool {
        self.problems.len() >= MAX_PROBLEMS
    }

    pub(super) fn error(&mut self, place: &Place, message: impl Into<String>, help: &str) {
        self.push(Diagnostic::error(message).at(place.clone()).help(help));
    }

    /// Whether `is_good`; complains if not.
    pub(super) fn insist(
        &mut self,
        is_good: bool,
        place: &Place,
        message: impl Into<String>,
        help: &str,
    ) -> bool {
        if !is_good {
            self.error(place, message, help);
        }
        is_good
    }

    pub(super) fn warn(&mut self, place: &Place, message: impl Into<String>, help: &str) {
        self.push(Diagnostic::warning(message).at(place.clone()).help(help));
    }

    pub(super) fn has_errors(&self) -> bool {
        // A full list stopped the reading, so the job is not whole.
        self.is_full() || self.problems.iter().any(|p| p.severity == Severity::Error)
    }

    /// All problems, in the order of the file.
    pub(super) fn finish(mut self) -> Diagnostics {
        self.problems.sort_by_key(|problem| match &problem.place {
            Some(Place::Text { span, .. }) => span.start,
            _ => 0,
        });
        if self.is_full() {
            let file = self.file();
            self.problems.push(
                Diagnostic::error("there may be more problems; reading stopped here")
                    .at(file)
                    .help("mend the ones above first"),
            );
        }
        let mut sorted = Diagnostics::new();
        self.problems.into_iter().for_each(|p| sorted.push(p));
        sorted
    }

    /// Place of `part` (a byte range in `text`) inside a value whose place is `place`; the whole
    /// value where its text is not written plainly, for example with escapes.
    pub(super) fn within(&self, place: &Place, text: &str, part: Range<usize>) -> Place {
        if let Place::Text { source, span } = place {
            let start = span.start + 1;
            if source.text.get(start..start + text.len()) == Some(text) {
                return self.place(start + part.start..start + part.end);
            }
        }
        place.clone()
    }
}
