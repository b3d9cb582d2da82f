//! The jobs that are planned together, and what that saves.

use crate::output::files::job_folder;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{cost, counted, running};
use crate::plan::{JobShare, Plan};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    if plan.jobs().is_empty() {
        return Vec::new();
    }
    let jobs = TableOf::new("Jobs", plan.jobs())
        .name("Job", |job| {
            prose! { Link(format!("{}/report.html", job_folder(job.name())), job.plan().title()) }
        })
        .words("Parts", parts)
        .number("Pieces", |job| {
            let layouts = job.plan().layouts().iter();
            layouts.map(|layout| layout.pieces().len()).sum::<usize>()
        });
    let savings = TableOf::new("What planning them together saves", plan.savings())
        .caption("To buy of each cloth")
        .name("Cloth", |saving| &saving.cloth)
        .number("One by one", |saving| {
            prose! {
                (running(saving.one_by_one.length))
                Small { (running(saving.one_by_one.used)) " used" }
            }
        })
        .number("Cost", |saving| {
            cost(saving.one_by_one.cost, &saving.currency)
        })
        .key("Planned together", |saving| {
            prose! {
                (running(saving.together.length))
                Small { (running(saving.together.used)) " used" }
            }
        })
        .number("Cost", |saving| {
            cost(saving.together.cost, &saving.currency)
        });
    vec![
        Passage::section("Jobs planned together", "jobs", "Jobs"),
        Passage::lead(
            "Each job has a report, sheets and kit lists of its own, with its resin and its bags. One by one: each \
             job laid out by itself, buying its own cloth, on what those before it leave of the stock.",
        ),
        jobs.done(),
        savings.done(),
    ]
}

fn parts(job: &&JobShare) -> String {
    let parts = job.plan().parts();
    let names: Vec<&str> = parts.iter().map(|part| part.name()).collect();
    format!(
        "{}: {}",
        counted(parts.len(), "part", "parts"),
        names.join(", ")
    )
}
