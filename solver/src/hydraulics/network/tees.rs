//! What the split of a tee adds to its legs, as the solver needs it.

use super::PlacedTee;
use crate::hydraulics::{
    Coolant,
    friction::{dynamic_pressure_pa, velocity_m_s},
    loss::Side,
    minor::TeeLeg,
};

/// What a tee's split adds to its legs, in Pa towards its middle, and how that grows with the flow in each leg.
#[derive(Clone, Copy, Debug)]
pub(super) struct TeeTerm {
    pub(super) pa: [f64; 3],
    /// Rows are losses, columns flows.
    pub(super) slopes: [[f64; 3]; 3],
}

impl PlacedTee {
    /// The tee's own losses at the flows of all parts.
    pub(super) fn own_losses(&self, flows: &[f64], coolant: &Coolant, side: Side) -> [f64; 3] {
        self.tee.losses_pa(self.legs.map(|leg| flows[leg.0]), coolant, side)
    }

    /// A share of the tee's own losses, the rest of the stand-in: half a dynamic pressure in each leg of the run, a
    /// whole one in the branch.
    pub(super) fn term(&self, flows: &[f64], coolant: &Coolant, side: Side, share: f64) -> TeeTerm {
        let into = self.legs.map(|leg| flows[leg.0]);
        let mut term = TeeTerm { pa: [0.0; 3], slopes: [[0.0; 3]; 3] };
        if share < 1.0 {
            for (leg, place) in TeeLeg::ALL.into_iter().enumerate() {
                let coefficient = if place == TeeLeg::Branch { 1.0 } else { 0.5 };
                let velocity = velocity_m_s(into[leg], self.tee.bore_m(place));
                let loss = coefficient * dynamic_pressure_pa(velocity, coolant);
                term.pa[leg] = (1.0 - share) * loss.copysign(into[leg]);
                let slope = if into[leg] == 0.0 { 0.0 } else { 2.0 * loss / into[leg].abs() };
                term.slopes[leg][leg] = (1.0 - share) * slope;
            }
        }
        if share > 0.0 {
            let own = self.tee.losses_pa(into, coolant, side);
            // Central differences: the laws are quotients of squares with a few kinks, not worth a second set of
            // formulas.
            let step = 1e-6 * into.iter().copied().map(f64::abs).fold(0.0, f64::max);
            for (pa, own) in term.pa.iter_mut().zip(own) {
                *pa += share * own;
            }
            for moved in (0..3).filter(|_| step > 0.0) {
                let losses = |by: f64| {
                    let mut into = into;
                    into[moved] += by;
                    self.tee.losses_pa(into, coolant, side)
                };
                let (more, less) = (losses(step), losses(-step));
                for leg in 0..3 {
                    term.slopes[leg][moved] += share * (more[leg] - less[leg]) / (2.0 * step);
                }
            }
        }
        term
    }
}
