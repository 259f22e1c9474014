//! What a builder should know about a circuit that works out in numbers but not in the machine.

use super::{
    Network, NodeId, Outcome,
    close_bends::{ClosePair, close_pairs},
    outcome::rise_k,
    solve::{Solver, State},
};
use crate::hydraulics::{Element, Wall, friction::Regime};
use std::fmt;

/// Share of the largest flow below which a part counts as carrying none.
pub const SLACK_WATER_SHARE: f64 = 1e-4;

/// Something noteworthy about a solved circuit. Flows in m³/s, pressures in Pa, lengths in m.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// A running pump is overpowered: coolant runs through it backwards.
    PumpAgainstFlow {
        /// The part with the pump.
        part: String,
        /// The flow through it, below zero.
        flow_m3_s: f64,
    },
    /// A part or a port gives heat, and so little flows there that the coolant would boil.
    HeatWithoutFlow {
        /// Its name.
        at: String,
        /// The heat in W.
        heat_w: f64,
        /// The flow.
        flow_m3_s: f64,
    },
    /// A pump stands above the surface of the reservoir: empty, it draws air and starts no flow.
    CannotPrime {
        /// The part with the pump.
        part: String,
        /// How high its inlet lies.
        inlet_m: f64,
        /// How high the surface stands.
        surface_m: f64,
    },
    /// Coolant is to leave the reservoir above its surface.
    OutletAboveSurface {
        /// The port.
        node: String,
        /// How high it lies.
        outlet_m: f64,
        /// How high the surface stands.
        surface_m: f64,
    },
    /// Nothing flows in some parts.
    NoFlow {
        /// The parts.
        parts: Vec<String>,
        /// Why.
        reason: NoFlowReason,
    },
    /// Coolant runs against the stated direction.
    Backwards {
        /// The parts.
        parts: Vec<String>,
    },
    /// The pressure is below the atmosphere's: a joint that is not quite tight draws in air there. Only told where a
    /// reservoir ties the pressures to the atmosphere.
    BelowAtmosphere {
        /// The ports and what a gauge reads there, the lowest first.
        nodes: Vec<(String, f64)>,
    },
    /// Coolant flows faster than is common for the wall.
    TooFast {
        /// The part.
        part: String,
        /// The bore.
        bore_m: f64,
        /// The velocity there, in m/s.
        velocity_m_s: f64,
        /// What the bore is made of.
        wall: Wall,
    },
    /// A pump runs beyond the end of the curve that was given.
    BeyondPumpCurve {
        /// The part with the pump.
        part: String,
        /// The flow through it.
        flow_m3_s: f64,
        /// Where the curve ends.
        last_flow_m3_s: f64,
    },
    /// A component runs outside what was measured, at equal Reynolds numbers.
    OutsideMeasured {
        /// The part with the component.
        part: String,
        /// The flow through it.
        flow_m3_s: f64,
        /// The least and the largest flow of this coolant that the measurement speaks for.
        measured_m3_s: (f64, f64),
    },
    /// A pump is off and only resists; how much is a rough estimate.
    PumpOff {
        /// The part with the pump.
        part: String,
    },
    /// No split was found at which a tee loses what its own law says; the outcome is for a loss in between.
    TeeUnsettled {
        /// The tee.
        tee: String,
        /// By how much its losses are off.
        change_pa: f64,
    },
    /// The flow in some parts is between laminar and turbulent, where the loss is least certain.
    InTransition {
        /// The parts.
        parts: Vec<String>,
    },
    /// Bends follow each other so closely that they do not act alone: together they may lose a third less than their
    /// sum or over half as much more, by how they face (Idelchik's twin elbows, from memory).
    CloseBends {
        /// The pairs, the closest (in bores) first.
        pairs: Vec<ClosePair>,
    },
}

