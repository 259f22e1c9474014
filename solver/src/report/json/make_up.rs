//! Whether and how chains can be made up, for programs.

use super::number::{fine, tidy};
use crate::{
    bridge::{Blocker, JointFacts, MakeUp, Moving, Step, Turning, Verdict},
    catalog::Thread,
    geometry::{axis, origin},
    report::{self, BridgeReport, GapFacts, GapReport, PartReport},
};
use schemars::JsonSchema;
use serde::Serialize;

/// The order of work of one chain.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepsDocument {
    /// Always `elbowroom.steps`.
    pub format: StepsFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// Name of the machine.
    pub layout: String,
    /// Where the chain starts.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// Its rank in the list, counted from 1.
    #[schemars(range(min = 1))]
    pub chain: usize,
    /// Ids of its parts in order from the first port.
    pub parts: Vec<String>,
    /// Whether and how it can be made up.
    pub make_up: MakeUpDocument,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum StepsFormat {
    /// The only value.
    #[serde(rename = "elbowroom.steps")]
    Steps,
}

/// Whether and how a chain can be made up. Parts and joints are counted from 0, from the first port.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MakeUpDocument {
    /// Whether it can.
    pub verdict: VerdictDocument,
    /// The same in words, parts counted from 1.
    pub in_words: String,
    /// Components that are mounted on the one offered up and travel with it; empty where none is offered up.
    pub carried: Vec<String>,
    /// The joints in order from the first port; empty where the chain was not judged.
    pub joints: Vec<JointDocument>,
    /// The order of work; empty unless it can be made up.
    pub steps: Vec<StepDocument>,
}

/// Whether a chain can be made up.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "kind", rename_all = "snake_case")]
pub enum VerdictDocument {
    /// With all components where they are.
    InPlace,
    /// When a component is held back and then moved home.
    OfferedUp {
        /// Name of the component.
        component: String,
        /// The way it moves home, of length one.
        direction: [f64; 3],
        /// How far it must be held back.
        distance_mm: f64,
    },
    /// By none of the motions that are tried.
    CannotBeMadeUp {
        /// The joint that the best attempt failed at.
        joint: usize,
        /// What stops it.
        blocker: BlockerDocument,
    },
    /// Outside the model: nothing is claimed.
    NotModelled {
        /// Why, in words.
        why: String,
    },
}

/// What stops a chain from being made up.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "kind", rename_all = "snake_case")]
#[schemars(rename = "MakeUpBlockerDocument")]
pub enum BlockerDocument {
    /// Nothing can turn at the joint.
    NothingTurns,
    /// Its sides cannot stand apart as far as the thread is long.
    NoAxialRoom {
        /// How far they would have to.
        needed_mm: f64,
        /// How far they can.
        found_mm: f64,
    },
    /// Something is in the way of a motion.
    InTheWay {
        /// The part that moves; `null` if a component does.
        moving_part: Option<usize>,
        /// The component that moves, which may be one that is mounted on the one offered up; `null` if a part does.
        moving_component: Option<String>,
        /// Whether the part turns as it moves.
        turning: bool,
        /// Name of what is in the way.
        body: String,
        /// The part of the chain in the way, if it is one.
        part: Option<usize>,
        /// The signed distance at which the motion ends.
        gap_mm: f64,
        /// The distance it must keep.
        needed_mm: f64,
    },
    /// A component that would have to be held back is already joined by another chain.
    Joined {
        /// Name of that component.
        component: String,
        /// The chain that joins it, in words.
        by: String,
    },
    /// No room for fingers or a wrench.
    NoToolRoom {
        /// Name of what takes the room.
        body: String,
        /// How far from the collar's rim the room reaches.
        needed_mm: f64,
    },
}

/// A joint.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointDocument {
    /// Thread size.
    pub thread: Thread,
    /// Axial advance of one turn.
    pub pitch_mm: f64,
    /// How far the male thread goes in.
    pub travel_mm: f64,
    /// How many turns that takes.
    pub turns: f64,
    /// Whether a swivelling collar carries the thread on the side of the first port, and on that of the second.
    pub swivels: [bool; 2],
    /// Which side carries the male thread.
    pub male: [bool; 2],
    /// Centre of the seat when all is home.
    pub at: [f64; 3],
    /// Axis of the thread, towards the second port; of length one.
    pub axis: [f64; 3],
}

