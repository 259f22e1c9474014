//! When nothing bridges a gap: which small move of a component opens it, what is in the way, which part is missing,
//! and why it cannot work at all where that can be checked by hand.

mod blocked;
mod candidate;
mod missing;
mod movers;
mod moves;
mod nearest;
mod reason;
mod verify;
mod widened;

pub use blocked::{Blocked, InTheWay, in_the_way};
pub use missing::Missing;
pub use moves::{Refused, Suggestion};
pub use nearest::Nearest;
pub use reason::Reason;
pub use verify::WhyRefused;

use super::{
    BadWish, Chain, Wishes,
    bad_wish::{ports_of, within},
    parallel,
    search::answered,
};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout},
};
use std::{
    ops::RangeInclusive,
    sync::atomic::{AtomicBool, Ordering},
};

/// What is wanted of the near misses of a gap.
#[derive(Clone, Copy, Debug)]
pub struct NearMissWishes<'a> {
    /// Longest chain to consider, in parts, from 1 to [`MOST_PARTS`](super::MOST_PARTS). Moves and what is missing are looked for with fewer, see [`Searched`]: each
    /// further part costs some thirty times as much.
    pub max_parts: usize,
    /// How many moves are wanted, at least one.
    pub want: usize,
    /// Least clearance in millimetres, from 0 to 100; the layout's allowance when `None`.
    pub clearance_mm: Option<f64>,
    /// Flow at which losses are stated, in L/min, within [`FLOWS_L_MIN`](super::FLOWS_L_MIN); the layout's design flow
    /// when `None`.
    pub flow_l_min: Option<f64>,
    /// Longest shift to consider at first, in millimetres, up to a metre: what a builder would call an adjustment.
    pub reach_mm: f64,
    /// Longest shift to consider where nothing within [`reach_mm`](Self::reach_mm) opens the gap, in millimetres; up to a
    /// metre.
    pub far_mm: f64,
    /// Each of the searches for near misses stops after about this many closures. What is suggested is checked all the
    /// same; what a search that stopped did not see is not suggested.
    pub closure_budget: u64,
    /// As [`closure_budget`](Self::closure_budget), for the search for what is in the way of chains. It is worth more
    /// where [`bridge`](super::bridge) has seen that chains close.
    pub blocked_budget: u64,
    /// Set to `true` from another thread to stop: only the [reasons](NearMisses::reasons) are answered then, for of what
    /// was found by then nothing is checked in full.
    pub cancel: Option<&'a AtomicBool>,
}

impl Default for NearMissWishes<'_> {
    /// Up to 4 parts, 3 moves of up to 5 mm, or of up to 40 mm where none of these opens the gap, the layout's own
    /// allowances.
    fn default() -> Self {
        Self {
            max_parts: 4,
            want: 3,
            clearance_mm: None,
            flow_l_min: None,
            reach_mm: 5.0,
            far_mm: 40.0,
            closure_budget: 150_000,
            blocked_budget: 150_000,
            cancel: None,
        }
    }
}

/// Shifts that may be asked about, in millimetres.
const SHIFTS_MM: RangeInclusive<f64> = 0.0..=1_000.0;

impl NearMissWishes<'_> {
    /// Checks every wish against its range.
    ///
    /// # Errors
    /// The first that is not a number or outside its range.
    pub fn check(&self) -> Result<(), BadWish> {
        self.search(self.want).check()?;
        let remedy = "give the longest shift to consider";
        within("reach_mm", self.reach_mm, &SHIFTS_MM, "mm", remedy)?;
        within("far_mm", self.far_mm, &SHIFTS_MM, "mm", remedy)
    }

    /// The same wishes, put to the search for chains.
    fn search(&self, want: usize) -> Wishes<'_> {
        Wishes {
            max_parts: self.max_parts,
            want,
            clearance_mm: self.clearance_mm,
            flow_l_min: self.flow_l_min,
            closure_budget: Some(self.closure_budget),
            cancel: self.cancel,
            ..Wishes::default()
        }
    }

    fn is_cancelled(&self) -> bool {
        self.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed))
    }
}

