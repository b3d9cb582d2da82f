//! `warpwise plan`: the whole job.

use std::fmt::Write as _;
use std::panic::{self, AssertUnwindSafe};
use std::path::{Path, PathBuf};

use super::args::PlanOptions;
use super::input::Prepared;
use super::progress::{Busy, Watcher};
use super::shelf::{self, Reserved};
use super::writing::OutFolder;
use super::{Failure, input, messages, progress, watch};
use crate::cloth::Purchase;
use crate::diag::{Diagnostic, Diagnostics, Severity};
use crate::nest::Effort;
use crate::output::{self, OutputFile, ProvenPlan};
use crate::plan::{self, ClothUse, Plan, Saving, Settings, Step};
use crate::units::Money;

pub(super) fn run(options: &PlanOptions) -> Result<(), Failure> {
    if options.watch {
        return watch::run(options);
    }
    let out = out_folder(options);
    let watcher = progress::Watcher::new(options.quiet);
    watcher.stop_on_interrupt();
    let prepared = input::prepare(&options.jobs, options.quiet)?;
    let folder = OutFolder::hold(&out)?;
    folder.check_inputs(&prepared.files)?;
    let made = planned(prepared, options, (&folder, &watcher))?;
    if options.json {
        messages::print_json(&summary_json(made.proven.plan_json(), &out));
    } else if !options.quiet {
        messages::print(&summary(made.proven.plan(), &out, options.effort().effort));
    }
    Ok(())
}

/// The plan in its folder, with what it uses of a shelf reserved. Where another run has taken some of that
/// meanwhile, the job is planned again.
fn planned(
    mut prepared: Prepared,
    options: &PlanOptions,
    (folder, watcher): (&OutFolder, &Watcher),
) -> Result<PlannedFiles, Failure> {
    /// Others would have to be as fast each time.
    const TIMES: u32 = 5;
    for time in 1.. {
        let shelf = prepared.shelf.clone();
        let made = make(prepared, options, watcher).map_err(|problems| input_failure(&problems))?;
        messages::show_all(&made.said);
        folder.write(&made.files)?;
        let Some(shelf) = shelf else {
            return Ok(made);
        };
        match shelf::reserve(made.proven.plan(), &shelf)? {
            Reserved::Done => return Ok(made),
            Reserved::Changed(why) => {
                let told = Diagnostic::note(format!("the shelf has changed meanwhile: {why}"));
                if time == TIMES {
                    let told = Diagnostic::error(told.message);
                    messages::show(
                        &told.help("the plan that was written reserves nothing: plan again"),
                    );
                    return Err(Failure::Input);
                }
                messages::show(&told.help("the job is planned again"));
                prepared = input::prepare_and_show(&options.jobs, options.quiet, Severity::Error)?;
            }
        }
    }
    unreachable!("the last time returns")
}

/// A plan and its files, proved.
pub(super) struct PlannedFiles {
    pub proven: ProvenPlan,
    pub files: Vec<OutputFile>,
    /// What is to be said of it beside what was said of the job.
    pub said: Diagnostics,
}

/// The plan of a job, its files, and the proof of what they say.
pub(super) fn make(
    prepared: Prepared,
    options: &PlanOptions,
    watcher: &Watcher,
) -> Result<PlannedFiles, Diagnostics> {
    let effort = options.effort();
    let settings = Settings {
        effort: effort.effort,
        effort_name: effort.name,
        seed: options.seed,
        threads: options.threads.map_or_else(all_threads, usize::from),
    };
    let pieces = &prepared.pieces;
    let observe = |step: Step<'_>| watcher.see(step);
    let built = match &prepared.each[..] {
        [] => plan::build(pieces, &settings, &observe),
        each => plan::build_together(pieces, each, &settings, &observe),
    };
    let built = built.and_then(|mut plan| {
        if let Some(most) = options.cost_per_set {
            let observe = |done| watcher.see_share("cost per set", done);
            plan.set_cost_per_set(plan::cost_per_set(pieces, &settings, most, &observe)?);
        }
        Ok(plan)
    });
    watcher.done();
    let mut plan = built?;
    let mut said = plan.remarks().clone();
    plan.put_remarks_first(prepared.remarks);
    if let Effort::Seconds(_) = settings.effort {
        plan.remark(not_repeatable());
    }
    if progress::was_stopped() {
        said.push(stopped_early());
        plan.remark(stopped_early());
    } else if settings.effort == Effort::UntilStuck {
        said.push(ended_stuck());
        plan.remark(ended_stuck());
    }
    let _busy = Busy::new("writing and proving the files", options.quiet);
    let proven = ProvenPlan::prove(plan)?;
    let (files, remarks) = output::all_with_remarks(&proven);
    said.append(remarks);
    Ok(PlannedFiles {
        files,
        proven,
        said,
    })
}

pub(super) fn not_repeatable() -> Diagnostic {
    Diagnostic::note("the search was limited by the clock, so the same job can give another plan")
        .help("the efforts quick, normal, thorough and until-stuck give the same plan every time")
}

