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
//! The loss in a tee depends on two flows and has no such integral. The circuit is therefore solved first with a
//! stand-in for it, a square law of each leg's own flow, and then led over to the tee's own loss, all at once if that
//! goes and in smaller shares if not, each time by Newton's method from the answer before. How far it came is part of
//! the answer.

use super::{Network, NetworkError, PartId, graph::Graph, tees::AtWork};
use crate::hydraulics::{doubt::Stance, friction::Met, loss::Loss};
use nalgebra::{DMatrix, DVector, Dyn, LU};

/// What may be left of a loop's pressures, as a share of the sum of all pressures around it; a microbar in a typical
/// circuit is 1e-6. Rounding of the flows themselves is allowed for apart from it.
const LOOP_ACCURACY: f64 = 1e-12;

/// Rounding of a part's flow as a share of the largest flow: it is a sum of a few loop flows that may be larger.
const FLOW_ROUNDING: f64 = 16.0 * f64::EPSILON;

/// Bound on Newton steps. Circuits of this trade take 4 to 15; a branch in which nothing flows through square-law
/// losses alone gains one bit a step and takes about 30.
const MAX_STEPS: usize = 400;

/// What may be left around a loop, as a share of the largest loss, where steps no longer help.
const STALLED_ACCURACY: f64 = 1e-10;

/// Bound on Newton steps for one share of the tees' own losses; from an answer nearby it takes 3 to 6.
const MAX_TEE_STEPS: usize = 25;

/// Least share of the tees' own losses by which a circuit is led on before it counts as stuck.
const LEAST_TEE_SHARE: f64 = 1.0 / 64.0;

/// Least slope, as a share of the largest: keeps the equations solvable where nothing flows.
const LEAST_SLOPE: f64 = 1e-13;

/// A circuit made ready to be solved, perhaps with one loop's flow held at a given value.
pub(super) struct Solver<'a> {
    pub(super) network: &'a Network,
    pub(super) graph: Graph,
    /// Where each part stands in its doubts.
    pub(super) stances: Vec<Stance>,
    held: Option<(usize, f64)>,
}

/// How the flows of a circuit answer to small changes of its losses.
pub(super) struct Response(LU<f64, Dyn, Dyn>);

