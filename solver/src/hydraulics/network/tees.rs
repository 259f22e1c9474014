//! What the split of a tee adds to its legs, as the solver needs it.

use super::PlacedTee;
use crate::hydraulics::{
    Coolant, Formula,
    doubt::Stance,
    friction::{dynamic_pressure_pa, velocity_m_s},
    minor::TeeLeg,
};

/// A tee at work: what its law is taken with.
pub(super) struct AtWork<'a> {
    pub(super) flows: &'a [f64],
    pub(super) coolant: &'a Coolant,
    /// Where each part stands in its doubts.
    pub(super) stances: &'a [Stance],
    /// How much of the tee's own losses, from 0 (the stand-in) to 1.
    pub(super) share: f64,
}

impl PlacedTee {
    /// The tee's own losses, each leg at a place of its own in its doubt.
    pub(super) fn own_losses(&self, flows: &[f64], coolant: &Coolant, places: [f64; 3]) -> [f64; 3] {
        self.tee.losses_at(self.legs.map(|leg| flows[leg.0]), coolant, places)
    }

    /// Where each leg stands.
    pub(super) fn places(&self, stances: &[Stance]) -> [f64; 3] {
        self.legs.map(|leg| stances[leg.0].at(Formula::Tee))
    }

    /// What the split adds to each leg, in Pa towards the middle: a share of the tee's own losses, the rest of the
    /// stand-in, which is half a dynamic pressure in each leg of the run and a whole one in the branch.
    pub(super) fn added_pa(&self, at: &AtWork<'_>) -> [f64; 3] {
        let mut added = [0.0; 3];
        if at.share < 1.0 {
            for (leg, place) in TeeLeg::ALL.into_iter().enumerate() {
                let flow = at.flows[self.legs[leg].0];
                added[leg] = (1.0 - at.share) * self.stand_in_pa(place, flow, at.coolant).copysign(flow);
            }
        }
        if at.share > 0.0 {
            let own = self.own_losses(at.flows, at.coolant, self.places(at.stances));
            added.iter_mut().zip(own).for_each(|(added, own)| *added += at.share * own);
        }
        added
    }

    /// How that grows with the flow in each leg: rows are losses, columns flows.
    pub(super) fn slopes(&self, at: &AtWork<'_>) -> [[f64; 3]; 3] {
        let into = self.legs.map(|leg| at.flows[leg.0]);
        let mut slopes = [[0.0; 3]; 3];
        if at.share < 1.0 {
            for (leg, place) in TeeLeg::ALL.into_iter().enumerate().filter(|(leg, _)| into[*leg] != 0.0) {
                slopes[leg][leg] =
                    (1.0 - at.share) * 2.0 * self.stand_in_pa(place, into[leg], at.coolant) / into[leg].abs();
            }
        }
        // Differences: the laws are quotients of squares with a few kinks, not worth a second set of formulas.
        let step = 1e-7 * into.iter().copied().map(f64::abs).fold(0.0, f64::max);
        if at.share > 0.0 && step > 0.0 {
            let places = self.places(at.stances);
            let here = self.tee.losses_at(into, at.coolant, places);
            for moved in 0..3 {
                let mut more = into;
                more[moved] += step;
                let there = self.tee.losses_at(more, at.coolant, places);
                for leg in 0..3 {
                    slopes[leg][moved] += at.share * (there[leg] - here[leg]) / step;
                }
            }
        }
        slopes
    }

    /// About how steep its losses are at most, in Pa per m³/s.
    pub(super) fn steepness(&self, flows: &[f64], coolant: &Coolant) -> f64 {
        let largest = self.legs.iter().map(|leg| flows[leg.0].abs()).fold(0.0, f64::max);
        if largest == 0.0 {
            return 0.0;
        }
        let narrowest = TeeLeg::ALL.map(|leg| self.tee.bore_m(leg)).into_iter().fold(f64::INFINITY, f64::min);
        4.0 * dynamic_pressure_pa(velocity_m_s(largest, narrowest), coolant) / largest
    }

    fn stand_in_pa(&self, leg: TeeLeg, flow: f64, coolant: &Coolant) -> f64 {
        let coefficient = if leg == TeeLeg::Branch { 1.0 } else { 0.5 };
        coefficient * dynamic_pressure_pa(velocity_m_s(flow, self.tee.bore_m(leg)), coolant)
    }
}
