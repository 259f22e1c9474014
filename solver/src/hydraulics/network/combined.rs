//! How far flows lie apart where doubts are errors that seldom are at their worst together.

use super::{
    NetworkError,
    doubts::Doubt,
    flow_sum::FlowSum,
    solve::{Solver, State},
};
use crate::hydraulics::{Formula, doubt::Stance};

/// How far below and above its likely value a sum of flows lies, in m³/s.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spread {
    pub(super) less: f64,
    pub(super) more: f64,
}

/// The mean of a normal error of which each side has its own width, as a share of the sum of what two standard
/// deviations on either side change: half of the mean of a half normal error, `√(2/π)`, at half a width each.
const MEAN_SHARE: f64 = 0.199_471_140_200_716_35;

/// Sums up what doubts change, one by one.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    squares: f64,
    mean: f64,
}

impl Sum {
    fn add(&mut self, at_least: f64, at_most: f64) {
        self.squares += at_least.abs().max(at_most.abs()).powi(2);
        self.mean += MEAN_SHARE * (at_least + at_most);
    }

    fn spread(self) -> Spread {
        let root = self.squares.sqrt();
        Spread { less: root - self.mean.min(0.0), more: root + self.mean.max(0.0) }
    }
}

/// The spread of each sum of flows.
pub(super) fn combined(
    solver: &mut Solver<'_>,
    likely: &State,
    doubts: &[Doubt],
    sums: &[FlowSum],
) -> Result<Vec<Spread>, NetworkError> {
    let Some(response) = solver.response(likely) else { return Ok(vec![Spread::default(); sums.len()]) };
    let doubted_pa = solver.network.doubted_pa(doubts, &likely.flows);
    let effects: Vec<Vec<f64>> = sums.iter().map(|sum| response.of(&sum.loops, &solver.graph)).collect();
    let slight = |sum: usize, doubt: usize| doubted_pa[doubt].map(|pa| effects[sum][doubts[doubt].part.index()] * pa);

    let likely_sums: Vec<f64> = sums.iter().map(|sum| sum.of(&likely.flows)).collect();

    // One error for each formula, and one for everything that stands alone.
    let mut errors: Vec<Vec<usize>> = Vec::new();
    for formula in Formula::ALL.into_iter().filter(|formula| formula.is_shared()) {
        errors.push((0..doubts.len()).filter(|&doubt| doubts[doubt].formula == formula).collect());
    }
    let mut alone: Vec<usize> = (0..doubts.len()).filter(|&doubt| !doubts[doubt].formula.is_shared()).collect();
    let weight = |doubt: usize| -> f64 {
        let share = |sum: usize| {
            let [least, most] = slight(sum, doubt);
            least.abs().max(most.abs()) / likely_sums[sum].abs().max(f64::MIN_POSITIVE)
        };
        (0..sums.len()).map(share).fold(0.0, f64::max)
    };
    alone.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)).then(a.cmp(&b)));
    let light = alone.split_off(alone.len().min(MOST_SOLVED));
    errors.extend(alone.iter().map(|&doubt| vec![doubt]));

    let [mut together, mut apart] = [(); 2].map(|()| vec![Sum::default(); sums.len()]);
    for error in errors.iter().filter(|error| !error.is_empty()) {
        let shared = doubts[error[0]].formula.is_shared();
        let mut flows = [const { Vec::new() }; 2];
        for (flows, place) in flows.iter_mut().zip([-1.0, 1.0]) {
            solver.stances = vec![Stance::LIKELY; likely.flows.len()];
            for &doubt in error {
                let stance = &mut solver.stances[doubts[doubt].part.index()];
                *stance = stance.with(doubts[doubt].formula, place);
            }
            *flows = solver.solve(Some(likely))?.flows;
        }
        for (index, sum) in sums.iter().enumerate() {
            let [least, most] = [0, 1].map(|end: usize| sum.of(&flows[end]) - likely_sums[index]);
            together[index].add(least, most);
            if !shared {
                apart[index].add(least, most);
            }
        }
    }
    solver.stances = vec![Stance::LIKELY; likely.flows.len()];
    for index in 0..sums.len() {
        for &doubt in &light {
            let [least, most] = slight(index, doubt);
            together[index].add(least, most);
            apart[index].add(least, most);
        }
        for doubt in (0..doubts.len()).filter(|&doubt| doubts[doubt].formula.is_shared()) {
            let [least, most] = slight(index, doubt);
            apart[index].add(least, most);
        }
    }
    let wider = |(together, apart): (&Sum, &Sum)| {
        let (together, apart) = (together.spread(), apart.spread());
        Spread { less: together.less.max(apart.less), more: together.more.max(apart.more) }
    };
    Ok(together.iter().zip(&apart).map(wider).collect())
}

/// How many doubts that stand alone are tried out by solving the circuit with them, those that change most; the slopes
/// serve for the rest, which change little.
const MOST_SOLVED: usize = 24;
