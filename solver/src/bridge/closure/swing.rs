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

/// Postures that close and can be reached from `posture` by turning one of its parts steadily, in walking order;
/// without `posture` itself. Empty when the chain is rigid.
///
/// The first turn that moves at all drives the walk, to either side, until the chain no longer closes or has come
/// round.
pub(crate) fn swing(
    skeleton: &Skeleton,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    posture: &Posture,
) -> Vec<Posture> {
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
            return found;
        }
    }
    Vec::new()
}
