//! Finds the flows at which the pressures close around every loop.
//!
//! Each part's pressure loss grows with its flow, so the flows sought are where a convex function of the loop flows
//! (the sum of the integrals of all losses) is least: there is one answer, and Newton's method with a line search
//! finds it from anywhere. Two ways of stepping alternate. A full Newton step is taken as long as it halves what is
//! left of the loop pressures, which can go on only until it is small enough. When one fails to, steps go to (just
//! short of) the least value along the Newton direction, found by bracketing, until what is left is half of the
//! least seen so far. These lower the convex function each time, so they come as near to the answer as wanted, and
//! full steps take over again.
//!
//! The loss in a tee depends on two flows and has no such integral. It is therefore held still while the rest is
//! solved, worked out anew from the flows found, and so on until it stays the same.

use super::{Network, NetworkError, PartId, graph::Graph};
use crate::hydraulics::loss::{Loss, Side};
use nalgebra::{DMatrix, DVector};

/// What may be left of a loop's pressures, as a share of the sum of all pressures around it; a microbar in a typical
/// circuit is 1e-6. Rounding of the flows themselves is allowed for apart from it.
const LOOP_ACCURACY: f64 = 1e-12;

/// Rounding of a part's flow as a share of the largest flow: it is a sum of a few loop flows that may be larger.
const FLOW_ROUNDING: f64 = 16.0 * f64::EPSILON;

/// When the losses of tees count as settled: as a share of the largest pressure. They are known to ±40 %.
const TEE_ACCURACY: f64 = 1e-7;

/// By how much loops need to close less well while the tees still change.
const WHILE_UNSETTLED: f64 = 1e5;

/// Bound on Newton steps. Circuits of this trade take 4 to 15; a branch in which nothing flows through square-law
/// losses alone gains one bit a step and takes about 30.
const MAX_STEPS: usize = 400;

/// Bound on rounds of working the tees out anew. Each round leaves a tenth to a half of the change before it.
const MAX_ROUNDS: usize = 80;

/// Least slope, as a share of the largest: keeps the equations solvable where nothing flows.
const LEAST_SLOPE: f64 = 1e-13;

/// A circuit made ready to be solved, perhaps with one loop's flow held at a given value.
pub(super) struct Solver<'a> {
    pub(super) network: &'a Network,
    pub(super) graph: Graph,
    /// Which end of its uncertainty each part takes.
    pub(super) sides: Vec<Side>,
    held: Option<(usize, f64)>,
}

/// The state of all parts at some loop flows.
#[derive(Clone, Debug)]
pub(super) struct State {
    /// Flow in each loop, in m³/s.
    pub(super) loop_flows: DVector<f64>,
    /// Flow in each part, in m³/s.
    pub(super) flows: Vec<f64>,
    /// Loss in each part, without the split of tees.
    pub(super) losses: Vec<Loss>,
    /// What the split of a tee adds to each part, in Pa.
    pub(super) tee_pa: Vec<f64>,
    /// Sum of the losses around each loop, in Pa: zero at the answer.
    pub(super) left: DVector<f64>,
    pub(super) steps: usize,
    pub(super) bracketed_steps: usize,
    /// For each tee, by how much its losses still change, in Pa.
    pub(super) tee_changes: Vec<f64>,
}

impl<'a> Solver<'a> {
    /// Checks the circuit and works out its loops.
    pub(super) fn new(network: &'a Network) -> Result<Self, NetworkError> {
        Self::with_last(network, None)
    }

    /// The same with one part, if it is in a loop, made the one that closes a loop.
    pub(super) fn with_last(network: &'a Network, last: Option<PartId>) -> Result<Self, NetworkError> {
        let graph = Graph::new(network, last)?;
        let driven = network.parts.iter().any(super::Part::has_running_pump)
            || network.nodes.iter().any(|node| node.supply_m3_s != 0.0);
        if !driven {
            let off = network.parts.iter().filter(|part| part.pumps().next().is_some());
            return Err(NetworkError::NoPump { off: off.map(|part| part.name.clone()).collect() });
        }
        Ok(Self { network, sides: vec![Side::Likely; network.parts.len()], graph, held: None })
    }

