//! Choosing gaps and chains, and playing them.

use super::{
    Desk,
    playback::{CANDIDATE_S, Playback, Show},
    timeline::{Made, Timeline},
};
use elbowroom::report::GapReport;

impl Desk {
    /// Looks at another gap.
    pub fn choose_gap(&mut self, gap: usize) {
        if gap < self.layout().gaps().len() && self.document.gap != Some(gap) {
            self.document.gap = Some(gap);
            self.near = None;
            self.reload_playback(Show::MakingUp);
        }
    }

    /// Chooses a chain of the gap that is looked at, by its place in the ranking. Can be undone.
    pub fn choose_chain(&mut self, chain: usize) {
        let Some(gap) = self.gap() else { return };
        if self.document.answer(gap).is_none_or(|solved| chain >= solved.ranked().len()) {
            return;
        }
        if self.document.chosen(gap) != Some(chain) {
            let before = self.document.clone();
            if let Some(choice) = self.document.chosen.get_mut(gap) {
                *choice = Some(chain);
            }
            self.history.note(before, format!("choosing chain {}", chain + 1));
        }
        self.reload_playback(Show::MakingUp);
    }

    /// What is played, and where it stands.
    #[must_use]
    pub fn playback(&self) -> &Playback {
        &self.playback
    }

    /// The making up of the chosen chain.
    #[must_use]
    pub fn timeline(&self) -> &Timeline {
        &self.timeline
    }

    /// Plays, pauses, scrubs: changes where playing stands.
    pub fn play(&mut self, change: impl FnOnce(&mut Playback)) {
        let before = self.playback;
        change(&mut self.playback);
        if self.playback != before {
            self.revision += 1;
        }
    }

    /// Goes to the next or the last step, or candidate.
    pub fn step(&mut self, forward: bool) {
        let stops = self.stops();
        self.play(|playback| playback.step(&stops, forward));
    }

    /// Chooses what is played; it starts out at its end, where all is done, but candidates at the first.
    pub fn show(&mut self, show: Show) {
        if self.playback.show() != show {
            self.reload_playback(show);
            if show == Show::Candidates {
                self.playback.scrub(0.0);
            }
        }
    }

    /// Lets time pass; whether there will be more to see at the next moment.
    pub fn advance(&mut self, elapsed_s: f64) -> bool {
        if self.playback.advance(elapsed_s) {
            self.revision += 1;
        }
        self.playback.is_playing()
    }

    /// Where stepping stops.
    #[must_use]
    pub fn stops(&self) -> Vec<f64> {
        match self.playback.show() {
            Show::MakingUp => self.timeline.stops(),
            Show::Candidates => {
                let count = u32::try_from(self.candidates()).unwrap_or(u32::MAX);
                (0..count).map(|index| f64::from(index) * CANDIDATE_S).collect()
            }
        }
    }

    fn candidates(&self) -> usize {
        self.gap().and_then(|gap| self.document.answer(gap)).map_or(0, |solved| solved.ranked().len())
    }

    /// The candidate whose turn it is.
    pub(super) fn candidate(&self) -> Option<usize> {
        let last = self.candidates().checked_sub(1)?;
        let passed = self.stops().iter().filter(|stop| **stop <= self.playback.seconds()).count();
        Some(passed.saturating_sub(1).min(last))
    }

    /// Loads what is to be played anew.
    pub(super) fn reload_playback(&mut self, show: Show) {
        self.timeline = self.new_timeline();
        let total = self.total(show);
        self.playback.load(show, total);
        self.meet();
        self.revision += 1;
    }

    /// What is played may take another time now.
    pub(super) fn time(&mut self) {
        if self.drag.is_some() {
            return;
        }
        self.timeline = self.new_timeline();
        let total = self.total(self.playback.show());
        self.playback.resize(total);
    }

    fn total(&self, show: Show) -> f64 {
        match show {
            Show::MakingUp => self.timeline.seconds(),
            Show::Candidates => f64::from(u32::try_from(self.candidates()).unwrap_or(u32::MAX)) * CANDIDATE_S,
        }
    }

    fn new_timeline(&self) -> Timeline {
        let made = || {
            let index = self.gap()?;
            let solved = self.document.answer(index)?;
            let chosen = self.document.chosen(index)?;
            let GapReport { answer, make_up, facts, chains, .. } = &solved.report;
            let (chain, make_up, parts) = (answer.chains.get(chosen)?, make_up.get(chosen)?, chains.get(chosen)?);
            // An answer that is being replaced is shown in the machine that it was found for.
            let gap = solved.of.gaps().get(index)?;
            Some(Timeline::of(&self.catalog, &solved.of, gap, &Made { chain, make_up, facts, parts }))
        };
        made().unwrap_or_default()
    }
}
