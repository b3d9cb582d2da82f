//! What the papers of a job carry beside its title: number, date and revision, as the job gives them.

use super::keys::KeyEntry;
use super::reader::JobReader;
use super::rules::MAX_NAME;
use super::wording::shown;

/// Number, date and revision of a job, each if it is given. A date is never the day of the run, so that
/// the same job makes the same papers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JobMarks {
    number: Option<String>,
    date: Option<String>,
    revision: Option<String>,
}

impl JobMarks {
    /// The marks of those entries.
    pub(super) fn of(reader: &mut JobReader, [number, date, revision]: [Entry; 3]) -> Self {
        Self {
            number: mark(reader, number),
            date: mark(reader, date),
            revision: mark(reader, revision),
        }
    }

    /// The number of the job.
    #[must_use]
    pub fn number(&self) -> Option<&str> {
        self.number.as_deref()
    }

    /// The date that its papers carry.
    #[must_use]
    pub fn date(&self) -> Option<&str> {
        self.date.as_deref()
    }

    /// Which state of it this is.
    #[must_use]
    pub fn revision(&self) -> Option<&str> {
        self.revision.as_deref()
    }

    /// All that is given, for the heads of papers: `job 2041`, `revision B`, `2025-03-01`.
    #[must_use]
    pub fn in_words(&self) -> Vec<String> {
        let number = self.number().map(|number| format!("job {number}"));
        let revision = self
            .revision()
            .map(|revision| format!("revision {revision}"));
        let date = self.date().map(str::to_owned);
        [number, revision, date].into_iter().flatten().collect()
    }
}

type Entry = KeyEntry<Option<String>>;

/// The value of `entry`, which has to fit on a label.
fn mark(reader: &mut JobReader, entry: Entry) -> Option<String> {
    let value = entry.value.as_deref()?.trim();
    if value.chars().count() > MAX_NAME {
        let message = format!("the {} {} is too long", entry.key.name, shown(value));
        let help = format!("at most {MAX_NAME} letters fit on a label");
        let place = entry.place().unwrap_or(&reader.file()).clone();
        reader.error(&place, message, &help);
    }
    (!value.is_empty()).then(|| value.to_owned())
}