    /// Holds the flow of one loop.
    pub(super) fn hold(&mut self, loop_index: usize, flow: f64) {
        self.held = Some((loop_index, flow));
    }

    /// Solves from a guess of its own, or from the state of a circuit of the same shape.
    pub(super) fn solve(&self, near: Option<&State>) -> Result<State, NetworkError> {
        let mut state = match near {
            Some(near) => self.at(&near.loop_flows, &near.tee_pa),
            None => self.guess(),
        };
        if !self.network.tees.is_empty() {
            self.settle_tees(&mut state)?;
        }
        self.close_loops(&mut state, 1.0)?;
        Ok(state)
    }

    /// Works the losses of the tees out anew from the flows until they stay the same, or have been tried often enough.
    fn settle_tees(&self, state: &mut State) -> Result<(), NetworkError> {
        let (mut share, mut change_before) = (1.0, f64::INFINITY);
        for _ in 0..MAX_ROUNDS {
            self.close_loops(state, WHILE_UNSETTLED)?;
            let (wanted, changes) = self.tee_losses(state);
            let change = changes.iter().copied().fold(0.0, f64::max);
            state.tee_changes = changes;
            if change <= TEE_ACCURACY * self.pressure_scale(state) {
                break;
            }
            // Rounds that swing to and fro are halved until they settle.
            if change > 0.7 * change_before && share > 0.05 {
                share *= 0.5;
            }
            change_before = change;
            let tee_pa: Vec<f64> =
                state.tee_pa.iter().zip(&wanted).map(|(now, wanted)| now + share * (wanted - now)).collect();
            let next = self.at(&state.loop_flows, &tee_pa);
            *state = State {
                steps: state.steps,
                bracketed_steps: state.bracketed_steps,
                tee_changes: std::mem::take(&mut state.tee_changes),
                ..next
            };
        }
        Ok(())
    }

    /// By how much each loop's flow grows when 1 Pa more is lost in each part: the columns are parts.
    pub(super) fn response(&self, state: &State) -> DMatrix<f64> {
        let loops = self.graph.loops.len();
        let mut members = DMatrix::zeros(loops, self.graph.ends.len());
        for (row, parts) in self.graph.loops.iter().enumerate() {
            for &(part, sign) in parts {
                members[(row, part)] = -sign;
            }
        }
        self.stiffness(&state.losses)
            .cholesky()
            .map_or_else(|| DMatrix::zeros(loops, self.graph.ends.len()), |factors| factors.solve(&members))
    }

    /// Every part's flow, loss and slope at given loop flows.
    fn at(&self, loop_flows: &DVector<f64>, tee_pa: &[f64]) -> State {
        let mut loop_flows = loop_flows.clone();
        if let Some((index, flow)) = self.held {
            loop_flows[index] = flow;
        }
        let mut flows = self.graph.base_flows.clone();
        for (parts, flow) in self.graph.loops.iter().zip(loop_flows.iter()) {
            for &(part, sign) in parts {
                flows[part] += sign * flow;
            }
        }
        let losses: Vec<Loss> = (0..flows.len()).map(|part| self.part_loss(part, flows[part])).collect();
        let mut left = DVector::from_iterator(
            self.graph.loops.len(),
            self.graph
                .loops
                .iter()
                .map(|parts| parts.iter().map(|&(part, sign)| sign * (losses[part].pa + tee_pa[part])).sum::<f64>()),
        );
        if let Some((index, _)) = self.held {
            left[index] = 0.0;
        }
        State {
            loop_flows,
            flows,
            losses,
            tee_pa: tee_pa.to_vec(),
            left,
            steps: 0,
            bracketed_steps: 0,
            tee_changes: vec![0.0; self.network.tees.len()],
        }
    }

    fn part_loss(&self, part: usize, flow: f64) -> Loss {
        let (coolant, side) = (&self.network.coolant, self.sides[part]);
        let elements = &self.network.parts[part].elements;
        elements.iter().fold(Loss::default(), |sum, element| sum.plus(element.loss(flow, coolant, side)))
    }

