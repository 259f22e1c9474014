//! What coolant meets in a component.

use super::file::PlacedDef;
use crate::catalog::{FlowDef, HeatDef, PortDef, check_heat, passages};
use crate::hydraulics::Pump;
use crate::source::{Checker, Place};

/// Most heat of one component, in watts: more than a household supply gives.
const MOST_HEAT_W: f64 = 100_000.0;

/// Most speed of a fan, as a share of full speed.
const MOST_FAN_SPEED: f64 = 1.5;

/// Lowest and highest temperature that a part may be limited to, in °C.
const LIMITS_CELSIUS: [f64; 2] = [-50.0, 500.0];

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
    /// How it takes up and gives off heat.
    pub heat: HeatDef,
    /// Temperature that its hot side, or else the coolant that leaves it, may reach, in °C.
    pub limit_celsius: Option<f64>,
    /// Speed of its fan as a share of full speed.
    pub fan_speed: f64,
    /// Speed of its pump as a share of full speed.
    pub pump_speed: f64,
    /// How high the coolant stands in it, in mm above its origin, if it is a reservoir and that is stated.
    pub level_mm: Option<f64>,
}

impl Wetted {
    pub(super) fn new(
        flow: Option<FlowDef>,
        heat: Option<HeatDef>,
        ports: &[PortDef],
        fitting: Option<String>,
        placed: &PlacedDef,
    ) -> Self {
        let is_stated = flow.is_some();
        let mut flow = flow.unwrap_or_default();
        flow.passages = passages(&flow, ports);
        let heat = placed.heat.clone().or(heat).unwrap_or_default();
        let PlacedDef { heat_w, limit_celsius, fan_speed, pump_speed, level_mm, .. } = *placed;
        Self { flow, is_stated, fitting, heat_w, heat, limit_celsius, fan_speed, pump_speed, level_mm }
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
    checker.within(&place.field("fan_speed"), placed.fan_speed, "a share of full speed", 0.0, MOST_FAN_SPEED);
    if let Some(limit) = placed.limit_celsius {
        checker.within(
            &place.field("limit_celsius"),
            limit,
            "a temperature in °C",
            LIMITS_CELSIUS[0],
            LIMITS_CELSIUS[1],
        );
    }
    if let Some(heat) = &placed.heat {
        check_heat(heat, &place.field("heat"), checker);
    }
    if let Some(level) = placed.level_mm {
        checker.within(&place.field("level_mm"), level, "a height in mm", -MOST_LEVEL_MM, MOST_LEVEL_MM);
    }
}
