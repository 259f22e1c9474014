//! Puts planted chains to the solver and tells which of them it denies: `adversary KIND COUNT SEED`.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program that tells what it finds")]

use elbowroom_tests::adversary::{Case, Fate, JUDGED, Judged, Outcome, Totals, both_tell, put, run};
use elbowroom_tests::chain::Problem;
use elbowroom_tests::judge::judge;
use elbowroom_tests::postures::Linkage;
use elbowroom_tests::slot::family;
use elbowroom_tests::solids::clearances;
use elbowroom_tests::swinging::{Kind, Twist, swinging};
use rayon::prelude::*;
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, otherwise: u64| words.get(at).map_or(Ok(otherwise), |word| word.parse());
    let (Some(kind), Ok(count), Ok(seed)) = (words.first(), number(1, 100), number(2, 0)) else {
        let kinds: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
        eprintln!(
            "expected KIND COUNT SEED, with KIND slot, judged or one of {}, these with +loose, +twins, +swapped",
            kinds.join(", ")
        );
        return ExitCode::FAILURE;
    };
    if words.get(3).is_some_and(|word| word == "show") {
        let Some(kind) = Kind::named(kind) else { return ExitCode::FAILURE };
        show(kind, seed);
        return ExitCode::SUCCESS;
    }
    if kind == "judged" {
        return judged(seed..seed + count);
    }
    let totals = if kind == "slot" {
        slots()
    } else if let Some((kind, twists)) = kind_and_twists(kind) {
        let case = |seed| {
            let case = swinging(kind, seed).case(kind, seed);
            twists.iter().fold(case, |case, twist| twist.apply(case, seed))
        };
        run(seed..seed + count, case, tell)
    } else {
        eprintln!("no kind {kind}");
        return ExitCode::FAILURE;
    };
    say(kind, &totals);
    if totals.denied.is_empty() && totals.faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// A kind, and what else is done to its problems: words joined by `+`.
fn kind_and_twists(text: &str) -> Option<(Kind, Vec<Twist>)> {
    let mut words = text.split('+');
    let kind = Kind::named(words.next()?)?;
    Some((kind, words.map(Twist::named).collect::<Option<_>>()?))
}

/// The slow judge and the solver about chains of all kinds in turn.
fn judged(seeds: std::ops::Range<u64>) -> ExitCode {
    let of_kind = |seed: u64| JUDGED[usize::try_from(seed).unwrap_or(0) % JUDGED.len()];
    let all: Vec<Judged> = seeds.into_par_iter().map(|seed| both_tell(of_kind(seed), seed)).collect();
    for each in &all {
        if each.fate == Some(Fate::Denied) {
            println!("DENIED {} with {:.4} mm to spare: {}", each.name, each.spare_mm, each.words);
        }
        each.faults.iter().for_each(|fault| println!("FAULT {}: {fault}", each.name));
    }
    let count = |what: &dyn Fn(&Judged) -> bool| all.iter().filter(|each| what(each)).count();
    let fate = |fate: Fate| count(&|each| each.fate == Some(fate));
    let denied = fate(Fate::Denied);
    println!(
        "judged: {} cases; the judge finds room in {}, of which {} listed, {} sampled, {denied} denied; of the others {} listed; {} faults",
        all.len(),
        count(&|each| each.fate.is_some()),
        fate(Fate::Found),
        fate(Fate::Sampled),
        count(&|each| each.fate.is_none() && each.listed),
        all.iter().map(|each| each.faults.len()).sum::<usize>(),
    );
    if denied == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
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
    let verdict = judge(problem, steps, f64::INFINITY);
    let best = verdict
        .best
        .map(|(room, steps)| format!("{room:.4} mm of {} at {}", problem.clearance_mm, problem.describe(&steps)));
    println!("  judge: {} walks, {} postures, best {best:?}", verdict.walks, verdict.postures);
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

/// The slot family.
fn slots() -> Totals {
    run(family(), |slot| slot.case(), tell)
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
