//! From classes to named chains, best first: each closed class of chains is spelled out in parts, tested for
//! collisions in order of loss, and ordered.

use super::{
    cover::{Covered, clearest, cover},
    depths::Depths,
    linkage::Linkage,
    stuck,
};
use crate::{
    bridge::{
        answer::Chain,
        closure::{
            Allowance, Closing, Line, Posture, SelfMotion, Skeleton, Uncovered, every, follow, near, no_motion, refine,
            swing,
        },
        entries::{Entries, stands_elsewhere},
        placed::{Closed, Site},
        progress::Counts,
        stock::{LinkId, Runs, Stock, TurnClass},
    },
    catalog::FittingDef,
};
use std::{
    cmp::{Ordering, Reverse},
    collections::{BTreeMap, HashMap, HashSet},
};

/// Chains whose clearances differ by less than this are ordered by name, in millimetres: the same order however the
/// layout is turned, which rounds the last digits differently.
const SAME_CLEARANCE_MM: f64 = 1e-6;

/// What naming and testing needs.
pub(in crate::bridge) struct Bench<'a> {
    pub(in crate::bridge) stock: &'a Stock,
    pub(in crate::bridge) runs: &'a Runs<'a>,
    pub(in crate::bridge) site: &'a Site<'a>,
    pub(in crate::bridge) depths: &'a Depths<'a>,
    pub(in crate::bridge) from: Line,
    pub(in crate::bridge) to: Line,
    pub(in crate::bridge) allowance: Allowance,
}

impl Bench<'_> {
    fn closing<'s>(&'s self, skeleton: &'s Skeleton<'s>) -> Closing<'s> {
        Closing { skeleton, from: &self.from, to: &self.to, allowance: &self.allowance }
    }
}

/// A chain that clears everything.
struct Fits {
    /// In micropascals.
    loss: u64,
    chain: Chain,
    /// Whether it stands for every posture of its sequence of parts: the chain has adjustable parts or can move, so that
    /// those that were tried are some of a continuum, of which the clearest is listed.
    alone: bool,
}

/// The best chains that were found so far.
pub(super) struct Best<'a> {
    telling: Entries<'a>,
    /// How many entries.
    want: usize,
    /// In order.
    chains: Vec<Fits>,
    /// Not yet put in their places among them: with many wanted that takes long for each.
    fresh: Vec<Fits>,
    /// Loss of the last entry wanted, once there are as many.
    last: Option<u64>,
    /// Chains of the part count in hand that may fit after all: the least loss of those for each reason.
    doubts: BTreeMap<Uncovered, u64>,
}

/// Share of the chains at hand, as one in so many, that may wait for their place.
const WAITING: usize = 8;

impl<'a> Best<'a> {
    /// None so far, of so many entries that are wanted.
    pub(in crate::bridge) fn new(want: usize, fittings: &'a [FittingDef]) -> Self {
        let last = (want == 0).then_some(0);
        let telling = Entries::new(fittings);
        Self { telling, want, chains: Vec::new(), fresh: Vec::new(), last, doubts: BTreeMap::new() }
    }

    /// Whether there are as many as are wanted.
    pub(super) fn is_full(&mut self) -> bool {
        self.order();
        self.last.is_some()
    }

    /// Loss above which a chain of as many parts as the last of them cannot be among them any more.
    pub(in crate::bridge) fn bound(&self) -> u64 {
        self.last.unwrap_or(u64::MAX)
    }

    /// Notes that a chain of this loss may fit, if there is a reason for that.
    fn doubt(&mut self, loss: u64, why: Option<Uncovered>) {
        if let Some(why) = why {
            self.doubts.entry(why).and_modify(|least| *least = loss.min(*least)).or_insert(loss);
        }
    }

    /// The reasons why some chain of the part count that ends here may belong among the best after all.
    pub(super) fn take_doubts(&mut self) -> Vec<Uncovered> {
        self.order();
        let bound = self.bound();
        std::mem::take(&mut self.doubts).into_iter().filter(|(_, loss)| *loss <= bound).map(|(why, _)| why).collect()
    }

    /// Takes chains of one loss that clear everything.
    fn add(&mut self, chains: impl Iterator<Item = Fits>) {
        self.fresh.extend(chains);
        if self.fresh.len() > self.want.max(self.chains.len()) / WAITING {
            self.order();
        }
    }

