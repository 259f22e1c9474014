//! The flow report for programs.

use super::{
    bridge::OverlapDocument,
    heat::{HeatDocument, heat},
    number::tidy,
};
use crate::{
    circuit::Operating,
    hydraulics::network::{FlowBand, PartOutcome},
    report::{CircuitReport, FlowReport, JointState, Outcome},
};
use schemars::JsonSchema;
use serde::Serialize;

/// What `flow` found. Flows in L/min, pressures in kPa.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FlowDocument {
    /// Always `elbowroom.flow`.
    pub format: FlowFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 2, max = 2))]
    pub version: u32,
    /// `fits` if every circuit is closed, by chains or by ideal joints that were asked for, no heat stays where it is, and
    /// no part exceeds its limit.
    pub outcome: Outcome,
    /// One circuit, or two to be compared.
    pub circuits: Vec<CircuitDocument>,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum FlowFormat {
    /// The only value.
    #[serde(rename = "elbowroom.flow")]
    Flow,
}

/// The circuit of one layout.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CircuitDocument {
    /// Name of the machine.
    pub layout: String,
    /// What it is filled with.
    pub coolant: String,
    /// The layout's design flow.
    pub design_flow_l_min: f64,
    /// Flow for which the chains were chosen.
    pub chosen_at_l_min: f64,
    /// Longest chain that was considered, in parts.
    pub max_parts: usize,
    /// The gaps, in the order of the layout.
    pub joints: Vec<JointDocument>,
    /// Whether gaps without a chain are taken to be joined without loss.
    pub assumes_joined: bool,
    /// The bodies of the layout that overlap, deepest first.
    pub overlaps: Vec<OverlapDocument>,
    /// Components that are taken to lose nothing because nothing is stated of them.
    pub unstated: Vec<String>,
    /// The reservoir that pressures count from; where the first pump draws if there is none.
    pub reservoir: Option<String>,
    /// Whether the layout says how high the coolant stands in it; otherwise it counts as filled to its highest port.
    pub level_is_stated: bool,
    /// All heat given to the coolant.
    pub heat_w: f64,
    /// The operating point; `null` when a gap is open.
    pub operating: Option<OperatingDocument>,
}

/// A gap and what bridges it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointDocument {
    /// Where the coolant leaves.
    pub from: String,
    /// Where it enters.
    pub to: String,
    /// Whether it is bridged.
    pub state: JointState,
    /// The fittings of its best chain, in order.
    pub fittings: Vec<String>,
}

/// What a circuit settles at.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OperatingDocument {
    /// The flow that comes round: with pumps side by side, what they move together.
    pub flow: BandDocument,
    /// Every running pump.
    pub pumps: Vec<PumpDocument>,
    /// What the first pump has left at the design flow, or at its share of it where pumps stand side by side.
    pub margin: MarginDocument,
    /// How many kelvin the coolant warms on its way round; `null` without heat, and where some of it stays.
    pub temperature_rise_k: Option<f64>,
    /// What becomes of the heat; `null` without any, and where there are radiators but no `ambient_celsius`.
    pub heat: Option<HeatDocument>,
    /// Share of all power lost that is lost in fittings, from 0 to 1: those of chains, and those placed like components.
    pub share_of_fittings: f64,
    /// Parts that carry the same flow, joined; the largest flow first.
    pub branches: Vec<BranchDocument>,
    /// Every part, along the circuit.
    pub parts: Vec<PartFlowDocument>,
    /// Every port, along the circuit.
    pub ports: Vec<NodeDocument>,
    /// What some changes would bring, the most first.
    pub changes: Vec<TrialDocument>,
    /// What a builder should know, worst first.
    pub findings: Vec<String>,
    /// How well the numbers close.
    pub residuals: ResidualsDocument,
}

/// A flow and its bounds, in L/min.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BandDocument {
    /// The least, with every doubt at its worst.
    pub low_l_min: f64,
    /// The likely value.
    pub likely_l_min: f64,
    /// The most, with every doubt at its best.
    pub high_l_min: f64,
    /// The least by the root of the sum of squares: 95 % lie above it and below `combined_high_l_min` if the doubts are two
    /// standard deviations of normal errors.
    pub combined_low_l_min: f64,
    /// The most so.
    pub combined_high_l_min: f64,
}

