//! The search for an order of work: which parts go on next, from which port, and which joint closes the chain.

use super::{
    Blocker, MakeUp, Step, Verdict,
    closing::{Opening, by_component, by_hand},
    joint::{Side, Turning},
    placing::{Around, Posture, Present, swings},
    site::{Member, Site},
    sweep::Sweep,
    tool,
    turning::turning,
};
use crate::geometry::{Pose, Solid, turned};
use std::{collections::HashMap, f64::consts::PI, ops::RangeInclusive};

/// Tries every order and gives the first that works, or the attempt that came farthest.
pub(super) fn search(site: &Site<'_>) -> MakeUp {
    let mut search = Search::new(site);
    for mode in [Mode::ByHand, Mode::Second, Mode::First] {
        search.dead.clear();
        search.mode = mode;
        if !search.opens_anywhere() {
            continue;
        }
        let mut steps = Vec::new();
        if let Some(verdict) = search.from(0, 0, &mut steps) {
            let opening = search.way.iter().map(|posture| posture.standing(site)).collect();
            let carried = match &verdict {
                Verdict::OfferedUp { component, .. } => site.carried_by(component),
                _ => Vec::new(),
            };
            return MakeUp {
                verdict,
                carried,
                joints: site.joints.clone(),
                steps,
                opening,
                approach_mm: site.wishes.approach_mm,
            };
        }
    }
    let (_, joint, blocker) = search.farthest;
    MakeUp {
        joints: site.joints.clone(),
        approach_mm: site.wishes.approach_mm,
        ..MakeUp::without_steps(Verdict::CannotBeMadeUp { joint, blocker })
    }
}

/// How the last joint is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Mode {
    ByHand,
    Second,
    First,
}

/// How far an attempt to close the chain came, beyond the parts that stood.
#[derive(Clone, Copy, Debug)]
enum Stage {
    Attaching = 0,
    Turning = 1,
    Room = 2,
    Opening = 3,
    LastParts = 4,
    Closing = 5,
}

/// First and last part of a group, whether it goes on to the side of the first port, and how many parts stand at either.
type Attaching = (usize, usize, bool, (usize, usize));

type Group<'m> = Vec<(&'m Member, Solid)>;

struct Search<'s, 'a> {
    site: &'s Site<'a>,
    mode: Mode,
    /// States from which nothing leads on: parts at the first and at the second port.
    dead: Vec<(usize, usize)>,
    benches: HashMap<(usize, usize), Option<Vec<Step>>>,
    openings: HashMap<(Mode, usize, u64), Result<Opening, Blocker>>,
    closings: HashMap<usize, Result<Turning, Blocker>>,
    /// What came of putting a group on where nothing is opened yet: that is the same however the last joint will open.
    attachings: HashMap<Attaching, Result<Step, Blocker>>,
    farthest: (usize, usize, Blocker),
    /// The way in which the last joint opens, once the order is found.
    way: Vec<Posture>,
}

impl<'s, 'a> Search<'s, 'a> {
    fn new(site: &'s Site<'a>) -> Self {
        Self {
            site,
            mode: Mode::ByHand,
            dead: Vec::new(),
            benches: HashMap::new(),
            openings: HashMap::new(),
            closings: HashMap::new(),
            attachings: HashMap::new(),
            farthest: (0, 0, Blocker::NothingTurns),
            way: Vec::new(),
        }
    }

    /// Goes on with `first` parts at the first port and `second` at the second.
    fn from(&mut self, first: usize, second: usize, steps: &mut Vec<Step>) -> Option<Verdict> {
        if self.dead.contains(&(first, second)) {
            return None;
        }
        let parts = self.site.parts();
        let missing = parts - first - second;
        for count in 1..=missing {
            for from_first in [true, false] {
                let group =
                    if from_first { first..=first + count - 1 } else { parts - second - count..=parts - second - 1 };
                let joint = if from_first { first } else { parts - second };
                let Some(bench) = self.bench(*group.start(), *group.end()) else { continue };
                let length = steps.len();
                steps.extend(bench);
                let found = if count == missing {
                    self.finish(joint, &group, from_first, steps)
                } else {
                    self.attach_at_home(joint, &group, from_first, (first, second))
                        .map_err(|blocker| self.note(Stage::Attaching, first + second, joint, blocker))
                        .ok()
                        .and_then(|step| {
                            steps.push(step);
                            let (first, second) =
                                if from_first { (first + count, second) } else { (first, second + count) };
                            self.from(first, second, steps)
                        })
                };
                if found.is_some() {
                    return found;
                }
                steps.truncate(length);
            }
        }
        self.dead.push((first, second));
        None
    }

