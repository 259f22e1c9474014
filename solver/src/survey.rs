//! All gaps of a layout at once, as a builder asks for them: at the flow that each gap gets, and judged by whether a chain can
//! be made up.
//!
//! Every program that shows a circuit goes through these, so that all of them show the same chains in the same order with
//! the same losses. What is searched in which order, on which thread, and when it is stopped is theirs.

use crate::{
    bridge::{
        Answer, BadWish, Chain, Completeness, FLOWS_L_MIN, MakeUp, MakeUpWishes, Wishes, bridge, check_flow,
        made_up_first,
    },
    catalog::Catalog,
    circuit::Circuit,
    layout::{Gap, Layout},
};
use schemars::JsonSchema;
use serde::Serialize;

/// Where the flow comes from at which losses are stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FlowBasis {
    /// It was asked for.
    Asked,
    /// The circuit settles there.
    Circuit,
    /// The circuit settles there if the gaps for which no chain was found on a quick look are joined without loss.
    CircuitIfJoined,
    /// The layout's design flow, because the circuit has no pump or cannot be worked out.
    Design,
}

/// The flows at which chains are ranked and their losses stated.
#[derive(Clone, Debug, PartialEq)]
pub struct LossFlows {
    /// Where they come from.
    pub basis: FlowBasis,
    /// Of the circuit, in L/min.
    pub l_min: f64,
    /// Of its gaps, where branches have flows of their own.
    gaps: Vec<(Gap, f64)>,
}

/// Longest chain that the flow of the circuit is looked for with, and closures that each gap is given: together they
/// keep the search before the search to about a second where a gap is open, and to a fraction of that elsewhere. The length
/// of the chains that are asked for does not change them, so that every command states losses at one flow. The demo's hardest gap takes
/// 42,000 closures.
const QUICK_PARTS: usize = 4;
const QUICK_CLOSURES: u64 = 400_000;

impl LossFlows {
    /// The flow that was asked for, in L/min.
    ///
    /// # Errors
    /// A flow outside [`FLOWS_L_MIN`].
    pub fn asked(l_min: f64) -> Result<Self, BadWish> {
        check_flow(Some(l_min))?;
        Ok(Self { basis: FlowBasis::Asked, l_min, gaps: Vec::new() })
    }

    /// The layout's design flow.
    #[must_use]
    pub fn design(layout: &Layout) -> Self {
        Self { basis: FlowBasis::Design, l_min: layout.design_flow_l_min(), gaps: Vec::new() }
    }

    /// The flows that the circuit settles at when each gap is bridged by the first chain of its answer, or joined without
    /// loss where it has none; the answers come in the order of the layout's gaps. `None` when the circuit has no pump or
    /// cannot be worked out, and when a flow is outside [`FLOWS_L_MIN`].
    #[must_use]
    pub fn settled(catalog: &Catalog, layout: &Layout, answers: &[Answer]) -> Option<Self> {
        let chains: Vec<Option<&Chain>> = answers.iter().map(|answer| answer.chains.first()).collect();
        let flows = Circuit::new(layout, catalog, &chains).ok()?.flows().ok()?;
        let l_min = rounded(flows.circuit_l_min)?;
        let own = |flow: f64| rounded(flow).unwrap_or(l_min);
        let gaps = layout.gaps().iter().copied().zip(flows.gaps_l_min.into_iter().map(own)).collect();
        let is_closed = chains.iter().all(Option::is_some);
        let basis = if is_closed { FlowBasis::Circuit } else { FlowBasis::CircuitIfJoined };
        Some(Self { basis, l_min, gaps })
    }

    /// As [`LossFlows::settled`], with the best chains at the design flow of up to four parts, which are searched first at
    /// the clearance and within the budget of `wishes`; gives up early. `None` also when the search was told to stop.
    ///
    /// This is the one rule for the flow at which losses are stated where none is asked for: the length and number of chains
    /// that are asked for do not change it.
    ///
    /// # Errors
    /// A wish that [`Wishes::check`] refuses.
    pub fn operating(catalog: &Catalog, layout: &Layout, wishes: &Wishes<'_>) -> Result<Option<Self>, BadWish> {
        wishes.check()?;
        let none = vec![None; layout.gaps().len()];
        if Circuit::new(layout, catalog, &none).and_then(|ideal| ideal.flows()).is_err() {
            return Ok(None);
        }
        let wishes = Wishes {
            max_parts: QUICK_PARTS,
            want: 1,
            flow_l_min: None,
            closure_budget: Some(wishes.closure_budget.map_or(QUICK_CLOSURES, |budget| budget.min(QUICK_CLOSURES))),
            ..*wishes
        };
        let mut answers = Vec::with_capacity(layout.gaps().len());
        for gap in layout.gaps() {
            let answer = bridge(catalog, layout, gap, &wishes)?;
            if answer.was_cancelled() {
                return Ok(None);
            }
            answers.push(answer);
        }
        Ok(Self::settled(catalog, layout, &answers))
    }

    /// What is wished for, or else what the circuit [settles at](LossFlows::operating), or the design flow where it does not
    /// settle or the search was told to stop.
    ///
    /// # Errors
    /// A wish that [`Wishes::check`] refuses.
    pub fn wished(catalog: &Catalog, layout: &Layout, wishes: &Wishes<'_>) -> Result<Self, BadWish> {
        match wishes.flow_l_min {
            Some(l_min) => Self::asked(l_min),
            None => Ok(Self::operating(catalog, layout, wishes)?.unwrap_or_else(|| Self::design(layout))),
        }
    }

    /// The flow for a gap, in L/min, whichever way it is named.
    #[must_use]
    pub fn at(&self, gap: &Gap) -> f64 {
        let same = |other: &Gap| other == gap || (other.from == gap.to && other.to == gap.from);
        self.gaps.iter().find(|(other, _)| same(other)).map_or(self.l_min, |&(_, flow)| flow)
    }
}

/// To a tenth of a litre a minute, so that what is said of it is what was used; `None` for less than that, and for more
/// than losses are stated for.
fn rounded(flow_l_min: f64) -> Option<f64> {
    let rounded = (flow_l_min * 10.0).round() / 10.0;
    FLOWS_L_MIN.contains(&rounded).then_some(rounded)
}

/// How many chains are looked at before it is said that none can be made up, where fewer were wanted.
const LOOKED_AT: usize = 20;

/// Searches for `want` entries of chains of a gap with `search` and judges them; for more where none of those can be made up and
/// more may be had; if that search is told to stop, the first answer stands. The verdicts come in the order of the
/// chains, those that can be made up first.
///
/// # Errors
/// What `search` refuses, and what [`made_up_first`] does.
pub fn judged(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    wishes: &MakeUpWishes,
    want: usize,
    search: impl Fn(usize) -> Result<Answer, BadWish>,
) -> Result<(Answer, Vec<MakeUp>), BadWish> {
    let judged = |want| {
        let mut answer = search(want)?;
        let verdicts = made_up_first(catalog, layout, gap, &mut answer, wishes)?;
        Ok((answer, verdicts))
    };
    let (answer, verdicts) = judged(want)?;
    let none = !verdicts.iter().any(|made| made.verdict.can_be_made_up());
    let more = matches!(answer.completeness, Completeness::BestProven { .. });
    if !(none && more && want < LOOKED_AT) {
        return Ok((answer, verdicts));
    }
    let (longer, longer_verdicts) = judged(LOOKED_AT)?;
    // A search that was told to stop may have found fewer.
    Ok(if longer.was_cancelled() { (answer, verdicts) } else { (longer, longer_verdicts) })
}
