//! What changes to a circuit would do to its hottest part.

use super::{build::Circuit, heat::hottest};
use crate::hydraulics::{
    Element, Pump,
    network::{Network, NetworkError, Warm},
};

/// A change that a builder may consider.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatTrial {
    /// The change, in words.
    pub what: String,
    /// By how many kelvin the hottest part would be hotter; below 0 it would be cooler.
    pub change_k: f64,
}

/// How much faster fans and pumps are tried, and how much larger a radiator.
const FASTER: f64 = 1.2;
const LARGER: f64 = 1.5;

impl Circuit {
    /// Tries faster fans, a faster pump, each radiator half as large again, and other orders of what coolant passes in a
    /// row. What cools most first.
    pub(super) fn heat_trials(&self, warm: &Warm) -> Result<Vec<HeatTrial>, NetworkError> {
        let bodies = &self.thermal.bodies;
        let Some(before) = hottest(bodies, warm) else { return Ok(Vec::new()) };
        let mut changed: Vec<(String, Network)> = Vec::new();
        let percent = (FASTER - 1.0) * 100.0;
        changed.push((format!("all fans {percent:.0} % faster"), self.network.times_air(FASTER)));
        for part in self.parts.iter().filter(|part| part.elements.iter().any(|element| element.as_pump().is_some())) {
            if let Some(network) = self.with_faster_pump(&part.name) {
                changed.push((format!("{} {percent:.0} % faster", part.name), network));
            }
        }
        for body in bodies.iter().filter(|body| body.conductance_doubt.is_some()) {
            let larger = self.network.times_conductance_of(&body.parts, LARGER);
            changed.push((format!("{} half as large again, with the same air", body.name), larger));
        }
        let mut trials = Vec::with_capacity(changed.len());
        for (what, network) in changed {
            // A change that brings the coolant out of its range is none to consider.
            let Ok(Some(after)) = network.warm(&self.thermal.liquid, self.thermal.start_celsius) else { continue };
            if let Some(celsius) = hottest(bodies, &after) {
                trials.push(HeatTrial { what, change_k: celsius - before });
            }
        }
        trials.extend(self.other_order(warm));
        trials.sort_by(|a, b| a.change_k.total_cmp(&b.change_k).then_with(|| a.what.cmp(&b.what)));
        Ok(trials)
    }

    fn with_faster_pump(&self, name: &str) -> Option<Network> {
        let part = self.parts.iter().find(|part| part.name == name)?;
        let faster = |element: &Element| match element {
            Element::Pump(pump) if pump.is_on() => {
                pump.clone().with_speed(pump.speed() * FASTER).ok().map(Element::Pump)
            }
            other => Some(other.clone()),
        };
        if !part.elements.iter().filter_map(Element::as_pump).any(Pump::is_on) {
            return None;
        }
        let elements: Option<Vec<Element>> = part.elements.iter().map(faster).collect();
        let mut network = self.network.clone();
        network.replace(name, elements?).ok()?;
        network.times_shaft_power(name, FASTER.powi(3));
        Some(network)
    }

    /// The order of components in a row that would keep the hottest coolest, where it is another one.
    fn other_order(&self, warm: &Warm) -> Option<HeatTrial> {
        /// Less is no news.
        const LEAST_K: f64 = 0.05;
        let outcome = &warm.outcome;
        let position = |name: &String| outcome.parts.iter().position(|part| part.name == *name);
        let moved: Vec<(usize, &super::thermal::ThermalBody)> = self
            .thermal
            .bodies
            .iter()
            .filter(|body| body.heat_w > 0.0 || body.conductance_doubt.is_some())
            .filter_map(|body| match body.parts.as_slice() {
                [only] => Some((position(only)?, body)),
                _ => None,
            })
            .collect();
        let parts: Vec<usize> = moved.iter().map(|(part, _)| *part).collect();
        let hot = |part: usize, mean: f64| {
            let body = moved.iter().find(|(other, _)| *other == part).map(|(_, body)| body);
            let flow = outcome.parts[part].flow_m3_s;
            body.filter(|body| body.heat_w > 0.0).map_or(f64::NEG_INFINITY, |body| {
                mean + body.resistance.as_ref().map_or(0.0, |resistance| body.heat_w * resistance.k_w(flow))
            })
        };
        let order = warm.network.coolest_order(outcome, &parts, hot)?;
        let change_k = order.after_celsius - order.before_celsius;
        if change_k > -LEAST_K {
            return None;
        }
        let names: Vec<&str> = order.parts.iter().map(|&part| outcome.parts[part].name.as_str()).collect();
        Some(HeatTrial { what: format!("in the order {}", names.join(", ")), change_k })
    }
}
