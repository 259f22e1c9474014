//! Nothing that is not saved is given up unasked: when the program closes, and when the file changes on disk.

use super::{Desk, Notice, Saved};

/// What is to be decided before something that is not saved could be lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// The program is to close.
    Closing,
    /// The file changed on disk.
    Disk,
}

/// Whether the program is to close.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Closing {
    #[default]
    No,
    /// Once it is decided what becomes of what is not saved.
    Asked,
    Yes,
}

impl Desk {
    /// What there is to decide, the most urgent first.
    #[must_use]
    pub fn question(&self) -> Option<Question> {
        if self.closing == Closing::Asked {
            return Some(Question::Closing);
        }
        self.on_disk.as_ref().map(|_| Question::Disk)
    }

    /// Whether the file changed on disk while something was not saved, and nothing is decided yet.
    #[must_use]
    pub fn differs_on_disk(&self) -> bool {
        self.on_disk.is_some()
    }

    /// Closes, or asks first where something is not saved. A component that is being dragged is let go where it is.
    pub fn close(&mut self) {
        let let_go = self.end_drag();
        self.tell(let_go);
        self.set_closing(if self.is_changed() { Closing::Asked } else { Closing::Yes });
    }

    /// Closes, whatever is not saved.
    pub fn discard_and_close(&mut self) {
        self.set_closing(Closing::Yes);
    }

    /// Stays open after all.
    pub fn stay(&mut self) {
        self.set_closing(Closing::No);
    }

    /// Whether the program is to close now.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.closing == Closing::Yes
    }

    fn set_closing(&mut self, closing: Closing) {
        self.closing = closing;
        self.revision += 1;
    }

    /// Goes on with what was changed here; the file stays as it is on disk.
    pub fn keep_own(&mut self) {
        if let Some(theirs) = self.on_disk.take() {
            self.saved = Saved::of(&theirs);
            self.notice =
                Some(Notice::news(format!("what was changed here is kept; {} is as it is on disk", self.name)));
            self.revision += 1;
        }
    }

    /// Goes on with the file as it is on disk. Can be undone.
    pub fn read_disk(&mut self) {
        if let Some(theirs) = self.on_disk.take() {
            self.take_from_disk(theirs);
        }
    }
}
