//! `warpwise again`: a piece that was lost to a bad cut is cut again from what is left.

use super::args::AgainOptions;
use super::made::plan_in;
use super::page::ByHand;
use super::plan::usual_folder;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Place};
use crate::job::edit::{TableFields, edited};

pub(super) fn run(options: &AgainOptions) -> Result<(), Failure> {
    let refused = |problem: Diagnostic| {
        messages::show(&problem);
        Failure::Input
    };
    let job = &options.job;
    let out = options.out.clone();
    let out = out.unwrap_or_else(|| usual_folder(std::slice::from_ref(job)));
    let text = input::read_text(job, "job file").map_err(refused)?;
    let plan = plan_in(&out).map_err(refused)?;
    let pieces = options.pieces.clone();
    let fields = TableFields::of(&text).ok_or_else(|| "the job file is not TOML".to_owned());
    let edits = fields.and_then(|fields| ByHand::Again { pieces }.edits(&fields, &plan));
    let changed =
        edits
            .and_then(|edits| edited(&text, &edits))
            .map_err(|why| {
                let problem = Diagnostic::error(why).at(Place::File(job.display().to_string()));
                refused(problem.help(
                    "name pieces as their labels do; the plan is the one that they were cut by",
                ))
            })?;
    write_file(job, changed.as_bytes(), Existing::Any, &[])?;
    if !options.quiet {
        let all = options.pieces.join(", ");
        messages::print(&format!(
            "{}: {all} will be cut again: the others of this cloth are pinned where {} has them, and the spoilt cloth is a flaw.\n\
             Plan the job again: `warpwise plan {}`\n",
            job.display(),
            out.display(),
            job.display()
        ));
    }
    Ok(())
}
