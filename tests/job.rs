//! Reads every job file under `tests/cases/job` and compares what comes out with `expected.txt`.
//!
//! With `WARPWISE_RECORD=1` in the environment the expected texts are written anew; the review is
//! the difference.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use warpwise::diag::{Diagnostics, TextColour};
use warpwise::job::{Job, OutlineChoice, Outputs, Part, Ply, ZeroDirection};

#[test]
fn cases() {
    let cases = cases_in_order();
    assert!(cases.len() > 100, "only {} cases found", cases.len());
    let wrong: Vec<_> = cases.iter().filter_map(|case| check(case).err()).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn cases_in_order() -> Vec<String> {
    let entries = fs::read_dir(folder()).unwrap();
    let name = |entry: std::io::Result<fs::DirEntry>| entry.unwrap().file_name();
    let mut cases: Vec<_> = entries
        .map(|entry| name(entry).into_string().unwrap())
        .collect();
    cases.sort();
    cases
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/job")
}

/// The job file of a case.
fn job_text(case: &str) -> String {
    fs::read_to_string(folder().join(case).join("job.toml")).unwrap()
}

/// Compares one case; `Err` says how it differs.
fn check(case: &str) -> Result<(), String> {
    let found = outcome(&job_text(case));
    let expected_file = folder().join(case).join("expected.txt");
    if std::env::var_os("WARPWISE_RECORD").is_some() {
        fs::write(&expected_file, &found).unwrap();
        return Ok(());
    }
    let expected = fs::read_to_string(&expected_file).unwrap_or_default();
    let expected = expected.replace("\r\n", "\n");
    if found == expected {
        return Ok(());
    }
    Err(format!(
        "== {case}: expected\n{expected}\n-- found\n{found}"
    ))
}

/// Problems as a person sees them, or the job in a few lines if there are none.
fn outcome(text: &str) -> String {
    match Job::read("job.toml", text) {
        Ok((job, warnings)) => {
            assert!(!warnings.has_errors(), "a job came out in spite of errors");
            if warnings.is_empty() {
                summary(&job)
            } else {
                rendered(&warnings) + "the job can be read\n"
            }
        }
        Err(problems) => {
            assert!(problems.has_errors(), "no job, and no error that says why");
            rendered(&problems)
        }
    }
}

fn rendered(problems: &Diagnostics) -> String {
    let mut text = String::new();
    for problem in problems.iter() {
        assert!(problem.help.is_some(), "no help: {}", problem.message);
        assert!(problem.place.is_some(), "no place: {}", problem.message);
        _ = writeln!(text, "{}", problem.render(TextColour::Plain));
    }
    text
}

fn summary(job: &Job) -> String {
    let mut text = format!("job \"{}\"\n", job.title());
    for cloth in job.cloths() {
        let price = cloth.price.as_ref().map(ToString::to_string);
        _ = writeln!(
            text,
            "cloth {}: {:?} {:?} over={}, {}, {:.1} wide, selvedge {:.1}, ends {:.1}, gap {:.1}, \
             price {}, by {:.1}, least {:.1}, spare {:.3}",
            cloth.name,
            cloth.weave,
            cloth.turns.rotation,
            cloth.turns.turn_over,
            cloth.areal_weight,
            cloth.roll_width.to_mm(),
            cloth.selvedge.to_mm(),
            cloth.end_margin.to_mm(),
            cloth.gap.to_mm(),
            price.as_deref().unwrap_or("none"),
            cloth.sold_by.to_mm(),
            cloth.least_sold.to_mm(),
            cloth.spare,
        );
    }
    if let Some(resin) = job.resin() {
        _ = writeln!(text, "{resin:#?}");
    }
    if let Some(mould) = job.mould() {
        _ = writeln!(text, "{mould:#?}");
    }
    if let Some(bag) = job.bagging() {
        let layers = bag.layers.iter().map(|l| {
            let mm = |length: warpwise::units::Length| length.to_mm();
            let (margin, wide, on_hand) = (mm(l.margin), mm(l.roll.roll_width), mm(l.on_hand));
            format!(
                "  layer {}: {:?}, margin {margin}, takes up {}, {wide} wide, on hand {on_hand}\n",
                l.roll.name, l.kind, l.take_up
            )
        });
        let layers: String = layers.collect();
        _ = writeln!(
            text,
            "bag: {:.0} Pa, {} pleats of {:.1}, tape {:.1} + {:.1}, {:?} spare {}\n{layers}",
            bag.vacuum.to_pascals(),
            bag.pleats,
            bag.pleat_height.to_mm(),
            bag.tape_margin.to_mm(),
            bag.film_margin.to_mm(),
            bag.tape,
            bag.tape_spare,
        );
    }
    for part in job.parts() {
        let zero = match &part.zero {
            ZeroDirection::Angle(angle) => angle.to_string(),
            ZeroDirection::Line(line) => format!("line {}", line.value),
            ZeroDirection::Drawing => "as drawn".to_owned(),
        };
        _ = writeln!(
            text,
            "part {} x{}: {} units {:?}, from {:?}, zero {zero}",
            part.name, part.sets, part.pattern.value, part.reading.unit, part.view.seen_from
        );
        for ply in &part.plies {
            _ = writeln!(text, "  {}", ply_summary(job, part, ply));
        }
    }
    if *job.outputs() != Outputs::default() {
        _ = writeln!(text, "{:#?}", job.outputs());
    }
    text
}

fn ply_summary(job: &Job, part: &Part, ply: &Ply) -> String {
    let outline = match &ply.outline {
        OutlineChoice::Only => "the only outline",
        OutlineChoice::Named(name) => &name.value,
    };
    format!(
        "ply {}: {} at {}, {outline}, trim {:.1} {:?}, step {:.1}, openings {:?}, ±{}{}",
        ply.n,
        job.cloths()[ply.cloth].name,
        part.angle_of(ply),
        ply.cutting.trim.to_mm(),
        ply.cutting.join,
        ply.step.to_mm(),
        ply.cutting.openings,
        ply.cutting.angle_tolerance,
        if ply.appearance { ", seen" } else { "" },
    ) + &edges_and_splices(ply)
}

/// What few plies have.
fn edges_and_splices(ply: &Ply) -> String {
    let mut text = String::new();
    if ply.cutting.overlap.to_mm() != 0.0 {
        _ = write!(text, ", overlap {:.1}", ply.cutting.overlap.to_mm());
    }
    if let Some(joint) = ply.cutting.splice.joint {
        let rule = ply.cutting.splice;
        _ = write!(
            text,
            ", splice {} {:?} lap {:.1} stagger {:.1}",
            joint.word(),
            rule.lines,
            rule.lap.to_mm(),
            rule.stagger.to_mm()
        );
    }
    text
}

/// Editors on other machines end lines in another way and start files with a byte order mark.
#[test]
fn line_ends_and_byte_order_mark_do_not_matter() {
    for case in cases_in_order() {
        let text = job_text(&case).replace("\r\n", "\n");
        let foreign = format!("\u{feff}{}", text.replace('\n', "\r\n"));
        assert_eq!(outcome(&foreign), outcome(&text), "{case}");
    }
}

/// Every cell of the table of permitted turns can be overridden; a warning comes with those turns
/// that give the part other fibre directions than designed, and with no others of them.
#[test]
fn overrides_that_turn_the_fibres_are_warned_of() {
    use warpwise::cloth::{Rotation, Weave};
    let rotations = [
        ("none", Rotation::None),
        ("half", Rotation::Half),
        ("quarter", Rotation::Quarter),
        ("any", Rotation::Any),
    ];
    for weave in Weave::ALL {
        for (word, rotation) in rotations {
            for over in [true, false] {
                let order = match weave {
                    Weave::Biaxial => "layer_order = \"any\"\n",
                    _ => "",
                };
                let text = format!(
                    "[cloth.c]\nweave = \"{}\"\nareal_weight = \"200 gsm\"\nroll_width = \"1 m\"\n\
                     {order}turns = \"{word}\"\nturn_over = {over}\n[[part]]\nname = \"A\"\n\
                     pattern = \"a.svg\"\ncloth = \"c\"\nlayup = \"[0]\"\n",
                    weave.word()
                );
                let (job, said) = Job::read("job.toml", &text).unwrap();
                let turns = job.cloths()[0].turns;
                assert_eq!((turns.rotation, turns.turn_over), (rotation, over));
                let is_warned = said.iter().any(|p| p.message.contains("other directions"));
                let apart: &[Weave] = match rotation {
                    Rotation::None | Rotation::Half => &[],
                    Rotation::Quarter => &[Weave::Unidirectional],
                    Rotation::Any => &Weave::ALL[..6],
                };
                assert_eq!(is_warned, apart.contains(&weave), "{weave:?} {word}");
            }
        }
    }
}

#[test]
fn a_first_job_fits_in_25_lines() {
    assert!(job_text("good-first-job").lines().count() <= 25);
}

#[test]
fn a_huge_text_is_refused_unread() {
    let problems = Job::read("job.toml", &"# \n".repeat(2_000_000)).unwrap_err();
    let messages: Vec<_> = problems.iter().map(|p| p.message.as_str()).collect();
    assert_eq!(messages, ["the file is too large for a job file"]);
}

#[test]
fn a_flood_of_problems_is_cut_short() {
    let text: String = (0..100_000).map(|i| format!("widht{i} = 1\n")).collect();
    let problems = Job::read("job.toml", &text).unwrap_err();
    assert_eq!(problems.iter().count(), 101);
}

#[test]
fn too_many_pieces_are_refused_before_they_are_made() {
    let ply = "[[part.ply]]\nangle = 0\nlayers = 10000\n".repeat(10_000);
    let text = format!(
        "[cloth.t]\nweave=\"twill\"\nareal_weight=\"200 gsm\"\nroll_width=\"1 m\"\n\
         [[part]]\nname=\"A\"\npattern=\"a.svg\"\ncloth=\"t\"\nsets=10000\n{ply}"
    );
    let problems = Job::read("job.toml", &text).unwrap_err();
    let refusals = problems
        .iter()
        .filter(|p| p.message.contains("10000 pieces"));
    assert_eq!(refusals.count(), 1);
}

/// One slip of the pen: where (as a share of the text), how much is deleted, what is put in.
fn slip() -> impl Strategy<Value = (f64, usize, String)> {
    let telling = [
        "\"",
        "'",
        "[",
        "]]",
        "\n",
        "=",
        "-",
        "nan",
        "inf",
        "1e999",
        "±",
        "°",
        "\u{305}",
        "\\",
        "0",
        "99999999999999999999",
        "_",
        ".",
        "{",
        "}",
        ",",
        "#",
        "true",
        "1979-05-27",
        "\0",
    ];
    let put_in = prop_oneof![
        Just(String::new()),
        prop::sample::select(telling.to_vec()).prop_map(str::to_owned),
        "\\PC{0,4}",
    ];
    (0.0..1.0f64, 0usize..12, put_in)
}

fn with_slips(mut text: String, slips: &[(f64, usize, String)]) -> String {
    for (share, deleted, put_in) in slips {
        let chars: Vec<char> = text.chars().collect();
        let at = (chars.len() as f64 * share) as usize;
        let end = (at + deleted).min(chars.len());
        let (before, after) = (chars[..at].iter(), chars[end..].iter());
        text = before.collect::<String>() + put_in + &after.collect::<String>();
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever happens to a good job file, it is read or refused with a reason that can be shown.
    #[test]
    fn slips_of_the_pen_never_panic(slips in prop::collection::vec(slip(), 1..4)) {
        outcome(&with_slips(job_text("good-every-key"), &slips));
    }

    #[test]
    fn any_layup_never_panics(code in "[\\[\\]()/0-9sS_±+\\-. °₂~]{0,24}") {
        outcome(&job_text("good-every-key").replace("[0/45/-45/90]s", &code));
    }
}
