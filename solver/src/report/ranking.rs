//! Orders of the list of chains other than that of the search.
//!
//! The search ranks by parts, then loss, and proves that order. Any other is made among the chains that it found, and how far
//! that is a proof is said with it.

use super::{GapReport, odd_turns};
use crate::bridge::{Chain, Completeness};
use schemars::JsonSchema;
use serde::Serialize;
use std::{cmp::Ordering, collections::BTreeMap, fmt, str::FromStr};

/// What chains can be ranked by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RankBy {
    /// Fewest parts.
    Parts,
    /// Least pressure loss.
    Loss,
    /// Fewest parts that are aimed at an odd angle, see [`odd_turns`].
    Ease,
    /// Most builds that close with holes out of place.
    Slack,
    /// Farthest from anything but the components that it joins.
    Clearance,
    /// Least price; chains of which it is not known come last.
    Price,
    /// Shortest centreline.
    Length,
}

impl RankBy {
    /// All of them, in the order in which help lists them.
    pub const ALL: [Self; 7] =
        [Self::Parts, Self::Loss, Self::Ease, Self::Slack, Self::Clearance, Self::Price, Self::Length];

    /// Its name: a word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Parts => "parts",
            Self::Loss => "loss",
            Self::Ease => "ease",
            Self::Slack => "slack",
            Self::Clearance => "clearance",
            Self::Price => "price",
            Self::Length => "length",
        }
    }
}

impl fmt::Display for RankBy {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.name())
    }
}

/// A word that names nothing to rank by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownFigure(String);

impl fmt::Display for UnknownFigure {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let known = RankBy::ALL.map(RankBy::name).join(", ");
        write!(formatter, "expected one of {known}, found `{}`", self.0)
    }
}

impl std::error::Error for UnknownFigure {}

impl FromStr for RankBy {
    type Err = UnknownFigure;

    fn from_str(name: &str) -> Result<Self, UnknownFigure> {
        let named = Self::ALL.into_iter().find(|figure| figure.name() == name);
        named.ok_or_else(|| UnknownFigure(name.to_owned()))
    }
}

/// An order of the list: by the first figure, chains that are equal in it by the second, and so on. Chains that are equal in
/// all of them stay in the order of the search. The default is that order: parts, then loss.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ranking(Vec<RankBy>);

/// How the search ranks.
const USUAL: [RankBy; 2] = [RankBy::Parts, RankBy::Loss];

impl Default for Ranking {
    fn default() -> Self {
        Self(USUAL.to_vec())
    }
}

impl fmt::Display for Ranking {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<&str> = self.0.iter().map(|figure| figure.name()).collect();
        formatter.write_str(&names.join(", then "))
    }
}

impl Ranking {
    /// The order by these figures; a figure that is named again changes nothing and is left out, and without any it is the
    /// default.
    #[must_use]
    pub fn by(figures: &[RankBy]) -> Self {
        let mut by: Vec<RankBy> = Vec::new();
        for figure in figures {
            if !by.contains(figure) {
                by.push(*figure);
            }
        }
        if by.is_empty() { Self::default() } else { Self(by) }
    }

    /// What it ranks by, the first figure first.
    #[must_use]
    pub fn figures(&self) -> &[RankBy] {
        &self.0
    }

    /// Whether it is the order of the search, so that nothing has to be put in another.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        USUAL.starts_with(&self.0)
    }

    /// How many of the figures of the search it begins with.
    fn as_the_search(&self) -> usize {
        self.0.iter().zip(USUAL).take_while(|(one, other)| **one == *other).count()
    }
}

/// Among how many chains a list was put in another order than that of the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compared {
    /// How many chains were compared: all that were found.
    pub chains: usize,
    /// How many of them, from the first, rank before all that were not found, which is proven.
    pub proven: usize,
}