/// Why nothing flows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFlowReason {
    /// It leads nowhere.
    DeadEnd,
    /// The pressures at both ends are equal.
    Balanced,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let l_min = |flow: &f64| flow * 60_000.0;
        match self {
            Self::PumpAgainstFlow { part, flow_m3_s } => write!(
                f,
                "coolant runs backwards through the pump `{part}` ({:.2} L/min): it faces against a stronger one",
                l_min(flow_m3_s)
            ),
            Self::HeatWithoutFlow { at, heat_w, flow_m3_s } => write!(
                f,
                "`{at}` gives {heat_w} W to coolant that does not take it away ({:.2} L/min): it overheats",
                l_min(flow_m3_s)
            ),
            Self::CannotPrime { part, inlet_m, surface_m } => write!(
                f,
                "the pump `{part}` cannot prime itself: its inlet lies {:.0} mm high and the surface in the reservoir {:.0} \
                 mm; stand the reservoir higher or fill the line to the pump first, and do not let the pump run dry",
                inlet_m * 1e3,
                surface_m * 1e3
            ),
            Self::OutletAboveSurface { node, outlet_m, surface_m } => write!(
                f,
                "coolant is to leave the reservoir by `{node}`, {:.0} mm high, above its surface, {:.0} mm high: it draws air",
                outlet_m * 1e3,
                surface_m * 1e3
            ),
            Self::NoFlow { parts, reason: NoFlowReason::DeadEnd } => {
                write!(f, "nothing flows in {}: it leads nowhere", names(parts))
            }
            Self::NoFlow { parts, reason: NoFlowReason::Balanced } => {
                write!(f, "nothing flows in {}: the pressures at both ends are equal", names(parts))
            }
            Self::Backwards { parts } => write!(f, "coolant runs against the stated direction in {}", names(parts)),
            Self::BelowAtmosphere { nodes } => {
                let lowest = nodes.first().map_or(0.0, |node| node.1);
                let at: Vec<String> = nodes.iter().map(|node| node.0.clone()).collect();
                write!(
                    f,
                    "below the atmosphere by up to {:.2} kPa at {}: a joint that is not tight draws in air",
                    -lowest / 1e3,
                    names(&at)
                )
            }
            Self::TooFast { part, bore_m, velocity_m_s, wall } => write!(
                f,
                "{velocity_m_s:.2} m/s in the {:.1} mm bore of `{part}`: above the {:.1} m/s commonly kept in {wall}",
                bore_m * 1e3,
                wall.common_limit_m_s()
            ),
            Self::BeyondPumpCurve { part, flow_m3_s, last_flow_m3_s } => write!(
                f,
                "the pump `{part}` runs at {:.2} L/min, beyond the end of its curve at {:.2} L/min",
                l_min(flow_m3_s),
                l_min(last_flow_m3_s)
            ),
            Self::OutsideMeasured { part, flow_m3_s, measured_m3_s: (least, most) } => write!(
                f,
                "`{part}` runs at {:.2} L/min; what was measured of it speaks for {:.2} to {:.2} L/min of this coolant: \
                 its loss is continued from there and its bounds are not certain",
                l_min(flow_m3_s),
                l_min(least),
                l_min(most)
            ),
            Self::PumpOff { part } => {
                write!(f, "the pump `{part}` is off: what it then resists is a rough estimate from its curve")
            }
            Self::TeeUnsettled { tee, change_pa } => write!(
                f,
                "the losses of the tee `{tee}` are off by {change_pa:.0} Pa: how the flow splits there is not certain"
            ),
            Self::InTransition { parts } => write!(
                f,
                "the flow is between laminar and turbulent in {}: the loss there is least certain",
                names(parts)
            ),
            Self::CloseBends { pairs } => {
                let pairs: Vec<String> = pairs.iter().map(ToString::to_string).collect();
                write!(
                    f,
                    "bends too close to act alone, which together may lose less or more than their sum: {}",
                    pairs.join(", ")
                )
            }
        }
    }
}