    /// Puts on the last parts and closes the joint on their far side.
    fn finish(
        &mut self,
        joint: usize,
        group: &RangeInclusive<usize>,
        from_first: bool,
        steps: &mut Vec<Step>,
    ) -> Option<Verdict> {
        let site = self.site;
        let closing = if from_first { group.end() + 1 } else { *group.start() };
        let placed = (*group.start(), site.parts() - 1 - group.end());
        let stood = site.parts();
        let turning = self.can_be_last(closing)?;
        // Wide enough for the thread of the closing joint; if the parts need it to get in, for that of the other too.
        let one = site.joints[closing].travel_mm + site.wishes.approach_mm;
        let both = one + site.joints[joint].travel_mm + site.wishes.approach_mm;
        for opening in [one, both] {
            let opening = match self.open(closing, opening) {
                Ok(opening) => opening,
                Err(blocker) => {
                    let stage =
                        if matches!(blocker, Blocker::NoAxialRoom { .. }) { Stage::Room } else { Stage::Opening };
                    self.note(stage, stood, closing, blocker);
                    return None;
                }
            };
            match self.attach(joint, group, from_first, placed, &opening.posture) {
                Ok(step) => {
                    self.way.clone_from(&opening.way);
                    return Some(conclude(&opening, closing, step, turning, steps));
                }
                Err(blocker) => self.note(Stage::LastParts, stood, joint, blocker),
            }
        }
        None
    }

    /// The steps that make one piece of parts `a` to `b` on the bench.
    fn bench(&mut self, a: usize, b: usize) -> Option<Vec<Step>> {
        if a == b {
            return Some(Vec::new());
        }
        if let Some(known) = self.benches.get(&(a, b)) {
            return known.clone();
        }
        let found = (a..b).find_map(|last| {
            let mut steps = self.bench(a, last)?;
            steps.extend(self.bench(last + 1, b)?);
            let turning = self.bench_joint(a, last, b)?;
            steps.push(Step::Bench { joint: last + 1, parts: a..=b, turning });
            Some(steps)
        });
        self.benches.insert((a, b), found.clone());
        found
    }

    /// What is turned to join parts `a` to `last` and the parts after them up to `b` on the bench.
    fn bench_joint(&self, a: usize, last: usize, b: usize) -> Option<Turning> {
        let site = self.site;
        let joint = last + 1;
        let (left, right) = (a..=last, joint..=b);
        let made = |other: usize| other > a && other <= b;
        let posture = Posture::home(site);
        let around = Around::bench(site, &posture, &Present { part: &|part| left.contains(&part), made: &made });
        let group = Present { part: &|part| right.contains(&part), made: &made }.members(site, &posture);
        let sides =
            [turning(site, joint, Side::First, &left, false), turning(site, joint, Side::Second, &right, false)];
        let travel = [0.0, site.joints[joint].travel_mm + site.wishes.approach_mm];
        ranked(sides).into_iter().map(|(_, turning)| turning).find(|turning| {
            // On the bench turning one side is the same as turning the other.
            let relative = match turning {
                Turning::All(_) => Turning::All(right.clone()),
                other => other.clone(),
            };
            around.screw(&group, &site.frames[joint], travel, &relative).is_ok()
        })
    }

    /// Screws `group` on while nothing is opened yet.
    fn attach_at_home(
        &mut self,
        joint: usize,
        group: &RangeInclusive<usize>,
        from_first: bool,
        placed: (usize, usize),
    ) -> Result<Step, Blocker> {
        let key = (*group.start(), *group.end(), from_first, placed);
        if let Some(known) = self.attachings.get(&key) {
            return known.clone();
        }
        let found = self.attach(joint, group, from_first, placed, &Posture::home(self.site));
        self.attachings.insert(key, found.clone());
        found
    }

