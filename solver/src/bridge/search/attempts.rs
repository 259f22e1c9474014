//! Closure attempts, counted one by one, so that a budget is kept to the last of them.

use std::sync::atomic::{AtomicBool, Ordering};

/// The closure attempts of one piece of work: how many were made, and when to leave off.
pub(super) struct Attempts<'a> {
    made: u64,
    stuck: u64,
    most: u64,
    cancel: Option<&'a AtomicBool>,
    cut_short: bool,
}

impl<'a> Attempts<'a> {
    /// None so far, of at most so many; none once `cancel` is set either.
    pub(in crate::bridge) fn new(most: u64, cancel: Option<&'a AtomicBool>) -> Self {
        Self { made: 0, stuck: 0, most, cancel, cut_short: false }
    }

    /// Counts one more; `false` if it must not be made, nor any after it.
    pub(in crate::bridge) fn another(&mut self) -> bool {
        if self.made >= self.most || !self.goes_on() {
            self.cut_short = true;
            return false;
        }
        self.made += 1;
        true
    }

    /// Whether the work is to go on, asked where it may take long from one attempt to the next.
    pub(super) fn goes_on(&mut self) -> bool {
        self.cut_short |= self.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed));
        !self.cut_short
    }

    /// Notes that what closes in the last of them is in something, wherever it does.
    pub(super) fn note_stuck(&mut self) {
        self.stuck += 1;
    }

    /// How many of those made were noted so.
    pub(in crate::bridge) fn stuck(&self) -> u64 {
        self.stuck
    }

    /// How many were made.
    pub(in crate::bridge) fn made(&self) -> u64 {
        self.made
    }

    /// Whether one was wanted that was not made, or the work was told to stop.
    pub(super) fn is_cut_short(&self) -> bool {
        self.cut_short
    }
}

#[cfg(test)]
mod tests {
    use super::{AtomicBool, Attempts, Ordering};

    #[test]
    fn work_is_cut_short_only_by_an_attempt_too_many() {
        let mut attempts = Attempts::new(2, None);
        assert!(attempts.another() && attempts.another());
        assert!(attempts.goes_on() && !attempts.is_cut_short());
        assert!(!attempts.another());
        assert!(attempts.is_cut_short() && !attempts.goes_on());
        assert_eq!(attempts.made(), 2);
    }

    #[test]
    fn cancelled_work_makes_no_attempt() {
        let cancel = AtomicBool::new(false);
        let mut attempts = Attempts::new(u64::MAX, Some(&cancel));
        assert!(attempts.another());
        cancel.store(true, Ordering::Relaxed);
        assert!(!attempts.another() && attempts.is_cut_short());
        assert_eq!(attempts.made(), 1);
    }
}
