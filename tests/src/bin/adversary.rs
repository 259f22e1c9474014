//! Puts planted chains to the solver and tells which of them it denies: `adversary KIND COUNT SEED`.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program that tells what it finds")]

use elbowroom_tests::adversary::{Case, Fate, Outcome, Totals, put, run};
use elbowroom_tests::chain::Problem;
use elbowroom_tests::judge::judge;
use elbowroom_tests::postures::Linkage;
use elbowroom_tests::slot::{Detour, TURNINGS, slot};
use elbowroom_tests::solids::clearances;
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
    if words.get(3).is_some_and(|word| word == "show") {
        let Some(kind) = Kind::named(kind) else { return ExitCode::FAILURE };
        show(kind, seed);
        return ExitCode::SUCCESS;
    }
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

/// Describes one planted chain and what the slow judge makes of it: `adversary KIND 1 SEED show`.
fn show(kind: Kind, seed: u64) {
    let planted = swinging(kind, seed);
    let (problem, steps) = (&planted.problem, &planted.steps);
    println!("{} {seed}: {}", kind.name(), problem.describe(steps));
    for step in steps {
        let def = &problem.fittings[step.part];
        let angles: Vec<f64> = def.bends.iter().map(|bend| bend.angle_deg).collect();
        println!("  {} legs {:?} bends {angles:?}", def.id, def.legs);
    }
    let linkage = Linkage::new(problem, steps);
    let (miss, slopes) = linkage.miss(&linkage.turns(steps));
    println!("  misses by {:.2e}; slopes {:?}", miss.norm(), slopes.singular_values().as_slice());
    for (distance, body, part) in clearances(problem, steps, &problem.place(steps)) {
        println!("  {distance:9.4} mm from part {part} to {body}");
    }
    println!("  ports {:?} and {:?}", problem.from.frame, problem.to.frame);
    let verdict = judge(problem, steps);
    let best = verdict.best.map(|(room, steps)| format!("{room:.4} mm of {} at {}", problem.clearance_mm, problem.describe(&steps)));
    println!("  judge: {} branches, {} postures, best {best:?}", verdict.branches, verdict.postures);
    let bare = Problem { obstacles: Vec::new(), ..problem.clone() };
    println!("  without boxes: {:?}", put(&Case { name: String::new(), problem: bare, steps: steps.clone() }).fate);
    for index in 0..problem.obstacles.len() {
        let bare = Problem { obstacles: vec![problem.obstacles[index].clone()], ..problem.clone() };
        let fate = put(&Case { name: String::new(), problem: bare, steps: steps.clone() }).fate;
        println!("  with box {index} alone: {fate:?} {:?}", problem.obstacles[index]);
    }
    let outcome = put(&Case { name: String::new(), problem: problem.clone(), steps: steps.clone() });
    println!("  {:?}, claims {}: {}", outcome.fate, outcome.claims, outcome.words);
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
