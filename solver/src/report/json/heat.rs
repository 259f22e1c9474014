//! What becomes of the heat of a circuit, for programs.

use super::number::tidy;
use crate::circuit::{Capacity, Heat, Operating, Steady};
use schemars::JsonSchema;
use serde::Serialize;

/// What becomes of the heat. Temperatures in °C.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeatDocument {
    /// Temperatures that stay; `null` where nothing takes the heat out.
    pub steady: Option<SteadyDocument>,
    /// Temperatures that rise; `null` where they stay.
    pub rising: Option<RisingDocument>,
    /// Coolant in bores and in what states a volume, in mL.
    pub volume_ml: f64,
    /// Heat that warms coolant and components by a kelvin, in J/K.
    pub heat_capacity_j_k: f64,
    /// Components whose volume is not stated, and so not counted.
    pub without_volume: Vec<String>,
}

/// Temperatures that stay.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SteadyDocument {
    /// Of the air that radiators draw.
    pub ambient_celsius: f64,
    /// Mean temperature of the coolant.
    pub mean_celsius: f64,
    /// Heat of all components, in W.
    pub heat_w: f64,
    /// Shaft power of all pumps, in W.
    pub shaft_w: f64,
    /// What radiators give to the air, in W.
    pub given_off_w: f64,
    /// What comes in less what goes out, in W.
    pub imbalance_w: f64,
    /// Minutes to 95 % of the rise, as one lump.
    pub warm_up_min: f64,
    /// Components that give heat or have a limit, the least margin first, then the hottest.
    pub parts: Vec<HotPartDocument>,
    /// The radiators, along the circuit.
    pub radiators: Vec<RadiatorDocument>,
    /// The coolant in each part through which it flows, along the circuit.
    pub coolant: Vec<CoolantDocument>,
    /// What some changes would do to the hottest part, the most cooling first.
    pub what_if: Vec<HeatTrialDocument>,
}

/// What a change would do to the hottest part.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeatTrialDocument {
    /// The change.
    pub what: String,
    /// By how many kelvin it would be hotter; below 0 cooler.
    pub change_k: f64,
}

/// A component that gives heat or has a limit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HotPartDocument {
    /// Its name.
    pub name: String,
    /// The heat that it gives, in W.
    pub heat_w: f64,
    /// The coolant that enters it.
    pub in_celsius: f64,
    /// The coolant that leaves it.
    pub out_celsius: f64,
    /// Its hot side; without a resistance the coolant that leaves it.
    pub celsius: f64,
    /// Whether a resistance is stated.
    pub has_resistance: bool,
    /// The same at best.
    pub least_celsius: f64,
    /// The same at worst; `null` where too little may flow to say.
    pub most_celsius: Option<f64>,
    /// How hot it may get.
    pub limit_celsius: Option<f64>,
    /// Kelvin left to the limit.
    pub margin_k: Option<f64>,
}

/// A radiator at work.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RadiatorDocument {
    /// Its name.
    pub name: String,
    /// What it gives to the air, in W.
    pub given_off_w: f64,
    /// Its conductance UA at these flows, in W/K.
    pub conductance_w_k: f64,
    /// Share of the largest possible exchange, from 0 to 1.
    pub effectiveness: f64,
    /// The air that leaves it.
    pub air_out_celsius: f64,
    /// Whether its conductance was measured at such flows.
    pub is_measured: bool,
}

/// The coolant in a part.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoolantDocument {
    /// The part.
    pub part: String,
    /// Where it enters.
    pub in_celsius: f64,
    /// Where it leaves.
    pub out_celsius: f64,
}

/// Temperatures that rise as long as the machine runs.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RisingDocument {
    /// Kelvin a minute; at most that many where a volume is not stated, `null` where none is.
    pub k_per_min: Option<f64>,
    /// What comes in, in W.
    pub heat_w: f64,
    /// Where it starts.
    pub start_celsius: f64,
    /// The first component to reach its limit.
    pub first_limit: Option<String>,
    /// After how many minutes.
    pub first_limit_min: Option<f64>,
    /// The highest temperature at which the coolant's properties are known.
    pub coolant_end_celsius: f64,
    /// After how many minutes it is reached.
    pub coolant_end_min: Option<f64>,
}

/// The heat of a circuit.
pub(super) fn heat(operating: &Operating) -> Option<HeatDocument> {
    let heat = operating.heat.as_ref()?;
    let (steady, rising, capacity): (_, _, &Capacity) = match heat {
        Heat::Steady(at) => (Some(self::steady(at, operating)), None, &at.capacity),
        Heat::Rising(at) => {
            let rising = RisingDocument {
                k_per_min: at.k_per_min.map(tidy),
                heat_w: tidy(at.heat_w),
                start_celsius: tidy(at.start_celsius),
                first_limit: at.first_limit.as_ref().map(|(name, _)| name.clone()),
                first_limit_min: at.first_limit.as_ref().and_then(|(_, minutes)| *minutes).map(tidy),
                coolant_end_celsius: tidy(at.coolant_end.0),
                coolant_end_min: at.coolant_end.1.map(tidy),
            };
            (None, Some(rising), &at.capacity)
        }
    };
    Some(HeatDocument {
        steady,
        rising,
        volume_ml: tidy(capacity.volume_m3 * 1e6),
        heat_capacity_j_k: tidy(capacity.j_k),
        without_volume: capacity.without_volume.clone(),
    })
}

fn steady(steady: &Steady, operating: &Operating) -> SteadyDocument {
    let temperatures = &steady.temperatures;
    let parts = steady.parts.iter().map(|part| HotPartDocument {
        name: part.name.clone(),
        heat_w: tidy(part.heat_w),
        in_celsius: tidy(part.in_celsius),
        out_celsius: tidy(part.out_celsius),
        celsius: tidy(part.celsius),
        has_resistance: part.has_resistance,
        least_celsius: tidy(part.least_celsius),
        most_celsius: part.most_celsius.is_finite().then(|| tidy(part.most_celsius)),
        limit_celsius: part.limit_celsius.map(tidy),
        margin_k: part.margin_k().map(tidy),
    });
    let radiators = steady.radiators.iter().map(|radiator| RadiatorDocument {
        name: radiator.name.clone(),
        given_off_w: tidy(radiator.given_off_w),
        conductance_w_k: tidy(radiator.w_k),
        effectiveness: tidy(radiator.effectiveness),
        air_out_celsius: tidy(radiator.air_out_celsius),
        is_measured: radiator.is_measured,
    });
    let coolant = operating.outcome.parts.iter().zip(&temperatures.parts).filter_map(|(part, at)| {
        let at = at.as_ref()?;
        let [in_celsius, out_celsius] = [at.in_celsius, at.out_celsius].map(tidy);
        Some(CoolantDocument { part: part.name.clone(), in_celsius, out_celsius })
    });
    SteadyDocument {
        ambient_celsius: tidy(steady.ambient_celsius),
        mean_celsius: tidy(steady.mean_celsius),
        heat_w: tidy(temperatures.heat_w),
        shaft_w: tidy(temperatures.shaft_w),
        given_off_w: tidy(temperatures.given_off_w),
        imbalance_w: temperatures.imbalance_w(),
        warm_up_min: tidy(steady.warm_up_s / 60.0),
        parts: parts.collect(),
        radiators: radiators.collect(),
        coolant: coolant.collect(),
        what_if: steady
            .trials
            .iter()
            .map(|trial| HeatTrialDocument { what: trial.what.clone(), change_k: tidy(trial.change_k) })
            .collect(),
    }
}
