//! Opening, reloading and saving.

use super::{
    Asked, Desk, Saved,
    company::Company,
    document::Document,
    history::History,
    keeping::Closing,
    playback::{Playback, Show},
    saving::{BadSave, free_name, save},
    solving::Worker,
    timeline::Timeline,
    view::{Hiding, ViewOptions},
    watch::Watch,
};
use elbowroom::{
    bridge::BadWish,
    catalog::Catalog,
    source::{Problems, Source},
};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
    time::Instant,
};

/// Why a layout could not be opened.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BadOpen {
    /// Something is wrong with the layout or a catalog.
    #[error("{0}")]
    Problems(#[from] Problems),
    /// What is asked makes no sense.
    #[error(transparent)]
    Asked(#[from] BadWish),
    /// There is no thread to solve on.
    #[error("cannot start the solver: {0}; close other programs and try again")]
    NoThread(#[from] std::io::Error),
}

/// Something to tell, until the next thing happens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// In words.
    pub text: String,
    /// Whether something did not work.
    pub is_trouble: bool,
}

impl Notice {
    pub(super) fn trouble(text: String) -> Self {
        Self { text, is_trouble: true }
    }

    pub(super) fn news(text: String) -> Self {
        Self { text, is_trouble: false }
    }
}

impl Desk {
    /// Opens the layout at `path`, or the built-in demo, with catalogs of the user's own beside the built-in one. Nothing
    /// is solved yet.
    ///
    /// # Errors
    /// Everything that is wrong with the files, with lines and columns.
    pub fn open(path: Option<&Path>, catalogs: &[PathBuf], asked: Asked) -> Result<Self, BadOpen> {
        let sources = catalogs.iter().map(Source::read).collect::<Result<Vec<_>, _>>()?;
        let catalog = Catalog::builtin_with(&sources)?;
        let source = match path {
            Some(path) => Source::read(path)?,
            None => Source::new(elbowroom_catalog::DEMO.0, elbowroom_catalog::DEMO.1),
        };
        let mut desk = Self::new(source.name(), source.text(), catalog, asked)?;
        desk.file = path.map(Path::to_owned);
        desk.watch = path.map(|path| Watch::new(path, desk.worker.waker()));
        Ok(desk)
    }

    /// A desk with a layout from memory, and nothing solved yet; `name` is what problems call it.
    ///
    /// # Errors
    /// Everything that is wrong with the text; what is asked, when it makes no sense.
    pub fn new(name: &str, text: &str, catalog: Catalog, asked: Asked) -> Result<Self, BadOpen> {
        asked.check()?;
        let document = Document::read(text, name, &catalog)?;
        Ok(Self {
            catalog: Arc::new(catalog),
            asked,
            saved: Saved::of(&document),
            on_disk: None,
            closing: Closing::default(),
            document,
            history: History::default(),
            company: Company::default(),
            file: None,
            name: name.to_owned(),
            watch: None,
            problems: None,
            notice: None,
            worker: Worker::start()?,
            request: None,
            drag: None,
            near: None,
            selected: None,
            playback: Playback::default(),
            timeline: Timeline::default(),
            view: ViewOptions::default(),
            hiding: Hiding::default(),
            revision: 1,
        })
    }

    /// What the layout's file is called.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The layout as it would be saved.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.document.text
    }

    /// Whether the layout differs from what is on disk.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.document.text != self.saved.text
    }

    /// What is wrong with the file on disk; the layout shown is then the last good one.
    #[must_use]
    pub fn problems(&self) -> Option<&Problems> {
        self.problems.as_ref()
    }

    /// Something to tell.
    #[must_use]
    pub fn notice(&self) -> Option<&Notice> {
        self.notice.as_ref()
    }

    /// Takes the notice away.
    pub fn dismiss(&mut self) {
        self.notice = None;
        self.revision += 1;
    }

    /// A name under which a changed layout can be saved without replacing anything.
    #[must_use]
    pub fn new_name(&self) -> PathBuf {
        free_name(self.file.as_deref().unwrap_or(Path::new(&self.name)))
    }

    /// Saves the layout as a file, whole or not at all, and goes on with that file; comments and order stay as they
    /// were.
    ///
    /// # Errors
    /// When the file exists and `replace` is false, or the system refuses; nothing is lost then.
    pub fn save_as(&mut self, path: &Path, replace: bool) -> Result<(), BadSave> {
        save(path, &self.document.text, replace)?;
        self.saved = Saved::of(&self.document);
        // What was on disk is either replaced now, or another file's.
        self.on_disk = None;
        self.file = Some(path.to_owned());
        self.name = path.display().to_string();
        self.watch = Some(Watch::new(path, self.worker.waker()));
        self.problems = None;
        self.notice = Some(Notice::news(format!("saved as {}", path.display())));
        self.revision += 1;
        Ok(())
    }

    /// When to look at the disk again; `None` if there is no file to look at.
    #[must_use]
    pub fn next_look(&self) -> Option<Instant> {
        self.watch.as_ref().map(Watch::next_look)
    }

    /// Reads the file again if it changed on disk; whether it did. With problems in it the last good layout stays.
    pub fn look_at_disk(&mut self, now: Instant) -> bool {
        let Some(watch) = &mut self.watch else { return false };
        if !watch.changed(now) {
            return false;
        }
        let path = watch.path();
        match Source::read(&path) {
            Ok(source) => self.reload(source.text()),
            Err(problems) => self.refuse(problems),
        }
        true
    }

    /// Takes `text` for what the file holds now. Can be undone. Where something is not saved, that stays, and
    /// [`Desk::question`] asks what to do.
    pub fn reload(&mut self, text: &str) {
        match Document::read(text, &self.name, &self.catalog) {
            Ok(document) => {
                self.problems = None;
                self.revision += 1;
                let is_other = ![&self.document.text, &self.saved.text].contains(&&document.text);
                if is_other && (self.is_changed() || self.drag.is_some()) {
                    self.on_disk = Some(document);
                } else if document.text == self.document.text || !self.is_changed() {
                    self.take_from_disk(document);
                } else {
                    // The file is as it was read, so what was changed here is all there is to save.
                    self.on_disk = None;
                }
            }
            Err(problems) => self.refuse(problems),
        }
    }

    /// Goes on with the file as it is on disk.
    pub(super) fn take_from_disk(&mut self, document: Document) {
        let changed_here = self.is_changed();
        self.saved = Saved::of(&document);
        self.on_disk = None;
        self.revision += 1;
        if document.text == self.document.text {
            return;
        }
        self.abort_drag();
        let before = std::mem::replace(&mut self.document, document);
        self.document.take_over(&before);
        self.history.note(before, "reading the changed file");
        let undo = if changed_here { "; undo brings back what was changed here" } else { "" };
        self.notice = Some(Notice::news(format!("{} changed on disk and was read again{undo}", self.name)));
        self.selected = None;
        self.hiding.show_all();
        self.reload_playback(Show::MakingUp);
        self.solve();
    }

    fn refuse(&mut self, problems: Problems) {
        self.problems = Some(problems);
        self.revision += 1;
    }
}
