//! What another part would bring.

use super::{Network, NetworkError, Outcome, PartId, outcome::passing_m3_s, solve::Solver};
use crate::hydraulics::Element;

/// A circuit before and after a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The circuit as it is.
    pub before: Outcome,
    /// The circuit with the change.
    pub after: Outcome,
}

/// What a part costs: the flow the circuit would gain if the part lost nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Relief {
    /// The part.
    pub part: PartId,
    /// Its name.
    pub name: String,
    /// How much more would flow, in m³/s: the most that replacing the part can bring.
    pub gain_m3_s: f64,
}

impl Change {
    /// How much more flows after the change, in m³/s.
    #[must_use]
    pub fn gain_m3_s(&self) -> f64 {
        self.after.circuit_flow_m3_s() - self.before.circuit_flow_m3_s()
    }
}

impl Network {
    /// Solves the circuit as it is and with other elements in the named parts.
    ///
    /// # Errors
    /// As [`Network::solve`], or an unknown part.
    pub fn what_if(&self, replacements: &[(&str, Vec<Element>)]) -> Result<Change, NetworkError> {
        let mut changed = self.clone();
        for (part, elements) in replacements {
            changed.replace(part, elements.clone())?;
        }
        Ok(Change { before: self.solve()?, after: changed.solve()? })
    }

    /// What each part costs, the most first: where to look for more flow. Running pumps, the legs of tees and what loses
    /// nothing anyway are left out. In parallel branches a part may cost nothing, or even less than that.
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn reliefs(&self) -> Result<Vec<Relief>, NetworkError> {
        let solver = Solver::new(self)?;
        let near = solver.solve(None)?;
        let comes_round = |flows: &[f64]| passing_m3_s(&solver, flows).into_iter().fold(0.0, f64::max);
        let before = comes_round(&near.flows);
        let mut reliefs = Vec::new();
        let mut relieved = self.clone();
        let replaceable = |index: &usize| {
            let part = &self.parts[*index];
            !part.elements.is_empty() && !part.has_running_pump() && !part.is_tee_leg()
        };
        for index in (0..self.parts.len()).filter(replaceable) {
            let elements = std::mem::take(&mut relieved.parts[index].elements);
            // The shape is the same, so the loops are, and the answer is near.
            let state = Solver::like(&relieved, &solver).solve(Some(&near))?;
            relieved.parts[index].elements = elements;
            let gain_m3_s = comes_round(&state.flows) - before;
            reliefs.push(Relief { part: PartId(index), name: self.parts[index].name.clone(), gain_m3_s });
        }
        reliefs.sort_by(|a, b| b.gain_m3_s.total_cmp(&a.gain_m3_s).then(a.part.cmp(&b.part)));
        Ok(reliefs)
    }
}
