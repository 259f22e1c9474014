//! The bridge report for programs.

use super::{
    SeatDocument,
    chain::{ChainDocument, chain},
    near_miss::{BlockedDocument, NearMissDocument},
    number::{fine, tidy},
};
use crate::{
    bridge::{Completeness, Counts, StopReason, Together},
    catalog::{Gender, Thread},
    interference::Meeting,
    report::{self, FlowBasis, Outcome, RankBy, words::sampled_kinds},
};
use schemars::JsonSchema;
use serde::Serialize;

/// What `bridge` found, gap by gap. Lengths in millimetres, angles in degrees, positions in the layout's axes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BridgeDocument {
    /// Always `elbowroom.bridge`.
    pub format: BridgeFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// Name of the machine.
    pub layout: String,
    /// How all gaps together ended: `does_not_fit` if any did, else `no_proof` if any did, else `fits`.
    pub outcome: Outcome,
    /// Longest chain considered, in parts.
    pub max_parts: usize,
    /// How many chains were wanted for each gap. No more are listed, but where the chain of a gap that goes together with
    /// those of the others ranks lower.
    pub want: usize,
    /// What the chains are ranked by, the first figure first; the search ranks by parts, then loss.
    pub rank: Vec<RankBy>,
    /// Least clearance demanded.
    pub clearance_mm: f64,
    /// Flow at which losses are stated; a gap in one of several branches has its own.
    pub flow_l_min: f64,
    /// Where that flow comes from.
    pub flow_is: FlowBasis,
    /// How far a chain may miss its port.
    pub closure_mm: f64,
    /// How far a chain may be out of line with its port's axis.
    pub closure_deg: f64,
    /// The bodies of the layout that overlap, deepest first; chains are looked for all the same.
    pub overlaps: Vec<OverlapDocument>,
    /// The gaps in the order they were asked for.
    pub gaps: Vec<GapDocument>,
    /// Which chains can be built side by side; `null` for a single gap.
    pub together: Option<TogetherDocument>,
}

/// Two bodies that overlap.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverlapDocument {
    /// The component.
    pub a: String,
    /// The panel, or the other component.
    pub b: String,
    /// How deep.
    pub depth_mm: f64,
}

impl OverlapDocument {
    pub(super) fn new(meeting: &Meeting) -> Self {
        Self { a: meeting.a.clone(), b: meeting.b.clone(), depth_mm: tidy(-meeting.worst.separation.signed_mm) }
    }
}

/// One chain for each gap, so that all of them leave room for each other.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TogetherDocument {
    /// Whether every two of the chains keep the clearance demanded. When they do not, the best of each gap are named.
    pub agree: bool,
    /// For each gap, which of its chains, counted from 1; `null` for a gap without any.
    pub chosen: Vec<Option<usize>>,
    /// The two gaps whose chains come nearest to each other, counted from 1; `null` when none come near.
    pub nearest_gaps: Option<[usize; 2]>,
    /// How near these come; negative where they overlap.
    pub nearest_mm: Option<f64>,
}

impl TogetherDocument {
    fn new(together: &Together) -> Self {
        Self {
            agree: together.agree,
            chosen: together.chosen.iter().map(|chosen| chosen.map(|chosen| chosen + 1)).collect(),
            nearest_gaps: together.nearest.map(|(one, other, _)| [one + 1, other + 1]),
            nearest_mm: together.nearest.map(|(.., mm)| tidy(mm)),
        }
    }
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum BridgeFormat {
    /// The only value.
    #[serde(rename = "elbowroom.bridge")]
    Bridge,
}

/// One gap.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GapDocument {
    /// Where the chain starts.
    pub from: PortDocument,
    /// Where it ends.
    pub to: PortDocument,
    /// Straight distance between the sealing faces.
    pub distance_mm: f64,
    /// The part of it along the first port's axis; negative when the second port lies behind.
    pub ahead_mm: f64,
    /// The part of it square to the first port's axis.
    pub aside_mm: f64,
    /// Angle between the axes: 0 when both ports face the same way, 180 when they face each other.
    pub axes_deg: f64,
    /// How its two ports sit on their components. Where `no_proof` comes of a fault of theirs, nothing is proven.
    pub seats: [SeatDocument; 2],
    /// Flow at which the losses of its chains are stated.
    pub flow_l_min: f64,
    /// How the search ended.
    pub outcome: Outcome,
    /// How complete the answer is.
    pub completeness: CompletenessDocument,
    /// What the search did.
    pub counts: CountsDocument,
    /// Reasons that hold before any search, in words.
    pub obstacles: Vec<String>,
    /// The chains, no more than were wanted: those that can be made up first, and among these the best first.
    pub chains: Vec<ChainDocument>,
    /// Among how many they were put in another order than that of the search; `null` where they are in that order.
    pub compared: Option<ComparedDocument>,
    /// How many chains were found besides and are left out: because they cannot be made up, or because more were looked
    /// at than were wanted, for one that can.
    pub left_out: usize,
    /// What is in the way of other chains where there is one; `null` where there is none, and of several gaps.
    pub in_the_way: Option<BlockedDocument>,
    /// What comes nearest where there is no chain; `null` where there is one, where it was not asked for, and where the
    /// search was stopped, which shows nothing of what would be needed.
    pub near_misses: Option<NearMissDocument>,
}

/// Among how many chains a list was put in another order than that of the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ComparedDocument {
    /// How many chains were found and compared.
    pub chains: usize,
    /// How many of those listed, from the first, are proven to rank before all that were not found.
    pub proven: usize,
}

/// A port.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PortDocument {
    /// `component.port`.
    pub name: String,
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Centre of the sealing face.
    pub at: [f64; 3],
    /// Which way it faces, of length one.
    pub facing: [f64; 3],
}

