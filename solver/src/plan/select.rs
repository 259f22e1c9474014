//! One candidate for each gap, the cheapest set in which no two clash and for which the stock suffices: an exact branch and
//! bound that knows nothing of chains.

use super::cost::Cost;
use std::{collections::HashMap, rc::Rc};

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
    /// Whether two candidates of different gaps cannot be chosen together; asked of a pair at most twice.
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
    let gaps: Vec<usize> = (0..choices.gaps.len()).collect();
    let mut search = Search::new(choices, most_steps, false);
    let live = search.all();
    let at_least = search.least(&live, &gaps).unwrap_or_default();
    search.go(&live, Cost::default(), &gaps);
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
        let mut search = Search::new(choices, most_steps, true);
        let live = search.all();
        search.go(&live, Cost::default(), gaps);
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

/// Which candidates of a gap are left, or clash: a bit for each, in the order of [`by_cost`].
#[derive(Clone, Debug, PartialEq, Eq)]
struct Bits(Vec<u64>);

impl Bits {
    fn none(count: usize) -> Self {
        Self(vec![0; count.div_ceil(64)])
    }

    fn all(count: usize) -> Self {
        let mut bits = Self::none(count);
        (0..count).for_each(|place| bits.set(place));
        bits
    }

    fn set(&mut self, place: usize) {
        self.0[place / 64] |= 1 << (place % 64);
    }

    fn clear(&mut self, place: usize) {
        self.0[place / 64] &= !(1 << (place % 64));
    }

    /// The first at or after a place.
    fn next(&self, from: usize) -> Option<usize> {
        let mut word = from / 64;
        let mut bits = self.0.get(word)? & (u64::MAX << (from % 64));
        while bits == 0 {
            word += 1;
            bits = *self.0.get(word)?;
        }
        Some(word * 64 + bits.trailing_zeros() as usize)
    }

    fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }

    fn without(&self, others: &Self) -> Self {
        Self(self.0.iter().zip(&others.0).map(|(word, other)| word & !other).collect())
    }
}

struct Search<'a, 'c> {
    choices: &'a Choices<'c>,
    /// The candidates of each gap, the cheapest first; places are counted in this order.
    order: Vec<Vec<usize>>,
    /// For candidates that were tried, which of each gap they clash with.
    clashes: HashMap<Pick, Rc<Vec<Bits>>>,
    left: Vec<u32>,
    chosen: Vec<Option<usize>>,
    best: Option<(Vec<usize>, Cost)>,
    steps: u64,
    /// Whether the first set found ends the search.
    any_will_do: bool,
}

impl<'a, 'c> Search<'a, 'c> {
    fn new(choices: &'a Choices<'c>, steps: u64, any_will_do: bool) -> Self {
        Self {
            choices,
            order: (0..choices.gaps.len()).map(|gap| by_cost(choices, gap)).collect(),
            clashes: HashMap::new(),
            left: choices.stock.to_vec(),
            chosen: vec![None; choices.gaps.len()],
            best: None,
            steps,
            any_will_do,
        }
    }

    fn all(&self) -> Vec<Bits> {
        self.order.iter().map(|places| Bits::all(places.len())).collect()
    }

    fn pick(&self, gap: usize, place: usize) -> Pick {
        Pick { gap, candidate: self.order[gap][place] }
    }

