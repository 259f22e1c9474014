//! What the viewer knows and does that is no pixel: the open layout, its answers, what was chosen, what is played.
//!
//! Nothing here knows Bevy or egui, so all of it is tested without a graphics card. The scene draws what a [`Desk`]
//! says, and draws anew when [`Desk::revision`] grows; panels and handles change it by its methods.

mod answers;
mod company;
mod document;
mod editing;
mod files;
mod history;
mod keeping;
pub mod labels;
mod motion;
mod near;
pub mod placing;
pub mod playback;
mod playing;
mod posture;
mod round;
mod saving;
mod segment;
mod solving;
mod stage;
pub mod timeline;
pub mod view;
mod watch;
mod work;

#[cfg(test)]
mod tests;

pub use answers::{Asked, GapState, SideBySide, Solved};
pub use company::Clash;
pub use document::BadPlace;
pub use files::{BadOpen, Notice};
pub use keeping::Question;
pub use near::{NearChoice, NearMiss};
pub use saving::BadSave;
pub use solving::{Doing, News, Progress, Request, Worker};
pub use stage::{Held, Stage, Staged};

use company::Company;
use document::Document;
use editing::Drag;
use elbowroom::{
    bridge::{Chain, MakeUp, Together},
    catalog::Catalog,
    layout::{BodyId, Layout},
    report::{BridgeReport, PartReport},
    source::Problems,
    survey::LossFlows,
};
use history::History;
use keeping::Closing;
use playback::{Playback, Show};
use std::{path::PathBuf, sync::Arc, time::Duration};
use timeline::Timeline;
use view::{Hiding, Item, ViewOptions};
use watch::Watch;

/// The open layout and all that belongs to it.
#[derive(Debug)]
pub struct Desk {
    catalog: Arc<Catalog>,
    asked: Asked,
    document: Document,
    history: History<Document>,
    company: Company,
    /// The file that the layout came from, if it came from one.
    file: Option<PathBuf>,
    /// What problems call the layout.
    name: String,
    /// The layout as it is on disk as far as is known: its text tells whether there is something to save, and its
    /// components stand where their play is counted from.
    saved: Saved,
    /// The file as it is on disk now, where it changed while something was not saved.
    on_disk: Option<Document>,
    closing: Closing,
    watch: Option<Watch>,
    problems: Option<Problems>,
    notice: Option<Notice>,
    worker: Worker,
    /// The request that is being worked on, and whether it is a quick one.
    request: Option<(u64, bool)>,
    drag: Option<Drag>,
    /// The near miss that was chosen to be shown.
    near: Option<NearChoice>,
    selected: Option<BodyId>,
    playback: Playback,
    timeline: Timeline,
    view: ViewOptions,
    hiding: Hiding,
    revision: u64,
}

/// A layout as it is on disk.
#[derive(Clone, Debug)]
struct Saved {
    text: Arc<str>,
    layout: Arc<Layout>,
}

impl Saved {
    fn of(document: &Document) -> Self {
        Self { text: Arc::clone(&document.text), layout: Arc::clone(&document.layout) }
    }
}

