//! Which move of a component opens a gap.

use super::{
    super::{Chain, MakeUp},
    NearMissWishes, Searched,
    candidate::{Candidate, Search},
    movers::{Mover, movers},
    verify::{Verifier, WhyRefused},
};
use crate::{
    catalog::Catalog,
    geometry::Vector,
    layout::{Gap, Layout, Move},
};
use std::cell::Cell;

/// A move after which a chain closes.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Name of the component that moves.
    pub component: String,
    /// Names of the components that are mounted on it and move with it.
    pub carried: Vec<String>,
    /// By how much.
    pub by: Move,
    /// Whether the move stays within the play that the layout gives the component.
    pub in_play: bool,
    /// Whether it was found only by looking farther than [`NearMissWishes::reach_mm`], or by turning the component by
    /// more than a little: another place for it rather than an adjustment.
    pub large: bool,
    /// The best chain of those parts in the moved layout, from the gap's first port; one that can be made up, where there
    /// is one.
    pub chain: Chain,
    /// Whether and how it can be made up in the moved layout.
    pub make_up: MakeUp,
}

impl Suggestion {
    /// Whether its chain can be made up: only then does the move open the gap.
    #[must_use]
    pub fn opens(&self) -> bool {
        self.make_up.verdict.can_be_made_up()
    }
}

/// A move that would close a chain but may not be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// Name of the component that would move.
    pub component: String,
    /// Names of the components that are mounted on it and would move with it.
    pub carried: Vec<String>,
    /// By how much.
    pub by: Move,
    /// The parts of the chain that it would close, by their ids, from the gap's first port.
    pub parts: Vec<String>,
    /// What speaks against it.
    pub why: WhyRefused,
}

/// How far to look at one time.
#[derive(Clone, Copy)]
struct Rung {
    /// Chains of up to so many parts.
    parts: usize,
    /// Moves longer than this, as far as rungs before went, in millimetres.
    beyond_mm: f64,
    /// Moves up to this, in millimetres.
    mm: f64,
    /// Whether to turn components by more than a little, as far as their play allows.
    turned: bool,
    /// Whether only moves within the play count.
    in_play: bool,
    /// Whether this is a look beyond the reach.
    far: bool,
    budget: u64,
}

impl Rung {
    /// All moves with chains of up to `parts`.
    fn of(parts: usize) -> Self {
        Self { parts, beyond_mm: 0.0, mm: 0.0, turned: false, in_play: false, far: false, budget: u64::MAX }
    }
}

/// Parts of chains that are looked at before longer ones: a fourth part costs some thirty times as much as a third.
const FEW_PARTS: usize = 3;

/// Share of the reach that is looked at first: where a short move does, the long ones are not worked out.
const SHORT: f64 = 0.3;

/// How much farther each further look goes. Chains come in the order of parts and loss and not of nearness, so what is
/// found in one look may be longer than the shortest move by this factor.
const FARTHER: f64 = 1.42;

/// A look that would come this near to the farthest, as a share, goes all the way.
const SLIVER: f64 = 1.2;

/// Farthest look there is, in millimetres, whatever is wished: a gap wider than that is not opened by a move.
const FARTHEST_MM: f64 = 1_000.0;

/// Closures of a search for chains of more than a few parts beyond the reach: so many nearly close there that each costs
/// twenty times as much as usual.
const FAR_BUDGET: u64 = 5_000;

/// Moves checked in full before giving up.
const MOST_CHECKS: usize = 60;

/// Refused moves that are reported.
const REFUSED: usize = 3;

/// What was found, and what was gone through for it.
#[derive(Default)]
pub(super) struct Moves {
    /// The moves after which a chain closes, best first.
    pub(super) found: Vec<Suggestion>,
    /// The nearest that may not be made.
    pub(super) refused: Vec<Refused>,
    pub(super) searched: Searched,
}

/// A move that passed, and its size.
struct Found {
    suggestion: Suggestion,
    size_mm: f64,
}

