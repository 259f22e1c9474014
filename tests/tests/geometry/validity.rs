//! What makes a solid, what does not, and what lies within one.

use super::{cylinder, pose, shape, solid};
use elbowroom::geometry::{BadShape, Point, Pose, Shape, Solid, State, Vector, separation};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};
use rand::{SeedableRng, rngs::StdRng};

#[test]
fn sizes_out_of_range_are_refused() {
    for bad in [0.0, -1.0, 1e-9, 10_001.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let shapes = [
            Shape::Box { size: [bad, 1.0, 1.0] },
            Shape::Box { size: [1.0, bad, 1.0] },
            Shape::Box { size: [1.0, 1.0, bad] },
            Shape::Cylinder { diameter: bad, length: 1.0 },
            Shape::Cylinder { diameter: 1.0, length: bad },
            Shape::Sphere { diameter: bad },
            Shape::Capsule { diameter: bad, length: 1.0 },
            Shape::Capsule { diameter: 1.0, length: bad },
        ];
        for shape in shapes {
            let refused = Solid::new(&shape, Pose::identity());
            assert!(matches!(refused, Err(BadShape::Size { .. })), "{shape:?} gave {refused:?}");
        }
    }
    let message = Solid::new(&Shape::Sphere { diameter: -2.0 }, Pose::identity()).expect_err("negative").to_string();
    assert_eq!(
        message,
        "expected a sphere's diameter from 0.001 to 10000 mm, found -2; sizes are full sizes in millimetres"
    );
}