/// A step of the order of work, in words and as data.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepDocument {
    /// What to do, parts counted from 1.
    pub action: String,
    /// What to look at before going on.
    pub check: String,
    /// The step as data; `null` for the last look over the chain.
    pub work: Option<WorkDocument>,
}

/// A step as data.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "kind", rename_all = "snake_case")]
pub enum WorkDocument {
    /// Parts are joined outside the machine.
    Bench {
        /// The joint.
        joint: usize,
        /// First and last of the parts that are one piece afterwards.
        parts: [usize; 2],
        /// What is turned.
        turning: TurningDocument,
    },
    /// A component is held back.
    HoldBack {
        /// Its name.
        component: String,
        /// The way it moves back, of length one.
        direction: [f64; 3],
        /// How far.
        distance_mm: f64,
    },
    /// The last joint is opened by links and swivels.
    Open {
        /// The joint.
        joint: usize,
        /// How far apart its sides stand.
        opening_mm: f64,
        /// Adjustable parts that give way, and their length drawn out while open.
        links: Vec<LinkDocument>,
        /// Swivelling joints that give way.
        swivels: Vec<SwivelDocument>,
    },
    /// Parts go on to what already stands at a port.
    Attach {
        /// The joint.
        joint: usize,
        /// First and last of the parts that go on.
        parts: [usize; 2],
        /// Whether they go on to the side of the first port.
        from_first: bool,
        /// What is turned.
        turning: TurningDocument,
        /// How far they are held out of their place about the joint's axis until the joint is tight.
        swung_deg: f64,
    },
    /// The last joint is closed.
    Close {
        /// The joint.
        joint: usize,
        /// What is turned.
        turning: TurningDocument,
        /// The component that moves home meanwhile, if one was held back.
        component: Option<String>,
    },
}

/// A link that gives way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LinkDocument {
    /// The part.
    pub part: usize,
    /// Its length drawn out.
    pub drawn_mm: f64,
}

/// A swivel that gives way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwivelDocument {
    /// The joint.
    pub joint: usize,
    /// How far its side towards the open joint, with all between the two, is turned from home; the side towards its port
    /// stays. Counter-clockwise, seen from the far end of the chain.
    pub turn_deg: f64,
}

/// What is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "kind", rename_all = "snake_case")]
pub enum TurningDocument {
    /// The swivelling collar of a part and nothing else.
    Collar {
        /// The part.
        part: usize,
    },
    /// Straight parts that turn where they stand.
    Straights {
        /// The first.
        first: usize,
        /// The last.
        last: usize,
    },
    /// All that goes on, as one piece.
    All {
        /// The first part.
        first: usize,
        /// The last part.
        last: usize,
    },
}

impl StepsDocument {
    /// The document of chain `number` of a gap, counted from 1; `None` if it is not listed or was not judged.
    #[must_use]
    pub fn new(report: &BridgeReport, gap: &GapReport, number: usize) -> Option<Self> {
        let chain = number.checked_sub(1).filter(|chain| *chain < gap.listed)?;
        let (parts, made) = (gap.chains.get(chain)?, gap.make_up.get(chain)?);
        Some(Self {
            format: StepsFormat::Steps,
            version: 1,
            layout: report.layout.clone(),
            from: gap.facts.from.name.clone(),
            to: gap.facts.to.name.clone(),
            chain: number,
            parts: parts.iter().map(|part| part.fitting.clone()).collect(),
            make_up: MakeUpDocument::new(&gap.facts, parts, made),
        })
    }
}

impl MakeUpDocument {
    /// The document of a verdict on the chain of `parts` between the ports of `gap`.
    #[must_use]
    pub fn new(gap: &GapFacts, parts: &[PartReport], made: &MakeUp) -> Self {
        let work = made.steps.iter().map(|step| Some(self::work(step))).chain([None]);
        let in_words = report::order_of_work(gap, parts, made);
        Self {
            verdict: verdict(&made.verdict),
            in_words: report::verdict(gap, parts, made),
            carried: made.carried.clone(),
            joints: made.joints.iter().map(joint).collect(),
            steps: in_words
                .into_iter()
                .zip(work)
                .map(|(said, work)| StepDocument { action: said.action, check: said.check, work })
                .collect(),
        }
    }
}

