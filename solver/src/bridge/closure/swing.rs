//! Postures of one chain that form a continuum: everything that turns about one line, chains of six and more bends,
//! and chains that the allowance lets move.

use super::{
    Allowance,
    polish::polish,
    skeleton::{Line, Posture, Skeleton},
};

/// Step of the walk along a continuum, in radians: 6°. A step moves a 40 mm arm by 4 mm, finer than the bodies that
/// it has to get past.
const STEP: f64 = std::f64::consts::TAU / 60.0;

/// A continuum of postures.
#[derive(Clone, Debug)]
pub(crate) struct Swing {
    /// The turn that drives it.
    pub(crate) driver: usize,
    pub(crate) postures: Vec<Posture>,
}

/// Halvings of the interval in which the clearest posture is looked for, by the golden section: 6° shrink to 1e-6°.
const SECTIONS: usize = 32;

/// Postures that close and can be reached from `posture` by turning one of its parts steadily, in walking order;
/// without `posture` itself. `None` when the chain is rigid.
///
/// The first turn that moves at all drives the walk, to either side, until the chain no longer closes or has come
/// round.
pub(crate) fn swing(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    posture: &Posture,
) -> Option<Swing> {
    for driver in 0..skeleton.count {
        let mut found = Vec::new();
        for step in [STEP, -STEP] {
            let mut here = *posture;
            // A full circle one way leaves nothing for the other way.
            for _ in found.len()..59 {
                here.turns[driver] += step;
                if !polish(skeleton, from, to, allowance, &mut here, Some(driver)).within(allowance) {
                    break;
                }
                found.push(here);
            }
        }
        // One or two steps are only the play of the allowance, not a different posture.
        if found.len() > 2 {
            return Some(Swing { driver, postures: found });
        }
    }
    None
}

/// The posture within a step of `best` on the continuum driven by `driver` for which `worth` is greatest, if any is
/// worth more. It is the same wherever the walk started.
pub(crate) fn refine(
    skeleton: &Skeleton<'_>,
    ports: [&Line; 2],
    allowance: &Allowance,
    driver: usize,
    best: &Posture,
    worth: impl Fn(&Posture) -> f64,
) -> Posture {
    let found = golden_section(|by| {
        let mut posture = *best;
        posture.turns[driver] += by;
        let closes = polish(skeleton, ports[0], ports[1], allowance, &mut posture, Some(driver)).within(allowance);
        (if closes { worth(&posture) } else { f64::NEG_INFINITY }, posture)
    });
    if found.0 > worth(best) { found.1 } else { *best }
}

/// Looks for the greatest of what `at` is worth within a step to either side of nought.
pub(crate) fn golden_section(at: impl Fn(f64) -> (f64, Posture)) -> (f64, Posture) {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (-STEP, STEP);
    let (mut left, mut right) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_left, mut at_right) = (at(left), at(right));
    for _ in 0..SECTIONS {
        if at_left.0 > at_right.0 {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = at(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = at(right);
        }
    }
    if at_left.0 > at_right.0 { at_left } else { at_right }
}

/// Whether two postures of a chain lie within a step of each other.
pub(crate) fn near(skeleton: &Skeleton<'_>, one: &Posture, other: &Posture) -> bool {
    (0..skeleton.count).all(|turn| {
        let apart = (one.turns[turn] - other.turns[turn]).rem_euclid(std::f64::consts::TAU);
        apart.min(std::f64::consts::TAU - apart) < STEP
    })
}
