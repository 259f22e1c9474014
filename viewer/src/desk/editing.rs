//! Moving components, undo and redo.

use super::{
    Desk, Notice, Solved,
    document::{BadPlace, Document},
    placing::{self, gaps_at, move_to},
    playback::Show,
};
use elbowroom::layout::{BodyId, Move};
use std::{collections::BTreeMap, sync::Arc};

/// A component that is being dragged.
#[derive(Debug)]
pub(super) struct Drag {
    body: BodyId,
    /// How everything was before.
    start: Document,
    shift_mm: [f64; 3],
    /// Quick answers to the gaps that touch it.
    previews: BTreeMap<usize, Solved>,
}

impl Desk {
    /// Puts the origin of a component at `at`, in the layout's axes; the numbers are taken as they are. Can be undone.
    ///
    /// # Errors
    /// When the move cannot be written into the file, or leaves no sound layout; then nothing has changed.
    pub fn place(&mut self, body: BodyId, at: [f64; 3]) -> Result<(), BadPlace> {
        match move_to(self.layout(), body, at) {
            Some(by) => self.make_move(&by),
            None => Ok(()),
        }
    }

    /// Turns a component about its own top axis, counter-clockwise seen from above its top. Can be undone.
    ///
    /// # Errors
    /// As [`Desk::place`].
    pub fn turn(&mut self, body: BodyId, degrees: f64) -> Result<(), BadPlace> {
        if degrees == 0.0 || !degrees.is_finite() {
            return Ok(());
        }
        self.make_move(&Move { body, shift_mm: [0.0; 3], turn_deg: degrees })
    }

    /// Makes the suggested move at place `index` of the near misses of the gap that is looked at. Can be undone.
    ///
    /// # Errors
    /// As [`Desk::place`].
    pub fn apply_suggestion(&mut self, index: usize) -> Result<(), BadPlace> {
        let suggested = || {
            let gap = self.gap().filter(|gap| self.document.is_fresh(*gap))?;
            Some(self.document.answer(gap)?.report.near_misses.as_ref()?.found.moves.get(index)?.by)
        };
        suggested().map_or(Ok(()), |by| self.make_move(&by))
    }

    fn make_move(&mut self, by: &Move) -> Result<(), BadPlace> {
        self.abort_drag();
        let moved = self.document.moved(&self.name, &self.catalog, by)?;
        let what = self.moving(by.body);
        let before = std::mem::replace(&mut self.document, moved);
        self.history.note(before, what);
        self.notice = None;
        self.selected = Some(by.body);
        self.refresh();
        self.solve();
        Ok(())
    }

    /// Takes hold of a component; whether it can be dragged.
    pub fn begin_drag(&mut self, body: BodyId) -> bool {
        self.abort_drag();
        if placing::place(self.layout(), body).is_none() {
            return false;
        }
        self.selected = Some(body);
        self.playback.pause();
        let start = self.document.clone();
        self.drag = Some(Drag { body, start, shift_mm: [0.0; 3], previews: BTreeMap::new() });
        self.revision += 1;
        true
    }

    /// The component that is being dragged.
    #[must_use]
    pub fn dragged(&self) -> Option<BodyId> {
        self.drag.as_ref().map(|drag| drag.body)
    }

    /// How far the component that is being dragged is from where it was.
    #[must_use]
    pub fn dragged_by(&self) -> Option<[f64; 3]> {
        self.drag.as_ref().map(|drag| drag.shift_mm)
    }

    /// Moves the dragged component to a shift from where it was, on the grid, and asks for quick answers of the gaps
    /// that touch it: the best chain, of no more parts than it had; beyond three parts
    /// only of the parts of the chains that were known, and adjustable ones.
    pub fn drag_to(&mut self, shift_mm: [f64; 3]) {
        let Some(drag) = &mut self.drag else { return };
        let Some(from) = placing::place(&drag.start.layout, drag.body) else { return };
        let shift_mm = [0, 1, 2].map(|axis| placing::snapped(from[axis], shift_mm[axis]));
        if shift_mm == drag.shift_mm {
            return;
        }
        let by = Move { body: drag.body, shift_mm, turn_deg: 0.0 };
        let Some(layout) = drag.start.layout.moved(&by) else { return };
        drag.shift_mm = shift_mm;
        let mut gaps = gaps_at(&layout, drag.body);
        gaps.sort_by_key(|gap| (Some(*gap) != self.document.gap, *gap));
        self.document.layout = Arc::new(layout);
        self.submit(gaps, Some(self.flows()));
        self.revision += 1;
    }

    /// Lets the dragged component go where it is and solves in full. Can be undone.
    ///
    /// # Errors
    /// As [`Desk::place`]; then the component is back where it was.
    pub fn end_drag(&mut self) -> Result<(), BadPlace> {
        let Some(drag) = &self.drag else { return Ok(()) };
        let by = Move { body: drag.body, shift_mm: drag.shift_mm, turn_deg: 0.0 };
        self.abort_drag();
        if by.shift_mm == [0.0; 3] {
            return Ok(());
        }
        self.make_move(&by)
    }

    /// Lets the dragged component go back to where it was.
    pub fn abort_drag(&mut self) {
        if let Some(drag) = self.drag.take() {
            self.document = drag.start;
            self.refresh();
            self.solve();
        }
    }

    /// What would be undone, in words.
    #[must_use]
    pub fn undoes(&self) -> Option<&str> {
        self.history.last()
    }

    /// What would be done again, in words.
    #[must_use]
    pub fn redoes(&self) -> Option<&str> {
        self.history.next()
    }

    /// Takes the last change back.
    pub fn undo(&mut self) {
        self.abort_drag();
        if self.history.last().is_some() {
            let now = self.document.clone();
            let before = self.history.undo(now);
            self.go_to(before);
        }
    }

    /// Makes the change again that was last taken back.
    pub fn redo(&mut self) {
        self.abort_drag();
        if self.history.next().is_some() {
            let now = self.document.clone();
            let after = self.history.redo(now);
            self.go_to(after);
        }
    }

    fn go_to(&mut self, document: Document) {
        let gap = document.gap_after(&self.document);
        if gap != self.document.gap {
            self.near = None;
        }
        self.document = Document { gap, ..document };
        let selected = self.selected.filter(|body| placing::place(self.layout(), *body).is_some());
        self.selected = selected;
        self.problems = None;
        self.notice = None;
        self.reload_playback(Show::MakingUp);
        self.solve();
    }

    pub(super) fn preview(&self, gap: usize) -> Option<&Solved> {
        self.drag.as_ref()?.previews.get(&gap)
    }

    pub(super) fn take_preview(&mut self, gap: usize, solved: Solved) {
        // The answer may be for where the component was a moment ago: nearer than none.
        if let Some(drag) = &mut self.drag {
            drag.previews.insert(gap, solved);
            self.revision += 1;
        }
    }

    /// Tells of a move that could not be made, in the error panel.
    pub fn tell(&mut self, refused: Result<(), impl std::fmt::Display>) {
        if let Err(error) = refused {
            self.notice = Some(Notice::trouble(error.to_string()));
            self.revision += 1;
        }
    }

    fn moving(&self, body: BodyId) -> String {
        self.layout().body(body).map_or_else(String::new, |body| format!("moving {}", body.name))
    }
}