/// The moves after which a chain closes: up to the reach, and farther where nothing within it lets one close.
pub(super) fn moves(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Moves {
    let movers = movers(layout, gap);
    let name = |mover: &Mover| layout.body(mover.body).map(|body| body.name.clone());
    let looker = Looker {
        catalog,
        layout,
        wishes,
        verifier: Verifier::new(catalog, layout, gap, wishes),
        stopped: Cell::new(false),
        movers: &movers,
    };
    let (mut found, mut refused) = (Vec::new(), Vec::new());
    looker.near(&mut found, &mut refused);
    let near = !found.is_empty();
    let reach_mm = if near { wishes.reach_mm } else { looker.far(&mut found, &mut refused) };
    let mut found = listed(found, wishes.want);
    found.iter_mut().for_each(|suggestion| suggestion.large = !near);
    let searched = Searched {
        components: movers.iter().filter_map(name).collect(),
        reach_mm,
        parts: wishes.max_parts,
        complete: !looker.stopped.get(),
    };
    Moves { found, refused, searched }
}

/// The smallest move, then those whose chain can be made up, then the others, as many as are wanted; listed with those
/// whose chain can be made up first, and among each kind those in the play first.
fn listed(mut found: Vec<Found>, want: usize) -> Vec<Suggestion> {
    found.sort_by(|a, b| a.size_mm.total_cmp(&b.size_mm));
    if let Some(others) = found.get_mut(1..) {
        others.sort_by_key(|found| (!found.suggestion.opens(), !found.suggestion.in_play));
    }
    found.truncate(want);
    found.sort_by_key(|found| (!found.suggestion.opens(), !found.suggestion.in_play));
    found.into_iter().map(|found| found.suggestion).collect()
}

struct Looker<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    wishes: &'a NearMissWishes<'a>,
    verifier: Verifier<'a>,
    movers: &'a [Mover],
    /// Whether a search stopped at its budget.
    stopped: Cell<bool>,
}