fn names(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

pub(super) fn find(solver: &Solver<'_>, state: &State, outcome: &Outcome) -> Vec<Finding> {
    let network = solver.network;
    let mut findings = overheated(network, outcome);
    findings.extend(overpowered(outcome));
    findings.extend(network.reservoir.map_or_else(Vec::new, |(node, _)| unprimed(network, outcome, node)));
    findings.extend(slack(solver, outcome));
    findings.extend(backwards(network, outcome));
    // Without a reservoir nothing ties the pressures to the atmosphere.
    findings.extend(network.reservoir.and_then(|_| suction(outcome)));
    findings.extend(fast(network, outcome));
    findings.extend(beyond(network, outcome));
    let scale = outcome.parts.iter().map(|part| part.loss_pa.abs()).fold(0.0, f64::max);
    findings.extend(
        network
            .tees
            .iter()
            .zip(solver.tee_changes(state))
            .filter(|(_, change)| *change > 1e-3 * scale)
            .map(|(placed, change_pa)| Finding::TeeUnsettled { tee: placed.name.clone(), change_pa }),
    );
    findings.extend(in_transition(outcome));
    let pairs = close_pairs(network);
    findings.extend((!pairs.is_empty()).then_some(Finding::CloseBends { pairs }));
    findings
}

fn overheated(network: &Network, outcome: &Outcome) -> Vec<Finding> {
    let little = SLACK_WATER_SHARE * largest_flow(outcome);
    let parts = network.parts.iter().zip(&outcome.parts).map(|(part, at)| (&part.name, part.heat_w, at.flow_m3_s));
    let nodes = network.nodes.iter().zip(&outcome.nodes).map(|(node, at)| (&node.name, node.heat_w, at.passing_m3_s));
    let heated = parts.chain(nodes).filter(|(_, heat_w, _)| *heat_w > 0.0);
    let stays = heated.filter(|&(_, heat_w, flow)| flow.abs() <= little || rise_k(network, heat_w, flow).is_none());
    stays
        .map(|(name, heat_w, flow)| Finding::HeatWithoutFlow { at: name.clone(), heat_w, flow_m3_s: flow.abs() })
        .collect()
}

fn unprimed(network: &Network, outcome: &Outcome, reservoir: NodeId) -> Vec<Finding> {
    let surface_m = network.surface_m;
    let height = |node: NodeId| network.nodes[node.0].height_m.filter(|height| *height > surface_m);
    let pumps = network.parts.iter().filter(|part| part.has_running_pump());
    let above = pumps.filter_map(|part| Some((part, height(part.from)?)));
    let dry = above.map(|(part, inlet_m)| Finding::CannotPrime { part: part.name.clone(), inlet_m, surface_m });
    let parts = network.parts.iter().zip(&outcome.parts);
    let outlets = parts.filter_map(|(part, at)| {
        let leaves = (part.from == reservoir && at.flow_m3_s > 0.0) || (part.to == reservoir && at.flow_m3_s < 0.0);
        leaves.then_some(if part.from == reservoir { part.to } else { part.from })
    });
    let outlets = outlets.filter_map(|node| Some((node, height(node)?)));
    let air = outlets.map(|(node, outlet_m)| {
        let node = network.nodes[node.0].name.clone();
        Finding::OutletAboveSurface { node, outlet_m, surface_m }
    });
    dry.chain(air).collect()
}

fn overpowered(outcome: &Outcome) -> Vec<Finding> {
    let against = outcome.pumps.iter().filter(|pump| pump.flow_m3_s < 0.0);
    against
        .map(|pump| Finding::PumpAgainstFlow { part: outcome.parts[pump.part].name.clone(), flow_m3_s: pump.flow_m3_s })
        .collect()
}

fn largest_flow(outcome: &Outcome) -> f64 {
    outcome.parts.iter().map(|part| part.flow_m3_s.abs()).fold(0.0, f64::max)
}

fn slack(solver: &Solver<'_>, outcome: &Outcome) -> Vec<Finding> {
    let little = SLACK_WATER_SHARE * largest_flow(outcome);
    let mut in_loop = vec![false; outcome.parts.len()];
    solver.graph.loops.iter().flatten().for_each(|&(part, _)| in_loop[part] = true);
    let still = outcome.branches.iter().filter(|branch| branch.flow_m3_s <= little);
    let (balanced, dead): (Vec<_>, Vec<_>) = still.partition(|branch| branch.parts.iter().any(|&part| in_loop[part]));
    let names = |parts: &[usize]| parts.iter().map(|&part| outcome.parts[part].name.clone()).collect::<Vec<_>>();
    let mut findings: Vec<Finding> = balanced
        .into_iter()
        .map(|branch| Finding::NoFlow { parts: names(&branch.parts), reason: NoFlowReason::Balanced })
        .collect();
    let mut dead: Vec<usize> = dead.into_iter().flat_map(|branch| branch.parts.iter().copied()).collect();
    dead.sort_unstable();
    if !dead.is_empty() {
        findings.push(Finding::NoFlow { parts: names(&dead), reason: NoFlowReason::DeadEnd });
    }
    findings
}

fn backwards(network: &Network, outcome: &Outcome) -> Option<Finding> {
    let little = SLACK_WATER_SHARE * largest_flow(outcome);
    let parts: Vec<String> = network
        .parts
        .iter()
        .zip(&outcome.parts)
        .filter(|(part, outcome)| {
            // The legs of a tee are stated towards its middle for want of a better direction.
            outcome.flow_m3_s < -little && !part.is_tee_leg() && !part.has_running_pump()
        })
        .map(|(part, _)| part.name.clone())
        .collect();
    (!parts.is_empty()).then_some(Finding::Backwards { parts })
}

fn suction(outcome: &Outcome) -> Option<Finding> {
    /// What a millimetre of water weighs: less is no news.
    const LEAST_PA: f64 = 10.0;
    let mut nodes: Vec<(String, f64)> = outcome
        .nodes
        .iter()
        .filter(|node| node.reading_pa < -LEAST_PA)
        .map(|node| (node.name.clone(), node.reading_pa))
        .collect();
    nodes.sort_by(|a, b| a.1.total_cmp(&b.1));
    (!nodes.is_empty()).then_some(Finding::BelowAtmosphere { nodes })
}

fn fast(network: &Network, outcome: &Outcome) -> Vec<Finding> {
    let parts = network.parts.iter().zip(&outcome.parts);
    parts
        .flat_map(|(part, outcome)| {
            let too_fast = outcome.bores.iter().filter(|bore| bore.velocity_m_s > part.wall.common_limit_m_s());
            too_fast.map(|bore| Finding::TooFast {
                part: part.name.clone(),
                bore_m: bore.bore_m,
                velocity_m_s: bore.velocity_m_s,
                wall: part.wall,
            })
        })
        .collect()
}

fn beyond(network: &Network, outcome: &Outcome) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (index, (part, outcome)) in network.parts.iter().zip(&outcome.parts).enumerate() {
        let coolant = network.coolant_in(index);
        let (name, flow_m3_s) = (part.name.clone(), outcome.flow_m3_s);
        let outside = |measured_m3_s: (f64, f64)| {
            let within = (measured_m3_s.0..=measured_m3_s.1).contains(&flow_m3_s.abs());
            let (part, flow_m3_s) = (name.clone(), flow_m3_s.abs());
            (flow_m3_s != 0.0 && !within).then_some(Finding::OutsideMeasured { part, flow_m3_s, measured_m3_s })
        };
        for element in &part.elements {
            match element {
                Element::Pump(pump) if !pump.is_on() => findings.push(Finding::PumpOff { part: name.clone() }),
                Element::Pump(pump) if flow_m3_s > pump.last_flow_m3_s() => findings.push(Finding::BeyondPumpCurve {
                    part: name.clone(),
                    flow_m3_s,
                    last_flow_m3_s: pump.last_flow_m3_s(),
                }),
                Element::Table(table) => findings.extend(outside(table.measured_m3_s(coolant))),
                Element::Coefficient(law) => findings.extend(outside(law.measured_m3_s(coolant))),
                _ => {}
            }
        }
    }
    findings
}

fn in_transition(outcome: &Outcome) -> Option<Finding> {
    let transitional =
        outcome.parts.iter().filter(|part| part.bores.iter().any(|bore| bore.regime == Regime::Transition));
    let parts: Vec<String> = transitional.map(|part| part.name.clone()).collect();
    (!parts.is_empty()).then_some(Finding::InTransition { parts })
}