fn verdict(verdict: &Verdict) -> VerdictDocument {
    match verdict {
        Verdict::MadeUpInPlace => VerdictDocument::InPlace,
        Verdict::OfferedUp { component, direction, distance_mm } => VerdictDocument::OfferedUp {
            component: component.clone(),
            direction: direction.map(fine),
            distance_mm: tidy(*distance_mm),
        },
        Verdict::CannotBeMadeUp { joint, blocker } => {
            VerdictDocument::CannotBeMadeUp { joint: *joint, blocker: self::blocker(blocker) }
        }
        Verdict::NotModelled { why } => VerdictDocument::NotModelled { why: why.clone() },
    }
}

fn blocker(blocker: &Blocker) -> BlockerDocument {
    match blocker {
        Blocker::NothingTurns => BlockerDocument::NothingTurns,
        Blocker::NoAxialRoom { needed_mm, found_mm } => {
            BlockerDocument::NoAxialRoom { needed_mm: tidy(*needed_mm), found_mm: tidy(*found_mm) }
        }
        Blocker::InTheWay { moving, body, part, gap_mm, needed_mm } => {
            let (moving_part, moving_component, turning) = match moving {
                Moving::Turned(part) => (Some(*part), None, true),
                Moving::Shifted(part) => (Some(*part), None, false),
                Moving::Component(name) | Moving::Carried { rider: name, .. } => (None, Some(name.clone()), false),
            };
            BlockerDocument::InTheWay {
                moving_part,
                moving_component,
                turning,
                body: body.clone(),
                part: *part,
                gap_mm: tidy(*gap_mm),
                needed_mm: tidy(*needed_mm),
            }
        }
        Blocker::Joined { component, by } => BlockerDocument::Joined { component: component.clone(), by: by.clone() },
        Blocker::NoToolRoom { body, needed_mm } => {
            BlockerDocument::NoToolRoom { body: body.clone(), needed_mm: tidy(*needed_mm) }
        }
    }
}

fn joint(facts: &JointFacts) -> JointDocument {
    let at: [f64; 3] = origin(&facts.frame).coords.into();
    let along: [f64; 3] = axis(&facts.frame).into();
    JointDocument {
        thread: facts.thread,
        pitch_mm: tidy(facts.pitch_mm),
        travel_mm: tidy(facts.travel_mm),
        turns: tidy(facts.turns),
        swivels: facts.swivels,
        male: facts.male,
        at: at.map(tidy),
        axis: along.map(fine),
    }
}

fn work(step: &Step) -> WorkDocument {
    match step {
        Step::Bench { joint, parts, turning } => WorkDocument::Bench {
            joint: *joint,
            parts: [*parts.start(), *parts.end()],
            turning: self::turning(turning),
        },
        Step::HoldBack { component, direction, distance_mm } => WorkDocument::HoldBack {
            component: component.clone(),
            direction: direction.map(fine),
            distance_mm: tidy(*distance_mm),
        },
        Step::Open { joint, opening_mm, links, swivels } => WorkDocument::Open {
            joint: *joint,
            opening_mm: tidy(*opening_mm),
            links: links.iter().map(|(part, drawn)| LinkDocument { part: *part, drawn_mm: tidy(*drawn) }).collect(),
            swivels: swivels
                .iter()
                .map(|(joint, turn)| SwivelDocument { joint: *joint, turn_deg: tidy(*turn) })
                .collect(),
        },
        Step::Attach { joint, parts, from_first, turning, swung_deg } => WorkDocument::Attach {
            joint: *joint,
            parts: [*parts.start(), *parts.end()],
            from_first: *from_first,
            turning: self::turning(turning),
            swung_deg: tidy(*swung_deg),
        },
        Step::Close { joint, turning, component } => {
            WorkDocument::Close { joint: *joint, turning: self::turning(turning), component: component.clone() }
        }
    }
}

fn turning(turning: &Turning) -> TurningDocument {
    match turning {
        Turning::Collar(part) => TurningDocument::Collar { part: *part },
        Turning::Straights(parts) => TurningDocument::Straights { first: *parts.start(), last: *parts.end() },
        Turning::All(parts) => TurningDocument::All { first: *parts.start(), last: *parts.end() },
    }
}
