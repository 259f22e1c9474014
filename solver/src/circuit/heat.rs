//! How hot each part of a circuit gets, and how soon.

use super::{
    build::Circuit,
    heat_trial::HeatTrial,
    thermal::{Thermal, ThermalBody},
};
use crate::hydraulics::{
    Side,
    network::{FlowBand, Network, NetworkError, Temperatures, Warm},
};

/// What becomes of the heat of a circuit. Temperatures in °C.
#[derive(Clone, Debug, PartialEq)]
pub enum Heat {
    /// As much goes out as comes in.
    Steady(Steady),
    /// Nothing takes it out.
    Rising(Rising),
}

/// Temperatures that stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Steady {
    /// Temperature of the air that radiators draw.
    pub ambient_celsius: f64,
    /// Mean temperature of the coolant.
    pub mean_celsius: f64,
    /// All of them, in the order of the outcome's ports and parts.
    pub temperatures: Temperatures,
    /// The components that give heat or have a limit, the least margin first, then the hottest.
    pub parts: Vec<HotPart>,
    /// The radiators, in the order of the circuit.
    pub radiators: Vec<RadiatorAtWork>,
    /// How long the coolant takes from the air's temperature to 95 % of its rise, in s.
    pub warm_up_s: f64,
    /// What that follows from.
    pub capacity: Capacity,
    /// Radiators that no air is said to pass: they take nothing.
    pub without_air: Vec<String>,
    /// How many rounds of flows and temperatures it took.
    pub rounds: usize,
    /// What some changes would do to the hottest part, the most cooling first.
    pub trials: Vec<HeatTrial>,
}

/// A component that gives heat or has a limit. Temperatures in °C.
#[derive(Clone, Debug, PartialEq)]
pub struct HotPart {
    /// Its name.
    pub name: String,
    /// The heat that it gives, in W.
    pub heat_w: f64,
    /// The coolant that enters it.
    pub in_celsius: f64,
    /// The coolant that leaves it.
    pub out_celsius: f64,
    /// Its hot side, or the coolant that leaves it where no resistance is stated.
    pub celsius: f64,
    /// Whether a resistance is stated.
    pub has_resistance: bool,
    /// The same where everything is at its best: losses least, conductances most, resistance least.
    pub least_celsius: f64,
    /// The same where everything is at its worst.
    pub most_celsius: f64,
    /// How hot it may get.
    pub limit_celsius: Option<f64>,
}

/// A radiator at work.
#[derive(Clone, Debug, PartialEq)]
pub struct RadiatorAtWork {
    /// Its name in the network.
    pub name: String,
    /// What it gives to the air, in W.
    pub given_off_w: f64,
    /// Its conductance at these flows, in W/K.
    pub w_k: f64,
    /// Share of the largest possible exchange, from 0 to 1.
    pub effectiveness: f64,
    /// The air that leaves it, in °C.
    pub air_out_celsius: f64,
    /// Whether its conductance was measured at such flows.
    pub is_measured: bool,
}

/// How much heat a circuit holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Capacity {
    /// Coolant in bores and in what states a volume, in m³.
    pub volume_m3: f64,
    /// What warms coolant and components by a kelvin, in J/K.
    pub j_k: f64,
    /// Components whose volume is not stated, and so not counted.
    pub without_volume: Vec<String>,
}

/// Temperatures that rise as long as the machine runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Rising {
    /// How many kelvin a minute at first: at most that many where volumes are not stated, `None` where nothing is.
    pub k_per_min: Option<f64>,
    /// Heat of all parts and the shafts of pumps, in W.
    pub heat_w: f64,
    /// What that follows from.
    pub capacity: Capacity,
    /// Where it starts, in °C.
    pub start_celsius: f64,
    /// The component whose limit is reached first, and after how many minutes, where that is known.
    pub first_limit: Option<(String, Option<f64>)>,
    /// The temperature up to which the coolant's properties are known, in °C, and after how many minutes it is reached.
    pub coolant_end: (f64, Option<f64>),
}

impl HotPart {
    /// How many kelvin are left to the limit; below 0 it is exceeded.
    #[must_use]
    pub fn margin_k(&self) -> Option<f64> {
        self.limit_celsius.map(|limit| limit - self.celsius)
    }
}