    /// Screws `group` on at `joint`, with `placed` parts standing at either port and everything in `posture`.
    fn attach(
        &self,
        joint: usize,
        group: &RangeInclusive<usize>,
        from_first: bool,
        placed: (usize, usize),
        posture: &Posture,
    ) -> Result<Step, Blocker> {
        let site = self.site;
        let parts = site.parts();
        let stands = |part: usize| part < placed.0 || part >= parts - placed.1;
        let made = |other: usize| {
            other == joint
                || other < placed.0
                || other > parts - placed.1
                || (other > *group.start() && other <= *group.end())
        };
        let around = Around::new(site, posture, &Present { part: &stands, made: &made });
        let moving = Present { part: &|part| group.contains(&part), made: &made }.members(site, posture);
        let reach = site.joints[joint].travel_mm;
        let approach = reach + site.wishes.approach_mm;
        let (frame, travel, collar_travel, held, sides) = if from_first {
            let held = range(0, placed.0);
            (posture.frame_before(site, joint), [0.0, approach], [0.0, reach], held, [Side::Second, Side::First])
        } else {
            let held = range(parts - placed.1, parts);
            (posture.frame_after(site, joint), [-approach, 0.0], [-reach, 0.0], held, [Side::First, Side::Second])
        };
        let all = Around {
            site,
            layout: around.layout.clone(),
            chain: around.chain.iter().chain(&moving).map(|(member, solid)| (*member, solid.clone())).collect(),
        };
        let options =
            ranked([turning(site, joint, sides[0], group, false), turning(site, joint, sides[1], &held, true)]);
        let mut first_blocker = None;
        for (side, turning) in options {
            let mine = side == 0;
            let travel_of_collar = if mine { collar_travel } else { [0.0; 2] };
            let outcome = put_on(&around, &moving, &frame, travel, &turning, mine)
                .and_then(|swung| tool::room(&all, &frame, joint, sides[side], travel_of_collar).map(|_| swung));
            match outcome {
                Ok(swung) => {
                    let swung_deg = swung.to_degrees();
                    return Ok(Step::Attach { joint, parts: group.clone(), from_first, turning, swung_deg });
                }
                Err(blocker) => first_blocker = first_blocker.or(Some(blocker)),
            }
        }
        Err(first_blocker.unwrap_or(Blocker::NothingTurns))
    }

    /// What closes a joint whose sides are both held.
    fn close(&mut self, joint: usize) -> Result<Turning, Blocker> {
        if let Some(known) = self.closings.get(&joint) {
            return known.clone();
        }
        let found = self.close_afresh(joint);
        self.closings.insert(joint, found.clone());
        found
    }

    fn close_afresh(&self, joint: usize) -> Result<Turning, Blocker> {
        let site = self.site;
        let (left, right) = (range(0, joint), range(joint, site.parts()));
        let sides = [turning(site, joint, Side::First, &left, true), turning(site, joint, Side::Second, &right, true)];
        let home = Posture::home(site);
        let frame = site.frames[joint];
        let reach = site.joints[joint].travel_mm;
        let mut first_blocker = None;
        for (side, turning) in ranked(sides) {
            let (towards, travel) = if side == 0 { (Side::First, [-reach, 0.0]) } else { (Side::Second, [0.0, reach]) };
            let all = Around::new(site, &home, &Present { part: &|_| true, made: &|_| true });
            let outcome = spin(&all, &frame, &turning).and_then(|()| tool::room(&all, &frame, joint, towards, travel));
            match outcome {
                Ok(_) => return Ok(turning),
                Err(blocker) => first_blocker = first_blocker.or(Some(blocker)),
            }
        }
        Err(first_blocker.unwrap_or(Blocker::NothingTurns))
    }

    /// Whether any joint can be the last: it can be closed, and opened by the thread that it closes with. The one at the
    /// second port is asked first, because who starts at the first port comes to it last.
    fn opens_anywhere(&mut self) -> bool {
        (0..self.site.joints.len()).rev().any(|joint| self.can_be_last(joint).is_some())
    }

    /// What closes a joint as the last one, if it also opens by its thread; else notes what stops it.
    fn can_be_last(&mut self, joint: usize) -> Option<Turning> {
        let site = self.site;
        let (stage, blocker) = match self.close(joint) {
            Ok(turning) => match self.open(joint, site.joints[joint].travel_mm + site.wishes.approach_mm) {
                Ok(_) => return Some(turning),
                Err(blocker @ Blocker::NoAxialRoom { .. }) => (Stage::Room, blocker),
                Err(blocker) => (Stage::Opening, blocker),
            },
            Err(Blocker::NothingTurns) => (Stage::Turning, Blocker::NothingTurns),
            Err(blocker) => (Stage::Closing, blocker),
        };
        self.note(stage, site.parts(), joint, blocker);
        None
    }

    fn open(&mut self, joint: usize, opening_mm: f64) -> Result<Opening, Blocker> {
        let (mode, site) = (self.mode, self.site);
        let fresh = || match mode {
            Mode::ByHand => by_hand(site, joint, opening_mm),
            Mode::Second => by_component(site, joint, opening_mm, true),
            Mode::First => by_component(site, joint, opening_mm, false),
        };
        self.openings.entry((mode, joint, opening_mm.to_bits())).or_insert_with(fresh).clone()
    }

