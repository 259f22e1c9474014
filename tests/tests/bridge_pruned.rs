//! Chains of thick parts in crowded gaps: closures are left out before they are fitted where it is certain that the chain
//! would be in something, and none that has room is.

use elbowroom::bridge::{Answer, Completeness};
use elbowroom::catalog::{FittingDef, PartSolid};
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::brute::enumerate;
use elbowroom_tests::chain::{Problem, Step};
use elbowroom_tests::crowd::{Crowding, clears_by, crowd};
use elbowroom_tests::parts::{bend, straight};
use elbowroom_tests::plant::gap_for;
use elbowroom_tests::postures::{Linkage, Turns};
use elbowroom_tests::rules::can_be_aimed;
use elbowroom_tests::solids::is_clear;
use elbowroom_tests::verify::{faults, key_of, key_of_steps, spell};
use rand::{Rng, SeedableRng, rngs::StdRng, seq::IndexedRandom};
use rayon::prelude::*;
use std::f64::consts::TAU;
use std::fmt::Write;

/// A chain planted in a crowd.
struct Planted {
    problem: Problem,
    steps: Vec<Step>,
}

/// Postures that boxes are put in the way of.
const OTHERS: usize = 40;

/// Plants a chain of so many bends and straight parts among parts as thick as real ones, amid boxes that it clears by what
/// `spare_mm` says beyond the allowance. The same seed plants the same chain.
fn planted(seed: u64, bends: usize, straights: usize, spare_mm: [f64; 2]) -> Planted {
    let mut rng = StdRng::seed_from_u64(seed);
    loop {
        if let Some(planted) = try_once(&mut rng, bends, straights, spare_mm) {
            return planted;
        }
    }
}

fn try_once(rng: &mut StdRng, bends: usize, straights: usize, spare_mm: [f64; 2]) -> Option<Planted> {
    let fittings = parts(rng);
    let (all_straights, all_bends): (Vec<usize>, Vec<usize>) =
        (0..fittings.len()).partition(|part| fittings[*part].bends.is_empty());
    let mut order: Vec<usize> = (0..bends).filter_map(|_| all_bends.choose(rng).copied()).collect();
    for _ in 0..straights {
        order.insert(rng.random_range(0..=order.len()), *all_straights.choose(rng)?);
    }
    let steps: Vec<Step> =
        order.into_iter().map(|part| Step { part, entry: 0, turn: rng.random_range(0.0..TAU), stretch: 0.0 }).collect();
    if !can_be_aimed(&fittings, &steps) {
        return None;
    }
    let mut problem = gap_for(fittings, &steps, steps.len());
    if !is_clear(&problem, &steps, &problem.place(&steps), 0.3) {
        return None;
    }
    let others: Vec<Turns> = {
        let linkage = Linkage::new(&problem, &steps);
        let own = linkage.turns(&steps);
        let mut other = || own.map(|turn| turn + rng.random_range(-1.0..1.0_f64).powi(3) * TAU / 2.0);
        (0..OTHERS).map(|_| other()).collect()
    };
    let most = rng.random_range(3..10);
    crowd(&mut problem, &steps, &others, rng, Crowding { most, spare_mm });
    let is_sound = !problem.obstacles.is_empty() && clears_by(&problem, &steps, spare_mm[0] - 1e-4);
    is_sound.then_some(Planted { problem, steps })
}

/// Parts that all turn, some 10 to 14 mm thick, of which a few have a step.
fn parts(rng: &mut StdRng) -> Vec<FittingDef> {
    let mut parts = Vec::new();
    for index in 0..2 {
        parts.push(straight(&format!("s{index}"), ['M', 'F'], rng.random_range(5.0..25.0)));
    }
    for index in 0..4 {
        let angle_deg = *[30.0, 45.0, 60.0, 90.0, 90.0, 75.0].choose(rng).unwrap_or(&90.0);
        let legs = [rng.random_range(9.0..24.0), rng.random_range(9.0..24.0)];
        parts.push(bend(&format!("b{index}"), ['M', 'F'], angle_deg, legs));
    }
    for part in &mut parts {
        let thick = rng.random_range(10.0..14.0);
        let step = rng.random_bool(0.3).then(|| rng.random_range(2.0..4.0));
        let last = part.legs.len() - 1;
        for solid in &mut part.solids {
            if let PartSolid::Sleeve { diameter, .. } | PartSolid::Knuckle { diameter, .. } = solid {
                *diameter = thick;
            }
        }
        if let Some(step) = step {
            part.solids.push(PartSolid::Sleeve { leg: last, from: 1.0, to: Some(1.0 + step), diameter: thick + 2.0 });
        }
    }
    parts
}

/// What is wrong with the answer about a planted chain, and how many closures were left out unfitted.
fn check(name: &str, planted: &Planted, answer: &Answer) -> (Vec<String>, u64) {
    let Planted { problem, steps } = planted;
    let key = key_of_steps(problem, steps);
    let mut wrong = faults(problem, answer);
    if !answer.chains.iter().any(|chain| key_of(problem, chain) == key) {
        wrong.push(format!("{} is lost: {:?}, {:?}", spell(&key), answer.completeness, answer.counts));
    }
    (wrong.into_iter().map(|line| format!("{name}: {line}")).collect(), answer.counts.stuck)
}

