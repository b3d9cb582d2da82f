//! `warpwise schema`, `completions` and `man`: what the program says of itself.

use std::io;

use clap::CommandFactory as _;
use clap_mangen::Man;

use super::args::{Arguments, CompletionsOptions, EXIT_CODES, ManOptions, SchemaOptions};
use super::writing::{Existing, write_file};
use super::{Failure, messages};
use crate::job;

const NAME: &str = "warpwise";

/// Prints the keys of the job file.
pub(super) fn schema(options: &SchemaOptions) -> Result<(), Failure> {
    if options.markdown {
        messages::print(&job::reference());
    } else {
        let schema = match options.shop {
            true => job::shop_schema(),
            false => job::schema(),
        };
        messages::print(&format!("{schema:#}\n"));
    }
    Ok(())
}

/// Prints the completions of a shell.
pub(super) fn completions(options: &CompletionsOptions) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(options.shell, &mut Arguments::command(), NAME, &mut script);
    messages::print(&String::from_utf8_lossy(&script));
    Ok(())
}

/// Writes a man page for the program and one for each of its commands.
pub(super) fn man(options: &ManOptions) -> Result<(), Failure> {
    let mut program = Arguments::command();
    program.build();
    let commands: Vec<clap::Command> = program.get_subcommands().cloned().collect();
    let own = commands.iter().filter(|c| c.get_name() != "help");
    let pages = std::iter::once((NAME.to_owned(), &program)).chain(own.map(|command| {
        let name = format!("{NAME}-{}", command.get_name());
        (name, command)
    }));
    for (name, command) in pages {
        let page = man_page(&name, command).expect("memory can be written to");
        let path = options.folder.join(format!("{name}.1"));
        write_file(&path, &page, Existing::Own, &[])?;
    }
    Ok(())
}

fn man_page(name: &str, command: &clap::Command) -> io::Result<Vec<u8>> {
    let man = Man::new(command.clone().display_name(name.to_owned()))
        .title(name.to_uppercase())
        .source(format!("{NAME} {}", env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut page)?;
    }
    if let Some(after) = command.get_after_help().map(ToString::to_string)
        && after != EXIT_CODES
    {
        verbatim(&mut page, "EXAMPLES", &after);
    }
    verbatim(&mut page, "EXIT STATUS", EXIT_CODES);
    Ok(in_ascii(&String::from_utf8_lossy(&page)).into_bytes())
}

/// `page` with other letters as the formatter's own escapes: not every one reads UTF-8.
fn in_ascii(page: &str) -> String {
    let mut text = String::with_capacity(page.len());
    for c in page.chars() {
        if c.is_ascii() {
            text.push(c);
        } else {
            text.push_str(&format!("\\[u{:04X}]", u32::from(c)));
        }
    }
    text
}

/// A section whose lines stay as they are; a heading that says the same as the section's goes.
fn verbatim(page: &mut Vec<u8>, heading: &str, text: &str) {
    let text = ["Exit codes:\n", "Examples:\n", "Example: "]
        .iter()
        .find_map(|start| text.strip_prefix(start))
        .unwrap_or(text);
    page.extend(format!(".SH \"{heading}\"\n.nf\n").bytes());
    for line in text.lines() {
        let line = line.replace('\\', "\\e").replace('-', "\\-");
        // A point or a quote at the start of a line would be a request.
        page.extend(format!("\\&{line}\n").bytes());
    }
    page.extend(b".fi\n");
}
