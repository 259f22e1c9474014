//! When nothing bridges a gap: which small move of a component opens it, what is in the way, which part is missing,
//! and why it cannot work at all where that can be checked by hand.

mod blocked;
mod missing;
mod moves;
mod reason;
mod verify;
mod widened;

pub use blocked::{Blocked, InTheWay};
pub use missing::Missing;
pub use moves::{Refused, Suggestion};
pub use reason::Reason;
pub use verify::WhyRefused;

use super::{Chain, Wishes, bridge, parallel};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout},
};

/// What is wanted of the near misses of a gap.
#[derive(Clone, Copy, Debug)]
pub struct NearMissWishes {
    /// Longest chain to consider, in parts.
    pub max_parts: usize,
    /// How many moves are wanted.
    pub want: usize,
    /// Least clearance; the layout's allowance when `None`.
    pub clearance_mm: Option<f64>,
    /// Flow at which losses are stated; the layout's design flow when `None`.
    pub flow_l_min: Option<f64>,
    /// Longest shift to consider, in millimetres.
    pub reach_mm: f64,
    /// Each of the searches for near misses stops after about this many closures. What is suggested is checked all the
    /// same; what a search that stopped did not see is not suggested.
    pub closure_budget: u64,
}

impl Default for NearMissWishes {
    /// Up to 4 parts, 3 moves of up to 5 mm, the layout's own allowances.
    fn default() -> Self {
        Self { max_parts: 4, want: 3, clearance_mm: None, flow_l_min: None, reach_mm: 5.0, closure_budget: 150_000 }
    }
}

impl NearMissWishes {
    /// The same wishes, put to the search for chains.
    fn search(&self, want: usize) -> Wishes<'static> {
        Wishes {
            max_parts: self.max_parts,
            want,
            clearance_mm: self.clearance_mm,
            flow_l_min: self.flow_l_min,
            closure_budget: Some(self.closure_budget),
            ..Wishes::default()
        }
    }
}

/// What comes nearest to bridging a gap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NearMisses {
    /// Moves after which a chain closes, each checked in full: those within the component's play first, of these those
    /// whose chain can be made up, and of these the smallest first. The smallest that was found is always among them. Between them they are the smallest of the chains looked at, which are those of fewest parts and least
    /// loss: chains of four and more parts only where none of up to three does.
    pub moves: Vec<Suggestion>,
    /// The nearest moves that would close a chain but may not be made, and why; nearest first.
    pub refused: Vec<Refused>,
    /// What stands in the way of the chains that do close; `None` if none closes.
    pub blocked: Option<Blocked>,
    /// Parts that the catalog lacks and with one of which a chain closes where everything stands now.
    pub missing: Vec<Missing>,
    /// Why nothing can work, as far as that can be checked by hand.
    pub reasons: Vec<Reason>,
}

/// Looks for what comes nearest in a gap that [`bridge`] found no chain for.
///
/// Nothing is suggested unchecked: for every move the moved layout is searched again, the moved component is held
/// against every other body, and each other gap of the circuit that had a chain still has one. Gaps are bridged one by one: whether chains of different gaps run into each other is not looked at.
///
/// The same question has the same answer on every run. A gap of another layout has no near misses.
#[must_use]
pub fn near_misses(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> NearMisses {
    let (Some(from), Some(to)) = (layout.port_by_id(gap.from), layout.port_by_id(gap.to)) else {
        return NearMisses::default();
    };
    let reasons = reason::reasons(catalog, layout, [from, to], wishes.max_parts);
    if reasons.iter().any(Reason::settles) {
        // No move within reach can make up for a thread that the catalog does not have.
        return NearMisses { reasons, ..NearMisses::default() };
    }
    let as_it_stands =
        || (blocked::blocked(catalog, layout, gap, wishes), missing::missing(catalog, layout, gap, wishes));
    let ((moves, refused), (blocked, missing)) =
        parallel::both(|| moves::moves(catalog, layout, gap, wishes), as_it_stands);
    NearMisses { moves, refused, blocked, missing, reasons }
}

/// The catalog reduced to the parts of one chain: a search in it takes no time, and what it finds the whole catalog
/// has too.
fn parts_of(catalog: &Catalog, chain: &Chain) -> Option<Catalog> {
    let mut ids: Vec<&str> = chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    let fittings = ids.into_iter().map(|id| catalog.fitting(id).cloned()).collect::<Option<_>>()?;
    Catalog::from_parts(fittings, Vec::new()).ok()
}

/// The best chain of a gap, if there is one: searched without a budget, so that none means none.
fn first_chain(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Option<Chain> {
    bridge(catalog, layout, gap, &Wishes { closure_budget: None, ..wishes.search(1) }).chains.into_iter().next()
}
