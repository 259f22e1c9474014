//! Ctrl-C: the first ends a search, which keeps what it has found and proven so far; the second ends the program at once.

use super::{exit, output::to_stderr};
use elbowroom::report::Outcome;
use std::sync::{
    Once,
    atomic::{AtomicBool, Ordering},
};

/// Set by the first Ctrl-C during a search. A signal comes to the whole program, so this is the program's.
static CANCEL: AtomicBool = AtomicBool::new(false);

/// Whether there is a search that can be ended: without one, the first Ctrl-C ends the program.
static SEARCHING: AtomicBool = AtomicBool::new(false);

static QUIET: AtomicBool = AtomicBool::new(false);

static HANDLER: Once = Once::new();

/// As long as this lives, the first Ctrl-C ends searches instead of the program.
pub(crate) struct Searching;

impl Searching {
    /// From now on; nothing is said of it when `quiet`.
    pub(crate) fn begin(quiet: bool) -> Self {
        QUIET.store(quiet, Ordering::Relaxed);
        SEARCHING.store(true, Ordering::SeqCst);
        // Where the system does not let the signal be caught, it ends the program as ever.
        HANDLER.call_once(|| drop(ctrlc::set_handler(interrupt)));
        Self
    }
}

impl Drop for Searching {
    fn drop(&mut self) {
        SEARCHING.store(false, Ordering::SeqCst);
    }
}

/// What searches look at to see whether they are to end.
pub(crate) fn flag() -> &'static AtomicBool {
    &CANCEL
}

/// Whether a search was told to end.
pub(crate) fn came() -> bool {
    CANCEL.load(Ordering::SeqCst)
}

/// The outcome of what was done, which is no proof if it was cut short.
pub(crate) fn unless_cut_short(outcome: Outcome) -> Outcome {
    if came() { Outcome::NoProof } else { outcome }
}

/// Runs on a thread of its own, so it may write and end the program.
fn interrupt() {
    if !SEARCHING.load(Ordering::SeqCst) || CANCEL.swap(true, Ordering::SeqCst) {
        std::process::exit(exit::INTERRUPTED.into());
    }
    if !QUIET.load(Ordering::Relaxed) {
        to_stderr("\nstopping: what was found so far follows; press Ctrl-C again to end at once");
    }
}
