//! Between which bounds the flows lie.

use super::{
    Network, NetworkError,
    solve::{Solver, State},
};
use crate::hydraulics::loss::Side;

/// The flow through a part, along its stated direction, and its bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowBand {
    /// The least, in m³/s; the one nearest to zero or furthest the other way.
    pub low_m3_s: f64,
    /// The likely value, in m³/s.
    pub likely_m3_s: f64,
    /// The most, in m³/s.
    pub high_m3_s: f64,
}

impl Network {
    /// The flow through each part and between which bounds it lies, in the order of the parts.
    ///
    /// For each branch the circuit is solved again with every part at that end of its uncertainty that brings the
    /// branch less (or more): its own losses high, those of its rivals low, and so on; which end that is follows from
    /// the slopes at the likely flows. All at their worst at once is meant: most of the doubt about two elbows is the
    /// same doubt about one formula.
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn flow_bands(&self) -> Result<Vec<FlowBand>, NetworkError> {
        let mut solver = Solver::new(self)?;
        let likely = solver.solve(None)?;
        let more_loss = self.more_loss_pa(&likely);
        let response = solver.response(&likely);
        let mut bands: Vec<FlowBand> =
            likely.flows.iter().map(|&flow| FlowBand { low_m3_s: flow, likely_m3_s: flow, high_m3_s: flow }).collect();

        // Parts of the same loops have the same answer, up to the sign, so it is worked out once for them.
        let mut solved: Vec<Extremes> = Vec::new();
        for (part, band) in bands.iter_mut().enumerate() {
            let Some((loops, sign)) = memberships(&solver, part) else { continue };
            let known = solved.iter().position(|extremes| extremes.loops == loops);
            let index = if let Some(known) = known {
                known
            } else {
                // How the flow along the loops answers to more loss in each part.
                let answer = |other: usize| -> f64 {
                    let effect: f64 = loops.iter().map(|&(index, sign)| sign * response[(index, other)]).sum();
                    effect * more_loss[other]
                };
                let forward = if likely.flows[part] * sign < 0.0 { -1.0 } else { 1.0 };
                let mut toward = |wanted: f64| {
                    let side = |other| if answer(other) * forward * wanted > 0.0 { Side::High } else { Side::Low };
                    solver.sides = (0..more_loss.len()).map(side).collect();
                    solver.solve(Some(&likely))
                };
                let (least, most) = (toward(-1.0)?, toward(1.0)?);
                solved.push(Extremes { loops, least, most });
                solved.len() - 1
            };
            band.low_m3_s = solved[index].least.flows[part];
            band.high_m3_s = solved[index].most.flows[part];
        }
        Ok(bands)
    }

    /// By how much the loss of each part along its stated direction grows when it is at its high end.
    fn more_loss_pa(&self, state: &State) -> Vec<f64> {
        let at = |part: usize, side: Side| -> f64 {
            let elements = self.parts[part].elements.iter();
            elements.map(|element| element.loss(state.flows[part], &self.coolant, side).pa).sum()
        };
        let mut more: Vec<f64> =
            (0..self.parts.len()).map(|part| at(part, Side::High) - at(part, Side::Likely)).collect();
        for placed in &self.tees {
            let into = placed.legs.map(|leg| state.flows[leg.0]);
            let [high, likely] = [Side::High, Side::Likely].map(|side| placed.tee.losses_pa(into, &self.coolant, side));
            for (index, leg) in placed.legs.iter().enumerate() {
                more[leg.0] += high[index] - likely[index];
            }
        }
        more
    }
}

/// The circuit at both ends for the parts of some loops.
struct Extremes {
    loops: Vec<(usize, f64)>,
    least: State,
    most: State,
}

/// The loops that a part is in, with signs that count from its sign in the first of them, and that sign.
fn memberships(solver: &Solver<'_>, part: usize) -> Option<(Vec<(usize, f64)>, f64)> {
    let sign_in = |members: &[(usize, f64)]| members.iter().find(|member| member.0 == part).map(|member| member.1);
    let loops = solver.graph.loops.iter().enumerate();
    let mut loops: Vec<(usize, f64)> =
        loops.filter_map(|(index, members)| sign_in(members).map(|sign| (index, sign))).collect();
    let &(_, first) = loops.first()?;
    loops.iter_mut().for_each(|(_, sign)| *sign *= first);
    Some((loops, first))
}