    fn order(&mut self) {
        if self.fresh.is_empty() {
            return;
        }
        self.chains.append(&mut self.fresh);
        self.chains.sort_by(|one, other| order(&one.chain, &other.chain));
        self.drop_repeated();
        // What ranks with the last entry stays for now: which of them is the last may still change.
        let entries = self.telling.of(self.chains.iter().map(|fits| &fits.chain));
        let last = self.want.checked_sub(1).and_then(|last| entries.iter().position(|entry| *entry == last));
        if let Some(last) = last {
            let bound = self.chains[last].loss;
            self.last = Some(bound);
            let parts = self.chains[last].chain.parts.len();
            self.chains.retain(|fits| (fits.chain.parts.len(), fits.loss) <= (parts, bound));
        }
    }

    /// Drops what was found before, clearer or the same: one sequence of parts may have closed at several lengths of an
    /// adjustable part, and one posture of it on several ways.
    fn drop_repeated(&mut self) {
        let mut kept: HashMap<Vec<(&str, usize)>, Vec<&Fits>> = HashMap::new();
        let mut stays = Vec::with_capacity(self.chains.len());
        for fits in &self.chains {
            let same = kept.entry(forth(&fits.chain)).or_default();
            let is_new = |other: &&Fits| !fits.alone && !other.alone && stands_elsewhere(&fits.chain, &other.chain);
            stays.push(same.iter().all(is_new));
            if stays.last() == Some(&true) {
                same.push(fits);
            }
        }
        let mut stays = stays.into_iter();
        self.chains.retain(|_| stays.next().unwrap_or(true));
    }

    /// The entries that were wanted, one after the other, with all their chains.
    pub(super) fn into_chains(mut self) -> Vec<Chain> {
        self.order();
        let entries = self.telling.of(self.chains.iter().map(|fits| &fits.chain));
        let mut chains: Vec<(usize, Chain)> =
            entries.into_iter().zip(self.chains).map(|(entry, fits)| (entry, fits.chain)).collect();
        chains.retain(|(entry, _)| *entry < self.want);
        chains.sort_by_key(|(entry, _)| *entry);
        chains.into_iter().map(|(_, chain)| chain).collect()
    }
}

/// Tests the chains of `closed`, least loss first, as long as they can be among the `best`, and drops them. Returns
/// `false` when `stop` asked to leave.
pub(super) fn admit(
    bench: &Bench<'_>,
    closed: &mut Vec<Closed>,
    best: &mut Best<'_>,
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
        let mut outcomes = crate::bridge::parallel::map(group, |closed| test(bench, closed));
        for Tested { tested, found, uncovered, .. } in &outcomes {
            best.doubt(loss, *uncovered);
            counts.tested += tested;
            counts.collided += tested - found.len() as u64;
        }
        let open = Open::gather(group, &mut outcomes);
        best.add(outcomes.into_iter().flat_map(|outcome| outcome.found).flat_map(|placed| {
            let alone = placed.alone;
            placed.chains.into_iter().map(move |chain| Fits { loss, chain, alone })
        }));
        for (found, uncovered) in crate::bridge::parallel::map(&open, |open| open.cover(bench)) {
            counts.collided -= found.len() as u64;
            best.doubt(loss, uncovered);
            best.add(found.into_iter().map(|chain| Fits { loss, chain, alone: true }));
        }
    }
    closed.clear();
    true
}

/// What became of the chains of one class.
struct Tested {
    tested: u64,
    /// Those that clear everything in one of the postures that were found.
    found: Vec<InPlace>,
    /// Those that do not, where the chain may have others.
    open: Vec<Vec<LinkId>>,
    /// Why some of those that collide may have room after all.
    uncovered: Option<Uncovered>,
}

/// A sequence of parts that clears everything in the first of these postures and in the others, which are listed as well.
struct InPlace {
    links: Vec<LinkId>,
    chains: Vec<Chain>,
    alone: bool,
}

