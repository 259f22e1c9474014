//! Small catalogs searched by trying everything: the solver finds all of it, and nothing that is not so.

use elbowroom::bridge::Completeness;
use elbowroom::catalog::FittingDef;
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::brute::enumerate;
use elbowroom_tests::chain::{Problem, Step, is_bent};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, link, mating_port, offset, straight};
use elbowroom_tests::plant::plant;
use elbowroom_tests::rules::{broken_rule, exit_end};
use elbowroom_tests::verify::{Key, faults, key_of, key_of_steps, spell};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::f64::consts::TAU;

/// Chains of the problem that trying finds; panics where the solver misses one or reports a wrong one.
fn check(name: &str, problem: &Problem) -> usize {
    let tried: BTreeSet<Key> = enumerate(problem).iter().map(|found| key_of_steps(problem, &found.steps)).collect();
    assert!(!tried.is_empty(), "{name}: nothing to compare with");
    let answer = ask(problem, ALL);
    let solved: BTreeSet<Key> = answer.chains.iter().map(|chain| key_of(problem, chain)).collect();
    let missed: Vec<String> = tried.difference(&solved).map(spell).collect();
    assert!(missed.is_empty(), "{name}: missed {missed:?}\nof {problem:#?}");
    assert_eq!(faults(problem, &answer), Vec::<String>::new(), "{name}: {problem:#?}");
    assert_eq!(answer.completeness, Completeness::Complete { parts: problem.max_parts }, "{name}");
    tried.len()
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
fn gap_of(fittings: Vec<FittingDef>, chain: &[(usize, u8)]) -> Problem {
    let steps: Vec<Step> = chain
        .iter()
        .map(|&(part, eighths)| Step { part, entry: 0, turn: f64::from(eighths) * TAU / 8.0, stretch: 0.0 })
        .collect();
    let from = Frame::looking(Vector3::zeros(), Vector3::z(), 0.0);
    let mut problem = Problem {
        from: mating_port(&fittings[steps[0].part].ends[0], from),
        to: mating_port(&fittings[steps[0].part].ends[0], from),
        fittings,
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
        max_parts: 4,
    };
    let exit = problem.place(&steps)[steps.len() - 1].exit;
    problem.to = mating_port(exit_end(&problem, &steps[steps.len() - 1]), exit.facing());
    assert_eq!(broken_rule(&problem, &steps), None, "{chain:?}");
    problem
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
    let found: Vec<usize> =
        chains.par_iter().map(|chain| check(&format!("{chain:?}"), &gap_of(lattice(), chain))).collect();
    assert!(found.iter().sum::<usize>() > 2 * chains.len(), "too little to compare with: {found:?}");
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
    let found: Vec<usize> = chains
        .par_iter()
        .map(|chain| {
            let mut problem = gap_of(fittings.clone(), chain);
            problem.max_parts = 3;
            check(&format!("{chain:?}"), &problem)
        })
        .collect();
}

#[test]
fn random_catalogs_hold_nothing_that_is_missed() {
    let found: Vec<usize> = (5000..5100_u32)
        .into_par_iter()
        .map(|seed| {
            let planted = plant(u64::from(seed), 2 + seed as usize % 3, 4);
            let bends =
                |steps: &[Step]| steps.iter().filter(|step| is_bent(&planted.problem.fittings[step.part])).count();
            assert!(bends(&planted.steps) <= 4);
            check(&format!("seed {seed}"), &planted.problem)
        })
        .collect();
}
