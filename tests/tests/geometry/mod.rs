//! Solids, signed distances, scenes and freeing moves, against closed forms and values from outside the solver.

mod any_pair;
mod freeing;
mod round_parts;
mod scene;
mod table;
mod validity;

use elbowroom::geometry::{
    Pose, Separation, Shape, Solid, State, TOUCHING_MM, Vector, closer_than, separation, separation_within,
};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};
use rand::{Rng, rngs::StdRng};

/// What must hold of any separation, whatever found it.
fn check_parts(a: &Solid, b: &Solid, found: &Separation) {
    // The points are for people to look at: they may be out by a tenth where two flat faces barely meet.
    let gap = found.on_b - found.on_a;
    assert!((found.normal.norm() - 1.0).abs() < 1e-9, "normal {:?} of {a:?} and {b:?}", found.normal);
    assert!(
        (gap - found.normal * found.signed_mm).norm() < 0.1,
        "points {} and {} do not fit {} along {} for {a:?} and {b:?}",
        found.on_a,
        found.on_b,
        found.signed_mm,
        found.normal
    );
    // Both points belong to their solids: a speck around each touches the solid.
    for (point, solid) in [(found.on_a, a), (found.on_b, b)] {
        let speck = Solid::new(&Shape::Sphere { diameter: 0.002 }, Translation3::from(point.coords).into())
            .expect("a legal ball");
        let off = separation(&speck, solid).signed_mm;
        assert!(off < 1e-4, "{point} is {off} off {solid:?}");
    }
    let state = match found.signed_mm {
        mm if mm.abs() <= TOUCHING_MM => vec![State::Touching],
        mm if mm > 0.0 => vec![State::Clear],
        _ => vec![State::Overlapping, State::Inside],
    };
    assert!(state.contains(&found.state), "{found:?}");
    // Moved by what was found, the second solid is free and only just, or touches.
    let moved = b.moved(&Translation3::from(found.normal * (-found.signed_mm)).into());
    let left = separation(a, &moved).signed_mm;
    let allowed = if found.signed_mm < 0.0 { -1e-5..5e-3 } else { -1e-3..1e-3 };
    assert!(allowed.contains(&left), "{found:?} leaves {left} for {a:?} and {b:?}");
    // The quicker questions give the same answer.
    let mm = found.signed_mm;
    assert_eq!(separation_within(a, b, mm + 0.01).map(|within| within.state), Some(found.state));
    assert_eq!(separation_within(a, b, mm - 0.01), None);
    assert!(closer_than(a, b, mm + 0.01), "{found:?} for {a:?} and {b:?}");
    assert!(!closer_than(a, b, mm - 0.01), "{found:?} for {a:?} and {b:?}");
}

fn solid(shape: Shape, pose: Pose) -> Solid {
    Solid::new(&shape, pose).expect("a legal solid")
}

fn cylinder(radius: f64, half: f64, pose: Pose) -> Solid {
    Solid::new(&Shape::Cylinder { diameter: 2.0 * radius, length: 2.0 * half }, pose).expect("a legal cylinder")
}

fn pose(random: &mut StdRng, within: f64) -> Pose {
    let place = Translation3::from(Vector::from_fn(|_, _| random.random_range(-within..within)));
    let turn = Quaternion::from(nalgebra::Vector4::from_fn(|_, _| random.random_range(-1.0..1.0)));
    Pose::from_parts(place, UnitQuaternion::from_quaternion(turn))
}

/// A small turn about a random axis.
fn tilt(random: &mut StdRng, angle: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_scaled_axis(Vector::from_fn(|_, _| random.random_range(-angle..angle)))
}

/// Any shape; on a grid of 4 mm if `gridded`, so that faces and edges fall together.
fn shape(random: &mut StdRng, gridded: bool) -> Shape {
    let mut size = || if gridded { f64::from(random.random_range(1..8)) * 4.0 } else { random.random_range(2.0..60.0) };
    let [x, y, z] = [size(), size(), size()];
    match random.random_range(0..5) {
        0 => Shape::Box { size: [x, y, z] },
        1 => Shape::Cylinder { diameter: x, length: y },
        2 => Shape::Sphere { diameter: x },
        3 => Shape::Capsule { diameter: x, length: y },
        // A box with idle points on a face and inside.
        _ if gridded => {
            let corners = (0..8).map(|corner| {
                let side = |bit: i32, size: f64| if corner >> bit & 1 == 0 { size / 2.0 } else { -size / 2.0 };
                [side(0, x), side(1, y), side(2, z)]
            });
            Shape::Hull { points: corners.chain([[0.0, 0.0, z / 2.0], [0.0; 3]]).collect() }
        }
        _ => {
            let count = random.random_range(4..20);
            let points = (0..count).map(|_| [0; 3].map(|_| random.random_range(-20.0..20.0)));
            Shape::Hull { points: points.collect() }
        }
    }
}

/// A pose on the grid of 4 mm and quarter turns.
fn grid_pose(random: &mut StdRng) -> Pose {
    let place = Translation3::from(Vector::from_fn(|_, _| f64::from(random.random_range(-8..8)) * 4.0));
    let mut quarter = |axis| {
        let turns = f64::from(random.random_range(0..4));
        UnitQuaternion::from_axis_angle(&axis, turns * std::f64::consts::FRAC_PI_2)
    };
    Pose::from_parts(place, quarter(Vector::x_axis()) * quarter(Vector::z_axis()))
}
