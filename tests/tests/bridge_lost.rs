//! Chains that were lost once, each as small as it could be made.

use elbowroom::bridge::Answer;
use elbowroom::catalog::{BendDef, Family, FittingDef};
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::chain::{Problem, Step};
use elbowroom_tests::parts::{bend, end, link, part, straight};
use elbowroom_tests::plant::gap_for;
use elbowroom_tests::verify::{faults, key_of, key_of_steps, spell};
use nalgebra::Vector3;

/// A part of two bends, the second turned by `roll_deg` from the first.
fn double_bend(id: &str, ends: [char; 2], angle_deg: f64, roll_deg: f64, legs: [f64; 3]) -> FittingDef {
    let bends = [BendDef { angle_deg, roll_deg: 0.0 }, BendDef { angle_deg, roll_deg }];
    part(id, Family::Offset, ends.map(end), &legs, &bends)
}

fn step(part: usize, entry: usize, turn_deg: f64) -> Step {
    Step { part, entry, turn: f64::to_radians(turn_deg), stretch: 0.0 }
}

/// Asserts that the chain is among those found.
fn check(problem: &Problem, steps: &[Step]) -> Answer {
    let answer = ask(problem, ALL);
    assert_eq!(faults(problem, &answer), Vec::<String>::new());
    let keys: Vec<String> = answer.chains.iter().map(|chain| spell(&key_of(problem, chain))).collect();
    let wanted = spell(&key_of_steps(problem, steps));
    assert!(keys.contains(&wanted), "{wanted} is not among {keys:?}, {:?}, {:?}", answer.completeness, answer.counts);
    answer
}

/// Two double bends in one plane, back and forth: the closure is a double root.
#[test]
fn double_bends_in_one_plane() {
    let parts = vec![double_bend("hook", ['M', 'F'], 45.0, 0.0, [15.0, 10.0, 10.0])];
    for second in [0.0, 180.0] {
        let steps = [step(0, 0, 0.0), step(0, 0, second)];
        check(&gap_for(parts.clone(), &steps, 2), &steps);
    }
    let steps = [step(1, 0, 0.0), step(0, 0, 180.0), step(0, 0, 0.0)];
    check(&gap_for([parts, vec![straight("s20", ['m', 'f'], 20.0)]].concat(), &steps, 3), &steps);
}

/// A bend and a double bend in one plane.
#[test]
fn a_bend_and_a_double_bend_in_one_plane() {
    let parts = vec![
        bend("bend", ['M', 'F'], 30.0, [20.0, 25.0]),
        double_bend("hook", ['M', 'F'], 30.0, 0.0, [25.0, 25.0, 20.0]),
    ];
    for second in [0.0, 180.0] {
        let steps = [step(0, 0, 0.0), step(1, 0, second)];
        check(&gap_for(parts.clone(), &steps, 2), &steps);
    }
}

/// The same with an adjustable part at its end stop.
#[test]
fn a_link_at_its_stop_before_bends_in_one_plane() {
    let parts = vec![
        link("slide", ['m', 'f'], 15.0, 4.0),
        bend("bend", ['M', 'F'], 30.0, [20.0, 25.0]),
        double_bend("hook", ['M', 'F'], 30.0, 0.0, [25.0, 25.0, 20.0]),
    ];
    for stretch in [0.0, 4.0] {
        let steps = [Step { stretch, ..step(0, 0, 0.0) }, step(1, 0, 0.0), step(2, 0, 0.0)];
        check(&gap_for(parts.clone(), &steps, 3), &steps);
    }
}

/// Found only when the port stands off the exact place by most of the allowance.
#[test]
fn a_double_bend_out_of_plane_that_just_closes() {
    let parts = vec![
        double_bend("crank", ['M', 'F'], 90.0, 37.0, [15.0, 15.0, 20.0]),
        bend("elbow", ['M', 'F'], 90.0, [24.0, 25.0]),
    ];
    let steps = [step(1, 0, 180.0), step(0, 0, 90.0)];
    let exact = gap_for(parts, &steps, 2);
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        for by in [-0.28, -0.14, 0.14, 0.28] {
            let mut problem = exact.clone();
            problem.to.frame.at += axis * by;
            check(&problem, &steps);
        }
    }
}

/// An end that stands up to the allowance too deep in the port, or aslant in it, is seated, not in collision.
#[test]
fn ends_that_meet_the_port_within_the_allowance_are_seated() {
    let parts = vec![bend("elbow", ['M', 'F'], 90.0, [12.0, 12.0])];
    let steps = [step(0, 0, 0.0)];
    let exact = gap_for(parts, &steps, 1);
    for by in [-0.29, -0.1, -0.02, 0.02, 0.1, 0.29] {
        let mut problem = exact.clone();
        problem.to.frame = exact.to.frame.advance(by);
        check(&problem, &steps);
        let mut problem = exact.clone();
        problem.to.frame = exact.to.frame.bend(f64::to_radians(by / 0.29 * 0.49));
        check(&problem, &steps);
    }
}

/// A first bend that is rolled has nothing to be rolled against: the closure once took it for one that is not, so it
/// is refused at the door.
#[test]
fn first_bends_that_are_rolled() {
    let mut rolled = bend("rolled", ['M', 'F'], 90.0, [12.0, 15.0]);
    rolled.bends[0].roll_deg = 90.0;
    let refusal =
        elbowroom::catalog::Catalog::from_parts(vec![rolled], Vec::new()).map(|_| ()).map_err(|e| e.to_string());
    assert!(refusal.as_ref().is_err_and(|text| text.contains("expected no roll of the first bend")), "{refusal:?}");
}
