//! One line on the terminal while a search takes its time.

use elbowroom::{
    bridge::{self, Pace},
    report::text,
};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::{
    io::IsTerminal,
    sync::{Mutex, OnceLock, PoisonError},
    time::{Duration, Instant},
};

/// A search that answers sooner than this needs no line.
const PATIENCE: Duration = Duration::from_millis(500);

/// A line on standard error that tells how far a search is, shown once it takes over half a second.
pub(crate) struct Progress {
    started: Instant,
    label: String,
    shown: bool,
    bar: OnceLock<ProgressBar>,
    pace: Mutex<Pace>,
}

impl Progress {
    /// A line for gap `number` of `gaps`; never shown when `quiet` or when standard error is no terminal.
    pub(crate) fn new(number: usize, gaps: usize, quiet: bool) -> Self {
        let shown = !quiet && std::io::stderr().is_terminal();
        let label = if gaps > 1 { format!("gap {number} of {gaps}: ") } else { String::new() };
        Self { started: Instant::now(), label, shown, bar: OnceLock::new(), pace: Mutex::default() }
    }

    /// Tells how far the search is; may be called from any thread.
    pub(crate) fn update(&self, now: &bridge::Progress) {
        if !self.shown {
            return;
        }
        let elapsed = self.started.elapsed();
        let left = {
            let mut pace = self.pace.lock().unwrap_or_else(PoisonError::into_inner);
            pace.note(now, elapsed);
            pace.left()
        };
        if elapsed < PATIENCE {
            return;
        }
        let bar = self.bar.get_or_init(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr())
                .with_elapsed(elapsed)
                .with_prefix(self.label.clone());
            // A template that cannot be read would be a slip in this file; the bar's own style serves then.
            if let Ok(style) = ProgressStyle::with_template("{prefix}{msg}, {elapsed} so far") {
                bar.set_style(style);
            }
            bar
        });
        bar.set_message(text::progress(now, left));
        bar.tick();
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
    }
}
