//! The full check of a move before it is suggested.

use super::{
    super::{Chain, MakeUp, MakeUpWishes, Wishes, bridge, made_up_first},
    NearMissWishes, first_chain, parts_of,
};
use crate::{
    catalog::Catalog,
    geometry::{Solid, separation_within},
    layout::{BodyId, Gap, Layout, Move},
};
use std::{
    cell::{Cell, OnceCell},
    fmt,
};

/// Why a move that would close a chain may not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum WhyRefused {
    /// The component would run into another body, or deeper into it than it does now.
    Overlaps {
        /// The other body.
        body: String,
        /// How deep, in millimetres.
        depth_mm: f64,
    },
    /// The component would come nearer to another body than the clearance allows, and nearer than it is now.
    TooNear {
        /// The other body.
        body: String,
        /// What would be left between them, in millimetres.
        left_mm: f64,
    },
    /// With the component moved the chain is in the way of something, or does not close.
    NoChain,
    /// Another gap of the circuit would have no chain any more.
    OpensGap {
        /// One of its ports.
        from: String,
        /// The other.
        to: String,
    },
    /// Another gap of the circuit would lose the chain it has, and whether it would have another was not worked out.
    UnsettlesGap {
        /// One of its ports.
        from: String,
        /// The other.
        to: String,
    },
}

impl fmt::Display for WhyRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overlaps { body, depth_mm } => write!(f, "it would reach {depth_mm:.1} mm into {body}"),
            Self::TooNear { body, left_mm } => write!(f, "it would come within {left_mm:.1} mm of {body}"),
            Self::NoChain => f.write_str("something would be in the way of the chain"),
            Self::OpensGap { from, to } => write!(f, "nothing would bridge {from} to {to} any more"),
            Self::UnsettlesGap { from, to } => {
                write!(f, "the chain of {from} to {to} would not close any more; whether another would is not known")
            }
        }
    }
}

/// How often another gap is gone through with the whole catalog before moves that ask for it are refused unseen: each
/// time costs as much as the question itself.
const MOST_SEARCHES: usize = 4;

/// Chains of the same parts that are looked at for one that can be made up: they differ in their order.
const LOOKED_AT: usize = 6;

/// Rounding that a distance may differ by without counting as nearer, in millimetres.
const SAME_MM: f64 = 1e-6;

/// What moves are held against: the machine as it stands.
pub(super) struct Verifier<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    gap: &'a Gap,
    wishes: &'a NearMissWishes,
    /// The best chain of each other gap as the machine stands, found when first needed.
    bridged: Vec<OnceCell<Option<Chain>>>,
    searches: Cell<usize>,
}

impl<'a> Verifier<'a> {
    pub(super) fn new(catalog: &'a Catalog, layout: &'a Layout, gap: &'a Gap, wishes: &'a NearMissWishes) -> Self {
        let bridged = layout.gaps().iter().map(|_| OnceCell::new()).collect();
        Self { catalog, layout, gap, wishes, bridged, searches: Cell::new(0) }
    }

    /// The chain of `parts` that closes after the move, and whether it can be made up there: one that can where there is
    /// one. Unless the component has no room there. The moved layout goes to [`Self::other_gaps`] next.
    pub(super) fn close(&self, parts: &Catalog, by: &Move) -> Result<(Layout, Chain, MakeUp), WhyRefused> {
        let moved = self.layout.moved(by).ok_or(WhyRefused::NoChain)?;
        self.room(&moved, by.body)?;
        let asked = self.wishes.search(LOOKED_AT);
        let mut answer = bridge(parts, &moved, self.gap, &Wishes { closure_budget: None, ..asked });
        let wishes = MakeUpWishes { clearance_mm: self.wishes.clearance_mm, ..MakeUpWishes::default() };
        let verdicts = made_up_first(parts, &moved, self.gap, &mut answer, &wishes);
        let (chain, make_up) = answer.chains.into_iter().zip(verdicts).next().ok_or(WhyRefused::NoChain)?;
        Ok((moved, chain, make_up))
    }

    /// The moved component against everything: no new overlap, no clearance lost that is needed.
    fn room(&self, moved: &Layout, id: BodyId) -> Result<(), WhyRefused> {
        let clearance = self.layout.allowances().clearance_mm;
        let bodies = |layout: &'a Layout| layout.body(id);
        let (Some(before), Some(after)) = (bodies(self.layout), moved.body(id)) else { return Ok(()) };
        for (_, other) in self.layout.bodies_by_id().filter(|(other, _)| *other != id) {
            let Some(now) = nearest(&after.solids, &other.solids, clearance) else { continue };
            let was = nearest(&before.solids, &other.solids, clearance).unwrap_or(f64::INFINITY);
            // What is no worse than it was is the builder's own doing: a component stands on its panel.
            if now >= clearance || now >= was - SAME_MM {
                continue;
            }
            let body = other.name.clone();
            return Err(if now < -SAME_MM {
                WhyRefused::Overlaps { body, depth_mm: -now }
            } else {
                WhyRefused::TooNear { body, left_mm: now.max(0.0) }
            });
        }
        Ok(())
    }

    /// Every other gap that had a chain still has one, whether it ends at the moved component or only passes it.
    pub(super) fn other_gaps(&self, moved: &Layout) -> Result<(), WhyRefused> {
        let (layout, wishes) = (self.layout, self.wishes);
        for (gap, bridged) in layout.gaps().iter().zip(&self.bridged) {
            let (Some(from), Some(to)) = (layout.port_by_id(gap.from), layout.port_by_id(gap.to)) else { continue };
            let same = [gap.from, gap.to] == [self.gap.from, self.gap.to]
                || [gap.to, gap.from] == [self.gap.from, self.gap.to];
            if same {
                continue;
            }
            let Some(chain) = bridged.get_or_init(|| first_chain(self.catalog, layout, gap, wishes)) else { continue };
            // The chain that it had may do with other turns; only then is the catalog gone through again.
            let again = parts_of(self.catalog, chain).and_then(|parts| first_chain(&parts, moved, gap, wishes));
            if again.is_some() {
                continue;
            }
            let (from, to) = (from.name.clone(), to.name.clone());
            if self.searches.get() >= MOST_SEARCHES {
                return Err(WhyRefused::UnsettlesGap { from, to });
            }
            self.searches.set(self.searches.get() + 1);
            if first_chain(self.catalog, moved, gap, wishes).is_none() {
                return Err(WhyRefused::OpensGap { from, to });
            }
        }
        Ok(())
    }
}

/// Signed distance between two bodies, if it is within `horizon` millimetres.
fn nearest(a: &[Solid], b: &[Solid], horizon: f64) -> Option<f64> {
    let mut least = None;
    for one in a {
        for other in b {
            if let Some(found) = separation_within(one, other, least.unwrap_or(horizon)) {
                least = Some(least.unwrap_or(f64::INFINITY).min(found.signed_mm));
            }
        }
    }
    least
}
