//! Everything about a circuit that is in doubt.

use super::{Network, NetworkError, PartId, close_bends::close_pairs, solve::Solver};
use crate::hydraulics::{Element, Formula, doubt::Stance, friction::Met, loss::Side};

/// One thing about one part that is in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Doubt {
    /// The part.
    pub part: PartId,
    /// What about it.
    pub formula: Formula,
}

impl Network {
    /// Everything that is in doubt, by parts.
    #[must_use]
    pub fn doubts(&self) -> Vec<Doubt> {
        let crowded = self.crowded();
        let mut all = Vec::new();
        let mut formulas = Vec::new();
        for (index, part) in self.parts.iter().enumerate() {
            formulas.clear();
            part.elements.iter().for_each(|element| element.formulas(&mut formulas));
            formulas.extend(crowded[index].then_some(Formula::CloseBends));
            formulas.sort_unstable();
            formulas.dedup();
            all.extend(formulas.iter().map(|&formula| Doubt { part: PartId(index), formula }));
        }
        all
    }

    /// The flow through each part, in m³/s along its stated direction, with each of [`Network::doubts`] at a place of its
    /// own: 0 is the likely value, -1 the least loss (the strongest pump), 1 the most. Places beyond continue, the least
    /// ever more slowly, so that no loss becomes a gain. Doubts without a place are at their likely value.
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn flows_at(&self, places: &[f64]) -> Result<Vec<f64>, NetworkError> {
        let mut solver = Solver::new(self)?;
        for (doubt, &place) in self.doubts().iter().zip(places) {
            let stance = &mut solver.stances[doubt.part.0];
            *stance = stance.with(doubt.formula, place);
        }
        Ok(solver.solve(None)?.flows)
    }

    /// For each part whether its bends have others close by.
    pub(super) fn crowded(&self) -> Vec<bool> {
        let mut crowded = vec![false; self.parts.len()];
        for pair in close_pairs(self) {
            for name in [&pair.first, &pair.second] {
                if let Some(id) = self.part_ids.get(name) {
                    crowded[id.0] = true;
                }
            }
        }
        crowded
    }

    /// Every part at one end of all its doubts.
    pub(super) fn stances(&self, side: Side) -> Vec<Stance> {
        let place = side.place();
        let stance = |crowded: bool| {
            let close = if crowded { place } else { 0.0 };
            Stance::of(side).with(Formula::CloseBends, close)
        };
        self.crowded().into_iter().map(stance).collect()
    }

    /// By how much more, in Pa along its stated direction, the part of each doubt loses at the least and at the most than
    /// at the likely value, at these flows.
    pub(super) fn doubted_pa(&self, doubts: &[Doubt], flows: &[f64]) -> Vec<[f64; 2]> {
        let mut split = vec![[0.0; 2]; self.parts.len()];
        for placed in &self.tees {
            let [low, likely, high] = [-1.0, 0.0, 1.0].map(|place| placed.own_losses(flows, &self.coolant, [place; 3]));
            for (index, leg) in placed.legs.iter().enumerate() {
                split[leg.0] = [low[index] - likely[index], high[index] - likely[index]];
            }
        }
        let mut met = Met::default();
        let mut lost = |part: PartId, stance: &Stance| -> f64 {
            let flow = flows[part.0];
            let loss = |element: &Element| element.loss_met(flow, self.coolant_in(part.0), stance, &mut met).pa;
            self.parts[part.0].elements.iter().map(loss).sum()
        };
        let more = |doubt: &Doubt| {
            let likely = lost(doubt.part, &Stance::LIKELY);
            let own = if doubt.formula == Formula::Tee { split[doubt.part.0] } else { [0.0; 2] };
            let at = |place: f64| Stance::LIKELY.with(doubt.formula, place);
            [lost(doubt.part, &at(-1.0)) - likely + own[0], lost(doubt.part, &at(1.0)) - likely + own[1]]
        };
        doubts.iter().map(more).collect()
    }
}
