//! What the solver said of a gap, and how the gap stands by it.

use elbowroom::{
    bridge::{
        Answer, BadWish, Chain, Completeness, MakeUpWishes, NearMissWishes, SlackWishes, StopReason, Suggestion,
        Together, Wishes, bridge, near_misses, slack,
    },
    catalog::Catalog,
    layout::{Gap, Layout},
    report::{BridgeReport, GapReport, NearMissReport, Outcome, Ranking},
    survey::{LossFlows, judged},
};
use std::sync::Arc;

/// What is asked of every gap: by default chains of up to four parts, which takes seconds where five take minutes, and
/// otherwise what the command line asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Longest chain to consider, in parts.
    pub max_parts: usize,
    /// How many chains to find.
    pub want: usize,
    /// Least clearance in millimetres; the layout's allowance when `None`.
    pub clearance_mm: Option<f64>,
    /// Flow at which losses are stated, in litres a minute; when `None` what the circuit settles at with the best chains,
    /// or the layout's design flow if it has no pump or is open.
    pub flow_l_min: Option<f64>,
}

impl Default for Asked {
    fn default() -> Self {
        Self { max_parts: 4, want: 5, clearance_mm: None, flow_l_min: None }
    }
}

/// Longest chain that near misses are looked for with, as on the command line: beyond it they take too long.
const MOST_NEAR_PARTS: usize = 4;

/// Longest chain that is looked for with all parts while dragging: longer ones take too long to follow a hand.
const QUICK_PARTS: usize = 3;

/// The answer to one gap.
#[derive(Clone, Debug)]
pub struct Solved {
    /// The layout that it is the answer for.
    pub of: Arc<Layout>,
    /// The flows at which losses are stated.
    pub flows: Arc<LossFlows>,
    /// What the command line would report.
    pub report: GapReport,
    /// Whether the search was cut down to the best chain, to follow a component that is being dragged.
    pub quick: bool,
}

/// Which chains of all gaps can be built side by side.
#[derive(Clone, Debug)]
pub struct SideBySide {
    /// The layout that they were chosen for.
    pub of: Arc<Layout>,
    /// Which they are; `None` where there is only one gap.
    pub chosen: Option<Together>,
}

/// How a gap stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GapState {
    /// Not solved yet.
    Unknown,
    /// There is a chain.
    Bridged,
    /// There are chains, but none of those found can be made up.
    CannotBeMadeUp,
    /// There is none, but a small move of a component opens the gap.
    Nearly,
    /// There is none, and no small move that helps.
    Blocked,
    /// None was found, which is no proof.
    NotProven,
}

impl Solved {
    /// The best chain of a gap, for following a component that is being dragged: with all parts up to
    /// [`QUICK_PARTS`], and beyond that with the parts of `known` chains and all adjustable ones.
    pub(super) fn quick(
        catalog: &Catalog,
        layout: &Arc<Layout>,
        gap: &Gap,
        asked: &Asked,
        flows: &Arc<LossFlows>,
        known: &[Chain],
    ) -> Result<Option<Self>, BadWish> {
        let longest = known.first().map_or(QUICK_PARTS, |chain| chain.parts.len()).min(asked.max_parts);
        let wishes = |max_parts| Wishes { max_parts, want: 1, flow_l_min: Some(flows.at(gap)), ..asked.wishes() };
        let short = bridge(catalog, layout, gap, &wishes(longest.clamp(1, QUICK_PARTS)))?;
        let answer = match few_parts(catalog, known).filter(|_| short.chains.is_empty() && longest > QUICK_PARTS) {
            Some(few) => bridge(&few, layout, gap, &wishes(longest))?,
            None => short,
        };
        let report = GapReport::new(catalog, layout, *gap, answer).map(|report| report.at_flow(flows.at(gap)));
        Ok(report.map(|report| Self { of: Arc::clone(layout), flows: Arc::clone(flows), report, quick: true }))
    }