    /// Flows of the circuit with every part made linear at a typical flow: the right size and direction.
    fn guess(&self) -> State {
        let pumps = self.network.parts.iter().flat_map(super::Part::pumps).filter(|pump| pump.is_on());
        let pumped = pumps.map(|pump| 0.5 * pump.last_flow_m3_s()).fold(0.0, f64::max);
        let supplied = self.graph.base_flows.iter().copied().map(f64::abs).fold(0.0, f64::max);
        let typical = pumped.max(supplied);
        let chords: Vec<Loss> = (0..self.graph.ends.len())
            .map(|part| {
                let (rest, moving) = (self.part_loss(part, 0.0).pa, self.part_loss(part, typical).pa);
                let slope = ((moving - rest) / typical).max(0.0);
                Loss { pa: rest + slope * self.graph.base_flows[part], slope }
            })
            .collect();
        let left = DVector::from_iterator(
            self.graph.loops.len(),
            self.graph.loops.iter().map(|parts| parts.iter().map(|&(part, sign)| sign * chords[part].pa).sum::<f64>()),
        );
        let flows =
            self.stiffness(&chords).cholesky().map_or_else(|| left.clone() * 0.0, |factors| -factors.solve(&left));
        self.at(&flows, &vec![0.0; self.graph.ends.len()])
    }

    /// Derivative of the loop pressures by the loop flows: symmetric and positive definite.
    fn stiffness(&self, losses: &[Loss]) -> DMatrix<f64> {
        let steepest = losses.iter().map(|loss| loss.slope).fold(0.0, f64::max);
        let least = if steepest > 0.0 { steepest * LEAST_SLOPE } else { 1.0 };
        let count = self.graph.loops.len();
        let mut matrix = DMatrix::zeros(count, count);
        let mut sign_in_loop = vec![0.0; losses.len()];
        for (row, parts) in self.graph.loops.iter().enumerate() {
            for &(part, sign) in parts {
                sign_in_loop[part] = sign;
            }
            for column in 0..=row {
                let shared = self.graph.loops[column].iter();
                let sum: f64 =
                    shared.map(|&(part, sign)| sign * sign_in_loop[part] * losses[part].slope.max(least)).sum();
                matrix[(row, column)] = sum;
                matrix[(column, row)] = sum;
            }
            for &(part, _) in parts {
                sign_in_loop[part] = 0.0;
            }
        }
        if let Some((index, _)) = self.held {
            matrix.row_mut(index).fill(0.0);
            matrix.column_mut(index).fill(0.0);
            matrix[(index, index)] = 1.0;
        }
        matrix
    }

    /// Steps until the loops close, `times` less well than they could.
    fn close_loops(&self, state: &mut State, times: f64) -> Result<(), NetworkError> {
        let mut least_left = f64::INFINITY;
        let mut full_steps = true;
        while !self.is_closed(state, times) {
            if state.steps >= MAX_STEPS {
                return Err(self.not_converged(state));
            }
            least_left = least_left.min(state.left.amax());
            let Some(factors) = self.stiffness(&state.losses).cholesky() else {
                return Err(self.not_converged(state));
            };
            let direction = -factors.solve(&state.left);
            if full_steps {
                let next = self.at(&(&state.loop_flows + &direction), &state.tee_pa);
                if next.left.amax() <= 0.5 * state.left.amax() || self.is_closed(&next, times) {
                    self.advance(state, next, false);
                    continue;
                }
            }
            let Some(next) = self.least_along(state, &direction) else {
                // No number between here and the answer is left: this is as near as an `f64` comes.
                return if self.is_closed(state, 1e3 * times) { Ok(()) } else { Err(self.not_converged(state)) };
            };
            self.advance(state, next, true);
            full_steps = state.left.amax() <= 0.5 * least_left;
        }
        Ok(())
    }

    fn advance(&self, state: &mut State, next: State, bracketed: bool) {
        let (steps, bracketed_steps) = (state.steps + 1, state.bracketed_steps + usize::from(bracketed));
        let tee_changes = std::mem::take(&mut state.tee_changes);
        *state = State { steps, bracketed_steps, tee_changes, ..next };
    }