impl Desk {
    /// The machine as it stands, a component that is being dragged where it is dragged to.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.document.layout
    }

    /// The same to keep: as long as it is the same one, nothing has moved.
    #[must_use]
    pub fn shared_layout(&self) -> &Arc<Layout> {
        &self.document.layout
    }

    /// The machine as it is on disk: where components stand that nobody has moved since.
    #[must_use]
    pub fn saved_layout(&self) -> &Layout {
        &self.saved.layout
    }

    /// The parts.
    #[must_use]
    pub fn catalog(&self) -> &Catalog {
        &self.catalog
    }

    /// The parts, to keep.
    #[must_use]
    pub fn shared_catalog(&self) -> &Arc<Catalog> {
        &self.catalog
    }

    /// What is asked of every gap.
    #[must_use]
    pub fn asked(&self) -> &Asked {
        &self.asked
    }

    /// The gap that is looked at, by its place in the layout.
    #[must_use]
    pub fn gap(&self) -> Option<usize> {
        self.document.gap
    }

    /// The chain to show: the one chosen, or while candidates are played the one whose turn it is.
    #[must_use]
    pub fn chain(&self) -> Option<&Chain> {
        self.solved(self.gap()?)?.ranked().get(self.shown_chain()?)
    }

    /// Place of the chain to show among the ranked chains of the gap.
    #[must_use]
    pub fn shown_chain(&self) -> Option<usize> {
        let gap = self.gap()?;
        if let Some(preview) = self.preview(gap) {
            return (!preview.ranked().is_empty()).then_some(0);
        }
        match self.playback.show() {
            Show::MakingUp => self.document.chosen(gap),
            Show::Candidates => self.candidate(),
        }
    }

    /// Place of the chosen chain among the ranked chains of the gap, whatever is being played.
    #[must_use]
    pub fn chosen_chain(&self) -> Option<usize> {
        self.document.chosen(self.gap()?)
    }

    /// Place of the chosen chain of any gap among its ranked chains.
    #[must_use]
    pub fn chosen_of(&self, gap: usize) -> Option<usize> {
        self.document.chosen(gap)
    }

    /// The chosen chain of any gap: what the whole circuit consists of.
    #[must_use]
    pub fn chain_of(&self, gap: usize) -> Option<&Chain> {
        match self.preview(gap) {
            Some(preview) => preview.ranked().first(),
            None => self.document.chain(gap),
        }
    }

    /// What is known of a gap: while a component is dragged, the quick answer for where it is.
    #[must_use]
    pub fn solved(&self, gap: usize) -> Option<&Solved> {
        self.preview(gap).or_else(|| self.document.answer(gap).map(Arc::as_ref))
    }

    /// How a gap stands.
    #[must_use]
    pub fn state(&self, gap: usize) -> GapState {
        self.solved(gap).map_or(GapState::Unknown, Solved::state)
    }

    /// Whether what is known of a gap belongs to the layout as it is now.
    #[must_use]
    pub fn is_fresh(&self, gap: usize) -> bool {
        match self.preview(gap) {
            Some(preview) => Arc::ptr_eq(&preview.of, &self.document.layout),
            None => self.document.is_fresh(gap),
        }
    }

    /// Whether and how the chain that is shown can be made up.
    #[must_use]
    pub fn making_up(&self) -> Option<&MakeUp> {
        self.solved(self.gap()?)?.report.make_up.get(self.shown_chain()?)
    }

    /// The parts of the chain that is shown, as a person needs them.
    #[must_use]
    pub fn parts(&self) -> &[PartReport] {
        let parts = || self.solved(self.gap()?)?.report.chains.get(self.shown_chain()?);
        parts().map_or(&[], Vec::as_slice)
    }

    /// What was asked of this layout, as a report without gaps; its flow is the design flow until another is known.
    #[must_use]
    pub fn report(&self) -> BridgeReport {
        let together = self.document.together().cloned();
        BridgeReport { together, ..self.asked.report(self.layout(), &self.flows()) }
    }

    /// The same with the chains that are chosen by hand.
    #[must_use]
    pub fn chosen_report(&self) -> BridgeReport {
        let gaps = 0..self.layout().gaps().len();
        let chosen = gaps.map(|gap| if self.preview(gap).is_some() { Some(0) } else { self.document.chosen(gap) });
        let together = Together { chosen: chosen.collect(), nearest: None, agree: true };
        BridgeReport { together: Some(together), ..self.report() }
    }

    /// The flows at which losses are stated.
    fn flows(&self) -> Arc<LossFlows> {
        let mut known = self.document.answers.iter().flatten();
        let fresh = known.clone().find(|known| Arc::ptr_eq(&known.of, &self.document.layout));
        let flows = fresh.or_else(|| known.next()).map(|known| Arc::clone(&known.flows));
        flows.unwrap_or_else(|| Arc::new(self.asked.flows(self.layout())))
    }

    /// Where everything of the chain stands at the moment that is played.
    #[must_use]
    pub fn stage(&self) -> Stage {
        let made_up = self.playback.seconds() >= self.playback.total();
        if self.drag.is_some() || self.playback.show() == Show::Candidates || made_up {
            return Stage::home(self.chain());
        }
        self.timeline.at(self.playback.seconds())
    }

    /// Grows whenever something changes that is drawn.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether an item is not to be shown.
    #[must_use]
    pub fn hidden(&self, item: &Item) -> bool {
        self.hiding.is_hidden(item)
    }

    /// What is hidden.
    #[must_use]
    pub fn hiding(&self) -> &Hiding {
        &self.hiding
    }

    /// Changes what is hidden.
    pub fn hide(&mut self, change: impl FnOnce(&mut Hiding)) {
        let before = self.hiding.clone();
        change(&mut self.hiding);
        if self.hiding != before {
            self.revision += 1;
        }
    }

    /// How the scene is looked at.
    #[must_use]
    pub fn view_options(&self) -> &ViewOptions {
        &self.view
    }

    /// Changes how the scene is looked at.
    pub fn look(&mut self, change: impl FnOnce(&mut ViewOptions)) {
        let before = self.view;
        change(&mut self.view);
        if self.view != before {
            self.revision += 1;
        }
    }

    /// The component that is selected, to be placed.
    #[must_use]
    pub fn selected(&self) -> Option<BodyId> {
        self.selected
    }

    /// Selects a component, or nothing; panels cannot be selected.
    pub fn select(&mut self, body: Option<BodyId>) {
        let selected = body.filter(|body| placing::place(self.layout(), *body).is_some());
        if selected != self.selected {
            self.selected = selected;
            self.revision += 1;
        }
    }

    /// How far the solver is; `None` when it has nothing to do.
    #[must_use]
    pub fn progress(&self) -> Option<Progress> {
        self.request?;
        Some(self.worker.progress().unwrap_or_default())
    }

    /// Sets what is called, from another thread, when [`Desk::poll`] has something to take in or [`Desk::look_at_disk`]
    /// something to see.
    pub fn on_news(&self, wake: impl Fn() + Send + Sync + 'static) {
        self.worker.on_news(wake);
    }

    /// Takes in what the solver found. Never waits.
    pub fn poll(&mut self) {
        for news in self.worker.news() {
            self.take(news);
        }
    }

    /// Waits until the solver has nothing more to do, at most so long; whether it is done. For programs without a
    /// window.
    pub fn wait(&mut self, at_most: Duration) -> bool {
        let end = std::time::Instant::now() + at_most;
        while self.request.is_some() {
            let left = end.saturating_duration_since(std::time::Instant::now());
            if left.is_zero() {
                return false;
            }
            if let Some(news) = self.worker.wait(left) {
                self.take(news);
            }
        }
        true
    }

    /// Stops the solver; what it has found stays.
    pub fn cancel(&mut self) {
        self.worker.cancel();
        self.request = None;
        self.revision += 1;
    }

    /// Solves every gap that is not answered for the layout as it is, the one that is looked at first.
    pub fn solve(&mut self) {
        let touched = self.selected.map(|body| placing::gaps_at(self.layout(), body)).unwrap_or_default();
        let mut gaps: Vec<usize> = (0..self.layout().gaps().len()).collect();
        gaps.retain(|gap| !self.document.is_fresh(*gap) || self.document.answer(*gap).is_some_and(|known| known.quick));
        gaps.sort_by_key(|gap| (Some(*gap) != self.gap(), !touched.contains(gap), *gap));
        let chosen = self.document.together.as_ref().is_some_and(|found| Arc::ptr_eq(&found.of, &self.document.layout));
        if gaps.is_empty() && chosen {
            self.cancel();
        } else {
            self.submit(gaps, None);
        }
    }

    fn submit(&mut self, gaps: Vec<usize>, quick: Option<Arc<LossFlows>>) {
        let is_quick = quick.is_some();
        let running_is_quick = self.request.is_some_and(|(_, quick)| quick);
        let request = Request {
            catalog: Arc::clone(&self.catalog),
            layout: Arc::clone(&self.document.layout),
            gaps,
            asked: self.asked,
            known: self.document.answers.clone(),
            quick,
        };
        self.request = Some((self.worker.submit(request, running_is_quick), is_quick));
    }

    fn take(&mut self, news: News) {
        match news {
            News::Done { request } => {
                if self.request.is_some_and(|(number, _)| number == request) {
                    self.request = None;
                    self.revision += 1;
                }
            }
            News::SideBySide { found, .. } => {
                if Arc::ptr_eq(&found.of, &self.document.layout) {
                    self.document.together = Some(Arc::new(found));
                    self.refresh();
                }
            }
            News::Solved { gap, solved, .. } if solved.quick => self.take_preview(gap, *solved),
            News::Solved { gap, solved, .. } => {
                // What was found for a layout that has changed since is of no use.
                if Arc::ptr_eq(&solved.of, &self.document.layout) {
                    self.document.take_answer(gap, *solved);
                    self.refresh();
                }
            }
        }
    }

    /// After a change of what the chain to show may be.
    fn refresh(&mut self) {
        self.revision += 1;
        self.time();
        self.meet();
    }
}

#[cfg(test)]
impl Desk {
    /// Takes answers that were found for the same text, so that tests need not search again.
    pub(crate) fn know(&mut self, answers: &[(usize, Solved)]) {
        for (gap, solved) in answers {
            let of = Arc::clone(&self.document.layout);
            self.document.take_answer(*gap, Solved { of, ..solved.clone() });
        }
        let (catalog, clearance_mm) = (&self.catalog, self.report().clearance_mm);
        let lists: Option<Vec<&[Chain]>> =
            self.document.answers.iter().map(|known| Some(known.as_ref()?.report.candidates())).collect();
        let chosen = lists.map(|lists| elbowroom::bridge::together(catalog, &lists, clearance_mm));
        let chosen = chosen.map(|chosen| chosen.expect("answers that were found"));
        self.document.together = Some(Arc::new(SideBySide { of: Arc::clone(&self.document.layout), chosen }));
        self.reload_playback(Show::MakingUp);
    }
}
