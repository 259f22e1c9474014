//! One candidate for each gap, the cheapest set in which no two clash and for which the stock suffices: an exact branch and
//! bound that knows nothing of chains.

use super::cost::Cost;
use std::{cell::RefCell, collections::HashMap};

/// A candidate of a gap, both counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pick {
    /// The gap.
    pub gap: usize,
    /// Which of its candidates.
    pub candidate: usize,
}

/// A candidate as the selection sees it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Candidate {
    /// What it costs.
    pub cost: Cost,
    /// How many pieces it takes of each kind of part, by the number of the kind in [`Choices::stock`].
    pub pieces: Vec<(usize, u32)>,
}

/// What is to be chosen from.
pub struct Choices<'a> {
    /// The candidates of each gap.
    pub gaps: &'a [Vec<Candidate>],
    /// How many pieces there are of each kind of part; kinds beyond the list are not limited.
    pub stock: &'a [u32],
    /// Whether two candidates of different gaps cannot be chosen together; asked of a pair at most once.
    pub clash: &'a dyn Fn(Pick, Pick) -> bool,
    /// Sets of candidates that cannot all be chosen together.
    pub barred: &'a [Vec<Pick>],
}

/// The outcome of a selection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Selection {
    /// The cheapest set.
    Best {
        /// For each gap, its candidate.
        chosen: Vec<usize>,
        /// The sum of their costs.
        cost: Cost,
    },
    /// A set, but the search was given up before it was proven cheapest.
    Found {
        /// For each gap, its candidate.
        chosen: Vec<usize>,
        /// The sum of their costs.
        cost: Cost,
        /// No set costs less than this.
        at_least: Cost,
    },
    /// There is no set.
    None,
    /// The search was given up before a set was found.
    Unknown,
}

/// Steps after which a selection is given up: some seconds.
pub const MOST_STEPS: u64 = 1_000_000;

/// Selects the cheapest set, and of sets that cost the same the first found, which is the same on every run. Without gaps
/// that is the empty set. Gives up after `most_steps`, each of which is one candidate tried.
#[must_use]
pub fn select(choices: &Choices<'_>, most_steps: u64) -> Selection {
    let live: Vec<Vec<usize>> = (0..choices.gaps.len()).map(|gap| by_cost(choices, gap)).collect();
    let mut search = Search {
        choices,
        known: RefCell::new(HashMap::new()),
        left: choices.stock.to_vec(),
        chosen: vec![None; choices.gaps.len()],
        best: None,
        steps: most_steps,
        any_will_do: false,
    };
    let at_least = search.least(&live).unwrap_or_default();
    search.go(&live, Cost::default());
    match (search.best, search.steps) {
        (Some((chosen, cost)), 0) if cost > at_least => Selection::Found { chosen, cost, at_least },
        (Some((chosen, cost)), _) => Selection::Best { chosen, cost },
        (None, 0) => Selection::Unknown,
        (None, _) => Selection::None,
    }
}

/// Of gaps for which there is no set, some for which there is none either, but for any part of which there is one: the gaps
/// that conflict. `None` if there is a set for all, or none of that could be told within `most_steps`.
#[must_use]
pub fn irreducible(choices: &Choices<'_>, most_steps: u64) -> Option<Vec<usize>> {
    let has_set = |gaps: &[usize]| -> Option<bool> {
        let live: Vec<Vec<usize>> = (0..choices.gaps.len())
            .map(|gap| if gaps.contains(&gap) { by_cost(choices, gap) } else { Vec::new() })
            .collect();
        let mut search = Search {
            choices,
            known: RefCell::new(HashMap::new()),
            left: choices.stock.to_vec(),
            chosen: vec![None; choices.gaps.len()],
            best: None,
            steps: most_steps,
            any_will_do: true,
        };
        search.go_among(&live, Cost::default(), gaps);
        match (search.best, search.steps) {
            (Some(_), _) => Some(true),
            (None, 0) => None,
            (None, _) => Some(false),
        }
    };
    let mut gaps: Vec<usize> = (0..choices.gaps.len()).collect();
    if has_set(&gaps)? {
        return None;
    }
    for gap in 0..choices.gaps.len() {
        let without: Vec<usize> = gaps.iter().copied().filter(|other| *other != gap).collect();
        if !has_set(&without)? {
            gaps = without;
        }
    }
    Some(gaps)
}

/// The candidates of a gap that are not barred by themselves, the cheapest first.
fn by_cost(choices: &Choices<'_>, gap: usize) -> Vec<usize> {
    let candidates = &choices.gaps[gap];
    let is_barred = |candidate: &usize| choices.barred.contains(&vec![Pick { gap, candidate: *candidate }]);
    let mut order: Vec<usize> = (0..candidates.len()).filter(|candidate| !is_barred(candidate)).collect();
    order.sort_by_key(|candidate| (candidates[*candidate].cost, *candidate));
    order
}

