//! Everything a flow report shows, gathered from layouts, chains and circuits.

use super::Outcome;
use crate::{
    bridge::Answer,
    circuit::{Circuit, Operating},
    hydraulics::network::Finding,
    interference::{self, Meeting},
    layout::{Gap, GlycolDef, Layout},
};
use schemars::JsonSchema;
use serde::Serialize;

/// One circuit, or two side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowReport {
    /// The circuits in the order they were asked for.
    pub circuits: Vec<CircuitReport>,
}

/// The circuit of one layout.
#[derive(Clone, Debug, PartialEq)]
pub struct CircuitReport {
    /// Name of the machine.
    pub layout: String,
    /// What it is filled with, in words.
    pub coolant: String,
    /// The layout's design flow.
    pub design_flow_l_min: f64,
    /// Flow for which the chains were chosen.
    pub chosen_at_l_min: f64,
    /// Longest chain that was considered, in parts.
    pub max_parts: usize,
    /// The gaps, in the order of the layout.
    pub joints: Vec<JointReport>,
    /// Whether gaps without a chain are taken to be joined without loss.
    pub assumes_joined: bool,
    /// The bodies of the layout that overlap, deepest first.
    pub overlaps: Vec<Meeting>,
    /// Components that are taken to lose nothing because nothing is stated of them.
    pub unstated: Vec<String>,
    /// The reservoir that pressures count from.
    pub reservoir: Option<String>,
    /// Whether the layout says how high the coolant stands in it; otherwise it counts as filled to its highest port.
    pub level_is_stated: bool,
    /// All heat given to the coolant.
    pub heat_w: f64,
    /// The operating point; `None` when a gap is open.
    pub operating: Option<Operating>,
}

/// A gap and what bridges it.
#[derive(Clone, Debug, PartialEq)]
pub struct JointReport {
    /// Where the coolant leaves.
    pub from: String,
    /// Where it enters.
    pub to: String,
    /// Whether it is bridged.
    pub state: JointState,
    /// The fittings of its best chain, in order.
    pub fittings: Vec<String>,
}

/// Whether a gap is bridged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum JointState {
    /// By its best chain.
    Bridged,
    /// Proven to have no chain of the length considered.
    Open,
    /// No chain was found, and none is proven not to be there.
    NotFound,
}

impl FlowReport {
    /// Fits if every circuit is closed by chains, no heat stays where it is, and no part exceeds its limit. What is worked
    /// out as if gaps were joined does not fit all the same.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        Outcome::worst(self.circuits.iter().map(CircuitReport::outcome))
    }
}

impl CircuitReport {
    /// Gathers what there is to say before anything is solved. `answers` are those to the layout's gaps.
    #[must_use]
    pub fn new(layout: &Layout, answers: &[Answer], max_parts: usize, chosen_at_l_min: f64) -> Self {
        let joint = |(gap, answer): (&Gap, &Answer)| joint(layout, *gap, answer);
        Self {
            layout: layout.name().to_owned(),
            coolant: coolant(layout),
            design_flow_l_min: layout.design_flow_l_min(),
            chosen_at_l_min,
            max_parts,
            joints: layout.gaps().iter().zip(answers).map(joint).collect(),
            assumes_joined: false,
            overlaps: interference::overlaps(layout),
            unstated: Vec::new(),
            reservoir: None,
            level_is_stated: false,
            heat_w: 0.0,
            operating: None,
        }
    }

    /// The same report with the operating point of its circuit.
    #[must_use]
    pub fn at_work(self, circuit: &Circuit, operating: Operating) -> Self {
        Self {
            assumes_joined: !circuit.joined().is_empty(),
            unstated: circuit.unstated().to_vec(),
            reservoir: circuit.reservoir().map(str::to_owned),
            level_is_stated: circuit.level_is_stated(),
            heat_w: circuit.heat_w(),
            operating: Some(operating),
            ..self
        }
    }

    /// The gaps without a chain, counted from 0.
    pub fn open(&self) -> impl Iterator<Item = (usize, &JointReport)> {
        self.joints.iter().enumerate().filter(|(_, joint)| joint.state != JointState::Bridged)
    }

    /// That less flows than the layout asks for, in words, if so.
    #[must_use]
    pub fn unmet_design(&self) -> Option<String> {
        let l_min = self.operating.as_ref()?.flow.likely_m3_s * 60_000.0;
        let wanted = self.design_flow_l_min;
        (l_min < wanted).then(|| format!("only {l_min:.2} L/min flow, less than the design flow of {wanted} L/min"))
    }

    /// As [`FlowReport::outcome`].
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        let findings = self.operating.iter().flat_map(|operating| &operating.outcome.findings);
        let heat =
            findings.filter(|finding| matches!(finding, Finding::HeatWithoutFlow { .. })).map(|_| Outcome::DoesNotFit);
        let too_hot = self.operating.iter().filter_map(|operating| operating.heat.as_ref());
        let too_hot = too_hot.filter(|heat| heat.exceeds_a_limit()).map(|_| Outcome::DoesNotFit);
        let joints = self.joints.iter().map(|joint| match joint.state {
            JointState::Bridged => Outcome::Fits,
            JointState::Open => Outcome::DoesNotFit,
            JointState::NotFound => Outcome::NoProof,
        });
        Outcome::worst(heat.chain(too_hot).chain(joints))
    }
}

fn joint(layout: &Layout, gap: Gap, answer: &Answer) -> JointReport {
    let name = |id| layout.port_by_id(id).map_or_else(String::new, |port| port.name.clone());
    let state = match (answer.chains.is_empty(), Outcome::of(answer)) {
        (false, _) => JointState::Bridged,
        (true, Outcome::NoProof) => JointState::NotFound,
        (true, _) => JointState::Open,
    };
    let fittings = answer
        .chains
        .first()
        .map_or_else(Vec::new, |chain| chain.parts.iter().map(|part| part.fitting.clone()).collect());
    JointReport { from: name(gap.from), to: name(gap.to), state, fittings }
}

fn coolant(layout: &Layout) -> String {
    let def = layout.coolant_def();
    let glycol = match def.glycol {
        GlycolDef::None => return format!("water at {} °C", def.celsius),
        GlycolDef::Ethylene => "ethylene",
        GlycolDef::Propylene => "propylene",
    };
    format!("water with {} % {glycol} glycol by volume at {} °C", def.volume_percent, def.celsius)
}
