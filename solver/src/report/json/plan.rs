//! The plan of a machine for programs.

use super::{
    bridge::{CompletenessDocument, PortDocument, completeness, port},
    chain::{ChainDocument, chain},
    make_up::MakeUpDocument,
    number::tidy,
};
use crate::{
    plan::{Conflict, Proof},
    report::{self, FlowBasis, Outcome, PlanReport},
};
use schemars::JsonSchema;
use serde::Serialize;

/// A chain for each gap of a machine, the order in which they are made up, and what to get. Lengths in millimetres, angles in
/// degrees, positions in the layout's axes; gaps are counted from 1.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanDocument {
    /// Always `elbowroom.plan`.
    pub format: PlanFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// Name of the machine.
    pub layout: String,
    /// How it ended: `does_not_fit` if a gap is proven to have no chain or is excluded by others, else `no_proof` if one stays
    /// open without proof, else `fits`.
    pub outcome: Outcome,
    /// Longest chain considered, in parts.
    pub max_parts: usize,
    /// Least clearance demanded, between chains as well.
    pub clearance_mm: f64,
    /// Flow at which losses are stated; a gap in one of several branches has its own.
    pub flow_l_min: f64,
    /// Where that flow comes from.
    pub flow_is: FlowBasis,
    /// The gaps in the order of the layout.
    pub gaps: Vec<PlannedGapDocument>,
    /// The gaps in the order in which their chains are made up.
    pub order: Vec<usize>,
    /// Parts of all chains.
    pub parts: u64,
    /// What they lose together.
    pub loss_kpa: f64,
    /// What is proven of the set of chains.
    pub proof: ProofDocument,
    /// By how many parts another set could be better, where that is not proven.
    pub parts_from_best: Option<u64>,
    /// Gaps that exclude each other.
    pub conflicts: Vec<ConflictDocument>,
    /// The parts of all chains, by id, with how many of each are at hand and have to be got.
    pub items: Vec<ItemDocument>,
    /// What has to be got costs, of the pieces whose price is known.
    pub price: f64,
    /// Ports to be plugged.
    pub unused_ports: Vec<String>,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum PlanFormat {
    /// The only value.
    #[serde(rename = "elbowroom.plan")]
    Plan,
}

/// What is proven of a set of chains: never more than of the chains of each gap, nor beyond the assembly motions tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ProofDocument {
    /// No other set has fewer parts, or as many and less loss.
    Best,
    /// It is the best that was found.
    Found,
    /// None was found in the time that is given to it.
    GivenUp,
}

/// A gap of a plan.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedGapDocument {
    /// Where the chain starts.
    pub from: PortDocument,
    /// Where it ends.
    pub to: PortDocument,
    /// Flow at which its losses are stated.
    pub flow_l_min: f64,
    /// How the search for chains of this gap alone ended.
    pub outcome: Outcome,
    /// How complete that search is.
    pub completeness: CompletenessDocument,
    /// The chain that is built, with its rank among those of its gap, and how it is made up beside those that come before it;
    /// `null` where the gap stays open.
    pub chain: Option<ChainDocument>,
}

/// Gaps that exclude each other.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConflictDocument {
    /// The gaps.
    pub gaps: Vec<usize>,
    /// The one that stays open.
    pub left_open: usize,
    /// Whether every chain of these gaps was considered.
    pub proven: bool,
    /// Pairs of them whose best chains come too near to each other.
    pub too_near: Vec<NearPairDocument>,
    /// Chains that cannot be made up beside the others of a set that was looked at, and why.
    pub stuck: Vec<StuckDocument>,
}

/// Two gaps whose best chains come too near to each other.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NearPairDocument {
    /// The gaps.
    pub gaps: [usize; 2],
    /// How near; negative where they overlap.
    pub mm: f64,
}

/// A chain that cannot be made up beside others.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StuckDocument {
    /// Its gap.
    pub gap: usize,
    /// What stops it.
    pub make_up: MakeUpDocument,
}

/// So many pieces of a fitting.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemDocument {
    /// How many.
    pub pieces: usize,
    /// How many of them are at hand.
    pub at_hand: usize,
    /// How many have to be got.
    pub to_get: usize,
    /// The fitting's id.
    pub fitting: String,
    /// Its plain name.
    pub name: String,
    /// The price of one; `null` if it is not known.
    pub each: Option<f64>,
}

impl PlanDocument {
    /// The document of a plan.
    #[must_use]
    pub fn new(report: &PlanReport) -> Self {
        let bridge = &report.bridge;
        let (proof, parts_from_best) = match report.proof {
            Proof::Best => (ProofDocument::Best, None),
            Proof::Found { parts_from_best } => (ProofDocument::Found, Some(parts_from_best)),
            Proof::GivenUp => (ProofDocument::GivenUp, None),
        };
        let item = |item: &report::Item| ItemDocument {
            pieces: item.pieces,
            at_hand: item.at_hand,
            to_get: item.to_get(),
            fitting: item.fitting.clone(),
            name: item.name.clone(),
            each: item.each.map(tidy),
        };
        Self {
            format: PlanFormat::Plan,
            version: 1,
            layout: bridge.layout.clone(),
            outcome: report.outcome(),
            max_parts: bridge.max_parts,
            clearance_mm: tidy(bridge.clearance_mm),
            flow_l_min: tidy(bridge.flow_l_min),
            flow_is: bridge.flow_is,
            gaps: (0..bridge.gaps.len()).map(|gap| planned(report, gap)).collect(),
            order: report.order.iter().map(|gap| gap + 1).collect(),
            parts: report.parts,
            loss_kpa: tidy(report.loss_kpa),
            proof,
            parts_from_best,
            conflicts: report.conflicts.iter().map(|conflict| excluded(report, conflict)).collect(),
            items: report.items.iter().map(item).collect(),
            price: tidy(report.price().0),
            unused_ports: report.unused_ports.clone(),
        }
    }
}

fn planned(report: &PlanReport, gap: usize) -> PlannedGapDocument {
    let found = &report.bridge.gaps[gap];
    let chosen = report.bridge.chosen(gap).and_then(|chosen| {
        let (built, parts) = (found.answer.chains.get(chosen)?, found.chains.get(chosen)?);
        let make_up = report.make_up[gap].as_ref().map(|made| MakeUpDocument::new(&found.facts, parts, made));
        Some(ChainDocument { make_up, ..chain(found, chosen, built, parts) })
    });
    PlannedGapDocument {
        from: port(&found.facts.from),
        to: port(&found.facts.to),
        flow_l_min: tidy(found.flow_l_min),
        outcome: found.outcome(),
        completeness: completeness(&found.answer.completeness),
        chain: chosen,
    }
}

fn excluded(report: &PlanReport, conflict: &Conflict) -> ConflictDocument {
    let near = |(one, other, mm): &(usize, usize, f64)| NearPairDocument { gaps: [one + 1, other + 1], mm: tidy(*mm) };
    let stuck = conflict.stuck.iter().filter_map(|stuck| {
        let found = &report.bridge.gaps[stuck.gap];
        let make_up = MakeUpDocument::new(&found.facts, found.chains.get(stuck.chain)?, &stuck.make_up);
        Some(StuckDocument { gap: stuck.gap + 1, make_up })
    });
    ConflictDocument {
        gaps: conflict.gaps.iter().map(|gap| gap + 1).collect(),
        left_open: conflict.left_open + 1,
        proven: conflict.proven,
        too_near: conflict.too_near.iter().map(near).collect(),
        stuck: stuck.collect(),
    }
}
