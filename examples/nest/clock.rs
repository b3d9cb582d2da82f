//! A clock that goes with the work done, so that a bench does not suffer from other programs.

use std::time::Duration;

use rustix::time::{ClockId, clock_gettime};
use warpwise::nest::Clock;

use super::Failure;

/// What follows the seconds in the name of an effort that this clock measures.
pub(crate) const OF_PROCESSOR: &str = " cpu";

/// Processor time of this process, divided by `threads`: what each of them has had if all are busy.
pub(crate) fn processor(threads: usize) -> Result<Clock, Failure> {
    match threads {
        0 | 1 => Ok(Clock(spent)),
        2 => Ok(Clock(|| spent() / 2)),
        4 => Ok(Clock(|| spent() / 4)),
        _ => Err("processor time is measured for 1, 2 or 4 threads".into()),
    }
}

fn spent() -> Duration {
    let now = clock_gettime(ClockId::ProcessCPUTime);
    Duration::new(now.tv_sec as u64, now.tv_nsec as u32)
}
