//! The command line: arguments, files, progress, messages, exit codes.
//!
//! The only module that touches the disk, the terminal, the clock and the environment.

mod again;
mod args;
mod board;
mod check;
mod compare;
mod documents;
mod input;
mod inspect;
mod made;
mod messages;
mod new;
mod page;
mod plan;
mod progress;
mod server;
mod shelf;
mod shop;
mod sources;
mod watch;
mod writing;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};

/// Why a command did not succeed; each has its exit code.
#[derive(Debug)]
enum Failure {
    /// The job or its input is wrong; the problems were shown.
    Input,
    /// Something could not be written; it was shown why.
    Output,
}

/// Runs the command line of this process and returns its exit code: 0 done, 1 the job or its input
/// is wrong, 2 wrong usage, 3 could not write. A Ctrl-C that leaves the run ends the
/// process itself with 130.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(told) => return tell(&told),
    };
    let result = match &arguments.command {
        Command::Plan(options) => plan::run(options),
        Command::Again(options) => again::run(options),
        Command::Cut(options) => shelf::cut(options),
        Command::Shelf(options) => shelf::run(options),
        Command::New(options) => new::run(options),
        Command::Open(options) => page::run(options),
        Command::Shop(options) => shop::run(options),
        Command::Compare(options) => compare::run(options),
        Command::Check(options) => check::run(options),
        Command::Inspect(options) => inspect::run(options),
        Command::Board(options) => board::run(options),
        Command::Made(options) => made::run(options),
        Command::Schema(options) => documents::schema(options),
        Command::Completions(options) => documents::completions(options),
        Command::Man(options) => documents::man(options),
    };
    exit_code(result)
}

fn exit_code(result: Result<(), Failure>) -> ExitCode {
    match result {
        Ok(()) if messages::was_printed() => ExitCode::SUCCESS,
        Ok(()) => ExitCode::from(3),
        Err(Failure::Input) => ExitCode::from(1),
        Err(Failure::Output) => ExitCode::from(3),
    }
}

/// Tells what clap has to say: the help that was asked for, or what is wrong with the usage.
fn tell(told: &clap::Error) -> ExitCode {
    if !told.use_stderr() {
        messages::print_styled(&told.render().ansi().to_string());
        return exit_code(Ok(()));
    }
    messages::show_usage(told);
    ExitCode::from(2)
}
