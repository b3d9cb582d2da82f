//! One run of the engine on one instance, measured and checked.

use std::sync::{Mutex, OnceLock};
use std::time::Instant;

use warpwise::nest::{
    Clock, Continue, Counts, Effort, Nesting, Problem, SearchSettings, check, nest, views,
};
use warpwise::units::Angle;

use super::results::{Key, Record};
use super::{Failure, Instance, clock, memory};

/// What a run leaves behind.
pub(crate) struct Outcome {
    pub record: Record,
    pub problem: Problem,
    pub layout: Nesting,
    /// Seconds and length of every better layout.
    pub trace: Vec<(f64, f64)>,
}

/// Runs the engine on `instance` as `key` says.
pub(crate) fn run(instance: &Instance, key: &Key) -> Result<Outcome, Failure> {
    let problem = instance.problem(key.gap, Angle::degrees(key.tolerance_deg))?;
    let effort = effort(&key.effort, key.threads)?;
    let clock = match effort {
        Effort::Clocked(_, clock) => clock,
        _ => Clock::WALL,
    };
    let settings = SearchSettings {
        effort,
        seed: key.seed,
        threads: key.threads,
    };
    let peak_is_own = memory::forget_peak();
    let began = Instant::now();
    let start = (clock.0)();
    let elapsed = || (clock.0)().saturating_sub(start).as_secs_f64();
    let trace: Mutex<Vec<(f64, f64)>> = Mutex::new(Vec::new());
    let first: OnceLock<f64> = OnceLock::new();
    let counts: Mutex<Counts> = Mutex::new(Counts::default());
    let layout = nest(&problem, &settings, &|progress| {
        if let Ok(mut counts) = counts.lock() {
            *counts = progress.counts;
        }
        first.get_or_init(|| began.elapsed().as_secs_f64());
        if let Ok(mut trace) = trace.lock()
            && trace.last().is_none_or(|&(_, l)| progress.length < l)
        {
            trace.push((elapsed(), progress.length));
        }
        Continue::Yes
    })
    .map_err(|e| format!("{}: {e}", instance.name))?;
    let seconds = elapsed();
    let peak_mib = memory::peak_mib().filter(|_| peak_is_own);

    let faults = check(&problem, &layout);
    for fault in faults.iter().take(3) {
        anstream::eprintln!("{}: {fault:?}", instance.name);
    }
    let area: f64 = (problem.shapes.iter())
        .map(|s| s.outline.area() * s.demand as f64)
        .sum();
    let trace = trace.into_inner().unwrap_or_default();
    let counts = counts.into_inner().unwrap_or_default();
    let record = Record {
        key: key.clone(),
        pieces: problem.shapes.iter().map(|s| s.demand).sum(),
        length: layout.length(),
        density_percent: 100.0 * area / (instance.strip_width * layout.length()),
        seconds,
        valid: faults.is_empty(),
        first_seconds: first.into_inner().unwrap_or(seconds),
        peak_mib,
        evaluations_per_second: Some(counts.evaluations as f64 / seconds),
        rounds_per_second: Some(counts.rounds as f64 / seconds),
        views: views(&problem)
            .ok()
            .map(|views| views.map(|view| (100.0 * view.added_area, view.parts))),
        trace: thinned(&trace),
    };
    Ok(Outcome {
        record,
        problem,
        layout,
        trace,
    })
}

/// The effort of that name: `quick`, `normal`, `thorough`, seconds such as `60s`, or seconds of
/// processor time on each of `threads` threads such as `60s cpu`.
pub(crate) fn effort(name: &str, threads: usize) -> Result<Effort, Failure> {
    let (seconds, clock) = match name {
        "quick" => return Ok(Effort::Quick),
        "normal" => return Ok(Effort::Normal),
        "thorough" => return Ok(Effort::Thorough),
        _ => match name.strip_suffix(clock::OF_PROCESSOR) {
            Some(name) => (name, Some(clock::processor(threads)?)),
            None => (name, None),
        },
    };
    seconds
        .strip_suffix('s')
        .and_then(|s| s.parse().ok())
        .filter(|s: &f64| s.is_finite() && *s > 0.0)
        .map(|seconds| match clock {
            Some(clock) => Effort::Clocked(seconds, clock),
            None => Effort::Seconds(seconds),
        })
        .ok_or_else(|| format!("unknown effort {name}").into())
}

/// Steps for each factor of ten in time that a kept trace has at most.
const STEPS_PER_DECADE: f64 = 50.0;

/// `trace` with the last of the steps that lie too close together on a logarithmic axis.
fn thinned(trace: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let slot = |t: f64| (t.max(1e-4).log10() * STEPS_PER_DECADE).floor() as i64;
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for &(t, length) in trace {
        // The first one says when there was a layout at all.
        if kept.len() > 1 && kept.last().is_some_and(|k| slot(k.0) == slot(t)) {
            kept.pop();
        }
        kept.push(((t * 1e4).round() / 1e4, length));
    }
    kept
}
