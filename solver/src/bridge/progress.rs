//! How far a search is, and how long the rest of it may take.

use std::time::Duration;

/// What a search did, summed over part counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Counts {
    /// Sequences of parts that the threads allow, from port to port; a whole number, as `f64` because it grows
    /// beyond every integer type.
    pub sequences: f64,
    /// First turning parts at a port, each with the length of the straight run before it, that run into something
    /// however they are turned, and lengths of such runs that do so themselves: no chain that begins with one was closed.
    pub barred: u64,
    /// Closures worked out after the cheap rejects. One closure stands for every sequence of parts of that geometry.
    pub closures: u64,
    /// Of these, how many were left out before they were fitted to the ports: wherever such a chain closes, what it has for
    /// certain between its first corner and its last comes too near to something.
    pub stuck: u64,
    /// Of the others, how many came within the allowance.
    pub closed: u64,
    /// Sequences of named parts tested for collision: those of the closures that came within the allowance, least loss
    /// first, as far as they were needed.
    pub tested: u64,
    /// Of these, how many collide in every posture.
    pub collided: u64,
    /// Part count being searched, or last searched.
    pub parts: usize,
}

/// How far a search is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Progress {
    /// What it did so far.
    pub counts: Counts,
    /// Share of all sequences of up to the wanted number of parts that are done with, from 0 to 1: considered, or left
    /// out because none of them can be among the chains wanted. It never falls. A search that proves the chains wanted to
    /// be the best ends before it is at 1.
    ///
    /// How the sequences divide is counted; how far a search is within one kind of chains is estimated from the halves and
    /// trails that it has gone through.
    pub share: f64,
    /// The kinds of chains of the part count in hand.
    pub stages: [Stage; STAGES],
    /// Which of them is being worked on.
    pub stage: usize,
    /// Share of the sequences of more parts, from 0 to 1.
    pub longer: f64,
    /// Closures that came within the allowance and still wait to be tested for collision; they are not among
    /// [`Counts::closed`] yet.
    pub waiting: u64,
}

/// Kinds of chains that are gone through in different ways, so that one says nothing of how long another takes.
pub const STAGES: usize = 3;

/// Chains of one kind and part count, as shares of all sequences from 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stage {
    /// How much of them is done with.
    pub done: f64,
    /// How many there are.
    pub of: f64,
}

impl Stage {
    pub(super) fn left(&self) -> f64 {
        (self.of - self.done).max(0.0)
    }
}

/// How long the rest of a search takes, judged by the time that it took up to now.
///
/// The library asks for no time: whoever calls it has the clock.
#[derive(Clone, Debug, Default)]
pub struct Pace {
    parts: usize,
    /// Time spent on each kind of chains of this part count, in seconds.
    spent_s: [f64; STAGES],
    last: Progress,
    last_s: f64,
}

/// Least share of a kind of chains that must be done with before the rest of it is judged by it.
const ENOUGH: f64 = 0.03;

/// As one in so many: closures that may wait to be tested, of those that were. More of them can take longer than all else.
const WAITING: u64 = 10;

/// Least time that the chains of this part count must have taken by then, in seconds.
const ENOUGH_S: f64 = 0.5;

impl Pace {
    /// Takes note of how far a search is so long after its start.
    pub fn note(&mut self, progress: &Progress, elapsed: Duration) {
        let now_s = elapsed.as_secs_f64();
        // A share that falls is that of another search.
        if progress.counts.parts != self.parts || progress.share < self.last.share {
            self.parts = progress.counts.parts;
            self.spent_s = [0.0; STAGES];
        }
        // What has been done since the last note was the work in hand by now.
        if let Some(spent_s) = self.spent_s.get_mut(progress.stage) {
            *spent_s += (now_s - self.last_s).max(0.0);
        }
        (self.last, self.last_s) = (*progress, now_s);
    }

