//! A short fuzzing run with overflow checks on; `examples/fuzz.rs` does the long ones.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

#[path = "fuzz/mutator.rs"]
mod mutator;

use std::panic::{AssertUnwindSafe, catch_unwind};

use mutator::{Fuzzer, Target};

#[test]
fn broken_files_are_told_and_nothing_panics() {
    for target in Target::ALL {
        let fuzzer = Fuzzer::new(target, "tests".as_ref(), 7);
        for n in 0..700 {
            let bytes = fuzzer.case(n);
            let fed = catch_unwind(AssertUnwindSafe(|| fuzzer.feed(n, &bytes)));
            assert!(fed.is_ok(), "{} panics on case {n}", target.name());
        }
    }
}

#[test]
fn a_case_can_be_had_again() {
    let fuzzer = || Fuzzer::new(Target::Dxf, "tests".as_ref(), 1);
    assert_eq!(fuzzer().case(42), fuzzer().case(42));
    assert_ne!(fuzzer().case(42), fuzzer().case(43));
}
