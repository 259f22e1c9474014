//! Lengths that straight fittings can make between two ends, by part count.

use super::links::{LinkId, Socket, Stock};
use crate::bridge::closure::{Span, grains, tries};
use std::{collections::BTreeMap, sync::OnceLock};

/// One length that `parts` straight fittings make between two ends.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Run {
    pub(in crate::bridge) span: Span,
    /// Whether any end in it swivels.
    pub(in crate::bridge) swivel: bool,
    pub(in crate::bridge) loss: u64,
}

pub(in crate::bridge) type RunKey = ((i64, i64), bool, u64);

impl Run {
    /// A key under which equal runs sort together, shortest first.
    pub(in crate::bridge) fn key(&self) -> RunKey {
        (self.span.key(), self.swivel, self.loss)
    }

    /// The lengths at which it is tried: at each, the length and how far to either side it stands for.
    pub(in crate::bridge) fn tries(&self) -> impl Iterator<Item = (f64, f64)> + use<> {
        tries(self.span)
    }
}

/// Runs between the same two ends, shortest first.
#[derive(Clone, Debug, Default)]
pub(in crate::bridge) struct RunList {
    pub(in crate::bridge) runs: Vec<Run>,
    /// The greatest stretch among them.
    widest: f64,
    /// The least loss among them.
    pub(in crate::bridge) least: u64,
    /// The least [core](super::thickness::core_mm) of any part in them, in millimetres; endless where there are no parts.
    pub(in crate::bridge) core_mm: f64,
    /// The least [tube](super::thickness::tube_mm) of any part in them, likewise.
    pub(in crate::bridge) tube_mm: f64,
}

impl RunList {
    fn new(runs: Vec<Run>, [core_mm, tube_mm]: [f64; 2]) -> Self {
        let widest = runs.iter().map(|run| run.span.longest - run.span.shortest).fold(0.0, f64::max);
        let least = runs.iter().map(|run| run.loss).min().unwrap_or(0);
        Self { runs, widest, least, core_mm, tube_mm }
    }

    /// The runs that can be made between `least` and `most` long, with their place in the list.
    pub(in crate::bridge) fn within(&self, least: f64, most: f64) -> impl Iterator<Item = (usize, &Run)> {
        let start = self.runs.partition_point(|run| run.span.shortest < least - self.widest);
        self.runs[start..]
            .iter()
            .enumerate()
            .take_while(move |(_, run)| run.span.shortest <= most)
            .filter(move |(_, run)| run.span.longest >= least)
            .map(move |(index, run)| (start + index, run))
    }
}

/// Runs that are held, beyond half as many again as the distinct ones, before equals are dropped.
const MOST_EQUALS: usize = 20_000;

/// Sorts runs, shortest first, and drops equals.
fn sort(made: &mut Vec<Run>) {
    // Stable, so that of equal runs the first made stays; it is quick because every straight part adds to a list that is
    // in order already.
    made.sort_by_key(Run::key);
    made.dedup_by_key(|run| run.key());
}

/// The runs between every pair of end classes, shortest first, worked out when they are first asked for.
///
/// Runs of the same span, swivel and loss are one entry: which parts make it is worked out again, by
/// [`Runs::spell`], only for chains that close.
#[derive(Debug)]
pub(in crate::bridge) struct Runs<'s> {
    stock: &'s Stock,
    /// Ends that take the same straight parts have the same runs: which of these kinds each class of ends is of.
    kinds: Vec<usize>,
    /// One class of each kind.
    samples: Vec<Socket>,
    /// The runs of no parts: one of no length, or none.
    nothing: [RunList; 2],
    /// `lists[parts - 1]`: the runs of that many parts between two kinds of ends.
    lists: Vec<Vec<OnceLock<RunList>>>,
}