    fn note(&mut self, stage: Stage, parts: usize, joint: usize, blocker: Blocker) {
        let progress = 1 + parts + stage as usize;
        let (before, _, known) = &self.farthest;
        if progress > *before || progress == *before && opens_more(&blocker, known) {
            self.farthest = (progress, joint, blocker);
        }
    }
}

/// Whether a joint that does not open far enough opens farther than another.
fn opens_more(blocker: &Blocker, than: &Blocker) -> bool {
    match (blocker, than) {
        (Blocker::NoAxialRoom { found_mm, .. }, Blocker::NoAxialRoom { found_mm: known_mm, .. }) => found_mm > known_mm,
        _ => false,
    }
}

/// The last steps and the verdict.
fn conclude(opening: &Opening, closing: usize, attach: Step, turning: Turning, steps: &mut Vec<Step>) -> Verdict {
    let component = opening.component.as_ref().map(|(name, _)| name.clone());
    let verdict = match &opening.component {
        None => {
            let (links, swivels) = (opening.links.clone(), opening.swivels.clone());
            steps.push(Step::Open { joint: closing, opening_mm: opening.opening_mm, links, swivels });
            Verdict::MadeUpInPlace
        }
        Some((name, back)) => {
            let (component, distance_mm) = (name.clone(), opening.opening_mm);
            steps.push(Step::HoldBack { component: name.clone(), direction: (*back).into(), distance_mm });
            Verdict::OfferedUp { component, direction: (-back).into(), distance_mm }
        }
    };
    steps.extend([attach, Step::Close { joint: closing, turning, component }]);
    verdict
}

/// Moves a group on to its joint; the turn at which it is held meanwhile.
fn put_on(
    around: &Around<'_, '_>,
    moving: &Group<'_>,
    frame: &Pose,
    travel: [f64; 2],
    turning: &Turning,
    mine: bool,
) -> Result<f64, Blocker> {
    if !matches!(turning, Turning::Collar(_)) {
        if !mine {
            spin(around, frame, turning)?;
        }
        return around.screw(moving, frame, travel, turning).map(|()| 0.0);
    }
    let mut first_blocker = None;
    for swing in swings() {
        let by = frame * turned(swing) * frame.inverse();
        let held: Group<'_> = moving.iter().map(|(member, solid)| (*member, solid.moved(&by))).collect();
        let swung = Sweep { frame: *frame, turn: [swing.min(0.0), swing.max(0.0)], travel: [0.0; 2] };
        let outcome = around
            .screw(&held, frame, travel, turning)
            .and_then(|()| moving.iter().try_for_each(|(member, solid)| around.sweep(member, solid, &swung)));
        match outcome {
            Ok(()) => return Ok(swing),
            Err(blocker) => first_blocker = first_blocker.or(Some(blocker)),
        }
    }
    first_blocker.map_or(Ok(0.0), Err)
}

/// Turns standing straight parts all the way round where they are.
fn spin(around: &Around<'_, '_>, frame: &Pose, turning: &Turning) -> Result<(), Blocker> {
    let turns = |member: &Member| turning.turns(member.part);
    let rest = Around {
        site: around.site,
        layout: around.layout.clone(),
        chain: around.chain.iter().filter(|(member, _)| !turns(member)).map(|(m, s)| (*m, s.clone())).collect(),
    };
    let sweep = Sweep { frame: *frame, turn: [-PI, PI], travel: [0.0; 2] };
    around
        .chain
        .iter()
        .filter(|(member, _)| turns(member))
        .try_for_each(|(member, solid)| rest.sweep(member, solid, &sweep))
}

/// The ways of turning there are, with the side each is on, the handiest first: a collar, then straight parts, then
/// everything.
fn ranked(sides: [Option<Turning>; 2]) -> Vec<(usize, Turning)> {
    let mut found: Vec<(usize, Turning)> =
        sides.into_iter().enumerate().filter_map(|(side, turning)| Some((side, turning?))).collect();
    found.sort_by_key(|(side, turning)| {
        let handiness = match turning {
            Turning::Collar(_) => 0,
            Turning::Straights(_) => 1,
            Turning::All(_) => 2,
        };
        (handiness, *side)
    });
    found
}

/// The parts from `start` up to but not including `end`.
fn range(start: usize, end: usize) -> RangeInclusive<usize> {
    match end.checked_sub(1) {
        Some(last) if last >= start => start..=last,
        _ => RangeInclusive::new(1, 0),
    }
}
