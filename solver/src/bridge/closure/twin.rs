//! Two offsets in one chain: with the directions of all runs known, two sideways steps of fixed lengths, each square to
//! its own run, must make up what the runs leave over.
//!
//! That is three equations for two turns: one turn follows from one of them, the other from the step that is then left,
//! and the third equation is the test. Which equation serves first depends on how the two runs lie to each other; in
//! one line it can only be the distance.

use super::few::{Comb, any_square_to};
use crate::geometry::Vector;

/// Two offsets and the directions of the runs they sit in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Twin {
    pub(super) runs: [Vector; 2],
    /// How far each steps aside.
    pub(super) steps: [f64; 2],
}

/// The equation from which the first step's turn is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum First {
    /// What it leaves over must be square to the second run.
    Square,
    /// What it leaves over must be as long as the second step.
    Distance,
}

impl Twin {
    /// Proposes the two steps that make up `rest` to within `play`.
    pub(super) fn steps(&self, rest: &Vector, play: f64, mut propose: impl FnMut([Vector; 2])) {
        if rest.norm() > self.steps[0] + self.steps[1] + play {
            return;
        }
        let combs = [First::Square, First::Distance].map(|first| self.comb(first, rest, play));
        let [Some(square), Some(distance)] = combs else { return };
        let comb = if square.0.gap < distance.0.gap { square } else { distance };
        let (comb, u, v) = comb;
        for turn in comb.angles().flat_map(|turn| [turn, -turn]) {
            let one = (u * turn.cos() + v * turn.sin()) * self.steps[0];
            let other = rest - one;
            let play = play + comb.gap * self.steps[0];
            if other.dot(&self.runs[1]).abs() <= play && (other.norm() - self.steps[1]).abs() <= play {
                propose([one, other]);
            }
        }
    }

    /// The two choices of steps that satisfy the `first` equation and how far they miss the other, in millimetres.
    pub(super) fn branches(&self, first: First, rest: &Vector, play: f64) -> [Option<(f64, [Vector; 2])>; 2] {
        if rest.norm() > self.steps[0] + self.steps[1] + play {
            return [None; 2];
        }
        let (u, v, value, weight, lean) = self.equation(first, rest, play);
        if value.abs() > weight + lean {
            return [None; 2];
        }
        let cos = (value / weight.max(1e-9)).clamp(-1.0, 1.0);
        let sin = (1.0 - cos * cos).sqrt();
        [sin, -sin].map(|sin| {
            let one = (u * cos + v * sin) * self.steps[0];
            let other = rest - one;
            let miss = match first {
                First::Square => other.norm() - self.steps[1],
                First::Distance => other.dot(&self.runs[1]),
            };
            Some((miss, [one, other]))
        })
    }

    fn comb(&self, first: First, rest: &Vector, play: f64) -> Option<(Comb, Vector, Vector)> {
        let (u, v, value, weight, lean) = self.equation(first, rest, play);
        Comb::new(value, weight, lean).map(|comb| (comb, u, v))
    }

    /// `weight * cos(turn) = value`, give or take `lean`, for the turn of the first step from `u` towards `v`.
    fn equation(&self, first: First, rest: &Vector, play: f64) -> (Vector, Vector, f64, f64, f64) {
        let [run, other] = &self.runs;
        let [step, left] = self.steps;
        let (target, value, lean) = match first {
            First::Square => (other * step, rest.dot(other), play),
            First::Distance => {
                let value = (rest.norm_squared() + step * step - left * left) / (2.0 * step.max(1e-9));
                (*rest, value, play * (left + play) / step.max(1e-9))
            }
        };
        let across = target - run * target.dot(run);
        let weight = across.norm();
        let u = if weight > 1e-9 { across / weight } else { any_square_to(run) };
        (u, run.cross(&u), value, weight, lean)
    }
}
