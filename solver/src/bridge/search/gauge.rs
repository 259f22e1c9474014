//! Keeps count of how far a search is.

use super::kinds::{Kinds, Method};
use crate::bridge::progress::{Counts, Progress, STAGES, Stage};

/// Keeps count of what is done with.
pub(super) struct Gauge {
    kinds: Vec<Kinds>,
    whole: f64,
    now: Progress,
    /// The part count in hand, and which share of its sequences is being gone through.
    parts: usize,
    portion: f64,
    /// Of the stage in hand: what was done with before the kind in hand, and how much that kind is.
    before: f64,
    kind: f64,
    /// Where the piece in hand begins in that kind, and how much of it it is; likewise the slice in hand of that piece.
    piece: [f64; 2],
    slice: [f64; 2],
}

impl Gauge {
    /// Nothing is done with yet.
    pub(super) fn new(kinds: Vec<Kinds>) -> Self {
        let whole: f64 = kinds.iter().map(Kinds::total).sum();
        let (now, portion, before, kind) = (Progress::default(), 0.0, 0.0, 0.0);
        Self { kinds, whole, now, parts: 0, portion, before, kind, piece: ALL, slice: ALL }
    }

    /// How far the search is.
    pub(super) fn progress(&self, counts: &Counts, waiting: u64) -> Progress {
        Progress { counts: *counts, waiting, ..self.now }
    }

    /// Chains of so many parts come next.
    pub(super) fn begin(&mut self, parts: usize) {
        let longer: f64 = self.kinds.iter().skip(parts).map(Kinds::total).sum();
        self.now.longer = self.of_whole(longer);
        (self.parts, self.before, self.kind) = (parts, 0.0, 0.0);
        let sequences = |method| self.sequences(|kinds| kinds.by(method));
        self.now.stages = METHODS.map(|method| Stage { done: 0.0, of: self.of_whole(sequences(method)) });
        self.tell();
    }

    /// This share of the sequences of the part count in hand comes next, kind by kind.
    pub(super) fn portion(&mut self, share: f64) {
        self.end();
        self.portion = share;
    }

    /// A kind of chains comes next.
    pub(super) fn kind(&mut self, method: Method, sequences: impl Fn(&Kinds) -> f64) {
        self.end();
        self.now.stage = method as usize;
        self.before = self.now.stages[self.now.stage].done;
        self.kind = self.of_whole(self.sequences(sequences) * self.portion);
    }

    /// A piece of that kind comes next: where it begins, and how much of the kind it is.
    pub(super) fn piece(&mut self, begins: f64, share: f64) {
        (self.piece, self.slice) = ([begins, share], ALL);
    }

    /// A slice of that piece comes next.
    pub(super) fn slice(&mut self, begins: f64, share: f64) {
        self.slice = [begins, share];
    }

    /// This share of what is in hand is done with.
    pub(super) fn done(&mut self, share: f64) {
        let within = |[begins, of]: [f64; 2], share: f64| begins + of * share;
        let share = within(self.piece, within(self.slice, share));
        let stage = &mut self.now.stages[self.now.stage];
        stage.done = stage.done.max(self.before + self.kind * share).min(stage.of);
        self.tell();
    }

    /// What is in hand is done with.
    pub(super) fn end(&mut self) {
        (self.piece, self.slice) = (ALL, ALL);
        self.done(1.0);
    }

    fn sequences(&self, of: impl Fn(&Kinds) -> f64) -> f64 {
        self.parts.checked_sub(1).and_then(|index| self.kinds.get(index)).map_or(0.0, of)
    }

    fn of_whole(&self, sequences: f64) -> f64 {
        if self.whole > 0.0 { sequences / self.whole } else { 0.0 }
    }

    fn tell(&mut self) {
        let left: f64 = self.now.stages.iter().map(Stage::left).sum();
        self.now.share = self.now.share.max(1.0 - self.now.longer - left).min(1.0);
    }
}

/// From the beginning to the end.
const ALL: [f64; 2] = [0.0, 1.0];

const METHODS: [Method; STAGES] = [Method::Direct, Method::Halves, Method::Trails];