impl Response {
    /// By how much the flow through a part, given by the loops that it is in, grows when 1 Pa more is lost in each part
    /// along its stated direction.
    pub(super) fn of(&self, loops: &[(usize, f64)], graph: &Graph) -> Vec<f64> {
        let mut wanted = DVector::zeros(graph.loops.len());
        loops.iter().for_each(|&(index, sign)| wanted[index] = sign);
        let Some(weights) = self.0.solve(&wanted) else { return vec![0.0; graph.ends.len()] };
        let answer = |loops: &Vec<(usize, f64)>| -loops.iter().map(|&(index, sign)| sign * weights[index]).sum::<f64>();
        graph.memberships.iter().map(answer).collect()
    }
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
    /// What each tee's split adds to its legs, in Pa towards its middle.
    tees: Vec<[f64; 3]>,
    /// How much of the tees' own losses, from 0 (the stand-in) to 1.
    tee_share: f64,
    /// Sum of the losses around each loop, in Pa: zero at the answer.
    pub(super) left: DVector<f64>,
    pub(super) steps: usize,
    pub(super) bracketed_steps: usize,
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
        Ok(Self { network, stances: vec![Stance::LIKELY; network.parts.len()], graph, held: None })
    }

    /// The same for a circuit of the same shape.
    pub(super) fn like(network: &'a Network, other: &Solver<'_>) -> Self {
        Self { network, stances: other.stances.clone(), graph: other.graph.clone(), held: other.held }
    }

    /// Holds the flow of one loop.
    pub(super) fn hold(&mut self, loop_index: usize, flow: f64) {
        self.held = Some((loop_index, flow));
    }

    /// Solves from a guess of its own, or from the state of a circuit of the same shape.
    pub(super) fn solve(&self, near: Option<&State>) -> Result<State, NetworkError> {
        if self.network.tees.is_empty() {
            let mut state = near.map_or_else(|| self.guess(), |near| self.at(&near.loop_flows, 0.0));
            self.close_loops(&mut state)?;
            return Ok(state);
        }
        if let Some(near) = near
            && near.tee_share == 1.0
            && let Some(state) = self.close_with_tees(self.at(&near.loop_flows, 1.0))
        {
            return Ok(state);
        }
        let mut state = self.guess();
        self.close_loops(&mut state)?;
        let mut more = 1.0;
        while state.tee_share < 1.0 && more >= LEAST_TEE_SHARE {
            let share = (state.tee_share + more).min(1.0);
            let mut start = self.at(&state.loop_flows, share);
            (start.steps, start.bracketed_steps) = (state.steps, state.bracketed_steps);
            match self.close_with_tees(start) {
                Some(closed) => state = closed,
                None => more *= 0.5,
            }
        }
        Ok(state)
    }

    /// What tells how the flows answer to more or less loss; `None` where nothing can.
    pub(super) fn response(&self, state: &State) -> Option<Response> {
        if self.graph.loops.is_empty() {
            return None;
        }
        let turned = self.stiffness(state).transpose().lu();
        turned.is_invertible().then_some(Response(turned))
    }

    /// What the split of a tee adds to a part, in Pa; 0 for a part that is no leg.
    pub(super) fn tee_pa(&self, state: &State) -> Vec<f64> {
        let mut pa = vec![0.0; state.flows.len()];
        for (placed, added) in self.network.tees.iter().zip(&state.tees) {
            for (leg, loss) in placed.legs.iter().zip(added) {
                pa[leg.0] = *loss;
            }
        }
        pa
    }

    /// For each tee, by how much its own losses differ from those it was solved with, in Pa; 0 when settled.
    pub(super) fn tee_changes(&self, state: &State) -> Vec<f64> {
        let placed = self.network.tees.iter().zip(&state.tees);
        placed
            .map(|(placed, added)| {
                let own = placed.own_losses(&state.flows, &self.network.coolant, placed.places(&self.stances));
                own.iter().zip(added).map(|(own, used)| (own - used).abs()).fold(0.0, f64::max)
            })
            .collect()
    }

    /// Every part's flow, loss and slope at given loop flows.
    fn at(&self, loop_flows: &DVector<f64>, tee_share: f64) -> State {
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
        let mut met = Met::default();
        let losses: Vec<Loss> = (0..flows.len()).map(|part| self.part_loss(part, flows[part], &mut met)).collect();
        let around = |parts: &Vec<(usize, f64)>| parts.iter().map(|&(part, sign)| sign * losses[part].pa).sum::<f64>();
        let mut left = DVector::from_iterator(self.graph.loops.len(), self.graph.loops.iter().map(around));
        let at_work =
            AtWork { flows: &flows, coolant: &self.network.coolant, stances: &self.stances, share: tee_share };
        let tees: Vec<[f64; 3]> = self.network.tees.iter().map(|placed| placed.added_pa(&at_work)).collect();
        for (placed, added) in self.network.tees.iter().zip(&tees) {
            for (leg, pa) in placed.legs.iter().zip(added) {
                self.graph.memberships[leg.0].iter().for_each(|&(index, sign)| left[index] += sign * pa);
            }
        }
        if let Some((index, _)) = self.held {
            left[index] = 0.0;
        }
        State { loop_flows, flows, losses, tees, tee_share, left, steps: 0, bracketed_steps: 0 }
    }

    fn part_loss(&self, part: usize, flow: f64, met: &mut Met) -> Loss {
        let (coolant, stance) = (self.network.coolant_in(part), &self.stances[part]);
        let elements = &self.network.parts[part].elements;
        elements.iter().fold(Loss::default(), |sum, element| sum.plus(element.loss_met(flow, coolant, stance, met)))
    }

    /// Flows of the circuit with every part made linear at a typical flow: the right size and direction.
    fn guess(&self) -> State {
        let pumps = self.network.parts.iter().flat_map(super::Part::pumps).filter(|pump| pump.is_on());
        let pumped = pumps.map(|pump| 0.5 * pump.last_flow_m3_s()).fold(0.0, f64::max);
        let supplied = self.graph.base_flows.iter().copied().map(f64::abs).fold(0.0, f64::max);
        let typical = pumped.max(supplied);
        let mut met = Met::default();
        let chords: Vec<Loss> = (0..self.graph.ends.len())
            .map(|part| {
                let [rest, moving] = [0.0, typical].map(|flow| self.part_loss(part, flow, &mut met).pa);
                let slope = ((moving - rest) / typical).max(0.0);
                Loss { pa: rest + slope * self.graph.base_flows[part], slope }
            })
            .collect();
        let around = |parts: &Vec<(usize, f64)>| parts.iter().map(|&(part, sign)| sign * chords[part].pa).sum::<f64>();
        let left = DVector::from_iterator(self.graph.loops.len(), self.graph.loops.iter().map(around));
        let factors = self.stiffness_of_parts(&chords).cholesky();
        let flows = factors.map_or_else(|| left.clone() * 0.0, |factors| -factors.solve(&left));
        self.at(&flows, 0.0)
    }

    /// Derivative of the loop pressures by the loop flows. With the tees' stand-in it is symmetric and positive definite.
    fn stiffness(&self, state: &State) -> DMatrix<f64> {
        let mut matrix = self.stiffness_of_parts(&state.losses);
        let (coolant, stances, share) = (&self.network.coolant, &self.stances[..], state.tee_share);
        let at_work = AtWork { flows: &state.flows, coolant, stances, share };
        let member = |leg: PartId| &self.graph.memberships[leg.0];
        for placed in &self.network.tees {
            for (leg, slopes) in placed.legs.iter().zip(placed.slopes(&at_work)) {
                for (other, slope) in placed.legs.iter().zip(slopes) {
                    for &(row, sign) in member(*leg) {
                        for &(column, other_sign) in member(*other) {
                            matrix[(row, column)] += sign * slope * other_sign;
                        }
                    }
                }
            }
        }
        self.hold_still(&mut matrix);
        matrix
    }

    fn stiffness_of_parts(&self, losses: &[Loss]) -> DMatrix<f64> {
        let steepest = losses.iter().map(|loss| loss.slope).fold(0.0, f64::max);
        let least = if steepest > 0.0 { steepest * LEAST_SLOPE } else { 1.0 };
        let count = self.graph.loops.len();
        let mut matrix = DMatrix::zeros(count, count);
        for (loops, loss) in self.graph.memberships.iter().zip(losses) {
            for &(row, sign) in loops {
                for &(column, other_sign) in loops {
                    matrix[(row, column)] += sign * other_sign * loss.slope.max(least);
                }
            }
        }
        self.hold_still(&mut matrix);
        matrix
    }

    /// Takes the held loop out of the equations.
    fn hold_still(&self, matrix: &mut DMatrix<f64>) {
        if let Some((index, _)) = self.held {
            matrix.row_mut(index).fill(0.0);
            matrix.column_mut(index).fill(0.0);
            matrix[(index, index)] = 1.0;
        }
    }

    /// Newton's method with the tees' own losses, each step held to bringing the loops nearer to closing; `None` when
    /// it does not get there from this start.
    fn close_with_tees(&self, mut state: State) -> Option<State> {
        for _ in 0..MAX_TEE_STEPS {
            if self.is_closed(&state, 1.0) {
                return Some(state);
            }
            let direction = -self.stiffness(&state).lu().solve(&state.left)?;
            let mut distance = 1.0;
            let next = loop {
                let next = self.at(&(&state.loop_flows + &direction * distance), state.tee_share);
                if next.left.norm() <= (1.0 - 0.1 * distance) * state.left.norm() {
                    break next;
                }
                distance *= 0.5;
                if distance < 1e-3 {
                    // At a jump of a tee's law its slope would excuse more than rounding does.
                    let is_near = self.is_left(&state, STALLED_ACCURACY);
                    return (is_near && self.is_all_that_can_be(&state)).then_some(state);
                }
            };
            self.advance(&mut state, next, false);
        }
        None
    }

    /// Steps until the loops close, with the tees' stand-in.
    fn close_loops(&self, state: &mut State) -> Result<(), NetworkError> {
        let mut least_left = f64::INFINITY;
        let mut full_steps = true;
        while !self.is_closed(state, 1.0) {
            if state.steps >= MAX_STEPS {
                // Branches of square law in which nothing flows have no slope to step by, and nothing to say either.
                return if self.is_left(state, LOOP_ACCURACY) { Ok(()) } else { Err(self.not_converged(state)) };
            }
            least_left = least_left.min(state.left.amax());
            let Some(factors) = self.stiffness(state).cholesky() else {
                // Where nothing flows rounding may leave no direction to step in.
                return if self.is_all_that_can_be(state) { Ok(()) } else { Err(self.not_converged(state)) };
            };
            let direction = -factors.solve(&state.left);
            if full_steps {
                let next = self.at(&(&state.loop_flows + &direction), state.tee_share);
                if next.left.amax() <= 0.5 * state.left.amax() || self.is_closed(&next, 1.0) {
                    self.advance(state, next, false);
                    continue;
                }
            }
            let Some(next) = self.least_along(state, &direction) else {
                // No number between here and the answer is left: this is as near as an `f64` comes.
                return if self.is_all_that_can_be(state) { Ok(()) } else { Err(self.not_converged(state)) };
            };
            self.advance(state, next, true);
            full_steps = state.left.amax() <= 0.5 * least_left;
        }
        Ok(())
    }

    fn advance(&self, state: &mut State, next: State, bracketed: bool) {
        let (steps, bracketed_steps) = (state.steps + 1, state.bracketed_steps + usize::from(bracketed));
        *state = State { steps, bracketed_steps, ..next };
    }

    /// The point along a direction of descent where the convex function is all but least, on the near side of it.
    fn least_along(&self, state: &State, direction: &DVector<f64>) -> Option<State> {
        let slope_here = state.left.dot(direction);
        if !slope_here.is_finite() || slope_here >= 0.0 {
            return None;
        }
        let at = |distance: f64| self.at(&(&state.loop_flows + direction * distance), state.tee_share);
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

    /// Whether every loop closes, to `times` what is possible.
    fn is_closed(&self, state: &State, times: f64) -> bool {
        let largest = state.loop_flows.iter().chain(&state.flows).copied().map(f64::abs).fold(0.0, f64::max);
        let allowed_in = |Loss { pa, slope }: Loss| LOOP_ACCURACY * pa.abs() + FLOW_ROUNDING * largest * slope;
        let mut allowed: Vec<f64> = self
            .graph
            .loops
            .iter()
            .map(|parts| parts.iter().map(|&(part, _)| allowed_in(state.losses[part])).sum())
            .collect();
        for (placed, added) in self.network.tees.iter().zip(&state.tees) {
            let slope = placed.steepness(&state.flows, &self.network.coolant);
            for (leg, &pa) in placed.legs.iter().zip(added) {
                for &(index, _) in &self.graph.memberships[leg.0] {
                    allowed[index] += allowed_in(Loss { pa, slope });
                }
            }
        }
        state.left.iter().zip(allowed).all(|(left, allowed)| left.abs() <= times * allowed)
    }

    /// Whether steps that no longer help have come as near as numbers can tell: in its own terms each loop, or in those
    /// of the whole circuit where next to nothing flows in a loop.
    fn is_all_that_can_be(&self, state: &State) -> bool {
        self.is_closed(state, 1e3) || self.is_left(state, LOOP_ACCURACY)
    }

    /// Whether no more than this share of the largest pressure is left around any loop: of what is lost anywhere, or of
    /// what a pump gains at no flow, which is more where pumps run almost without resistance.
    fn is_left(&self, state: &State, share: f64) -> bool {
        let pumps = self.network.parts.iter().flat_map(super::Part::pumps).filter(|pump| pump.is_on());
        let lost = state.losses.iter().map(|loss| loss.pa.abs());
        let largest = lost.chain(pumps.map(crate::hydraulics::Pump::shut_off_pa)).fold(0.0, f64::max);
        state.left.amax() <= share * largest
    }

    fn not_converged(&self, state: &State) -> NetworkError {
        let worst = (0..state.left.len()).max_by(|&a, &b| state.left[a].abs().total_cmp(&state.left[b].abs()));
        let (part, residual_pa) = worst.map_or((0, f64::NAN), |index| (self.graph.chords[index], state.left[index]));
        NetworkError::NotConverged { part: self.network.parts[part].name.clone(), residual_pa }
    }
}
