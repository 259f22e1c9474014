//! Everything a bridge report shows, gathered from layout, catalog and answer.

use super::{
    Compared, FlowBasis, GapFacts, NearMissReport, Outcome, PortFacts, Ranking,
    aim::{Aim, Sides, Zero},
    turn_plot::View,
};
use crate::{
    bridge::{
        Answer, Blocked, Chain, ChainPart, Clearances, Completeness, MakeUp, Slack, Together, clearances, entries,
    },
    catalog::{Catalog, FittingDef, PartSolid},
    geometry::{Vector, axis, face_to_face, origin, turned},
    interference::{Meeting, Seat, SeatFault, seat},
    layout::{Gap, Layout},
};
use schemars::JsonSchema;
use serde::Serialize;
use std::cmp::Ordering;

/// The answers to some or all gaps of a layout, and what was asked.
#[derive(Clone, Debug, PartialEq)]
pub struct BridgeReport {
    /// Name of the machine.
    pub layout: String,
    /// Longest chain considered, in parts.
    pub max_parts: usize,
    /// How many chains were wanted for each gap.
    pub want: usize,
    /// The order of the lists.
    pub ranking: Ranking,
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
    /// The bodies of the layout that overlap, deepest first: chains are looked for all the same.
    pub overlaps: Vec<Meeting>,
    /// The gaps in the order they were asked for.
    pub gaps: Vec<GapReport>,
    /// Which chains can be built side by side; `None` for a single gap, or where it was not asked for.
    pub together: Option<Together>,
}

impl BridgeReport {
    /// How all gaps together ended.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        let side_by_side = match &self.together {
            Some(together) if !together.agree => Outcome::NoProof,
            _ => Outcome::Fits,
        };
        Outcome::worst([side_by_side].into_iter().chain(self.gaps.iter().map(GapReport::outcome)))
    }

    /// Which chain of a gap, counted from 0, is the one to build: the best of those that leave room for the other gaps, or
    /// the first where that was not looked into. `None` for a gap that has none.
    #[must_use]
    pub fn chosen(&self, gap: usize) -> Option<usize> {
        self.together.as_ref().map_or(Some(0), |together| together.chosen.get(gap).copied().flatten())
    }
}

/// A gap and its answer.
#[derive(Clone, Debug, PartialEq)]
pub struct GapReport {
    /// The ports.
    pub facts: GapFacts,
    /// How its two ports sit on their components.
    pub seats: [Seat; 2],
    /// Flow at which the losses of its chains are stated.
    pub flow_l_min: f64,
    /// The answer.
    pub answer: Answer,
    /// For each chain of the answer, its parts as a person needs them.
    pub chains: Vec<Vec<PartReport>>,
    /// For each chain of the answer, what it comes nearest to.
    pub clearances: Vec<Clearances>,
    /// For each chain of the answer, the entry of the list that it belongs to, see [`entries`].
    pub entries: Vec<usize>,
    /// For each chain of the answer, whether it can be made up; empty where that was not asked for.
    pub make_up: Vec<MakeUp>,
    /// How many chains, from the first, are listed; the others are left out because they cannot be made up, or because no
    /// more were wanted.
    pub listed: usize,
    /// Among how many chains they were put in another order than that of the search; `None` where they are in that order.
    pub compared: Option<Compared>,
    /// What each chain listed absorbs, where that was asked for; else empty.
    pub slack: Vec<Slack>,
    /// What is in the way of chains that do not fit, where others do and it was asked for.
    pub in_the_way: Option<Blocked>,
    /// What comes nearest, where the gap [is open](Self::is_open) and it was asked for.
    pub near_misses: Option<NearMissReport>,
}

impl GapReport {
    /// Gathers what there is to say of `gap` of `layout` and its `answer`, whose parts come from `catalog`. `None` if
    /// gap, layout and catalog do not belong together: a port or a fitting is not there. Losses are taken to be stated
    /// at the layout's design flow, unless [`GapReport::at_flow`] says otherwise.
    #[must_use]
    pub fn new(catalog: &Catalog, layout: &Layout, gap: Gap, answer: Answer) -> Option<Self> {
        let port = |id| {
            let port = layout.port_by_id(id)?;
            Some(PortFacts::new(port.name.clone(), port.thread, port.gender, &port.pose))
        };
        let facts = GapFacts::between(port(gap.from)?, port(gap.to)?);
        let seat = |id| seat(layout, layout.port_by_id(id)?);
        let seats = [seat(gap.from)?, seat(gap.to)?];
        let part = |part: &ChainPart| Some(PartReport::new(catalog.fitting(&part.fitting)?, part));
        let chains = answer.chains.iter().map(|chain| chain.parts.iter().map(part).collect());
        let mut chains: Vec<Vec<PartReport>> = chains.collect::<Option<_>>()?;
        let mark: [f64; 3] = (layout.port_by_id(gap.from)?.pose.rotation * Vector::x()).into();
        let sides = Sides::of(layout);
        for (chain, parts) in answer.chains.iter().zip(&mut chains) {
            aim(catalog, chain, parts, &sides, &Zero::Mark(&facts.from.name, mark));
        }
        let listed = answer.chains.len();
        let entries = entries(catalog, &answer.chains);
        let clearances = clearances(catalog, layout, &gap, &answer.chains).ok()?;
        let flow_l_min = layout.design_flow_l_min();
        Some(Self {
            facts,
            seats,
            flow_l_min,
            answer,
            chains,
            clearances,
            entries,
            make_up: Vec::new(),
            listed,
            compared: None,
            slack: Vec::new(),
            in_the_way: None,
            near_misses: None,
        })
    }

