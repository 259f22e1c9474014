//! Rigid chains, many with two solutions close to each other, amid boxes that leave them from 0.02 to 0.2 mm more than
//! they must have, and with nothing around them: none is denied.
//!
//! `ELBOWROOM_PLANTED=1000` puts as many of each kind to the solver.

use elbowroom_tests::adversary::{planted_chains, run};
use elbowroom_tests::swinging::{Kind, swinging};

fn check(kind: Kind, otherwise: u64) {
    let totals = run(0..planted_chains(otherwise), |seed| swinging(kind, seed).case(kind, seed), |_| {});
    let counts = format!("{} found, {} sampled, {} denied", totals.found, totals.sampled, totals.denied.len());
    let broken = totals.broken_promises();
    assert!(broken.is_empty(), "{}: {counts}:\n{}", kind.name(), broken.join("\n"));
}

#[test]
fn rigid_chains_amid_boxes() {
    check(Kind::Rigid, 300);
}

#[test]
fn rigid_chains_in_free_space() {
    check(Kind::Free, 1000);
}
