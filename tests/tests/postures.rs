//! The same parts in two postures: where the axes of two ports lie in one plane, every chain that leaves the plane closes on
//! either side of it.

use elbowroom::bridge::{Chain, entries};
use elbowroom::catalog::FittingDef;
use elbowroom::geometry::Shape;
use elbowroom_tests::ask::{ALL, ask, pose};
use elbowroom_tests::chain::{Obstacle, Problem, Step};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, straight};
use elbowroom_tests::plant::gap_for;
use elbowroom_tests::solids::is_clear;
use elbowroom_tests::verify::{Key, faults, key_of, key_of_steps, retrace};
use nalgebra::Vector3;
use rand::{Rng, SeedableRng, rngs::StdRng};

/// A chain of four bends that reads the same from either end, its middle bent like a U and its outer bends turned out of the
/// plane of that by equal and opposite angles. It is its own mirror image from end to end, so that its ports are each
/// other's mirror image and their axes lie in one plane.
fn like_from_either_end(rng: &mut StdRng) -> (Problem, Vec<Step>) {
    loop {
        let mut leg = || rng.random_range(14.0..22.0);
        let (a, b, c, d) = (leg(), leg(), leg(), leg());
        let outer = rng.random_range(40.0..70.0);
        let fittings: Vec<FittingDef> = vec![
            bend("a", ['M', 'F'], outer, [a, b]),
            bend("b", ['M', 'F'], 90.0, [c, d]),
            bend("c", ['M', 'F'], 90.0, [d, c]),
            bend("d", ['M', 'F'], outer, [b, a]),
            straight("s", ['m', 'f'], 7.0),
            straight("t", ['m', 'f'], 9.0),
        ];
        let out = rng.random_range(0.8..2.2);
        let turns = [rng.random_range(0.0..6.2), out, 0.0, -out];
        let steps: Vec<Step> =
            turns.iter().enumerate().map(|(part, turn)| Step { part, entry: 0, turn: *turn, stretch: 0.0 }).collect();
        let mut problem = gap_for(fittings, &steps, 4);
        problem.clearance_mm = 0.5;
        if is_clear(&problem, &steps, &problem.place(&steps), 1.0) {
            return (problem, steps);
        }
    }
}

/// Where each part of a chain ends.
fn joints(problem: &Problem, steps: &[Step]) -> Vec<Vector3<f64>> {
    problem.place(steps).iter().map(|placed| placed.exit.at).collect()
}

/// The same on the other side of the plane of the ports' axes.
fn mirrored(problem: &Problem, joints: &[Vector3<f64>]) -> Vec<Vector3<f64>> {
    let (from, to) = (problem.from.frame, problem.to.frame);
    let square = from.z().cross(&(to.at - from.at)).normalize();
    joints.iter().map(|joint| joint - square * (2.0 * square.dot(&(joint - from.at)))).collect()
}

/// The listed chains of the planted parts that stand where `joints` are.
fn standing_at<'c>(problem: &Problem, chains: &'c [Chain], key: &Key, joints: &[Vector3<f64>]) -> Vec<&'c Chain> {
    let stands = |chain: &&Chain| {
        let (steps, _) = retrace(problem, chain).expect("a chain of the catalog");
        let ends = self::joints(problem, &steps);
        key_of_steps(problem, &steps) == *key && ends.iter().zip(joints).all(|(end, joint)| (end - joint).norm() < 0.5)
    };
    chains.iter().filter(stands).collect()
}

#[test]
fn a_chain_is_listed_on_either_side_of_the_plane_of_its_ports() {
    let mut rng = StdRng::seed_from_u64(31);
    let mut seen = [0; 2];
    for case in 0..40 {
        let (mut problem, steps) = like_from_either_end(&mut rng);
        let here = joints(&problem, &steps);
        let there = mirrored(&problem, &here);
        let apart = here.iter().zip(&there).map(|(one, other)| (one - other).norm()).fold(0.0, f64::max);
        // In every other case something stands where the mirror image would.
        let is_blocked = case % 2 == 1;
        if is_blocked {
            problem.obstacles.push(Obstacle {
                name: "post".to_owned(),
                shape: Shape::Sphere { diameter: 2.0 },
                frame: Frame::looking(there[1], Vector3::z(), 0.0),
            });
        }
        if apart < 15.0 || !is_clear(&problem, &steps, &problem.place(&steps), 1.0) {
            continue;
        }
        let answer = ask(&problem, ALL);
        assert_eq!(faults(&problem, &answer), Vec::<String>::new(), "case {case}");
        let key = key_of_steps(&problem, &steps);
        let entry = entries(&pose(&problem).expect("sound").catalog, &answer.chains);
        let same: Vec<usize> =
            (0..entry.len()).filter(|index| key_of(&problem, &answer.chains[*index]) == key).collect();
        assert!(same.windows(2).all(|pair| entry[pair[0]] == entry[pair[1]]), "case {case}: {entry:?}");
        assert_eq!(standing_at(&problem, &answer.chains, &key, &here).len(), 1, "case {case}, as planted");
        assert_eq!(
            standing_at(&problem, &answer.chains, &key, &there).len(),
            usize::from(!is_blocked),
            "case {case}, mirrored, blocked: {is_blocked}"
        );
        seen[usize::from(is_blocked)] += 1;
    }
    assert!(seen.iter().all(|count| *count > 5), "{seen:?}");
}
