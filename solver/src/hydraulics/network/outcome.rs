//! What flows where, and what it costs.

use super::{
    Finding, Network, NetworkError, Node, Part,
    finding::find,
    solve::{Solver, State},
};
use crate::hydraulics::{
    Element,
    doubt::Stance,
    friction::{Met, Regime, dynamic_pressure_pa, velocity_m_s},
    loss::Side,
};

/// The state a circuit settles in.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Every part, in the order in which they were added.
    pub parts: Vec<PartOutcome>,
    /// Every port, in the order in which they were first named.
    pub nodes: Vec<NodeOutcome>,
    /// Parts that carry the same flow, joined; the largest flow first.
    pub branches: Vec<Branch>,
    /// Every running pump, in order of its part.
    pub pumps: Vec<PumpOutcome>,
    /// What a builder should know, worst first.
    pub findings: Vec<Finding>,
    /// How well the numbers close.
    pub residuals: Residuals,
}

/// One part at work.
#[derive(Clone, Debug, PartialEq)]
pub struct PartOutcome {
    /// Its name.
    pub name: String,
    /// Flow along its stated direction in m³/s.
    pub flow_m3_s: f64,
    /// Pressure lost along its stated direction in Pa, without what its pumps gain; with the share of a tee's split.
    pub loss_pa: f64,
    /// The least and most that may be lost at this flow, in Pa, in size.
    pub loss_between_pa: (f64, f64),
    /// Pressure gained by its pumps in Pa.
    pub gain_pa: f64,
    /// Its share of all power lost to friction and turns, from 0 to 1; in a single loop, of all pressure lost.
    pub share: f64,
    /// The flow in each different bore it has, narrowest first.
    pub bores: Vec<BoreFlow>,
    /// How many kelvin the coolant warms in it, if it gives heat; `None` also where next to nothing flows, which is a
    /// finding.
    pub temperature_rise_k: Option<f64>,
}

/// The flow in a bore.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoreFlow {
    /// Diameter in metres.
    pub bore_m: f64,
    /// Mean velocity in m/s.
    pub velocity_m_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Laminar, transition or turbulent.
    pub regime: Regime,
}

/// The pressure at one port.
#[derive(Clone, Debug, PartialEq)]
pub struct NodeOutcome {
    /// Its name.
    pub name: String,
    /// Total pressure above the atmosphere in Pa, the reservoir's own pressure and the stated height included.
    pub total_pa: f64,
    /// What a gauge in the wall reads there, in Pa above the atmosphere: less than the total by the dynamic pressure, half
    /// density times velocity squared, in the narrowest bore that meets there. Where it is below zero, air is drawn in.
    pub reading_pa: f64,
    /// How much passes through it, in m³/s.
    pub passing_m3_s: f64,
}

/// Parts that carry the same flow.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Positions in [`Outcome::parts`].
    pub parts: Vec<usize>,
    /// Flow in m³/s, 0 or more.
    pub flow_m3_s: f64,
    /// Pressure lost in all of them, in Pa, along the flow.
    pub loss_pa: f64,
}

/// A pump at work.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpOutcome {
    /// Position of its part in [`Outcome::parts`].
    pub part: usize,
    /// Flow through it in m³/s; negative when it is overpowered.
    pub flow_m3_s: f64,
    /// Pressure it gains in Pa.
    pub gain_pa: f64,
    /// Pressure it would gain at no flow, in Pa.
    pub shut_off_pa: f64,
    /// Flow at which its curve ends, in m³/s.
    pub last_flow_m3_s: f64,
}

/// How well the numbers close.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residuals {
    /// Largest sum of pressures around a loop, in Pa: 0 if exact.
    pub loop_pa: f64,
    /// Largest sum of flows at a port, in m³/s: 0 if exact.
    pub mass_m3_s: f64,
    /// Newton steps taken.
    pub steps: usize,
    /// Those of them that needed bracketing.
    pub bracketed_steps: usize,
}

impl Network {
    /// Solves the circuit with every loss at its likely value.
    ///
    /// # Errors
    /// No part, no running pump, parts not joined to the rest, or supplies that do not balance.
    pub fn solve(&self) -> Result<Outcome, NetworkError> {
        self.solve_at(Side::Likely)
    }

    /// The same with every loss at one end of its doubts; what parts lose is told at its likely value at these flows.
    pub(super) fn solve_at(&self, side: Side) -> Result<Outcome, NetworkError> {
        let mut solver = Solver::new(self)?;
        if side != Side::Likely {
            solver.stances = self.stances(side);
        }
        let state = solver.solve(None)?;
        Ok(outcome(&solver, &state))
    }
}

impl Outcome {
    /// The flow that comes round, in m³/s: the most that passes through any one port. In a single loop that is the flow of
    /// every part; of pumps side by side it is what they move together.
    #[must_use]
    pub fn circuit_flow_m3_s(&self) -> f64 {
        self.nodes.iter().map(|node| node.passing_m3_s).fold(0.0, f64::max)
    }