/// How complete an answer is.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "kind", rename_all = "snake_case")]
pub enum CompletenessDocument {
    /// Every chain was considered: those listed are the best there are; with none listed, none exists.
    Complete {
        /// Part count up to which this holds.
        parts: usize,
    },
    /// The wanted number was found and proven best; lower-ranked chains were not searched.
    BestProven {
        /// Part count of the last chain listed.
        parts: usize,
    },
    /// Every chain was considered, except that the longest were only sampled.
    Sampled {
        /// Part count up to which every chain was considered.
        complete_parts: usize,
        /// Part count up to which chains were sampled.
        parts: usize,
        /// What was sampled rather than proven.
        what: String,
    },
    /// The search stopped early.
    Stopped {
        /// Why.
        why: StopDocument,
        /// Part count up to which every chain was considered.
        complete_parts: usize,
        /// Part count at which the search stopped.
        at_parts: usize,
    },
}

/// Why a search stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StopDocument {
    /// It was told to.
    Cancelled,
    /// Its budget of closures was used up.
    Budget,
}

/// What a search did.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CountsDocument {
    /// Sequences of parts that the threads allow, of every part count that was begun; a whole number that may be beyond
    /// 2^53. A search that was stopped has not gone through all of those of the last count.
    pub sequences: f64,
    /// First turning parts at a port, after a straight run of one length, that run into something however they are
    /// turned, and lengths of such runs that do so themselves; nothing that begins so was closed.
    pub barred: u64,
    /// Closure attempts; one stands for all sequences of parts with identical geometry.
    pub closures: u64,
    /// Of these closures, how many were left out before they were fitted to the ports: wherever such a chain closes, it comes
    /// too near to something.
    pub stuck: u64,
    /// Shapes of chain that closed among the others, each for all chains whose parts are of equal geometry and loss: it may stand for
    /// more than one chain of named parts.
    pub closed: u64,
    /// Chains of named parts, of the shapes that closed, that were tested for collision: least loss first, as far as they
    /// were needed.
    pub tested: u64,
    /// Of these chains, how many collide.
    pub collided: u64,
}

impl BridgeDocument {
    /// The document of a report.
    #[must_use]
    pub fn new(report: &report::BridgeReport) -> Self {
        Self {
            format: BridgeFormat::Bridge,
            version: 1,
            layout: report.layout.clone(),
            outcome: report.outcome(),
            max_parts: report.max_parts,
            want: report.want,
            rank: report.ranking.figures().to_vec(),
            clearance_mm: tidy(report.clearance_mm),
            flow_l_min: tidy(report.flow_l_min),
            flow_is: report.flow_is,
            closure_mm: tidy(report.closure_mm),
            closure_deg: tidy(report.closure_deg),
            overlaps: report.overlaps.iter().map(OverlapDocument::new).collect(),
            gaps: report.gaps.iter().map(gap).collect(),
            together: report.together.as_ref().map(TogetherDocument::new),
        }
    }
}

fn gap(gap: &report::GapReport) -> GapDocument {
    GapDocument {
        from: port(&gap.facts.from),
        to: port(&gap.facts.to),
        distance_mm: tidy(gap.facts.distance_mm),
        ahead_mm: tidy(gap.facts.ahead_mm),
        aside_mm: tidy(gap.facts.aside_mm),
        axes_deg: tidy(gap.facts.axes_deg),
        seats: [0, 1].map(|port: usize| SeatDocument::new(&gap.seats[port])),
        flow_l_min: tidy(gap.flow_l_min),
        outcome: gap.outcome(),
        completeness: completeness(&gap.answer.completeness),
        counts: counts(&gap.answer.counts),
        obstacles: gap.answer.obstacles.clone(),
        chains: gap
            .answer
            .chains
            .iter()
            .zip(&gap.chains)
            .take(gap.listed)
            .enumerate()
            .map(|(index, (found, parts))| chain(gap, index, found, parts))
            .collect(),
        compared: gap
            .compared
            .map(|compared| ComparedDocument { chains: compared.chains, proven: compared.proven.min(gap.listed) }),
        left_out: gap.answer.chains.len().saturating_sub(gap.listed),
        in_the_way: gap.in_the_way.as_ref().map(BlockedDocument::new),
        near_misses: gap.near_misses.as_ref().map(|near| NearMissDocument::new(&gap.facts, near)),
    }
}

pub(super) fn port(facts: &report::PortFacts) -> PortDocument {
    PortDocument {
        name: facts.name.clone(),
        thread: facts.thread,
        gender: facts.gender,
        at: facts.at.map(tidy),
        facing: facts.facing.map(fine),
    }
}

pub(super) fn completeness(completeness: &Completeness) -> CompletenessDocument {
    match *completeness {
        Completeness::Complete { parts } => CompletenessDocument::Complete { parts },
        Completeness::BestProven { parts } => CompletenessDocument::BestProven { parts },
        Completeness::Sampled { complete_parts, parts, ref what } => {
            CompletenessDocument::Sampled { complete_parts, parts, what: sampled_kinds(what) }
        }
        Completeness::Stopped { why, complete_parts, at_parts } => CompletenessDocument::Stopped {
            why: match why {
                StopReason::Cancelled => StopDocument::Cancelled,
                StopReason::Budget => StopDocument::Budget,
            },
            complete_parts,
            at_parts,
        },
    }
}

fn counts(counts: &Counts) -> CountsDocument {
    CountsDocument {
        // JSON has no infinity; the greatest number stands for what is beyond it.
        sequences: counts.sequences.min(f64::MAX),
        barred: counts.barred,
        closures: counts.closures,
        stuck: counts.stuck,
        closed: counts.closed,
        tested: counts.tested,
        collided: counts.collided,
    }
}
