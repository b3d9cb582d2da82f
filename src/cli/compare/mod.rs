//! `warpwise compare`: the same job done in other ways.

mod as_stiff;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::args::CompareOptions;
use super::plan::{all_threads, not_repeatable};
use super::writing::{Existing, may_write, write_file};
use super::{Failure, input, messages, progress};
use crate::diag::{Diagnostic, Diagnostics, Place, nearest};
use crate::job::{Job, widest_roll};
use crate::json::record;
use crate::laminate::{InPlane, Shares, StiffAs};
use crate::nest::Effort;
use crate::number::{COORDINATE, rounded};
use crate::output::compare_html;
use crate::plan::Settings;
use crate::plan::compare::{
    Choices, ClothFigures, Figures, LaminateChange, Outcome, PartFigures, StackFigures, Variant,
    compare, variants,
};
use crate::ply::{Piece, Pieces};
use crate::units::{Angle, Length, Money};

pub(super) fn run(options: &CompareOptions) -> Result<(), Failure> {
    let prepared = input::prepare(std::slice::from_ref(&options.job), options.quiet)?;
    let existing = Existing::replaced(options.replace);
    if let Some(path) = &options.html {
        may_write(path, existing, &prepared.files)?;
    }
    let job = prepared.inputs.job();
    let variants = ways(options, job, &prepared.pieces).map_err(|problem| {
        messages::show(&problem);
        Failure::Input
    })?;
    let settings = Settings {
        effort: options.effort.effort,
        effort_name: options.effort.name.clone(),
        seed: options.seed,
        threads: options.threads.map_or_else(all_threads, usize::from),
    };
    if let Effort::Seconds(_) = settings.effort {
        messages::show(&not_repeatable());
    }
    let watcher = progress::Watcher::new(options.quiet);
    watcher.stop_on_interrupt();
    let outcomes = compare(&variants, &prepared.inputs, &settings, &|done| {
        watcher.see_share(&options.job.display().to_string(), done)
    });
    watcher.done();
    if progress::was_stopped() {
        messages::show(&Diagnostic::warning(
            "the searches were stopped early: the lengths could be shorter, some more than others",
        ));
    }
    // The job itself must be possible.
    if let Some(Err(problems)) = outcomes.first().map(|first| &first.figures) {
        messages::show_all(problems);
        return Err(Failure::Input);
    }
    let title = prepared.inputs.job().title();
    if let Some(path) = &options.html {
        let mut head = vec![title.to_owned()];
        head.extend(prepared.inputs.job().marks().in_words());
        let page = compare_html(
            &head.join(" · "),
            &settings.effort_name,
            settings.seed,
            &outcomes,
        );
        write_file(path, page.as_bytes(), existing, &prepared.files)?;
    }
    if options.json {
        messages::print_json(&CompareRecord::of(
            title,
            &settings,
            &outcomes,
            options.as_stiff_as.as_ref(),
        ));
    } else if !options.quiet {
        messages::print(&match &options.as_stiff_as {
            Some(target) => as_stiff::to_text(title, target, options, &outcomes),
            None => to_text(title, &outcomes),
        });
    }
    Ok(())
}

/// The ways to plan.
fn ways(options: &CompareOptions, job: &Job, pieces: &Pieces) -> Result<Vec<Variant>, Diagnostic> {
    if let Some(target) = &options.as_stiff_as {
        let part = match &options.part {
            None => most_cut(pieces, Piece::part_idx),
            Some(name) => named("--part", "part", name, job.parts().iter().map(|p| &p.name))?,
        };
        return as_stiff::ways(options, target, job, part);
    }
    let wide = match &options.cloth {
        None => most_cut(pieces, Piece::cloth_idx),
        Some(name) => named(
            "--cloth",
            "cloth",
            name,
            job.cloths().iter().map(|c| &c.name),
        )?,
    };
    Ok(variants(job, &choices(options, wide)))
}

/// What to try: all that there is, or only what the options ask for.
fn choices(options: &CompareOptions, wide: usize) -> Choices {
    let asks =
        !(options.widths.is_empty() && options.times.is_empty()) || options.tolerance.is_some();
    let layups = options.all || !asks;
    let mut choices = Choices {
        layups,
        widths: options.widths.clone(),
        wide,
        times: options.times.clone(),
        tolerance: options.tolerance,
    };
    if layups {
        choices.try_all();
    }
    choices
}

