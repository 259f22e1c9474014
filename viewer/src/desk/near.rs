//! What comes nearest to bridging the gap that is looked at, and which of it is shown.

use super::{Desk, answers::Solved};
use elbowroom::{
    bridge::{Blocked, Chain, InTheWay, Missing, Nearest, Suggestion},
    catalog::FittingDef,
    layout::Move,
    report::NearMissReport,
};
use std::sync::Arc;

/// Which near miss is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NearChoice {
    /// The suggested move at this place.
    Move(usize),
    /// The chain that closes where everything stands now and comes nearest to being clear.
    InTheWay,
    /// The chain that comes nearest, without regard to what is in its way.
    Nearest,
    /// The chain with the lacking part at this place.
    Lacking(usize),
}

/// A near miss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NearMiss<'a> {
    /// A move of a component after which a chain stands.
    Move(&'a Suggestion),
    /// A chain that something is in the way of.
    InTheWay(&'a Blocked),
    /// A chain that ends beside the second port.
    Nearest(&'a Nearest),
    /// A chain with a part that the catalog lacks.
    Lacking(&'a Missing),
}

impl<'a> NearMiss<'a> {
    /// The chain, where it would stand.
    #[must_use]
    pub fn chain(self) -> &'a Chain {
        match self {
            Self::Move(suggestion) => &suggestion.chain,
            Self::InTheWay(blocked) => &blocked.best,
            Self::Nearest(nearest) => &nearest.chain,
            Self::Lacking(missing) => &missing.chain,
        }
    }

    /// The move after which it stands.
    #[must_use]
    pub fn by(self) -> Option<Move> {
        match self {
            Self::Move(suggestion) => Some(suggestion.by),
            Self::InTheWay(_) | Self::Nearest(_) | Self::Lacking(_) => None,
        }
    }

    /// Components that travel with the one that moves.
    #[must_use]
    pub fn carried(self) -> &'a [String] {
        match self {
            Self::Move(suggestion) => &suggestion.carried,
            Self::InTheWay(_) | Self::Nearest(_) | Self::Lacking(_) => &[],
        }
    }

    /// The part that the catalog lacks.
    #[must_use]
    pub fn lacks(self) -> Option<&'a FittingDef> {
        match self {
            Self::Lacking(missing) => Some(&missing.part),
            Self::Move(_) | Self::InTheWay(_) | Self::Nearest(_) => None,
        }
    }
}

impl Desk {
    /// The near miss that is shown: the one that was chosen, or the first there is. None where a chain bridges the gap,
    /// and while a component is dragged.
    #[must_use]
    pub fn near(&self) -> Option<NearMiss<'_>> {
        let report = self.near_misses()?;
        self.near_choices().into_iter().find(|choice| Some(*choice) == self.near_choice()).and_then(|choice| {
            match choice {
                NearChoice::Move(index) => report.found.moves.get(index).map(NearMiss::Move),
                NearChoice::InTheWay => report.found.blocked.as_ref().map(NearMiss::InTheWay),
                NearChoice::Nearest => report.found.nearest.as_ref().map(NearMiss::Nearest),
                NearChoice::Lacking(index) => report.found.missing.get(index).map(NearMiss::Lacking),
            }
        })
    }

    /// Which near miss is shown.
    #[must_use]
    pub fn near_choice(&self) -> Option<NearChoice> {
        let all = self.near_choices();
        self.near.filter(|chosen| all.contains(chosen)).or_else(|| all.first().copied())
    }

    /// What there is to choose from, the nearest first.
    #[must_use]
    pub fn near_choices(&self) -> Vec<NearChoice> {
        let Some(report) = self.near_misses() else { return Vec::new() };
        let found = &report.found;
        let moves = (0..found.moves.len()).map(NearChoice::Move);
        let blocked = found.blocked.iter().map(|_| NearChoice::InTheWay);
        let nearest = found.nearest.iter().map(|_| NearChoice::Nearest);
        moves.chain(nearest).chain(blocked).chain((0..found.missing.len()).map(NearChoice::Lacking)).collect()
    }

    /// What is in the way of the chains that close in the gap that is looked at, most of them first.
    #[must_use]
    pub fn blockers(&self) -> &[InTheWay] {
        let blocked = self.near_misses().and_then(|report| report.found.blocked.as_ref());
        blocked.map_or(&[], |blocked| &blocked.blockers)
    }

    /// Shows another near miss.
    pub fn choose_near(&mut self, choice: NearChoice) {
        if self.near_choice() != Some(choice) {
            self.near = Some(choice);
            self.revision += 1;
        }
    }

    /// The near misses of the gap that is looked at, for the layout as it is.
    fn near_misses(&self) -> Option<&NearMissReport> {
        let gap = self.gap().filter(|gap| self.drag.is_none() && self.document.is_fresh(*gap))?;
        let solved = self.document.answer(gap)?;
        solved.report.near_misses.as_ref().filter(|_| solved.ranked().is_empty())
    }

    /// The chosen chain of a gap, if it still reaches from port to port: in a machine that has changed since it was found
    /// both ports must stand where they stood.
    #[must_use]
    pub fn standing_chain(&self, gap: usize) -> Option<&Chain> {
        let chain = self.chain_of(gap)?;
        let solved: &Solved = self.solved(gap)?;
        let (now, then) = (self.layout().gaps().get(gap)?, solved.of.gaps().get(gap)?);
        let same = |now_id, then_id| {
            let (now, then) = (self.layout().port_by_id(now_id), solved.of.port_by_id(then_id));
            now.zip(then).is_some_and(|(now, then)| now.pose == then.pose)
        };
        let stands =
            Arc::ptr_eq(&solved.of, self.shared_layout()) || (same(now.from, then.from) && same(now.to, then.to));
        stands.then_some(chain)
    }
}
