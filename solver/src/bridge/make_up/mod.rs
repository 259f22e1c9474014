//! Whether a chain can be screwed together where it belongs, and in which order.
//!
//! # The model
//!
//! A chain of `n` parts has `n + 1` joints: joint 0 at the first port, joint `n` at the second. A joint engages over
//! the length of its male thread; each turn advances it by one pitch. To make it up, something that carries one of
//! the two threads must turn:
//!
//! - a collar that swivels, and nothing else;
//! - straight parts between the joint and a swivel on the same axis, which turn where they stand;
//! - or all that hangs free on one side of the joint, which then sweeps all of its body round the axis while it
//!   advances. What is already joined to a port cannot be turned like that.
//!
//! Parts go on from either port, one by one or in groups that were made up on the bench. The last joint closes the
//! chain with both sides already held: there the two sides must first stand apart by the thread and then come
//! together along the axis, by a link that is pushed in, by swivels that let the ends swing, or by a component that
//! is offered up. Every motion is tested against the layout and all that is in place by then; see [`first_hit`].
//!
//! # What it takes for granted
//!
//! - Removable panels are off while the chain is made up.
//! - A part or group can be brought to within an approach of the mouth of its thread: how it gets there is not tested.
//! - A component that is offered up is joined to nothing but this chain yet; [`make_up_beside`] tells whether it must be.
//!   What the layout says is mounted on it goes with it.
//! - Threads that stick out of an open end are solids; threads inside another part are not.
//! - Rooms for fingers or a wrench are a piece of a ring around the collar, free of everything in at least one place.
//! - On the bench only the parts themselves are in the way.
//!
//! "Cannot be made up" means by none of these motions. A person may know another; the reason says what stopped these.

mod beside;
mod closing;
mod joint;
mod motion;
mod order;
mod placing;
mod site;
mod sweep;
mod tool;
mod turning;

pub use beside::{Neighbour, make_up_beside};
pub use joint::{JointFacts, Turning};
pub use motion::{Standing, StandingPart};
pub use sweep::{Hit, SWEEP_ACCURACY_MM, Sweep, first_hit};

use super::{
    answer::{Answer, Chain},
    bad_wish::{BadWish, CLEARANCES_MM, clearance, ports_of, within},
    parallel,
};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout, Port, TOOL_ARCS_DEG},
};
use std::ops::RangeInclusive;

/// What is asked of the making up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MakeUpWishes {
    /// Room that whatever moves must keep to the layout, in millimetres from 0 to 100; the layout's own clearance when
    /// `None`. Parts of the chain may touch each other.
    pub clearance_mm: Option<f64>,
    /// Room for fingers or a wrench around the collar that is turned, in millimetres from its rim, up to 100; the
    /// layout's own when `None`, and none at all when 0.
    pub tool_mm: Option<f64>,
    /// Arc in degrees over which that room must be free at one go, from 5 to 180; the layout's own when `None`.
    pub tool_arc_deg: Option<f64>,
    /// Length of a collar along the axis, in millimetres from 0.1 to 100, which catalogs do not give: how broad the
    /// wrench or fingertip is. The default, 5 mm, is a representative value.
    pub collar_length_mm: f64,
    /// How far from the mouth of its thread a part is held before it goes on, in millimetres from 0 to 100. The default
    /// is 1 mm.
    pub approach_mm: f64,
}

/// Lengths of a collar, in millimetres.
const COLLARS_MM: RangeInclusive<f64> = 0.1..=100.0;

impl MakeUpWishes {
    /// Checks every wish against its range.
    ///
    /// # Errors
    /// The first that is not a number or outside its range.
    pub fn check(&self) -> Result<(), BadWish> {
        clearance(self.clearance_mm)?;
        let remedy = "give the room around a collar, or `None` for the layout's own allowance";
        within("tool_mm", self.tool_mm.unwrap_or(0.0), &CLEARANCES_MM, "mm", remedy)?;
        let arcs = TOOL_ARCS_DEG[0]..=TOOL_ARCS_DEG[1];
        within("tool_arc_deg", self.tool_arc_deg.unwrap_or(TOOL_ARCS_DEG[0]), &arcs, "degrees", remedy)?;
        let remedy = "give the length of a collar along its axis";
        within("collar_length_mm", self.collar_length_mm, &COLLARS_MM, "mm", remedy)?;
        let remedy = "give how far from its thread a part is held before it goes on";
        within("approach_mm", self.approach_mm, &CLEARANCES_MM, "mm", remedy)
    }
}

