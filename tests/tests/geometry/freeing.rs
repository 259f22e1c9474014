//! Freeing moves against closed forms.

use super::{cylinder, pose, shape, solid};
use elbowroom::geometry::{FREEING_ACCURACY_MM, FreeingMove, Pose, Shape, Solid, freeing_moves, separation};
use nalgebra::Translation3;
use rand::{Rng, SeedableRng, rngs::StdRng};

fn check(fixed: &[Solid], moving: &[Solid], clearance: f64, expected: [f64; 6]) {
    let moves = freeing_moves(fixed, moving, clearance);
    for (found, expected) in moves.iter().zip(expected) {
        assert!(
            found.mm >= expected - 1e-9 && found.mm <= expected + 2.0 * FREEING_ACCURACY_MM,
            "expected {expected} along {:?}, found {}",
            found.direction,
            found.mm
        );
    }
}

#[test]
fn boxes_with_parallel_sides() {
    let mut random = StdRng::seed_from_u64(41);
    for _ in 0..200 {
        let mut three = |low: f64, high: f64| [0; 3].map(|_| random.random_range(low..high));
        let (size_a, size_b, [x, y, z]) = (three(2.0, 40.0), three(2.0, 40.0), three(-20.0, 20.0));
        let a = solid(Shape::Box { size: size_a }, Pose::identity());
        let b = solid(Shape::Box { size: size_b }, Pose::translation(x, y, z));
        let reach = [0, 1, 2].map(|axis| (size_a[axis] + size_b[axis]) / 2.0);
        let overlap = x.abs() < reach[0] && y.abs() < reach[1] && z.abs() < reach[2];
        let moves = [reach[0] - x, reach[0] + x, reach[1] - y, reach[1] + y, reach[2] - z, reach[2] + z];
        check(&[a], &[b], 0.0, if overlap { moves } else { [0.0; 6] });
    }
}

#[test]
fn balls_with_clearance() {
    let mut random = StdRng::seed_from_u64(42);
    for _ in 0..200 {
        let (radius_a, radius_b) = (random.random_range(1.0..20.0), random.random_range(1.0..20.0));
        let clearance = random.random_range(0.0..3.0);
        let apart = [0; 3].map(|_| random.random_range(-15.0..15.0f64));
        let a = solid(Shape::Sphere { diameter: 2.0 * radius_a }, Pose::identity());
        let b = solid(Shape::Sphere { diameter: 2.0 * radius_b }, Pose::translation(apart[0], apart[1], apart[2]));
        let square: f64 = apart.iter().map(|along| along * along).sum();
        let reach = radius_a + radius_b + clearance;
        // Along an axis the centres must come to stand `reach` apart: a right triangle over the other two axes.
        let moves = [0, 0, 1, 1, 2, 2].map(|axis: usize| (reach * reach - square + apart[axis] * apart[axis]).sqrt());
        let signs = [1.0, -1.0, 1.0, -1.0, 1.0, -1.0];
        let mut expected = [0.0; 6];
        if square < reach * reach {
            for index in 0..6 {
                expected[index] = moves[index] - signs[index] * apart[index / 2];
            }
        }
        check(&[a], &[b], clearance, expected);
    }
}

/// A rod in a slot between two blocks: along x it must pass a block and, with no room beyond it, the next one too.
#[test]
fn a_body_of_several_solids_passes_all_of_them() {
    let block = |x: f64| solid(Shape::Box { size: [10.0, 20.0, 20.0] }, Pose::translation(x, 0.0, 0.0));
    let rod = cylinder(3.0, 5.0, Pose::translation(1.0, 0.0, 0.0));
    // The blocks cover x from -5 to 5, 8 to 18 and 30 to 40; the rod is 6 mm across and fits only the second gap.
    let blocks = [block(0.0), block(13.0), block(35.0)];
    check(&blocks, std::slice::from_ref(&rod), 0.0, [20.0, 9.0, 13.0, 13.0, 15.0, 15.0]);
    // With 4 mm all round it does not fit there either.
    check(&blocks, &[rod], 4.0, [46.0, 13.0, 17.0, 17.0, 19.0, 19.0]);
}

/// Whatever the shapes, the end of the move is free, and a hair short of it is not.
#[test]
fn moves_end_free_and_no_farther() {
    let mut random = StdRng::seed_from_u64(43);
    for _ in 0..60 {
        let mut body = |count: usize| -> Vec<Solid> {
            (0..count).map(|_| solid(shape(&mut random, false), pose(&mut random, 15.0))).collect()
        };
        let (fixed, moving) = (body(3), body(2));
        for FreeingMove { direction, mm } in freeing_moves(&fixed, &moving, 0.5) {
            let least_at = |mm: f64| {
                let shift: Pose = Translation3::from(direction.into_inner() * mm).into();
                let pairs = fixed.iter().flat_map(|a| moving.iter().map(move |b| (a, b)));
                pairs.map(|(a, b)| separation(a, &b.moved(&shift)).signed_mm).fold(f64::INFINITY, f64::min)
            };
            assert!(least_at(mm) >= 0.5 - 1e-6, "{} at {mm} along {direction:?}", least_at(mm));
            assert!(mm == 0.0 || least_at(mm - 1e-3) < 0.5, "{mm} along {direction:?} is too far");
        }
    }
}

#[test]
fn nothing_to_free_and_nowhere_to_go() {
    let a = solid(Shape::Sphere { diameter: 4.0 }, Pose::identity());
    check(&[], std::slice::from_ref(&a), 1.0, [0.0; 6]);
    check(std::slice::from_ref(&a), &[], 1.0, [0.0; 6]);
    let lost = a.at(Pose::translation(f64::NAN, 0.0, 0.0));
    for (moving, clearance) in [(&lost, 0.0), (&a, f64::NAN), (&a, f64::INFINITY)] {
        let moves = freeing_moves(std::slice::from_ref(&a), std::slice::from_ref(moving), clearance);
        assert!(moves.iter().all(|found| found.mm == f64::INFINITY), "{moves:?}");
    }
}
