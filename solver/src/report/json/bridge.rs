//! The bridge report for programs.

use super::{
    SeatDocument,
    make_up::MakeUpDocument,
    near_miss::NearMissDocument,
    number::{fine, tidy},
    slack::SlackDocument,
};
use crate::{
    bridge::{Chain, ChainPart, Clearance, Completeness, Counts, Slack, StopReason, Together},
    catalog::{Gender, Thread},
    geometry::{Pose, State},
    interference::Meeting,
    report::{self, FlowBasis, Outcome, odd_turns, words::sampled_kinds},
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
    /// How many chains were found besides and are left out: because they cannot be made up, or because more were looked
    /// at than were wanted, for one that can.
    pub left_out: usize,
    /// What comes nearest where there is no chain; `null` where there is one, where it was not asked for, and where the
    /// search was stopped, which shows nothing of what would be needed.
    pub near_misses: Option<NearMissDocument>,
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
    /// turned; nothing that begins so was closed.
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

/// A chain of fittings.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChainDocument {
    /// 1 for the best.
    pub rank: usize,
    /// The chain that it is a variant of; `null` where it is an entry of its own. `want` counts entries.
    pub variant_of: Option<VariantDocument>,
    /// How many of its parts have to be aimed at an odd angle: neither in line with the bend before, nor opposite or at a
    /// right angle to it; of the first, not along an axis of the layout.
    pub odd_turns: usize,
    /// Pressure loss at the stated flow.
    pub loss_kpa: f64,
    /// What it comes nearest to; `null` when nothing stands within 100 mm.
    pub clearance: Option<ClearanceDocument>,
    /// How far its end misses the second port.
    pub residual_mm: f64,
    /// How far its end is out of line with the second port's axis.
    pub residual_deg: f64,
    /// The miss as a vector: what the second port would have to move to meet the chain.
    pub residual_vector_mm: [f64; 3],
    /// Length of the centreline.
    pub length_mm: f64,
    /// Sum of the prices; `null` unless every part has one.
    pub price: Option<f64>,
    /// The parts in order from the first port.
    pub parts: Vec<PartDocument>,
    /// Whether and how it can be made up; `null` where that was not asked for.
    pub make_up: Option<MakeUpDocument>,
    /// What it absorbs; `null` unless that was asked for.
    pub slack: Option<SlackDocument>,
}

/// A chain of the same parts that is listed before this one.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VariantDocument {
    /// Its rank.
    pub rank: usize,
    /// How this one differs.
    pub differs: report::Variant,
}

/// What a chain comes nearest to.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClearanceDocument {
    /// Signed distance.
    pub mm: f64,
    /// In a word.
    pub state: StateDocument,
    /// Name of the panel or component.
    pub body: String,
    /// Which part of the chain, counted from 0.
    pub part: usize,
    /// The nearest point on the chain.
    pub on_chain: [f64; 3],
    /// The nearest point on the body.
    pub on_body: [f64; 3],
}

/// How two solids stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StateDocument {
    /// Apart.
    Clear,
    /// In contact without depth.
    Touching,
    /// Partly in the same place.
    Overlapping,
    /// One wholly inside the other.
    Inside,
}

/// A part of a chain.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartDocument {
    /// The fitting's id.
    pub fitting: String,
    /// Its plain name.
    pub name: String,
    /// The end that faces the first port: 0, or 1 when the part is built in the other way round.
    #[schemars(range(max = 1))]
    pub entry: usize,
    /// Turn against the part before it, in [0, 360); `null` where it makes no difference.
    pub turn_deg: Option<f64>,
    /// How it is aimed, in words; `null` where there is nothing to aim.
    pub aim: Option<AimDocument>,
    /// How far an adjustable part is drawn out.
    pub stretch_mm: f64,
    /// Which way the centreline leaves it, of length one.
    pub heads: [f64; 3],
    /// Where the centreline leaves it.
    pub ends_at: [f64; 3],
    /// Origin of the fitting's frame.
    pub at: [f64; 3],
    /// Rotation of the fitting's frame as a unit quaternion: w, x, y, z.
    pub rotation_wxyz: [f64; 4],
}