    /// Adds the verdicts on its chains, which come in the order of [`made_up_first`](crate::bridge::made_up_first).
    /// Chains that cannot be made up are listed if `all` is asked for, or where no chain can.
    #[must_use]
    pub fn with_make_up(self, make_up: Vec<MakeUp>, all: bool) -> Self {
        let can = make_up.iter().filter(|made| made.verdict.can_be_made_up()).count();
        let listed = if all || can == 0 { self.answer.chains.len() } else { can };
        Self { make_up, listed, ..self }
    }

    /// Lists no more than `want` entries, where more were looked at for one that can be made up.
    #[must_use]
    pub fn listing(self, want: usize) -> Self {
        let listed = self.listed.min(self.chains_of(want));
        Self { listed, ..self }
    }

    /// How many chains the first `want` entries have.
    fn chains_of(&self, want: usize) -> usize {
        self.entries.iter().position(|entry| *entry >= want).unwrap_or(self.entries.len())
    }

    /// Of a chain that is not the first of its entry: which one is, counted from 0, and how the two differ.
    #[must_use]
    pub fn variant(&self, chain: usize) -> Option<(usize, Variant)> {
        let entry = self.entries.get(chain)?;
        let before = || (0..chain).filter(|other| self.entries.get(*other) == Some(entry));
        let first = before().next()?;
        let parts = |chain: usize| self.answer.chains.get(chain).map_or(&[][..], |chain| &chain.parts[..]);
        let same = |other: usize, of: fn(&ChainPart) -> (&str, usize)| {
            parts(chain).iter().map(of).eq(parts(other).iter().map(of))
        };
        let has = |of: fn(&ChainPart) -> (&str, usize)| before().any(|other| same(other, of));
        Some((
            first,
            if has(|part| (&part.fitting, part.entry)) {
                Variant::Posture
            } else if has(|part| (&part.fitting, 0)) {
                Variant::WayRound
            } else {
                Variant::Order
            },
        ))
    }

    /// Whether one of its ports lies where none can be, so that chains may be denied that would fit the true one: finding
    /// none then proves nothing.
    #[must_use]
    pub fn is_ill_posed(&self) -> bool {
        self.seats.iter().flat_map(|seat| &seat.faults).any(SeatFault::voids_proof)
    }

    /// How the gap ended. Chains of which none can be made up, by the motions that are tried, are no proof that the gap
    /// can be bridged, nor that it cannot; and nothing is proven of a port that lies where none can be.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        match Outcome::of(&self.answer) {
            Outcome::Fits if !self.make_up.is_empty() && !self.can_be_made_up(0) => Outcome::NoProof,
            Outcome::DoesNotFit if self.is_ill_posed() => Outcome::NoProof,
            outcome => outcome,
        }
    }

    /// Whether it has no chain as far as the search goes, so that what comes nearest is worth asking for. A search that was
    /// stopped shows nothing: what it has not looked at may fit.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.answer.chains.is_empty() && !matches!(self.answer.completeness, Completeness::Stopped { .. })
    }

    /// The chains among which one is chosen for the machine: those that can be made up, or all where none can.
    #[must_use]
    pub fn candidates(&self) -> &[Chain] {
        let can = self.make_up.iter().filter(|made| made.verdict.can_be_made_up()).count();
        let count = if can == 0 { self.answer.chains.len() } else { can };
        self.answer.chains.get(..count).unwrap_or_default()
    }

    /// Keeps the first `want` entries, as if no more had been asked for, and whatever comes up to chain `chosen`.
    pub fn shorten(&mut self, want: usize, chosen: Option<usize>) {
        let count = self.chains_of(want).max(chosen.map_or(0, |chosen| chosen + 1));
        let cut = count < self.answer.chains.len();
        self.answer.chains.truncate(count);
        // In another order than that of the search, what was compared tells more than what was cut.
        if let (true, Completeness::Complete { .. }, Some(last), None) =
            (cut, &self.answer.completeness, self.answer.chains.last(), self.compared)
        {
            self.answer.completeness = Completeness::BestProven { parts: last.parts.len() };
        }
        self.chains.truncate(count);
        self.clearances.truncate(count);
        self.entries.truncate(count);
        self.make_up.truncate(count);
        self.slack.truncate(count);
        self.listed = self.listed.min(self.chains.len());
    }

    /// Whether a chain, counted from 0, was judged and can be made up.
    #[must_use]
    pub fn can_be_made_up(&self, chain: usize) -> bool {
        self.make_up.get(chain).is_some_and(|made| made.verdict.can_be_made_up())
    }

    /// The same report, for an answer that was asked for at this flow.
    #[must_use]
    pub fn at_flow(self, flow_l_min: f64) -> Self {
        Self { flow_l_min, ..self }
    }
}

