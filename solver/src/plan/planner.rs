//! The search for a plan: lists of chains, a set of them, an order of work for the set, and longer lists where that may pay.

use super::{
    Conflict, Plan, PlanWishes, PlannedGap, Proof, Stuck,
    cost::Cost,
    order::{Order, Placed, order},
    select::{Candidate, Choices, MOST_STEPS, Pick, Selection, irreducible, select},
};
use crate::{
    bridge::{BadWish, Completeness, MakeUp, Outline, Wishes, bridge},
    catalog::Catalog,
    layout::{Gap, Layout},
    survey::{LossFlows, judged},
};

/// Entries that are asked of each gap first, how many times as many next, and at most.
const FIRST_ENTRIES: usize = 1;
const MORE_ENTRIES: usize = 5;
const MOST_ENTRIES: usize = 625;

/// Sets that are looked at for an order of work before the search for one that has it is given up.
const MOST_SETS: usize = 200;

pub(super) struct Planner<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    wishes: &'a PlanWishes<'a>,
    clearance_mm: f64,
    flows: LossFlows,
    lists: Vec<List>,
}

/// The chains of a gap that can be made up alone.
struct List {
    planned: PlannedGap,
    /// Entries that were asked for.
    asked: usize,
    candidates: Vec<Candidate>,
    outlines: Vec<Outline>,
}

impl List {
    fn new(catalog: &Catalog, planned: PlannedGap, asked: usize) -> Self {
        let can = planned.candidates();
        let candidates = can.iter().map(|chain| Candidate { cost: Cost::of(chain), pieces: Vec::new() }).collect();
        let outlines = can.iter().map(|chain| Outline::new(catalog, chain)).collect();
        Self { planned, asked, candidates, outlines }
    }

    /// What a chain that is not in the list costs at least; `None` where there is none.
    fn beyond(&self) -> Option<Cost> {
        let parts_from = |parts: usize| Some(Cost { parts: parts as u64, loss_upa: 0 });
        match self.planned.answer.completeness {
            Completeness::Complete { .. } => None,
            Completeness::BestProven { .. } => self.planned.answer.chains.iter().map(Cost::of).max(),
            Completeness::Sampled { complete_parts, .. } | Completeness::Stopped { complete_parts, .. } => {
                parts_from(complete_parts + 1)
            }
        }
    }

    /// Whether more chains may be had by asking for more.
    fn grows(&self) -> bool {
        matches!(self.planned.answer.completeness, Completeness::BestProven { .. }) && self.asked < MOST_ENTRIES
    }

    /// What its gap costs at least, with any chain that there is.
    fn least(&self) -> Cost {
        let listed = self.candidates.iter().map(|candidate| candidate.cost);
        listed.chain(self.beyond()).min().unwrap_or_default()
    }
}

/// A set of chains, or why there is none.
enum Set {
    Found {
        /// For each gap that is in question, its candidate.
        chosen: Vec<usize>,
        cost: Cost,
        /// What a set of the listed chains costs at least.
        at_least: Cost,
        /// Places among the gaps in question, as they are made up.
        order: Vec<(usize, MakeUp)>,
    },
    /// Gaps in question that exclude each other, by their places in the layout.
    None {
        gaps: Vec<usize>,
        stuck: Vec<Stuck>,
    },
    GivenUp,
}

impl<'a> Planner<'a> {
    /// Bridges the gaps one by one.
    pub(super) fn new(catalog: &'a Catalog, layout: &'a Layout, wishes: &'a PlanWishes<'a>) -> Result<Self, BadWish> {
        let flows = LossFlows::wished(catalog, layout, &wishes.search)?;
        let clearance_mm = wishes.search.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
        let mut planner = Self { catalog, layout, wishes, clearance_mm, flows, lists: Vec::new() };
        let lists = layout.gaps().iter().map(|gap| planner.list(*gap, FIRST_ENTRIES));
        planner.lists = lists.collect::<Result<_, _>>()?;
        Ok(planner)
    }