impl Looker<'_> {
    /// Looks up to the reach: short moves and chains first.
    fn near(&self, found: &mut Vec<Found>, refused: &mut Vec<Refused>) {
        let (most, reach_mm, want) = (self.wishes.max_parts, self.wishes.reach_mm, self.wishes.want);
        let (mut catalogs, mut candidates) = (Vec::new(), Vec::new());
        for (parts, share) in [(FEW_PARTS, SHORT), (FEW_PARTS, 1.0), (most, 1.0)] {
            (catalogs, candidates) = self.candidates(&Rung { mm: reach_mm * share, ..Rung::of(parts) });
            refused.clear();
            self.check((want, 1), &candidates, &catalogs, (found, refused));
            // A chain that cannot be screwed together opens nothing, so it is worth a look at longer moves, but not at
            // longer chains.
            let far_enough = share >= 1.0 && (parts >= most || !found.is_empty());
            if found.iter().any(|found| found.suggestion.opens()) || far_enough {
                break;
            }
        }
        if !found.iter().any(|found| found.suggestion.opens()) {
            // A person may know a way to screw them in that is not tried here.
            self.check((want, want), &candidates, &catalogs, (found, refused));
        }
    }

    /// Looks beyond the reach, step by step until something lets a chain close; how far it came, in millimetres.
    fn far(&self, found: &mut Vec<Found>, refused: &mut Vec<Refused>) -> f64 {
        let (reach_mm, far_mm) = (self.wishes.reach_mm, self.wishes.far_mm.min(FARTHEST_MM));
        let most = self.wishes.max_parts;
        let few = Rung { far: true, ..Rung::of(FEW_PARTS) };
        let turned = |mm: f64, in_play: bool| Rung { mm, turned: true, in_play, ..few };
        // What the layout allows comes first, however far it turns.
        let mut rungs = vec![turned(far_mm, true)];
        let mut beyond_mm = reach_mm;
        while beyond_mm < far_mm {
            // In tenths, since a person reads them; and the last look is not one at a sliver.
            let next_mm = ((beyond_mm * FARTHER).max(beyond_mm + 1.0) * 10.0).round() / 10.0;
            let mm = if next_mm * SLIVER > far_mm { far_mm } else { next_mm };
            rungs.push(Rung { beyond_mm, mm, ..few });
            if most > FEW_PARTS && (rungs.len() == 3 || mm >= far_mm) {
                rungs.push(Rung { parts: most, beyond_mm: reach_mm, mm, budget: FAR_BUDGET, ..few });
            }
            beyond_mm = mm;
        }
        rungs.extend([turned(f64::midpoint(reach_mm, far_mm), false), turned(far_mm, false)]);
        let mut came_mm = reach_mm;
        for rung in rungs {
            let (catalogs, candidates) = self.candidates(&rung);
            self.check((self.wishes.want, 1), &candidates, &catalogs, (found, refused));
            came_mm = rung.mm;
            if !found.is_empty() {
                break;
            }
        }
        came_mm
    }

    /// The moves of one look that would close a chain, those in the play first, then the smallest, and the catalogs of
    /// their parts.
    fn candidates(&self, rung: &Rung) -> (Vec<Catalog>, Vec<Candidate>) {
        let wishes = NearMissWishes {
            max_parts: self.wishes.max_parts.min(rung.parts),
            closure_budget: self.wishes.closure_budget.min(rung.budget),
            ..*self.wishes
        };
        let (mut catalogs, mut candidates) = (Vec::new(), Vec::new());
        for mover in self.movers {
            let search = Search {
                catalog: self.catalog,
                layout: self.layout,
                mover,
                wishes: &wishes,
                reach_mm: rung.mm,
                through_everything: rung.far,
                stopped: &self.stopped,
            };
            if rung.turned {
                search.turned_candidates(&mut catalogs, &mut candidates);
            } else {
                search.candidates(&mut catalogs, &mut candidates);
            }
        }
        candidates.retain(|candidate| candidate.size_mm > rung.beyond_mm && (candidate.in_play || !rung.in_play));
        candidates.sort_by(|a, b| {
            (b.in_play.cmp(&a.in_play))
                .then_with(|| a.size_mm.total_cmp(&b.size_mm))
                .then_with(|| a.parts.cmp(&b.parts))
        });
        (catalogs, candidates)
    }

    /// Checks candidates in order until `want` are found whose chain can be made up; of the others, which are hardly of
    /// use and cost as much to check, no more than `stiff` are kept.
    fn check(
        &self,
        (want, stiff): (usize, usize),
        candidates: &[Candidate],
        catalogs: &[Catalog],
        (found, refused): (&mut Vec<Found>, &mut Vec<Refused>),
    ) {
        for candidate in candidates.iter().take(MOST_CHECKS) {
            let opening = found.iter().filter(|found| found.suggestion.opens()).count();
            if opening >= want {
                break;
            }
            let by = candidate.by;
            let (Some(parts), Some(body)) = (catalogs.get(candidate.catalog), self.layout.body(by.body)) else {
                continue;
            };
            let known = |found: &Found| self.alike(&found.suggestion.by, &by);
            if found.iter().any(|found| known(found) && found.suggestion.opens()) {
                continue;
            }
            let (component, carried) = (body.name.clone(), self.layout.carried_by(by.body));
            let outcome = self.verifier.close(parts, &by).and_then(|(moved, chain, make_up)| {
                let can = make_up.verdict.can_be_made_up();
                // Enough of those that cannot be made up, or one by the same move: not worth holding against other gaps.
                if !can && (found.len() - opening >= stiff || found.iter().any(known)) {
                    return Ok(None);
                }
                self.verifier.other_gaps(&moved)?;
                Ok(Some((chain, make_up)))
            });
            match outcome {
                Ok(Some((chain, make_up))) => {
                    let in_play = candidate.in_play;
                    let suggestion = Suggestion { component, carried, by, in_play, large: false, chain, make_up };
                    if suggestion.opens() {
                        found.retain(|found| !self.alike(&found.suggestion.by, &by));
                    }
                    found.push(Found { suggestion, size_mm: candidate.size_mm });
                }
                Ok(None) => {}
                Err(why) if refused.len() < REFUSED && !refused.iter().any(|other| self.alike(&other.by, &by)) => {
                    let parts = candidate.chain.clone();
                    refused.push(Refused { component, carried, by, parts, why });
                }
                Err(_) => {}
            }
        }
        // What another chain made possible is no longer refused.
        refused.retain(|refused| !found.iter().any(|found| self.alike(&found.suggestion.by, &refused.by)));
    }

    /// Whether two moves are the same within what the closure allowance hides.
    fn alike(&self, a: &Move, b: &Move) -> bool {
        let allowances = self.layout.allowances();
        a.body == b.body
            && (a.turn_deg - b.turn_deg).abs() < allowances.closure_deg
            && (Vector::from(a.shift_mm) - Vector::from(b.shift_mm)).norm() < allowances.closure_mm
    }
}