#[test]
fn hulls_must_enclose_something() {
    let refused = |points: &[[f64; 3]]| Solid::new(&Shape::Hull { points: points.to_vec() }, Pose::identity());
    assert!(matches!(refused(&[]), Err(BadShape::FewPoints { found: 0 })));
    assert!(matches!(refused(&[[0.0; 3]; 3]), Err(BadShape::FewPoints { found: 3 })));
    assert!(matches!(refused(&[[1.0; 3]; 9]), Err(BadShape::FlatHull { .. })));
    let line: Vec<[f64; 3]> = (0..9).map(|step| [f64::from(step); 3]).collect();
    assert!(matches!(refused(&line), Err(BadShape::FlatHull { .. })));
    let plane: Vec<[f64; 3]> = (0..25).map(|step| [f64::from(step % 5), f64::from(step / 5), 1e-5]).collect();
    assert!(matches!(refused(&plane), Err(BadShape::FlatHull { .. })));
    let mut with_nan = vec![[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    assert!(refused(&with_nan).is_ok());
    with_nan.push([0.0, f64::NAN, 0.0]);
    assert!(matches!(refused(&with_nan), Err(BadShape::HullPoint { index: 4, .. })));
}

#[test]
fn places_and_rotations_must_be_real() {
    let ball = Shape::Sphere { diameter: 1.0 };
    for bad in [f64::NAN, f64::INFINITY, 2e5] {
        let refused = Solid::new(&ball, Pose::translation(0.0, bad, 0.0));
        assert!(matches!(refused, Err(BadShape::Place { .. })), "{refused:?}");
    }
    for quaternion in [Quaternion::new(0.0, 0.0, 0.0, 0.0), Quaternion::new(2.0, 0.0, 0.0, 0.0)] {
        let rotation = UnitQuaternion::new_unchecked(quaternion);
        let refused = Solid::new(&ball, Pose::from_parts(Translation3::identity(), rotation));
        assert!(matches!(refused, Err(BadShape::Rotation { .. })), "{refused:?}");
    }
    let rotation = UnitQuaternion::new_unchecked(Quaternion::new(f64::NAN, 0.0, 0.0, 0.0));
    let refused = Solid::new(&ball, Pose::from_parts(Translation3::identity(), rotation));
    assert!(matches!(refused, Err(BadShape::Rotation { .. })), "{refused:?}");
}

#[test]
fn shapes_come_back_as_they_went_in_and_bounds_hold_them() {
    let mut random = StdRng::seed_from_u64(51);
    for case in 0..500 {
        let given = shape(&mut random, case % 2 == 0);
        let made = solid(given.clone(), pose(&mut random, 100.0));
        match (given, made.shape()) {
            (Shape::Hull { points: mut given }, Shape::Hull { points: mut kept }) => {
                let order = |a: &[f64; 3], b: &[f64; 3]| a.partial_cmp(b).expect("numbers");
                given.sort_by(order);
                kept.sort_by(order);
                assert_eq!(given, kept);
            }
            (given, kept) => assert_eq!(given, kept),
        }
        // A wall on each face of the bounds touches the solid: they are neither too tight nor too wide.
        let bounds = made.bounds();
        for axis in 0..3 {
            for (end, outward) in [(bounds.max[axis], 1.0), (bounds.min[axis], -1.0)] {
                let mut centre = nalgebra::center(&bounds.min, &bounds.max);
                centre[axis] = end + outward * 1000.0;
                let wall = solid(Shape::Box { size: [2000.0; 3] }, Translation3::from(centre.coords).into());
                let gap = separation(&made, &wall).signed_mm;
                assert!(gap.abs() < 1e-5, "{made:?} is {gap} from a wall on its bounds");
            }
        }
    }
}

#[test]
fn contains_the_inside_and_the_surface() {
    let bar = cylinder(5.0, 10.0, Pose::translation(100.0, 0.0, 0.0));
    for (x, y, z, inside) in [
        (100.0, 0.0, 0.0, true),
        (105.0, 0.0, 10.0, true),
        (105.001, 0.0, 0.0, false),
        (104.0, 4.0, 0.0, false),
        (100.0, 0.0, 10.001, false),
        (0.0, 0.0, 0.0, false),
    ] {
        assert_eq!(bar.contains(Point::new(x, y, z)), inside, "({x}, {y}, {z})");
    }
    let points = vec![[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 0.0, 10.0]];
    let wedge = solid(Shape::Hull { points }, Pose::identity());
    assert!(wedge.contains(Point::new(1.0, 1.0, 1.0)));
    assert!(wedge.contains(Point::origin()));
    assert!(wedge.contains(Point::new(2.0, 3.0, 5.0)), "on the slanted face");
    assert!(wedge.contains(Point::new(3.0, 0.0, 3.0)), "on an upright face");
    assert!(!wedge.contains(Point::new(4.0, 4.0, 4.0)));
    assert!(!wedge.contains(Point::new(3.0, -1e-4, 3.0)));
}

/// Each shape shrunk about its own centre lies inside itself, and stops doing so when pushed out.
#[test]
fn inside_is_told_from_overlapping() {
    let big = |shape: &str, scale: f64| match shape {
        "box" => Shape::Box { size: [40.0 * scale, 30.0 * scale, 50.0 * scale] },
        "cylinder" => Shape::Cylinder { diameter: 40.0 * scale, length: 40.0 * scale },
        "sphere" => Shape::Sphere { diameter: 50.0 * scale },
        "capsule" => Shape::Capsule { diameter: 40.0 * scale, length: 20.0 * scale },
        _ => {
            let points = [[-1.0, -1.0, -1.0], [1.5, 0.0, -1.0], [0.0, 1.5, -1.0], [0.0, 0.0, 2.0]];
            Shape::Hull { points: points.iter().map(|point| point.map(|along| along * 40.0 * scale)).collect() }
        }
    };
    let kinds = ["box", "cylinder", "sphere", "capsule", "hull"];
    let mut random = StdRng::seed_from_u64(52);
    for outer in kinds {
        for inner in kinds {
            let world = pose(&mut random, 100.0);
            let turn = Pose::from_parts(Translation3::identity(), pose(&mut random, 1.0).rotation);
            let outer_solid = solid(big(outer, 1.0), world);
            let within = solid(big(inner, 0.15), world * turn);
            for (a, b) in [(&outer_solid, &within), (&within, &outer_solid)] {
                assert_eq!(separation(a, b).state, State::Inside, "{inner} in {outer}");
            }
            // Pushed along the way out until only half of its way remains.
            let found = separation(&outer_solid, &within);
            let support = within.moved(&Translation3::from(found.normal * (-found.signed_mm - 0.5)).into());
            assert_eq!(separation(&outer_solid, &support).state, State::Overlapping, "{inner} leaving {outer}");
        }
    }
}

/// A cylinder lying in a tube of its own size touches from within all round; a hair longer and it sticks out.
#[test]
fn flush_counts_as_inside() {
    let bore = cylinder(10.0, 20.0, Pose::identity());
    assert_eq!(separation(&bore, &cylinder(10.0, 20.0, Pose::identity())).state, State::Inside);
    assert_eq!(separation(&bore, &cylinder(10.0, 20.01, Pose::identity())).state, State::Inside, "the other way round");
    assert_eq!(separation(&bore, &cylinder(9.0, 20.0, Pose::translation(0.0, 0.0, 0.01))).state, State::Overlapping);
    let tilted = Pose::from_parts(Translation3::identity(), UnitQuaternion::from_axis_angle(&Vector::y_axis(), 0.01));
    assert_eq!(separation(&bore, &cylinder(10.0, 19.0, tilted)).state, State::Overlapping);
    assert_eq!(separation(&bore, &cylinder(9.7, 19.0, tilted)).state, State::Inside);
}