impl GapReport {
    /// Puts the chains into another order; those that cannot be made up stay behind the others, and what is one entry stays
    /// together. Ranking by slack needs the [`slack`](GapReport::slack) of every chain: one of which it is not known comes
    /// last.
    #[must_use]
    pub fn ranked_by(mut self, ranking: &Ranking) -> Self {
        if ranking.is_usual() {
            return self;
        }
        let found = self.answer.chains.len();
        let keys: Vec<Vec<f64>> = (0..found)
            .map(|chain| ranking.figures().iter().map(|figure| self.figure(chain, *figure)).collect())
            .collect();
        let least = |one: usize, other: usize| lexicographic(&keys[one], &keys[other]).then(one.cmp(&other));
        let left_behind = |chain: usize| !self.make_up.is_empty() && !self.can_be_made_up(chain);
        // The best chain of each entry, among those that can be made up and among the others.
        let group = |chain: usize| (left_behind(chain), self.entries.get(chain).copied());
        let mut best: BTreeMap<_, usize> = BTreeMap::new();
        for chain in 0..found {
            let head = best.entry(group(chain)).or_insert(chain);
            if least(chain, *head).is_lt() {
                *head = chain;
            }
        }
        let heads: Vec<usize> = (0..found).map(|chain| best.get(&group(chain)).copied().unwrap_or(chain)).collect();
        let mut order: Vec<usize> = (0..found).collect();
        order.sort_by(|one, other| {
            let behind = left_behind(*one).cmp(&left_behind(*other));
            behind.then(least(heads[*one], heads[*other])).then(least(*one, *other))
        });
        self.reorder(&order);
        self.compared = Some(Compared { chains: found, proven: self.proven_by(ranking) });
        self
    }

    /// How many chains, from the first, rank before all that the search did not find.
    fn proven_by(&self, ranking: &Ranking) -> usize {
        let chains = &self.answer.chains;
        match self.answer.completeness {
            Completeness::Complete { .. } => chains.len(),
            Completeness::BestProven { .. } => {
                // Whatever was not found ranks behind all of these by parts, then loss, or is equal to the last of them.
                let cost = |chain: &Chain| (chain.parts.len(), chain.loss_kpa);
                let last = chains.iter().map(cost).fold((0, 0.0), |most, next| if next > most { next } else { most });
                let before_all_others = |chain: &&Chain| match ranking.as_the_search() {
                    0 => false,
                    1 => chain.parts.len() < last.0,
                    _ => cost(chain) < last,
                };
                chains.iter().take_while(before_all_others).count()
            }
            Completeness::Sampled { .. } | Completeness::Stopped { .. } => 0,
        }
    }

    /// A figure of a chain, the less the better.
    fn figure(&self, chain: usize, figure: RankBy) -> f64 {
        let Some(found) = self.answer.chains.get(chain) else { return f64::INFINITY };
        match figure {
            RankBy::Parts => found.parts.len() as f64,
            RankBy::Loss => found.loss_kpa,
            RankBy::Ease => self.chains.get(chain).map_or(f64::INFINITY, |parts| odd_turns(parts) as f64),
            RankBy::Slack => self.slack.get(chain).map_or(f64::INFINITY, |slack| -slack.share.share),
            RankBy::Clearance => {
                let others = self.clearances.get(chain).and_then(|apart| apart.to_others.as_ref());
                others.map_or(f64::NEG_INFINITY, |nearest| -nearest.mm)
            }
            RankBy::Price => found.price.unwrap_or(f64::INFINITY),
            RankBy::Length => found.length_mm,
        }
    }

    /// Puts all that there is of the chains into this order, and numbers the entries as they come.
    fn reorder(&mut self, order: &[usize]) {
        fn picked<T: Clone>(of: &mut Vec<T>, order: &[usize]) {
            *of = order.iter().filter_map(|index| of.get(*index).cloned()).collect();
        }
        picked(&mut self.answer.chains, order);
        picked(&mut self.chains, order);
        picked(&mut self.clearances, order);
        picked(&mut self.entries, order);
        picked(&mut self.make_up, order);
        picked(&mut self.slack, order);
        let mut seen: Vec<usize> = Vec::new();
        for entry in &mut self.entries {
            let number = seen.iter().position(|known| known == entry);
            let number = number.unwrap_or_else(|| {
                seen.push(*entry);
                seen.len() - 1
            });
            *entry = number;
        }
    }
}

fn lexicographic(one: &[f64], other: &[f64]) -> Ordering {
    one.iter()
        .zip(other)
        .map(|(one, other)| one.total_cmp(other))
        .find(|order| order.is_ne())
        .unwrap_or(Ordering::Equal)
}