    /// Positions in [`Outcome::parts`] from the largest share of the loss to the smallest.
    #[must_use]
    pub fn by_share(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.parts.len()).collect();
        order.sort_by(|&a, &b| self.parts[b].share.total_cmp(&self.parts[a].share).then(a.cmp(&b)));
        order
    }

    /// The part of that name.
    #[must_use]
    pub fn part(&self, name: &str) -> Option<&PartOutcome> {
        self.parts.iter().find(|part| part.name == name)
    }

    /// The port of that name.
    #[must_use]
    pub fn node(&self, name: &str) -> Option<&NodeOutcome> {
        self.nodes.iter().find(|node| node.name == name)
    }
}

fn outcome(solver: &Solver<'_>, state: &State) -> Outcome {
    let network = solver.network;
    let tee_pa = solver.tee_pa(state);
    let ends = [Side::Low, Side::High].map(|side| network.stances(side));
    let between = ends.map(|stances| losses_at(network, state, &stances));
    let part = |part: usize| part_outcome(network, state, part, tee_pa[part], [between[0][part], between[1][part]]);
    let mut parts: Vec<PartOutcome> = (0..network.parts.len()).map(part).collect();
    let power = |part: &PartOutcome| (part.loss_pa * part.flow_m3_s).max(0.0);
    let all: f64 = parts.iter().map(power).sum();
    for part in &mut parts {
        part.share = if all > 0.0 { power(part) / all } else { 0.0 };
    }
    let nodes = node_outcomes(solver, state, &tee_pa);
    let branches = branches(solver, &parts);
    let pumps = pumps(network, state);
    let mut outcome =
        Outcome { parts, nodes, branches, pumps, findings: Vec::new(), residuals: residuals(solver, state) };
    outcome.findings = find(solver, state, &outcome);
    outcome
}

/// What each part loses where it stands, running pumps left out, in Pa along its stated direction.
fn losses_at(network: &Network, state: &State, stances: &[Stance]) -> Vec<f64> {
    let mut met = Met::default();
    let mut lost = |(index, part): (usize, &Part)| -> f64 {
        let lossy = part.elements.iter().filter(|element| !is_running_pump(element));
        let flow = state.flows[index];
        lossy.map(|element| element.loss_met(flow, network.coolant_in(index), &stances[index], &mut met).pa).sum()
    };
    let mut losses: Vec<f64> = network.parts.iter().enumerate().map(&mut lost).collect();
    for placed in &network.tees {
        let split = placed.own_losses(&state.flows, &network.coolant, placed.places(stances));
        placed.legs.iter().zip(split).for_each(|(leg, pa)| losses[leg.0] += pa);
    }
    losses
}

fn part_outcome(network: &Network, state: &State, index: usize, tee_pa: f64, between: [f64; 2]) -> PartOutcome {
    let (part, flow, coolant) = (&network.parts[index], state.flows[index], network.coolant_in(index));
    let lossy = part.elements.iter().filter(|element| !is_running_pump(element));
    let likely: f64 = lossy.map(|element| element.loss(flow, coolant, Side::Likely).pa).sum();
    let in_bore = |bore_m: f64| {
        let velocity_m_s = velocity_m_s(flow.abs(), bore_m);
        let reynolds = coolant.reynolds(velocity_m_s, bore_m);
        BoreFlow { bore_m, velocity_m_s, reynolds, regime: Regime::of(reynolds) }
    };
    let bores = own_bores_m(part).into_iter().map(in_bore).collect();
    PartOutcome {
        name: part.name.clone(),
        flow_m3_s: flow,
        loss_pa: likely + tee_pa,
        loss_between_pa: (between[0] * flow.signum(), between[1] * flow.signum()),
        gain_pa: part.pumps().filter(|pump| pump.is_on()).map(|pump| pump.gain_pa(flow, coolant)).sum(),
        share: 0.0,
        bores,
        temperature_rise_k: rise_k(network, part.heat_w, flow),
    }
}

/// The different bores of a part, narrowest first. A step at its end is between its own bore and that of the part before it,
/// so steps count only in a part of nothing else.
fn own_bores_m(part: &Part) -> Vec<f64> {
    let is_step = |element: &&Element| matches!(element, Element::Step(_));
    let own = part.elements.iter().filter(|element| !is_step(element)).filter_map(Element::bore_m);
    let mut bores_m: Vec<f64> = own.chain(part.inner_bore_m).collect();
    if bores_m.is_empty() {
        bores_m = part.elements.iter().filter_map(Element::bore_m).collect();
    }
    bores_m.sort_by(f64::total_cmp);
    bores_m.dedup();
    bores_m
}

/// How many kelvin a heat warms a flow; `None` without heat, and where coolant would no longer be liquid.
pub(super) fn rise_k(network: &Network, heat_w: f64, flow_m3_s: f64) -> Option<f64> {
    let rise = if heat_w == 0.0 { None } else { network.coolant.temperature_rise_k(heat_w, flow_m3_s) };
    rise.filter(|rise| rise.abs() <= MOST_RISE_K)
}

/// The largest rise that liquid water at atmospheric pressure can take, from freezing to boiling.
const MOST_RISE_K: f64 = 100.0;

fn is_running_pump(element: &Element) -> bool {
    element.as_pump().is_some_and(crate::hydraulics::Pump::is_on)
}

