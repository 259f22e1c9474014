//! How a component takes up and gives off heat, as it is written in a catalog or a layout.

use crate::hydraulics::heat::{Conductance, ConductanceError, Resistance, ResistanceError};
use crate::source::{Checker, Place};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How a component takes up and gives off heat. Flows of coolant in L/min, of air in m³/h.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct HeatDef {
    /// How much hotter its hot side is than the coolant in it (the mean of inlet and outlet), for each watt that it gives.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resistance: Option<ResistanceDef>,
    /// Of a radiator: its conductance UA, in watts per kelvin of the mean difference between coolant and air, as points of
    /// (coolant L/min, air m³/h, W/K). One point, or each coolant flow at each air flow.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub conductance: Vec<[f64; 3]>,
    /// Of a fan: the air that it moves through the radiator it is mounted on, at full speed. Of a radiator: the air
    /// through it, in place of what the fans mounted on it move.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air_m3_h: Option<f64>,
    /// Of a pump: the power of its shaft at full speed, in watts, all of which ends in the coolant. When left out, the
    /// hydraulic power at the best point of its curve by an efficiency of 30 %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_w: Option<f64>,
    /// Coolant that it holds, in mL; of a reservoir, filled to its mark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_ml: Option<f64>,
    /// Heat that warms its own material by a kelvin, in J/K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_capacity_j_k: Option<f64>,
    /// How far the truth may be from `resistance` or `conductance`, in percent either way: 0 to 50; 10 when left out, 20
    /// for a conductance of one point.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_percent: Option<f64>,
}

/// How much hotter a hot side is than the coolant, for each watt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum ResistanceDef {
    /// The same at any flow, in K/W.
    Constant(f64),
    /// Measured points of flow in L/min and K/W; the resistance does not grow with the flow.
    Table(Vec<[f64; 2]>),
}

/// L/min to m³/s, and m³/h to m³/s.
const L_MIN: f64 = 1.0 / 60_000.0;
const M3_H: f64 = 1.0 / 3600.0;

impl HeatDef {
    /// Its resistance, if it states one.
    ///
    /// # Errors
    /// Numbers that are none; never for one that was checked.
    pub fn resistance(&self) -> Result<Option<Resistance>, ResistanceError> {
        self.resistance
            .as_ref()
            .map(|def| match def {
                ResistanceDef::Constant(k_w) => Resistance::constant(*k_w),
                ResistanceDef::Table(points) => {
                    Resistance::table(&points.iter().map(|[flow, k_w]| (flow * L_MIN, *k_w)).collect::<Vec<_>>())
                }
            })
            .transpose()
    }

    /// Its conductance, if it states one.
    ///
    /// # Errors
    /// As [`HeatDef::resistance`].
    pub fn conductance(&self) -> Result<Option<Conductance>, ConductanceError> {
        let points: Vec<[f64; 3]> =
            self.conductance.iter().map(|&[flow, air, w_k]| [flow * L_MIN, air * M3_H, w_k]).collect();
        if points.is_empty() { Ok(None) } else { Conductance::new(&points).map(Some) }
    }

    /// The air that it moves, in m³/s.
    #[must_use]
    pub fn air_m3_s(&self) -> Option<f64> {
        self.air_m3_h.map(|air| air * M3_H)
    }

    /// How far its resistance may be off, as a share.
    #[must_use]
    pub fn resistance_doubt(&self) -> f64 {
        self.within_percent.unwrap_or(10.0) / 100.0
    }

    /// How far its conductance may be off, as a share.
    #[must_use]
    pub fn conductance_doubt(&self) -> f64 {
        self.within_percent.unwrap_or(if self.conductance.len() == 1 { 20.0 } else { 10.0 }) / 100.0
    }
}

/// Checks the heat data of a component.
pub(crate) fn check_heat(heat: &HeatDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    /// Least and most of what a file may state: beyond these it is a slip of the pen.
    const RESISTANCES_K_W: [f64; 2] = [1e-6, 1e4];
    const CONDUCTANCES_W_K: [f64; 2] = [1e-4, 1e6];
    const COOLANT_L_MIN: [f64; 2] = [0.001, 1000.0];
    const AIR_M3_H: [f64; 2] = [0.01, 100_000.0];
    const MOST_POINTS: usize = 1000;
    let before = checker.count();
    let list = place.field("resistance");
    match &heat.resistance {
        Some(ResistanceDef::Constant(k_w)) => {
            let [least, most] = RESISTANCES_K_W;
            checker.within(&list.field("constant"), *k_w, "a resistance in K/W", least, most);
        }
        Some(ResistanceDef::Table(points)) => {
            let table = list.field("table");
            for (index, [flow, k_w]) in points.iter().enumerate().take(MOST_POINTS) {
                let here = table.index(index);
                checker.within(&here.index(0), *flow, "a flow in L/min", 0.0, COOLANT_L_MIN[1]);
                checker.within(&here.index(1), *k_w, "a resistance in K/W", RESISTANCES_K_W[0], RESISTANCES_K_W[1]);
            }
        }
        None => {}
    }
    if let Some(error) = heat.resistance().err().filter(|_| checker.count() == before && checker.is_sure(&list)) {
        let help = "give points of (L/min, K/W) by growing flow, the resistance falling, or `constant`";
        checker.refuse(&list, error.to_string(), help);
    }
    let before = checker.count();
    let list = place.field("conductance");
    for (index, [flow, air, w_k]) in heat.conductance.iter().enumerate().take(MOST_POINTS) {
        let here = list.index(index);
        checker.within(&here.index(0), *flow, "a flow in L/min", COOLANT_L_MIN[0], COOLANT_L_MIN[1]);
        checker.within(&here.index(1), *air, "a flow of air in m³/h", AIR_M3_H[0], AIR_M3_H[1]);
        checker.within(&here.index(2), *w_k, "a conductance in W/K", CONDUCTANCES_W_K[0], CONDUCTANCES_W_K[1]);
    }
    if heat.conductance.len() > MOST_POINTS {
        let message = format!("expected up to {MOST_POINTS} points, found {}", heat.conductance.len());
        checker.refuse(&list, message, "leave out points that lie close together");
    } else if let Some(error) = heat.conductance().err().filter(|_| checker.count() == before && checker.is_sure(&list))
    {
        checker.refuse(&list, error.to_string(), "give points of (coolant L/min, air m³/h, W/K)");
    }
    for (field, value, what, least, most) in [
        ("air_m3_h", heat.air_m3_h, "a flow of air in m³/h", 0.0, AIR_M3_H[1]),
        ("shaft_w", heat.shaft_w, "a power in W", 0.0, 100_000.0),
        ("volume_ml", heat.volume_ml, "a volume in mL", 0.0, 1e6),
        ("heat_capacity_j_k", heat.heat_capacity_j_k, "a heat capacity in J/K", 0.0, 1e7),
        ("within_percent", heat.within_percent, "a share in percent", 0.0, 50.0),
    ] {
        if let Some(value) = value {
            checker.within(&place.field(field), value, what, least, most);
        }
    }
}
