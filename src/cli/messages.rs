//! Problems and results on the terminal.

use std::io::{ErrorKind, IsTerminal as _, Write as _};
use std::sync::atomic::{AtomicBool, Ordering};

use crate::diag::{Diagnostic, Diagnostics, Place, TextColour, is_active, shortened, visible};
use crate::json;

/// Set when a result could not be printed.
static UNPRINTED: AtomicBool = AtomicBool::new(false);

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
    _ = write!(anstream::stderr(), "{}", problem.render(TextColour::Ansi));
}

/// Puts a question, or what is wrong with an answer, to the person at the terminal.
pub(super) fn ask(text: &str) {
    let mut out = std::io::stderr();
    // Without standard error there is nobody to ask.
    _ = out
        .write_all(visible(text).as_bytes())
        .and_then(|()| out.flush());
}

/// Prints a result on standard output, with what would act on a terminal made visible. A reader that
/// has gone away (a closed pipe) is no fault; any other failure is shown and kept for
/// [`was_printed`].
pub(super) fn print(text: &str) {
    write_out(&visible(text));
}

/// The same, for what is of no use where nobody reads it; answers whether somebody may.
pub(super) fn is_printed(text: &str) -> bool {
    write_out(&visible(text))
}

/// Prints JSON: what would act on a terminal is written as JSON writes it.
pub(super) fn print_json(value: &impl serde::Serialize) {
    let text = json::text(value);
    if !text.contains(is_active) {
        write_out(&text);
        return;
    }
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match is_active(c) {
            // All of them lie below U+10000.
            true => escaped.push_str(&format!("\\u{:04x}", u32::from(c))),
            false => escaped.push(c),
        }
    }
    write_out(&escaped);
}

/// Prints text of the program's own, with colours where somebody sees them.
pub(super) fn print_styled(text: &str) {
    write_to(&mut anstream::stdout(), text);
}

/// Shows what is wrong with the arguments. One that would act on a terminal costs the colours.
pub(super) fn show_usage(wrong: &clap::Error) {
    let is_harmless = |argument: std::ffi::OsString| {
        (argument.to_str()).is_some_and(|text| !text.chars().any(is_active))
    };
    let text = wrong.render();
    let text = match std::env::args_os().all(is_harmless) {
        true => text.ansi().to_string(),
        false => visible(&text.to_string()).into_owned(),
    };
    // Nothing can be done about a closed standard error.
    _ = write!(anstream::stderr(), "{text}");
}

fn write_out(text: &str) -> bool {
    write_to(&mut std::io::stdout(), text)
}

/// Writes `text`; answers whether it got out.
fn write_to(out: &mut impl std::io::Write, text: &str) -> bool {
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    let is_out = written.is_ok();
    if let Err(e) = written
        && e.kind() != ErrorKind::BrokenPipe
        && !UNPRINTED.swap(true, Ordering::SeqCst)
    {
        show(
            &Diagnostic::error(format!("the result cannot be printed: {e}"))
                .at(Place::File("standard output".to_owned())),
        );
    }
    is_out
}

/// Whether all results could be printed.
pub(super) fn was_printed() -> bool {
    !UNPRINTED.load(Ordering::SeqCst)
}

/// Whether a person is watching standard error, where progress goes.
pub(super) fn is_watched() -> bool {
    std::io::stderr().is_terminal()
}

/// Longest cell of a table in letters.
const LONGEST_CELL: usize = 80;

/// Rows of cells in columns, each column as wide as its widest cell.
pub(super) fn columns<const N: usize>(rows: &[[String; N]]) -> String {
    let rows: Vec<[_; N]> = (rows.iter())
        .map(|row| row.each_ref().map(|cell| shortened(cell, LONGEST_CELL)))
        .collect();
    let mut widths = [0; N];
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let mut text = String::new();
    for row in &rows {
        let cells: Vec<String> = (row.iter().zip(widths))
            .map(|(cell, width)| format!("{cell:<width$}"))
            .collect();
        text.push_str(&format!("  {}\n", cells.join("   ").trim_end()));
    }
    text
}
