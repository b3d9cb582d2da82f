//! The file that is read, with the shop file behind it, and the problems found in both.

use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use super::Located;
use super::rules::MAX_TEXT;
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, SourceText};

/// After this many problems reading stops. Larger: a file that is no job file at all floods the
/// screen; smaller: mending a long job takes more runs.
const MAX_PROBLEMS: usize = 100;

/// The file that is read and the problems found so far.
pub(super) struct JobReader {
    source: Arc<SourceText>,
    /// The shop file that the job names. Spans in it count from the job's end.
    shop: Option<ShopSource>,
    problems: Vec<Diagnostic>,
}

struct ShopSource {
    source: Arc<SourceText>,
    /// The path as the job writes it.
    path: String,
}

impl JobReader {
    pub(super) fn new(file_name: &str, text: &str) -> Self {
        Self {
            source: Arc::new(SourceText {
                name: file_name.to_owned(),
                text: text.to_owned(),
            }),
            shop: None,
            problems: Vec::new(),
        }
    }

    /// The reader of a file with this text, if it is not too large.
    pub(super) fn of(file_name: &str, text: &str) -> Result<Self, Diagnostic> {
        if text.len() > MAX_TEXT {
            return Err(Diagnostic::error("the file is too large for a job file")
                .at(Place::File(file_name.to_owned()))
                .help("at most 4 MiB are read; is this the right file?"));
        }
        // Some editors start a file with a byte order mark; nobody sees it.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        Ok(Self::new(file_name, text))
    }

    /// The file's text.
    pub(super) fn source(&self) -> Arc<SourceText> {
        Arc::clone(&self.source)
    }

    /// Takes the shop file that the job names as `path`; returns its text, behind as many blanks as
    /// there are bytes before it.
    pub(super) fn add_shop(&mut self, path: &str, mut source: SourceText) -> String {
        if source.text.starts_with('\u{feff}') {
            source.text.drain(..'\u{feff}'.len_utf8());
        }
        let text = " ".repeat(self.job_length()) + &source.text;
        self.shop = Some(ShopSource {
            source: Arc::new(source),
            path: path.to_owned(),
        });
        text
    }

    /// One more than the job's text has, so that its very end is not the shop's beginning.
    fn job_length(&self) -> usize {
        self.source.text.len() + 1
    }

    /// The place of `span`, cut off at the end of its first line.
    pub(super) fn place(&self, span: Range<usize>) -> Place {
        match &self.shop {
            Some(shop) if span.start >= self.job_length() => {
                let own = |at: usize| at - self.job_length();
                place_in(&shop.source, own(span.start)..own(span.end))
            }
            _ => place_in(&self.source, span),
        }
    }

    /// Whether the job names a shop file.
    pub(super) const fn has_shop(&self) -> bool {
        self.shop.is_some()
    }

    /// Whether `place` is in the shop file.
    pub(super) fn is_in_shop(&self, place: &Place) -> bool {
        match (place, &self.shop) {
            (Place::Text { source, .. }, Some(shop)) => Arc::ptr_eq(source, &shop.source),
            _ => false,
        }
    }

    /// The path written at `place`, as seen from the job file.
    pub(super) fn path_from_job(&self, path: Located<String>) -> Located<String> {
        let folder = match &self.shop {
            Some(shop) if self.is_in_shop(&path.place) => Path::new(&shop.path).parent(),
            _ => None,
        };
        let value = match folder {
            Some(folder) => folder.join(&path.value).to_string_lossy().into_owned(),
            None => path.value,
        };
        let place = path.place;
        Located { value, place }
    }

    /// The file as a whole.
    pub(super) fn file(&self) -> Place {
        Place::File(self.source.name.clone())
    }

    /// The line of `place`, from 1, with its file if that is not the job.
    pub(super) fn line(&self, place: &Place) -> String {
        let Place::Text { source, span } = place else {
            return "line 1".to_owned();
        };
        let before = source.text.get(..span.start).unwrap_or_default();
        let line = before.matches('\n').count() + 1;
        match self.is_in_shop(place) {
            true => format!("line {line} of {}", source.name),
            false => format!("line {line}"),
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

    /// All problems, in the order of the file, those of the shop file last.
    pub(super) fn finish(mut self) -> Diagnostics {
        let mut problems = std::mem::take(&mut self.problems);
        problems.sort_by_key(|problem| match &problem.place {
            Some(place @ Place::Text { span, .. }) => (self.is_in_shop(place), span.start),
            _ => (false, 0),
        });
        self.problems = problems;
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
                return place_in(source, start + part.start..start + part.end);
            }
        }
        place.clone()
    }
}

/// The place of `span` in the text of `source`, cut off at the end of its first line.
fn place_in(source: &Arc<SourceText>, span: Range<usize>) -> Place {
    let text = source.text.get(span.clone());
    let line_end = text
        .and_then(|text| text.find('\n'))
        .map_or(span.end, |at| span.start + at);
    Place::Text {
        source: Arc::clone(source),
        span: span.start..line_end,
    }
}
