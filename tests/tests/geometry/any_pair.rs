//! Pairs of all shapes in all positions: general, on a grid where faces and edges fall together, and nearly so.

use super::{check_parts, grid_pose, pose, shape, solid, tilt};
use elbowroom::geometry::{Point, Pose, Shape, Solid, Vector, separation};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};
use rand::{Rng, SeedableRng, rngs::StdRng};

#[test]
fn every_part_of_a_separation_fits_the_others() {
    let mut random = StdRng::seed_from_u64(21);
    for case in 0..6000 {
        let (a, b) = pair(&mut random, case);
        check_parts(&a, &b, &separation(&a, &b));
    }
}

/// The signed distance of convex solids is the greatest slab width over all directions. A dense sample of directions,
/// each improved at random, must not find a greater one than the solver, and the solver's own must be real.
#[test]
fn no_direction_proves_more() {
    let mut random = StdRng::seed_from_u64(22);
    for case in 0..300 {
        let (a, b) = pair(&mut random, case);
        let found = separation(&a, &b);
        let claimed = slab(&a, &b, &found.normal);
        assert!((claimed - found.signed_mm).abs() < 1e-9, "{found:?} claims {claimed} for {a:?} and {b:?}");
        let sampled = greatest_slab(&mut random, &a, &b);
        assert!(sampled - found.signed_mm < 1e-4, "{found:?} against {sampled} for {a:?} and {b:?}");
    }
}

#[test]
fn the_order_of_a_pair_makes_no_difference() {
    let mut random = StdRng::seed_from_u64(23);
    for case in 0..20_000 {
        let (a, b) = pair(&mut random, case);
        let (there, back) = (separation(&a, &b), separation(&b, &a));
        // In deep overlap the two orders may settle on different ways out, one a hair longer.
        let allowed = if there.signed_mm > 0.0 { 3e-6 } else { 5e-3 };
        assert!((there.signed_mm - back.signed_mm).abs() < allowed, "{there:?} {back:?} for {a:?} and {b:?}");
        assert_eq!(there.state, back.state, "{there:?} {back:?} for {a:?} and {b:?}");
    }
}

/// Pairs that once went wrong.
#[test]
fn pairs_that_went_wrong() {
    let quarter = |axis| UnitQuaternion::from_axis_angle(&axis, std::f64::consts::FRAC_PI_2);
    let placed = |x: f64, y: f64, z: f64, turn: UnitQuaternion<f64>| Pose::from_parts(Translation3::new(x, y, z), turn);
    let upright = UnitQuaternion::identity();
    // Axes square to each other were taken for parallel. Here the wall of the second is 2 mm above the cap of the first.
    let a = solid(Shape::Cylinder { diameter: 24.0, length: 20.0 }, Pose::identity());
    let b = solid(Shape::Cylinder { diameter: 8.0, length: 40.0 }, placed(0.0, 0.0, 16.0, quarter(Vector::x_axis())));
    assert!((separation(&a, &b).signed_mm - 2.0).abs() < 1e-6);
    // The axis of a cylinder on the very edge of a box, at a negative coordinate: the normal pointed inwards.
    let a = solid(Shape::Box { size: [24.0, 24.0, 28.0] }, Pose::identity());
    let b = solid(Shape::Cylinder { diameter: 28.0, length: 28.0 }, placed(-12.0 - 1e-15, -12.0, 0.0, upright));
    let found = separation(&a, &b);
    assert!((found.signed_mm + 14.0).abs() < 1e-9);
    check_parts(&a, &b, &found);
    // A degenerate face gave a direction of length zero, which "proved" that the solids only touch.
    let corners = [-1.0, 1.0].map(|x| [-1.0, 1.0].map(|y| [-1.0, 1.0].map(|z| [6.0 * x, 10.0 * y, 10.0 * z])));
    let idle = [[0.0; 3], [0.0, 0.0, 10.0]];
    let points = corners.iter().flatten().flatten().copied().chain(idle).collect();
    let turn = |w, i, j, k| UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
    let a = solid(Shape::Box { size: [4.0, 28.0, 28.0] }, placed(0.0, 24.0, 24.0, turn(0.5, 0.5, -0.5, 0.5)));
    let b = solid(Shape::Hull { points }, placed(-12.0, 12.0, 20.0, turn(-0.5, 0.5, -0.5, -0.5)));
    let found = separation(&a, &b);
    assert!((found.signed_mm + 4.0).abs() < 1e-6, "{found:?}");
}

fn pair(random: &mut StdRng, case: usize) -> (Solid, Solid) {
    let gridded = !case.is_multiple_of(3);
    let mut one = || {
        let shape = shape(random, gridded);
        let place = match case % 3 {
            0 => pose(random, 25.0),
            1 => grid_pose(random),
            _ => {
                let angle = 10f64.powi(random.random_range(-12..-1));
                let nearly = grid_pose(random);
                Pose::from_parts(nearly.translation, nearly.rotation * tilt(random, angle))
            }
        };
        solid(shape, place)
    };
    (one(), one())
}

/// How far a shape reaches along a direction of length one in its own frame; written apart from the solver.
fn reach(shape: &Shape, along: &Vector) -> f64 {
    match shape {
        Shape::Box { size } => (0..3).map(|axis| size[axis] / 2.0 * along[axis].abs()).sum(),
        Shape::Cylinder { diameter, length } => diameter / 2.0 * along.x.hypot(along.y) + length / 2.0 * along.z.abs(),
        Shape::Sphere { diameter } => diameter / 2.0,
        Shape::Capsule { diameter, length } => diameter / 2.0 + length / 2.0 * along.z.abs(),
        Shape::Hull { points } => {
            points.iter().map(|point| Point::from(*point).coords.dot(along)).fold(f64::NEG_INFINITY, f64::max)
        }
    }
}

fn slab(a: &Solid, b: &Solid, normal: &Vector) -> f64 {
    let local = |solid: &Solid, along: Vector| solid.pose().rotation.inverse() * along;
    let between = b.pose().translation.vector - a.pose().translation.vector;
    between.dot(normal) - reach(&a.shape(), &local(a, *normal)) - reach(&b.shape(), &local(b, -normal))
}

fn greatest_slab(random: &mut StdRng, a: &Solid, b: &Solid) -> f64 {
    let mut any = || Vector::from_fn(|_, _| random.random_range(-1.0..1.0f64));
    let mut sample: Vec<(f64, Vector)> = (0..400)
        .filter_map(|_| any().try_normalize(1e-3))
        .chain([a, b].iter().flat_map(|solid| {
            let axes = [Vector::x(), Vector::y(), Vector::z()].map(|axis| solid.pose().rotation * axis);
            axes.into_iter().chain(axes.map(|axis| -axis))
        }))
        .map(|normal| (slab(a, b, &normal), normal))
        .collect();
    sample.sort_by(|one, other| other.0.total_cmp(&one.0));
    let mut greatest = f64::NEG_INFINITY;
    for (mut best, mut normal) in sample.into_iter().take(4) {
        let mut step = 0.1;
        while step > 1e-5 {
            let better = (0..20).find_map(|_| {
                let next = (normal + step * any()).normalize();
                let width = slab(a, b, &next);
                (width > best).then_some((width, next))
            });
            match better {
                Some(found) => (best, normal) = found,
                None => step *= 0.6,
            }
        }
        greatest = greatest.max(best);
    }
    greatest
}