struct Search<'a, 'c> {
    choices: &'a Choices<'c>,
    known: RefCell<HashMap<(Pick, Pick), bool>>,
    left: Vec<u32>,
    chosen: Vec<Option<usize>>,
    best: Option<(Vec<usize>, Cost)>,
    steps: u64,
    /// Whether the first set found ends the search.
    any_will_do: bool,
}

impl Search<'_, '_> {
    /// The least that the gaps of these candidates can cost together; `None` where one has none left.
    fn least(&self, live: &[Vec<usize>]) -> Option<Cost> {
        let first = |(gap, candidates): (usize, &Vec<usize>)| {
            candidates.first().map(|candidate| self.choices.gaps[gap][*candidate].cost)
        };
        live.iter().enumerate().map(first).try_fold(Cost::default(), |sum, cost| Some(sum + cost?))
    }

    fn go(&mut self, live: &[Vec<usize>], spent: Cost) {
        let gaps: Vec<usize> = (0..live.len()).collect();
        self.go_among(live, spent, &gaps);
    }

    /// Chooses for the gaps among `open`, of which the candidates that are left are in `live`.
    fn go_among(&mut self, live: &[Vec<usize>], spent: Cost, open: &[usize]) {
        let Some(&gap) = open.iter().min_by_key(|gap| (live[**gap].len(), **gap)) else {
            if self.best.as_ref().is_none_or(|(_, best)| spent < *best) {
                let chosen = self.chosen.iter().map(|chosen| chosen.unwrap_or(usize::MAX)).collect();
                self.best = Some((chosen, spent));
            }
            return;
        };
        let rest: Vec<usize> = open.iter().copied().filter(|other| *other != gap).collect();
        for &candidate in &live[gap] {
            if self.steps == 0 || (self.any_will_do && self.best.is_some()) {
                return;
            }
            self.steps -= 1;
            let pick = Pick { gap, candidate };
            let chosen = &self.choices.gaps[gap][candidate];
            let spent = spent + chosen.cost;
            if !self.takes(&chosen.pieces) {
                continue;
            }
            self.chosen[gap] = Some(candidate);
            let left: Vec<Vec<usize>> = live
                .iter()
                .enumerate()
                .map(|(other, candidates)| {
                    if !rest.contains(&other) {
                        return Vec::new();
                    }
                    let stays = |candidate: &usize| self.goes_with(pick, Pick { gap: other, candidate: *candidate });
                    candidates.iter().copied().filter(stays).collect()
                })
                .collect();
            let bound = rest.iter().try_fold(spent, |sum, other| {
                let candidate = left[*other].first()?;
                Some(sum + self.choices.gaps[*other][*candidate].cost)
            });
            if bound.is_some_and(|bound| self.best.as_ref().is_none_or(|(_, best)| bound < *best)) {
                self.go_among(&left, spent, &rest);
            }
            self.chosen[gap] = None;
            for (kind, count) in &chosen.pieces {
                if let Some(left) = self.left.get_mut(*kind) {
                    *left += count;
                }
            }
        }
    }

    /// Takes pieces out of the stock, or none where it does not suffice.
    fn takes(&mut self, pieces: &[(usize, u32)]) -> bool {
        if !self.suffices(pieces) {
            return false;
        }
        for (kind, count) in pieces {
            if let Some(left) = self.left.get_mut(*kind) {
                *left -= count;
            }
        }
        true
    }

    fn suffices(&self, pieces: &[(usize, u32)]) -> bool {
        pieces.iter().all(|(kind, count)| self.left.get(*kind).is_none_or(|left| left >= count))
    }

    /// Whether a candidate of an open gap may still be chosen now that `pick` is.
    fn goes_with(&self, pick: Pick, other: Pick) -> bool {
        if !self.suffices(&self.choices.gaps[other.gap][other.candidate].pieces) {
            return false;
        }
        let is_last_of = |set: &Vec<Pick>| {
            set.contains(&pick)
                && set.contains(&other)
                && set.iter().all(|member| *member == other || self.chosen[member.gap] == Some(member.candidate))
        };
        if self.choices.barred.iter().any(is_last_of) {
            return false;
        }
        let pair = (pick.min(other), pick.max(other));
        if let Some(clash) = self.known.borrow().get(&pair) {
            return !clash;
        }
        let clash = (self.choices.clash)(pair.0, pair.1);
        self.known.borrow_mut().insert(pair, clash);
        !clash
    }
}