fn node_outcomes(solver: &Solver<'_>, state: &State, tee_pa: &[f64]) -> Vec<NodeOutcome> {
    /// Standard gravity in m/s².
    const GRAVITY: f64 = 9.806_65;
    let network = solver.network;
    let mut gauge = vec![0.0; network.nodes.len()];
    gauge[solver.graph.root] = network.reservoir.map_or(0.0, |(_, gauge_pa)| gauge_pa);
    for reached in &solver.graph.tree {
        let loss = state.losses[reached.part].pa + tee_pa[reached.part];
        gauge[reached.node] = gauge[reached.parent] - reached.sign * loss;
    }
    let mut dynamic = vec![0.0_f64; network.nodes.len()];
    for (part, flow) in network.parts.iter().zip(&state.flows) {
        let entry = part.elements.first().and_then(|element| element.end_bores_m().0);
        let exit = part.elements.last().and_then(|element| element.end_bores_m().1);
        for (node, bore) in [(part.from.0, entry), (part.to.0, exit)] {
            let Some(bore) = bore else { continue };
            dynamic[node] = dynamic[node].max(dynamic_pressure_pa(velocity_m_s(flow.abs(), bore), &network.coolant));
        }
    }
    let weight = network.coolant.density_kg_m3 * GRAVITY;
    let outcome = |(((node, gauge), dynamic), passing_m3_s): (((&Node, f64), f64), f64)| {
        let total_pa = gauge - weight * node.height_m.map_or(0.0, |height| height - network.surface_m);
        NodeOutcome { name: node.name.clone(), total_pa, reading_pa: total_pa - dynamic, passing_m3_s }
    };
    let passing = passing_m3_s(solver, &state.flows);
    network.nodes.iter().zip(gauge).zip(dynamic).zip(passing).map(outcome).collect()
}

/// How much passes through each port, supplies included.
pub(super) fn passing_m3_s(solver: &Solver<'_>, flows: &[f64]) -> Vec<f64> {
    let mut entering: Vec<f64> = solver.network.nodes.iter().map(|node| node.supply_m3_s.max(0.0)).collect();
    for (&(from, to), &flow) in solver.graph.ends.iter().zip(flows) {
        entering[if flow < 0.0 { from } else { to }] += flow.abs();
    }
    entering
}

fn branches(solver: &Solver<'_>, parts: &[PartOutcome]) -> Vec<Branch> {
    // Parts of the same loops, up to the direction in which they are stated, carry the same flow.
    let turned = |loops: &Vec<(usize, f64)>| -> Vec<(usize, f64)> {
        let first = loops.first().map_or(1.0, |&(_, sign)| sign);
        loops.iter().map(|&(index, sign)| (index, sign * first)).collect()
    };
    let memberships: Vec<Vec<(usize, f64)>> = solver.graph.memberships.iter().map(turned).collect();
    let mut branches: Vec<Branch> = Vec::new();
    let mut known: Vec<usize> = Vec::new();
    for (part, outcome) in parts.iter().enumerate() {
        let flow = outcome.flow_m3_s.abs();
        let along = if outcome.flow_m3_s < 0.0 { -outcome.loss_pa } else { outcome.loss_pa };
        let same = known.iter().position(|&other| {
            let supplied = solver.graph.base_flows[part] != 0.0 || solver.graph.base_flows[other] != 0.0;
            !supplied && !memberships[part].is_empty() && memberships[other] == memberships[part]
        });
        if let Some(same) = same {
            branches[same].parts.push(part);
            branches[same].loss_pa += along;
        } else {
            known.push(part);
            branches.push(Branch { parts: vec![part], flow_m3_s: flow, loss_pa: along });
        }
    }
    branches.sort_by(|a, b| b.flow_m3_s.total_cmp(&a.flow_m3_s).then(a.parts.cmp(&b.parts)));
    branches
}

fn pumps(network: &Network, state: &State) -> Vec<PumpOutcome> {
    let parts = network.parts.iter().enumerate();
    parts
        .flat_map(|(part, definition)| {
            let flow_m3_s = state.flows[part];
            definition.pumps().filter(|pump| pump.is_on()).map(move |pump| PumpOutcome {
                part,
                flow_m3_s,
                gain_pa: pump.gain_pa(flow_m3_s, network.coolant_in(part)),
                shut_off_pa: pump.shut_off_pa(),
                last_flow_m3_s: pump.last_flow_m3_s(),
            })
        })
        .collect()
}

fn residuals(solver: &Solver<'_>, state: &State) -> Residuals {
    let mut surplus: Vec<f64> = solver.network.nodes.iter().map(|node| node.supply_m3_s).collect();
    for (&(from, to), flow) in solver.graph.ends.iter().zip(&state.flows) {
        surplus[from] -= flow;
        surplus[to] += flow;
    }
    Residuals {
        loop_pa: state.left.iter().copied().map(f64::abs).fold(0.0, f64::max),
        mass_m3_s: surplus.into_iter().map(f64::abs).fold(0.0, f64::max),
        steps: state.steps,
        bracketed_steps: state.bracketed_steps,
    }
}
