//! Small catalogs searched by trying everything: the solver finds all of it, and nothing that is not so.

use elbowroom::bridge::Completeness;
use elbowroom::catalog::FittingDef;
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::brute::{Found, enumerate};
use elbowroom_tests::chain::{Problem, Step};
use elbowroom_tests::parts::{bend, link, offset, straight};
use elbowroom_tests::plant::{gap_for, plant};
use elbowroom_tests::verify::{Key, faults, key_of, key_of_steps};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::TAU;

/// What came of one problem: how many chains trying finds, and what is wrong with the solver's answer.
struct Outcome {
    tried: usize,
    wrong: Vec<String>,
}

fn compare(name: &str, problem: &Problem) -> Outcome {
    let tried: BTreeMap<Key, Found> =
        enumerate(problem).into_iter().map(|found| (key_of_steps(problem, &found.steps), found)).collect();
    let answer = ask(problem, ALL);
    let solved: BTreeSet<Key> = answer.chains.iter().map(|chain| key_of(problem, chain)).collect();
    let mut wrong = faults(problem, &answer);
    let missed = tried.iter().filter(|(key, _)| !solved.contains(*key));
    wrong.extend(missed.map(|(_, found)| {
        format!("missed {}, which uses {:.3} of the allowances", problem.describe(&found.steps), found.allowances_used)
    }));
    if tried.is_empty() {
        wrong.push("there is nothing to compare with".to_owned());
    }
    // Offsets bring two bends each: with three of them a chain has more turns than five, which is only sampled.
    let may_sample = problem.fittings.iter().any(|def| def.bends.len() > 1);
    let sampled = matches!(answer.completeness, Completeness::Sampled { parts, .. } if parts == problem.max_parts);
    if answer.completeness != (Completeness::Complete { parts: problem.max_parts }) && !(may_sample && sampled) {
        wrong.push(format!("{:?}", answer.completeness));
    }
    Outcome { tried: tried.len(), wrong: wrong.into_iter().map(|line| format!("{name}: {line}")).collect() }
}

/// Asserts that nothing is wrong with any of the answers; gives the number of chains that were compared.
fn check(problems: Vec<(String, Problem)>) -> usize {
    let outcomes: Vec<Outcome> = problems.par_iter().map(|(name, problem)| compare(name, problem)).collect();
    let wrong: Vec<&str> = outcomes.iter().flat_map(|outcome| &outcome.wrong).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
    outcomes.iter().map(|outcome| outcome.tried).sum()
}

/// Parts of round sizes, so that many chains close by coincidence and many of those are degenerate.
fn lattice() -> Vec<FittingDef> {
    vec![
        straight("s10", ['m', 'f'], 10.0),
        straight("s20", ['M', 'f'], 20.0),
        bend("elbow", ['M', 'F'], 90.0, [10.0, 10.0]),
        bend("half", ['M', 'f'], 45.0, [10.0, 10.0]),
    ]
}

/// The gap that a chain of these parts and turns (in eighths) bridges.
fn gap_of(fittings: Vec<FittingDef>, chain: &[(usize, u8)], max_parts: usize) -> Problem {
    let steps: Vec<Step> = chain
        .iter()
        .map(|&(part, eighths)| Step { part, entry: 0, turn: f64::from(eighths) * TAU / 8.0, stretch: 0.0 })
        .collect();
    gap_for(fittings, &steps, max_parts)
}

#[test]
fn every_gap_of_a_lattice_is_bridged_in_every_way() {
    let (s10, s20, elbow, half) = (0, 1, 2, 3);
    let chains: Vec<Vec<(usize, u8)>> = vec![
        vec![(s10, 0), (s20, 0), (s10, 0)],
        vec![(elbow, 0), (s20, 0), (elbow, 0)],
        vec![(elbow, 0), (s20, 0), (elbow, 4)],
        vec![(elbow, 0), (elbow, 2), (elbow, 2)],
        vec![(elbow, 0), (elbow, 2), (elbow, 4), (elbow, 0)],
        vec![(elbow, 0), (elbow, 4), (elbow, 4), (elbow, 4)],
        vec![(elbow, 3), (half, 0), (half, 4), (elbow, 0)],
        vec![(half, 0), (half, 0), (s20, 0)],
        vec![(half, 0), (s20, 0), (half, 4), (s20, 0)],
        vec![(half, 1), (elbow, 4), (half, 4), (s20, 0)],
        vec![(half, 1), (half, 3), (half, 5), (elbow, 7)],
        vec![(s10, 0), (half, 6), (s10, 0), (elbow, 2)],
    ];
    let count = chains.len();
    let compared = check(chains.iter().map(|chain| (format!("{chain:?}"), gap_of(lattice(), chain, 4))).collect());
    assert!(compared > 2 * count, "only {compared} chains to compare with");
}

#[test]
fn offsets_and_links_are_tried_too() {
    let fittings = vec![
        straight("s10", ['M', 'f'], 10.0),
        link("slide", ['m', 'F'], 14.0, 9.0),
        offset("dogleg", ['M', 'F'], 45.0, [10.0, 12.0, 10.0]),
        bend("elbow", ['M', 'f'], 90.0, [10.0, 10.0]),
    ];
    let (s10, slide, dogleg, elbow) = (0, 1, 2, 3);
    let chains: Vec<Vec<(usize, u8)>> = vec![
        vec![(dogleg, 0)],
        vec![(dogleg, 1), (dogleg, 2)],
        vec![(slide, 0), (s10, 0)],
        vec![(dogleg, 0), (s10, 0), (dogleg, 4)],
        vec![(slide, 0), (elbow, 2), (slide, 0)],
        vec![(dogleg, 3), (elbow, 2), (dogleg, 1)],
    ];
    check(chains.iter().map(|chain| (format!("{chain:?}"), gap_of(fittings.clone(), chain, 3))).collect());
}

#[test]
fn random_catalogs_hold_nothing_that_is_missed() {
    let problem = |seed: u32| (format!("seed {seed}"), plant(u64::from(seed), 2 + seed as usize % 3, 4).problem);
    check((5000..5100).map(problem).collect());
}