impl Heat {
    /// Whether a limit is exceeded, or will be.
    #[must_use]
    pub fn exceeds_a_limit(&self) -> bool {
        match self {
            Self::Steady(steady) => steady.parts.iter().any(|part| part.margin_k().is_some_and(|margin| margin < 0.0)),
            Self::Rising(rising) => rising.first_limit.is_some(),
        }
    }
}

impl Circuit {
    /// The circuit at the temperatures that it settles at; `None` where the layout does not say enough, or heat has no way
    /// out.
    pub(super) fn warmed(&self) -> Result<Option<Warm>, NetworkError> {
        let thermal = &self.thermal;
        if thermal.ambient_celsius.is_none() || !thermal.has_radiator() {
            return Ok(None);
        }
        self.network.warm(&thermal.liquid, thermal.start_celsius)
    }

    /// What becomes of the heat. `warm` is [`Circuit::warmed`], `bands` are its flows.
    pub(super) fn heat(&self, warm: Option<&Warm>, bands: &[FlowBand]) -> Result<Option<Heat>, NetworkError> {
        match (warm, self.thermal.ambient_celsius) {
            (Some(warm), Some(ambient_celsius)) => {
                self.steady(warm, ambient_celsius, bands).map(Heat::Steady).map(Some)
            }
            _ if self.heat_w > 0.0 && (self.thermal.ambient_celsius.is_some() || !self.thermal.has_radiator()) => {
                self.rising().map(Heat::Rising).map(Some)
            }
            _ => Ok(None),
        }
    }

    fn steady(&self, warm: &Warm, ambient_celsius: f64, bands: &[FlowBand]) -> Result<Steady, NetworkError> {
        let thermal = &self.thermal;
        let doubt = thermal.bodies.iter().filter_map(|body| body.conductance_doubt).fold(0.0, f64::max);
        let case = |side: Side, conductance: f64| -> Result<Option<Warm>, NetworkError> {
            self.network.times_conductance(conductance).warm_at(&thermal.liquid, thermal.start_celsius, side)
        };
        let [best, worst] = [case(Side::Low, 1.0 + doubt)?, case(Side::High, 1.0 - doubt)?];
        let mut parts: Vec<HotPart> = thermal
            .bodies
            .iter()
            .filter(|body| body.heat_w > 0.0 || body.limit_celsius.is_some())
            .filter_map(|body| {
                let likely = hot_side(body, warm, 1.0, None)?;
                let least = best.as_ref().and_then(|best| hot_side(body, best, 1.0 - body.resistance_doubt, None));
                let most =
                    worst.as_ref().and_then(|worst| hot_side(body, worst, 1.0 + body.resistance_doubt, Some(bands)));
                Some(HotPart {
                    name: body.name.clone(),
                    heat_w: body.heat_w,
                    in_celsius: likely.in_celsius,
                    out_celsius: likely.out_celsius,
                    celsius: likely.celsius,
                    has_resistance: body.resistance.is_some(),
                    least_celsius: least.map_or(likely.celsius, |least| least.celsius.min(likely.celsius)),
                    most_celsius: most.map_or(f64::INFINITY, |most| most.celsius.max(likely.celsius)),
                    limit_celsius: body.limit_celsius,
                })
            })
            .collect();
        let margin = |part: &HotPart| part.margin_k().unwrap_or(f64::INFINITY);
        parts.sort_by(|a, b| margin(a).total_cmp(&margin(b)).then(b.celsius.total_cmp(&a.celsius)));
        let radiators = warm.temperatures.radiators.iter().map(|radiator| RadiatorAtWork {
            name: warm.outcome.parts[radiator.part].name.clone(),
            given_off_w: radiator.given_off_w,
            w_k: radiator.w_k,
            effectiveness: radiator.effectiveness,
            air_out_celsius: radiator.air_out_celsius,
            is_measured: radiator.is_measured,
        });
        let capacity = self.capacity(&warm.network);
        // As one lump: what it holds, over what it gives off for each kelvin above the air.
        let w_k = warm.temperatures.given_off_w / (warm.mean_celsius - ambient_celsius);
        Ok(Steady {
            ambient_celsius,
            mean_celsius: warm.mean_celsius,
            temperatures: warm.temperatures.clone(),
            parts,
            radiators: radiators.collect(),
            warm_up_s: 20_f64.ln() * capacity.j_k / w_k,
            capacity,
            without_air: thermal.without_air.clone(),
            rounds: warm.rounds,
            trials: self.heat_trials(warm)?,
        })
    }

