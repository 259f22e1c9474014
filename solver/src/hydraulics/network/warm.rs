//! Flows and temperatures together: warm coolant is thinner, flows faster, and so warms less.

use super::{Network, NetworkError, Outcome, Radiator, Temperatures};
use crate::hydraulics::{Coolant, Liquid, Side};

/// A circuit at the temperatures that it settles at.
#[derive(Clone, Debug)]
pub struct Warm {
    /// The circuit with the viscosity of each part at its own temperature, and density and heat capacity at the mean.
    pub network: Network,
    /// Its flows.
    pub outcome: Outcome,
    /// Its temperatures.
    pub temperatures: Temperatures,
    /// The mean temperature of the coolant, in °C, over the parts by what flows in them.
    pub mean_celsius: f64,
    /// By how much the last round changed any temperature, in K.
    pub change_k: f64,
    /// How many rounds of flows and temperatures it took.
    pub rounds: usize,
}

impl Network {
    /// The circuit where it settles with this liquid: flows at the local viscosity and temperatures at these flows, by
    /// turns until neither changes; `None` where heat has no way out.
    ///
    /// # Errors
    /// As [`Network::solve`]; and [`NetworkError::OutsideLiquid`] where coolant becomes hotter or colder than the liquid's
    /// properties are known.
    pub fn warm(&self, liquid: &Liquid, start_celsius: f64) -> Result<Option<Warm>, NetworkError> {
        self.warm_at(liquid, start_celsius, Side::Likely)
    }

    /// The same with every loss at one end of its doubts. Temperatures beyond the liquid's range are then taken with its
    /// properties at the end of that range.
    ///
    /// # Errors
    /// As [`Network::warm`].
    pub fn warm_at(&self, liquid: &Liquid, start_celsius: f64, side: Side) -> Result<Option<Warm>, NetworkError> {
        /// Circuits of this trade take 5 to 8; a coolant that freezes in one branch would not settle by itself.
        const MOST_ROUNDS: usize = 60;
        /// From this round on only half of each change is made, should two states take turns.
        const HALVED_FROM: usize = 20;
        const SETTLED_K: f64 = 1e-9;
        let (from, to) = liquid.range_celsius();
        let at = |celsius: f64| liquid.at(celsius.clamp(from, to)).unwrap_or(self.coolant);
        let mut network = self.clone();
        network.coolant = at(start_celsius);
        let (mut means, mut warm): (Vec<f64>, Option<Warm>) = (vec![start_celsius; self.parts.len()], None);
        for round in 1..=MOST_ROUNDS {
            let outcome = network.solve_at(side)?;
            let Some(temperatures) = network.temperatures(&outcome) else { return Ok(None) };
            let mean_celsius = mean(&temperatures, &outcome).unwrap_or(start_celsius);
            let share = if round < HALVED_FROM { 1.0 } else { 0.5 };
            let mut change_k: f64 = 0.0;
            for (mean, part) in means.iter_mut().zip(&temperatures.parts) {
                let new = part.map_or(mean_celsius, |part| part.mean_celsius());
                change_k = change_k.max((new - *mean).abs());
                *mean += share * (new - *mean);
            }
            let settled = change_k < SETTLED_K;
            warm =
                Some(Warm { network: network.clone(), outcome, temperatures, mean_celsius, change_k, rounds: round });
            if settled {
                break;
            }
            network.coolant = at(mean_celsius);
            let viscosity = |celsius: &f64| Coolant { viscosity_pa_s: at(*celsius).viscosity_pa_s, ..network.coolant };
            network.local = means.iter().map(viscosity).collect();
        }
        let Some(warm) = warm else { return Ok(None) };
        let extremes = [warm.temperatures.hottest_celsius(), warm.temperatures.coldest_celsius()];
        match extremes.into_iter().flatten().find(|celsius| !(from..=to).contains(celsius)) {
            Some(celsius) if side == Side::Likely => {
                Err(NetworkError::OutsideLiquid { part: warm.place_of(celsius), from, to })
            }
            _ => Ok(Some(warm)),
        }
    }
}

impl Network {
    /// The same circuit, the conductance of every radiator times a factor.
    #[must_use]
    pub fn times_conductance(&self, factor: f64) -> Self {
        self.with_radiators(|_, radiator| radiator.conductance = radiator.conductance.clone().times(factor))
    }

    /// The same circuit, the conductance of the radiators of these names times a factor.
    #[must_use]
    pub fn times_conductance_of(&self, parts: &[String], factor: f64) -> Self {
        self.with_radiators(|name, radiator| {
            if parts.iter().any(|part| part == name) {
                radiator.conductance = radiator.conductance.clone().times(factor);
            }
        })
    }

    /// The same circuit, the air through every radiator times a factor.
    #[must_use]
    pub fn times_air(&self, factor: f64) -> Self {
        self.with_radiators(|_, radiator| radiator.air.flow_m3_s *= factor)
    }

    fn with_radiators(&self, mut change: impl FnMut(&str, &mut Radiator)) -> Self {
        let mut changed = self.clone();
        for part in &mut changed.parts {
            if let Some(radiator) = &mut part.radiator {
                change(&part.name, radiator);
            }
        }
        changed
    }

    /// The stated shaft power of a part times a factor; nothing where none is stated.
    pub(crate) fn times_shaft_power(&mut self, part: &str, factor: f64) {
        if let Some(id) = self.part_ids.get(part) {
            self.parts[id.0].shaft_w = self.parts[id.0].shaft_w.map(|shaft| shaft * factor);
        }
    }
}

impl Warm {
    /// The part that coolant of a temperature leaves.
    fn place_of(&self, celsius: f64) -> String {
        let near =
            |part: usize| self.temperatures.parts[part].map_or(f64::INFINITY, |at| (at.out_celsius - celsius).abs());
        // What coolant merely passes is as hot, but is not what makes it so.
        let changes =
            |part: usize| self.temperatures.parts[part].map_or(0.0, |at| (at.out_celsius - at.in_celsius).abs());
        let first = |&a: &usize, &b: &usize| near(a).total_cmp(&near(b)).then(changes(b).total_cmp(&changes(a)));
        let nearest = (0..self.outcome.parts.len()).min_by(first);
        nearest.map_or_else(String::new, |part| self.outcome.parts[part].name.clone())
    }
}

/// The mean over the parts, each by its flow.
fn mean(temperatures: &Temperatures, outcome: &Outcome) -> Option<f64> {
    let weighed = temperatures.parts.iter().zip(&outcome.parts).filter_map(|(part, at)| Some((part.as_ref()?, at)));
    let (sum, weight) = weighed.fold((0.0, 0.0), |(sum, weight), (part, at)| {
        (sum + part.mean_celsius() * at.flow_m3_s.abs(), weight + at.flow_m3_s.abs())
    });
    (weight > 0.0).then(|| sum / weight)
}