/// A pump at work.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PumpDocument {
    /// Its part.
    pub part: String,
    /// Flow through it.
    pub flow_l_min: f64,
    /// Pressure it gains.
    pub gain_kpa: f64,
    /// Pressure it would gain at no flow.
    pub shut_off_kpa: f64,
    /// Flow at which its curve ends.
    pub last_flow_l_min: f64,
}

/// What a pump has left at the design flow.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MarginDocument {
    /// The design flow.
    pub flow_l_min: f64,
    /// What the pump gains there.
    pub gain_kpa: f64,
    /// What the circuit needs there.
    pub needed_kpa: f64,
}

/// Parts that carry the same flow.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BranchDocument {
    /// Their names.
    pub parts: Vec<String>,
    /// Their flow.
    pub flow_l_min: f64,
    /// What all of them lose along it.
    pub loss_kpa: f64,
}

/// One part at work.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartFlowDocument {
    /// `gap.part fitting` for a part of a chain, else the component.
    pub name: String,
    /// The flow and its bounds; a bound below 0 runs the other way.
    pub flow: BandDocument,
    /// Whether the coolant runs against the direction in which the part is stated; legs of tees are stated towards the
    /// middle.
    pub against_its_direction: bool,
    /// Pressure lost along the flow; below 0 in a leg of a tee that is drawn along.
    pub loss_kpa: f64,
    /// The least that may be lost at this flow.
    pub least_loss_kpa: f64,
    /// The most.
    pub most_loss_kpa: f64,
    /// Its share of all power lost, from 0 to 1.
    pub share: f64,
    /// How much more would come round if it lost nothing; `null` for pumps, legs of tees and what loses nothing.
    pub costs_l_min: Option<f64>,
    /// How many kelvin the coolant warms in it; `null` without heat, and where it stays.
    pub temperature_rise_k: Option<f64>,
    /// The flow in each different bore it has, narrowest first.
    pub bores: Vec<BoreDocument>,
}

/// The flow in a bore.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoreDocument {
    /// Diameter.
    pub bore_mm: f64,
    /// Mean velocity.
    pub velocity_m_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// `laminar`, `transition` or `turbulent`.
    pub regime: String,
}

/// The pressure at a port, above that of the air in the reservoir.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NodeDocument {
    /// Its name.
    pub name: String,
    /// Total pressure.
    pub total_kpa: f64,
    /// What a gauge reads there: less than the total by the dynamic pressure. Below zero air is drawn in.
    pub gauge_kpa: f64,
}

/// What a change would bring.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialDocument {
    /// The change.
    pub what: String,
    /// How much more would flow.
    pub gain_l_min: f64,
}

/// How well the numbers close.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResidualsDocument {
    /// Largest sum of pressures around a loop, in Pa.
    pub loop_pa: f64,
    /// Largest sum of flows at a port, in m³/s.
    pub mass_m3_s: f64,
    /// Newton steps taken.
    pub steps: usize,
    /// Those of them that needed bracketing.
    pub bracketed_steps: usize,
}

impl FlowDocument {
    /// The document of a report.
    #[must_use]
    pub fn new(report: &FlowReport) -> Self {
        Self {
            format: FlowFormat::Flow,
            version: 2,
            outcome: report.outcome(),
            circuits: report.circuits.iter().map(circuit).collect(),
        }
    }
}

fn circuit(report: &CircuitReport) -> CircuitDocument {
    let joints = report.joints.iter().map(|joint| JointDocument {
        from: joint.from.clone(),
        to: joint.to.clone(),
        state: joint.state,
        fittings: joint.fittings.clone(),
    });
    CircuitDocument {
        layout: report.layout.clone(),
        coolant: report.coolant.clone(),
        design_flow_l_min: tidy(report.design_flow_l_min),
        chosen_at_l_min: tidy(report.chosen_at_l_min),
        max_parts: report.max_parts,
        joints: joints.collect(),
        assumes_joined: report.assumes_joined,
        overlaps: report.overlaps.iter().map(OverlapDocument::new).collect(),
        unstated: report.unstated.clone(),
        reservoir: report.reservoir.clone(),
        level_is_stated: report.level_is_stated,
        heat_w: tidy(report.heat_w),
        operating: report.operating.as_ref().map(|solved| operating(solved, report.unmet_design())),
    }
}

