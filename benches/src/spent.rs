//! What this process has spent, as Linux tells it; `None` on other systems.

use std::{fs, time::Duration};

/// Processor time of all threads that are running, summed. Unlike the time on the clock it does not grow while other
/// programs hold the processor.
#[must_use]
pub fn processor_time() -> Option<Duration> {
    let threads = fs::read_dir("/proc/self/task").ok()?;
    let mut nanos = 0;
    for thread in threads {
        let told = fs::read_to_string(thread.ok()?.path().join("schedstat")).ok()?;
        nanos += told.split_whitespace().next()?.parse::<u64>().ok()?;
    }
    Some(Duration::from_nanos(nanos))
}

/// Most memory held at any time since the last [`forget_peak`], in megabytes (10^6 bytes).
#[must_use]
pub fn peak_memory_mb() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}

/// Starts [`peak_memory_mb`] anew from what is held now. Says whether the system let it.
pub fn forget_peak() -> bool {
    fs::write("/proc/self/clear_refs", "5").is_ok()
}