impl Choices {
    /// Tries the usual of everything for which nothing is asked.
    fn try_all(&mut self) {
        if self.widths.is_empty() {
            self.widths = [38.0, 50.0, 60.0].map(Length::inches).to_vec();
        }
        if self.times.is_empty() {
            self.times = vec![2];
        }
        self.tolerance = self.tolerance.or(Some(Angle::degrees(3.0)));
    }
}

/// All ways that are tried where nothing is asked for.
pub(super) fn all_ways(job: &Job, pieces: &Pieces) -> Vec<Variant> {
    let wide = most_cut(pieces, Piece::cloth_idx);
    let mut choices = Choices {
        layups: true,
        widths: Vec::new(),
        wide,
        times: Vec::new(),
        tolerance: None,
    };
    choices.try_all();
    variants(job, &choices)
}

/// The cloth or part, by index, of which most is cut.
fn most_cut(pieces: &Pieces, index: fn(&Piece) -> usize) -> usize {
    let mut area = BTreeMap::new();
    for piece in pieces.iter() {
        *area.entry(index(piece)).or_insert(0.0) += piece.cut().area() * f64::from(piece.sets());
    }
    // The first of equals.
    let most = area
        .into_iter()
        .rev()
        .max_by(|(_, a), (_, b)| a.total_cmp(b));
    most.map_or(0, |(index, _)| index)
}

/// The index of what is called `name` among `known`, which `option` asks for.
fn named<'a>(
    option: &str,
    what: &str,
    name: &str,
    known: impl Iterator<Item = &'a String> + Clone,
) -> Result<usize, Diagnostic> {
    let known = known.map(String::as_str);
    let index = known.clone().position(|known| known == name);
    index.ok_or_else(|| {
        let problem = Diagnostic::error(format!("the job has no {what} `{name}`"))
            .at(Place::File(option.to_owned()));
        match nearest(name, known.clone()) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => {
                let known = known.collect::<Vec<_>>().join(", ");
                problem.help(format!("its {what}s: {known}"))
            }
        }
    })
}

/// The width of a roll, such as `38 in`.
pub(super) fn read_width(text: &str) -> Result<Length, String> {
    let length: Length = text.trim().parse().map_err(|e| format!("{e}"))?;
    let most = widest_roll();
    if length <= Length::ZERO {
        Err("the width of a roll is more than zero".to_owned())
    } else if length > most {
        Err(format!("no roll is wider than {}", most.in_mm_and_inches()))
    } else {
        Ok(length)
    }
}

/// An angle from 0° to 45°.
pub(super) fn read_tolerance(text: &str) -> Result<Angle, String> {
    let angle: Angle = text.trim().parse().map_err(|e| format!("{e}"))?;
    if (0.0..=45.0).contains(&angle.to_degrees()) {
        Ok(angle)
    } else {
        Err("a tolerance is between 0 deg and 45 deg".to_owned())
    }
}

fn to_text(title: &str, outcomes: &[Outcome]) -> String {
    let head = [
        "way",
        "cloth used",
        "to buy",
        "cost",
        "waste",
        "on the bias",
        "lengths to buy",
    ];
    let is_apart = |way: &&Outcome| {
        let change = way.laminate_change.as_ref();
        change.is_some_and(|change| change.may_be_less_stiff)
    };
    let (apart, same): (Vec<&Outcome>, Vec<&Outcome>) = outcomes.iter().partition(is_apart);
    let row_of = |way: &&Outcome| match &way.figures {
        Ok(figures) => row(&way.name, figures),
        Err(_) => [&way.name, "not possible", "", "", "", "", ""].map(str::to_owned),
    };
    let mut rows = vec![head.map(str::to_owned)];
    rows.extend(same.iter().map(row_of));
    if !apart.is_empty() {
        rows.push(["less stiff:", "", "", "", "", "", ""].map(str::to_owned));
        rows.extend(apart.iter().map(row_of));
    }
    let mut text = format!("{title}\n\n{}", messages::columns(&rows));
    text.push_str(&cheapest_told(outcomes));
    text.push('\n');
    for outcome in outcomes.iter().skip(1) {
        _ = writeln!(text, "  {}: {}.", outcome.name, outcome.change);
        if let Some(change) = &outcome.laminate_change {
            _ = writeln!(text, "    not the same laminate: {}", change.told);
        }
        if let Err(problems) = &outcome.figures {
            for why in reasons(problems) {
                _ = writeln!(text, "    not possible: {why}");
            }
        }
    }
    text.push_str(
        "\nAnother direction or another cloth changes strength and stiffness, not only the price.\n",
    );
    text
}

