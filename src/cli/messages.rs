//! Problems and results on the terminal.

use std::io::{IsTerminal as _, Write as _};

use crate::diag::{Colour, Diagnostic, Diagnostics};

/// Shows every problem on standard error.
pub(super) fn show_all(problems: &Diagnostics) {
    for problem in problems.iter() {
        show(problem);
    }
}

/// Shows one problem on standard error. Colours are taken out again where nobody can see them or
/// `NO_COLOR` asks for it.
pub(super) fn show(problem: &Diagnostic) {
    // Nothing can be done about a closed standard error.
    _ = write!(anstream::stderr(), "{}", problem.render(Colour::Ansi));
}

/// Prints a result on standard output. A reader that has gone away (a closed pipe) is no fault.
pub(super) fn print(text: &str) {
    _ = std::io::stdout().write_all(text.as_bytes());
}

/// Whether a person is watching standard error, where progress goes.
pub(super) fn is_watched() -> bool {
    std::io::stderr().is_terminal()
}

/// Rows of cells in columns, each column as wide as its widest cell.
pub(super) fn columns<const N: usize>(rows: &[[String; N]]) -> String {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = (row.iter().zip(widths))
            .map(|(cell, width)| format!("{cell:<width$}"))
            .collect();
        text.push_str(&format!("  {}\n", cells.join("   ").trim_end()));
    }
    text
}