/// How a part is aimed, in words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AimDocument {
    /// Where its free end points: a side of the machine, named by its panel or axis, and how far up or down.
    pub towards: String,
    /// Its turn against the bend before or the port's mark, as on the face of a clock seen from the free end.
    pub against: String,
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
            .map(|(index, (found, parts))| {
                let made = gap.make_up.get(index).map(|made| MakeUpDocument::new(&gap.facts, parts, made));
                let variant = gap.variant(index);
                let variant_of = variant.map(|(first, differs)| VariantDocument { rank: first + 1, differs });
                ChainDocument { variant_of, ..chain(index + 1, found, parts, made, gap.slack.get(index)) }
            })
            .collect(),
        left_out: gap.answer.chains.len().saturating_sub(gap.listed),
        near_misses: gap.near_misses.as_ref().map(|near| NearMissDocument::new(&gap.facts, near)),
    }
}

fn port(facts: &report::PortFacts) -> PortDocument {
    PortDocument {
        name: facts.name.clone(),
        thread: facts.thread,
        gender: facts.gender,
        at: facts.at.map(tidy),
        facing: facts.facing.map(fine),
    }
}

fn completeness(completeness: &Completeness) -> CompletenessDocument {
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

fn chain(
    rank: usize,
    chain: &Chain,
    parts: &[report::PartReport],
    make_up: Option<MakeUpDocument>,
    slack: Option<&Slack>,
) -> ChainDocument {
    ChainDocument {
        rank,
        variant_of: None,
        odd_turns: odd_turns(parts),
        loss_kpa: tidy(chain.loss_kpa),
        clearance: chain.clearance.as_ref().map(clearance),
        residual_mm: tidy(chain.residual_mm),
        residual_deg: tidy(chain.residual_deg),
        residual_vector_mm: chain.residual_vector_mm.map(tidy),
        length_mm: tidy(chain.length_mm),
        price: chain.price.map(tidy),
        parts: chain.parts.iter().zip(parts).map(|(placed, part)| self::part(placed, part)).collect(),
        make_up,
        slack: slack.map(SlackDocument::new),
    }
}

fn clearance(clearance: &Clearance) -> ClearanceDocument {
    ClearanceDocument {
        mm: tidy(clearance.mm),
        state: state(clearance.state),
        body: clearance.body.clone(),
        part: clearance.part,
        on_chain: clearance.on_chain.map(tidy),
        on_body: clearance.on_body.map(tidy),
    }
}

pub(super) fn state(state: State) -> StateDocument {
    match state {
        State::Clear => StateDocument::Clear,
        State::Touching => StateDocument::Touching,
        State::Overlapping => StateDocument::Overlapping,
        State::Inside => StateDocument::Inside,
    }
}

fn part(placed: &ChainPart, part: &report::PartReport) -> PartDocument {
    let (at, rotation_wxyz) = place(&placed.pose);
    PartDocument {
        fitting: placed.fitting.clone(),
        name: part.name.clone(),
        entry: placed.entry,
        turn_deg: placed.turn_deg.map(|turn| tidy(turn).rem_euclid(360.0)),
        aim: part.aim.as_ref().map(|aim| AimDocument { towards: aim.towards.clone(), against: aim.against.clone() }),
        stretch_mm: tidy(placed.stretch_mm),
        heads: part.heads.map(fine),
        ends_at: part.ends_at.map(tidy),
        at,
        rotation_wxyz,
    }
}

fn place(pose: &Pose) -> ([f64; 3], [f64; 4]) {
    let at: [f64; 3] = pose.translation.vector.into();
    let q = pose.rotation.quaternion();
    // A quaternion and its negative are the same rotation; the one with positive w is written.
    let sign = if q.w < 0.0 { -1.0 } else { 1.0 };
    (at.map(tidy), [q.w, q.i, q.j, q.k].map(|component| fine(component * sign)))
}
