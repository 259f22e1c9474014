//! A slow judge: every posture in which a chain closes exactly, walked through in small steps, and the room it has in
//! each.
//!
//! Postures are found from a grid of turns by Newton's method, each that is new is followed along its continuum both ways
//! in steps of at most [`STEP`], and the clearance of each step is taken by projection between convex bodies. It knows
//! nothing of kinds, closed forms or intervals, and proves nothing: what it finds is possible, what it does not find may
//! still be.

use crate::chain::{Problem, Step};
use crate::postures::{Linkage, Turns};
use crate::solids::{clearances_at_least, self_overlap};
use nalgebra::DVector;
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::TAU;

/// The longest step along a continuum, in radians of all turns together: 0.05°.
pub const STEP: f64 = 0.05 * TAU / 360.0;
/// Postures from which continua are begun, as a grid per turn but the last ones, which follow.
const STARTS: usize = 240;
/// Steps at which what was walked is kept to compare with, of every so many.
const KEPT: usize = 8;
/// Most steps in one walk: far more than a full turn of everything takes.
const MOST_STEPS: usize = 60_000;

/// What the judge found about one sequence of parts.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// The most room found, in millimetres, and the posture; `None` where nothing closes without touching itself.
    pub best: Option<(f64, Vec<Step>)>,
    /// How many continua (or single postures) were walked.
    pub branches: usize,
    /// How many postures were looked at.
    pub postures: usize,
}

/// Looks for the posture with the most room.
#[must_use]
pub fn judge(problem: &Problem, steps: &[Step]) -> Verdict {
    let linkage = Linkage::new(problem, steps);
    let mut rng = StdRng::seed_from_u64(1);
    let mut verdict = Verdict { best: None, branches: 0, postures: 0 };
    let mut walked: Vec<Turns> = Vec::new();
    for start in starts(&linkage, &mut rng) {
        let Some(start) = linkage.close(&start) else { continue };
        if walked.iter().any(|known| Linkage::apart(known, &start) < 1.5 * STEP * KEPT_REACH) {
            continue;
        }
        verdict.branches += 1;
        let mut look = |turns: &Turns| {
            verdict.postures += 1;
            let chain = linkage.steps(turns);
            let placed = problem.place(&chain);
            let room = clearances_at_least(problem, &chain, &placed);
            let better = verdict.best.as_ref().is_none_or(|best| room > best.0);
            if better && self_overlap(problem, &chain, &placed, false).is_none() {
                verdict.best = Some((room, chain));
            }
        };
        look(&start);
        walked.push(start.clone());
        let kernel = linkage.freedoms(&start);
        if kernel.is_empty() {
            continue;
        }
        for sign in [1.0, -1.0] {
            let direction = &kernel[0] * sign;
            let mut since = 0;
            let mut here = start.clone();
            let mut ahead = direction;
            for count in 0..MOST_STEPS {
                let Some((next, onward)) = linkage.stride(&here, &ahead, STEP) else { break };
                (here, ahead) = (next, onward);
                look(&here);
                since += 1;
                if since == KEPT {
                    since = 0;
                    // Round again to where it began.
                    if count > 4 * KEPT && Linkage::apart(&here, &start) < STEP * KEPT_REACH {
                        break;
                    }
                    walked.push(here.clone());
                }
            }
        }
    }
    verdict
}

/// Half the distance between postures that are kept.
#[expect(clippy::cast_precision_loss, reason = "a small number")]
const KEPT_REACH: f64 = KEPT as f64 / 2.0 + 0.5;

/// Turns to begin from: a grid where there are few, scattered where there are many.
fn starts(linkage: &Linkage<'_>, rng: &mut StdRng) -> Vec<Turns> {
    let count = linkage.count();
    (0..STARTS).map(|_| DVector::from_fn(count, |_, _| rng.random_range(0.0..TAU))).collect()
}
