//! The flows at which chains are ranked and their losses stated.

use super::{args::SearchArgs, bridge::on_threads, failure::Failure};
use elbowroom::{
    bridge::{Answer, Chain, Wishes, bridge},
    catalog::Catalog,
    circuit::Circuit,
    layout::{Gap, Layout},
    report::FlowBasis,
};

/// Longest chain that the flow of the circuit is looked for with, and closures that each gap is given: together they
/// keep the search before the search to about a second where a gap is open, and to a fraction of that elsewhere. A
/// circuit that needs more is ranked at the design flow; the demo's hardest gap takes 271,000 closures.
const QUICK_PARTS: usize = 4;
const QUICK_CLOSURES: u64 = 400_000;

/// The flows at which chains are ranked.
pub(super) struct LossFlows {
    pub(super) basis: FlowBasis,
    /// Of the circuit, in L/min.
    pub(super) l_min: f64,
    /// Of its gaps, where branches have flows of their own.
    gaps: Vec<(Gap, f64)>,
}

impl LossFlows {
    /// The flow that was asked for, or else the layout's design flow.
    pub(super) fn stated(args: &SearchArgs, layout: &Layout) -> Self {
        match args.flow {
            Some(l_min) => Self { basis: FlowBasis::Asked, l_min, gaps: Vec::new() },
            None => Self { basis: FlowBasis::Design, l_min: layout.design_flow_l_min(), gaps: Vec::new() },
        }
    }

    /// The flows that the circuit settles at when each gap is bridged by its first chain; `None` when it has no pump,
    /// or a gap has no chain.
    pub(super) fn settled(catalog: &Catalog, layout: &Layout, answers: &[Answer]) -> Option<Self> {
        let chains: Option<Vec<&Chain>> = answers.iter().map(|answer| answer.chains.first()).collect();
        let chains: Vec<Option<&Chain>> = chains?.into_iter().map(Some).collect();
        let flows = Circuit::new(layout, catalog, &chains).ok()?.flows().ok()?;
        let l_min = rounded(flows.circuit_l_min)?;
        let own = |flow: f64| rounded(flow).unwrap_or(l_min);
        let gaps = layout.gaps().iter().copied().zip(flows.gaps_l_min.into_iter().map(own)).collect();
        Some(Self { basis: FlowBasis::Circuit, l_min, gaps })
    }

    /// As [`LossFlows::settled`], with the best chains at the design flow, which are searched first; gives up early.
    ///
    /// # Errors
    /// When the threads asked for cannot be started.
    pub(super) fn operating(catalog: &Catalog, layout: &Layout, args: &SearchArgs) -> Result<Option<Self>, Failure> {
        let none = vec![None; layout.gaps().len()];
        if Circuit::new(layout, catalog, &none).and_then(|ideal| ideal.flows()).is_err() {
            return Ok(None);
        }
        let wishes = Wishes {
            max_parts: args.max_parts.min(QUICK_PARTS),
            want: 1,
            clearance_mm: args.clearance,
            closure_budget: Some(args.budget.map_or(QUICK_CLOSURES, |budget| budget.min(QUICK_CLOSURES))),
            ..Wishes::default()
        };
        on_threads(args.threads, || {
            let mut answers = Vec::with_capacity(layout.gaps().len());
            for gap in layout.gaps() {
                let answer = bridge(catalog, layout, gap, &wishes);
                if answer.chains.is_empty() {
                    return None;
                }
                answers.push(answer);
            }
            Self::settled(catalog, layout, &answers)
        })
    }

    /// The flow for a gap, whichever way it is named.
    pub(super) fn at(&self, gap: &Gap) -> f64 {
        let same = |other: &Gap| other == gap || (other.from == gap.to && other.to == gap.from);
        self.gaps.iter().find(|(other, _)| same(other)).map_or(self.l_min, |&(_, flow)| flow)
    }
}

/// To a tenth of a litre a minute, so that what is said of it is what was used; `None` for less than that.
fn rounded(flow_l_min: f64) -> Option<f64> {
    let rounded = (flow_l_min * 10.0).round() / 10.0;
    (rounded > 0.0).then_some(rounded)
}
