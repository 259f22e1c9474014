//! Prints the search's figures as a table: time, processor time per sequence of parts and per closure attempt, counts, peak
//! memory.
//!
//! `cargo run --release -p elbowroom-benches --bin figures [PART OF A NAME]`; set `RAYON_NUM_THREADS` for the threads.
//! Each line is the quickest of three runs where a run takes under a second. Peak memory is that of the whole
//! process, catalog and layout included.

use elbowroom_benches::{
    cases::{Case, blocked, catalog_of, demo_gaps, facing_away, far_apart, two_wells, under_a_lid},
    dense::dense_gaps,
    spent::{forget_peak, peak_memory_mb, processor_time},
};
use std::{
    env,
    io::{self, Write},
    time::{Duration, Instant},
};

fn main() -> io::Result<()> {
    let wanted = env::args().nth(1).unwrap_or_default();
    let mut out = io::stdout().lock();
    writeln!(
        out,
        "{:<52} {:>10} {:>10} {:>12} {:>9} {:>11} {:>9} {:>10} {:>8} {:>8}",
        "", "clock ms", "cpu ms", "sequences", "ns each", "closures", "ns each", "closed", "tested", "peak MB"
    )?;
    for case in cases().into_iter().filter(|case| case.name.contains(&wanted)) {
        line(&mut out, &case)?;
    }
    Ok(())
}

fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for want in [1, 20] {
        cases.extend(demo_gaps(want).into_iter().map(|mut case| {
            case.name = format!("best {want}, {}", case.name);
            case
        }));
    }
    for nothing in [blocked(), facing_away(), under_a_lid()] {
        cases.extend([3, 4, 5].map(|parts| nothing.up_to(parts)));
    }
    for size in [20, 40, 80, 160] {
        let sized = blocked().asked_of(catalog_of(size), format!("catalog of {size}"));
        cases.extend([3, 4, 5].map(|parts| sized.up_to(parts)));
    }
    cases.extend([far_apart().up_to(6), two_wells().up_to(6)]);
    cases.extend(dense_gaps().iter().flat_map(Case::wanting_one_and_all));
    cases
}

fn line(out: &mut impl Write, case: &Case) -> io::Result<()> {
    let mut best: Option<(Duration, Option<Duration>)> = None;
    let mut answer = None;
    let forgotten = forget_peak();
    let begun = Instant::now();
    for _ in 0..3 {
        let (clock, before) = (Instant::now(), processor_time());
        answer = Some(case.answer());
        let clock = clock.elapsed();
        let processor = processor_time().zip(before).map(|(after, before)| after - before);
        if best.is_none_or(|(least, _)| clock < least) {
            best = Some((clock, processor));
        }
        if begun.elapsed() > Duration::from_secs(1) {
            break;
        }
    }
    let (Some((clock, processor)), Some(answer)) = (best, answer) else { return Ok(()) };
    let known = |number: Option<f64>, digits: usize| number.map_or("unknown".to_owned(), |n| format!("{n:.digits$}"));
    let counts = answer.counts;
    #[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
    let attempts = counts.closures as f64;
    let processor_ns = processor.map(|time| time.as_secs_f64() * 1e9);
    writeln!(
        out,
        "{:<52} {:>10.2} {:>10} {:>12.0} {:>9} {:>11} {:>9} {:>10} {:>8} {:>8}",
        case.name,
        clock.as_secs_f64() * 1e3,
        known(processor_ns.map(|ns| ns / 1e6), 2),
        counts.sequences,
        known(processor_ns.map(|ns| ns / counts.sequences), 1),
        counts.closures,
        known(processor_ns.filter(|_| counts.closures > 0).map(|ns| ns / attempts), 0),
        counts.closed,
        counts.tested,
        known(peak_memory_mb().filter(|_| forgotten), 1),
    )?;
    let best = answer.chains.first().map(|chain| chain.parts.len());
    writeln!(
        out,
        "    {} chains, the best of {} parts; {:?}",
        answer.chains.len(),
        best.unwrap_or(0),
        answer.completeness
    )
}
