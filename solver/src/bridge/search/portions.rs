//! The search: by part count, within a count by portions of loss, within a portion by number of bends.

use super::{
    alike::{Sorted, alike},
    attempts::Attempts,
    depths::Depths,
    direct,
    doorways::Doorways,
    gauge::Gauge,
    halves::{Ending, Grower, Half, Halves, MOST_STEMS},
    kinds::{CLOSED_FORMS, Kinds, MOST_DIRECT, Method, Split},
    meeting::Meeting,
    middles::Middles,
    pairs::Placed,
    rank::{Bench, Best, admit},
    scout,
};
use crate::{
    bridge::{
        answer::{Answer, Completeness, MOST_PARTS, Sampling, StopReason, Wishes},
        bad_wish::{BadWish, ports_of},
        closure::{Allowance, Line, Uncovered},
        parallel,
        placed::{Closed, Site, is_backwards, line_of, turn_round},
        progress::Counts,
        stock::{Runs, Stock, Tally, loss, why_nothing_enters},
    },
    catalog::Catalog,
    layout::{Gap, Layout},
};
use std::{collections::BTreeSet, sync::atomic::Ordering};

/// Finds the chains of fittings that join the two ports of a gap, best first.
///
/// Chains are ranked by part count, then loss, then clearance; the order and the answer are the same on every run, on
/// any number of threads, and from either port: chains are laid out from the port that the layout's circuit leaves, and
/// what they miss is taken at the other. Of ports that the circuit does not join, the one whose name comes first is that
/// from which they are laid out. A gap that nothing joins is an answer, not an error: see
/// [`Answer::completeness`].
///
/// Never prints and never panics; memory stays bounded because what closes is tested before much of it is held.
///
/// # Errors
/// A wish that [`Wishes::check`] refuses, and a gap that is not one between two ports of this layout.
pub fn bridge(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>) -> Result<Answer, BadWish> {
    wishes.check()?;
    ports_of(layout, gap)?;
    Ok(answered(catalog, layout, gap, wishes))
}

/// The same for wishes that need no check: those of this module's own questions, which may ask for any clearance.
pub(in crate::bridge) fn answered(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>) -> Answer {
    from_either(catalog, layout, gap, wishes, false)
}

/// The same for chains that close, whatever they run into: bodies, their own seats and themselves. The clearance that is
/// wished for plays no part.
pub(in crate::bridge) fn closing(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>) -> Answer {
    from_either(catalog, layout, gap, wishes, true)
}

fn from_either(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>, whatever: bool) -> Answer {
    if !is_backwards(layout, gap) {
        return from_first(catalog, layout, gap, wishes, whatever);
    }
    let answer = from_first(catalog, layout, &Gap { from: gap.to, to: gap.from }, wishes, whatever);
    turn_round(answer, catalog.fittings(), layout, gap)
}

/// The same, but whatever the circuit says the chains are laid out from the gap's first port and miss its second.
pub(in crate::bridge) fn laid_out_from_first(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    wishes: &Wishes<'_>,
) -> Answer {
    from_first(catalog, layout, gap, wishes, false)
}

fn from_first(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>, whatever: bool) -> Answer {
    let (Some(from), Some(to)) = (layout.port_by_id(gap.from), layout.port_by_id(gap.to)) else {
        return Answer {
            chains: Vec::new(),
            completeness: Completeness::Complete { parts: 0 },
            counts: Counts::default(),
            obstacles: vec!["the gap's ports do not belong to this layout".to_owned()],
        };
    };
    let ports = [from, to];
    let fittings = catalog.fittings();
    let obstacles: Vec<String> = ports.iter().filter_map(|port| why_nothing_enters(fittings, port)).collect();
    let max_parts = wishes.max_parts.min(MOST_PARTS);
    let clearance_mm = wishes.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
    let flow = wishes.flow_l_min.unwrap_or(layout.design_flow_l_min());
    let coolant = layout.coolant();
    let stock = Stock::new(fittings, ports, |fitting| loss::micropascals(fitting, flow, &coolant));
    let allowance = Allowance { mm: layout.allowances().closure_mm, rad: layout.allowances().closure_deg.to_radians() };
    let site = Site::new(fittings, layout, ports, clearance_mm);
    let site = if whatever { site.regardless() } else { site };
    let lines = ports.map(line_of);
    let mut search = Search {
        stock: &stock,
        depths: &Depths::new(&site.scene, [&lines[0], &lines[1]], site.clearance_mm()),
        doorways: &Doorways::new(&site, &stock, &allowance),
        site: &site,
        from: lines[0],
        to: lines[1],
        allowance,
        wishes,
        counts: Counts::default(),
        gauge: Gauge::new(Kinds::of_each(&stock, max_parts)),
        best: Best::new(wishes.want, fittings),
        sampled: None,
        samplings: BTreeSet::new(),
    };
    let completeness = if stock.enters().contains(&false) {
        Completeness::Complete { parts: max_parts }
    } else {
        parallel::inside(|| search.run(max_parts))
    };
    let counts = Counts { barred: search.doorways.barred(), ..search.counts };
    Answer { chains: search.best.into_chains(), completeness, counts, obstacles }
}