fn operating(operating: &Operating, unmet: Option<String>) -> OperatingDocument {
    let outcome = &operating.outcome;
    let name = |part: usize| outcome.parts.get(part).map_or_else(String::new, |part| part.name.clone());
    OperatingDocument {
        flow: band(&operating.flow),
        pumps: outcome
            .pumps
            .iter()
            .map(|pump| PumpDocument {
                part: name(pump.part),
                flow_l_min: l_min(pump.flow_m3_s),
                gain_kpa: kpa(pump.gain_pa),
                shut_off_kpa: kpa(pump.shut_off_pa),
                last_flow_l_min: l_min(pump.last_flow_m3_s),
            })
            .collect(),
        margin: MarginDocument {
            flow_l_min: l_min(operating.margin.flow_m3_s),
            gain_kpa: kpa(operating.margin.gain_pa),
            needed_kpa: kpa(operating.margin.needed_pa),
        },
        temperature_rise_k: operating.rise_k.map(tidy),
        heat: heat(operating),
        share_of_fittings: tidy(operating.share_of_fittings),
        branches: outcome
            .branches
            .iter()
            .map(|branch| BranchDocument {
                parts: branch.parts.iter().map(|&part| name(part)).collect(),
                flow_l_min: l_min(branch.flow_m3_s),
                loss_kpa: kpa(branch.loss_pa),
            })
            .collect(),
        parts: outcome
            .parts
            .iter()
            .zip(&operating.bands)
            .map(|(part, flow)| part_flow(part, flow, operating))
            .collect(),
        ports: outcome
            .nodes
            .iter()
            .map(|node| NodeDocument {
                name: node.name.clone(),
                total_kpa: kpa(node.total_pa),
                gauge_kpa: kpa(node.reading_pa),
            })
            .collect(),
        changes: operating
            .trials
            .iter()
            .map(|trial| TrialDocument { what: trial.what.clone(), gain_l_min: l_min(trial.gain_m3_s) })
            .collect(),
        findings: unmet.into_iter().chain(outcome.findings.iter().map(ToString::to_string)).collect(),
        residuals: ResidualsDocument {
            loop_pa: outcome.residuals.loop_pa,
            mass_m3_s: outcome.residuals.mass_m3_s,
            steps: outcome.residuals.steps,
            bracketed_steps: outcome.residuals.bracketed_steps,
        },
    }
}

fn part_flow(part: &PartOutcome, flow: &FlowBand, operating: &Operating) -> PartFlowDocument {
    let relief = operating.reliefs.iter().find(|relief| relief.name == part.name);
    let bores = part.bores.iter().map(|bore| BoreDocument {
        bore_mm: tidy(bore.bore_m * 1e3),
        velocity_m_s: tidy(bore.velocity_m_s),
        reynolds: tidy(bore.reynolds),
        regime: bore.regime.to_string(),
    });
    let sign = if part.flow_m3_s < 0.0 { -1.0 } else { 1.0 };
    PartFlowDocument {
        name: part.name.clone(),
        flow: band(&flow.times(sign)),
        against_its_direction: sign < 0.0,
        loss_kpa: kpa(sign * part.loss_pa),
        least_loss_kpa: kpa(part.loss_between_pa.0),
        most_loss_kpa: kpa(part.loss_between_pa.1),
        share: tidy(part.share),
        costs_l_min: relief.map(|relief| l_min(relief.gain_m3_s)),
        temperature_rise_k: part.temperature_rise_k.map(tidy),
        bores: bores.collect(),
    }
}

fn band(band: &FlowBand) -> BandDocument {
    BandDocument {
        low_l_min: l_min(band.low_m3_s),
        likely_l_min: l_min(band.likely_m3_s),
        high_l_min: l_min(band.high_m3_s),
        combined_low_l_min: l_min(band.combined_low_m3_s),
        combined_high_l_min: l_min(band.combined_high_m3_s),
    }
}

fn l_min(flow_m3_s: f64) -> f64 {
    tidy(flow_m3_s * 60_000.0)
}

fn kpa(pressure_pa: f64) -> f64 {
    tidy(pressure_pa / 1e3)
}
