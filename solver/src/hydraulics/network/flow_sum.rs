//! Flows that bounds are asked of: that of a branch, and that of the circuit, which several branches may bring.

use super::{outcome::passing_m3_s, solve::Solver};
use std::collections::HashMap;

/// A sum of the flows of parts.
pub(super) struct FlowSum {
    /// The parts, each with 1 or -1.
    terms: Vec<(usize, f64)>,
    /// A flow that comes from outside.
    supplied_m3_s: f64,
    /// The same as a sum of the flows of loops.
    pub(super) loops: Vec<(usize, f64)>,
    /// Parts that have this flow, with -1 for those that are stated the other way; none for the circuit's.
    pub(super) members: Vec<(usize, f64)>,
}

impl FlowSum {
    /// The flow of each branch: parts of the same loops have one flow, up to the sign. Parts in no loop are left out,
    /// since the supplies alone decide theirs.
    pub(super) fn branches(solver: &Solver<'_>) -> Vec<Self> {
        let mut branches: Vec<Self> = Vec::new();
        let mut known = HashMap::new();
        for (part, loops) in solver.graph.memberships.iter().enumerate() {
            let Some(&(_, sign)) = loops.first() else { continue };
            let shape: Vec<(usize, bool)> = loops.iter().map(|&(index, other)| (index, other == sign)).collect();
            // With supplies, parts of the same loops may carry different flows.
            let base = solver.graph.base_flows[part] * sign;
            let branch: usize = *known.entry((shape, base.to_bits())).or_insert_with(|| {
                let (terms, loops) = (vec![(part, 1.0)], loops.clone());
                branches.push(Self { terms, supplied_m3_s: 0.0, loops, members: Vec::new() });
                branches.len() - 1
            });
            let first = branches[branch].loops[0].1;
            branches[branch].members.push((part, sign * first));
        }
        branches
    }

    /// What enters the port that most passes through at these flows.
    pub(super) fn busiest(solver: &Solver<'_>, flows: &[f64]) -> Self {
        let passing = passing_m3_s(solver, flows);
        let busiest = (0..passing.len()).fold(0, |most, node| if passing[node] > passing[most] { node } else { most });
        let mut terms = Vec::new();
        let mut loops: HashMap<usize, f64> = HashMap::new();
        for (part, (&(from, to), &flow)) in solver.graph.ends.iter().zip(flows).enumerate() {
            let sign = match (to == busiest, from == busiest) {
                (true, _) if flow >= 0.0 => 1.0,
                (_, true) if flow < 0.0 => -1.0,
                _ => continue,
            };
            terms.push((part, sign));
            for &(index, own) in &solver.graph.memberships[part] {
                *loops.entry(index).or_default() += sign * own;
            }
        }
        let mut loops: Vec<(usize, f64)> = loops.into_iter().filter(|(_, weight)| *weight != 0.0).collect();
        loops.sort_unstable_by_key(|&(index, _)| index);
        let supplied_m3_s = solver.network.nodes.get(busiest).map_or(0.0, |node| node.supply_m3_s.max(0.0));
        Self { terms, supplied_m3_s, loops, members: Vec::new() }
    }

    /// The sum at some flows.
    pub(super) fn of(&self, flows: &[f64]) -> f64 {
        self.supplied_m3_s + self.terms.iter().map(|&(part, sign)| sign * flows[part]).sum::<f64>()
    }
}
