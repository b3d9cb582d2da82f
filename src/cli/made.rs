//! `warpwise made`: what the record of the layup sheets says against the plan, and what the next job should say.

use std::path::Path;

use super::args::MadeOptions;
use super::page::LayupRecord;
use super::plan::usual_folder;
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Place};
use crate::output::made::{Made, MadeFigure, MadeWhat};
use crate::output::record::PlanRecord;
use crate::units::{Duration, Length, Mass};

pub(super) fn run(options: &MadeOptions) -> Result<(), Failure> {
    let refused = |problem: Diagnostic| {
        messages::show(&problem);
        Failure::Input
    };
    let out = options
        .out
        .clone()
        .unwrap_or_else(|| usual_folder(std::slice::from_ref(&options.job)));
    let plan = plan_in(&out).map_err(refused)?;
    let record = LayupRecord::of(&options.job);
    let made = Made::of(&plan, &record.noted());
    if made.figures.is_empty() {
        let problem = Diagnostic::error(format!(
            "the record {} says nothing that can be held against the plan",
            record.path().display()
        ));
        return Err(refused(problem.help(
            "it is made by ticking the layup sheets on the page of `warpwise open`: each batch when it is mixed, each piece when \
             it is laid; and by filling in weight, thickness and hours, and in the cutting list the length off the roll",
        )));
    }
    match options.json {
        true => messages::print_json(&made),
        false => messages::print(&told(&plan.title, &made)),
    }
    Ok(())
}

/// The plan that was written into `out`.
pub(super) fn plan_in(out: &Path) -> Result<PlanRecord, Diagnostic> {
    let path = out.join("plan.json");
    let text = input::read_plan(&path)?;
    serde_json::from_str(&text).map_err(|e| {
        Diagnostic::error(format!("this is no plan that can be read: {e}"))
            .at(Place::File(path.display().to_string()))
            .help("plan the job again, into the same folder")
    })
}

fn told(title: &str, made: &Made) -> String {
    let head = ["", "", "planned", "made", "difference"].map(str::to_owned);
    let rows: Vec<[String; 5]> = std::iter::once(head)
        .chain(made.figures.iter().map(row))
        .collect();
    let mut text = format!("{title}: planned and made\n\n{}", messages::columns(&rows));
    if !made.keys.is_empty() {
        text.push_str("\nFor the next job, or the shop file, if this was a usual day:\n\n");
        for key in &made.keys {
            text.push_str(&format!("  {} {}\n", key.table, key.line));
        }
    }
    text
}

fn row(figure: &MadeFigure) -> [String; 5] {
    let words = match figure.what {
        MadeWhat::Laying => "laying and wetting out",
        MadeWhat::Hours => "work on one set",
        MadeWhat::Weight => "weight of one set",
        MadeWhat::Thickness => "thickness",
        MadeWhat::Mixed => "resin mixed",
        MadeWhat::OffTheRoll => "cloth off the roll",
    };
    let amount = |value: f64| match figure.what {
        MadeWhat::Laying | MadeWhat::Hours => Duration::minutes(value).to_string(),
        MadeWhat::Weight | MadeWhat::Mixed => Mass::grams(value).in_grams_and_ounces(),
        MadeWhat::Thickness => Length::mm(value).in_mm_and_inches(),
        MadeWhat::OffTheRoll => Length::mm(value).in_metres_and_yards(),
    };
    let share = 100.0 * (figure.made / figure.planned - 1.0);
    [
        figure.of.clone(),
        words.to_owned(),
        amount(figure.planned),
        amount(figure.made),
        match share.is_finite() {
            true => format!("{share:+.0} %"),
            false => String::new(),
        },
    ]
}