    /// How long the search takes from the last note on if it goes through all that is left; less if it finds the chains
    /// wanted before. `None` as long as that cannot be told: while longer chains are still to come, while many
    /// wait to be tested, or before enough of each kind of chains is done to judge the rest by.
    #[must_use]
    pub fn left(&self) -> Option<Duration> {
        let too_many_wait = self.last.waiting > self.last.counts.closed / WAITING;
        if self.last.longer > 0.0 || too_many_wait || self.spent_s.iter().sum::<f64>() < ENOUGH_S {
            return None;
        }
        let stages = self.last.stages.iter().zip(self.spent_s).filter(|(stage, _)| stage.of > 0.0);
        let rest_s = |(stage, spent_s): (&Stage, f64)| {
            (stage.done >= ENOUGH * stage.of).then(|| spent_s * stage.left() / stage.done)
        };
        Duration::try_from_secs_f64(stages.map(rest_s).sum::<Option<f64>>()?).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::{Counts, Duration, Pace, Progress, Stage};

    /// A search among the chains of four parts, a tenth of all sequences of another kind and the rest of two: so much of
    /// each kind is done with, and the one in hand is `stage`.
    fn at(done: [f64; 3], stage: usize, longer: f64) -> Progress {
        let of = [0.1, 0.5, 0.4 - longer];
        let stages = [0, 1, 2].map(|kind| Stage { done: of[kind] * done[kind], of: of[kind] });
        let share = stages.iter().map(|stage| stage.done).sum();
        let counts = Counts { parts: 4, closed: 100, ..Counts::default() };
        Progress { counts, share, stages, stage, longer, waiting: 0 }
    }

    fn seconds(count: u64) -> Duration {
        Duration::from_secs(count)
    }

    /// Each kind is judged by itself: 2 s for half of the first, 8 s for a quarter of the second, 30 s for a third of the
    /// last leave 2 s, 24 s and 60 s.
    #[test]
    fn what_is_left_follows_from_what_each_kind_took() {
        let mut pace = Pace::default();
        pace.note(&at([0.5, 0.0, 0.0], 0, 0.0), seconds(2));
        pace.note(&at([0.5, 0.25, 0.0], 1, 0.0), seconds(10));
        assert_eq!(pace.left(), None, "of the last kind nothing is known");
        pace.note(&at([0.5, 0.25, 1.0 / 3.0], 2, 0.0), seconds(40));
        let left = pace.left().expect("all kinds are known").as_secs_f64();
        assert!((left - 86.0).abs() < 1e-6, "{left}");
    }

    #[test]
    fn nothing_is_said_of_longer_chains() {
        let mut pace = Pace::default();
        pace.note(&at([1.0, 0.9, 0.9], 2, 0.01), seconds(10));
        assert_eq!(pace.left(), None);
    }

    #[test]
    fn nothing_is_said_while_many_wait_to_be_tested() {
        let mut pace = Pace::default();
        let waiting = |waiting| Progress { waiting, ..at([0.5, 0.5, 0.5], 2, 0.0) };
        pace.note(&waiting(10), seconds(10));
        assert_eq!(pace.left(), Some(seconds(10)));
        pace.note(&waiting(11), seconds(10));
        assert_eq!(pace.left(), None);
    }

    #[test]
    fn nothing_is_said_after_an_instant() {
        let mut pace = Pace::default();
        pace.note(&at([0.5, 0.5, 0.5], 2, 0.0), Duration::from_millis(100));
        assert_eq!(pace.left(), None);
        pace.note(&at([0.5, 0.5, 0.5], 2, 0.0), seconds(1));
        assert_eq!(pace.left(), Some(seconds(1)));
    }

    #[test]
    fn another_search_is_judged_anew() {
        let mut pace = Pace::default();
        pace.note(&at([1.0, 1.0, 0.9], 2, 0.0), seconds(100));
        pace.note(&at([0.5, 0.5, 0.5], 2, 0.0), seconds(102));
        assert_eq!(pace.left(), Some(seconds(2)));
    }
}
