//! The slot: a chain that clears a cube and two boards only in a narrow window of its turns is listed, whichever way
//! the boards stand to the turns that the solver tries first.

use elbowroom_tests::adversary::{Totals, run};
use elbowroom_tests::slot::{Detour, HALF_WIDTHS_MM, Slot, TURNINGS, family};
use elbowroom_tests::solids::{clearances_at_least, is_clear};

/// By hand: sleeves of 16 mm in the plane between the boards are half a width less 8 mm from either.
#[test]
fn planted_chains_have_the_room_that_the_slot_leaves() {
    for slot in family() {
        let case = slot.case();
        let miss = case.problem.miss(&case.steps);
        assert!(miss.mm < 1e-9 && miss.deg < 1e-9, "{}: {miss:?}", case.name);
        let placed = case.problem.place(&case.steps);
        assert!(is_clear(&case.problem, &case.steps, &placed, 0.01), "{}", case.name);
        let room = clearances_at_least(&case.problem, &case.steps, &placed);
        assert!((room - (slot.half_width_mm - 8.0)).abs() < 1e-6, "{}: {room}", case.name);
    }
}

/// The arm of the bends reaches as far as the boards, 40 mm: the sine of half the window is what is to spare over that.
#[test]
fn the_window_of_the_arm_is_four_tenths_of_a_degree() {
    for detour in [Detour::Bends, Detour::SweptBends] {
        for turning in 0..TURNINGS {
            let case = Slot { detour, half_width_mm: 9.14, turning, everything: false }.case();
            let is_clear_at = |deg: f64| {
                let mut steps = case.steps.clone();
                steps[0].turn += deg.to_radians();
                clearances_at_least(&case.problem, &steps, &case.problem.place(&steps)) >= case.problem.clearance_mm
            };
            let by_hand = (0.14_f64 / 40.0).asin().to_degrees();
            assert!((by_hand - 0.2).abs() < 0.001);
            for sign in [1.0, -1.0] {
                assert!(is_clear_at(sign * (by_hand - 0.001)), "{}", case.name);
                assert!(!is_clear_at(sign * (by_hand + 0.001)), "{}", case.name);
            }
        }
    }
}

#[test]
fn no_chain_through_the_slot_is_denied() {
    assert!(HALF_WIDTHS_MM.len() >= 5);
    let Totals { cases, found, sampled, denied, faults, .. } = run(family(), |slot| slot.case(), |_| {});
    assert_eq!(cases, 4 * HALF_WIDTHS_MM.len() * TURNINGS as usize);
    let counts = format!("{found} found, {sampled} sampled, {} denied", denied.len());
    assert!(denied.is_empty(), "{counts}:\n{}", denied.join("\n"));
    assert!(faults.is_empty(), "{counts}:\n{}", faults.join("\n"));
}
