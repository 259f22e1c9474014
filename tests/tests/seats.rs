//! How ports sit on their components, against boxes and bars in which it can be seen by hand.

use elbowroom::{
    catalog::Catalog,
    interference::{Seat, SeatFault, check},
    layout::Layout,
};
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::PI;

/// Accuracy with which a face is found, in millimetres.
const ACCURACY_MM: f64 = 1e-3;

/// The seats of a machine with a box of 40 mm around the origin that has `port`, and `others` beside it.
fn seats(port: &str, others: &str) -> Vec<Seat> {
    of_shape("box(size: (40, 40, 40))", port, others)
}

fn of_shape(shape: &str, port: &str, others: &str) -> Vec<Seat> {
    let text = format!(
        "(version: 1, name: \"one part\", components: [(name: \"block\", at: (0, 0, 0), solids: [(shape: {shape})], ports: \
         [(name: \"p\", thread: \"G 1/4\", thread_length_mm: 6, {port})]), {others}])"
    );
    let layout = Layout::parse(&text, "one.ron", &Catalog::builtin()).unwrap_or_else(|problems| panic!("{problems}"));
    check(&layout).seats
}

fn only(seats: &[Seat]) -> &Seat {
    let [seat] = seats else { panic!("one port") };
    seat
}

#[test]
fn a_port_lies_on_its_face_or_says_how_far_off_it_is() {
    use SeatFault::{OffAltogether, StandsOff};
    type Case = (f64, &'static str, Option<f64>, Option<fn(f64) -> SeatFault>);
    let cases: [Case; 8] = [
        (20.0, "", Some(0.0), None),
        (20.04, "", Some(0.04), None),
        (19.96, "", Some(-0.04), None),
        (20.5, "", Some(0.5), Some(StandsOff)),
        (20.5, "stand_off_mm: 0.5,", Some(0.5), None),
        (20.5, "stand_off_mm: 0.6,", Some(0.5), Some(StandsOff)),
        (30.0, "", Some(10.0), Some(StandsOff)),
        (300.0, "", None, Some(|_| OffAltogether)),
    ];
    for (y, said, off, fault) in cases {
        let found = seats(&format!("at: (0, {y}, 0), facing: \"+y\", seat_mm: 20, {said}"), "");
        let seat = only(&found);
        assert_eq!(seat.stands_off_mm.is_some(), off.is_some(), "{y} {said}: {seat:?}");
        for (found, off) in seat.stands_off_mm.into_iter().zip(off) {
            assert!((found - off).abs() < ACCURACY_MM, "{y} {said}: {seat:?}");
        }
        match (&seat.faults[..], fault) {
            ([], None) => {}
            ([StandsOff(found)], Some(fault)) => {
                let StandsOff(wanted) = fault(y - 20.0) else { panic!("{y} {said}: {seat:?}") };
                assert!((found - wanted).abs() < ACCURACY_MM, "{y} {said}: {seat:?}");
            }
            ([OffAltogether], Some(fault)) => assert_eq!(fault(0.0), OffAltogether, "{y} {said}"),
            (faults, _) => panic!("{y} {said}: {faults:?}"),
        }
        assert!(seat.faults.iter().all(SeatFault::voids_proof));
        let on_face = if off.is_some() { 1.0 } else { 0.0 };
        assert!((seat.on_face - on_face).abs() < 1e-12, "{y} {said}: {seat:?}");
    }
    // An arm of the component 5 mm ahead of the port, and one 15 mm ahead.
    for (arm, fault) in [(27.5, Some(5.0)), (37.5, None)] {
        let shape = format!("box(size: (40, 40, 40))), (at: (0, {arm}, 0), shape: box(size: (40, 5, 40))");
        let found = of_shape(&shape, "at: (0, 20, 0), facing: \"+y\", seat_mm: 20", "");
        match (&only(&found).faults[..], fault) {
            ([], None) => {}
            ([SeatFault::FacesItself(found)], Some(mm)) => assert!((found - mm).abs() < ACCURACY_MM, "{arm}: {found}"),
            (faults, _) => panic!("{arm}: {faults:?}"),
        }
    }
}

#[test]
fn a_seat_must_not_be_larger_than_its_face() {
    let share = |port: &str| {
        let found = seats(port, "");
        let seat = only(&found);
        let is_large = seat.faults == [SeatFault::SeatBeyondFace];
        assert!(is_large || seat.faults.is_empty(), "{seat:?}");
        assert!(!seat.faults.iter().any(SeatFault::voids_proof));
        (seat.on_face, is_large)
    };
    // A square of 40 mm in a disc of 90, and a disc with its centre on an edge, and on a corner.
    for (port, part) in [
        ("at: (0, 20, 0), facing: \"+y\", seat_mm: 90", 40.0_f64.powi(2) / (PI * 45.0_f64.powi(2))),
        ("at: (20, 20, 0), facing: \"+y\", seat_mm: 20", 0.5),
        ("at: (20, 20, -20), facing: \"+y\", seat_mm: 20", 0.25),
        ("at: (10, 20, 10), facing: \"+y\", seat_mm: 19.9", 1.0),
    ] {
        let (found, is_large) = share(port);
        assert!((found - part).abs() < 0.02, "{port}: {found}, by hand {part}");
        assert_eq!(is_large, part < 1.0, "{port}: {found}");
    }
    // The end of a bar carries a seat as wide as itself; its side carries none.
    let end = of_shape("cylinder(diameter: 30, length: 40)", "at: (0, 0, 20), facing: \"+z\", seat_mm: 30", "");
    assert_eq!((only(&end).faults.len(), only(&end).on_face > 0.995), (0, true), "{end:?}");
    let side = of_shape("cylinder(diameter: 30, length: 40)", "at: (0, 15, 0), facing: \"+y\", seat_mm: 20", "");
    assert_eq!(only(&side).faults, [SeatFault::SeatBeyondFace], "{side:?}");
}

#[test]
fn a_port_inside_another_body_is_told() {
    let block = |y: f64| format!("(name: \"other\", at: (0, {y}, 0), solids: [(shape: box(size: (10, 10, 10)))])");
    // The other's near face at 19.5, at 20.5, and one far away.
    for (y, depth) in [(24.5, Some(0.6)), (25.5, None), (60.0, None)] {
        let found = seats("at: (0, 20, 0), facing: \"+y\", seat_mm: 20", &block(y));
        let [seat] = &found[..] else { panic!("the other has no port: {found:?}") };
        match (&seat.faults[..], depth) {
            ([], None) => {}
            ([SeatFault::Within { body, depth_mm }], Some(depth)) => {
                assert_eq!(body, "other");
                assert!((depth_mm - depth).abs() < ACCURACY_MM, "{seat:?}");
            }
            (faults, _) => panic!("{y}: {faults:?}"),
        }
    }
}

/// Ports off random faces of random boxes that stand at random: how far is what was planted.
#[test]
fn however_a_component_stands_its_ports_are_found_off_its_faces() {
    let mut rng = StdRng::seed_from_u64(5);
    for case in 0..300 {
        let size: [f64; 3] = std::array::from_fn(|_| rng.random_range(20.0..60.0));
        let off: f64 = rng.random_range(0.06..8.0);
        let axis = rng.random_range(0..3);
        let mut at: [f64; 3] = std::array::from_fn(|axis| rng.random_range(-0.2..0.2) * size[axis]);
        at[axis] = size[axis] / 2.0 + off;
        let facing = ["+x", "+y", "+z"][axis];
        let place: [f64; 3] = std::array::from_fn(|_| rng.random_range(-200.0..200.0));
        let (sin, cos) = rng.random_range(0.0..6.0_f64).sin_cos();
        let [place, size, at] = [place, size, at].map(|[x, y, z]| format!("({x}, {y}, {z})"));
        let text = format!(
            "(version: 1, name: \"one part\", components: [(name: \"block\", at: {place}, front: \"{cos} {sin} 0\", \
             solids: [(shape: box(size: {size}))], ports: [(name: \"p\", thread: \"G 1/4\", thread_length_mm: 6, at: {at}, \
             facing: \"{facing}\", seat_mm: 14)])])"
        );
        let layout =
            Layout::parse(&text, "one.ron", &Catalog::builtin()).unwrap_or_else(|faults| panic!("{text}\n{faults}"));
        let found = check(&layout).seats;
        let seat = only(&found);
        let measured = seat.stands_off_mm.expect("there is a face");
        assert!((measured - off).abs() < ACCURACY_MM, "case {case}: {measured}, planted {off}");
        assert!(seat.faults.iter().any(SeatFault::voids_proof), "case {case}: {seat:?}");
    }
}
