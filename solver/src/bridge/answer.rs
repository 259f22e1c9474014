//! What `bridge` is asked and what it answers.

use super::{
    bad_wish::{BadWish, clearance, counted, flow},
    closure::MAX_TURNS,
    progress::{Counts, Progress},
};
use crate::geometry::{Pose, State};
use std::sync::atomic::AtomicBool;

/// Longest chain that can be asked for, in parts: as many as there can be turning parts. Far beyond what anyone would
/// screw together, and a bound on memory.
pub const MOST_PARTS: usize = MAX_TURNS;

/// What is wanted of a bridge.
#[derive(Clone, Copy)]
pub struct Wishes<'a> {
    /// Longest chain to consider, in parts: from 1 to [`MOST_PARTS`].
    pub max_parts: usize,
    /// How many chains are wanted, from 1 to [`MOST_WANTED`]; the search stops once that many are proven best. What is one
    /// entry counts as one, see [`entries`](super::entries()).
    pub want: usize,
    /// Least clearance in millimetres, within [`CLEARANCES_MM`](super::CLEARANCES_MM); the layout's allowance when
    /// `None`.
    pub clearance_mm: Option<f64>,
    /// Flow at which losses are stated, in L/min, within [`FLOWS_L_MIN`](super::FLOWS_L_MIN); the layout's design flow
    /// when `None`.
    pub flow_l_min: Option<f64>,
    /// Stop without proof where a further closure attempt would be one more than this; no limit when `None`.
    pub closure_budget: Option<u64>,
    /// Set to `true` from another thread to stop the search: the answer holds what was found and proven by then.
    pub cancel: Option<&'a AtomicBool>,
    /// Called now and then, from any thread of the search.
    pub progress: Option<&'a (dyn Fn(&Progress) + Sync)>,
}

impl Default for Wishes<'_> {
    /// Up to 5 parts, the 20 best, the layout's own allowances, no limit.
    fn default() -> Self {
        Self {
            max_parts: 5,
            want: 20,
            clearance_mm: None,
            flow_l_min: None,
            closure_budget: None,
            cancel: None,
            progress: None,
        }
    }
}

/// Most chains that may be wanted of one gap: far more than anyone reads, and a bound on memory.
pub const MOST_WANTED: usize = 1_000_000;

impl Wishes<'_> {
    /// Checks every wish against its range.
    ///
    /// # Errors
    /// The first that is not a number or outside its range.
    pub fn check(&self) -> Result<(), BadWish> {
        counted("max_parts", self.max_parts, &(1..=MOST_PARTS), "give the longest chain to consider, in parts")?;
        counted("want", self.want, &(1..=MOST_WANTED), "give how many chains to list")?;
        clearance(self.clearance_mm)?;
        flow(self.flow_l_min)
    }
}

/// The chains that join the two ports of a gap, best first, and how complete that list is.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Ranked by part count, then loss, then clearance (largest first), then part ids read from whichever end comes
    /// first in the alphabet, so that the order is the same from either port. What is one entry, see
    /// [`entries`](super::entries()), stands together in that order, where its first chain ranks: a chain that closes in
    /// several postures, as two that are each other's mirror image, is there in each that has room. Of a chain that can
    /// move, or be drawn out, the clearest posture found is listed.
    pub chains: Vec<Chain>,
    /// What was and what was not considered.
    pub completeness: Completeness,
    /// What the search did.
    pub counts: Counts,
    /// Reasons that hold before any search, such as a port too narrow for every collar.
    pub obstacles: Vec<String>,
}

impl Answer {
    /// Whether the search was told to stop: a longer or better list may have been cut short.
    #[must_use]
    pub fn was_cancelled(&self) -> bool {
        matches!(self.completeness, Completeness::Stopped { why: StopReason::Cancelled, .. })
    }
}

