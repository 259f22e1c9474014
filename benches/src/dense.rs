//! Gaps that crowd chains: many parts that all turn, ports near each other, and bodies close by, so that chains close by the
//! thousand and nearly all of them collide.

use crate::cases::{Case, block, open, port};
use elbowroom::catalog::{BendDef, Catalog, EndDef, Family, FittingDef, Gender, PartSolid, Thread};

/// Most parts of the chains that are asked for.
const PARTS: usize = 4;

/// Lengths of the straight parts, in millimetres: no small sum of them is another.
const STRAIGHTS_MM: [f64; 12] = [6.0, 7.3, 8.9, 10.7, 12.9, 15.1, 17.7, 20.3, 24.1, 28.7, 34.3, 41.9];

/// The bends: angle in degrees, and for each angle the legs from the male end and to the female end, in millimetres.
const ANGLES_DEG: [f64; 6] = [30.0, 45.0, 60.0, 75.0, 90.0, 110.0];
const LEGS_MM: [[f64; 2]; 3] = [[9.0, 8.0], [12.4, 10.6], [17.2, 13.8]];

/// Diameter of all bodies, in millimetres.
const BODY_MM: f64 = 14.0;

/// Five gaps, each up to 4 parts, with the 20 best chains wanted.
///
/// # Panics
/// When a part or a gap of them is faulty.
#[must_use]
pub fn dense_gaps() -> Vec<Case> {
    vec![right_angle(), under_a_board(), facing_a_wall(), in_a_slot(), under_a_low_lid()]
}

/// Two ports at a right angle, 57 mm from each other, and three bodies beside the way.
fn right_angle() -> Case {
    crowded(
        "right angle",
        [([0.0, 0.0, 0.0], "+z"), ([41.0, 4.0, 39.0], "-x")],
        &[
            ("block above", [10.0, 8.0, 64.0], [60.0, 50.0, 20.0]),
            ("block beside", [14.0, -24.0, 24.0], [60.0, 16.0, 60.0]),
            ("block behind", [12.0, 32.0, 24.0], [60.0, 14.0, 60.0]),
        ],
    )
}

/// Two parallel ports 60 mm apart, with a board across 26 mm ahead of them.
fn under_a_board() -> Case {
    let board = ("board", [30.0, 0.0, 27.0], [140.0, 90.0, 2.0]);
    crowded("under a board", [([0.0, 0.0, 0.0], "+z"), ([60.0, 0.0, 0.0], "+z")], &[board])
}

/// Two ports that face a wall 25 mm away.
fn facing_a_wall() -> Case {
    let wall = ("wall", [27.0, 22.0, 0.0], [4.0, 200.0, 200.0]);
    crowded("facing a wall", [([0.0, 0.0, 0.0], "+x"), ([0.0, 45.0, 12.0], "+x")], &[wall])
}

/// Two ports in a slot 30 mm wide.
fn in_a_slot() -> Case {
    let wall = |name, y| (name, [30.0, y, 30.0], [240.0, 4.0, 240.0]);
    let walls = [wall("near wall", -17.0), wall("far wall", 17.0)];
    crowded("in a slot", [([0.0, 0.0, 0.0], "+z"), ([58.0, 3.0, 21.0], "-x")], &walls)
}

/// Two ports that face the same way, with a lid low above the second.
fn under_a_low_lid() -> Case {
    let lid = ("lid", [45.0, 30.0, 38.0], [80.0, 80.0, 2.0]);
    crowded("under a low lid", [([0.0, 0.0, 0.0], "+z"), ([45.0, 30.0, 12.0], "+z")], &[lid])
}

/// A female port and a male one, each with its place and the way it faces, and blocks around them.
fn crowded(name: &str, ports: [([f64; 3], &str); 2], blocks: &[(&str, [f64; 3], [f64; 3])]) -> Case {
    let [(from, from_faces), (to, to_faces)] = ports;
    let mut components = vec![port("from", from, from_faces, Gender::Female), port("to", to, to_faces, Gender::Male)];
    components.extend(blocks.iter().map(|(name, at, size)| block(name, *at, *size)));
    open(&format!("dense gap {name}"), catalog(), components, 20).up_to(PARTS)
}

/// Twelve straight parts and eighteen bends, male to female, which turn at both ends.
fn catalog() -> Catalog {
    let straights = STRAIGHTS_MM.iter().map(|length| part(Family::Swivel, &[*length], None));
    let bends = ANGLES_DEG.iter().flat_map(|angle_deg| {
        // The sharper the bend, the longer the legs that its body needs.
        let longer = angle_deg / 30.0;
        LEGS_MM.iter().map(move |legs| part(Family::Bend, &legs.map(|leg| leg + longer), Some(*angle_deg)))
    });
    Catalog::from_parts(straights.chain(bends).collect(), Vec::new()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn part(family: Family, legs: &[f64], angle_deg: Option<f64>) -> FittingDef {
    let end = |gender, thread_length_mm| EndDef {
        thread: Thread::G14,
        gender,
        thread_length_mm,
        swivel: true,
        collar_mm: BODY_MM,
    };
    let sleeves = (0..legs.len()).map(|leg| PartSolid::Sleeve { leg, from: 0.0, to: None, diameter: BODY_MM });
    let knuckle = angle_deg.map(|_| PartSolid::Knuckle { bend: 0, diameter: BODY_MM });
    let angle = angle_deg.map_or("straight".to_owned(), |angle_deg| format!("bend-{angle_deg}"));
    let id = format!("{angle}-{}", legs[0]).replace('.', "-");
    FittingDef {
        name: format!("Dense {id}"),
        id,
        family,
        ends: vec![end(Gender::Male, 4.5), end(Gender::Female, 6.0)],
        legs: legs.to_vec(),
        bends: angle_deg.into_iter().map(|angle_deg| BendDef { angle_deg, roll_deg: 0.0 }).collect(),
        stretch_mm: None,
        branch: None,
        solids: sleeves.chain(knuckle).collect(),
        bore_mm: 8.0,
        swept: false,
        price: None,
    }
}
