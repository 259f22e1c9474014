//! What stands in the way of chains that close but collide.

use super::{
    super::{Chain, Wishes, search::answered},
    ANY_MM, NearMissWishes,
};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout},
};

/// Why the chains that close do not fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocked {
    /// How many chains that close were looked at: those of fewest parts and least loss.
    pub looked_at: usize,
    /// Whether these are all there are of that many parts.
    pub all: bool,
    /// What they run into, most often first.
    pub blockers: Vec<InTheWay>,
    /// The chain that comes nearest to being clear, with its clearance.
    pub best: Chain,
}

impl Blocked {
    /// The clearance allowance with which the best of these chains would pass, in millimetres; `None` if it overlaps
    /// something.
    #[must_use]
    pub fn passing_clearance_mm(&self) -> Option<f64> {
        let mm = self.best.clearance.as_ref().map(|clearance| clearance.mm)?;
        (mm >= 0.0).then_some(mm)
    }
}

/// A body in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct InTheWay {
    /// The panel or component.
    pub body: String,
    /// For how many of the chains it is the body that is most in the way.
    pub chains: usize,
    /// The least and the greatest signed distance of those chains to it, in millimetres; negative is an overlap.
    pub mm: [f64; 2],
}

/// Chains that are looked at.
const CHAINS: usize = 100;

/// What is in the way of the chains that close; `None` where none does, or where one of them keeps the clearance.
pub(super) fn blocked(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Option<Blocked> {
    let anyhow = NearMissWishes { clearance_mm: Some(ANY_MM), ..*wishes };
    let asked = Wishes { closure_budget: Some(wishes.blocked_budget), ..anyhow.search(CHAINS) };
    let chains = answered(catalog, layout, gap, &asked).chains;
    let clear = |chain: &Chain| chain.clearance.as_ref().map_or(f64::INFINITY, |clearance| clearance.mm);
    let needed = wishes.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
    if chains.iter().any(|chain| clear(chain) >= needed) {
        // A search that only sampled may have missed it, and then what is in the way of the others is not to blame.
        return None;
    }
    let looked_at = chains.len();
    let mut blockers: Vec<InTheWay> = Vec::new();
    for clearance in chains.iter().filter_map(|chain| chain.clearance.as_ref()) {
        if let Some(known) = blockers.iter_mut().find(|known| known.body == clearance.body) {
            known.chains += 1;
            known.mm = [known.mm[0].min(clearance.mm), known.mm[1].max(clearance.mm)];
        } else {
            blockers.push(InTheWay { body: clearance.body.clone(), chains: 1, mm: [clearance.mm; 2] });
        }
    }
    // The sort is stable: equals stay in the order of the chains.
    blockers.sort_by_key(|blocker| std::cmp::Reverse(blocker.chains));
    // The first of equals, as listed.
    let best = chains.into_iter().reduce(|best, next| if clear(&next) > clear(&best) { next } else { best })?;
    Some(Blocked { looked_at, all: looked_at < CHAINS, blockers, best })
}
