//! The whole machine as one plan: a chain for each gap, such that all of them have room beside each other and can be made up in
//! one order of work, of fewest parts and least loss.
//!
//! The gaps are bridged one by one first. Of the lists that this gives, [`select()`] chooses the cheapest set in which no two
//! chains come too near to each other. Whether a set can be made up in one order is looked into when the set is found; a set
//! that cannot is barred, and the next is chosen. Lists are drawn longer until no chain that is not in them could be part of a
//! cheaper set, which is the proof.

mod cost;
mod order;
mod planner;
mod select;
mod stock;

pub use cost::Cost;
pub use select::{Candidate, Choices, MOST_STEPS, Pick, Selection, irreducible, select};
pub use stock::{BadStock, MOST_PIECES, Stock};

use crate::{
    bridge::{Answer, BadWish, Chain, MakeUp, MakeUpWishes, Wishes},
    catalog::Catalog,
    layout::{Gap, Layout},
    survey::LossFlows,
};
use planner::Planner;

/// What is wanted of a plan.
#[derive(Clone, Copy, Default)]
pub struct PlanWishes<'a> {
    /// What each gap is bridged with; how many chains are wanted is the plan's own affair.
    pub search: Wishes<'a>,
    /// How chains are made up.
    pub make_up: MakeUpWishes,
}

/// The plan of a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The flows at which losses are stated: what a gap costs does not depend on what the others are bridged with.
    pub flows: LossFlows,
    /// The gaps in the order of the layout.
    pub gaps: Vec<PlannedGap>,
    /// Places of the gaps in the order in which their chains are made up.
    pub order: Vec<usize>,
    /// The sum of what the chains cost.
    pub cost: Cost,
    /// Gaps that exclude each other: for each such set, one of its gaps stays open.
    pub conflicts: Vec<Conflict>,
    /// What is proven of the set of chains for the gaps that do not stay open.
    pub proof: Proof,
}

/// A gap of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedGap {
    /// The gap.
    pub gap: Gap,
    /// Its answer: the chains among which one was chosen, those that can be made up alone first.
    pub answer: Answer,
    /// For each chain of the answer, whether it can be made up alone.
    pub alone: Vec<MakeUp>,
    /// The chain that is built, counted from 0; `None` where the gap stays open.
    pub chosen: Option<usize>,
    /// How it is made up beside those that come before it in the order of work; `None` where the gap stays open.
    pub make_up: Option<MakeUp>,
}

impl PlannedGap {
    /// The chain that is built.
    #[must_use]
    pub fn chain(&self) -> Option<&Chain> {
        self.answer.chains.get(self.chosen?)
    }

    /// The chains among which one was chosen: those that can be made up alone.
    #[must_use]
    pub fn candidates(&self) -> &[Chain] {
        let can = self.alone.iter().take_while(|made| made.verdict.can_be_made_up()).count();
        self.answer.chains.get(..can).unwrap_or_default()
    }
}

/// What a plan proves of its set of chains. It never goes beyond the proofs of its gaps, nor beyond the motions by which
/// chains are made up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// No set of chains for these gaps costs less.
    Best,
    /// The best set found: no set has fewer parts than it has less so many.
    Found {
        /// By how many parts a set that was not found could be better; 0 where only its loss could be.
        parts_from_best: u64,
    },
    /// The search for a set was given up, so no chain is chosen.
    GivenUp,
}

/// Gaps that exclude each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The gaps, by their places in the layout: none of them can be left out of the conflict, as far as room beside each other
    /// goes.
    pub gaps: Vec<usize>,
    /// The gap that stays open for the others.
    pub left_open: usize,
    /// Two of them whose cheapest chains come too near to each other, and how near in millimetres.
    pub too_near: Vec<(usize, usize, f64)>,
    /// Of the last set that was looked at, the chains that stop each other from being made up: each with its gap, by its place
    /// in the layout, which of its chains it is, and what stops it.
    pub stuck: Vec<Stuck>,
    /// Whether every chain that there is was considered; else there may be a set of chains that were not found.
    pub proven: bool,
}

/// A chain that cannot be made up beside others.
#[derive(Clone, Debug, PartialEq)]
pub struct Stuck {
    /// The gap, by its place in the layout.
    pub gap: usize,
    /// Which of its chains, counted from 0.
    pub chain: usize,
    /// What stops it.
    pub make_up: MakeUp,
}

/// Plans the machine of `layout`: a chain for each of its gaps.
///
/// # Errors
/// Wishes that [`Wishes::check`] or [`MakeUpWishes::check`] refuses, and a catalog other than that with which the layout was
/// read.
pub fn plan(catalog: &Catalog, layout: &Layout, wishes: &PlanWishes<'_>) -> Result<Plan, BadWish> {
    wishes.search.check()?;
    wishes.make_up.check()?;
    Planner::new(catalog, layout, wishes)?.settled()
}
