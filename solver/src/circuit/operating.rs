//! What a circuit settles at, and everything that a builder asks about it.

use super::{build::Circuit, fault::CircuitFault, heat::Heat, trial::Trial};
use crate::hydraulics::network::{Bands, Finding, FlowBand, Margin, NetworkError, Outcome, Relief};

/// The operating point of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Operating {
    /// Flows, pressures, findings, residuals.
    pub outcome: Outcome,
    /// Name of the first pump that runs, of which the margin is told.
    pub pump: String,
    /// The flow that comes round, and its bounds: with pumps side by side, what they move together.
    pub flow: FlowBand,
    /// The flow through each part and its bounds, in the order of the outcome's parts.
    pub bands: Vec<FlowBand>,
    /// How far that pump reaches beyond the layout's design flow, or beyond its share of that flow where pumps stand side
    /// by side.
    pub margin: Margin,
    /// How many kelvin the flow that comes round warms by all heat, if anything gives heat and takes it away.
    pub rise_k: Option<f64>,
    /// Share of all power lost that is lost in fittings: those of chains, and those placed like components.
    pub share_of_fittings: f64,
    /// What becomes of the heat; `None` without any, and where radiators are there but the temperature of the air is not
    /// stated.
    pub heat: Option<Heat>,
    /// What each part costs, the most first.
    pub reliefs: Vec<Relief>,
    /// What some changes would bring, the most first.
    pub trials: Vec<Trial>,
}

/// What flows through a circuit and through each of its gaps, in L/min.
#[derive(Clone, Debug, PartialEq)]
pub struct Flows {
    /// What comes round: with pumps side by side, what they move together.
    pub circuit_l_min: f64,
    /// Through each gap, in the order of the layout's list, whichever way.
    pub gaps_l_min: Vec<f64>,
}

impl Circuit {
    /// The flows at the operating point alone, quickly.
    ///
    /// # Errors
    /// As [`Circuit::operating`].
    pub fn flows(&self) -> Result<Flows, CircuitFault> {
        let warm = self.warmed().map_err(|error| self.fault(&error))?;
        let solved = warm.map_or_else(|| self.network.solve(), |warm| Ok(warm.outcome));
        let outcome = solved.map_err(|error| self.fault(&error))?;
        let mut gaps_l_min = Vec::new();
        for (part, gap) in self.parts.iter().filter_map(|part| Some((part, part.gap?))) {
            if gap >= gaps_l_min.len() {
                // One part of a gap stands for all: they follow each other.
                gaps_l_min.resize(gap, 0.0);
                gaps_l_min.push(outcome.part(&part.name).map_or(0.0, |part| part.flow_m3_s.abs() * L_MIN));
            }
        }
        Ok(Flows { circuit_l_min: outcome.circuit_flow_m3_s() * L_MIN, gaps_l_min })
    }

    /// Solves the circuit.
    ///
    /// # Errors
    /// Parts that do not hang together, or a pump that nothing leads back to, with the place in the file.
    pub fn operating(&self) -> Result<Operating, CircuitFault> {
        self.solved().map_err(|error| self.fault(&error))
    }

    fn solved(&self) -> Result<Operating, NetworkError> {
        let warm = self.warmed()?;
        let network = warm.as_ref().map_or(&self.network, |warm| &warm.network);
        let outcome = network.solve()?;
        let no_pump = || NetworkError::NoPump { off: Vec::new() };
        let first = outcome.pumps.first().ok_or_else(no_pump)?;
        let pump = outcome.parts.get(first.part).ok_or_else(no_pump)?.name.clone();
        let Bands { parts: bands, circuit: flow } = network.bands()?;
        let comes_round = outcome.circuit_flow_m3_s();
        let share = if first.flow_m3_s > 0.0 && comes_round > 0.0 { first.flow_m3_s / comes_round } else { 1.0 };
        // This also finds a pump that nothing leads back to.
        let margin = network.margin(&pump, self.design_flow_m3_s * share)?;
        let overheated = outcome.findings.iter().any(|finding| matches!(finding, Finding::HeatWithoutFlow { .. }));
        let heated = self.heat_w > 0.0 && !overheated;
        let rise_k = network.coolant().temperature_rise_k(self.heat_w, comes_round).filter(|_| heated);
        let fittings = outcome.parts.iter().filter(|part| self.fittings.contains(&part.name));
        let share_of_fittings = fittings.map(|part| part.share).sum();
        let heat = self.heat(warm.as_ref(), &bands)?;
        let reliefs = network.reliefs()?;
        let is_short = comes_round < self.design_flow_m3_s;
        let trials = self.trials(network, &pump, &outcome, is_short)?;
        Ok(Operating { outcome, pump, flow, bands, margin, rise_k, share_of_fittings, heat, reliefs, trials })
    }
}

/// m³/s to L/min.
const L_MIN: f64 = 60_000.0;

/// A count as a number to divide by, at least 1.
pub(super) fn count(number: usize) -> f64 {
    u32::try_from(number.max(1)).map_or(f64::MAX, f64::from)
}
