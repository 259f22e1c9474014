//! From classes to named chains, best first: each closed class of chains is spelled out in parts, tested for
//! collisions in order of loss, and ordered.

use super::{
    answer::{Chain, Counts},
    closed::Closed,
    closure::{Allowance, Line, Posture, near, refine, swing},
    fit::Site,
    run::Runs,
    stock::{LinkId, Stock},
};
use std::{
    cmp::{Ordering, Reverse},
    collections::HashSet,
};

/// Chains whose clearances differ by less than this are ordered by name, in millimetres: the same order however the
/// layout is turned, which rounds the last digits differently.
const SAME_CLEARANCE_MM: f64 = 1e-6;

/// What naming and testing needs.
pub(super) struct Bench<'a> {
    pub(super) stock: &'a Stock,
    pub(super) runs: &'a Runs<'a>,
    pub(super) site: &'a Site<'a>,
    pub(super) from: Line,
    pub(super) to: Line,
    pub(super) allowance: Allowance,
}

/// The best chains that were found so far.
pub(super) struct Best {
    want: usize,
    /// In order, each with its loss in micropascals.
    chains: Vec<(u64, Chain)>,
    /// Not yet put in their places among them: with many wanted that takes long for each.
    fresh: Vec<(u64, Chain)>,
}

/// Share of the chains wanted, as one in so many, that may wait for their place.
const WAITING: usize = 8;

impl Best {
    /// None so far, of so many that are wanted.
    pub(super) fn new(want: usize) -> Self {
        Self { want, chains: Vec::new(), fresh: Vec::new() }
    }

    /// Whether there are as many as are wanted.
    pub(super) fn is_full(&mut self) -> bool {
        self.order();
        self.chains.len() >= self.want
    }

    /// Loss above which a chain of as many parts as the last of them cannot be among them any more.
    pub(super) fn bound(&self) -> u64 {
        let last = self.want.checked_sub(1).map_or(Some(0), |last| Some(self.chains.get(last)?.0));
        last.unwrap_or(u64::MAX)
    }

    /// Takes chains of one loss that clear everything.
    fn add(&mut self, loss: u64, chains: impl Iterator<Item = Chain>) {
        self.fresh.extend(chains.map(|chain| (loss, chain)));
        if self.fresh.len() > self.want / WAITING {
            self.order();
        }
    }

    fn order(&mut self) {
        if self.fresh.is_empty() {
            return;
        }
        self.chains.append(&mut self.fresh);
        self.chains.sort_by(|(_, one), (_, other)| order(one, other));
        // One sequence of parts may have closed at several lengths of an adjustable part: the clearest stays.
        let mut seen = HashSet::new();
        let is_first: Vec<bool> = self.chains.iter().map(|(_, chain)| seen.insert(forth(chain))).collect();
        let mut is_first = is_first.into_iter();
        self.chains.retain(|_| is_first.next().unwrap_or(true));
        self.chains.truncate(self.want);
    }

    pub(super) fn into_chains(mut self) -> Vec<Chain> {
        self.order();
        self.chains.into_iter().map(|(_, chain)| chain).collect()
    }
}

/// Tests the chains of `closed`, least loss first, as long as they can be among the `best`, and drops them. Returns
/// `false` when `stop` asked to leave.
pub(super) fn admit(
    bench: &Bench<'_>,
    closed: &mut Vec<Closed>,
    best: &mut Best,
    counts: &mut Counts,
    stop: &(dyn Fn() -> bool + Sync),
) -> bool {
    closed.sort_by_key(|closed| closed.loss);
    // Chains of equal loss are ordered by clearance, so they are all tested.
    for group in closed.chunk_by(|one, other| one.loss == other.loss) {
        let loss = group[0].loss;
        if loss > best.bound() {
            break;
        }
        if stop() {
            return false;
        }
        let outcomes = super::parallel::map(group, |closed| test(bench, closed));
        for (tested, found) in &outcomes {
            counts.tested += tested;
            counts.collided += tested - found.len() as u64;
        }
        best.add(loss, outcomes.into_iter().flat_map(|(_, found)| found));
    }
    closed.clear();
    true
}

