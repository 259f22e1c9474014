//! How many sequences of parts there are, without listing them, and how their losses spread.

use super::links::Stock;

/// Steps into which the range of losses is divided. The steps only decide how much is searched at a time.
const STEPS: usize = 128;

/// Sequences in the first portion of losses that is searched; each next portion holds [`GROWTH`] times as many, so
/// that a chain of little loss is proven best without looking at the rest.
const FIRST_PORTION: f64 = 8_000_000.0;
const GROWTH: f64 = 3.0;

/// The sequences of one part count, counted by loss.
pub(in crate::bridge) struct Tally {
    counts: Vec<f64>,
    step: u64,
}

impl Tally {
    /// Counts the sequences of exactly `parts` links that the threads allow between the two ports.
    pub(in crate::bridge) fn new(stock: &Stock, parts: usize) -> Self {
        let most = stock.passages.iter().map(|(.., loss)| *loss).max().unwrap_or(0);
        let step = (most * parts as u64 / STEPS as u64).max(1);
        #[expect(clippy::cast_possible_truncation, reason = "at most STEPS")]
        let index = |loss: u64| (loss / step) as usize;
        let sockets = stock.mates.len();
        let width = STEPS + parts + 1;
        // Losses are rounded down part by part, so a sequence may lie up to `parts` steps above its count.
        let mut grouped = std::collections::BTreeMap::new();
        for (entry, exit, loss) in &stock.passages {
            *grouped.entry((*entry, *exit, index(*loss))).or_insert(0.0) += 1.0;
        }
        let mut reached = vec![vec![0.0; width]; sockets];
        reached[stock.from][0] = 1.0;
        for _ in 0..parts {
            let mut next = vec![vec![0.0; width]; sockets];
            for ((entry, exit, loss), ways) in &grouped {
                for (from, row) in reached.iter().enumerate() {
                    if !stock.mates[from][*entry] {
                        continue;
                    }
                    for (step, count) in row.iter().enumerate().take(width - loss) {
                        if *count > 0.0 {
                            next[*exit][step + loss] += count * ways;
                        }
                    }
                }
            }
            reached = next;
        }
        let mut counts = vec![0.0; width];
        for (exit, row) in reached.iter().enumerate() {
            if stock.mates[exit][stock.to] {
                row.iter().enumerate().for_each(|(step, count)| counts[step] += count);
            }
        }
        Self { counts, step }
    }

    /// How many there are.
    pub(in crate::bridge) fn total(&self) -> f64 {
        self.counts.iter().sum()
    }

    /// The portions of losses to search one after the other: the upper end of each, and about which share of the sequences
    /// it holds; the last is without end.
    pub(in crate::bridge) fn portions(&self) -> Vec<(u64, f64)> {
        let mut ends = Vec::new();
        let (mut sum, mut before, mut wanted) = (0.0, 0.0, FIRST_PORTION);
        for (index, count) in self.counts.iter().enumerate() {
            sum += count;
            if sum >= wanted && sum < self.total() * 0.7 {
                ends.push((self.step * (index as u64 + 1), (sum - before) / self.total()));
                before = sum;
                wanted = sum * GROWTH;
            }
        }
        ends.push((u64::MAX, 1.0 - before / self.total()));
        ends
    }
}
