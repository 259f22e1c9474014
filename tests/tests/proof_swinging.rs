//! Chains that can swing, each planted in one posture amid boxes that leave it from 0.02 to 2 mm more than it must
//! have and bar most other postures of it: none is denied.
//!
//! `ELBOWROOM_PLANTED=1000` puts as many of each kind to the solver.

use elbowroom_tests::adversary::{planted_chains, run};
use elbowroom_tests::crowd::clears_by;
use elbowroom_tests::rules::broken_rule;
use elbowroom_tests::solids::is_clear;
use elbowroom_tests::swinging::{Kind, Spot, Swinging, swinging};

/// How many of each kind without being asked for more.
const PLANTED: u64 = 150;

/// A chain with two freedoms takes seconds where another takes milliseconds.
const PLANTED_WITH_TWO: u64 = 24;

fn check(kind: Kind, freedoms: usize) {
    let planted = if freedoms == 2 { PLANTED_WITH_TWO } else { PLANTED };
    let totals = run(0..planted_chains(planted), |seed| swinging(kind, seed).case(kind, seed), |_| {});
    let counts = format!("{} found, {} sampled, {} denied", totals.found, totals.sampled, totals.denied.len());
    let broken = totals.broken_promises();
    assert!(broken.is_empty(), "{} with {freedoms} freedoms: {counts}:\n{}", kind.name(), broken.join("\n"));
}

#[test]
fn three_offsets() {
    check(Kind::ThreeOffsets, 1);
}

#[test]
fn four_offsets() {
    check(Kind::FourOffsets, 2);
}

#[test]
fn two_offsets_and_two_bends() {
    check(Kind::TwoOffsetsTwoBends, 1);
}

#[test]
fn four_bends_between_coaxial_ports() {
    check(Kind::FourBendsCoaxial, 1);
}

#[test]
fn four_bends_between_parallel_ports() {
    check(Kind::FourBendsParallel, 0);
}

#[test]
fn four_bends_between_ports_that_are_coaxial_within_the_allowance() {
    check(Kind::FourBendsNearlyCoaxial, 0);
}

#[test]
fn five_bends_between_coaxial_ports() {
    check(Kind::FiveBendsCoaxial, 1);
}

fn sample(kind: Kind) -> Vec<Swinging> {
    (0..60).map(|seed| swinging(kind, seed)).collect()
}

/// The planted postures close, obey the rules and clear everything; and they are as varied as they should be.
#[test]
fn planted_postures_are_what_they_are_said_to_be() {
    for kind in Kind::ALL {
        let all = sample(kind);
        for (seed, planted) in all.iter().enumerate() {
            let Swinging { problem, steps, .. } = planted;
            let what = format!("{} {seed}: {}", kind.name(), problem.describe(steps));
            assert_eq!(broken_rule(problem, steps), None, "{what}");
            let miss = problem.miss(steps);
            let most = if kind == Kind::FourBendsNearlyCoaxial { 0.25 } else { 1e-8 };
            assert!(miss.mm <= most && miss.deg < 1e-6, "{what}: {miss:?}");
            assert!(clears_by(problem, steps, 0.02), "{what}");
            assert!(is_clear(problem, steps, &problem.place(steps), 0.01), "{what}");
        }
        let count = |what: &dyn Fn(&Swinging) -> bool| all.iter().filter(|planted| what(planted)).count();
        let freedoms = match kind {
            Kind::ThreeOffsets | Kind::TwoOffsetsTwoBends | Kind::FourBendsCoaxial | Kind::FiveBendsCoaxial => 1,
            Kind::FourOffsets => 2,
            _ => 0,
        };
        assert!(count(&|planted| planted.freedoms >= freedoms) > 50, "{kind:?}");
        if kind == Kind::Free {
            continue;
        }
        let tight = count(&|planted| !clears_by(&planted.problem, &planted.steps, 0.1));
        assert!(kind == Kind::FourBendsNearlyCoaxial || tight > 40, "{kind:?}: {tight} are tight");
        let barred = count(&|planted| planted.open * 10 <= planted.others);
        assert!(barred > 40, "{kind:?}: {barred} have most other postures barred");
        if matches!(kind, Kind::ThreeOffsets | Kind::TwoOffsetsTwoBends) {
            for spot in [Spot::Any, Spot::Singular, Spot::Barely, Spot::Fold] {
                assert!(count(&|planted| planted.spot == spot) >= 3, "{kind:?}: too few {spot:?}");
            }
        }
    }
}
