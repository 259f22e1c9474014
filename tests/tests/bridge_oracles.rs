//! The oracles against each other: what is planted obeys the rules, and trying everything finds it.

use elbowroom_tests::ask::pose;
use elbowroom_tests::brute;
use elbowroom_tests::chain::is_bent;
use elbowroom_tests::frame::Frame;
use elbowroom_tests::plant::plant;
use elbowroom_tests::rules::broken_rule;
use elbowroom_tests::solids::is_clear;

#[test]
fn planted_chains_solve_their_problem() {
    for seed in 0..200_u32 {
        let length = 1 + seed as usize % 7;
        let planted = plant(u64::from(seed), length, 4);
        let (problem, steps) = (&planted.problem, &planted.steps);
        assert_eq!(steps.len(), length, "seed {seed}");
        assert_eq!(broken_rule(problem, steps), None, "seed {seed}: {}", problem.describe(steps));
        let miss = problem.miss(steps);
        assert!(problem.closes(&miss) && problem.allowances_used(&miss) < 1.0, "seed {seed}: {miss:?}");
        assert!(is_clear(problem, steps, &problem.place(steps), 0.0), "seed {seed}");
    }
}

#[test]
fn planted_chains_are_as_varied_as_they_should_be() {
    let all: Vec<_> = (0..300_u32).map(|seed| plant(u64::from(seed), 1 + seed as usize % 7, 4)).collect();
    let count = |what: &dyn Fn(&elbowroom_tests::plant::Planted) -> bool| all.iter().filter(|p| what(p)).count();
    let bends =
        |n: usize| count(&|p| p.steps.iter().filter(|step| is_bent(&p.problem.fittings[step.part])).count() == n);
    for n in 0..=7 {
        assert!(bends(n) >= 5, "only {} chains with {n} bends", bends(n));
    }
    assert!(count(&|p| p.steps.iter().any(|step| step.entry == 1)) > 100);
    assert!(count(&|p| p.steps.iter().any(|step| step.stretch > 0.0)) > 10);
    assert!(count(&|p| p.problem.miss(&p.steps).mm > 0.01) > 40);
    let in_one_plane = |p: &elbowroom_tests::plant::Planted| p.steps.iter().all(|step| step.turn.sin().abs() < 1e-9);
    assert!(count(&in_one_plane) > 40);
}

#[test]
fn trying_everything_finds_what_was_planted() {
    let (mut tried, mut lost) = (0, Vec::new());
    for seed in 0..120_u32 {
        let planted = plant(u64::from(seed), 1 + seed as usize % 4, 4);
        let (problem, steps) = (&planted.problem, &planted.steps);
        tried += 1;
        if brute::close(problem, steps).is_none() {
            lost.push(format!("seed {seed}: {}", problem.describe(steps)));
        }
    }
    assert!(lost.is_empty(), "{} of {tried} lost:\n{}", lost.len(), lost.join("\n"));
}

/// The layout is given the frames that the oracles mean.
#[test]
fn the_solver_is_asked_what_the_oracles_mean() {
    for seed in 0..200_u32 {
        let problem = plant(u64::from(seed), 1 + seed as usize % 7, 4).problem;
        let asked = pose(&problem).unwrap_or_else(|refusal| panic!("seed {seed}: {refusal}"));
        for (name, port) in [("a.p", &problem.from), ("b.p", &problem.to)] {
            let resolved = asked.layout.port(name).expect("both are there");
            let frame = Frame::of(&resolved.pose);
            assert!((frame.at - port.frame.at).norm() < 1e-9, "seed {seed}, {name}: {frame:?}");
            assert!((frame.axes - port.frame.axes).norm() < 1e-9, "seed {seed}, {name}: {frame:?}");
        }
    }
}
