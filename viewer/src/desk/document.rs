//! The layout that is open: its text, the machine it means, and what was chosen and answered.

use super::answers::{SideBySide, Solved};
use elbowroom::{
    bridge::{Chain, Together},
    catalog::Catalog,
    layout::{BadEdit, Layout, Move, move_in_text},
    source::Problems,
};
use std::sync::Arc;

/// The state that undo and redo go between. Cheap to clone.
#[derive(Clone, Debug)]
pub(super) struct Document {
    /// The file, as it would be saved.
    pub(super) text: Arc<str>,
    /// What the text means.
    pub(super) layout: Arc<Layout>,
    /// The gap that is looked at.
    pub(super) gap: Option<usize>,
    /// For each gap, the chain that was chosen by hand; where that is `None`, the best that can be built beside the others.
    pub(super) chosen: Vec<Option<usize>>,
    /// For each gap its answer, which may be that of an earlier layout.
    pub(super) answers: Vec<Option<Arc<Solved>>>,
    /// Which chains can be built side by side, which may be that of an earlier layout.
    pub(super) together: Option<Arc<SideBySide>>,
}

/// Why a component cannot be put somewhere.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BadPlace {
    /// The move cannot be written into the file.
    #[error(transparent)]
    Edit(#[from] BadEdit),
    /// With the move made the layout makes no sense.
    #[error("{0}")]
    Unsound(#[from] Problems),
}

impl Document {
    /// Reads a layout; `name` is what problems call it.
    pub(super) fn read(text: &str, name: &str, catalog: &Catalog) -> Result<Self, Problems> {
        let layout = Layout::parse(text, name, catalog)?;
        let gaps = layout.gaps().len();
        Ok(Self {
            text: text.into(),
            layout: Arc::new(layout),
            gap: (gaps > 0).then_some(0),
            chosen: vec![None; gaps],
            answers: vec![None; gaps],
            together: None,
        })
    }

    /// The same with a component moved: in the text, from which the machine is then read again, so that what is shown
    /// is always what would be saved.
    pub(super) fn moved(&self, name: &str, catalog: &Catalog, by: &Move) -> Result<Self, BadPlace> {
        let text = move_in_text(&self.text, &self.layout, by)?;
        let layout = Layout::parse(&text, name, catalog)?;
        Ok(Self { text: text.into(), layout: Arc::new(layout), ..self.clone() })
    }

    /// Takes over choices and answers of the gaps that an earlier document had between the same ports.
    pub(super) fn take_over(&mut self, earlier: &Self) {
        let same = |own: usize| (0..earlier.answers.len()).find(|gap| earlier.ports(*gap) == self.ports(own));
        let pairs: Vec<_> = (0..self.answers.len()).filter_map(|own| Some((own, same(own)?))).collect();
        for &(own, theirs) in &pairs {
            self.chosen[own] = earlier.chosen[theirs];
            self.answers[own].clone_from(&earlier.answers[theirs]);
        }
        let gap = pairs.iter().find(|(_, theirs)| Some(*theirs) == earlier.gap).map(|(own, _)| *own);
        self.gap = gap.or(self.gap);
    }

    /// The gap to look at after going from `now` to this document by undo or redo: where another chain was chosen, the gap
    /// of that chain; else the one that is looked at, if there still is one between the same ports.
    pub(super) fn gap_after(&self, now: &Self) -> Option<usize> {
        if self.text != now.text {
            let same =
                |own: usize| now.gap.is_some_and(|gap| now.ports(gap).is_some() && self.ports(own) == now.ports(gap));
            return (0..self.answers.len()).find(|own| same(*own)).or(self.gap);
        }
        let rechosen = (0..self.chosen.len()).find(|gap| self.chosen.get(*gap) != now.chosen.get(*gap));
        rechosen.or(now.gap)
    }

    /// The names of the ports of a gap.
    fn ports(&self, gap: usize) -> Option<[&str; 2]> {
        let gap = self.layout.gaps().get(gap)?;
        let name = |port| self.layout.port_by_id(port).map(|port| port.name.as_str());
        Some([name(gap.from)?, name(gap.to)?])
    }

    /// Whether a gap is answered for the layout as it is.
    pub(super) fn is_fresh(&self, gap: usize) -> bool {
        self.answer(gap).is_some_and(|solved| Arc::ptr_eq(&solved.of, &self.layout))
    }

    pub(super) fn answer(&self, gap: usize) -> Option<&Arc<Solved>> {
        self.answers.get(gap)?.as_ref()
    }

    /// The place of the chosen chain of a gap among its ranked chains.
    pub(super) fn chosen(&self, gap: usize) -> Option<usize> {
        let chains = self.answer(gap)?.ranked().len();
        let by_hand = self.chosen.get(gap).copied().flatten();
        let wanted = by_hand.or_else(|| self.together()?.chosen.get(gap).copied().flatten()).unwrap_or(0);
        (chains > 0).then(|| wanted.min(chains - 1))
    }

    /// Which chains of the layout as it is can be built side by side, if that is known and there are several gaps.
    pub(super) fn together(&self) -> Option<&Together> {
        self.together.as_ref().filter(|found| Arc::ptr_eq(&found.of, &self.layout))?.chosen.as_ref()
    }

    pub(super) fn chain(&self, gap: usize) -> Option<&Chain> {
        self.answer(gap)?.ranked().get(self.chosen(gap)?)
    }

    /// Puts an answer in its place; a chain that was chosen stays chosen while there is one of the same parts.
    pub(super) fn take_answer(&mut self, gap: usize, solved: Solved) {
        let wanted = self.chosen.get(gap).copied().flatten();
        let chosen = wanted.and_then(|_| solved.same_chain(self.chain(gap)?));
        if let (Some(choice), Some(answer)) = (self.chosen.get_mut(gap), self.answers.get_mut(gap)) {
            *choice = chosen;
            *answer = Some(Arc::new(solved));
        }
    }
}