impl Default for MakeUpWishes {
    fn default() -> Self {
        Self { clearance_mm: None, tool_mm: None, tool_arc_deg: None, collar_length_mm: 5.0, approach_mm: 1.0 }
    }
}

/// Whether and how a chain can be made up.
#[derive(Clone, Debug, PartialEq)]
pub struct MakeUp {
    /// Whether it can.
    pub verdict: Verdict,
    /// Names of the components that are mounted on the one that is offered up and travel with it; empty where none is
    /// offered up.
    pub carried: Vec<String>,
    /// The joints in order from the first port.
    pub joints: Vec<JointFacts>,
    /// The order of work; empty unless it can be made up. [`standing`](Self::standing) shows each step in motion.
    pub steps: Vec<Step>,
    /// The way from everything home, which comes first, to the last joint standing open, which comes last. Between two
    /// neighbours everything moves by so little that straight lines will do. Empty unless the chain can be made up.
    pub opening: Vec<Standing>,
    /// How far from the mouth of its thread a part is held before it goes on, as it was wished.
    pub approach_mm: f64,
}

impl MakeUp {
    fn without_steps(verdict: Verdict) -> Self {
        let (carried, joints, steps, opening) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Self { verdict, carried, joints, steps, opening, approach_mm: 0.0 }
    }
}

/// Whether a chain can be made up.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// With all components where they are.
    MadeUpInPlace,
    /// When a component is held back and then moved home along the axis of the last joint; its way is clear.
    OfferedUp {
        /// Name of the component.
        component: String,
        /// The way it moves home, in the layout's axes, of length one.
        direction: [f64; 3],
        /// How far it must be held back.
        distance_mm: f64,
    },
    /// By none of the motions that are tried.
    CannotBeMadeUp {
        /// The joint that the best attempt failed at, counted from 0 at the first port.
        joint: usize,
        /// What stops it.
        blocker: Blocker,
    },
    /// The case is outside the model, so nothing is claimed.
    NotModelled {
        /// Why.
        why: String,
    },
}

impl Verdict {
    /// Whether there is an order of work.
    #[must_use]
    pub fn can_be_made_up(&self) -> bool {
        matches!(self, Self::MadeUpInPlace | Self::OfferedUp { .. })
    }
}

/// What stops a chain from being made up.
#[derive(Clone, Debug, PartialEq)]
pub enum Blocker {
    /// Nothing at the joint can turn once both its sides are held.
    NothingTurns,
    /// The two sides cannot stand apart along the axis as far as the thread is long.
    NoAxialRoom {
        /// How far they would have to.
        needed_mm: f64,
        /// How far links and swivels let them.
        found_mm: f64,
    },
    /// Something is in the way of a motion.
    InTheWay {
        /// What moves.
        moving: Moving,
        /// Name of the panel or component in the way, or of a fitting of the chain.
        body: String,
        /// The part of the chain in the way, counted from 0, if it is one.
        part: Option<usize>,
        /// The signed distance at which the motion ends, in millimetres.
        gap_mm: f64,
        /// The distance it must keep.
        needed_mm: f64,
    },
    /// A component that would have to be held back, or one that is mounted on it, is already joined by another chain.
    Joined {
        /// Name of that component.
        component: String,
        /// The chain that joins it, in words.
        by: String,
    },
    /// Nowhere around the collar is there room for fingers or a wrench.
    NoToolRoom {
        /// Name of what takes the room at the first place tried.
        body: String,
        /// How far from the collar's rim the room reaches.
        needed_mm: f64,
    },
}

/// What moves when something is in the way.
#[derive(Clone, Debug, PartialEq)]
pub enum Moving {
    /// A part, counted from 0, turning round the axis of the joint as it is screwed on.
    Turned(usize),
    /// A part moving along the axis of the joint, or swung about it, without being screwed.
    Shifted(usize),
    /// A component that is offered up.
    Component(String),
    /// A component that travels with the one that is offered up, since it is mounted on it.
    Carried {
        /// What travels with it.
        rider: String,
        /// The component that is offered up.
        component: String,
    },
}

