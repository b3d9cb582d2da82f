//! Why a folder for the results cannot be had.

use std::io;
use std::path::Path;

use crate::cli::{Failure, messages};
use crate::diag::{Diagnostic, Place};

/// Why a folder cannot be had: what is wrong, and what helps.
pub(super) struct Refusal {
    pub(super) message: String,
    help: &'static str,
}

pub(super) const ANOTHER: &str = "choose another folder with `--out`";
pub(super) const ANOTHER_OR_EMPTY: &str =
    "choose another folder with `--out`, or move its content away";

pub(super) fn refusal(message: impl Into<String>, help: &'static str) -> Refusal {
    Refusal {
        message: message.into(),
        help,
    }
}

impl From<io::Error> for Refusal {
    fn from(e: io::Error) -> Self {
        refusal(format!("the results cannot be written: {e}"), ANOTHER)
    }
}

impl Refusal {
    /// Shows why `out` cannot be had.
    pub(super) fn show(self, out: &Path) -> Failure {
        messages::show(
            &Diagnostic::error(self.message)
                .at(Place::File(out.display().to_string()))
                .help(self.help),
        );
        Failure::Output
    }
}
