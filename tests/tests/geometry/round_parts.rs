//! Capsules and cylinders against closed forms, crossed, parallel and nearly parallel.

use super::{check_parts, cylinder, pose, tilt};
use elbowroom::geometry::{Point, Pose, Shape, Solid, Vector, separation};
use nalgebra::{Translation3, UnitQuaternion};
use rand::{Rng, SeedableRng, rngs::StdRng};

/// Capsules against the distance of their segments, found another way.
#[test]
fn capsules_agree_with_their_segments() {
    let mut random = StdRng::seed_from_u64(11);
    for case in 0..3000 {
        let (radius_a, radius_b) = (random.random_range(0.5..9.0), random.random_range(0.5..9.0));
        let (length_a, length_b) = (random.random_range(1.0..60.0), random.random_range(1.0..60.0));
        let pose_a = pose(&mut random, 30.0);
        let pose_b = match case % 3 {
            0 => pose(&mut random, 30.0),
            // Parallel and nearly so.
            1 => Pose::from_parts(pose(&mut random, 30.0).translation, pose_a.rotation),
            _ => pose_a * Pose::from_parts(pose(&mut random, 30.0).translation, tilt(&mut random, 1e-7)),
        };
        let a = Solid::new(&Shape::Capsule { diameter: 2.0 * radius_a, length: length_a }, pose_a).expect("legal");
        let b = Solid::new(&Shape::Capsule { diameter: 2.0 * radius_b, length: length_b }, pose_b).expect("legal");
        let expected = segments_by_search(&pose_a, length_a, &pose_b, length_b) - radius_a - radius_b;
        let found = separation(&a, &b).signed_mm;
        assert!((found - expected).abs() < 1e-6, "case {case}: expected {expected}, found {found}");
    }
}

/// Cylinders whose axes cross, nearest on their walls: the distance of the axes less both radii, which holds in
/// shallow overlap too.
#[test]
fn crossed_cylinders_nearest_on_their_walls() {
    let mut random = StdRng::seed_from_u64(12);
    for case in 0..20_000 {
        let (radius_a, radius_b) = (random.random_range(0.5..16.0), random.random_range(0.5..16.0));
        let (half_a, half_b) = (random.random_range(10.0..40.0), random.random_range(10.0..40.0));
        let angle: f64 = random.random_range(0.3..2.8);
        // The first lies along z, the second along (sin, 0, cos), passing it along y.
        let gap = match case % 4 {
            0 => random.random_range(0.0..0.01),
            1 => random.random_range(0.05..3.0),
            2 => random.random_range(-0.5..0.0),
            _ => random.random_range(3.0..100.0),
        };
        let (slide_a, slide_b) = (0.9 * half_a, 0.9 * half_b);
        let local_a = Pose::translation(0.0, 0.0, random.random_range(-slide_a..slide_a));
        let local_b = Pose::translation(0.0, radius_a + radius_b + gap, 0.0)
            * Pose::from_parts(Translation3::identity(), UnitQuaternion::from_axis_angle(&Vector::y_axis(), angle))
            * Pose::translation(0.0, 0.0, random.random_range(-slide_b..slide_b));
        let world = pose(&mut random, 200.0);
        let a = cylinder(radius_a, half_a, world * local_a);
        let b = cylinder(radius_b, half_b, world * local_b);
        let found = separation(&a, &b);
        let error = (found.signed_mm - gap).abs();
        assert!(error < 1e-5, "case {case}: expected {gap}, found {found:?}");
    }
}

/// Cylinders with parallel axes: intervals along the axis, discs across it.
#[test]
fn parallel_cylinders() {
    let mut random = StdRng::seed_from_u64(13);
    for case in 0..5000 {
        let (radius_a, radius_b) = (random.random_range(0.5..16.0), random.random_range(0.5..16.0));
        let (half_a, half_b) = (random.random_range(1.0..40.0), random.random_range(1.0..40.0));
        let along = match case % 3 {
            0 => half_a + half_b,
            _ => random.random_range(-90.0..90.0),
        };
        let across: f64 = match case % 5 {
            0 => 0.0,
            1 => radius_a + radius_b,
            _ => random.random_range(0.0..50.0),
        };
        let turn: f64 = random.random_range(0.0..6.3);
        let world = pose(&mut random, 200.0);
        // A tilt of 1e-8 is beyond what counts as parallel, so the search has to meet the closed form as well.
        let tilted = if case % 2 == 0 { UnitQuaternion::identity() } else { tilt(&mut random, 1e-8) };
        let a = cylinder(radius_a, half_a, world);
        let place = Translation3::new(across * turn.cos(), across * turn.sin(), along);
        let b = cylinder(radius_b, half_b, world * Pose::from_parts(place, tilted));
        let (cap, wall) = (along.abs() - half_a - half_b, across - radius_a - radius_b);
        let expected = if cap > 0.0 && wall > 0.0 { cap.hypot(wall) } else { cap.max(wall) };
        let found = separation(&a, &b);
        assert!((found.signed_mm - expected).abs() < 2e-6, "case {case}: expected {expected}, found {found:?}");
        check_parts(&a, &b, &found);
    }
}

/// The distance of two segments along the `z` axes of two poses: the distance to the second is a convex function along
/// the first, so golden-section search finds its least value. Slow, and shares nothing with the solver.
fn segments_by_search(pose_a: &Pose, length_a: f64, pose_b: &Pose, length_b: f64) -> f64 {
    let distance = |along: f64| {
        let point = pose_b.inverse_transform_point(&(pose_a * Point::new(0.0, 0.0, along)));
        (point - Point::new(0.0, 0.0, point.z.clamp(-length_b / 2.0, length_b / 2.0))).norm()
    };
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (-length_a / 2.0, length_a / 2.0);
    for _ in 0..80 {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if distance(left) < distance(right) { high = right } else { low = left }
    }
    distance(low.midpoint(high))
}
