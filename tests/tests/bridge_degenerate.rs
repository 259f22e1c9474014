//! Ports that stand to each other in special ways, with answers worked out by hand.
//!
//! Elbows of 90° and half bends of 45° have legs of 12 mm, so two of them in a row are 24 mm between corners.
//! The first port looks along +z from the origin; its turn of zero lies along +x.

use elbowroom::bridge::{Answer, Completeness};
use elbowroom::catalog::FittingDef;
use elbowroom::geometry::Shape;
use elbowroom_tests::ask::{ALL, ask};
use elbowroom_tests::brute::enumerate;
use elbowroom_tests::chain::{Obstacle, Problem};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{KNUCKLE_MM, SLEEVE_MM, bend, port, straight};
use elbowroom_tests::verify::{faults, key_of, key_of_steps, spell};
use nalgebra::Vector3;
use std::collections::BTreeSet;

fn straights() -> Vec<FittingDef> {
    [("s10", 10.0), ("s15", 15.0), ("s20", 20.0)].map(|(id, length)| straight(id, ['m', 'f'], length)).to_vec()
}

fn elbow() -> FittingDef {
    bend("elbow", ['M', 'F'], 90.0, [12.0, 12.0])
}

fn half() -> FittingDef {
    bend("half", ['M', 'F'], 45.0, [12.0, 12.0])
}

fn gap(fittings: Vec<FittingDef>, to: [f64; 3], facing: [f64; 3], max_parts: usize) -> Problem {
    Problem {
        fittings,
        from: port('f', Frame::looking(Vector3::zeros(), Vector3::z(), 0.0)),
        to: port('m', Frame::looking(Vector3::from(to), Vector3::from(facing), 0.0)),
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
        max_parts,
    }
}

/// Asserts that exactly these chains bridge the gap; trying everything must agree with the hand where it can.
fn check(problem: &Problem, expected: &[&str]) -> Answer {
    let expected: BTreeSet<String> = expected.iter().map(|&chain| chain.to_owned()).collect();
    let tried: BTreeSet<String> =
        enumerate(problem).iter().map(|found| spell(&key_of_steps(problem, &found.steps))).collect();
    assert_eq!(tried, expected, "trying everything, by hand on the right");
    let answer = ask(problem, ALL);
    let found: BTreeSet<String> = answer.chains.iter().map(|chain| spell(&key_of(problem, chain))).collect();
    assert_eq!(found, expected, "solved, by hand on the right");
    assert_eq!(faults(problem, &answer), Vec::<String>::new());
    assert_eq!(answer.completeness, Completeness::Complete { parts: problem.max_parts });
    answer
}

/// The turns of the only chain's bends.
fn turns(answer: &Answer) -> Vec<f64> {
    assert_eq!(answer.chains.len(), 1, "{answer:#?}");
    answer.chains[0].parts.iter().filter_map(|part| part.turn_deg).collect()
}

fn assert_turns(answer: &Answer, expected: &[f64]) {
    let found = turns(answer);
    let off = |found: f64, expected: f64| ((found - expected + 180.0).rem_euclid(360.0) - 180.0).abs();
    let close = found.len() == expected.len() && found.iter().zip(expected).all(|(&f, &e)| off(f, e) < 1e-3);
    assert!(close, "turns {found:?}, by hand {expected:?}");
}

#[test]
fn coaxial_ports_are_joined_by_every_sum_of_straights() {
    let parts = || [straights(), vec![elbow()]].concat();
    check(&gap(parts(), [0.0, 0.0, 30.0], [0.0, 0.0, -1.0], 3), &["s10 s20", "s20 s10", "s15 s15", "s10 s10 s10"]);
    check(&gap(parts(), [0.0, 0.0, 32.0], [0.0, 0.0, -1.0], 3), &[]);
}

