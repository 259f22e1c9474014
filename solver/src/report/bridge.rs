//! Everything a bridge report shows, gathered from layout, catalog and answer.

use super::{GapFacts, Outcome};
use crate::{
    bridge::{Answer, ChainPart},
    catalog::FittingDef,
    geometry::{axis, origin},
};

/// The answers to some or all gaps of a layout, and what was asked.
#[derive(Clone, Debug, PartialEq)]
pub struct BridgeReport {
    /// Name of the machine.
    pub layout: String,
    /// Longest chain considered, in parts.
    pub max_parts: usize,
    /// How many chains were wanted for each gap.
    pub want: usize,
    /// Least clearance demanded.
    pub clearance_mm: f64,
    /// Flow at which losses are stated.
    pub flow_l_min: f64,
    /// How far a chain may miss its port.
    pub closure_mm: f64,
    /// How far a chain may be out of line with its port's axis.
    pub closure_deg: f64,
    /// The gaps in the order they were asked for.
    pub gaps: Vec<GapReport>,
}

impl BridgeReport {
    /// How all gaps together ended.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        Outcome::worst(self.gaps.iter().map(|gap| Outcome::of(&gap.answer)))
    }
}

/// A gap and its answer.
#[derive(Clone, Debug, PartialEq)]
pub struct GapReport {
    /// The ports.
    pub facts: GapFacts,
    /// The answer.
    pub answer: Answer,
    /// For each chain of the answer, its parts as a person needs them.
    pub chains: Vec<Vec<PartReport>>,
}

/// A part of a chain as a person needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct PartReport {
    /// The fitting's id.
    pub fitting: String,
    /// Its plain name.
    pub name: String,
    /// Whether it is built in with its second end first.
    pub reversed: bool,
    /// Turn against the part before it, where that is a choice; in degrees, in [0, 360).
    pub turn_deg: Option<f64>,
    /// How far an adjustable part is drawn out.
    pub stretch_mm: f64,
    /// Which way the centreline leaves it, in the layout's axes; of length one.
    pub heads: [f64; 3],
    /// Where the centreline leaves it, in the layout's axes.
    pub ends_at: [f64; 3],
}

impl PartReport {
    /// What a person needs to know of `part`, which is made of `fitting`.
    ///
    /// A part whose ends are not as the fitting says (a chain and a catalog that do not belong together) heads
    /// nowhere: its direction and place are then those of the part's own frame.
    #[must_use]
    pub fn new(fitting: &FittingDef, part: &ChainPart) -> Self {
        let ends = fitting.end_frames(part.stretch_mm);
        let exit = ends.get(1 - part.entry.min(1)).copied().unwrap_or_default();
        let exit = part.pose * exit;
        Self {
            fitting: part.fitting.clone(),
            name: fitting.name.clone(),
            reversed: part.entry != 0,
            turn_deg: part.turn_deg,
            stretch_mm: part.stretch_mm,
            heads: axis(&exit).into(),
            ends_at: origin(&exit).coords.into(),
        }
    }
}
