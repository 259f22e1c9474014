//! Signed distances against a table computed with independent collision libraries.

use super::check_parts;
use elbowroom::geometry::{Pose, Shape, Solid, separation};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};

/// Source and conventions: `tests/data/geometry/README.md`.
const TABLE: &str = include_str!("../../data/geometry/collision_oracle.csv");

/// The table's own values agree among themselves to 2e-6 mm; this leaves room for the last digit of both.
const APART_MM: f64 = 1e-5;
const OVERLAP_MM: f64 = 1e-5;

#[test]
fn every_row_of_the_table_is_met() {
    let mut rows = 0;
    for row in TABLE.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let (a, b) = (solid_of(&cells[2..13]), solid_of(&cells[13..24]));
        let expected = number(cells[29]);
        for (first, second) in [(&a, &b), (&b, &a)] {
            let found = separation(first, second);
            let error = (found.signed_mm - expected).abs();
            assert!(
                error <= if expected > 0.0 { APART_MM } else { OVERLAP_MM },
                "row {}: expected {expected}, found {}",
                cells[0],
                found.signed_mm
            );
            check_parts(first, second, &found);
        }
        rows += 1;
    }
    assert_eq!(rows, 250);
}

fn solid_of(cells: &[&str]) -> Solid {
    let [p1, p2, p3] = [1, 2, 3].map(|index| number(cells[index]));
    let shape = match cells[0] {
        "box" => Shape::Box { size: [p1, p2, p3] },
        "cylinder" => Shape::Cylinder { diameter: 2.0 * p1, length: p2 },
        "capsule" => Shape::Capsule { diameter: 2.0 * p1, length: p2 },
        other => panic!("unknown shape {other}"),
    };
    let [x, y, z] = [4, 5, 6].map(|index| number(cells[index]));
    let [w, i, j, k] = [7, 8, 9, 10].map(|index| number(cells[index]));
    let rotation = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
    Solid::new(&shape, Pose::from_parts(Translation3::new(x, y, z), rotation)).expect("a legal solid")
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}