/// 0.2 mm too far apart closes and says so; 0.31 mm does not. The same for 0.4° and 0.6° out of line.
#[test]
fn the_allowance_is_used_and_not_overdrawn() {
    let answer = check(&gap(straights(), [0.0, 0.0, 15.2], [0.0, 0.0, -1.0], 1), &["s15"]);
    let miss = Vector3::from(answer.chains[0].residual_vector_mm);
    assert!((miss - Vector3::new(0.0, 0.0, -0.2)).norm() < 1e-9, "the port would have to come nearer: {miss}");
    let answer = check(&gap(straights(), [0.0, 0.0, 14.8], [0.0, 0.0, -1.0], 1), &["s15"]);
    let miss = Vector3::from(answer.chains[0].residual_vector_mm);
    assert!((miss - Vector3::new(0.0, 0.0, 0.2)).norm() < 1e-9, "the port would have to give way: {miss}");
    check(&gap(straights(), [0.0, 0.0, 14.69], [0.0, 0.0, -1.0], 1), &[]);
    check(&gap(straights(), [0.0, 0.0, 15.31], [0.0, 0.0, -1.0], 1), &[]);
    check(&gap(straights(), [0.0, 0.29, 15.0], [0.0, 0.0, -1.0], 1), &["s15"]);
    check(&gap(straights(), [0.0, 0.31, 15.0], [0.0, 0.0, -1.0], 1), &[]);
    let tilted = |deg: f64| [deg.to_radians().sin(), 0.0, -deg.to_radians().cos()];
    let answer = check(&gap(straights(), [0.0, 0.0, 15.0], tilted(0.4), 1), &["s15"]);
    assert!((answer.chains[0].residual_deg - 0.4).abs() < 1e-6);
    check(&gap(straights(), [0.0, 0.0, 15.0], tilted(0.6), 1), &[]);
}

/// Back to back on one axis: three right angles cannot come back to the axis they left.
#[test]
fn ports_back_to_back_are_out_of_reach_of_three_elbows() {
    check(&gap(vec![elbow(), straights()[2].clone()], [0.0, 0.0, -40.0], [0.0, 0.0, -1.0], 3), &[]);
}

#[test]
fn parallel_ports_take_a_u_of_two_elbows() {
    let parts = [straights(), vec![elbow()]].concat();
    let problem = gap(parts, [44.0, 0.0, 0.0], [0.0, 0.0, 1.0], 3);
    let answer = check(&problem, &["elbow s20 elbow"]);
    assert_turns(&answer, &[0.0, 0.0]);
    let problem = Problem { max_parts: 4, ..problem };
    check(&problem, &["elbow s20 elbow", "elbow s10 s10 elbow"]);
}

#[test]
fn opposed_ports_out_of_line_take_an_s_of_two_elbows() {
    let parts = [straights(), vec![elbow()]].concat();
    let answer = check(&gap(parts, [0.0, 24.0, 24.0], [0.0, 0.0, -1.0], 3), &["elbow elbow"]);
    assert_turns(&answer, &[90.0, 180.0]);
}

#[test]
fn ports_at_a_right_angle_take_one_elbow() {
    let parts = || [straights(), vec![elbow()]].concat();
    let answer = check(&gap(parts(), [12.0, 0.0, 12.0], [-1.0, 0.0, 0.0], 3), &["elbow"]);
    assert_turns(&answer, &[0.0]);
    let answer = check(&gap(parts(), [0.0, -22.0, 12.0], [0.0, 1.0, 0.0], 2), &["elbow s10"]);
    assert_turns(&answer, &[270.0]);
    check(&gap(parts(), [0.0, -12.0, 27.0], [0.0, 1.0, 0.0], 2), &["s15 elbow"]);
}

/// Two half bends turned the same way make a right angle: corners 24 mm apart on the diagonal.
#[test]
fn equal_bends_in_one_plane_add_up() {
    let diagonal = 24.0 * 0.5_f64.sqrt();
    let answer =
        check(&gap(vec![half()], [diagonal + 12.0, 0.0, diagonal + 12.0], [-1.0, 0.0, 0.0], 3), &["half half"]);
    assert_turns(&answer, &[0.0, 0.0]);
    // Turned against each other they go on beside the axis.
    let answer = check(&gap(vec![half()], [diagonal, 0.0, diagonal + 24.0], [0.0, 0.0, -1.0], 3), &["half half"]);
    assert_turns(&answer, &[0.0, 180.0]);
}

/// Three elbows around the edges of a 24 mm cube: by way of x or by way of y, mirror images of each other.
#[test]
fn mirrored_ways_around_a_cube_are_one_chain() {
    let answer = check(&gap(vec![elbow()], [24.0, 24.0, 24.0], [0.0, 0.0, -1.0], 3), &["elbow elbow elbow"]);
    let first = answer.chains[0].parts[0].turn_deg.expect("an elbow has a turn");
    assert!((first - 0.0).abs() < 1e-3 || (first - 90.0).abs() < 1e-3 || (first - 360.0).abs() < 1e-3, "{first}");
}