    /// Answers a gap in full, but for its near misses, with `want` chains or more. `None` if the gap does not belong to
    /// the layout.
    pub(super) fn chains(
        catalog: &Catalog,
        layout: &Arc<Layout>,
        gap: &Gap,
        (asked, want): (&Asked, usize),
        flows: &Arc<LossFlows>,
        search: impl Fn(&Wishes<'_>) -> Result<Answer, BadWish>,
    ) -> Result<Option<Self>, BadWish> {
        let make_up = MakeUpWishes { clearance_mm: asked.clearance_mm, ..MakeUpWishes::default() };
        let wishes = |want| Wishes { want, flow_l_min: Some(flows.at(gap)), ..asked.wishes() };
        let (answer, made) = judged(catalog, layout, gap, &make_up, want, |want| search(&wishes(want)))?;
        let Some(report) = GapReport::new(catalog, layout, *gap, answer) else { return Ok(None) };
        let report = report.with_make_up(made, true).at_flow(flows.at(gap));
        let mut solved = Self { of: Arc::clone(layout), flows: Arc::clone(flows), report, quick: false };
        solved.add_slack(catalog, gap, asked)?;
        Ok(Some(solved))
    }

    /// Works out what its chains absorb.
    pub(super) fn add_slack(&mut self, catalog: &Catalog, gap: &Gap, asked: &Asked) -> Result<(), BadWish> {
        let wishes = SlackWishes { clearance_mm: asked.clearance_mm, ..SlackWishes::default() };
        let chains = self.report.answer.chains.iter();
        let slack = chains.map(|chain| slack(catalog, &self.of, gap, chain, &wishes));
        self.report.slack = slack.collect::<Result<_, _>>()?;
        Ok(())
    }

    /// Adds the near misses of a gap that has no chain.
    pub(super) fn add_near_misses(&mut self, catalog: &Catalog, gap: &Gap, asked: &Asked) -> Result<(), BadWish> {
        let wishes = NearMissWishes {
            max_parts: asked.max_parts.min(MOST_NEAR_PARTS),
            clearance_mm: asked.clearance_mm,
            flow_l_min: Some(self.flows.at(gap)),
            ..NearMissWishes::default()
        };
        self.report.near_misses = NearMissReport::new(catalog, near_misses(catalog, &self.of, gap, &wishes)?);
        Ok(())
    }

    /// The chains, best first.
    #[must_use]
    pub fn ranked(&self) -> &[Chain] {
        &self.report.answer.chains
    }

    /// Whether the search was told to stop.
    #[must_use]
    pub fn was_cancelled(&self) -> bool {
        matches!(self.report.answer.completeness, Completeness::Stopped { why: StopReason::Cancelled, .. })
    }

    /// How the gap stands.
    #[must_use]
    pub fn state(&self) -> GapState {
        // Of a component that is being dragged, chains are not judged.
        let judged = !self.report.make_up.is_empty();
        let can = self.report.make_up.iter().any(|made| made.verdict.can_be_made_up());
        match Outcome::of(&self.report.answer) {
            _ if !self.ranked().is_empty() && judged && !can => GapState::CannotBeMadeUp,
            _ if !self.ranked().is_empty() => GapState::Bridged,
            Outcome::NoProof => GapState::NotProven,
            _ if self
                .report
                .near_misses
                .as_ref()
                .is_some_and(|near| near.found.moves.iter().any(Suggestion::opens)) =>
            {
                GapState::Nearly
            }
            _ => GapState::Blocked,
        }
    }

    /// The place of the chain made of the same fittings in the same order as `chain`.
    #[must_use]
    pub fn same_chain(&self, chain: &Chain) -> Option<usize> {
        let ids = |chain: &Chain| chain.parts.iter().map(|part| part.fitting.clone()).collect::<Vec<_>>();
        let wanted = ids(chain);
        self.ranked().iter().position(|other| ids(other) == wanted)
    }
}

impl Asked {
    /// Checks it against the ranges of the solver, so that nothing that is asked later is refused.
    ///
    /// # Errors
    /// The first number that is outside its range.
    pub fn check(&self) -> Result<(), BadWish> {
        self.wishes().check()
    }

    /// The flows at which losses are stated before those of the circuit are known.
    pub(super) fn flows(&self, layout: &Layout) -> LossFlows {
        let asked = self.flow_l_min.and_then(|l_min| LossFlows::asked(l_min).ok());
        asked.unwrap_or_else(|| LossFlows::design(layout))
    }

    /// The same as wishes for one gap.
    #[must_use]
    pub fn wishes(&self) -> Wishes<'static> {
        Wishes {
            max_parts: self.max_parts,
            want: self.want,
            clearance_mm: self.clearance_mm,
            flow_l_min: self.flow_l_min,
            ..Wishes::default()
        }
    }

    /// A report on `layout` that holds what was asked, and no gap yet.
    #[must_use]
    pub fn report(&self, layout: &Layout, flows: &LossFlows) -> BridgeReport {
        let allowances = layout.allowances();
        BridgeReport {
            layout: layout.name().to_owned(),
            max_parts: self.max_parts,
            want: self.want,
            ranking: Ranking::default(),
            clearance_mm: self.clearance_mm.unwrap_or(allowances.clearance_mm),
            flow_l_min: flows.l_min,
            flow_is: flows.basis,
            closure_mm: allowances.closure_mm,
            closure_deg: allowances.closure_deg,
            // They are named beside the layout.
            overlaps: Vec::new(),
            gaps: Vec::new(),
            together: None,
        }
    }
}

/// The catalog reduced to the parts of some chains, and all adjustable ones: those give way as a component moves.
fn few_parts(catalog: &Catalog, chains: &[Chain]) -> Option<Catalog> {
    let used = |id: &str| chains.iter().flat_map(|chain| &chain.parts).any(|part| part.fitting == id);
    let few = catalog.fittings().iter().filter(|fitting| fitting.stretch_mm.is_some() || used(&fitting.id));
    Catalog::from_parts(few.cloned().collect(), Vec::new()).ok()
}
