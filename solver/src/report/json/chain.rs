//! A chain of the bridge report for programs: its figures, and its parts in place.

use super::{
    make_up::MakeUpDocument,
    number::{fine, tidy},
    slack::SlackDocument,
};
use crate::{
    bridge::{Chain, ChainPart, Clearance},
    geometry::{Pose, State},
    report::{self, GapReport, odd_turns},
};
use schemars::JsonSchema;
use serde::Serialize;

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
    /// What it comes nearest to but the components that it joins; `null` when nothing else stands within 100 mm.
    pub clearance_to_others: Option<ClearanceDocument>,
    /// Which of the components that it joins it comes nearest to, away from the faces on which it seats; `null` when none
    /// of them stands within 100 mm.
    pub clearance_to_joined: Option<ClearanceDocument>,
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

/// The chain at place `index` of a gap, counted from 0.
pub(super) fn chain(gap: &GapReport, index: usize, chain: &Chain, parts: &[report::PartReport]) -> ChainDocument {
    let variant = gap.variant(index);
    let apart = gap.clearances.get(index).cloned().unwrap_or_default();
    ChainDocument {
        rank: index + 1,
        variant_of: variant.map(|(first, differs)| VariantDocument { rank: first + 1, differs }),
        odd_turns: odd_turns(parts),
        loss_kpa: tidy(chain.loss_kpa),
        clearance: chain.clearance.as_ref().map(clearance),
        clearance_to_others: apart.to_others.as_ref().map(clearance),
        clearance_to_joined: apart.to_joined.as_ref().map(clearance),
        residual_mm: tidy(chain.residual_mm),
        residual_deg: tidy(chain.residual_deg),
        residual_vector_mm: chain.residual_vector_mm.map(tidy),
        length_mm: tidy(chain.length_mm),
        price: chain.price.map(tidy),
        parts: chain.parts.iter().zip(parts).map(|(placed, part)| self::part(placed, part)).collect(),
        make_up: gap.make_up.get(index).map(|made| MakeUpDocument::new(&gap.facts, parts, made)),
        slack: gap.slack.get(index).map(SlackDocument::new),
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