struct Search<'a> {
    stock: &'a Stock,
    doorways: &'a Doorways<'a>,
    site: &'a Site<'a>,
    depths: &'a Depths<'a>,
    from: Line,
    to: Line,
    allowance: Allowance,
    wishes: &'a Wishes<'a>,
    counts: Counts,
    gauge: Gauge,
    best: Best<'a>,
    /// Least part count at which something was only sampled, and what was up to now.
    sampled: Option<usize>,
    samplings: BTreeSet<Sampling>,
}

impl Search<'_> {
    fn run(&mut self, max_parts: usize) -> Completeness {
        let stock = self.stock;
        let runs = Runs::new(stock, max_parts);
        for parts in 1..=max_parts {
            self.counts.parts = parts;
            self.gauge.begin(parts);
            let tally = Tally::new(stock, parts);
            self.counts.sequences += tally.total();
            if tally.total() == 0.0 {
                continue;
            }
            let mut low = 0;
            for (high, share) in tally.portions() {
                self.gauge.portion(share);
                if let Err(why) = self.portion(&runs, parts, low..high) {
                    let complete_parts = self.sampled.map_or(parts, |sampled| sampled.min(parts)) - 1;
                    return Completeness::Stopped { why, complete_parts, at_parts: parts };
                }
                if self.best.is_full() {
                    self.note_doubts(parts);
                    return self.sampled_up_to(parts).unwrap_or(Completeness::BestProven { parts });
                }
                low = high;
            }
            self.gauge.end();
            self.report(0);
            self.note_doubts(parts);
        }
        self.sampled_up_to(max_parts).unwrap_or(Completeness::Complete { parts: max_parts })
    }

    /// What is left open of the chains of `parts` parts.
    fn note_doubts(&mut self, parts: usize) {
        for why in self.best.take_doubts() {
            self.sampled.get_or_insert(parts);
            self.samplings.insert(match why {
                Uncovered::Shared => Sampling::SharedLength,
                Uncovered::Surface => Sampling::MovesTwoWays,
                Uncovered::Singular | Uncovered::Long => Sampling::MotionNotFollowed,
            });
        }
    }

    /// That chains of up to `parts` parts were sampled from some part count on, if any were.
    fn sampled_up_to(&self, parts: usize) -> Option<Completeness> {
        let what = self.samplings.iter().copied().collect();
        self.sampled.map(|sampled| Completeness::Sampled { complete_parts: sampled - 1, parts, what })
    }

    /// Searches the chains of `parts` parts whose loss lies in `portion`, kind by kind. What fits of one kind limits what
    /// has to be looked at of the next.
    fn portion(&mut self, runs: &Runs<'_>, parts: usize, portion: std::ops::Range<u64>) -> Result<(), StopReason> {
        if self.is_cancelled() {
            return Err(StopReason::Cancelled);
        }
        let (stock, from, to, allowance) = (self.stock, self.from, self.to, self.allowance);
        let (low, high) = (portion.start, portion.end.into());
        let (doorways, distance_mm) = (self.doorways, (to.at - from.at).norm());
        let beyond = [from.beyond(&to), to.beyond(&from)];
        let meeting = Meeting {
            stock,
            runs,
            doorways,
            depths: self.depths,
            from,
            to,
            distance_mm,
            beyond,
            allowance,
            middles: Middles::new(stock),
            low,
            high,
        };
        let mut closed = Vec::new();
        self.gauge.kind(Method::Direct, |kinds| kinds.by(Method::Direct));
        self.each(&meeting, &direct::pointed(&meeting, parts), BATCH, &mut closed, |pointed, attempts, closed| {
            direct::close(&meeting, pointed, parts, attempts, closed);
            false
        })?;
        for offsets in 0..2 {
            for bends in MOST_DIRECT + 1 - offsets..=CLOSED_FORMS - offsets {
                self.gauge.kind(Method::Halves, |kinds| kinds.of(offsets, bends));
                self.meet(&meeting, parts, [offsets, bends], &mut closed)?;
            }
        }
        self.gauge.kind(Method::Trails, |kinds| kinds.by(Method::Trails));
        let mut sampled = false;
        scout::each_beginning(&meeting, parts, |trails| {
            sampled |= self.each(&meeting, trails, BATCH, &mut closed, |trail, attempts, closed| {
                scout::follow(&meeting, &mut trail.clone(), parts, attempts, closed)
            })?;
            Ok(())
        })?;
        if sampled {
            self.sampled.get_or_insert(parts);
            self.samplings.insert(Sampling::ManyTurns);
        }
        Ok(())
    }

    /// Tests what has closed against everything around, and leaves out from now on what cannot be among the best.
    fn rank(&mut self, meeting: &Meeting<'_>, closed: &mut Vec<Closed>) -> Result<(), StopReason> {
        self.report(closed.len());
        self.counts.closed += closed.len() as u64;
        let Meeting { stock, runs, from, to, allowance, .. } = *meeting;
        let bench = Bench { stock, runs, site: self.site, depths: self.depths, from, to, allowance };
        let cancel = self.wishes.cancel;
        let stop = || cancel.is_some_and(|flag| flag.load(Ordering::Relaxed));
        let finished = admit(&bench, closed, &mut self.best, &mut self.counts, &stop);
        meeting.limit(self.best.bound());
        self.report(0);
        if finished { Ok(()) } else { Err(StopReason::Cancelled) }
    }

    /// Closes every chain of so many offsets and bends from the halves at its two ports.
    fn meet(
        &mut self,
        meeting: &Meeting<'_>,
        parts: usize,
        [offsets, bends]: [usize; 2],
        closed: &mut Vec<Closed>,
    ) -> Result<(), StopReason> {
        let Some(straights) = parts.checked_sub(bends + offsets) else { return Ok(()) };
        let growers = [0, 1].map(|port| Grower { meeting, port, bends, offsets, straights });
        let [mut firsts, mut seconds] = growers.map(Halves::new);
        let (ahead, behind) = (bends.div_ceil(2), bends / 2);
        let split = Split { turns: [ahead, behind], offsets, straights };
        let whole = split.whole();
        let mut begins = 0.0;
        for (in_first, offsets_in_first) in (0..=straights).flat_map(|n| (0..=offsets).map(move |o| (n, o))) {
            let of = |in_second| split.ways(offsets_in_first, [in_first, in_second]) / whole;
            let mut left = 1.0;
            firsts.each_stems(offsets_in_first, ahead, in_first, |stems| {
                // How many more will come is not known before.
                let some = if stems.len() < MOST_STEMS { left } else { left / 2.0 };
                left -= some;
                // Stems whose halves may have identical geometry are grown together.
                stems.sort_by_key(|(stem, _)| stem.trace);
                let stems: Vec<&[(Half, Ending)]> = stems.chunk_by(|(a, _), (b, _)| a.trace == b.trace).collect();
                for in_second in 0..=straights - in_first {
                    let between = straights - in_first - in_second;
                    let piece = some * of(in_second);
                    self.gauge.piece(begins, piece);
                    begins += piece;
                    seconds.each_stems(offsets - offsets_in_first, behind, in_second, |rest| {
                        self.meet_stems(&growers, &stems, rest, between, closed)
                    })?;
                }
                Ok(())
            })?;
        }
        Ok(())
    }

    /// Closes what grows from the stems at the first port with what grows from those at the second, over runs of
    /// `between` parts.
    fn meet_stems(
        &mut self,
        [first, second]: &[Grower<'_>; 2],
        stems: &[&[(Half, Ending)]],
        mut rest: &[(Half, Ending)],
        between: usize,
        closed: &mut Vec<Closed>,
    ) -> Result<(), StopReason> {
        let (meeting, stock, all) = (first.meeting, self.stock, rest.len());
        while !rest.is_empty() {
            let before = rest.len();
            let sorted = Sorted::new(&second.some(&mut rest, MOST_SECONDS));
            self.gauge.slice(part(all - before, all), part(before - rest.len(), all));
            let endings = sorted.endings(stock);
            let place = |alike| Placed::new(alike, meeting, 1);
            let seconds: Vec<Placed<'_>> = alike(&endings, stock).into_iter().map(place).collect();
            let batch = (BATCH_PAIRS / seconds.len().max(1)).clamp(BATCH / 4, 64 * BATCH);
            self.each(meeting, stems, batch, closed, |stems, attempts, closed| {
                let mut rest = *stems;
                while !rest.is_empty() && attempts.goes_on() {
                    let sorted = Sorted::new(&first.some(&mut rest, MOST_FIRSTS));
                    let endings = sorted.endings(stock);
                    for alike in alike(&endings, stock) {
                        let placed = Placed::new(alike, meeting, 0);
                        meeting.close(&placed, &seconds, between, attempts, closed);
                    }
                }
                false
            })?;
        }
        Ok(())
    }

    /// Works through `items` in order and in parallel, a batch at a time, and then tests what has closed. `work` tells
    /// whether it only sampled; it leaves off when its attempts do.
    ///
    /// A budget is kept to the last attempt, and what is found within it is the same on any number of threads: every
    /// item of a batch is given all that was left before the batch, and the one with which they made too many together
    /// is worked on once more, with what the others left.
    fn each<T: Sync>(
        &mut self,
        meeting: &Meeting<'_>,
        items: &[T],
        batch: usize,
        closed: &mut Vec<Closed>,
        work: impl Fn(&T, &mut Attempts<'_>, &mut Vec<Closed>) -> bool + Sync + Send,
    ) -> Result<bool, StopReason> {
        let (mut sampled, mut rest) = (false, items);
        let cancel = self.wishes.cancel;
        let worked = |item: &T, most: u64| {
            let (mut attempts, mut found) = (Attempts::new(most, cancel), Vec::new());
            let only_sampled = work(item, &mut attempts, &mut found);
            found.iter_mut().for_each(Closed::shrink);
            (attempts, only_sampled, found)
        };
        while !rest.is_empty() {
            let left = self.attempts_left();
            let count = match left {
                u64::MAX => batch,
                0..SCARCE => 1,
                _ => BATCH_IN_BUDGET,
            };
            let (now, later) = rest.split_at(count.min(rest.len()));
            rest = later;
            for (item, mut outcome) in now.iter().zip(parallel::map(now, |item| worked(item, left))) {
                let left = self.attempts_left();
                if outcome.0.made() > left {
                    outcome = worked(item, left);
                }
                let (attempts, only_sampled, found) = outcome;
                self.counts.closures += attempts.made();
                self.counts.stuck += attempts.stuck();
                sampled |= only_sampled;
                closed.extend(found);
                if attempts.is_cut_short() {
                    return Err(self.stopped(meeting, closed));
                }
            }
            if closed.len() > MOST_CLOSED {
                self.rank(meeting, closed)?;
            }
            if self.is_cancelled() {
                return Err(StopReason::Cancelled);
            }
            self.gauge.done(part(items.len() - rest.len(), items.len()));
            self.report(closed.len());
        }
        if !closed.is_empty() {
            self.rank(meeting, closed)?;
        }
        Ok(sampled)
    }

    /// What is left of the budget.
    fn attempts_left(&self) -> u64 {
        self.wishes.closure_budget.map_or(u64::MAX, |budget| budget.saturating_sub(self.counts.closures))
    }

    fn is_cancelled(&self) -> bool {
        self.wishes.cancel.is_some_and(|flag| flag.load(Ordering::Relaxed))
    }

    /// Why the search leaves off. What closed within a budget is tested first, for it was found.
    fn stopped(&mut self, meeting: &Meeting<'_>, closed: &mut Vec<Closed>) -> StopReason {
        if self.is_cancelled() {
            return StopReason::Cancelled;
        }
        match self.rank(meeting, closed) {
            Ok(()) => StopReason::Budget,
            Err(why) => why,
        }
    }

    /// Tells how far the search is; so many that closed wait to be tested.
    fn report(&self, waiting: usize) {
        if let Some(progress) = self.wishes.progress {
            progress(&self.gauge.progress(&self.counts, waiting as u64));
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "far below 2^52")]
fn part(some: usize, all: usize) -> f64 {
    some as f64 / all as f64
}

/// Halves or trails between two looks at the cancel flag: a few milliseconds of work.
const BATCH: usize = 64;

/// The same where there is a budget to keep: the fewer, the less is worked out beyond it and dropped.
const BATCH_IN_BUDGET: usize = 4;

/// Attempts left of a budget below which items are worked on one by one, so that none is wasted: a tenth of a
/// second's worth.
const SCARCE: u64 = 20_000;

/// Pairs of a stem and a half from the second port that make up such a batch, where stems alone are too little work to
/// be worth handing to another thread.
const BATCH_PAIRS: usize = 100_000;

/// Halves from the second port that are held at a time: 3 MB of them, and as much again for where their corners lie.
const MOST_SECONDS: usize = 25_000;

/// Halves from the first port that each thread holds at a time: 3 MB of them.
const MOST_FIRSTS: usize = 10_000;

/// Closed chains that are held before they are tested: some 15 MB of them.
const MOST_CLOSED: usize = 20_000;
