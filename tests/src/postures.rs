//! The postures in which a sequence of parts closes exactly, and moving from one to the next.
//!
//! Newton's method on the frames of the oracles: the slope of the far end by a turn is the cross product with the axis
//! of that turn. Where the parts leave a freedom, the kernel of the slopes is the direction in which to move, and a
//! step along it is brought back by the shortest correction (predictor and corrector; Allgower and Georg 2003).

use crate::chain::{Problem, Step, is_bent, place};
use crate::frame::Frame;
use nalgebra::{DMatrix, DVector, Vector3};
use rand::{Rng, rngs::StdRng};
use std::f64::consts::{PI, TAU};

/// The turn of every bent part, in radians and in order, and then how far each adjustable part is drawn out, in arms of
/// 40 mm.
pub type Turns = DVector<f64>;

/// A sequence of parts between the ports of a problem.
#[derive(Clone, Debug)]
pub struct Linkage<'a> {
    /// The problem.
    pub problem: &'a Problem,
    steps: Vec<Step>,
    turning: Vec<usize>,
    /// The adjustable parts, and how far each can be drawn out, in arms.
    adjustable: Vec<(usize, f64)>,
    /// A turn that is held, and where.
    held: Option<(usize, f64)>,
}

/// Places count as much as directions at this length, in millimetres.
const ARM_MM: f64 = 40.0;
/// Most steps of Newton's method.
const MOST_STEPS: usize = 60;
/// Largest change of a turn in one of them, in radians.
const LONGEST_STEP: f64 = 0.4;
/// A posture that misses by less than this closes exactly; in arms of [`ARM_MM`].
const EXACT: f64 = 1e-11;
/// Slopes smaller than this, as a share of the largest, are none.
const RANK: f64 = 1e-7;

impl<'a> Linkage<'a> {
    /// The parts of `steps`, whatever their turns.
    #[must_use]
    pub fn new(problem: &'a Problem, steps: &[Step]) -> Self {
        let def = |index: usize| &problem.fittings[steps[index].part];
        let turning = (0..steps.len()).filter(|&index| is_bent(def(index))).collect();
        let adjustable = (0..steps.len()).filter_map(|index| Some((index, def(index).stretch_mm? / ARM_MM))).collect();
        Self { problem, steps: steps.to_vec(), turning, adjustable, held: None }
    }

    /// The same with one turn held at `angle`.
    #[must_use]
    pub fn holding(&self, turn: usize, angle: f64) -> Self {
        Self { held: Some((turn, angle)), ..self.clone() }
    }

    /// How many parts turn or are adjustable.
    #[must_use]
    pub fn count(&self) -> usize {
        self.turning.len() + self.adjustable.len()
    }

    /// Whether every adjustable part is drawn out by what it allows.
    #[must_use]
    pub fn is_within(&self, turns: &Turns) -> bool {
        let draws = turns.iter().skip(self.turning.len());
        self.adjustable.iter().zip(draws).all(|((_, most), draw)| (-1e-12..=most + 1e-12).contains(draw))
    }

    /// The turns of a chain of the same parts.
    #[must_use]
    pub fn turns(&self, steps: &[Step]) -> Turns {
        let turns = self.turning.iter().map(|&index| steps[index].turn);
        let draws = self.adjustable.iter().map(|&(index, _)| steps[index].stretch / ARM_MM);
        DVector::from_iterator(self.count(), turns.chain(draws))
    }

    /// The chain with these turns.
    #[must_use]
    pub fn steps(&self, turns: &Turns) -> Vec<Step> {
        let mut steps = self.steps.clone();
        for (&index, turn) in self.turning.iter().zip(turns.iter()) {
            steps[index].turn = *turn;
        }
        for (&(index, most), draw) in self.adjustable.iter().zip(turns.iter().skip(self.turning.len())) {
            steps[index].stretch = (draw * ARM_MM).clamp(0.0, most * ARM_MM);
        }
        steps
    }

