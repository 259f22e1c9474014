//! Puts planted chains to the solver and tells which of them it denies: `adversary KIND COUNT SEED`.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program that tells what it finds")]

use elbowroom_tests::adversary::{Case, Fate, Outcome, Totals, run};
use elbowroom_tests::slot::{Detour, TURNINGS, slot};
use elbowroom_tests::swinging::{Kind, swinging};
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, otherwise: u64| words.get(at).map_or(Ok(otherwise), |word| word.parse());
    let (Some(kind), Ok(count), Ok(seed)) = (words.first(), number(1, 100), number(2, 0)) else {
        let kinds: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
        eprintln!("expected KIND COUNT SEED, with KIND slot or one of {}", kinds.join(", "));
        return ExitCode::FAILURE;
    };
    let totals = if kind == "slot" {
        slots(count)
    } else if let Some(kind) = Kind::named(kind) {
        run(
            seed..seed + count,
            |seed| {
                let planted = swinging(kind, seed);
                let name = format!(
                    "{} {seed:>6} ({:?}, {} freedoms, {} of {} postures open)",
                    kind.name(),
                    planted.spot,
                    planted.freedoms,
                    planted.open,
                    planted.others
                );
                Case { name, problem: planted.problem, steps: planted.steps }
            },
            tell,
        )
    } else {
        eprintln!("no kind {kind}");
        return ExitCode::FAILURE;
    };
    say(kind, &totals);
    if totals.denied.is_empty() && totals.faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// The slot family; `count` below 100 leaves out the built-in catalog.
fn slots(count: u64) -> Totals {
    let mut cases = Vec::new();
    for detour in [Detour::Offsets, Detour::Bends, Detour::SweptBends] {
        for half_width in [9.02, 9.05, 9.14, 9.2, 9.5, 10.0] {
            for turning in 0..TURNINGS {
                for everything in [false, true] {
                    if !everything || count >= 100 && detour == Detour::Offsets {
                        cases.push((detour, half_width, turning, everything));
                    }
                }
            }
        }
    }
    run(
        cases,
        |(detour, half_width, turning, everything)| {
            let (problem, steps) = slot(detour, half_width, turning, everything);
            let catalog = if everything { "built-in" } else { "small" };
            let name = format!("slot {detour:?} {half_width:.2} turning {turning:>2} {catalog}");
            Case { name, problem, steps }
        },
        tell,
    )
}

fn tell(outcome: &Outcome) {
    if outcome.fate == Fate::Denied {
        println!("DENIED {}: {}", outcome.name, outcome.words);
    }
    for fault in &outcome.faults {
        println!("FAULT {}: {fault}", outcome.name);
    }
}

fn say(kind: &str, totals: &Totals) {
    let Totals { cases, found, sampled, denied, claims, faults } = totals;
    println!(
        "{kind}: {cases} cases, {found} found, {sampled} sampled, {} denied; {claims} answers claim completeness; {} faults",
        denied.len(),
        faults.len()
    );
}
