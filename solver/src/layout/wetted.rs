//! What coolant meets in a component.

use super::file::PlacedDef;
use crate::catalog::{FlowDef, PortDef, passages};
use crate::hydraulics::Pump;
use crate::source::{Checker, Place};

/// Most heat of one component, in watts: more than a household supply gives.
const MOST_HEAT_W: f64 = 100_000.0;

/// How far a surface may stand above or below the origin of its reservoir, in mm.
const MOST_LEVEL_MM: f64 = 10_000.0;

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
    /// How high the coolant stands in it, in mm above its origin, if it is a reservoir and that is stated.
    pub level_mm: Option<f64>,
}

impl Wetted {
    pub(super) fn new(flow: Option<FlowDef>, ports: &[PortDef], fitting: Option<String>, placed: &PlacedDef) -> Self {
        let is_stated = flow.is_some();
        let mut flow = flow.unwrap_or_default();
        flow.passages = passages(&flow, ports);
        Self {
            flow,
            is_stated,
            fitting,
            heat_w: placed.heat_w,
            pump_speed: placed.pump_speed,
            level_mm: placed.level_mm,
        }
    }
}

/// Checks heat and speed of a placed component.
pub(super) fn check_work(placed: &PlacedDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    if placed.heat_w < 0.0 {
        let message = format!("expected a heat in W from 0 to {MOST_HEAT_W}, found {}", placed.heat_w);
        let help =
            "correct the number: it is the heat that goes into the coolant; leave it out for what takes heat out";
        checker.refuse(&place.field("heat_w"), message, help);
    } else {
        checker.within(&place.field("heat_w"), placed.heat_w, "a heat in W", 0.0, MOST_HEAT_W);
    }
    if placed.pump_speed != 0.0 {
        let (least, most) = Pump::SPEEDS;
        let what = "0 (off) or a share of full speed";
        checker.within(&place.field("pump_speed"), placed.pump_speed, what, least, most);
    }
    if let Some(level) = placed.level_mm {
        checker.within(&place.field("level_mm"), level, "a height in mm", -MOST_LEVEL_MM, MOST_LEVEL_MM);
    }
}