    fn list(&self, gap: Gap, asked: usize) -> Result<List, BadWish> {
        let flow_l_min = self.flows.at(&gap);
        let search = |want| {
            let wishes = Wishes { want, flow_l_min: Some(flow_l_min), ..self.wishes.search };
            bridge(self.catalog, self.layout, &gap, &wishes)
        };
        let (answer, alone) = judged(self.catalog, self.layout, &gap, &self.wishes.make_up, asked, search)?;
        let planned = PlannedGap { gap, answer, alone, chosen: None, make_up: None };
        Ok(List::new(self.catalog, planned, asked))
    }

    /// Lists of some gaps, drawn longer; whether any of them has grown.
    fn grow(&mut self, gaps: impl IntoIterator<Item = usize>) -> Result<bool, BadWish> {
        let mut has_grown = false;
        for gap in gaps {
            if !self.lists[gap].grows() {
                continue;
            }
            let longer =
                self.list(self.lists[gap].planned.gap, (self.lists[gap].asked * MORE_ENTRIES).min(MOST_ENTRIES))?;
            // A search that was told to stop may have found fewer.
            if longer.planned.answer.chains.len() >= self.lists[gap].planned.answer.chains.len() {
                has_grown = true;
                self.lists[gap] = longer;
            }
        }
        Ok(has_grown)
    }

    /// Goes on until a set is settled upon.
    pub(super) fn settled(mut self) -> Result<Plan, BadWish> {
        let has_chains = |gap: &usize| !self.lists[*gap].candidates.is_empty();
        let mut asked: Vec<usize> = (0..self.lists.len()).filter(has_chains).collect();
        let mut conflicts = Vec::new();
        loop {
            match self.set(&asked)? {
                Set::Found { chosen, cost, at_least, order } => {
                    let may_be_better = |gap: &usize| self.with_beyond(&asked, *gap).is_some_and(|bound| bound < cost);
                    let better: Vec<usize> = asked.iter().copied().filter(may_be_better).collect();
                    if self.grow(better.iter().copied())? {
                        continue;
                    }
                    let bounds = better.iter().filter_map(|gap| self.with_beyond(&asked, *gap));
                    let bound = bounds.chain([at_least]).min().unwrap_or(cost);
                    let proof = match bound < cost {
                        true => Proof::Found { parts_from_best: cost.parts - bound.parts.min(cost.parts) },
                        false => Proof::Best,
                    };
                    return Ok(self.plan(&asked, &chosen, cost, order, conflicts, proof));
                }
                Set::None { gaps, stuck } => {
                    if self.grow(gaps.iter().copied())? {
                        continue;
                    }
                    let conflict = self.conflict(&asked, gaps, stuck)?;
                    asked.retain(|gap| *gap != conflict.left_open);
                    conflicts.push(conflict);
                }
                Set::GivenUp => {
                    return Ok(self.plan(&[], &[], Cost::default(), Vec::new(), conflicts, Proof::GivenUp));
                }
            }
        }
    }

    /// What a set costs at least in which a gap is bridged by a chain that is not listed; `None` where there is none.
    fn with_beyond(&self, asked: &[usize], gap: usize) -> Option<Cost> {
        let others = asked.iter().filter(|other| **other != gap).map(|other| self.lists[*other].least());
        Some(others.sum::<Cost>() + self.lists[gap].beyond()?)
    }

