//! What planning with stock on hand may cost: as reading, at most 64 MB and 200 bytes for each byte of the
//! files, at most a second and 10 µs for each byte, beside the search, which takes its second or two
//! whatever it is given. Small files that ask for much more are refused with a reason.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::sync::Mutex;
use std::time::{Duration, Instant};

use peak_alloc::PeakAlloc;
use warpwise::diag::Diagnostics;
use warpwise::geometry::trig;
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{self, Plan, Settings};
use warpwise::{output, ply};

/// Counts what is taken of the heap; made for tests.
#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

/// The counter is one for all threads.
static ALONE: Mutex<()> = Mutex::new(());

const MB: usize = 1 << 20;

/// How much slower than a release build on an idle machine the tests may be.
const SLACK: u32 = 30;

/// What a search at quick takes, on an idle machine.
const SEARCH: Duration = Duration::from_secs(2);

const PLATE: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"600mm\" height=\"400mm\" \
     viewBox=\"0 0 600 400\"><path d=\"M10 10H310V210H10Z\"/></svg>";

/// A stock file with the outline `outer`, `openings` in it and `flaws` with margins.
fn remnant(outer: &str, openings: &[String], flaws: &[(String, f64)]) -> String {
    let flaws: Vec<String> = (flaws.iter())
        .map(|(outer, margin)| format!("{{\"outer\":{outer},\"openings\":[],\"margin\":{margin}}}"))
        .collect();
    format!(
        "{{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"glass\",\"name\":\"rest\",\"outline\":\
         {{\"outer\":{outer},\"openings\":[{}]}},\"flaws\":[{}]}}",
        openings.join(","),
        flaws.join(",")
    )
}

/// Corners as JSON.
fn corners(points: impl IntoIterator<Item = (f64, f64)>) -> String {
    let points = points.into_iter().map(|(x, y)| format!("[{x:.3},{y:.3}]"));
    format!("[{}]", points.collect::<Vec<_>>().join(","))
}

fn square(x: f64, y: f64, side: f64) -> String {
    corners([(x, y), (x + side, y), (x + side, y + side), (x, y + side)])
}

/// `n` squares spread over the sheet.
fn squares(n: usize) -> Vec<String> {
    let columns = (2.4 * n as f64).sqrt() as usize;
    let pitch = 1900.0 / columns as f64;
    let at = |k: usize, by: usize| 10.0 + (k % by) as f64 * pitch;
    (0..n)
        .map(|k| square(at(k, columns), at(k / columns, columns), pitch * 0.4))
        .collect()
}

/// A sheet of 2000 × 900 mm whose upper edge runs down `depth` mm and up again `n` times.
fn comb(n: u32, depth: impl Fn(u32) -> f64) -> String {
    let tooth = |k: u32| {
        let x = 2000.0 * (1.0 - f64::from(k) / f64::from(n));
        [(x, 900.0), (x - 900.0 / f64::from(n), 900.0 - depth(k))]
    };
    corners(
        [(0.0, 0.0), (2000.0, 0.0)]
            .into_iter()
            .chain((0..n).flat_map(tooth))
            .chain([(0.0, 900.0)]),
    )
}

/// A circle whose edge is off by up to `noise` mm.
fn disc(n: u32, noise: f64) -> String {
    corners((0..n).map(|k| {
        let turn = f64::from(k) * std::f64::consts::TAU / f64::from(n);
        let radius = 450.0 - noise * f64::from(k * 7919 % 101) / 101.0;
        let (sin, cos) = trig::sin_cos_radians(turn);
        (450.0 + radius * cos, 450.0 + radius * sin)
    }))
}

/// Plans the plate on the stock in `files`, within the budget; the reason if it is refused.
fn costs_what_it_is_worth(
    name: &str,
    (stock, more): (&str, &str),
    files: &[String],
) -> Result<(), String> {
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    let job = format!(
        "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n{more}\n\
         stock = [{stock}]\n[[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\n\
         layup = \"[0/90]s\"\nsets = 3\n"
    );
    let size = job.len() + files.iter().map(String::len).sum::<usize>();
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let start = Instant::now();
    let answer = planned(&job, files);
    let (took, peak) = (start.elapsed(), HEAP.peak_usage() - before);
    let most = 64 * MB + 200 * size;
    assert!(
        peak <= most,
        "{name}: {size} bytes take {} MB of {}",
        peak / MB,
        most / MB
    );
    let most = SEARCH + Duration::from_secs(1) + Duration::from_micros(10) * size as u32;
    assert!(took <= most * SLACK, "{name}: {size} bytes take {took:?}");
    answer.map_err(|problems| problems.to_string())
}

fn planned(job: &str, files: &[String]) -> Result<(), Diagnostics> {
    let files = output::all(&ProvenPlan::prove(plan_of(job, files)?)?);
    assert!(files.len() > 3);
    Ok(())
}

