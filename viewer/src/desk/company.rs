//! Whether the chains that are chosen leave each other room.

use super::Desk;
use elbowroom::bridge::{Chain, Together, together};

/// How the chains that stand get on with each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Company {
    /// The chains that stand in all gaps; `None` until it is known.
    chosen: Option<Together>,
    /// For each ranked chain of the gap that is looked at, the chains of other gaps that it stands in the way of.
    clashes: Vec<Vec<Clash>>,
}

/// A chain that stands in the way of the one that is chosen for another gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clash {
    /// The other gap, by its place in the layout.
    pub gap: usize,
    /// How near the two come to each other, in millimetres: less than the clearance, and negative where they overlap.
    pub mm: f64,
}

impl Desk {
    /// The chains of other gaps that a ranked chain of the gap that is looked at stands in the way of.
    #[must_use]
    pub fn clashes(&self, chain: usize) -> &[Clash] {
        self.company.clashes.get(chain).map_or(&[], Vec::as_slice)
    }

    /// Whether the chains that are chosen now can be built side by side, where that are others than the solver chose.
    #[must_use]
    pub fn side_by_side_by_hand(&self) -> Option<&Together> {
        let taken = self.document.together()?;
        let by_hand = (0..taken.chosen.len()).any(|gap| self.document.chosen(gap) != taken.chosen[gap]);
        self.company.chosen.as_ref().filter(|_| by_hand && self.drag.is_none())
    }

    /// Looks at the chains that stand now; while a component is dragged there are none to look at.
    pub(super) fn meet(&mut self) {
        self.company = if self.drag.is_some() { Company::default() } else { self.company_now() };
    }

    fn company_now(&self) -> Company {
        let gaps = 0..self.layout().gaps().len();
        let clearance_mm = self.report().clearance_mm;
        let standing: Vec<&[Chain]> =
            gaps.map(|gap| self.standing_chain(gap).map_or(&[][..], std::slice::from_ref)).collect();
        // The chains are the solver's own, so none of them is refused.
        let meet = |chains: &[&[Chain]]| together(&self.catalog, chains, clearance_mm).ok();
        let own = self.gap().and_then(|gap| Some((gap, self.document.answer(gap)?)));
        let clashes = own.map_or_else(Vec::new, |(own, solved)| {
            let with = |chain: &Chain| {
                let others = standing.iter().enumerate().filter(|(gap, _)| *gap != own);
                let met = others.filter_map(|(gap, other)| {
                    let met = meet(&[std::slice::from_ref(chain), other])?;
                    met.nearest.filter(|_| !met.agree).map(|(.., mm)| Clash { gap, mm })
                });
                met.collect()
            };
            solved.ranked().iter().map(with).collect()
        });
        Company { chosen: meet(&standing), clashes }
    }
}
