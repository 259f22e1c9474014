//! Near misses for programs.

use super::{make_up::MakeUpDocument, number::tidy};
use crate::{
    bridge::{Blocked, Chain, InTheWay},
    layout::Move,
    report::{GapFacts, NearMissReport},
};
use schemars::JsonSchema;
use serde::Serialize;

/// What comes nearest to bridging a gap.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NearMissDocument {
    /// Moves after which a chain closes, those whose chain can be made up first, since only they open the gap; the first
    /// is move 1 of `--apply`.
    pub moves: Vec<SuggestionDocument>,
    /// The nearest moves that would close a chain but may not be made.
    pub refused: Vec<RefusedDocument>,
    /// The chain that comes nearest where there is no move at all; else `null`.
    pub nearest: Option<NearestDocument>,
    /// The bounds within which moves were looked for; `null` when nothing enters one of the ports.
    pub searched: Option<SearchedDocument>,
    /// What stands in the way of the chains that close; `null` when none closes.
    pub blocked: Option<BlockedDocument>,
    /// Parts that the catalog lacks, with one of which a chain closes.
    pub missing: Vec<MissingDocument>,
    /// Reasons to check by hand, in words.
    pub reasons: Vec<String>,
}

/// A move after which a chain closes: it opens the gap if that chain can be made up.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SuggestionDocument {
    /// Name of the component.
    pub component: String,
    /// Components that are mounted on it and move with it.
    pub carried: Vec<String>,
    /// By how much it is shifted.
    pub shift_mm: [f64; 3],
    /// By how much it is turned about its top axis, counter-clockwise seen from above its top.
    pub turn_deg: f64,
    /// Whether that stays within the play of the layout.
    pub in_play: bool,
    /// Whether it is more than an adjustment, and offered because no small move lets a chain close.
    pub large: bool,
    /// The parts of the chain that then closes, by their ids.
    pub parts: Vec<String>,
    /// Whether and how that chain can be made up.
    pub make_up: MakeUpDocument,
    /// Its clearance; `null` when nothing stands within 100 mm.
    pub clearance_mm: Option<f64>,
}

/// A move that may not be made.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RefusedDocument {
    /// Name of the component.
    pub component: String,
    /// By how much it would be shifted.
    pub shift_mm: [f64; 3],
    /// By how much it would be turned.
    pub turn_deg: f64,
    /// Components that are mounted on it and would move with it.
    pub carried: Vec<String>,
    /// The parts of the chain that it would close, by their ids.
    pub parts: Vec<String>,
    /// What speaks against it, in words.
    pub why: String,
}

/// The chain that comes nearest where there is no move at all.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NearestDocument {
    /// Component of the second port.
    pub component: String,
    /// What the second port would have to be shifted by to meet the end of the chain.
    pub shift_mm: [f64; 3],
    /// How far the end of the chain is out of line with the second port.
    pub off_deg: f64,
    /// The parts of the chain, by their ids.
    pub parts: Vec<String>,
    /// The body most in its way; `null` when none is.
    pub body: Option<String>,
    /// The signed distance to that body; `null` when none is in the way.
    pub body_mm: Option<f64>,
}

/// The bounds within which moves were looked for.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SearchedDocument {
    /// The components that were moved; empty where whatever carries one port takes the other along.
    pub components: Vec<String>,
    /// Longest shift.
    pub reach_mm: f64,
    /// Longest chain, in parts.
    pub parts: usize,
    /// Whether everything within these bounds was gone through.
    pub complete: bool,
}

/// What stands in the way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BlockedDocument {
    /// How many chains that close were looked at: those of fewest parts and least loss.
    pub looked_at: usize,
    /// How many of these are clear of everything.
    pub clear: usize,
    /// Whether these are all there are.
    pub all: bool,
    /// What they run into, most often first.
    pub blockers: Vec<BlockerDocument>,
    /// The parts of the chain for which least would have to give way.
    pub best_parts: Vec<String>,
    /// The clearance with which one of them would pass; `null` when each overlaps something.
    pub passing_clearance_mm: Option<f64>,
}

