//! Whether the first turning part at a port has room: one that runs into something however it is turned begins no
//! chain, so none of the chains that begin with it need be closed.

mod ahead;

use self::ahead::Ahead;
use crate::{
    bridge::{
        closure::{Allowance, Span},
        placed::{Core, FirstMember as Member, Site},
        stock::{LinkId, Stock, TurnId},
    },
    geometry::{Pose, SolidId},
};
use std::{
    collections::HashMap,
    f64::consts::TAU,
    sync::{PoisonError, RwLock},
};

/// Least turn, in radians, that a part must be stuck for around each place looked at to count as stuck: a bound on the
/// work, and less than what is left open to be found by testing whole chains.
const LEAST_STEP: f64 = 0.02;

/// A turn that is far enough to do without looking for a farther one, in radians.
const GOOD_STEP: f64 = 0.2;

/// The two ports of a gap, each with the first turning parts that were found to have no room there.
pub(super) struct Doorways<'a> {
    site: &'a Site<'a>,
    stock: &'a Stock,
    /// How far the end of a chain may be from the second port, in millimetres, and how much it may lean, in radians.
    miss_mm: f64,
    lean: f64,
    /// By port, class as seen from that port, and the bits of the length of the run before it.
    known: RwLock<HashMap<(usize, TurnId, u64), bool>>,
    ahead: Ahead,
}

impl<'a> Doorways<'a> {
    pub(in crate::bridge) fn new(site: &'a Site<'a>, stock: &'a Stock, allowance: &Allowance) -> Self {
        Self {
            site,
            stock,
            miss_mm: allowance.mm,
            lean: allowance.rad,
            known: RwLock::default(),
            ahead: Ahead::default(),
        }
    }

    /// Whether every part of class `turn` runs into something at every turn after a run from `port`, the first or the
    /// second; seen from the port, so that the part is entered from its side.
    ///
    /// Errs on the side of room: what is called barred is, whatever comes after it, and what follows an adjustable run
    /// never is.
    pub(super) fn bars(&self, port: usize, turn: TurnId, run: Span) -> bool {
        if !run.is_fixed() {
            return false;
        }
        let length_mm = run.shortest;
        let key = (port, turn, length_mm.to_bits());
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).get(&key).copied();
        known.unwrap_or_else(|| {
            let bars = self.stock.turns[turn].links.iter().all(|link| self.bars_link(port, *link, length_mm));
            self.known.write().unwrap_or_else(PoisonError::into_inner).insert(key, bars);
            bars
        })
    }

    /// How many were found barred, and how many runs before any of them.
    pub(in crate::bridge) fn barred(&self) -> u64 {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        (known.values().filter(|barred| **barred).count() + self.ahead.barred()) as u64
    }

    fn bars_link(&self, port: usize, link: LinkId, length_mm: f64) -> bool {
        let beginning = self.site.first_part(port, link, length_mm);
        // At the second port the chain may be off by the closure allowance.
        let spare = if port == 0 { 0.0 } else { self.miss_mm + self.lean * (length_mm + beginning.reach_mm) };
        let clearance = self.site.clearance_mm() - spare;
        if beginning.stretches || clearance <= -beginning.reach_mm {
            return false;
        }
        let mut turn = 0.0;
        while turn < TAU {
            let mut step = 0.0_f64;
            for (core, excused) in beginning.cores() {
                step = step.max(self.stuck(core, excused, &beginning.turned(turn), clearance));
                if step > GOOD_STEP {
                    break;
                }
            }
            if step < LEAST_STEP {
                // Balls miss what crosses a thin wall; the part itself does not, and takes longer to measure.
                let stuck =
                    |member: &Member| self.stuck(&member.whole, &member.excused, &beginning.turned(turn), clearance);
                step = beginning.members.iter().map(stuck).fold(0.0, f64::max);
            }
            if step < LEAST_STEP {
                return false;
            }
            turn += step;
        }
        true
    }

    /// Turn in radians to either side of a pose within which a core stays nearer to something than the clearance.
    fn stuck(&self, core: &Core, excused: &[SolidId], pose: &Pose, clearance: f64) -> f64 {
        let nearest = self.site.scene.nearest(&core.solid.moved(pose), clearance, |id| excused.contains(&id));
        nearest.map_or(0.0, |(_, separation)| (clearance - separation.signed_mm) / core.arm_mm.max(1e-3))
    }
}

#[cfg(test)]
mod tests;