/// The chains of one class that clear everything, and how many were tested.
fn test(bench: &Bench<'_>, closed: &Closed) -> (u64, Vec<Chain>) {
    let skeleton = closed.skeleton(bench.stock);
    let mut postures: Vec<_> = closed.postures.iter().map(|(posture, _)| *posture).collect();
    let mut swung: Vec<Posture> = Vec::new();
    let mut driver = None;
    for posture in &postures {
        // Postures of one continuum lead to the same walk.
        if !swung.iter().any(|other| near(&skeleton, posture, other))
            && let Some(swing) = swing(&skeleton, &bench.from, &bench.to, &bench.allowance, posture)
        {
            swung.extend(swing.postures);
            driver = Some(swing.driver);
        }
    }
    postures.extend(swung);
    let mut tested = 0;
    let mut found = Vec::new();
    for links in spellings(bench, closed) {
        tested += 1;
        let in_place = |posture: &Posture| bench.site.chain(&links, closed, posture).ok();
        let best = postures
            .iter()
            .filter_map(|posture| Some((in_place(posture)?, posture)))
            // The first of equals, as listed.
            .reduce(
                |best, other| {
                    if clearance(&other.0) > clearance(&best.0) + SAME_CLEARANCE_MM { other } else { best }
                },
            );
        let Some((mut chain, posture)) = best else { continue };
        if let Some(driver) = driver {
            let worth = |posture: &Posture| in_place(posture).map_or(f64::NEG_INFINITY, |chain| clearance(&chain));
            let ports = [&bench.from, &bench.to];
            let refined = refine(&skeleton, ports, &bench.allowance, driver, posture, worth);
            chain = in_place(&refined).unwrap_or(chain);
        }
        found.push(chain);
    }
    (tested, found)
}

/// Every sequence of links that a class of chains stands for.
fn spellings(bench: &Bench<'_>, closed: &Closed) -> Vec<Vec<LinkId>> {
    let stock = bench.stock;
    let mut words: Vec<Vec<LinkId>> = vec![Vec::new()];
    let mut exit = stock.from;
    for (index, laid) in closed.runs.iter().enumerate() {
        let class = closed.turns.get(index).map(|id| &stock.turns[*id]);
        let entry = class.map_or(stock.to, |class| class.entry);
        let runs = bench.runs.spell(exit, entry, laid.parts, &laid.run);
        let turns = class.map(|class| &class.links[..]);
        let mut longer = Vec::with_capacity(words.len() * runs.len());
        for word in &words {
            for run in &runs {
                let with = |link: Option<&LinkId>| word.iter().chain(run).chain(link).copied().collect();
                match turns {
                    Some(links) => longer.extend(links.iter().map(|link| with(Some(link)))),
                    None => longer.push(with(None)),
                }
            }
        }
        words = longer;
        exit = class.map_or(stock.to, |class| class.exit);
    }
    words
}

fn clearance(chain: &Chain) -> f64 {
    chain.clearance.as_ref().map_or(f64::INFINITY, |clearance| clearance.mm)
}

/// Part count, loss, clearance, then names read from whichever end comes first in the alphabet, so that asking from
/// the other port gives the same order.
pub(super) fn order(a: &Chain, b: &Chain) -> Ordering {
    #[expect(clippy::cast_possible_truncation, reason = "infinity saturates, which orders it last as meant")]
    let grains = |chain: &Chain| Reverse((clearance(chain) / SAME_CLEARANCE_MM).round() as i64);
    a.parts
        .len()
        .cmp(&b.parts.len())
        .then_with(|| a.loss_kpa.total_cmp(&b.loss_kpa))
        .then_with(|| grains(a).cmp(&grains(b)))
        .then_with(|| either_way(a).cmp(&either_way(b)))
        .then_with(|| forth(a).cmp(&forth(b)))
}

fn either_way(chain: &Chain) -> Vec<&str> {
    let forth: Vec<&str> = chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    let back = forth.iter().rev().copied().collect();
    forth.min(back)
}

fn forth(chain: &Chain) -> Vec<(&str, usize)> {
    chain.parts.iter().map(|part| (part.fitting.as_str(), part.entry)).collect()
}