/// Tests every chain of one class in the postures that were found, and along the way in which it swings.
fn test(bench: &Bench<'_>, closed: &Closed) -> Tested {
    let skeleton = closed.skeleton(bench.stock);
    let closing = bench.closing(&skeleton);
    let mut postures: Vec<_> = closed.postures.iter().map(|(posture, _)| *posture).collect();
    let mut swung: Vec<Posture> = Vec::new();
    let mut driver = None;
    let mut is_rigid = closed.has_room();
    for posture in &postures {
        if closing.is_rigid(posture, SURELY_RIGID * bench.allowance.mm) {
            continue;
        }
        is_rigid = false;
        // Postures of one continuum lead to the same walk.
        if !swung.iter().any(|other| near(&skeleton, posture, other))
            && let Some(swing) = swing(&skeleton, &bench.from, &bench.to, &bench.allowance, posture)
        {
            swung.extend(swing.postures);
            driver = Some(swing.driver);
        }
    }
    postures.extend(swung);
    // What is in something whatever its parts are called need not be built.
    let cores = cores(bench, closed);
    let may_fit = |posture: &&Posture| !stuck::in_posture(bench.depths, &skeleton, &bench.from, posture, &cores);
    let promising: Vec<&Posture> = postures.iter().filter(may_fit).collect();
    let mut outcome = Tested { tested: 0, found: Vec::new(), open: Vec::new(), uncovered: None };
    for links in spellings(bench, closed) {
        outcome.tested += 1;
        let in_place = |posture: &Posture| bench.site.chain(&links, closed, posture).ok();
        let mut clear: Vec<_> = promising.iter().filter_map(|posture| Some((in_place(posture)?, *posture))).collect();
        // The first of equals, as found.
        clear.sort_by_key(|(chain, _)| grains(chain));
        let mut clear = clear.into_iter();
        let Some((mut chain, posture)) = clear.next() else {
            if postures.iter().any(|posture| bench.site.shares_length(&links, closed, posture)) {
                outcome.uncovered = outcome.uncovered.max(Some(Uncovered::Shared));
            }
            if !is_rigid {
                outcome.open.push(links);
            }
            continue;
        };
        if let Some(driver) = driver {
            let worth = |posture: &Posture| in_place(posture).map_or(f64::NEG_INFINITY, |chain| clearance(&chain));
            let ports = [&bench.from, &bench.to];
            let refined = refine(&skeleton, ports, &bench.allowance, driver, posture, worth);
            chain = in_place(&refined).unwrap_or(chain);
        }
        let alone = driver.is_some() || !closed.has_room() || bench.site.is_adjustable(&links);
        let mut chains = vec![chain];
        if !alone {
            for (other, _) in clear {
                if chains.iter().all(|chain| stands_elsewhere(chain, &other)) {
                    chains.push(other);
                }
            }
        }
        outcome.found.push(InPlace { links, chains, alone });
    }
    outcome
}

/// Chains of the same classes and runs, closed at one or several lengths of their adjustable parts, of which none has room
/// in any posture that was found.
struct Open<'c> {
    closed: Vec<&'c Closed>,
    links: Vec<Vec<LinkId>>,
}

impl<'c> Open<'c> {
    /// Puts together what is open of one loss, but for chains that were found to have room at some length.
    fn gather(group: &'c [Closed], outcomes: &mut [Tested]) -> Vec<Self> {
        let mut gathered: BTreeMap<_, Self> = BTreeMap::new();
        let placed: HashSet<Vec<LinkId>> =
            outcomes.iter().flat_map(|outcome| &outcome.found).map(|placed| placed.links.clone()).collect();
        for (closed, outcome) in group.iter().zip(outcomes) {
            outcome.open.retain(|links| !placed.contains(links));
            if outcome.open.is_empty() {
                continue;
            }
            let open = gathered.entry(closed.key()).or_insert_with(|| Self { closed: Vec::new(), links: Vec::new() });
            open.closed.push(closed);
            open.links.append(&mut outcome.open);
        }
        let mut gathered: Vec<Self> = gathered.into_values().collect();
        for open in &mut gathered {
            open.links.sort_unstable();
            open.links.dedup();
        }
        gathered
    }