/// Facing ports on one axis, 48 mm apart, joined by a detour of four elbows that may stand anywhere around the
/// axis. Posts stand around it at the detour's distance; seven gaps between them are 50° wide or less, one is 60°.
#[test]
fn a_circle_of_solutions_is_turned_to_where_there_is_most_room() {
    let mut problem = gap(vec![elbow()], [0.0, 0.0, 48.0], [0.0, 0.0, -1.0], 4);
    let angles: Vec<f64> = (0..7).map(|index| 20.0 + 50.0 * f64::from(index)).collect();
    for (index, degrees) in angles.iter().enumerate() {
        let (sin, cos) = degrees.to_radians().sin_cos();
        problem.obstacles.push(Obstacle {
            name: format!("post-{index}"),
            shape: Shape::Cylinder { diameter: 6.0, length: 120.0 },
            frame: Frame::looking(Vector3::new(24.0 * cos, 24.0 * sin, 24.0), Vector3::z(), 0.0),
        });
    }
    let answer = check(&problem, &["elbow elbow elbow elbow"]);
    // The widest gap is between 320° and 20°: its middle is 350°. There the legs square to the axis pass the
    // posts, in plan, at 24 mm times the sine of half the gap; the corner's knuckle passes them further off.
    let expected = 24.0 * 30.0_f64.to_radians().sin() - 3.0 - SLEEVE_MM / 2.0;
    let to_seat = 12.0 - KNUCKLE_MM / 2.0;
    assert!(expected < to_seat, "the posts are what is nearest");
    assert_turns_near(turns(&answer)[0], 350.0, 0.1);
    let clearance = answer.chains[0].clearance.as_ref().map_or(f64::INFINITY, |clearance| clearance.mm);
    assert!((clearance - expected).abs() < 0.02, "clearance {clearance}, by hand {expected}");
}

fn assert_turns_near(found: f64, expected: f64, within: f64) {
    let off = (found - expected + 180.0).rem_euclid(360.0) - 180.0;
    assert!(off.abs() < within, "turn {found}, by hand {expected}");
}

/// The same detour where posts leave no gap: none exists, and the answer says that everything was considered.
#[test]
fn a_circle_of_solutions_that_is_blocked_all_around_is_none() {
    let mut problem = gap(vec![elbow()], [0.0, 0.0, 48.0], [0.0, 0.0, -1.0], 4);
    for index in 0..24 {
        let (sin, cos) = (15.0 * f64::from(index)).to_radians().sin_cos();
        problem.obstacles.push(Obstacle {
            name: format!("post-{index}"),
            shape: Shape::Cylinder { diameter: 3.0, length: 120.0 },
            frame: Frame::looking(Vector3::new(24.0 * cos, 24.0 * sin, 24.0), Vector3::z(), 0.0),
        });
    }
    let answer = check(&problem, &[]);
    assert!(answer.counts.closed > 0 && answer.counts.collided > 0, "{:?}", answer.counts);
}

/// An elbow with one swivel can be aimed on one side only: the other thread stops where it likes.
#[test]
fn a_bend_needs_a_swivel_in_both_of_its_runs() {
    let to = [12.0, 0.0, 12.0];
    let stiff = |ends| vec![bend("elbow", ends, 90.0, [12.0, 12.0])];
    check(&gap(stiff(['m', 'f']), to, [-1.0, 0.0, 0.0], 1), &[]);
    check(&gap(stiff(['M', 'f']), to, [-1.0, 0.0, 0.0], 1), &[]);
    check(&gap(stiff(['m', 'F']), to, [-1.0, 0.0, 0.0], 1), &[]);
    check(&gap(stiff(['M', 'F']), to, [-1.0, 0.0, 0.0], 1), &["elbow"]);
    // A swivelling straight lends its swivel to the run it is in.
    let lent = [stiff(['M', 'f']), vec![straight("spin", ['M', 'f'], 10.0)]].concat();
    check(&gap(lent, [22.0, 0.0, 12.0], [-1.0, 0.0, 0.0], 2), &["elbow spin"]);
}

#[test]
fn threads_that_do_not_fit_make_no_chain() {
    let facing = [0.0, 0.0, -1.0];
    let mut same_genders = gap(straights(), [0.0, 0.0, 15.0], facing, 2);
    same_genders.to = port('f', same_genders.to.frame);
    check(&same_genders, &[]);

    let mut shallow = gap(straights(), [0.0, 0.0, 15.0], facing, 1);
    shallow.from.thread_length_mm = 4.99;
    check(&shallow, &[]);
    shallow.from.thread_length_mm = 5.0;
    check(&shallow, &["s15"]);

    let mut narrow = gap(straights(), [0.0, 0.0, 15.0], facing, 1);
    narrow.to.seat_mm = 19.9;
    let answer = check(&narrow, &[]);
    assert!(!answer.obstacles.is_empty(), "a seat too narrow for every collar is said at once");
}