impl<'s> Runs<'s> {
    /// The runs of up to `most` parts.
    pub(in crate::bridge) fn new(stock: &'s Stock, most: usize) -> Self {
        let mut rows: BTreeMap<Vec<bool>, usize> = BTreeMap::new();
        let takes = |row: &Vec<bool>| -> Vec<bool> { stock.straights.iter().map(|s| row[s.entry]).collect() };
        let (mut kinds, mut samples) = (Vec::with_capacity(stock.mates.len()), Vec::new());
        for (socket, row) in stock.mates.iter().enumerate() {
            let kind = *rows.entry(takes(row)).or_insert(samples.len());
            if kind == samples.len() {
                samples.push(socket);
            }
            kinds.push(kind);
        }
        let cells = rows.len() * (rows.len() + 1) / 2;
        let nothing = Run { span: Span::default(), swivel: false, loss: 0 };
        Self {
            stock,
            kinds,
            samples,
            nothing: [RunList::default(), RunList::new(vec![nothing], [f64::INFINITY; 2])],
            lists: (0..most).map(|_| (0..cells).map(|_| OnceLock::new()).collect()).collect(),
        }
    }

    /// Runs of exactly `parts` parts from an end of class `from` to one of class `to`, shortest first. There are none of
    /// more parts than this was made for.
    pub(in crate::bridge) fn between(&self, from: Socket, to: Socket, parts: usize) -> &RunList {
        let [none, nothing] = &self.nothing;
        let Some(before) = parts.checked_sub(1) else {
            return if self.stock.mates[from][to] { nothing } else { none };
        };
        let Some(lists) = self.lists.get(before) else { return none };
        // Kept in one place for both ways, for every straight part can be built in either way round.
        let (a, b) = (self.kinds[from], self.kinds[to]);
        let (low, high) = (a.min(b), a.max(b));
        lists[high * (high + 1) / 2 + low].get_or_init(|| self.add_part(self.samples[low], self.samples[high], before))
    }

    /// The runs of one part more than `before`.
    fn add_part(&self, from: Socket, to: Socket, before: usize) -> RunList {
        let mut made = Vec::new();
        let mut distinct = 0;
        let (mut core_mm, mut tube_mm) = (f64::INFINITY, f64::INFINITY);
        for last in self.stock.straights.iter().filter(|straight| self.stock.mates[straight.exit][to]) {
            let shorter = self.between(from, last.entry, before);
            if !shorter.runs.is_empty() {
                core_mm = core_mm.min(last.core_mm).min(shorter.core_mm);
                tube_mm = tube_mm.min(last.tube_mm).min(shorter.tube_mm);
            }
            made.extend(shorter.runs.iter().map(|run| Run {
                span: run.span.plus(last.span),
                swivel: run.swivel || last.swivel,
                loss: run.loss + last.loss,
            }));
            // Most runs can be made in many ways: to hold them all would take many times the memory of the list.
            if made.len() > distinct + distinct / 2 + MOST_EQUALS {
                sort(&mut made);
                distinct = made.len();
            }
        }
        sort(&mut made);
        made.shrink_to_fit();
        RunList::new(made, [core_mm, tube_mm])
    }

    /// Every sequence of `parts` links that makes `run` between the two ends, in link order.
    pub(in crate::bridge) fn spell(&self, from: Socket, to: Socket, parts: usize, run: &Run) -> Vec<Vec<LinkId>> {
        let mut found = Vec::new();
        self.spell_rest(from, to, parts, *run, false, &mut Vec::new(), &mut found);
        found.sort_unstable();
        found.dedup();
        found
    }

    #[expect(clippy::too_many_arguments, reason = "the state of one recursion")]
    fn spell_rest(
        &self,
        from: Socket,
        to: Socket,
        parts: usize,
        rest: Run,
        swivels: bool,
        word: &mut Vec<LinkId>,
        found: &mut Vec<Vec<LinkId>>,
    ) {
        if parts == 0 {
            let spent = |length: f64| grains(length) == 0;
            if self.stock.mates[from][to]
                && spent(rest.span.shortest)
                && spent(rest.span.longest)
                && rest.loss == 0
                && swivels == rest.swivel
            {
                found.push(word.clone());
            }
            return;
        }
        for straight in &self.stock.straights {
            if !self.stock.mates[from][straight.entry] || straight.loss > rest.loss {
                continue;
            }
            let (shortest, longest) =
                (rest.span.shortest - straight.span.shortest, rest.span.longest - straight.span.longest);
            if shortest < -1e-4 || longest < -1e-4 {
                continue;
            }
            let left = Run { span: Span { shortest, longest }, loss: rest.loss - straight.loss, swivel: rest.swivel };
            word.push(straight.link);
            self.spell_rest(straight.exit, to, parts - 1, left, swivels || straight.swivel, word, found);
            word.pop();
        }
    }
}