fn plan_of(job: &str, files: &[String]) -> Result<Plan, Diagnostics> {
    let (job, _) = Job::read("job.toml", job)?;
    let open = &mut |path: &str| match path {
        "lid.svg" => Ok(vec![InputFile::new(path, PLATE.as_bytes().to_vec())]),
        "shelf" => Ok((0..files.len())
            .map(|k| InputFile::in_folder(&k.to_string()))
            .collect()),
        number => {
            let text = &files[number.parse::<usize>().unwrap()];
            Ok(vec![InputFile::new(path, text.clone().into_bytes())])
        }
    };
    let (inputs, _) = Inputs::read(job, open)?;
    let (pieces, _) = ply::pieces(&inputs)?;
    let settings = Settings {
        effort: Effort::Quick,
        ..Settings::default()
    };
    plan::build(&pieces, &settings, &|_| Continue::Yes)
}

const ONE: &str = "{ file = \"0\" }";
const WITH_MARGIN: &str = "{ file = \"0\", margin = \"3 mm\" }";

#[test]
fn stock_with_many_corners_is_planned_or_refused_in_time() {
    let random = |k: u32| f64::from(k * 7919 % 30_011 % 300);
    for (name, outer, is_planned) in [
        ("a circle", disc(8000, 0.0), true),
        ("a frayed circle", disc(8000, 4.0), true),
        ("a comb", comb(400, |_| 300.0), true),
        ("a fine comb", comb(8000, |_| 300.0), false),
        ("a finer comb", comb(20_000, random), false),
    ] {
        for stock in [ONE, WITH_MARGIN] {
            let file = remnant(&outer, &[], &[]);
            let answer = costs_what_it_is_worth(name, (stock, ""), &[file]);
            match answer {
                Ok(()) => assert!(is_planned, "{name}"),
                Err(why) => {
                    assert!(!is_planned, "{name}: {why}");
                    assert!(why.contains("too ragged to plan with"), "{name}: {why}");
                    assert!(why.contains("help: draw a plain line"), "{name}: {why}");
                }
            }
        }
    }
}

#[test]
fn stock_with_many_openings_and_flaws_is_planned_or_refused_in_time() {
    let sheet = corners([(0.0, 0.0), (2000.0, 0.0), (2000.0, 900.0), (0.0, 900.0)]);
    let with = |margin: f64, n| -> Vec<(String, f64)> {
        squares(n)
            .into_iter()
            .map(|square| (square, margin))
            .collect()
    };
    let upon = vec![(square(300.0, 300.0, 200.0), 100.0); 2000];
    for (name, file, is_planned) in [
        ("openings", remnant(&sheet, &squares(2000), &[]), true),
        ("flaws", remnant(&sheet, &[], &with(0.0, 2000)), true),
        (
            "wide flaws",
            remnant(&sheet, &[], &with(500.0, 3000)),
            false,
        ),
        ("flaws upon each other", remnant(&sheet, &[], &upon), false),
        ("a few of them", remnant(&sheet, &[], &upon[..300]), true),
        (
            "a flaw like a comb",
            remnant(&sheet, &[], &[(comb(8000, |_| 300.0), 1.0)]),
            false,
        ),
    ] {
        let answer = costs_what_it_is_worth(name, (ONE, ""), &[file]);
        assert_eq!(answer.is_ok(), is_planned, "{name}: {answer:?}");
    }
}

#[test]
fn shelves_and_frames_without_end_are_planned_in_time() {
    let small = |k: usize| remnant(&square(0.0, 0.0, 50.0 + (k % 7) as f64), &[], &[]);
    for n in [500, 5000] {
        let shelf: Vec<String> = (0..n).map(small).collect();
        costs_what_it_is_worth("a shelf", ("{ file = \"shelf\" }", ""), &shelf).unwrap();
    }
    let long = [
        (0.0, 0.0),
        (9e5, 0.0),
        (9e5, 900.0),
        (4e5, 400.0),
        (0.0, 900.0),
    ];
    let long = remnant(&corners(long), &[], &[]);
    for table in ["320 mm", "5 m"] {
        let table = format!("table_length = \"{table}\"");
        let file = [long.clone()];
        _ = costs_what_it_is_worth("a long remnant", (ONE, &table), &file);
    }
}

/// An L of 320 × 400 mm with a margin of 10 mm all round holds a plate of 300 mm.
#[test]
fn an_odd_remnant_is_usable_to_its_margin() {
    let outer = corners([
        (0.0, 0.0),
        (320.0, 0.0),
        (320.0, 220.0),
        (150.0, 220.0),
        (150.0, 400.0),
        (0.0, 400.0),
    ]);
    let job = "[cutting]\ntrim = \"0 mm\"\n[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\n\
        roll_width = \"1 m\"\nselvedge = \"0 mm\"\nstock = [{ file = \"0\", margin = \"10 mm\" }]\n\
        [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    let plan = plan_of(job, &[remnant(&outer, &[], &[])]).unwrap();
    assert!(plan.layouts()[0].stock().is_some());
    ProvenPlan::prove(plan).unwrap();
}