/// What comes nearest to bridging a gap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NearMisses {
    /// Moves after which a chain closes, each checked in full: those that [open](Suggestion::opens) the gap because their
    /// chain can be made up first, of these those within the component's play, and of these the smallest first; then in
    /// the same order those whose chain cannot be made up. The smallest that was found is always among them.
    /// Between them they are the smallest of the chains looked at, which are those of fewest parts and least loss:
    /// chains of four parts only where none of up to three does, and moves beyond the reach only where none within
    /// does.
    pub moves: Vec<Suggestion>,
    /// The nearest moves that would close a chain but may not be made, and why; nearest first.
    pub refused: Vec<Refused>,
    /// The chain that comes nearest, where there is no move and none was refused; `None` otherwise, and where no
    /// chain at all ends within reach of the second port.
    pub nearest: Option<Nearest>,
    /// What was gone through for moves.
    pub searched: Searched,
    /// What stands in the way of the chains that do close; `None` if none closes.
    pub blocked: Option<Blocked>,
    /// Parts that the catalog lacks and with one of which a chain closes where everything stands now.
    pub missing: Vec<Missing>,
    /// Why nothing can work, as far as that can be checked by hand.
    pub reasons: Vec<Reason>,
}

/// What was gone through for moves that open a gap: the bounds of the answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Searched {
    /// Names of the components that were moved; empty where both ports are of one component.
    pub components: Vec<String>,
    /// Longest shift that was looked at, in millimetres.
    pub reach_mm: f64,
    /// Longest chain that was looked at, in parts.
    pub parts: usize,
    /// Whether each of the searches went through all chains of its kind; else one stopped at its budget, and a nearer
    /// move may have been missed.
    pub complete: bool,
}

/// Longest chain that moves are looked for with: beyond it the searches of moved layouts take too long to wait for.
const MOST_PARTS: usize = 4;

/// Clearance that every chain has.
const ANY_MM: f64 = -1e6;

/// Looks for what comes nearest in a gap that [`bridge`](super::bridge) found no chain for, in a search that came to its end: after one
/// that was stopped, nothing may be needed at all.
///
/// Nothing is suggested unchecked: for every move the moved layout is searched again, the moved component is held
/// against every other body, with all that is mounted on it, and each other gap of the circuit that had a chain of up to
/// four parts still has one. Gaps are bridged one by one: whether chains of different gaps run into each other is not
/// looked at.
///
/// The same question has the same answer on every run.
///
/// # Errors
/// A wish that [`NearMissWishes::check`] refuses, and a gap that is not one between two ports of this layout.
pub fn near_misses(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    wishes: &NearMissWishes,
) -> Result<NearMisses, BadWish> {
    wishes.check()?;
    let ports = ports_of(layout, gap)?;
    let reasons = reason::reasons(catalog, layout, ports, wishes.max_parts);
    if reasons.iter().any(Reason::settles) {
        // No move within reach can make up for a thread that the catalog does not have.
        return Ok(NearMisses { reasons, ..NearMisses::default() });
    }
    let as_it_stands =
        || (blocked::blocked(catalog, layout, gap, ports, wishes), missing::missing(catalog, layout, gap, wishes));
    let few = &NearMissWishes { max_parts: wishes.max_parts.min(MOST_PARTS), ..*wishes };
    let (moves, (blocked, missing)) = parallel::both(|| moves::moves(catalog, layout, gap, few), as_it_stands);
    let moves::Moves { found: moves, refused, searched } = moves;
    let nothing = moves.is_empty() && refused.is_empty();
    let nearest = nothing.then(|| nearest::nearest(catalog, layout, gap, few)).flatten();
    if wishes.is_cancelled() {
        return Ok(NearMisses { reasons, ..NearMisses::default() });
    }
    Ok(NearMisses { moves, refused, nearest, searched, blocked, missing, reasons })
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

/// The best chain of a gap, if there is one of few parts: searched without a budget, so that none means none.
fn first_chain(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Option<Chain> {
    answered(catalog, layout, gap, &Wishes { closure_budget: None, ..wishes.search(1) }).chains.into_iter().next()
}
