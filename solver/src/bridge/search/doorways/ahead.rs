//! How far straight parts can go on from a port: a run of them stands where it stands however the chain turns, so that none
//! that is as long as one which runs into something begins a chain.

use super::Doorways;
use crate::{
    bridge::{
        closure::grains,
        stock::{Run, RunList},
    },
    geometry::{Shape, Solid, along},
};
use std::{
    collections::{HashMap, HashSet},
    sync::{PoisonError, RwLock},
};

/// Longest run that is looked at, in millimetres: longer than what is in the way in any enclosure.
const LONGEST_MM: f64 = 300.0;

/// How exactly the length is found from which on runs have no room, in millimetres.
const GRAIN_MM: f64 = 0.25;

/// A tube that is thinner than this, in millimetres, is not looked at: nothing is gained.
const LEAST_TUBE_MM: f64 = 0.5;

/// By how much nearer than it may a tube must come to something, in millimetres: more than a measured distance can be off.
const MARGIN_MM: f64 = 0.02;

/// What is known of the way ahead of both ports.
#[derive(Default)]
pub(super) struct Ahead {
    /// By port and the bits of the radius of a tube: the length from which on it has no room.
    ends: RwLock<HashMap<(usize, u64), f64>>,
    /// By port, the lengths that were turned down, in steps in which they are told apart.
    barred: RwLock<HashSet<(usize, i64)>>,
    /// By port, where the lists of runs stand of which all lengths are among those.
    noted: RwLock<HashSet<(usize, usize)>>,
}

impl Ahead {
    /// How many runs were turned down, those of one length at one port counted once.
    pub(super) fn barred(&self) -> usize {
        self.barred.read().unwrap_or_else(PoisonError::into_inner).len()
    }
}

impl Doorways<'_> {
    /// Whether a run of `list` between a port, the first or the second, and a turning part runs into something, however the
    /// chain goes on.
    ///
    /// Errs on the side of room.
    pub(in crate::bridge::search) fn bars_run(&self, port: usize, list: &RunList, run: &Run) -> bool {
        let barred = run.span.shortest >= self.end_mm(port, list.tube_mm);
        if barred {
            let key = (port, grains(run.span.shortest));
            let is_known = self.ahead.barred.read().unwrap_or_else(PoisonError::into_inner).contains(&key);
            if !is_known {
                self.ahead.barred.write().unwrap_or_else(PoisonError::into_inner).insert(key);
            }
        }
        barred
    }

    /// How many of the runs of a list, from the shortest on, are not so.
    pub(in crate::bridge::search) fn open_runs(&self, port: usize, list: &RunList) -> usize {
        let end_mm = self.end_mm(port, list.tube_mm);
        let open = list.runs.partition_point(|run| run.span.shortest < end_mm);
        if open < list.runs.len() {
            let key = (port, std::ptr::from_ref(list).addr());
            let is_noted = self.ahead.noted.read().unwrap_or_else(PoisonError::into_inner).contains(&key);
            if !is_noted {
                let mut lengths: Vec<_> =
                    list.runs[open..].iter().map(|run| (port, grains(run.span.shortest))).collect();
                lengths.dedup();
                self.ahead.barred.write().unwrap_or_else(PoisonError::into_inner).extend(lengths);
                self.ahead.noted.write().unwrap_or_else(PoisonError::into_inner).insert(key);
            }
        }
        open
    }

    /// The length from which on a tube of this radius ahead of a port has no room; endless where nothing is in its way.
    /// Such a tube about the axis of a run lies wholly in its parts.
    fn end_mm(&self, port: usize, tube_mm: f64) -> f64 {
        // Without parts the tube is endless.
        if tube_mm < LEAST_TUBE_MM || tube_mm.is_infinite() {
            return f64::INFINITY;
        }
        let key = (port, tube_mm.to_bits());
        let known = self.ahead.ends.read().unwrap_or_else(PoisonError::into_inner).get(&key).copied();
        known.unwrap_or_else(|| {
            let end_mm = self.find_end_mm(port, tube_mm);
            self.ahead.ends.write().unwrap_or_else(PoisonError::into_inner).insert(key, end_mm);
            end_mm
        })
    }

    fn find_end_mm(&self, port: usize, tube_mm: f64) -> f64 {
        // A longer tube holds a shorter one, so what is in the way of the shorter is in the way of the longer.
        let (mut open, mut blocked) = (0.0, LONGEST_MM);
        if !self.is_blocked(port, tube_mm, blocked) {
            return f64::INFINITY;
        }
        while blocked - open > GRAIN_MM {
            let middle = f64::midpoint(open, blocked);
            *if self.is_blocked(port, tube_mm, middle) { &mut blocked } else { &mut open } = middle;
        }
        blocked
    }

    /// Whether a tube ahead of a port certainly comes too near to something that it may not touch.
    fn is_blocked(&self, port: usize, tube_mm: f64, length_mm: f64) -> bool {
        // Where bodies may overlap, how deep a tube stands in one says little of the parts that make it up.
        if self.site.clearance_mm() < 0.0 {
            return false;
        }
        let (at, seats) = self.site.seat(port);
        let shape = Shape::Cylinder { diameter: 2.0 * tube_mm, length: length_mm };
        let Ok(tube) = Solid::new(&shape, at * along(length_mm / 2.0)) else { return false };
        // At the second port the chain may be off by the closure allowance. How it is rolled about its axis makes no
        // difference to a tube.
        let spare = if port == 0 { 0.0 } else { self.miss_mm + self.lean * (length_mm + tube_mm) };
        let within = self.site.clearance_mm() - spare - MARGIN_MM;
        let nearest = self.site.scene.nearest(&tube, within, |id| seats.contains(&id));
        nearest.is_some_and(|(_, separation)| separation.signed_mm < within)
    }
}

#[cfg(test)]
mod tests;
