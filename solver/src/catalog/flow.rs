//! How coolant goes through a component, as it is written in a catalog or a layout.

use super::coolant::CoolantDef;
use crate::hydraulics::{Band, Wall};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How coolant goes through a component.
///
/// Nothing stated means: from `inlet` to `outlet`, where there are ports of these names, without loss.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct FlowDef {
    /// The ways through, each from the port where coolant enters to the port where it leaves. When left out: from
    /// `inlet` to `outlet`. Each way loses what `loss` says; ways that no gap joins at both ends carry nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub passages: Vec<[String; 2]>,
    /// What each way loses; nothing when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss: Option<LossDef>,
    /// What it gains, if it is a pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump: Option<PumpDef>,
    /// How far the truth may be from `loss` or `pump`, in percent either way: 0 to 50. When left out, 10 for a loss; for a
    /// pump 7 of its pressure and 9 of its flow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_percent: Option<f64>,
    /// What `loss` or `pump` was measured with; water of 25 °C when left out. For another coolant a loss is read at the
    /// same Reynolds number, and a pump is corrected for the viscosity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_with: Option<CoolantDef>,
    /// Whether it is a vessel with a free surface: coolant leaves and enters by any of its ports, and pressures are
    /// counted from the air above it.
    #[serde(skip_serializing_if = "is_false")]
    pub reservoir: bool,
    /// Narrowest bore inside, in mm, where the velocity counts; of a reservoir, the bore of its ports. Not checked
    /// for velocity when left out; a reservoir's ports are then as wide as the fitting in them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bore_mm: Option<f64>,
    /// What the coolant touches, which limits its velocity.
    pub wall: WallDef,
}

impl FlowDef {
    /// How far its loss may be off.
    #[must_use]
    pub fn loss_band(&self) -> Band {
        Band::plus_minus(self.within_percent.unwrap_or(10.0) / 100.0)
    }

    /// How far the pressure and the flow of its pump may be off. When not stated, as far as ISO 9906:2012 allows in grade
    /// 3B, the widest there is for pumps sold by their curve: 7 % of the head and 9 % of the flow (from memory).
    #[must_use]
    pub fn pump_bands(&self) -> [Band; 2] {
        let shares = self.within_percent.map_or([0.07, 0.09], |percent| [percent / 100.0; 2]);
        shares.map(Band::plus_minus)
    }
}

/// What a component loses, measured between its ports.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum LossDef {
    /// Measured points of flow in L/min and loss in kPa, both growing; no flow and no loss is understood.
    Table(Vec<[f64; 2]>),
    /// One point; the loss grows with a power of the flow.
    Coefficient {
        /// Flow of the point, in L/min.
        l_min: f64,
        /// Loss there, in kPa.
        kpa: f64,
        /// The power: 1 for a slow, laminar way through to 2 for a fast, turbulent one; 2 when left out.
        #[serde(default = "square")]
        power: f64,
    },
}

/// What a pump gains at full speed: flow in L/min and pressure in kPa.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum PumpDef {
    /// Measured points, from no flow on; the pressure falls.
    Table(Vec<[f64; 2]>),
    /// No flow, ordinary flow, large flow: a curve of the usual shape is laid through them.
    ThreePoints(#[schemars(length(equal = 3))] Vec<[f64; 2]>),
}

/// What coolant touches.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WallDef {
    /// Copper.
    Copper,
    /// Brass, plated or not.
    #[default]
    Brass,
    /// Aluminium.
    Aluminium,
    /// Stainless steel.
    Stainless,
    /// Plastics and rubber hose.
    Plastic,
}

impl From<WallDef> for Wall {
    fn from(wall: WallDef) -> Self {
        match wall {
            WallDef::Copper => Self::Copper,
            WallDef::Brass => Self::Brass,
            WallDef::Aluminium => Self::Aluminium,
            WallDef::Stainless => Self::Stainless,
            WallDef::Plastic => Self::Plastic,
        }
    }
}

fn square() -> f64 {
    2.0
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_false(value: &bool) -> bool {
    !value
}