/// How a chain differs from those of its entry that come before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Variant {
    /// The same parts close in another posture too, such as the mirror image.
    Posture,
    /// Some parts are built in the other way round.
    WayRound,
    /// Straight parts of a run have changed places.
    Order,
}

/// A part of a chain as a person needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct PartReport {
    /// The fitting's id.
    pub fitting: String,
    /// Its plain name.
    pub name: String,
    /// Which way round it is built in, in words; `None` where its threads or its symmetry leave no choice.
    pub way_round: Option<&'static str>,
    /// Turn against the part before it, where that is a choice; in degrees, in [0, 360).
    pub turn_deg: Option<f64>,
    /// How it is aimed, in words; `None` where there is nothing to aim, or no machine to aim it in.
    pub aim: Option<Aim>,
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
            way_round: way_round(fitting, part.entry),
            turn_deg: part.turn_deg,
            aim: None,
            stretch_mm: part.stretch_mm,
            heads: axis(&exit).into(),
            ends_at: origin(&exit).coords.into(),
        }
    }
}

/// Says of each part of a chain that has a turn how it is aimed; the first such turn is counted from `zero`.
fn aim(catalog: &Catalog, chain: &Chain, parts: &mut [PartReport], sides: &Sides, zero: &Zero<'_>) {
    let mut zero = zero;
    for (placed, part) in chain.parts.iter().zip(parts) {
        if let (Some(turn_deg), Some(fitting)) = (part.turn_deg, catalog.fitting(&part.fitting)) {
            let view = view(fitting, placed, turn_deg);
            part.aim = Some(Aim::new(sides, part.heads, turn_deg, zero, view));
            zero = &Zero::Bend;
        }
    }
}

/// How to look along the axis on which a part turns, and from where its turn counts.
fn view(fitting: &FittingDef, placed: &ChainPart, turn_deg: f64) -> View {
    let ends = fitting.end_frames(placed.stretch_mm);
    let entry = ends.get(placed.entry).copied().unwrap_or_default();
    // An end looks out of its part; the chain goes the other way.
    let entered = placed.pose * entry * face_to_face();
    let zero = entered * turned(-turn_deg.to_radians()) * Vector::x();
    View { towards_eye: axis(&entered).into(), zero: zero.into() }
}

/// Half the width, square to the axis of one of its ends, of what a fitting has around the middle of the leg there.
fn thickness_mm(fitting: &FittingDef, end: usize) -> f64 {
    let legs = fitting.legs.len().saturating_sub(1);
    let (leg, length) = (if end == 0 { 0 } else { legs }, fitting.leg_length(if end == 0 { 0 } else { legs }, 0.0));
    // A third of the way in, which is past the collar.
    let from_start = if end == 0 { length / 3.0 } else { length * 2.0 / 3.0 };
    let around = fitting.solids.iter().filter_map(|solid| match solid {
        PartSolid::Sleeve { leg: on, from, to, diameter } => {
            let spans = *from <= from_start && from_start <= to.unwrap_or(length);
            (*on == leg && spans).then_some(diameter / 2.0)
        }
        _ => None,
    });
    around.fold(0.0, f64::max)
}

/// Tells a part's two ends apart by what a person sees on it, where the threads do not.
fn way_round(fitting: &FittingDef, entry: usize) -> Option<&'static str> {
    let (ends_first, ends_last) = (fitting.ends.get(entry)?, fitting.ends.get(1 - entry.min(1))?);
    if ends_first.thread != ends_last.thread || ends_first.gender != ends_last.gender {
        return None;
    }
    match (ends_first.swivel, ends_last.swivel) {
        (true, false) => return Some("swivel first"),
        (false, true) => return Some("swivel last"),
        _ => {}
    }
    let (mut first, mut last) = (fitting.legs.first()?, fitting.legs.last()?);
    if entry != 0 {
        std::mem::swap(&mut first, &mut last);
    }
    let by_leg = match first.total_cmp(last) {
        Ordering::Less => Some("short leg first"),
        Ordering::Greater => Some("long leg first"),
        Ordering::Equal => None,
    };
    let by_end = || match ends_first.collar_mm.total_cmp(&ends_last.collar_mm) {
        Ordering::Less => Some("narrow collar first"),
        Ordering::Greater => Some("wide collar first"),
        Ordering::Equal if fitting.is_symmetric() => None,
        // Solids along an adjustable leg stay with its first end.
        Ordering::Equal if fitting.stretch_mm.is_some() => Some(if entry == 0 { "slide last" } else { "slide first" }),
        Ordering::Equal => match thickness_mm(fitting, entry).total_cmp(&thickness_mm(fitting, 1 - entry.min(1))) {
            Ordering::Less => Some("thin end first"),
            Ordering::Greater => Some("thick end first"),
            Ordering::Equal if entry == 0 => Some("end 0 first"),
            Ordering::Equal => Some("end 1 first"),
        },
    };
    by_leg.or_else(by_end)
}