    fn rising(&self) -> Result<Rising, NetworkError> {
        let (thermal, network) = (&self.thermal, &self.network);
        let outcome = network.solve()?;
        let heat_w = self.heat_w + network.all_shaft_w(&outcome);
        let capacity = self.capacity(network);
        let k_per_min = (capacity.j_k > 0.0).then(|| 60.0 * heat_w / capacity.j_k);
        let minutes = |rise_k: f64| k_per_min.map(|pace| (rise_k / pace).max(0.0));
        let reached = thermal.bodies.iter().filter_map(|body| {
            let flow: f64 = body.parts.iter().filter_map(|part| Some(outcome.part(part)?.flow_m3_s.abs())).sum();
            let above_k = body.resistance.as_ref().map_or(0.0, |resistance| body.heat_w * resistance.k_w(flow));
            Some((body.name.clone(), body.limit_celsius? - above_k - thermal.start_celsius))
        });
        let first = reached.min_by(|a, b| a.1.total_cmp(&b.1));
        let end = thermal.liquid.range_celsius().1;
        Ok(Rising {
            k_per_min,
            heat_w,
            capacity,
            start_celsius: thermal.start_celsius,
            first_limit: first.map(|(name, rise_k)| (name, minutes(rise_k))),
            coolant_end: (end, minutes(end - thermal.start_celsius)),
        })
    }

    fn capacity(&self, network: &Network) -> Capacity {
        let Thermal { volume_m3, capacity_j_k, without_volume, .. } = &self.thermal;
        let coolant = network.coolant();
        let j_k = volume_m3 * coolant.density_kg_m3 * coolant.heat_capacity_j_kg_k + capacity_j_k;
        Capacity { volume_m3: *volume_m3, j_k, without_volume: without_volume.clone() }
    }
}

/// The hottest of the components that give heat or have a limit.
pub(super) fn hottest(bodies: &[ThermalBody], warm: &Warm) -> Option<f64> {
    let asked = bodies.iter().filter(|body| body.heat_w > 0.0 || body.limit_celsius.is_some());
    asked.filter_map(|body| Some(hot_side(body, warm, 1.0, None)?.celsius)).reduce(f64::max)
}

/// Temperatures of one component.
struct HotSide {
    in_celsius: f64,
    out_celsius: f64,
    celsius: f64,
}

/// The hot side of a component, its resistance times a factor; where bands are given, at the least flow that it may have.
/// `None` where next to nothing flows.
fn hot_side(body: &ThermalBody, warm: &Warm, factor: f64, bands: Option<&[FlowBand]>) -> Option<HotSide> {
    let outcome = &warm.outcome;
    let Some(first) = body.parts.first() else {
        // A reservoir or a tee is as warm as what passes through it.
        let node = outcome.nodes.iter().position(|node| node.name == body.name)?;
        let celsius = warm.temperatures.nodes.get(node).copied().flatten()?;
        return Some(HotSide { in_celsius: celsius, out_celsius: celsius, celsius });
    };
    let mut flow = 0.0;
    let (mut in_celsius, mut out_celsius) = (f64::NAN, f64::NEG_INFINITY);
    for (index, part) in outcome.parts.iter().enumerate().filter(|(_, part)| body.parts.contains(&part.name)) {
        let Some(coolant) = warm.temperatures.parts[index] else { continue };
        let least = bands.and_then(|bands| bands.get(index)).map_or(f64::INFINITY, |band| {
            let forward = band.likely_m3_s.signum();
            (forward * band.low_m3_s).max(0.0)
        });
        let here = part.flow_m3_s.abs().min(least);
        // With less flow than in this state the same heat warms it more.
        let warms = (coolant.out_celsius - coolant.in_celsius) * part.flow_m3_s.abs() / here;
        let out = coolant.in_celsius + warms;
        flow += here;
        if part.name == *first || in_celsius.is_nan() {
            in_celsius = coolant.in_celsius;
        }
        out_celsius = f64::max(out_celsius, out);
    }
    if !in_celsius.is_finite() {
        return None;
    }
    let mean = f64::midpoint(in_celsius, out_celsius);
    let above = body.resistance.as_ref().map(|resistance| mean + factor * body.heat_w * resistance.k_w(flow));
    Some(HotSide { in_celsius, out_celsius, celsius: above.unwrap_or(out_celsius) })
}
