//! `warpwise inspect`: what pattern files hold.

use super::args::InspectOptions;
use super::{Failure, input, messages};
use crate::diag::Diagnostics;
use crate::pattern::Pattern;
use crate::pattern::inspect::Inspection;

pub(super) fn run(options: &InspectOptions) -> Result<(), Failure> {
    let read: Vec<(String, Result<Pattern, Diagnostics>)> = options
        .patterns
        .iter()
        .map(|path| {
            let read = input::read_pattern_file(path, options.units);
            (path.display().to_string(), read)
        })
        .collect();
    let mut failed = false;
    for (_, read) in &read {
        let problems = match read {
            Ok(pattern) => &pattern.problems,
            Err(problems) => problems,
        };
        messages::show_all(problems);
        failed |= problems.has_errors();
    }
    let inspection = Inspection::of(read.iter().map(|(path, read)| (path.as_str(), read)));
    if options.json {
        let text = serde_json::to_string_pretty(&inspection)
            .expect("an inspection holds only strings and numbers");
        messages::print(&format!("{text}\n"));
    } else if !options.quiet {
        messages::print(&inspection.table());
    }
    if failed { Err(Failure::Input) } else { Ok(()) }
}
