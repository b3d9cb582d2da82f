//! Jobs whose sizes lie exactly at their limits: planned and proved, or refused with a reason, but
//! never called a fault of the program.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;

use warpwise::diag::{Diagnostics, TextColour};
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{self, Settings};
use warpwise::{output, ply};

/// Random choices that are the same everywhere (Knuth's linear congruence, from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = (self.0.wrapping_mul(6_364_136_223_846_793_005))
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }

    fn of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }
}

/// A job with its drawing and a remnant of odd outline.
struct Case {
    job: String,
    drawing: String,
    remnant: String,
}

/// A job whose numbers meet each other: stock as long as the table or twice it, pieces as long as
/// either less its margins or a hair longer, needles, specks, flaws at the ends of frames.
fn case(dice: &mut Dice) -> Case {
    let width: f64 = dice.of(&[300.0, 500.0, 1270.0]);
    let selvedge: f64 = dice.of(&[0.0, 0.0, 10.0]);
    let gap: f64 = dice.of(&[0.0, 2.0, 7.3]);
    let margin: f64 = dice.of(&[0.0, 0.0, 10.0, 1.7]);
    let trim: f64 = dice.of(&[0.0, 0.0, 5.0]);
    let table: Option<f64> = dice.of(&[None, Some(600.0), Some(1200.0)]);
    let long = table.unwrap_or(1200.0);
    let mut job = format!(
        "[cutting]\ntrim = \"{trim} mm\"\ngap = \"{gap} mm\"\nend_margin = \"{margin} mm\"\n"
    );
    if let Some(table) = table {
        _ = writeln!(job, "table_length = \"{table} mm\"");
    }
    if dice.below(4) == 0 {
        job.push_str("[bag]\n");
    }
    let weave = dice.of(&["plain", "unidirectional"]);
    _ = write!(
        job,
        "[cloth.c]\nweave = \"{weave}\"\nareal_weight = \"200 g/m2\"\nroll_width = \"{width} mm\"\n\
         selvedge = \"{selvedge} mm\"\n"
    );
    for _ in 0..dice.below(3) {
        let length = dice.of(&[
            long,
            2.0 * long,
            2.0 * long + gap,
            2.5 * long,
            0.5 * long,
            90e3,
        ]);
        _ = writeln!(job, "[[cloth.c.stock]]\nlength = \"{length} mm\"");
        if dice.below(2) == 0 {
            _ = writeln!(job, "margin = \"{} mm\"", dice.of(&[0.0, 10.0, 0.5 * gap]));
        }
        if dice.below(3) == 0 {
            let from = dice.of(&[0.0, long - 20.0, long, 0.3 * long]);
            _ = writeln!(
                job,
                "[[cloth.c.stock.flaw]]\nfrom = \"{from} mm\"\nlength = \"20 mm\""
            );
        }
    }
    let (x, y) = (dice.of(&[long, 1.5 * long]), 0.7 * width);
    let (cut, open) = (dice.of(&[0.0, 1.0, 100.0]), dice.of(&[20.0, 100.0]));
    let remnant = format!(
        "{{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"c\",\"name\":\"r\",\"outline\":{{\"outer\":\
         [[0,0],[{x},0],[{x},{y}],[{cut},{y}],[0,{}]],\"openings\":[[[50,50],[50,{open}],[{open},{open}]]]}}}}",
        y - cut
    );
    if dice.below(4) == 0 {
        job.push_str("[[cloth.c.stock]]\nfile = \"odd.json\"\n");
    }
    let mut drawing = String::new();
    let across = width - 2.0 * selvedge - 2.0 * trim;
    let along = long - 2.0 * margin - 2.0 * trim;
    for k in 0..=dice.below(2) {
        let hair = dice.of(&[0.0, 0.0, 1e-7, 1e-3, -1e-3]);
        let length: f64 = dice.of(&[
            along,
            long - 2.0 * trim,
            along - gap,
            0.5 * along - gap,
            240.0,
        ]);
        let height = dice.of(&[across, 0.5 * across, 0.5 * (across - gap), 100.0]);
        let (length, height) = (length + hair, height + dice.of(&[0.0, 1e-7, 1e-3]));
        let (x, y) = (10.0, 2000.0 * k as f64 + 10.0);
        let path = match dice.below(6) {
            0 => {
                let apart = dice.of(&[1e-6, 3e-6, 1e-5, 1e-4, 5e-4, 2e-3]);
                let half = height / 2.0;
                let (rest, back) = (half - apart, length / 10.0);
                format!(
                    "h{length}v{half:.7}l{back} {apart:.7}l-{back} {apart:.7}v{rest:.7}h-{length}Z"
                )
            }
            1 => "h0.6v0.6h-0.6Z".to_owned(),
            2 => format!("h{length}l-{} {height}Z", length / 3.0),
            _ => format!("h{length}v{height}h-{length}Z"),
        };
        _ = write!(drawing, "<path id=\"o{k}\" d=\"M{x} {y}{path}\"/>");
        let layup = dice.of(&["[0]", "[0/90]", "[0/45]"]);
        _ = write!(
            job,
            "[[part]]\nname = \"P{k}\"\npattern = \"all.svg\"\noutline = \"o{k}\"\ncloth = \"c\"\n\
             layup = \"{layup}\"\nzero_direction = 0\nsets = {}\n",
            dice.of(&[1, 1, 2, 4, 29])
        );
        if dice.below(3) == 0 {
            job.push_str("splice = \"lap\"\n");
        }
    }
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"4000mm\" height=\"4000mm\" \
         viewBox=\"0 0 4000 4000\">{drawing}</svg>"
    );
    Case {
        job,
        drawing,
        remnant,
    }
}

