//! What coolant meets in a component, and what the circuit is filled with.

use super::file::{CoolantDef, GlycolDef, PlacedDef};
use crate::catalog::{FlowDef, PortDef, passages};
use crate::hydraulics::{Coolant, CoolantError, Glycol, MAX_GLYCOL_PERCENT, Pump};
use crate::source::{Checker, Place};

/// Most heat of one component, in watts: more than a household supply gives.
const MOST_HEAT_W: f64 = 100_000.0;

/// What coolant meets in a component.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wetted {
    /// How it goes through, with the passages worked out: empty where coolant cannot go through.
    pub flow: FlowDef,
    /// Whether the file or the template says how; otherwise it is taken to lose nothing.
    pub is_stated: bool,
    /// The fitting that it is, when a fitting is placed like a component.
    pub fitting: Option<String>,
    /// Heat that it gives to the coolant, in watts.
    pub heat_w: f64,
    /// Speed of its pump as a share of full speed.
    pub pump_speed: f64,
}

impl Wetted {
    pub(super) fn new(flow: Option<FlowDef>, ports: &[PortDef], fitting: Option<String>, placed: &PlacedDef) -> Self {
        let is_stated = flow.is_some();
        let mut flow = flow.unwrap_or_default();
        flow.passages = passages(&flow, ports);
        Self { flow, is_stated, fitting, heat_w: placed.heat_w, pump_speed: placed.pump_speed }
    }
}

/// Checks heat and speed of a placed component.
pub(super) fn check_work(placed: &PlacedDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    checker.within(&place.field("heat_w"), placed.heat_w, "a heat in W", 0.0, MOST_HEAT_W);
    if placed.pump_speed != 0.0 {
        let (least, most) = Pump::SPEEDS;
        let what = "0 (off) or a share of full speed";
        checker.within(&place.field("pump_speed"), placed.pump_speed, what, least, most);
    }
}

/// What the circuit is filled with; water of 25 °C where the file is wrong.
pub(super) fn check_coolant(def: CoolantDef, checker: &mut Checker<'_>) -> Coolant {
    let place = Place::FILE.field("coolant");
    checker.within(&place.field("volume_percent"), def.volume_percent, "a share in percent", 0.0, MAX_GLYCOL_PERCENT);
    let glycol_is_known = !checker.is_doubtful(&place.field("glycol"));
    if def.glycol == GlycolDef::None && def.volume_percent > 0.0 && glycol_is_known {
        let help = "add `glycol: ethylene` or `glycol: propylene`, or leave the share out";
        checker.refuse(&place.field("volume_percent"), "expected a glycol for this share, found none", help);
    }
    // A wrong share is noted already, and says nothing of the temperature.
    let share = if (0.0..=MAX_GLYCOL_PERCENT).contains(&def.volume_percent) { def.volume_percent } else { 0.0 };
    match coolant(CoolantDef { volume_percent: share, ..def }) {
        Ok(coolant) => coolant,
        Err(error) => {
            if let CoolantError::Temperature { .. } = error {
                let help = "give the temperature that the coolant reaches in use, in °C";
                checker.refuse(&place.field("celsius"), error.to_string(), help);
            }
            WATER
        }
    }
}

/// Water of 25 °C, rounded: stands in until the file is corrected, and is never computed with.
const WATER: Coolant = Coolant { density_kg_m3: 997.0, viscosity_pa_s: 0.00089, heat_capacity_j_kg_k: 4182.0 };

fn coolant(def: CoolantDef) -> Result<Coolant, CoolantError> {
    match def.glycol {
        GlycolDef::None => Coolant::water(def.celsius),
        GlycolDef::Ethylene => Coolant::with_glycol(Glycol::Ethylene, def.volume_percent, def.celsius),
        GlycolDef::Propylene => Coolant::with_glycol(Glycol::Propylene, def.volume_percent, def.celsius),
    }
}