    fn candidate(&self, pick: Pick) -> &'a Candidate {
        &self.choices.gaps[pick.gap][pick.candidate]
    }

    /// The least that some gaps can cost together; `None` where one has no candidate left.
    fn least(&self, live: &[Bits], gaps: &[usize]) -> Option<Cost> {
        gaps.iter().try_fold(Cost::default(), |sum, gap| {
            let cheapest = live[*gap].next(0)?;
            Some(sum + self.candidate(self.pick(*gap, cheapest)).cost)
        })
    }

    /// Chooses for the gaps among `open`, of which the candidates that are left are in `live`.
    fn go(&mut self, live: &[Bits], spent: Cost, open: &[usize]) {
        let Some(&gap) = open.iter().min_by_key(|gap| (live[**gap].count(), **gap)) else {
            if self.best.as_ref().is_none_or(|(_, best)| spent < *best) {
                let chosen = self.chosen.iter().map(|chosen| chosen.unwrap_or(usize::MAX)).collect();
                self.best = Some((chosen, spent));
            }
            return;
        };
        let rest: Vec<usize> = open.iter().copied().filter(|other| *other != gap).collect();
        let mut from = 0;
        while let Some(place) = live[gap].next(from) {
            from = place + 1;
            if self.steps == 0 || (self.any_will_do && self.best.is_some()) {
                return;
            }
            self.steps -= 1;
            let pick = self.pick(gap, place);
            let candidate = self.candidate(pick);
            if !self.suffices(&candidate.pieces) {
                continue;
            }
            let spent = spent + candidate.cost;
            self.take(&candidate.pieces);
            self.chosen[gap] = Some(pick.candidate);
            let left = self.left_beside(live, pick, &rest);
            let bound = self.least(&left, &rest).map(|least| spent + least);
            if bound.is_some_and(|bound| self.best.as_ref().is_none_or(|(_, best)| bound < *best)) {
                self.go(&left, spent, &rest);
            }
            self.chosen[gap] = None;
            self.give_back(&candidate.pieces);
        }
    }

    /// Which candidates of the gaps of `rest` may still be chosen now that `pick` is.
    fn left_beside(&mut self, live: &[Bits], pick: Pick, rest: &[usize]) -> Vec<Bits> {
        let clashes = self.clashes_of(pick);
        let mut left: Vec<Bits> = live.to_vec();
        for gap in rest {
            left[*gap] = live[*gap].without(&clashes[*gap]);
        }
        if !self.left.is_empty() {
            for gap in rest {
                let mut from = 0;
                while let Some(place) = left[*gap].next(from) {
                    from = place + 1;
                    if !self.suffices(&self.candidate(self.pick(*gap, place)).pieces) {
                        left[*gap].clear(place);
                    }
                }
            }
        }
        for set in self.choices.barred.iter().filter(|set| set.contains(&pick)) {
            let is_open = |member: &&Pick| self.chosen[member.gap] != Some(member.candidate);
            let mut open = set.iter().filter(is_open);
            if let (Some(last), None) = (open.next(), open.next())
                && rest.contains(&last.gap)
                && let Some(place) = self.order[last.gap].iter().position(|candidate| *candidate == last.candidate)
            {
                left[last.gap].clear(place);
            }
        }
        left
    }

    /// Which candidates of each other gap a candidate clashes with.
    fn clashes_of(&mut self, pick: Pick) -> Rc<Vec<Bits>> {
        if let Some(known) = self.clashes.get(&pick) {
            return Rc::clone(known);
        }
        let row = self.order.iter().enumerate().map(|(gap, places)| {
            let mut bits = Bits::none(places.len());
            for (place, candidate) in places.iter().enumerate().filter(|_| gap != pick.gap) {
                let other = Pick { gap, candidate: *candidate };
                if (self.choices.clash)(pick.min(other), pick.max(other)) {
                    bits.set(place);
                }
            }
            bits
        });
        let row = Rc::new(row.collect::<Vec<_>>());
        self.clashes.insert(pick, Rc::clone(&row));
        row
    }

    fn take(&mut self, pieces: &[(usize, u32)]) {
        for (kind, count) in pieces {
            if let Some(left) = self.left.get_mut(*kind) {
                *left -= count;
            }
        }
    }

    fn give_back(&mut self, pieces: &[(usize, u32)]) {
        for (kind, count) in pieces {
            if let Some(left) = self.left.get_mut(*kind) {
                *left += count;
            }
        }
    }

    /// Whether the stock suffices for pieces, of which a kind may be listed more than once.
    fn suffices(&self, pieces: &[(usize, u32)]) -> bool {
        pieces.iter().all(|(kind, _)| {
            let wanted =
                pieces.iter().filter(|(other, _)| other == kind).map(|(_, count)| u64::from(*count)).sum::<u64>();
            self.left.get(*kind).is_none_or(|left| u64::from(*left) >= wanted)
        })
    }
}