/// Does the whole job, its search cut short.
fn plan_of(case: &Case) -> Result<(), Diagnostics> {
    let (job, _) = Job::read("job.toml", &case.job)?;
    let open = &mut |name: &str| {
        Ok(vec![InputFile::new(
            name,
            case.drawing.clone().into_bytes(),
        )])
    };
    let (inputs, _) = Inputs::read(job, open)?;
    let (pieces, _) = ply::pieces(&inputs)?;
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 1,
    };
    let proven = ProvenPlan::prove(plan::build(&pieces, &settings, &|_| Continue::Stop)?)?;
    assert!(!output::all(&proven).is_empty());
    Ok(())
}

/// How many cases are tried, and the seed: `WARPWISE_CASES` and `WARPWISE_SEED` ask for others.
fn asked(name: &str, usual: u64) -> u64 {
    let asked = std::env::var(name).ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(usual)
}

#[test]
fn jobs_exactly_at_their_limits_are_planned_or_refused_with_a_reason() {
    let n_cases = asked("WARPWISE_CASES", 60);
    let seed = asked("WARPWISE_SEED", 1);
    let (mut n_planned, mut faults) = (0, Vec::new());
    for n in 0..n_cases {
        let case = case(&mut Dice(
            seed.wrapping_mul(1_000_003).wrapping_add(n) << 16 | 1,
        ));
        match plan_of(&case) {
            Ok(()) => n_planned += 1,
            Err(problems) => {
                let told: Vec<String> = (problems.iter())
                    .map(|p| p.render(TextColour::Plain))
                    .collect();
                let told = told.concat();
                if told.contains("fault of warpwise") {
                    faults.push(format!(
                        "case {n}:\n{told}\n{}{}\n{}\n",
                        case.job, case.drawing, case.remnant
                    ));
                } else if asked("WARPWISE_TELL", 0) > 0 {
                    eprintln!("case {n}: {told}");
                }
            }
        }
    }
    eprintln!("{n_planned} of {n_cases} planned, {} faults", faults.len());
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.len(),
        faults.join("\n")
    );
    assert!(3 * n_planned > n_cases, "only {n_planned} planned");
}