/// The cheapest way to make the laminate as it is; and, marked, a cheaper one that makes another.
fn cheapest_told(outcomes: &[Outcome]) -> String {
    let same = outcomes.iter().filter(|way| way.laminate_change.is_none());
    let Some((best, sum)) = cheapest(same) else {
        return String::new();
    };
    let mut text = format!("\nCheapest: {}, {sum}.\n", best.name);
    if let Some((other, sum)) = cheapest(outcomes.iter())
        && let Some(change) = &other.laminate_change
    {
        let what = match change.may_be_less_stiff {
            true => "less stiff",
            false => "another laminate",
        };
        _ = writeln!(
            text,
            "Cheaper, but {what}: {}, {sum}; {}.",
            other.name, change.told
        );
    }
    text
}

/// The cheapest of `outcomes` that makes the order as it is, if all prices are known, in one
/// currency.
fn cheapest<'a>(outcomes: impl Iterator<Item = &'a Outcome>) -> Option<(&'a Outcome, String)> {
    let mut best: Option<(&Outcome, &str, Money)> = None;
    // Larger orders hold more parts.
    for outcome in outcomes.filter(|outcome| outcome.times == 1) {
        let Ok(figures) = &outcome.figures else {
            continue;
        };
        let ([(currency, sum)], true) = (&figures.cost[..], figures.is_priced) else {
            return None;
        };
        match best {
            Some((_, other, _)) if other != currency => return None,
            Some((_, _, least)) if least <= *sum => {}
            _ => best = Some((outcome, currency, *sum)),
        }
    }
    best.map(|(best, currency, sum)| (best, format!("{sum} {currency}").trim_end().to_owned()))
}

fn reasons(problems: &Diagnostics) -> impl Iterator<Item = &str> {
    problems.iter().map(|p| p.message.as_str())
}

/// What the cloth costs, by currency.
fn cost(figures: &Figures) -> String {
    let costs: Vec<String> = (figures.cost.iter())
        .map(|(currency, sum)| format!("{sum} {currency}").trim_end().to_owned())
        .collect();
    match (costs.is_empty(), figures.is_priced) {
        (true, _) => "not priced".to_owned(),
        (false, true) => costs.join(" + "),
        (false, false) => format!("{} + ?", costs.join(" + ")),
    }
}

fn row(name: &str, figures: &Figures) -> [String; 7] {
    let lengths: Vec<String> = (figures.cloths.iter())
        .map(|c| format!("{} {}", c.name, c.bought.in_metres_and_yards()))
        .collect();
    [
        name.to_owned(),
        figures.used.in_m2_and_yd2(),
        figures.bought.in_m2_and_yd2(),
        cost(figures),
        format!("{:.0} %", 100.0 * figures.wasted()),
        format!("{} of {}", figures.n_on_bias, figures.n_pieces),
        lengths.join(", "),
    ]
}

record! {
    /// The ways for machines.
    struct CompareRecord of (
        of: &str,
        settings: &Settings,
        outcomes: &[Outcome],
        target: Option<&StiffAs>,
    ) {
        title: String = of.to_owned(),
        units: String = "mm".to_owned(),
        effort: String = settings.effort_name.clone(),
        seed: u64 = settings.seed,
        #[serde(skip_serializing_if = "Option::is_none")]
        as_stiff_as: Option<TargetRecord> = target.map(TargetRecord::of),
        ways: Vec<WayRecord> = outcomes.iter().map(WayRecord::of).collect(),
    }

    /// The stiffness that is asked for, by width.
    struct TargetRecord of (of: &StiffAs) {
        sheet: String = of.to_string(),
        bending_n_mm: f64 = rounded(of.bend().to_n_mm(), COORDINATE),
        tension_n_per_mm: Option<f64> =
            of.stretch().map(|stretch| rounded(stretch.to_n_per_mm(), COORDINATE)),
    }

