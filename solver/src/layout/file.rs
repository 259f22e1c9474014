//! The layout file as it is written: plain data, nothing resolved.

use crate::{
    catalog::{CoolantDef, FlowDef, HeatDef, PortDef},
    geometry::{Facing, SolidDef},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A whole machine in one file. Lengths in millimetres, angles in degrees.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LayoutFile {
    /// Format version: 1.
    pub version: u32,
    /// What the machine is called.
    pub name: String,
    /// The enclosure.
    #[serde(default)]
    pub panels: Vec<PanelDef>,
    /// What is built in.
    #[serde(default)]
    pub components: Vec<PlacedDef>,
    /// The joints to be made, in the order the coolant flows.
    #[serde(default)]
    pub gaps: Vec<GapDef>,
    /// What counts as closed and as clear.
    #[serde(default)]
    pub allowances: AllowancesDef,
    /// Flow for which losses are stated.
    #[serde(default = "default_flow")]
    pub design_flow_l_min: f64,
    /// What the circuit is filled with.
    #[serde(default)]
    pub coolant: CoolantDef,
    /// Temperature of the air that radiators draw, in °C. With it, and a radiator that states its conductance, the
    /// temperatures of the circuit are worked out, and the `celsius` of the coolant is only where it starts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient_celsius: Option<f64>,
}

fn default_flow() -> f64 {
    4.0
}

/// A flat sheet of the enclosure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PanelDef {
    /// Name, unique among panels and components.
    pub name: String,
    /// Centre of the inner face.
    pub at: [f64; 3],
    /// Which way the outer face looks; the sheet lies on that side of `at`.
    pub facing: Facing,
    /// Which way the width runs. When left out: `+x`, or `+y` for panels that face along x.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub across: Option<Facing>,
    /// Width (along `across`) and height.
    pub size: [f64; 2],
    /// Thickness of the sheet.
    pub thickness: f64,
    /// Holes through the sheet.
    #[serde(default)]
    pub holes: Vec<HoleDef>,
    /// Whether it comes off for assembly.
    #[serde(default)]
    pub removable: bool,
}

/// A round hole through a panel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoleDef {
    /// What it is for.
    #[serde(default)]
    pub name: String,
    /// Centre, from the panel's centre: along the width and along the height.
    pub at: [f64; 2],
    /// Diameter.
    pub diameter: f64,
}

/// A component and where it stands.
///
/// Give either `template` (a component of the catalog) or `solids` and `ports` of its own, not both.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacedDef {
    /// Name, unique among panels and components; `.` is not allowed in it.
    pub name: String,
    /// A component template, or a fitting that is placed like a component (tee, bulkhead), by its id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub template: Option<String>,
    /// Own solids, in the component's frame.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub solids: Vec<SolidDef>,
    /// Own ports, in the component's frame.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ports: Vec<PortDef>,
    /// Where the origin of the component's frame stands.
    pub at: [f64; 3],
    /// Which way its front (its own `-y`) looks; `"-y"` when left out.
    #[serde(default = "front")]
    pub front: Facing,
    /// Which way its top (its own `+z`) looks; `"+z"` when left out. Square to `front`.
    #[serde(default)]
    pub top: Facing,
    /// How far it may still be shifted along the layout's x, y and z, either way.
    #[serde(default)]
    pub play: [f64; 3],
    /// How far it may still be turned about its top axis, either way.
    #[serde(default)]
    pub play_turn_deg: f64,
    /// The component that it is screwed to and travels with, by its name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mounted_on: Option<String>,
    /// How coolant goes through it; with a template, in place of what the template says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<FlowDef>,
    /// How it takes up and gives off heat; with a template, in place of what the template says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat: Option<HeatDef>,
    /// Heat that it gives to the coolant, in watts.
    #[serde(default)]
    pub heat_w: f64,
    /// Temperature that its hot side, or without a `resistance` the coolant that leaves it, may reach, in °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_celsius: Option<f64>,
    /// Speed of a fan as a share of its full speed: 0 to 1.5; its air flow goes with it.
    #[serde(default = "full_speed")]
    pub fan_speed: f64,
    /// How high the coolant stands in a reservoir: above `at`, along the layout's z. When left out, at its highest port
    /// that a gap uses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_mm: Option<f64>,
    /// Speed of a pump as a share of its full speed: 0 (off) or 0.1 to 1.5. Full speed when left out.
    #[serde(default = "full_speed")]
    pub pump_speed: f64,
}

fn full_speed() -> f64 {
    1.0
}

fn front() -> Facing {
    "-y".parse().unwrap_or_default()
}

/// Two ports that must be joined, written `component.port`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GapDef {
    /// Where the coolant leaves.
    pub from: String,
    /// Where it enters.
    pub to: String,
}

/// What counts as closed, as clear, and as room to work in.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct AllowancesDef {
    /// How far a chain may miss the port.
    pub closure_mm: f64,
    /// How far a chain may be out of line with the port's axis.
    pub closure_deg: f64,
    /// Least clearance between a chain and anything it does not join.
    pub clearance_mm: f64,
    /// Room for fingers or a wrench around a collar that is turned, measured from its rim. The default, 8 mm, is common
    /// practice (from memory: the jaw of a thin open wrench, or a fingertip).
    pub tool_mm: f64,
    /// Arc over which that room must be free at one go. The default, 60°, is common practice: one flat of a hexagon,
    /// after which a wrench is set anew.
    pub tool_arc_deg: f64,
}

impl Default for AllowancesDef {
    fn default() -> Self {
        Self { closure_mm: 0.3, closure_deg: 0.5, clearance_mm: 1.0, tool_mm: 8.0, tool_arc_deg: 60.0 }
    }
}