    /// Looks for room in all postures that they have.
    fn cover(&self, bench: &Bench<'_>) -> (Vec<Chain>, Option<Uncovered>) {
        let [closed, ..] = self.closed[..] else { return (Vec::new(), None) };
        let skeleton = closed.skeleton(bench.stock);
        let closing = bench.closing(&skeleton);
        let (mut found, mut uncovered) = (Vec::new(), None);
        if let Some(linkage) = Linkage::of(&closing) {
            for links in &self.links {
                match linkage.cover(bench.site, &closing, links, closed) {
                    Covered::Blocked => {}
                    Covered::Clear(posture) => found.extend(bench.site.chain(links, closed, &posture).ok()),
                    Covered::Undecided(why) => uncovered = uncovered.max(Some(why)),
                }
            }
            return (found, uncovered);
        }
        let motion = self.motion(&closing);
        if !motion.moves() && motion.points.is_empty() {
            return (found, uncovered);
        }
        for links in &self.links {
            match cover(bench.site, &closing, links, closed, &motion) {
                Covered::Blocked => {}
                Covered::Clear(stretch) => {
                    let in_place = |posture: &Posture| bench.site.chain(links, closed, posture).ok();
                    let worth =
                        |posture: &Posture| in_place(posture).map_or(f64::NEG_INFINITY, |chain| clearance(&chain));
                    let posture = clearest(&closing, &motion, &stretch, worth);
                    found.extend(in_place(&posture).or_else(|| in_place(&stretch.posture())));
                }
                Covered::Undecided(why) => uncovered = uncovered.max(Some(why)),
            }
        }
        (found, uncovered)
    }

    /// Every self-motion of them: those of the postures that were found and, if there are any, those of all others in which
    /// the chain closes.
    fn motion(&self, closing: &Closing<'_>) -> SelfMotion {
        let postures = self.closed.iter().flat_map(|closed| &closed.postures);
        let motion = follow(closing, no_motion(closing), postures.map(|(posture, _)| *posture));
        if !motion.moves() && self.closed.iter().all(|closed| closed.has_room()) {
            return motion;
        }
        let mut others = Vec::new();
        every(closing.skeleton, closing.from, closing.to, closing.allowance, |posture, _| others.push(posture));
        follow(closing, motion, others)
    }
}

/// Least movement of the end for a change of its free choices, as a multiple of the allowance, of a chain that certainly
/// does not swing.
const SURELY_RIGID: f64 = 40.0;

/// The least core of all chains of a class in the run before each bend, together with what it ends at: see
/// [`core_mm`](crate::bridge::stock::core_mm).
fn cores(bench: &Bench<'_>, closed: &Closed) -> Vec<f64> {
    let mut before = None;
    let cores = closed.turns.iter().zip(&closed.runs).map(|(id, laid)| {
        let class = &bench.stock.turns[*id];
        let (exit, ends_mm) = before
            .map_or((bench.stock.from, class.core_mm), |last: &TurnClass| (last.exit, last.core_mm.min(class.core_mm)));
        before = Some(class);
        ends_mm.min(bench.runs.between(exit, class.entry, laid.parts).core_mm)
    });
    cores.collect()
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

/// Clearance in steps within which chains count as equally clear, the clearest first.
#[expect(clippy::cast_possible_truncation, reason = "infinity saturates, which orders it first as meant")]
fn grains(chain: &Chain) -> Reverse<i64> {
    Reverse((clearance(chain) / SAME_CLEARANCE_MM).round() as i64)
}

/// Part count, loss, clearance, names read from whichever end comes first in the alphabet, so that asking from the other
/// port gives the same order, and turns, which tell postures apart that are each other's mirror image.
pub(in crate::bridge) fn order(a: &Chain, b: &Chain) -> Ordering {
    a.parts
        .len()
        .cmp(&b.parts.len())
        .then_with(|| a.loss_kpa.total_cmp(&b.loss_kpa))
        .then_with(|| grains(a).cmp(&grains(b)))
        .then_with(|| either_way(a).cmp(&either_way(b)))
        .then_with(|| forth(a).cmp(&forth(b)))
        .then_with(|| turns(a).cmp(&turns(b)))
}

/// The turns in steps far above rounding and far below what tells postures apart.
fn turns(chain: &Chain) -> Vec<Option<i64>> {
    #[expect(clippy::cast_possible_truncation, reason = "at most 3600")]
    let steps = |turn_deg: f64| ((turn_deg * 10.0).round() as i64).rem_euclid(3600);
    chain.parts.iter().map(|part| part.turn_deg.map(steps)).collect()
}

fn either_way(chain: &Chain) -> Vec<&str> {
    let forth: Vec<&str> = chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    let back = forth.iter().rev().copied().collect();
    forth.min(back)
}

fn forth(chain: &Chain) -> Vec<(&str, usize)> {
    chain.parts.iter().map(|part| (part.fitting.as_str(), part.entry)).collect()
}