    struct WayRecord of (outcome: &Outcome) {
        name: String = outcome.name.clone(),
        change: String = outcome.change.clone(),
        #[serde(skip_serializing_if = "Option::is_none")]
        stack: Option<StackRecord> = outcome.stack.as_ref().map(StackRecord::of),
        laminate_change: Option<LaminateChangeRecord> =
            outcome.laminate_change.as_ref().map(LaminateChangeRecord::of),
        #[serde(skip_serializing_if = "Vec::is_empty")]
        problems: Vec<String> = (outcome.figures.as_ref().err().into_iter().flat_map(reasons))
            .map(str::to_owned)
            .collect(),
        #[serde(flatten)]
        figures: Option<FiguresRecord> = outcome.figures.as_ref().ok().map(FiguresRecord::of),
    }

    /// The stack of the part whose stiffness is asked for.
    struct StackRecord of (stack: &StackFigures) {
        layup: String = stack.code.clone(),
        plies: usize = stack.n_plies,
        thickness_mm: f64 = rounded(stack.thickness.to_mm(), COORDINATE),
        areal_weight_g_per_m2: f64 = rounded(stack.areal_weight.to_g_per_m2(), COORDINATE),
        symmetric: bool = stack.is_symmetric,
        reaches: bool = stack.least >= 1.0,
        stiffness: Vec<SharesRecord> = stack.shares.iter().map(SharesRecord::of).collect(),
    }

    /// Stiffness along one direction of the part, as a share of what is asked for.
    struct SharesRecord of (of: &(Angle, Shares)) {
        angle_deg: f64 = of.0.to_degrees(),
        bending: f64 = rounded(of.1.bend, COORDINATE),
        tension: Option<f64> = of.1.stretch.map(|share| rounded(share, COORDINATE)),
    }

    /// How its laminates differ from those of the job as designed.
    struct LaminateChangeRecord of (change: &LaminateChange) {
        may_be_less_stiff: bool = change.may_be_less_stiff,
        told: String = change.told.clone(),
    }

    struct FiguresRecord of (figures: &Figures) {
        used_area_mm2: f64 = rounded(figures.used.to_mm2(), COORDINATE),
        bought_area_mm2: f64 = rounded(figures.bought.to_mm2(), COORDINATE),
        net_area_mm2: f64 = rounded(figures.net.to_mm2(), COORDINATE),
        waste_area_mm2: f64 = rounded(figures.waste.total().to_mm2(), COORDINATE),
        cost: Vec<CostRecord> = figures.cost.iter().map(CostRecord::of).collect(),
        cloth_mass_g: f64 = rounded(figures.cloth_mass.to_grams(), COORDINATE),
        pieces: usize = figures.n_pieces,
        pieces_on_bias: usize = figures.n_on_bias,
        cloths: Vec<ClothRecord> = figures.cloths.iter().map(ClothRecord::of).collect(),
        parts: Vec<PartRecord> =
            figures.parts.iter().map(|part| PartRecord::of(part, part.in_plane.as_ref())).collect(),
    }

    struct CostRecord of (cost: &(String, Money)) {
        currency: String = cost.0.clone(),
        amount: f64 = cost.1.to_decimal(),
    }

    struct ClothRecord of (of: &ClothFigures) {
        cloth: String = of.name.clone(),
        roll_width: f64 = rounded(of.roll_width.to_mm(), COORDINATE),
        used_length: f64 = rounded(of.used.to_mm(), COORDINATE),
        bought_length: f64 = rounded(of.bought.to_mm(), COORDINATE),
        cost: Option<CostRecord> = of.cost.as_ref().map(CostRecord::of),
    }

    struct PartRecord of (of: &PartFigures, in_plane: Option<&InPlane>) {
        part: String = of.name.clone(),
        mass_g: Option<f64> = of.mass.map(|mass| rounded(mass.to_grams(), COORDINATE)),
        thickness_mm: Option<f64> = of.thickness.map(|t| rounded(t.to_mm(), COORDINATE)),
        ex_mpa: Option<f64> = in_plane.map(|sheet| rounded(sheet.ex.to_mpa(), COORDINATE)),
        ey_mpa: Option<f64> = in_plane.map(|sheet| rounded(sheet.ey.to_mpa(), COORDINATE)),
        gxy_mpa: Option<f64> = in_plane.map(|sheet| rounded(sheet.gxy.to_mpa(), COORDINATE)),
    }
}
