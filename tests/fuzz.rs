//! A short fuzzing run with overflow checks on; `examples/fuzz.rs` does the long ones.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

#[path = "fuzz/meshes.rs"]
mod meshes;
#[path = "fuzz/mutator.rs"]
mod mutator;
#[path = "fuzz/photographs.rs"]
mod photographs;
#[path = "photograph/render.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by tests and examples")]
mod render;
#[path = "photograph/scene.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by tests and examples")]
mod scene;
#[path = "fuzz/whole.rs"]
mod whole;

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use mutator::{Fuzzer, Target};
use photographs::Photographs;

/// Whole jobs of each kind that are run.
const JOBS: u64 = 24;

#[test]
fn broken_files_are_told_and_nothing_panics() {
    // OBJ and PLY by long runs only.
    let is_short = |target: &Target| !matches!(target, Target::Obj | Target::Ply);
    for target in Target::ALL.into_iter().filter(is_short) {
        let fuzzer = Fuzzer::new(target, "tests".as_ref(), 7);
        for n in 0..700 {
            let bytes = fuzzer.case(n);
            let fed = catch_unwind(AssertUnwindSafe(|| fuzzer.feed(n, &bytes)));
            assert!(fed.is_ok(), "{} panics on case {n}", target.name());
        }
    }
}

#[test]
fn broken_photographs_are_told_and_nothing_panics() {
    let photographs = Photographs::new(7);
    // All but the one whose colours mean nothing are read as they are.
    let settings = warpwise::pattern::Settings::default();
    let see = |bytes: &Vec<u8>| match warpwise::pattern::see("good.jpg", bytes, &settings) {
        Ok(_) => String::new(),
        Err(problems) => problems.to_string(),
    };
    let why: Vec<String> = photographs.good().iter().map(see).collect();
    let n_read = why.iter().filter(|why| why.is_empty()).count();
    assert!(n_read >= 3, "{n_read} of the good ones are read: {why:#?}");
    for n in 0..60 {
        let bytes = photographs.case(n);
        let fed = catch_unwind(AssertUnwindSafe(|| photographs.feed(n, &bytes)));
        assert!(fed.is_ok(), "panics on case {n}");
    }
}

#[test]
fn a_case_can_be_had_again() {
    let fuzzer = || Fuzzer::new(Target::Dxf, "tests".as_ref(), 1);
    assert_eq!(fuzzer().case(42), fuzzer().case(42));
    assert_ne!(fuzzer().case(42), fuzzer().case(43));
}

/// Drawing, pieces, plan, proof and files; then the same with what was left as stock.
#[test]
fn whole_jobs_come_out_proven_or_are_refused_for_a_reason() {
    let (mut planned, mut refused) = (0, BTreeMap::new());
    for n in 0..JOBS {
        let job = whole::job(7, n);
        match whole::run(&job).unwrap_or_else(|why| panic!("case {n}: {why}")) {
            whole::Outcome::Refused(why) => *refused.entry(why).or_insert(0) += 1,
            whole::Outcome::Planned {
                bytes,
                pieces,
                left,
            } => {
                assert!(bytes > 0 && pieces > 0, "case {n} writes nothing");
                planned += 1;
                let again = whole::run(&whole::again(&job, &left));
                assert!(
                    matches!(again, Ok(whole::Outcome::Planned { .. })),
                    "case {n} with what it left as stock: {again:?}"
                );
            }
        }
    }
    println!("{planned} of {JOBS} jobs are planned; refused: {refused:#?}");
    assert!(
        planned >= JOBS * 3 / 5,
        "only {planned} of {JOBS} jobs can be planned: {refused:#?}"
    );
    assert!(refused.len() >= 2, "few reasons: {refused:#?}");
}

/// Moulds of a few triangles with dents, holes, doubles and spikes, through the whole program.
#[test]
fn jobs_on_moulds_come_out_proven_or_are_refused_for_a_reason() {
    let (mut planned, mut refused) = (0, BTreeMap::new());
    for n in 0..JOBS {
        let job = meshes::job(7, n);
        match whole::run(&job).unwrap_or_else(|why| panic!("case {n}: {why}")) {
            whole::Outcome::Refused(why) => *refused.entry(why).or_insert(0) += 1,
            whole::Outcome::Planned { bytes, .. } => {
                assert!(bytes > 0, "case {n} writes nothing");
                planned += 1;
            }
        }
    }
    println!("{planned} of {JOBS} jobs are planned; refused: {refused:#?}");
    assert!(
        planned >= JOBS / 3,
        "only {planned} of {JOBS} jobs can be planned: {refused:#?}"
    );
}
