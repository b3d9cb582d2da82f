//! Jobs whose sizes lie exactly at their limits: planned and proved, or refused with a reason, but
//! never called a fault of the program.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;

use warpwise::diag::{Diagnostics, TextColour};
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{self, Plan, Settings};
use warpwise::ply::Pieces;
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

/// The pieces of the job.
fn pieces(case: &Case) -> Result<Pieces, Diagnostics> {
    let (job, _) = Job::read("job.toml", &case.job)?;
    let open = &mut |name: &str| {
        let file = match name {
            "odd.json" => &case.remnant,
            _ => &case.drawing,
        };
        Ok(vec![InputFile::new(name, file.clone().into_bytes())])
    };
    let (inputs, _) = Inputs::read(job, open)?;
    Ok(ply::pieces(&inputs)?.0)
}

/// Does the whole job, its search cut short.
fn planned(case: &Case) -> Result<Plan, Diagnostics> {
    let pieces = pieces(case)?;
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 1,
    };
    let plan = plan::build(&pieces, &settings, &|_| Continue::Stop)?;
    let proven = ProvenPlan::prove(plan.clone())?;
    assert!(!output::all(&proven).is_empty());
    Ok(plan)
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
        match planned(&case) {
            Ok(_) => n_planned += 1,
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

/// A frame of `long` by `high` mm that is cut once for each of `sets`, on `supply`.
fn frame_of(long: f64, high: f64, sets: u32, supply: &str) -> Case {
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"4000mm\" height=\"4000mm\" \
         viewBox=\"0 0 4000 4000\"><path id=\"o\" d=\"M10 10h{long}v{high}h-{long}Z\"/></svg>"
    );
    let job = format!(
        "{supply}[[part]]\nname = \"P\"\npattern = \"all.svg\"\ncloth = \"c\"\nlayup = \"[0]\"\n\
         zero_direction = 0\nsets = {sets}\n"
    );
    // A step at one corner makes it odd; half of it is as wide as the pieces.
    let remnant = "{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"c\",\"name\":\"r\",\
        \"outline\":{\"outer\":[[0,0],[600,0],[600,300],[20,300],[20,150],[0,150]]}}";
    Case {
        job,
        drawing,
        remnant: remnant.to_owned(),
    }
}

/// Cloth of 300 mm; `on_hand` follows it.
fn cloth_of(gap: f64, margin: f64, selvedge: f64, table: &str, on_hand: &str) -> String {
    format!(
        "[cutting]\ntrim = \"0 mm\"\ngap = \"{gap} mm\"\nend_margin = \"{margin} mm\"\n{table}[cloth.c]\n\
         weave = \"unidirectional\"\nareal_weight = \"200 g/m2\"\nroll_width = \"300 mm\"\n\
         selvedge = \"{selvedge} mm\"\n{on_hand}"
    )
}

/// The gap lies between pieces: a piece may reach from margin to margin of table, roll and stock.
#[test]
fn a_piece_as_long_and_as_wide_as_there_is_room_is_planned() {
    let table = "table_length = \"600 mm\"\n";
    let flaw = "[[cloth.c.flaw]]\nfrom = \"650 mm\"\nlength = \"1 mm\"\n";
    for (gap, margin, selvedge) in [
        (0.0, 0.0, 0.0),
        (2.0, 0.0, 0.0),
        (25.0, 0.0, 10.0),
        (2.0, 10.0, 0.0),
        (7.3, 1.7, 10.0),
    ] {
        let stock = |length: f64| {
            format!("[[cloth.c.stock]]\nlength = \"{length} mm\"\nmargin = \"{margin} mm\"\n")
        };
        let odd = "[[cloth.c.stock]]\nfile = \"odd.json\"\nmargin = \"0 mm\"\n".to_owned();
        let (long, high) = (600.0 - 2.0 * margin, 300.0 - 2.0 * selvedge);
        for (place, table, on_hand, length, height, sets, n_of_stock) in [
            ("table", table, String::new(), 600.0 - margin, high, 3, 0),
            (
                "half the table",
                table,
                String::new(),
                (long - gap) / 2.0,
                high,
                5,
                0,
            ),
            ("flawed roll", table, flaw.to_owned(), long, high, 2, 0),
            (
                "two on the roll",
                "",
                String::new(),
                900.0,
                (high - gap) / 2.0,
                2,
                0,
            ),
            ("stock", "", stock(600.0), long, high, 1, 1),
            ("stock on the table", table, stock(600.0), long, high, 1, 1),
            (
                "stock of two tables",
                table,
                stock(1200.0 + gap),
                long,
                high,
                2,
                2,
            ),
            ("remnant", "", odd.clone(), 600.0, 150.0, 1, 1),
            ("remnant on the table", table, odd, 600.0, 150.0, 1, 1),
        ] {
            let supply = |margin| cloth_of(gap, margin, selvedge, table, &on_hand);
            let is_odd = on_hand.contains("odd");
            let supply = supply(if is_odd { 0.0 } else { margin });
            let height = if is_odd { height - selvedge } else { height };
            let case = frame_of(length, height, sets, &supply);
            let plan =
                planned(&case).unwrap_or_else(|e| panic!("{place}, gap {gap}: {e}\n{}", case.job));
            let of_stock = plan.layouts().iter().filter(|l| l.stock().is_some());
            let n: usize = of_stock.map(|l| l.pieces().len()).sum();
            assert_eq!(n, n_of_stock, "{place}, gap {gap}, margin {margin}");
        }
    }
}

/// What has no room by a hair is refused by `check` already, in the words of `plan`.
#[test]
fn a_piece_longer_than_the_table_is_refused_before_the_search() {
    let table = "table_length = \"600 mm\"\n";
    for (gap, margin, length) in [(2.0, 0.0, 600.001), (0.0, 10.0, 590.5), (2.0, 10.0, 600.0)] {
        let case = frame_of(length, 100.0, 1, &cloth_of(gap, margin, 0.0, table, ""));
        let at_once = pieces(&case).unwrap_err();
        assert_eq!(planned(&case).unwrap_err(), at_once);
        let told = at_once.to_string();
        assert!(told.contains("too long for the cutting table"), "{told}");
        let fits = frame_of(
            600.0 - margin,
            100.0,
            1,
            &cloth_of(gap, margin, 0.0, table, ""),
        );
        assert!(pieces(&fits).is_ok());
    }
}