/// A step of the order of work. Parts are counted from 0.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Two parts, or groups of them, are joined outside the machine.
    Bench {
        /// The joint.
        joint: usize,
        /// The parts that are one piece afterwards.
        parts: RangeInclusive<usize>,
        /// What is turned.
        turning: Turning,
    },
    /// A component is held back before the last parts go on.
    HoldBack {
        /// Name of the component.
        component: String,
        /// The way it moves back, in the layout's axes.
        direction: [f64; 3],
        /// How far.
        distance_mm: f64,
    },
    /// Links are pushed in and swivels turned so that the last joint stands open.
    Open {
        /// The joint that stands open.
        joint: usize,
        /// How far apart its sides stand, in millimetres: enough for the thread and the approach, or less than that by up
        /// to the layout's allowance for closing, where a link comes to its stop.
        opening_mm: f64,
        /// For each adjustable part that gives way: the part, and its length drawn out while open.
        links: Vec<(usize, f64)>,
        /// For each swivelling joint that gives way: the joint, and in degrees how far its side towards the open joint,
        /// with all between the two, is turned from home against the side that stays at its port; counter-clockwise, seen
        /// from the far end of the chain.
        swivels: Vec<(usize, f64)>,
    },
    /// Parts go on to what already stands at a port.
    Attach {
        /// The joint.
        joint: usize,
        /// The parts that go on.
        parts: RangeInclusive<usize>,
        /// Whether they go on to the side of the first port.
        from_first: bool,
        /// What is turned.
        turning: Turning,
        /// How far the parts are held out of their place about the joint's axis until the joint is tight, in degrees.
        swung_deg: f64,
    },
    /// The last joint is closed.
    Close {
        /// The joint.
        joint: usize,
        /// What is turned.
        turning: Turning,
        /// Name of the component that moves home meanwhile, if one was held back.
        component: Option<String>,
    },
}

/// Finds out whether `chain`, which bridges `gap` of `layout` with fittings of `catalog`, can be made up there.
///
/// The first order of work that is found is given: in place before offered up, part by part before groups, from the
/// first port before from the second. Every order is tried. A chain without parts, or of parts whose threads do not
/// mate, is outside the model. Takes about a millisecond.
///
/// # Errors
/// A wish that [`MakeUpWishes::check`] refuses, a chain that [`Chain::check`] does, and a gap that is not one between two
/// ports of this layout.
pub fn make_up(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    chain: &Chain,
    wishes: &MakeUpWishes,
) -> Result<MakeUp, BadWish> {
    wishes.check()?;
    chain.check(catalog)?;
    let ports = ports_of(layout, gap)?;
    Ok(judged(catalog, layout, ports, chain, wishes))
}

fn judged(catalog: &Catalog, layout: &Layout, ports: [&Port; 2], chain: &Chain, wishes: &MakeUpWishes) -> MakeUp {
    judged_holding(catalog, layout, ports, chain, wishes, Vec::new())
}

/// The same where bodies, by their places in the layout, are held by chains of these names.
fn judged_holding(
    catalog: &Catalog,
    layout: &Layout,
    ports: [&Port; 2],
    chain: &Chain,
    wishes: &MakeUpWishes,
    held: Vec<(usize, String)>,
) -> MakeUp {
    match site::Site::new(catalog, layout, ports, chain, wishes) {
        Ok(site) => order::search(&site::Site { held, ..site }),
        Err(why) => MakeUp::without_steps(Verdict::NotModelled { why }),
    }
}

/// Judges every chain of `answer` and puts those that can be made up first, keeping the order among them and among the
/// rest. The verdicts come in the chains' new order.
///
/// # Errors
/// As [`make_up`]; the answer is left as it was.
pub fn made_up_first(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    answer: &mut Answer,
    wishes: &MakeUpWishes,
) -> Result<Vec<MakeUp>, BadWish> {
    wishes.check()?;
    let ports = ports_of(layout, gap)?;
    answer.chains.iter().try_for_each(|chain| chain.check(catalog))?;
    Ok(judged_first(catalog, layout, ports, answer, wishes))
}

/// The same for wishes and chains that need no check.
pub(super) fn judged_first(
    catalog: &Catalog,
    layout: &Layout,
    ports: [&Port; 2],
    answer: &mut Answer,
    wishes: &MakeUpWishes,
) -> Vec<MakeUp> {
    let verdicts = parallel::map(&answer.chains, |chain| judged(catalog, layout, ports, chain, wishes));
    let judged = verdicts.into_iter().zip(std::mem::take(&mut answer.chains));
    let (can, cannot): (Vec<_>, Vec<_>) = judged.partition(|(made, _)| made.verdict.can_be_made_up());
    let (verdicts, chains) = can.into_iter().chain(cannot).unzip();
    answer.chains = chains;
    verdicts
}