    /// The cheapest set for the gaps that are asked for that can be made up in one order.
    fn set(&self, asked: &[usize]) -> Result<Set, BadWish> {
        let gaps: Vec<Vec<Candidate>> = asked.iter().map(|gap| self.lists[*gap].candidates.clone()).collect();
        let outline = |pick: Pick| &self.lists[asked[pick.gap]].outlines[pick.candidate];
        let clash = |one: Pick, other: Pick| outline(one).nearer_than(outline(other), self.clearance_mm).is_some();
        let mut barred: Vec<Vec<Pick>> = Vec::new();
        let mut last_stuck = Vec::new();
        for _ in 0..MOST_SETS {
            let choices = Choices { gaps: &gaps, stock: &[], clash: &clash, barred: &barred };
            let (chosen, cost, at_least) = match select(&choices, MOST_STEPS) {
                Selection::Best { chosen, cost } => (chosen, cost, cost),
                Selection::Found { chosen, cost, at_least } => (chosen, cost, at_least),
                Selection::Unknown => return Ok(Set::GivenUp),
                Selection::None => {
                    let Some(conflict) = irreducible(&choices, MOST_STEPS) else { return Ok(Set::GivenUp) };
                    let gaps: Vec<usize> = conflict.into_iter().map(|gap| asked[gap]).collect();
                    return Ok(Set::None { gaps, stuck: last_stuck });
                }
            };
            let placed: Vec<Placed<'_>> = asked
                .iter()
                .zip(&chosen)
                .filter_map(|(gap, chosen)| {
                    let list = &self.lists[*gap];
                    Some(Placed { gap: list.planned.gap, chain: list.planned.candidates().get(*chosen)? })
                })
                .collect();
            match order(self.catalog, self.layout, &placed, &self.wishes.make_up)? {
                Order::Found(order) => return Ok(Set::Found { chosen, cost, at_least, order }),
                Order::Stuck(stuck) => {
                    barred.push(stuck.iter().map(|(gap, _)| Pick { gap: *gap, candidate: chosen[*gap] }).collect());
                    let stuck = stuck.into_iter();
                    last_stuck =
                        stuck.map(|(gap, make_up)| Stuck { gap: asked[gap], chain: chosen[gap], make_up }).collect();
                }
            }
        }
        Ok(Set::GivenUp)
    }

    /// What is to be said of gaps that exclude each other, and which of them stays open: the one without which the others cost
    /// least.
    fn conflict(&self, asked: &[usize], gaps: Vec<usize>, stuck: Vec<Stuck>) -> Result<Conflict, BadWish> {
        let mut too_near = Vec::new();
        for (place, one) in gaps.iter().enumerate() {
            for other in &gaps[place + 1..] {
                let first = [*one, *other].map(|gap| self.lists[gap].outlines.first());
                if let [Some(first), Some(second)] = first
                    && let Some(mm) = first.nearer_than(second, self.clearance_mm)
                {
                    too_near.push((*one, *other, mm));
                }
            }
        }
        let mut best: Option<(bool, Cost, usize)> = None;
        for gap in &gaps {
            let others: Vec<usize> = asked.iter().copied().filter(|other| other != gap).collect();
            let (is_worse, cost) = match self.set(&others)? {
                Set::Found { cost, .. } => (false, cost),
                Set::None { .. } | Set::GivenUp => (true, Cost::default()),
            };
            if best.is_none_or(|best| (is_worse, cost, *gap) < best) {
                best = Some((is_worse, cost, *gap));
            }
        }
        let proven = gaps.iter().all(|gap| self.lists[*gap].beyond().is_none());
        let stuck = stuck.into_iter().filter(|stuck| gaps.contains(&stuck.gap)).collect();
        Ok(Conflict { left_open: best.map_or(gaps[0], |(.., gap)| gap), gaps, too_near, stuck, proven })
    }

    fn plan(
        self,
        asked: &[usize],
        chosen: &[usize],
        cost: Cost,
        order: Vec<(usize, MakeUp)>,
        conflicts: Vec<Conflict>,
        proof: Proof,
    ) -> Plan {
        let mut gaps: Vec<PlannedGap> = self.lists.into_iter().map(|list| list.planned).collect();
        for (gap, chosen) in asked.iter().zip(chosen) {
            gaps[*gap].chosen = Some(*chosen);
        }
        let mut places = Vec::with_capacity(order.len());
        for (place, made) in order {
            places.push(asked[place]);
            gaps[asked[place]].make_up = Some(made);
        }
        Plan { flows: self.flows, gaps, order: places, cost, conflicts, proof }
    }
}
