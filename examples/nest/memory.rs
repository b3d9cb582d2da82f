//! Peak memory of this process, where the system tells it (Linux).

use std::fs;

/// Makes the peak start again from what is in use now; `false` where that cannot be done.
pub(crate) fn forget_peak() -> bool {
    // proc(5): writing 5 resets the peak resident set size.
    fs::write("/proc/self/clear_refs", "5").is_ok()
}

/// The largest resident set since the start or the last [`forget_peak`], in MiB.
pub(crate) fn peak_mib() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kib / 1024.0)
}