/// A chain of fittings from the first port to the second.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// The parts in order from the first port.
    pub parts: Vec<ChainPart>,
    /// How far the chain, seated at one of the ports, misses the other, in millimetres. It is seated at the port that the
    /// layout's circuit leaves, see [`bridge`](super::bridge).
    pub residual_mm: f64,
    /// How far its end is out of line with that port's axis, in degrees.
    pub residual_deg: f64,
    /// The miss as a vector in the layout's axes: what that port would have to move to meet the chain.
    pub residual_vector_mm: [f64; 3],
    /// Pressure loss at the stated flow, in kilopascals.
    pub loss_kpa: f64,
    /// Smallest distance to anything the chain does not join; `None` when nothing stands within [`CLEARANCE_HORIZON_MM`].
    pub clearance: Option<Clearance>,
    /// Length of the centreline in millimetres.
    pub length_mm: f64,
    /// Sum of the prices, if every part has one.
    pub price: Option<f64>,
}

/// Distance beyond which a chain's nearest neighbour is not looked for, in millimetres.
pub const CLEARANCE_HORIZON_MM: f64 = 100.0;

/// A part of a chain and how it sits.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainPart {
    /// The fitting's id in the catalog.
    pub fitting: String,
    /// The end that faces the first port: 0, or 1 when the part is built in the other way round.
    pub entry: usize,
    /// Pose of the fitting's frame in the layout.
    pub pose: Pose,
    /// How far an adjustable part is drawn out.
    pub stretch_mm: f64,
    /// Turn of the part against the part (or port) before it, in degrees, in [0, 360), where a swivel in that
    /// run allows a choice; `None` for parts whose turn about their own axis makes no difference.
    pub turn_deg: Option<f64>,
}

/// What a chain comes nearest to.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// Signed distance in millimetres.
    pub mm: f64,
    /// In words.
    pub state: State,
    /// Name of the panel or component.
    pub body: String,
    /// Index of the part of the chain that comes nearest.
    pub part: usize,
    /// The nearest point on the chain, in the layout's axes.
    pub on_chain: [f64; 3],
    /// The nearest point on the body, in the layout's axes.
    pub on_body: [f64; 3],
}

/// How much of the space of chains an answer covers.
#[derive(Clone, Debug, PartialEq)]
pub enum Completeness {
    /// Every chain up to `parts` parts was considered, so the chains listed are the best there are; with none
    /// listed, none exists.
    Complete {
        /// Part count up to which the statement holds.
        parts: usize,
    },
    /// The wanted number was found and proven best; longer or lossier chains were not looked for.
    BestProven {
        /// Part count of the last chain listed.
        parts: usize,
    },
    /// Every chain was considered, except that some kinds of chains were only sampled.
    Sampled {
        /// Part count up to which every chain was considered.
        complete_parts: usize,
        /// Part count up to which chains were sampled.
        parts: usize,
        /// What was sampled rather than proven, each kind once, in order.
        what: Vec<Sampling>,
    },
    /// The search stopped early.
    Stopped {
        /// Why.
        why: StopReason,
        /// Part count up to which every chain was considered.
        complete_parts: usize,
        /// Part count at which the search stopped.
        at_parts: usize,
    },
}

/// A kind of chain of which not every posture was considered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sampling {
    /// Six or more turning parts, or several offsets with more bends than the closed forms take: closed from a fixed set
    /// of starts.
    ManyTurns,
    /// Chains that collide where several adjustable parts stand in one straight run: the first is drawn out first, and other
    /// ways of sharing the length were not tried.
    SharedLength,
    /// Chains that close and can still move in two independent ways or more, all of whose postures that were tried
    /// collide.
    MovesTwoWays,
    /// Chains that close and can still move, all of whose postures that were tried collide, where the motion could not be
    /// followed to its end.
    MotionNotFollowed,
}

/// Why a search stopped before its proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// The caller asked it to stop.
    Cancelled,
    /// The closure budget was used up.
    Budget,
}
