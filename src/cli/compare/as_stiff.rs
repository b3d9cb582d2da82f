//! `warpwise compare --as-stiff-as`: how many layers make a part as stiff as a sheet.

use super::super::args::CompareOptions;
use super::super::messages;
use super::{cheapest, cost, reasons};
use crate::diag::{Diagnostic, Place};
use crate::job::Job;
use crate::laminate::{StiffAs, StiffIn};
use crate::plan::compare::{Outcome, StiffnessWish, Variant, stacks_as_stiff};

/// Stacks that are planned, at most.
const MOST: usize = 8;

/// The job as designed and, after it, with `part` laid up as stiff as `target`.
pub(super) fn ways(
    options: &CompareOptions,
    target: &StiffAs,
    job: &Job,
    part: usize,
) -> Result<Vec<Variant>, Diagnostic> {
    let at = |problem: Diagnostic| problem.at(Place::File("--as-stiff-as".to_owned()));
    if target.stretch().is_none() && options.stiff_in != StiffIn::Bending {
        let problem = format!("`{target}` states no stiffness in tension");
        return Err(at(Diagnostic::error(problem))
            .help("name a sheet, such as `2 mm aluminium`, or ask for bending alone"));
    }
    let wish = StiffnessWish {
        target: target.clone(),
        stiff_in: options.stiff_in,
        along: options.along,
        part,
        most: MOST,
    };
    let ways = stacks_as_stiff(job, &wish);
    if ways.len() > 1 {
        return Ok(ways);
    }
    let problem = Diagnostic::error(format!(
        "no stack of the job's cloths is as stiff as {target}"
    ));
    Err(match job.laminae().iter().any(Option::is_some) {
        true => {
            at(problem).help("at most 60 plies are tried; name a thinner sheet or stiffer cloths")
        }
        false => {
            at(problem).help("say what the cloths are made of, for example `fibre = \"carbon\"`")
        }
    })
}

/// The stacks with what they weigh and cost, the cheapest first.
pub(super) fn to_text(
    title: &str,
    target: &StiffAs,
    options: &CompareOptions,
    outcomes: &[Outcome],
) -> String {
    let loads = match options.stiff_in {
        StiffIn::Bending => "bending",
        StiffIn::Tension => "tension",
        StiffIn::Both => "bending and tension",
    };
    let mut text = format!("{title}\n\nAs stiff in {loads} as {target}: ");
    text.push_str(&target.bend().in_newton_metres_and_pound_inches());
    if let Some(stretch) = target
        .stretch()
        .filter(|_| options.stiff_in != StiffIn::Bending)
    {
        text.push_str(&format!(
            ", {}",
            stretch.in_kilonewtons_and_pounds_by_width()
        ));
    }
    text.push_str(" by width\n\n");
    let mut sorted: Vec<&Outcome> = outcomes.iter().collect();
    if let Some((_, others)) = sorted.split_first_mut() {
        others.sort_by_key(|way| sum_of(way));
    }
    let stiffness = match target.stretch() {
        Some(_) => "bending / tension",
        None => "bending",
    };
    let head = [
        "layup",
        "plies",
        "thickness",
        "kg/m²",
        stiffness,
        "symmetric",
        "cost",
        "waste",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    rows.extend(sorted.iter().map(|way| row(way)));
    text.push_str(&messages::columns(&rows));
    text.push_str(&best_told(outcomes));
    for way in sorted {
        if let Err(problems) = &way.figures {
            for why in reasons(problems) {
                text.push_str(&format!("  {} is not possible: {why}\n", way.name));
            }
        }
    }
    if let Some(g_per_m2) = target.g_per_m2() {
        text.push_str(&format!(
            "The sheet weighs {:.2} kg/m².\n",
            g_per_m2 / 1000.0
        ));
    }
    text.push_str(
        "\nStiffness is not strength: a laminate may be as stiff as the sheet and break sooner. Stiffness \
         is an estimate; try a sample. Costs are those of the cloth of the whole job.\n",
    );
    text
}

/// What a way costs, hundredths, for sorting; what is not priced comes last.
fn sum_of(way: &Outcome) -> i64 {
    let figures = way
        .figures
        .as_ref()
        .ok()
        .filter(|figures| figures.is_priced);
    match figures.map(|figures| &figures.cost[..]) {
        Some([(_, sum)]) => sum.to_cents(),
        _ => i64::MAX,
    }
}

fn row(way: &Outcome) -> [String; 8] {
    let mut cells: [String; 8] = Default::default();
    cells[0] = way.layup();
    if let Some(stack) = &way.stack {
        cells[1] = stack.n_plies.to_string();
        cells[2] = format!("{:.2} mm", stack.thickness.to_mm());
        cells[3] = format!("{:.2}", stack.areal_weight.to_g_per_m2() / 1000.0);
        cells[4] = stack.shares_told();
        cells[5] = if stack.is_symmetric { "yes" } else { "no" }.to_owned();
    } else {
        cells[4] = "not known".to_owned();
    }
    match &way.figures {
        Ok(figures) => {
            cells[6] = cost(figures);
            cells[7] = format!("{:.0} %", 100.0 * figures.wasted());
        }
        Err(_) => cells[6] = "not possible".to_owned(),
    }
    cells
}

/// The cheapest and the lightest of those that reach the wish, and of those the symmetric ones.
fn best_told(outcomes: &[Outcome]) -> String {
    let reaches = |way: &&Outcome| {
        let stack = way.stack.as_ref();
        way.figures.is_ok() && stack.is_some_and(|stack| stack.least >= 1.0)
    };
    let good: Vec<&Outcome> = outcomes.iter().filter(reaches).collect();
    let mass = |way: &&Outcome| {
        way.stack
            .as_ref()
            .map_or(f64::INFINITY, |s| s.areal_weight.to_g_per_m2())
    };
    let lightest = good
        .iter()
        .copied()
        .min_by(|a, b| mass(a).total_cmp(&mass(b)));
    let mut text = "\n".to_owned();
    if let Some((best, sum)) = cheapest(good.iter().copied()) {
        text.push_str(&format!("Cheapest: {}, {sum}.\n", best.name));
    }
    if let Some(best) = lightest {
        text.push_str(&format!(
            "Lightest: {}, {:.2} kg/m².\n",
            best.name,
            mass(&best) / 1000.0
        ));
    }
    text
}