/// Chains that clear the bodies around them by 0.02 to 0.2 mm more than they must.
#[test]
fn chains_with_barely_room_are_found() {
    let kinds = [(3, 0), (3, 1), (4, 0), (3, 2), (4, 1)];
    let outcome = |seed: u64| {
        let (bends, straights) = kinds[usize::try_from(seed).unwrap_or(0) % kinds.len()];
        let planted = planted(seed, bends, straights, [0.0202, 0.2]);
        check(&format!("seed {seed}"), &planted, &ask(&planted.problem, ALL))
    };
    let outcomes: Vec<(Vec<String>, u64)> = (0..1_000).into_par_iter().map(outcome).collect();
    let stuck: u64 = outcomes.iter().map(|(_, stuck)| stuck).sum();
    let wrong: Vec<String> = outcomes.into_iter().flat_map(|(wrong, _)| wrong).collect();
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
    assert!(stuck > 1_000, "only {stuck} closures were left out: this tests nothing");
}

/// Only the parts of the planted chain, so that all sequences of them can be tried.
fn with_own_parts(Planted { problem, steps }: Planted) -> Planted {
    let mut used: Vec<usize> = steps.iter().map(|step| step.part).collect();
    used.sort_unstable();
    used.dedup();
    let fittings = used.iter().map(|part| problem.fittings[*part].clone()).collect();
    let own = |step: Step| Step { part: used.partition_point(|part| *part < step.part), ..step };
    Planted { problem: Problem { fittings, ..problem }, steps: steps.into_iter().map(own).collect() }
}

/// Whatever trying finds in such gaps is listed.
#[test]
fn nothing_that_trying_finds_is_left_out() {
    let outcome = |seed: u64| {
        let bends = 3 + usize::try_from(seed % 2).unwrap_or(0);
        let Planted { problem, .. } = with_own_parts(planted(seed, bends, 0, [0.3, 3.0]));
        let answer = ask(&problem, ALL);
        let listed: Vec<_> = answer.chains.iter().map(|chain| key_of(&problem, chain)).collect();
        let tried = enumerate(&problem);
        let missed = tried.iter().filter(|found| !listed.contains(&key_of_steps(&problem, &found.steps)));
        let missed = missed.map(|found| format!("seed {seed}: missed {}", problem.describe(&found.steps))).collect();
        (tried.len(), missed, answer.counts.stuck)
    };
    let outcomes: Vec<(usize, Vec<String>, u64)> = (2_000..2_100).into_par_iter().map(outcome).collect();
    let (tried, stuck) = outcomes.iter().fold((0, 0), |(tried, stuck), one| (tried + one.0, stuck + one.2));
    let missed: Vec<String> = outcomes.into_iter().flat_map(|(_, missed, _)| missed).collect();
    assert!(missed.is_empty(), "{} missed:\n{}", missed.len(), missed.join("\n"));
    assert!(tried > 100 && stuck > 50, "{tried} chains to compare with, {stuck} closures left out");
}

/// The answers to some crowded gaps as they were when every closure was fitted and tested.
const RECORDED: &str = include_str!("../data/bridge/crowded.csv");

/// Seed, completeness, how many chains, and a sum over their names, turns and clearances, in order.
fn recorded(seed: u64) -> String {
    let bends = 3 + usize::try_from(seed % 2).unwrap_or(0);
    let straights = usize::try_from(seed / 2 % 2).unwrap_or(0);
    let Planted { problem, .. } = planted(seed, bends, straights, [0.1, 6.0]);
    let answer = ask(&problem, ALL);
    let mut sum = Sum(0xcbf2_9ce4_8422_2325);
    for chain in &answer.chains {
        sum.add(&spell(&key_of(&problem, chain)));
        let clearance_mm = chain.clearance.as_ref().map_or(1e6, |clearance| clearance.mm);
        // To a hundredth of a millimetre from below, a little off the numbers that parts are made of.
        sum.add(&format!("{:.0}", (clearance_mm + 0.003_7) * 100.0));
    }
    let ended = match answer.completeness {
        Completeness::Complete { parts } => format!("complete to {parts}"),
        other => format!("{other:?}"),
    };
    format!("{seed},{ended},{},{:016x}", answer.chains.len(), sum.0)
}

/// The hash FNV-1a, 64 bits, after its authors Fowler, Noll and Vo.
struct Sum(u64);

impl Sum {
    fn add(&mut self, text: &str) {
        for byte in text.bytes().chain([0]) {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

/// `UPDATE_CROWDED=1` records them anew, for a change that is meant to change answers.
#[test]
fn answers_are_as_they_were_when_every_closure_was_fitted() {
    let lines: Vec<String> = (5_000..5_120_u64).into_par_iter().map(recorded).collect();
    let mut text = "seed,completeness,chains,sum of names and clearances\n".to_owned();
    lines.iter().for_each(|line| _ = writeln!(text, "{line}"));
    if std::env::var_os("UPDATE_CROWDED").is_some() {
        std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/data/bridge/crowded.csv"), &text).expect("written");
        return;
    }
    let differ = text.lines().zip(RECORDED.lines()).filter(|(now, then)| now != then);
    let differ: Vec<String> = differ.map(|(now, then)| format!("{now} was {then}")).collect();
    assert!(differ.is_empty(), "{}", differ.join("\n"));
    assert_eq!(text.lines().count(), RECORDED.lines().count());
}