/// Why a search of [`Effort::UntilStuck`] ended.
fn ended_stuck() -> Diagnostic {
    Diagnostic::note(
        "the search of each cloth ended where twice the work made its layout less than 0.1 % shorter, \
         at the latest after five times the work of thorough",
    )
}

fn stopped_early() -> Diagnostic {
    Diagnostic::warning("the search was stopped early: this is the best plan found so far")
        .help("let it run to the end for a plan that may need less cloth")
}

/// `--out`, or the names of the jobs with `-plan` in the current folder.
pub(super) fn out_folder(options: &PlanOptions) -> PathBuf {
    (options.out.clone()).unwrap_or_else(|| usual_folder(&options.jobs))
}

/// Where results of these jobs go unless something else is said.
pub(super) fn usual_folder(jobs: &[PathBuf]) -> PathBuf {
    let stem = |job: &PathBuf| {
        job.file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned()
    };
    let stems: Vec<String> = jobs.iter().map(stem).collect();
    PathBuf::from(format!("{}-plan", stems.join("-")))
}

/// Does `work`; a fault of the program in it is a problem like any other, after which `again` helps.
pub(super) fn contained<T>(
    again: &str,
    work: impl FnOnce() -> Result<T, Diagnostics>,
) -> Result<T, Diagnostics> {
    panic::catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| {
        Err(
            Diagnostic::error("a fault of warpwise stopped the planning")
                .help(format!("please report it with the job; {again}"))
                .into(),
        )
    })
}

pub(super) fn all_threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

fn input_failure(problems: &Diagnostics) -> Failure {
    messages::show_all(problems);
    Failure::Input
}

/// The written plan without its layouts, and where it is.
fn summary_json(plan_json: &str, out: &Path) -> serde_json::Value {
    let mut summary: serde_json::Value =
        serde_json::from_str(plan_json).expect("the re-check has read it");
    if let Some(keys) = summary.as_object_mut() {
        keys.remove("layouts");
        keys.insert("out".to_owned(), out.display().to_string().into());
    }
    summary
}

/// What a person wants to know first.
pub(super) fn summary(plan: &Plan, out: &Path, effort: Effort) -> String {
    let head = ["cloth", "to buy", "used", "pieces", "waste", "cost"].map(str::to_owned);
    let rows: Vec<[String; 6]> = std::iter::once(head)
        .chain(plan.cloths().iter().map(row))
        .collect();
    let mut text = format!("{}\n\n{}", plan.title(), messages::columns(&rows));
    if !plan.savings().is_empty() {
        text.push('\n');
    }
    text.extend(plan.savings().iter().map(saved));
    text.push_str(&prices(plan));
    if let Effort::Seconds(_) = effort {
        text.push_str(
            "\nA search limited by the clock is not repeatable; quick, normal and thorough are.\n",
        );
    }
    _ = write!(
        text,
        "\nEvery piece was checked against the written plan: inside the cloth, gap kept, turn permitted.\n\
         Report and cut files are in {}; open {}.\n",
        out.display(),
        out.join("report.html").display()
    );
    text
}

/// What each part must be sold for, where the job says what work costs.
fn prices(plan: &Plan) -> String {
    let Some((order, labour)) = plan.price_of_order().zip(plan.job().labour()) else {
        return String::new();
    };
    let currency = &labour.hourly_rate.currency;
    let told = |amount: Money| format!("{amount} {currency}").trim_end().to_owned();
    let parts = plan.parts().iter().filter_map(|part| {
        let price = part.price.as_ref()?;
        Some(format!(
            "{} {} ({} of work)",
            part.name(),
            told(price.total()),
            price.all_hours()
        ))
    });
    format!(
        "\nPrice of one set: {}; the whole order {}.\n",
        parts.collect::<Vec<_>>().join(", "),
        told(order)
    )
}

/// What planning the jobs together saves of a cloth.
fn saved(saving: &Saving) -> String {
    let told = |purchase: &Purchase| {
        let length = purchase.length.in_metres_and_yards();
        match purchase.cost {
            Some(cost) => format!("{length} and {cost} {}", saving.currency),
            None => length,
        }
    };
    let (alone, together) = (told(&saving.one_by_one), told(&saving.together));
    format!(
        "{}: planned one by one {}; together {}.\n",
        saving.cloth,
        alone.trim_end(),
        together.trim_end()
    )
}

fn row(used: &ClothUse) -> [String; 6] {
    let all = used.cloth_in().to_mm2();
    let waste = used.waste.total();
    [
        match used.alternatives.is_empty() {
            true => used.cloth.name.clone(),
            false => {
                let width = used.cloth.roll_width.in_mm_and_inches();
                format!("{}, {width} wide", used.cloth.name)
            }
        },
        used.purchase.length.in_metres_and_yards(),
        format!("{:.1} %", used.utilisation * 100.0),
        used.n_pieces.to_string(),
        format!(
            "{} = {:.0} %",
            waste.in_m2_and_yd2(),
            100.0 * waste.to_mm2() / all
        ),
        match (&used.purchase.cost, &used.cloth.price) {
            (Some(cost), Some(price)) => format!("{cost} {}", price.currency).trim_end().to_owned(),
            _ => "not priced".to_owned(),
        },
    ]
}
