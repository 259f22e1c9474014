//! Where a chain's end is: the catalog's own frames, and the oracle's, against an outside library.
//!
//! `I_fk_chain_oracle.csv`: 50 random chains of one to seven turnable elbows, computed with the robotics library
//! pin 4.1.0 (products of SE3) and cross-checked with numpy. Per elbow: RotZ(roll) TransZ(leg in) RotY(elbow)
//! TransZ(leg out) TransZ(extension); degrees and millimetres; quaternion and axis of the last frame's z.

use elbowroom::catalog::FittingDef;
use elbowroom::geometry::{Pose, turned};
use elbowroom_tests::chain::{Step, place};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, straight};
use elbowroom_tests::table::{numbers, rows};
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

struct Row {
    /// Every part of the chain with its turn in radians.
    parts: Vec<(FittingDef, f64)>,
    end: Pose,
    axis: Vector3<f64>,
}

fn table() -> Vec<Row> {
    let rows: Vec<Row> = rows(include_str!("../data/bridge/I_fk_chain_oracle.csv"))
        .iter()
        .map(|row| {
            let many = |column: &str| numbers(&row[column]);
            let one = |column: &str| numbers(&row[column])[0];
            let (angles, rolls, legs_in, legs_out, extensions) =
                (many("elbow_deg"), many("roll_deg"), many("leg_in_mm"), many("leg_out_mm"), many("extension_mm"));
            let mut parts = Vec::new();
            for index in 0..angles.len() {
                let elbow = bend("elbow", ['M', 'f'], angles[index], [legs_in[index], legs_out[index]]);
                parts.push((elbow, rolls[index].to_radians()));
                if extensions[index] > 0.0 {
                    parts.push((straight("extension", ['m', 'f'], extensions[index]), 0.0));
                }
            }
            let turn = UnitQuaternion::from_quaternion(Quaternion::new(one("qw"), one("qx"), one("qy"), one("qz")));
            Row {
                parts,
                end: Pose::from_parts(Vector3::new(one("x"), one("y"), one("z")).into(), turn),
                axis: Vector3::new(one("axis_x"), one("axis_y"), one("axis_z")),
            }
        })
        .collect();
    assert_eq!(rows.len(), 50, "the table lost rows");
    rows
}

fn check(name: &str, row: usize, found: &Frame, expected: &Row) {
    let wanted = Frame::of(&expected.end);
    // Nine decimals in the table; angles and legs of a few hundred millimetres keep seven of them.
    assert!((found.at - wanted.at).norm() < 1e-6, "{name}, row {row}: at {}, expected {}", found.at, wanted.at);
    assert!((found.axes - wanted.axes).norm() < 1e-7, "{name}, row {row}: {} != {}", found.axes, wanted.axes);
    assert!((found.z() - expected.axis).norm() < 1e-7, "{name}, row {row}: faces {}", found.z());
}

#[test]
fn end_frames_chain_up_to_the_published_ends() {
    for (index, row) in table().iter().enumerate() {
        let mut here = Pose::identity();
        for (part, turn) in &row.parts {
            here = here * turned(*turn) * part.end_frames(0.0)[1];
        }
        check("catalog", index, &Frame::of(&here), row);
    }
}

#[test]
fn the_oracle_places_chains_at_the_published_ends() {
    for (index, row) in table().iter().enumerate() {
        let mut here = Frame::world();
        for (part, turn) in &row.parts {
            here = place(part, &Step { part: 0, entry: 0, turn: *turn, stretch: 0.0 }, &here).exit;
        }
        check("oracle", index, &here, row);
    }
}

/// A chain walked back from its far end, every part the other way round, arrives where it began.
#[test]
fn parts_entered_by_their_far_end_lead_back() {
    for (index, row) in table().iter().enumerate() {
        let far = Frame::of(&row.end).facing();
        let mut here = far;
        let mut turn = 0.0;
        for (part, own_turn) in row.parts.iter().rev() {
            here = place(part, &Step { part: 0, entry: 1, turn, stretch: 0.0 }, &here).exit;
            turn = *own_turn;
        }
        let home = here.facing();
        assert!(home.at.norm() < 1e-6, "row {index}: back at {}", home.at);
        assert!((home.z() - Vector3::z()).norm() < 1e-7, "row {index}: {}", home.z());
    }
}