impl BlockedDocument {
    pub(super) fn new(blocked: &Blocked) -> Self {
        let blocker = |blocker: &InTheWay| BlockerDocument {
            body: blocker.body.clone(),
            carries: blocker.carries.clone(),
            is_seat: blocker.is_seat,
            chains: blocker.chains,
            alone: blocker.alone,
            least_mm: tidy(blocker.give_way_mm[0]),
            most_mm: tidy(blocker.give_way_mm[1]),
        };
        Self {
            looked_at: blocked.looked_at,
            clear: blocked.clear,
            all: blocked.all,
            blockers: blocked.blockers.iter().map(blocker).collect(),
            best_parts: parts(&blocked.best),
            passing_clearance_mm: blocked.passing_mm.map(tidy),
        }
    }
}

/// A body in the way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BlockerDocument {
    /// Name of the panel or component; `null` where parts of the chain run into each other.
    pub body: Option<String>,
    /// The port of the gap that it carries; `null` if it carries none.
    pub carries: Option<String>,
    /// Whether it carries a seat in which chains stand too deep, rather than standing beside them.
    pub is_seat: bool,
    /// How many of the chains it is in the way of.
    pub chains: usize,
    /// How many of these are clear of everything else.
    pub alone: usize,
    /// The least by which it would have to give way for one of them.
    pub least_mm: f64,
    /// The most by which it would have to give way for one of them.
    pub most_mm: f64,
}

/// A part that the catalog lacks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MissingDocument {
    /// What it is, in words.
    pub what: String,
    /// The parts of the chain that closes with it.
    pub parts: Vec<String>,
    /// Its clearance; `null` when nothing stands within 100 mm.
    pub clearance_mm: Option<f64>,
}

impl NearMissDocument {
    /// The document of the near misses of a gap.
    #[must_use]
    pub fn new(gap: &GapFacts, report: &NearMissReport) -> Self {
        let found = &report.found;
        Self {
            moves: found
                .moves
                .iter()
                .zip(&report.chains)
                .map(|(suggestion, in_words)| SuggestionDocument {
                    component: suggestion.component.clone(),
                    carried: suggestion.carried.clone(),
                    shift_mm: shift(&suggestion.by),
                    turn_deg: tidy(suggestion.by.turn_deg),
                    in_play: suggestion.in_play,
                    large: suggestion.large,
                    parts: parts(&suggestion.chain),
                    make_up: MakeUpDocument::new(gap, in_words, &suggestion.make_up),
                    clearance_mm: clearance(&suggestion.chain),
                })
                .collect(),
            refused: found
                .refused
                .iter()
                .map(|refused| RefusedDocument {
                    component: refused.component.clone(),
                    shift_mm: shift(&refused.by),
                    turn_deg: tidy(refused.by.turn_deg),
                    carried: refused.carried.clone(),
                    parts: refused.parts.clone(),
                    why: refused.why.to_string(),
                })
                .collect(),
            nearest: found.nearest.as_ref().map(|nearest| NearestDocument {
                component: nearest.component.clone(),
                shift_mm: nearest.shift_mm.map(tidy),
                off_deg: tidy(nearest.off_deg),
                parts: parts(&nearest.chain),
                body: nearest.in_the_way.as_ref().map(|(body, _)| body.clone()),
                body_mm: nearest.in_the_way.as_ref().map(|(_, mm)| tidy(*mm)),
            }),
            searched: Some(&found.searched).filter(|searched| searched.parts > 0).map(|searched| SearchedDocument {
                components: searched.components.clone(),
                reach_mm: tidy(searched.reach_mm),
                parts: searched.parts,
                complete: searched.complete,
            }),
            blocked: found.blocked.as_ref().map(BlockedDocument::new),
            missing: found
                .missing
                .iter()
                .map(|missing| MissingDocument {
                    what: missing.what.clone(),
                    parts: parts(&missing.chain),
                    clearance_mm: clearance(&missing.chain),
                })
                .collect(),
            reasons: found.reasons.iter().map(ToString::to_string).collect(),
        }
    }
}

fn shift(by: &Move) -> [f64; 3] {
    by.shift_mm.map(tidy)
}

fn parts(chain: &Chain) -> Vec<String> {
    chain.parts.iter().map(|part| part.fitting.clone()).collect()
}

fn clearance(chain: &Chain) -> Option<f64> {
    chain.clearance.as_ref().map(|clearance| tidy(clearance.mm))
}