    /// How far the chain misses the second port, and how that changes with each turn: place in arms, then direction, then
    /// the turn that is held.
    #[must_use]
    pub fn miss(&self, turns: &Turns) -> (DVector<f64>, DMatrix<f64>) {
        let mut steps = self.steps(turns);
        // Beyond what they allow too: Newton's method may come back.
        for (&(index, _), draw) in self.adjustable.iter().zip(turns.iter().skip(self.turning.len())) {
            steps[index].stretch = draw * ARM_MM;
        }
        let mut here = self.problem.from.frame;
        let mut axes: Vec<Frame> = Vec::with_capacity(self.turning.len());
        let mut draws: Vec<Vector3<f64>> = Vec::with_capacity(self.adjustable.len());
        for (index, step) in steps.iter().enumerate() {
            if self.turning.contains(&index) {
                axes.push(here);
            }
            if self.adjustable.iter().any(|each| each.0 == index) {
                draws.push(here.z());
            }
            here = place(&self.problem.fittings[step.part], step, &here).exit;
        }
        let port = &self.problem.to.frame;
        let all = |place: Vector3<f64>, direction: Vector3<f64>, held: f64| {
            let place = place / ARM_MM;
            DVector::from_column_slice(&[place.x, place.y, place.z, direction.x, direction.y, direction.z, held])
        };
        let column = |(turn, axis): (usize, &Frame)| {
            let held = self.held.map_or(0.0, |(which, _)| if which == turn { 1.0 } else { 0.0 });
            all(axis.z().cross(&(here.at - axis.at)), axis.z().cross(&here.z()), held)
        };
        let drawn = draws.iter().map(|along| all(along * ARM_MM, Vector3::zeros(), 0.0));
        let columns: Vec<DVector<f64>> = axes.iter().enumerate().map(column).chain(drawn).collect();
        let slopes = if columns.is_empty() { DMatrix::zeros(7, 0) } else { DMatrix::from_columns(&columns) };
        let off = self.held.map_or(0.0, |(turn, angle)| turns[turn] - angle);
        (all(here.at - port.at, here.z() + port.z(), off), slopes)
    }

    /// The posture that closes exactly nearest to `turns`, if Newton's method finds one.
    #[must_use]
    pub fn close(&self, turns: &Turns) -> Option<Turns> {
        let mut turns = turns.clone();
        for _ in 0..MOST_STEPS {
            let (miss, slopes) = self.miss(&turns);
            if miss.norm() < EXACT {
                return self.is_within(&turns).then_some(turns);
            }
            let svd = slopes.svd(true, true);
            let least = svd.singular_values.max() * RANK;
            let mut step = svd.solve(&miss, least).ok()?;
            let longest = step.amax();
            if longest > LONGEST_STEP {
                step *= LONGEST_STEP / longest;
            }
            turns -= step;
        }
        None
    }

    /// Directions in which the turns may change while the chain stays closed, each of length one and square to the others.
    #[must_use]
    pub fn freedoms(&self, turns: &Turns) -> Vec<Turns> {
        let (_, slopes) = self.miss(turns);
        let svd = slopes.svd(false, true);
        let Some(right) = svd.v_t else { return Vec::new() };
        let least = svd.singular_values.max() * RANK * 10.0;
        (0..svd.singular_values.len())
            .filter(|&index| svd.singular_values[index] < least)
            .map(|index| right.row(index).transpose())
            .collect()
    }

    /// The exact posture about `by` radians from `turns` in the given direction, if there is one.
    #[must_use]
    pub fn go(&self, turns: &Turns, direction: &Turns, by: f64) -> Option<Turns> {
        let next = self.close(&(turns + direction * by))?;
        let went = (&next - turns).norm();
        (went > 0.3 * by.abs() && went < 3.0 * by.abs()).then_some(next)
    }

    /// The exact posture about `by` radians ahead, and the direction that leads on from there the same way.
    #[must_use]
    pub fn stride(&self, turns: &Turns, ahead: &Turns, by: f64) -> Option<(Turns, Turns)> {
        let next = self.go(turns, ahead, by)?;
        let went = &next - turns;
        let kernel = self.freedoms(&next);
        let along = kernel.iter().fold(DVector::zeros(self.count()), |sum, each| sum + each * each.dot(&went));
        (along.norm() > 0.2 * went.norm()).then(|| (next, along.normalize()))
    }

    /// The postures along one way from `turns`, about `by` radians apart, as many as `most`.
    #[must_use]
    pub fn walk(&self, turns: &Turns, direction: &Turns, by: f64, most: usize) -> Vec<Turns> {
        let mut found: Vec<Turns> = Vec::new();
        let (mut here, mut ahead) = (turns.clone(), direction.clone());
        while found.len() < most {
            let Some((next, onward)) = self.stride(&here, &ahead, by) else { break };
            (here, ahead) = (next, onward);
            found.push(here.clone());
        }
        found
    }

    /// Exact postures from random turns: of `tries`, those that Newton's method closes.
    #[must_use]
    pub fn scatter(&self, rng: &mut StdRng, tries: usize) -> Vec<Turns> {
        let any = |rng: &mut StdRng| {
            DVector::from_fn(self.count(), |index, _| {
                let most = index.checked_sub(self.turning.len()).map_or(TAU, |draw| self.adjustable[draw].1);
                rng.random_range(0.0..most)
            })
        };
        (0..tries).filter_map(|_| self.close(&any(rng))).collect()
    }

    /// The largest difference of any turn, in radians from 0 to π.
    #[must_use]
    pub fn apart(one: &Turns, other: &Turns) -> f64 {
        (one - other).iter().map(|by| ((by + PI).rem_euclid(TAU) - PI).abs()).fold(0.0, f64::max)
    }
}
