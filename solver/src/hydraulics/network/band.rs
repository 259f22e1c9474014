//! Between which bounds the flows lie.

use super::{
    Network, NetworkError,
    combined::combined,
    doubts::Doubt,
    flow_sum::FlowSum,
    solve::{Response, Solver, State},
};
use crate::hydraulics::doubt::Stance;

/// The flow through a part, along its stated direction, and its bounds.
///
/// Both pairs count in the direction of the likely flow: "low" is less of it, perhaps even a flow the other way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowBand {
    /// The likely value, in m³/s.
    pub likely_m3_s: f64,
    /// The least, in m³/s, with every doubt at its worst for it.
    pub low_m3_s: f64,
    /// The most, in m³/s, with every doubt at its best for it.
    pub high_m3_s: f64,
    /// The least where doubts are taken as errors that seldom are at their worst together, in m³/s.
    pub combined_low_m3_s: f64,
    /// The most so, in m³/s.
    pub combined_high_m3_s: f64,
}

/// The bounds of all flows of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// Those of each part, in their order.
    pub parts: Vec<FlowBand>,
    /// Those of the flow that comes round, as in [`Outcome::circuit_flow_m3_s`](super::Outcome::circuit_flow_m3_s).
    pub circuit: FlowBand,
}

impl Network {
    /// The flow through each part and between which bounds it lies, in the order of the parts, and that of the circuit.
    ///
    /// Each doubt of each part stands by itself: losses of bends and bores, the legs of tees one by one, what close bends
    /// do to each other, tables and pump curves; see [`Network::doubts`].
    ///
    /// *Worst case*: for each branch the circuit is solved again with every doubt at that end that brings the branch less
    /// (or more). Which end that is follows from the slopes, at the likely flows first and then at the flows found, until
    /// it stays the same.
    ///
    /// *Combined*: the root of the sum of the squares of what each doubt alone changes, taking the larger of its two
    /// changes, and on the side to which changes are lopsided wider by the mean of that. Doubts that are one formula's are
    /// one error once and an error for each part another time, and the wider of both counts. If doubts are two standard
    /// deviations of normal errors, 95 % lie inside.
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn bands(&self) -> Result<Bands, NetworkError> {
        let mut solver = Solver::new(self)?;
        let likely = solver.solve(None)?;
        let doubts = self.doubts();
        let mut parts: Vec<FlowBand> = likely.flows.iter().copied().map(FlowBand::exact).collect();
        let mut sums = FlowSum::branches(&solver);
        sums.push(FlowSum::busiest(&solver, &likely.flows));
        let mut circuit = FlowBand::exact(sums[sums.len() - 1].of(&likely.flows));
        let spreads = combined(&mut solver, &likely, &doubts, &sums)?;
        let mut search = Search::new(&solver, &likely, &doubts);
        for (sum, spread) in sums.iter().zip(spreads).filter(|(sum, _)| !sum.loops.is_empty()) {
            let flow = sum.of(&likely.flows);
            let forward = if flow < 0.0 { -1.0 } else { 1.0 };
            let [low, high] = [-forward, forward].map(|wanted| search.extreme(&mut solver, sum, wanted));
            let (low, high) = (low?, high?);
            let [less, more] = if forward > 0.0 { [spread.less, spread.more] } else { [spread.more, spread.less] };
            // What is combined is never worse than the worst.
            let within = |value: f64| value.clamp(low.min(high), low.max(high));
            let band = FlowBand {
                likely_m3_s: flow,
                low_m3_s: low,
                high_m3_s: high,
                combined_low_m3_s: within(flow - forward * less),
                combined_high_m3_s: within(flow + forward * more),
            };
            if sum.members.is_empty() {
                circuit = band;
            }
            sum.members.iter().for_each(|&(part, sign)| parts[part] = band.times(sign));
        }
        Ok(Bands { parts, circuit })
    }

    /// The bands of the parts alone; see [`Network::bands`].
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn flow_bands(&self) -> Result<Vec<FlowBand>, NetworkError> {
        Ok(self.bands()?.parts)
    }
}

impl FlowBand {
    fn exact(flow: f64) -> Self {
        Self { likely_m3_s: flow, low_m3_s: flow, high_m3_s: flow, combined_low_m3_s: flow, combined_high_m3_s: flow }
    }

    /// The same with every flow times a factor, such as -1 for the other direction.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            likely_m3_s: factor * self.likely_m3_s,
            low_m3_s: factor * self.low_m3_s,
            high_m3_s: factor * self.high_m3_s,
            combined_low_m3_s: factor * self.combined_low_m3_s,
            combined_high_m3_s: factor * self.combined_high_m3_s,
        }
    }
}

/// Looks for the extremes of sums of flows, one after the other.
struct Search<'a> {
    likely: &'a State,
    doubts: &'a [Doubt],
    /// How flows answer at the likely state, and what is doubted there.
    response: Option<Response>,
    doubted_pa: Vec<[f64; 2]>,
    /// Where the last search for the least and for the most ended: neighbouring branches have theirs near each other.
    ended: [State; 2],
}

impl<'a> Search<'a> {
    fn new(solver: &Solver<'_>, likely: &'a State, doubts: &'a [Doubt]) -> Self {
        Self {
            likely,
            doubts,
            response: solver.response(likely),
            doubted_pa: solver.network.doubted_pa(doubts, &likely.flows),
            ended: [likely.clone(), likely.clone()],
        }
    }

    /// The most (`wanted` 1) or least (-1) of a sum of flows.
    fn extreme(&mut self, solver: &mut Solver<'_>, sum: &FlowSum, wanted: f64) -> Result<f64, NetworkError> {
        /// Once settles nearly every circuit; several pumps against each other may take another.
        const MAX_ROUNDS: usize = 4;
        let likely_stances = vec![Stance::LIKELY; self.likely.flows.len()];
        let ended = usize::from(wanted > 0.0);
        let mut furthest = sum.of(&self.likely.flows);
        let mut stances = self.toward(solver, sum, wanted, self.response.as_ref(), &self.doubted_pa);
        for _ in 0..MAX_ROUNDS {
            solver.stances = stances;
            self.ended[ended] = solver.solve(Some(&self.ended[ended]))?;
            let state = &self.ended[ended];
            let reached = sum.of(&state.flows);
            if (reached - furthest) * wanted > 0.0 {
                furthest = reached;
            }
            let doubted_pa = solver.network.doubted_pa(self.doubts, &state.flows);
            stances = self.toward(solver, sum, wanted, solver.response(state).as_ref(), &doubted_pa);
            if stances == solver.stances {
                break;
            }
        }
        solver.stances = likely_stances;
        Ok(furthest)
    }

    /// For each doubt, the end that moves a sum of flows the wanted way.
    fn toward(
        &self,
        solver: &Solver<'_>,
        sum: &FlowSum,
        wanted: f64,
        response: Option<&Response>,
        doubted_pa: &[[f64; 2]],
    ) -> Vec<Stance> {
        let mut stances = vec![Stance::LIKELY; self.likely.flows.len()];
        let Some(response) = response else { return stances };
        let effects = response.of(&sum.loops, &solver.graph);
        for (doubt, [least, most]) in self.doubts.iter().zip(doubted_pa) {
            let index = doubt.part.index();
            let place = if effects[index] * (most - least) * wanted > 0.0 { 1.0 } else { -1.0 };
            stances[index] = stances[index].with(doubt.formula, place);
        }
        stances
    }
}
