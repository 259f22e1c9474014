//! Planted chains are found again: random parts and turns, many all but degenerate, hidden from the solver.

use elbowroom::bridge::{Answer, Completeness};
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::plant::{Planted, plant, plant_at_the_edge, plant_bends_and_offsets};
use elbowroom_tests::verify::{faults, key_of, key_of_steps, spell};
use rayon::prelude::*;

const SEEDS: u64 = 1000;
/// How many parts the catalog has for planted chains of one to seven parts: fewer where they are long, to keep
/// the number of chains down.
const POOLS: [usize; 7] = [8, 8, 8, 6, 4, 3, 2];

fn planted(seed: u64) -> Planted {
    let length = 1 + usize::try_from(seed % 7).unwrap_or(0);
    plant(seed, length, POOLS[length - 1])
}

/// What is wrong with the answer to a planted problem, and whether the chain was lost where the answer says itself
/// that chains of that length were only sampled.
fn check(seed: u64) -> (Vec<String>, bool) {
    let planted = planted(seed);
    let (problem, steps) = (&planted.problem, &planted.steps);
    let answer = ask(problem, ALL);
    let mut wrong = faults(problem, &answer);
    let mut lost_in_sample = false;
    if let Some(loss) = lost(&planted, &answer) {
        if matches!(answer.completeness, Completeness::Sampled { complete_parts, .. } if complete_parts < steps.len()) {
            lost_in_sample = true;
        } else {
            wrong.push(loss);
        }
    }
    (
        wrong.into_iter().map(|line| format!("seed {seed} ({}): {line}", problem.describe(steps))).collect(),
        lost_in_sample,
    )
}

/// All chains are wanted, so the planted one has to be among them.
fn lost(planted: &Planted, answer: &Answer) -> Option<String> {
    let key = key_of_steps(&planted.problem, &planted.steps);
    let found = answer.chains.iter().any(|chain| key_of(&planted.problem, chain) == key);
    let stopped = matches!(answer.completeness, Completeness::Stopped { .. } | Completeness::BestProven { .. });
    (!found || stopped).then(|| {
        let miss = planted.problem.miss(&planted.steps);
        let too_long = -miss.vector.dot(&planted.problem.to.frame.z());
        format!(
            "{} is not among {} chains (planted {:.3} mm and {:.3}° off, {too_long:.3} mm too long), {:?}, {:?}",
            spell(&key),
            answer.chains.len(),
            miss.mm,
            miss.deg,
            answer.completeness,
            answer.counts,
        )
    })
}

/// What is lost of `seeds` planted chains of so many bends and offsets, where the answer must be complete.
fn lost_of(bends: usize, offsets: usize, seeds: u64) -> Vec<String> {
    let check = |seed| {
        let planted = plant_bends_and_offsets(seed, bends, offsets);
        let answer = ask(&planted.problem, ALL);
        let mut wrong: Vec<String> = lost(&planted, &answer).into_iter().collect();
        if answer.completeness != (Completeness::Complete { parts: bends + offsets }) {
            wrong.push(format!("{:?}", answer.completeness));
        }
        wrong.into_iter().map(move |line| format!("{bends} bends and {offsets} offsets, seed {seed}: {line}"))
    };
    (0..seeds).into_par_iter().flat_map_iter(check).collect()
}

/// Five turning parts are the most of which every chain is considered: each way of dividing them has its own closure.
#[test]
fn five_turning_parts_are_found_again() {
    let wrong: Vec<String> = [(5, 0, 20), (4, 1, 20), (3, 2, 120), (2, 3, 20)]
        .into_iter()
        .flat_map(|(b, o, seeds)| lost_of(b, o, seeds))
        .collect();
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_thousand_planted_chains_are_found_again() {
    let answers: Vec<(Vec<String>, bool)> = (0..SEEDS).into_par_iter().map(check).collect();
    let missed: Vec<usize> = (0..answers.len()).filter(|seed| answers[*seed].1).collect();
    let wrong: Vec<String> = answers.into_iter().flat_map(|(wrong, _)| wrong).collect();
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
    assert!(missed.is_empty(), "seeds {missed:?} were missed where the answer was sampled");
}

/// A chain may use up both allowances, that of the distance and that of the angle. The least sum of the squares of both is
/// then elsewhere, with less of the one and too much of the other.
#[test]
fn chains_at_the_edge_of_both_allowances_are_found_again() {
    let check = |seed: u64| {
        let length = 1 + usize::try_from(seed % 4).unwrap_or(0);
        let planted = plant_at_the_edge(seed, length, POOLS[length - 1], 0.97);
        lost(&planted, &ask(&planted.problem, ALL)).map(|line| format!("seed {seed}: {line}"))
    };
    let wrong: Vec<String> = (0..400_u64).into_par_iter().filter_map(check).collect();
    assert!(wrong.is_empty(), "{} lost:\n{}", wrong.len(), wrong.join("\n"));
}
