//! Between which bounds the flows lie.

use super::{
    Network, NetworkError,
    solve::{Solver, State},
};
use crate::hydraulics::loss::Side;

/// The flow through a part, along its stated direction, and its bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowBand {
    /// The least in the direction of the likely flow, in m³/s.
    pub low_m3_s: f64,
    /// The likely value, in m³/s.
    pub likely_m3_s: f64,
    /// The most in the direction of the likely flow, in m³/s.
    pub high_m3_s: f64,
}

impl Network {
    /// The flow through each part and between which bounds it lies, in the order of the parts.
    ///
    /// For each branch the circuit is solved again with every part at that end of its uncertainty that brings the
    /// branch less (or more): its own losses high, those of its rivals low, and so on. Which end that is follows from
    /// the slopes, at the likely flows first and then at the flows found, until it stays the same. All at their worst
    /// at once is meant: most of the doubt about two elbows is the same doubt about one formula.
    ///
    /// # Errors
    /// As [`Network::solve`].
    pub fn flow_bands(&self) -> Result<Vec<FlowBand>, NetworkError> {
        let mut solver = Solver::new(self)?;
        let likely = solver.solve(None)?;
        let mut bands: Vec<FlowBand> =
            likely.flows.iter().map(|&flow| FlowBand { low_m3_s: flow, likely_m3_s: flow, high_m3_s: flow }).collect();
        // Parts of the same loops have the same answer, up to the sign, so it is worked out once for them.
        let mut solved: Vec<(Branch, [f64; 2])> = Vec::new();
        for (part, band) in bands.iter_mut().enumerate() {
            let Some(branch) = Branch::of(&solver, part) else { continue };
            let known = solved.iter().find(|(other, _)| other.loops == branch.loops);
            let (sign, extremes) = if let Some((other, extremes)) = known {
                (branch.sign * other.sign, *extremes)
            } else {
                let forward = if likely.flows[part] < 0.0 { -1.0 } else { 1.0 };
                let extremes = [
                    extreme(&mut solver, &likely, &branch, -forward)?,
                    extreme(&mut solver, &likely, &branch, forward)?,
                ];
                solved.push((branch, extremes));
                (1.0, extremes)
            };
            [band.low_m3_s, band.high_m3_s] = extremes.map(|flow| sign * flow);
        }
        Ok(bands)
    }
}

/// A part by the loops it is in.
struct Branch {
    part: usize,
    /// The loops, with signs that count from the part's sign in the first of them, which is `sign`.
    loops: Vec<(usize, f64)>,
    sign: f64,
}

impl Branch {
    /// `None` for a part that is in no loop, whose flow the supplies alone decide.
    fn of(solver: &Solver<'_>, part: usize) -> Option<Self> {
        let sign_in = |members: &[(usize, f64)]| members.iter().find(|member| member.0 == part).map(|member| member.1);
        let all = solver.graph.loops.iter().enumerate();
        let mut loops: Vec<(usize, f64)> =
            all.filter_map(|(index, members)| sign_in(members).map(|sign| (index, sign))).collect();
        let &(_, sign) = loops.first()?;
        loops.iter_mut().for_each(|(_, other)| *other *= sign);
        Some(Self { part, loops, sign })
    }
}

/// The flow through a branch furthest along its part's direction (`wanted` 1) or against it (-1).
fn extreme(solver: &mut Solver<'_>, likely: &State, branch: &Branch, wanted: f64) -> Result<f64, NetworkError> {
    /// Once settles nearly every circuit; several pumps against each other may take another.
    const MAX_ROUNDS: usize = 4;
    let flow = |state: &State| state.flows[branch.part];
    let mut furthest = flow(likely);
    let mut from = likely.clone();
    solver.sides = Vec::new();
    for _ in 0..MAX_ROUNDS {
        let sides = sides_toward(solver, &from, branch, wanted);
        if sides == solver.sides {
            break;
        }
        solver.sides = sides;
        from = solver.solve(Some(&from))?;
        if (flow(&from) - furthest) * wanted > 0.0 {
            furthest = flow(&from);
        }
    }
    Ok(furthest)
}

/// For each part, the end of its uncertainty that moves the branch's flow the wanted way.
fn sides_toward(solver: &Solver<'_>, state: &State, branch: &Branch, wanted: f64) -> Vec<Side> {
    let response = solver.response(state);
    let more_loss = more_loss_pa(solver.network, state);
    let side = |(part, more): (usize, &f64)| {
        let effect: f64 = branch.loops.iter().map(|&(index, sign)| sign * response[(index, part)]).sum();
        if effect * branch.sign * more * wanted > 0.0 { Side::High } else { Side::Low }
    };
    more_loss.iter().enumerate().map(side).collect()
}

/// By how much more each part loses along its stated direction at its high end than at its low one.
fn more_loss_pa(network: &Network, state: &State) -> Vec<f64> {
    let at = |part: usize, side: Side| -> f64 {
        let elements = network.parts[part].elements.iter();
        elements.map(|element| element.loss(state.flows[part], &network.coolant, side).pa).sum()
    };
    let mut more: Vec<f64> = (0..network.parts.len()).map(|part| at(part, Side::High) - at(part, Side::Low)).collect();
    for placed in &network.tees {
        let [high, low] = [Side::High, Side::Low].map(|side| placed.own_losses(&state.flows, &network.coolant, side));
        for (index, leg) in placed.legs.iter().enumerate() {
            more[leg.0] += high[index] - low[index];
        }
    }
    more
}
