//! Chains that close, before they are spelled out in parts.

use crate::bridge::{
    closure::{Posture, Residual, Skeleton},
    stock::{Run, RunKey, Stock, TurnId},
};

/// A run as it is tried.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Laid {
    pub(in crate::bridge) run: Run,
    pub(in crate::bridge) parts: usize,
    pub(in crate::bridge) length: f64,
}

/// A chain that closes, named only by classes: the turning links in order, the run before each and the last run, and
/// every posture found.
#[derive(Clone, Debug)]
pub(in crate::bridge) struct Closed {
    pub(in crate::bridge) loss: u64,
    pub(in crate::bridge) turns: Vec<TurnId>,
    pub(in crate::bridge) runs: Vec<Laid>,
    pub(in crate::bridge) postures: Vec<(Posture, Residual)>,
}

impl Closed {
    pub(in crate::bridge) fn skeleton<'s>(&self, stock: &'s Stock) -> Skeleton<'s> {
        skeleton(stock, &self.turns, &self.runs)
    }

    /// The same for chains of the same classes over the same runs, whatever lengths their adjustable parts have.
    pub(in crate::bridge) fn key(&self) -> (Vec<TurnId>, Vec<(usize, RunKey)>) {
        (self.turns.clone(), self.runs.iter().map(|laid| (laid.parts, laid.run.key())).collect())
    }

    /// Gives back the memory that its lists were given to grow into.
    pub(in crate::bridge) fn shrink(&mut self) {
        self.turns.shrink_to_fit();
        self.runs.shrink_to_fit();
        self.postures.shrink_to_fit();
    }

    /// Sets the runs of fixed length in every posture, which may be that of a chain of identical geometry.
    pub(in crate::bridge) fn lay_runs(&mut self) {
        for (posture, _) in &mut self.postures {
            let fixed = self.runs.iter().zip(&mut posture.runs);
            fixed.filter(|(laid, _)| laid.run.span.is_fixed()).for_each(|(laid, length)| *length = laid.length);
        }
    }

    /// Whether further postures would be kept.
    pub(in crate::bridge) fn has_room(&self) -> bool {
        self.postures.len() < MOST_POSTURES
    }

    /// Adds a posture unless it is there already or there are enough of them.
    pub(in crate::bridge) fn add(&mut self, posture: Posture, residual: Residual) {
        if !self.has_room() {
            return;
        }
        let count = self.turns.len();
        let same = |other: &Posture| {
            let turn = |i: usize| {
                let difference = (posture.turns[i] - other.turns[i]).rem_euclid(std::f64::consts::TAU);
                difference.min(std::f64::consts::TAU - difference) < SAME_TURN
            };
            (0..count).all(turn)
        };
        if !self.postures.iter().any(|(other, _)| same(other)) {
            self.postures.push((posture, residual));
        }
    }
}

/// Postures kept of one chain. Chains that cannot swing have a handful; of those that can, the walk along their continuum
/// finds the rest, and keeping thousands would only be slow.
const MOST_POSTURES: usize = 32;

/// Turns closer than this are one posture, in radians: a third of a degree, inside what the allowance itself hides.
const SAME_TURN: f64 = 0.006;

pub(in crate::bridge) fn skeleton<'s>(stock: &'s Stock, turns: &[TurnId], runs: &[Laid]) -> Skeleton<'s> {
    let mut skeleton = Skeleton::EMPTY;
    skeleton.count = turns.len();
    turns.iter().zip(&mut skeleton.turns).for_each(|(id, turn)| *turn = &stock.turns[*id].turn);
    for (index, laid) in runs.iter().enumerate() {
        skeleton.runs[index] = laid.run.span;
        skeleton.tried[index] = laid.length;
    }
    skeleton
}