    /// The point along a direction of descent where the convex function is all but least, on the near side of it.
    fn least_along(&self, state: &State, direction: &DVector<f64>) -> Option<State> {
        let slope_here = state.left.dot(direction);
        if !slope_here.is_finite() || slope_here >= 0.0 {
            return None;
        }
        let at = |distance: f64| self.at(&(&state.loop_flows + direction * distance), &state.tee_pa);
        // A state short of the least value, and a distance beyond it.
        let (mut near, mut near_distance, mut near_slope): (Option<State>, f64, f64) = (None, 0.0, slope_here);
        let (mut far_distance, mut far_slope) = (1.0, f64::NAN);
        for _ in 0..64 {
            let beyond = at(far_distance);
            far_slope = beyond.left.dot(direction);
            if far_slope > 0.0 || !far_slope.is_finite() {
                break;
            }
            (near, near_distance, near_slope) = (Some(beyond), far_distance, far_slope);
            if near_slope >= 0.25 * slope_here {
                return near;
            }
            far_distance *= 2.0;
        }
        for round in 0..200 {
            if near_slope >= 0.25 * slope_here && near.is_some() {
                break;
            }
            // By turns where the chord meets zero, a little short, and the middle.
            let chord = near_distance + (far_distance - near_distance) * near_slope / (near_slope - far_slope) * 0.95;
            let middle = f64::midpoint(near_distance, far_distance);
            let distance = if round % 2 == 0 && chord > near_distance && chord < far_distance { chord } else { middle };
            if distance <= near_distance || distance >= far_distance {
                break;
            }
            let there = at(distance);
            let slope = there.left.dot(direction);
            if slope <= 0.0 {
                (near, near_distance, near_slope) = (Some(there), distance, slope);
            } else {
                (far_distance, far_slope) = (distance, slope);
            }
        }
        near
    }

    fn is_closed(&self, state: &State, times: f64) -> bool {
        let largest = state.loop_flows.iter().chain(&state.flows).copied().map(f64::abs).fold(0.0, f64::max);
        self.graph.loops.iter().zip(state.left.iter()).all(|(parts, left)| {
            let allowed: f64 = parts
                .iter()
                .map(|&(part, _)| {
                    let Loss { pa, slope } = state.losses[part];
                    LOOP_ACCURACY * (pa.abs() + state.tee_pa[part].abs()) + FLOW_ROUNDING * largest * slope
                })
                .sum();
            left.abs() <= times * allowed
        })
    }

    fn pressure_scale(&self, state: &State) -> f64 {
        state.losses.iter().map(|loss| loss.pa.abs()).fold(0.0, f64::max)
    }

    /// What the tees would lose at the flows of a state, and for each tee by how much that differs from what it
    /// does lose there.
    fn tee_losses(&self, state: &State) -> (Vec<f64>, Vec<f64>) {
        let mut wanted = vec![0.0; state.flows.len()];
        let mut changes = Vec::with_capacity(self.network.tees.len());
        for placed in &self.network.tees {
            let into = placed.legs.map(|leg| state.flows[leg.0]);
            // One tee is one thing: its legs share the side of the branch.
            let side = self.sides[placed.legs[2].0];
            let losses = placed.tee.losses_pa(into, &self.network.coolant, side);
            let mut change = 0.0_f64;
            for (leg, loss) in placed.legs.iter().zip(losses) {
                wanted[leg.0] = loss;
                change = change.max((loss - state.tee_pa[leg.0]).abs());
            }
            changes.push(change);
        }
        (wanted, changes)
    }

    fn not_converged(&self, state: &State) -> NetworkError {
        let worst = (0..state.left.len()).max_by(|&a, &b| state.left[a].abs().total_cmp(&state.left[b].abs()));
        let (part, residual_pa) = worst.map_or((0, f64::NAN), |index| (self.graph.chords[index], state.left[index]));
        NetworkError::NotConverged { part: self.network.parts[part].name.clone(), residual_pa }
    }
}
