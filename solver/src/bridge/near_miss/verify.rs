//! The full check of a move before it is suggested.

use super::{
    super::{Chain, MakeUp, MakeUpWishes, Wishes, bad_wish::ports_of, make_up::judged_first, search::answered},
    ANY_MM, NearMissWishes, first_chain, parts_of,
};
use crate::{
    catalog::Catalog,
    geometry::{Shape, Solid, facing, separation_within},
    layout::{Body, BodyId, BodyKind, Gap, Layout, Move},
};
use std::{
    cell::{Cell, OnceCell},
    fmt,
};

/// Why a move that would close a chain may not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum WhyRefused {
    /// The component, or what is mounted on it, would run into another body, or deeper into it than it does now.
    Overlaps {
        /// What would run into it: the component, or one that is mounted on it.
        mover: String,
        /// The other body.
        body: String,
        /// How deep, in millimetres.
        depth_mm: f64,
    },
    /// The component, or what is mounted on it, would come nearer to another body than the clearance allows, and nearer
    /// than it is now.
    TooNear {
        /// What would come too near: the component, or one that is mounted on it.
        mover: String,
        /// The other body.
        body: String,
        /// What would be left between them, in millimetres.
        left_mm: f64,
    },
    /// The component, or what is mounted on it, would end on the other side of a panel.
    BeyondPanel {
        /// What would end there.
        mover: String,
        /// The panel.
        panel: String,
    },
    /// With the component moved the chain closes, but comes too near to something.
    InTheWay {
        /// What the chain that has most room comes too near to.
        body: String,
        /// The signed distance to it in millimetres; negative is an overlap.
        mm: f64,
    },
    /// With the component moved the chain does not close, or only through itself.
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
            Self::Overlaps { mover, body, depth_mm } => write!(f, "{mover} would reach {depth_mm:.1} mm into {body}"),
            Self::TooNear { mover, body, left_mm } => write!(f, "{mover} would come within {left_mm:.1} mm of {body}"),
            Self::BeyondPanel { mover, panel } => write!(f, "{mover} would end on the other side of {panel}"),
            Self::InTheWay { body, mm } if *mm < 0.0 => write!(f, "the chain would run {:.1} mm into {body}", -mm),
            Self::InTheWay { body, mm } => write!(f, "the chain would come within {mm:.1} mm of {body}"),
            Self::NoChain => f.write_str("the chain would run into itself"),
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

/// Diameter of the line that a solid's middle draws as it moves, in millimetres: as good as none.
const THREAD_MM: f64 = 0.01;

/// What moves are held against: the machine as it stands.
pub(super) struct Verifier<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    gap: &'a Gap,
    wishes: &'a NearMissWishes<'a>,
    /// The best chain of each other gap as the machine stands, found when first needed.
    bridged: Vec<OnceCell<Option<Chain>>>,
    searches: Cell<usize>,
}

impl<'a> Verifier<'a> {
    pub(super) fn new(catalog: &'a Catalog, layout: &'a Layout, gap: &'a Gap, wishes: &'a NearMissWishes<'a>) -> Self {
        let bridged = layout.gaps().iter().map(|_| OnceCell::new()).collect();
        Self { catalog, layout, gap, wishes, bridged, searches: Cell::new(0) }
    }

    /// The chain of `parts` that closes after the move, and whether it can be made up there: one that can where there is
    /// one. Unless the component has no room there. The moved layout goes to [`Self::other_gaps`] next.
    pub(super) fn close(&self, parts: &Catalog, by: &Move) -> Result<(Layout, Chain, MakeUp), WhyRefused> {
        let moved = self.layout.moved(by).ok_or(WhyRefused::NoChain)?;
        self.room(&moved, by.body)?;
        let asked = Wishes { closure_budget: None, ..self.wishes.search(LOOKED_AT) };
        let mut answer = answered(parts, &moved, self.gap, &asked);
        let wishes = MakeUpWishes { clearance_mm: self.wishes.clearance_mm, ..MakeUpWishes::default() };
        let ports = ports_of(&moved, self.gap).map_err(|_| WhyRefused::NoChain)?;
        let verdicts = judged_first(parts, &moved, ports, &mut answer, &wishes);
        let best = answer.chains.into_iter().zip(verdicts).next();
        let (chain, make_up) = best.ok_or_else(|| self.in_the_way(parts, &moved, &asked))?;
        Ok((moved, chain, make_up))
    }

    /// What stops the chain of `parts` in the moved layout, where it has the most room.
    fn in_the_way(&self, parts: &Catalog, moved: &Layout, asked: &Wishes<'_>) -> WhyRefused {
        let anyhow = Wishes { clearance_mm: Some(ANY_MM), ..*asked };
        let chains = answered(parts, moved, self.gap, &anyhow).chains;
        let nearest = chains.into_iter().filter_map(|chain| chain.clearance);
        match nearest.max_by(|a, b| a.mm.total_cmp(&b.mm)) {
            Some(nearest) => WhyRefused::InTheWay { body: nearest.body, mm: nearest.mm },
            None => WhyRefused::NoChain,
        }
    }

    /// What moves against everything else: no new overlap, no clearance lost that is needed.
    fn room(&self, moved: &Layout, id: BodyId) -> Result<(), WhyRefused> {
        let travelling = self.layout.travelling_with(id);
        travelling.iter().try_for_each(|mover| self.room_of(moved, *mover, &travelling))
    }

    fn room_of(&self, moved: &Layout, id: BodyId, travelling: &[BodyId]) -> Result<(), WhyRefused> {
        let clearance = self.layout.allowances().clearance_mm;
        let (Some(before), Some(after)) = (self.layout.body(id), moved.body(id)) else { return Ok(()) };
        for (_, other) in self.layout.bodies_by_id().filter(|(other, _)| !travelling.contains(other)) {
            if matches!(other.kind, BodyKind::Panel { .. }) && crosses(before, after, other) {
                return Err(WhyRefused::BeyondPanel { mover: after.name.clone(), panel: other.name.clone() });
            }
            let Some(now) = nearest(&after.solids, &other.solids, clearance) else { continue };
            let was = nearest(&before.solids, &other.solids, clearance).unwrap_or(f64::INFINITY);
            // What is no worse than it was is the builder's own doing: a component stands on its panel.
            if now >= clearance || now >= was - SAME_MM {
                continue;
            }
            let (mover, body) = (after.name.clone(), other.name.clone());
            return Err(if now < -SAME_MM {
                WhyRefused::Overlaps { mover, body, depth_mm: -now }
            } else {
                WhyRefused::TooNear { mover, body, left_mm: now.max(0.0) }
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

/// Whether the middle of one of a body's solids passes a panel on the straight way to where the body stands after a move:
/// a far move could jump a sheet otherwise, out of the enclosure.
fn crosses(before: &Body, after: &Body, panel: &Body) -> bool {
    let middle = |solid: &Solid| nalgebra::center(&solid.bounds().min, &solid.bounds().max);
    before.solids.iter().zip(&after.solids).any(|(before, after)| {
        let (from, to) = (middle(before), middle(after));
        let Some(way) = nalgebra::Unit::try_new(to - from, SAME_MM) else { return false };
        let thread = Shape::Capsule { diameter: THREAD_MM, length: (to - from).norm() };
        let thread = Solid::new(&thread, facing(nalgebra::center(&from, &to), way));
        thread.is_ok_and(|thread| nearest(&[thread], &panel.solids, 0.0).is_some_and(|mm| mm < 0.0))
    })
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
