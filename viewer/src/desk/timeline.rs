//! The making up of a chain as a line of time: what stands where at each second.
//!
//! The motions are those of the solver's order of work, in which every one was tested against the layout. A part that
//! goes on advances along the axis of its joint and, while its thread is engaged, turns by one turn for each pitch.

use super::posture::Posture;
use super::segment::{Segment, Spin, Track, about};
use super::stage::{Stage, Staged};
use super::steps;
use elbowroom::{
    bridge::{Chain, MakeUp, Step, Turning},
    catalog::Catalog,
    geometry::axis,
    layout::{BodyId, Gap, Layout},
};
use nalgebra::{Isometry3, Translation3, Vector3};
use std::{collections::BTreeMap, ops::RangeInclusive};

/// The making up of one chain.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    segments: Vec<Segment>,
    seconds: f64,
    /// Whether the motions are an order of work that the solver found.
    proven: bool,
}

/// Seconds for one turn of a thread: a little faster than by hand.
const SECONDS_PER_TURN: f64 = 0.25;
/// Shortest time for any motion that should be seen.
const SHORTEST_S: f64 = 0.4;
/// Seconds for a turn of a swivel by one radian.
const SECONDS_PER_RADIAN: f64 = 0.6;
/// Seconds for each millimetre that a joint opens.
const SECONDS_PER_MM: f64 = 0.06;
/// Rest between two steps.
const REST_S: f64 = 0.25;
/// Rest at the end, on the finished chain.
const LAST_S: f64 = 1.0;
/// How far above the highest body parts are joined that go in as one piece, in millimetres.
const BENCH_MM: f64 = 40.0;
/// Travel shown for a joint of which nothing is known.
const UNKNOWN_TRAVEL_MM: f64 = 8.0;
/// How far from the mouth of its thread a part is held before it goes on: the solver's default.
const APPROACH_MM: f64 = 1.0;

impl Timeline {
    /// The making up of `chain`, which bridges `gap` of `layout` with fittings of `catalog`, in the order of work
    /// that `make_up` found.
    ///
    /// Without an order of work the parts are shown going on one after the other from the first port, and the captions
    /// say that this is no order of work. A chain that does not belong to layout and catalog has no time line: it
    /// takes no time and shows the chain as it is.
    #[must_use]
    pub fn of(catalog: &Catalog, layout: &Layout, gap: &Gap, chain: &Chain, make_up: &MakeUp) -> Self {
        let Some(frames) = frames(catalog, layout, gap, chain) else { return Self::default() };
        let mut builder = Builder::new(layout, gap, chain, make_up, frames);
        let proven = !make_up.steps.is_empty();
        if proven {
            builder.waits = builder.all_waits();
            for (index, step) in make_up.steps.iter().enumerate() {
                builder.step(step, make_up.steps.get(index + 1..).unwrap_or_default());
            }
        } else {
            builder.one_by_one();
        }
        builder.hold(LAST_S, "Made up".to_owned());
        Self { seconds: builder.now, segments: builder.segments, proven }
    }

    /// How long it takes at normal speed.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Whether the motions are an order of work that the solver found.
    #[must_use]
    pub fn is_proven(&self) -> bool {
        self.proven
    }

    /// What stands where after `seconds`; before the start nothing is there, after the end all is made up.
    #[must_use]
    pub fn at(&self, seconds: f64) -> Stage {
        let index = self.segments.partition_point(|segment| segment.start <= seconds).saturating_sub(1);
        self.segments.get(index).map_or_else(Stage::default, |segment| segment.at(seconds))
    }

    /// The seconds at which a step begins, and the end: where stepping forward and back stops.
    #[must_use]
    pub fn stops(&self) -> Vec<f64> {
        let mut stops: Vec<f64> = self.segments.iter().filter(|segment| segment.begins).map(|s| s.start).collect();
        stops.push(self.seconds);
        stops
    }
}

/// The world frame of each joint when all is done, `z` towards the second port.
fn frames(catalog: &Catalog, layout: &Layout, gap: &Gap, chain: &Chain) -> Option<Vec<Isometry3<f64>>> {
    let mut frames = vec![layout.port_by_id(gap.from)?.pose];
    layout.port_by_id(gap.to)?;
    for part in &chain.parts {
        let fitting = catalog.fitting(&part.fitting)?;
        let exit = 1_usize.checked_sub(part.entry)?;
        frames.push(part.pose * fitting.end_frames(part.stretch_mm).get(exit)?);
    }
    Some(frames)
}

/// A part while the line of time is put together.
#[derive(Clone, Copy, Debug)]
struct Standing {
    staged: Staged,
    /// Where it waits after it was joined to others outside the machine.
    on_bench: bool,
}

/// Parts that go on to what stands.
struct Screw<'w> {
    joint: usize,
    /// World frame of the joint, `z` towards the second port.
    frame: Isometry3<f64>,
    moving: RangeInclusive<usize>,
    /// Whether they go on to the side of the first port, and so come from that of the second.
    from_first: bool,
    turning: &'w Turning,
}

struct Builder<'a> {
    chain: &'a Chain,
    make_up: &'a MakeUp,
    frames: Vec<Isometry3<f64>>,
    /// Bodies of the two ports and their names.
    components: [(usize, String); 2],
    standing: Vec<Standing>,
    posture: Posture,
    opening_mm: f64,
    held: Option<(usize, Vector3<f64>)>,
    lift: Vector3<f64>,
    segments: Vec<Segment>,
    /// For each part what later steps turn it by where it stands; see [`Segment::waits`].
    waits: Vec<f64>,
    now: f64,
}

impl<'a> Builder<'a> {
    fn new(layout: &Layout, gap: &Gap, chain: &'a Chain, make_up: &'a MakeUp, frames: Vec<Isometry3<f64>>) -> Self {
        let components = [gap.from, gap.to].map(|port| {
            let body = layout.port_by_id(port).map(|port| port.body);
            let name = body.and_then(|body| layout.body(body)).map(|body| body.name.clone());
            (body.map_or(usize::MAX, BodyId::index), name.unwrap_or_default())
        });
        let tops = layout.bodies().iter().flat_map(|body| &body.solids).map(|solid| solid.bounds().max.z);
        let top = tops.fold(f64::NEG_INFINITY, f64::max);
        let lowest = frames.iter().map(|frame| frame.translation.z).fold(f64::INFINITY, f64::min);
        let lift = if (top - lowest).is_finite() { (top - lowest).max(0.0) } else { 0.0 };
        let stage = Stage::home(Some(chain));
        let standing = stage
            .parts
            .into_iter()
            .map(|staged| Standing { staged: Staged { shown: false, ..staged }, on_bench: false });
        Self {
            chain,
            make_up,
            posture: Posture::home(&frames),
            frames,
            components,
            standing: standing.collect(),
            opening_mm: 0.0,
            held: None,
            lift: Vector3::new(0.0, 0.0, lift + BENCH_MM),
            segments: Vec::new(),
            waits: vec![0.0; chain.parts.len()],
            now: 0.0,
        }
    }

    fn step(&mut self, step: &Step, later: &[Step]) {
        let caption = steps::caption(step);
        for (part, turn) in self.turned_standing(step) {
            if let Some(wait) = self.waits.get_mut(part) {
                *wait -= turn;
            }
        }
        match step {
            Step::Bench { joint, parts, turning } => self.bench(*joint, parts, turning, caption),
            Step::HoldBack { component, direction, distance_mm } => {
                let closing = later.iter().find_map(|step| match step {
                    Step::Close { joint, .. } => Some(*joint),
                    _ => None,
                });
                self.hold_back(component, Vector3::from(*direction) * *distance_mm, closing, caption);
                self.opening_mm = *distance_mm;
            }
            Step::Open { joint, opening_mm, links, swivels } => {
                let home = |part: usize| self.chain.parts.get(part).map_or(0.0, |part| part.stretch_mm);
                let draws: Vec<_> = links.iter().map(|(part, drawn)| (*part, drawn - home(*part))).collect();
                self.posture = Posture::open(&self.frames, *joint, swivels, &draws);
                self.opening_mm = *opening_mm;
                self.move_posture(0.0, 1.0, SHORTEST_S.max(opening_mm * SECONDS_PER_MM), caption, None);
            }
            Step::Attach { joint, parts, from_first, turning, swung_deg } => {
                self.attach(*joint, parts, *from_first, turning, *swung_deg, caption);
            }
            Step::Close { joint, turning, .. } => self.close(*joint, turning, caption),
        }
        self.hold(REST_S, String::new());
    }

    /// A thread stops where its ring seats: parts that a later step turns where they stand do not stand as at home before.
    fn all_waits(&self) -> Vec<f64> {
        let mut waits = vec![0.0; self.chain.parts.len()];
        for (part, turn) in self.make_up.steps.iter().flat_map(|step| self.turned_standing(step)) {
            if let Some(wait) = waits.get_mut(part) {
                *wait += turn;
            }
        }
        waits
    }

    /// The parts that a step turns about their own axis where they stand, and by how much less than at home they are
    /// turned before it.
    fn turned_standing(&self, step: &Step) -> Vec<(usize, f64)> {
        let (joint, moving, turning) = match step {
            Step::Bench { joint, parts, turning: Turning::Straights(turned) } => {
                (*joint, *joint..=*parts.end(), turned)
            }
            Step::Attach { joint, parts, turning: Turning::Straights(turned), .. } => (*joint, parts.clone(), turned),
            Step::Close { joint, turning: Turning::Straights(turned), .. } => {
                (*joint, RangeInclusive::new(1, 0), turned)
            }
            _ => return Vec::new(),
        };
        let turning = Turning::Straights(turning.clone());
        let Some(spin) = self.spin(joint, &Isometry3::identity(), &turning, f64::INFINITY) else { return Vec::new() };
        let standing = spin.parts.iter().filter(|part| !moving.contains(part));
        standing
            .filter_map(|part| {
                let reversed = self.chain.parts.get(*part)?.entry != 0;
                Some((*part, if reversed { -spin.start_rad(*part) } else { spin.start_rad(*part) }))
            })
            .collect()
    }

    /// Two groups become one piece outside the machine.
    fn bench(&mut self, joint: usize, parts: &RangeInclusive<usize>, turning: &Turning, caption: String) {
        let lift = Isometry3::from(Translation3::from(self.lift));
        let frame = lift * self.frames.get(joint).copied().unwrap_or_default();
        let right = joint..=*parts.end();
        let mut apart = BTreeMap::new();
        for part in parts.clone() {
            if let (Some(standing), Some(home)) = (self.standing.get_mut(part), self.chain.parts.get(part)) {
                if std::mem::replace(&mut standing.on_bench, true) && right.contains(&part) {
                    apart.insert(part, standing.staged.pose);
                }
                standing.staged.shown = true;
                standing.staged.pose = lift * home.pose;
            }
        }
        // Turning one side outside the machine is the same as turning the other.
        let turning = match turning {
            Turning::All(_) => &Turning::All(right.clone()),
            other => other,
        };
        let screw = Screw { joint, frame, moving: right, from_first: true, turning };
        self.bring(&screw, &apart, caption.clone());
        self.screw(&screw, apart.is_empty(), caption);
    }

    fn hold_back(&mut self, component: &str, shift: Vector3<f64>, closing: Option<usize>, caption: String) {
        let second = self.components[1].1 == component;
        let closing = closing.unwrap_or(self.frames.len());
        self.posture = Posture::held(&self.frames, closing, second, shift);
        self.held = Some((self.components[usize::from(second)].0, shift));
        self.move_posture(0.0, 1.0, SHORTEST_S.max(shift.norm() * SECONDS_PER_MM), caption, None);
    }

    /// Parts go on to what stands.
    fn attach(
        &mut self,
        joint: usize,
        parts: &RangeInclusive<usize>,
        from_first: bool,
        turning: &Turning,
        swung_deg: f64,
        caption: String,
    ) {
        let frame = if from_first { self.posture.frame_before(joint) } else { self.posture.frame_after(joint) };
        let tight = self.posed(1.0);
        let swing = swung_deg.to_radians();
        let swung = about(&frame, swing);
        let mut lowered = BTreeMap::new();
        for part in parts.clone() {
            let (Some(standing), Some(tight)) = (self.standing.get_mut(part), tight.get(part)) else { continue };
            if std::mem::take(&mut standing.on_bench) {
                lowered.insert(part, standing.staged.pose);
            }
            standing.staged = Staged { pose: swung * tight.pose, ..*tight };
        }
        let screw = Screw { joint, frame, moving: parts.clone(), from_first, turning };
        self.bring(&screw, &lowered, caption.clone());
        self.screw(&screw, lowered.is_empty(), caption.clone());
        if swing != 0.0 {
            for part in parts.clone() {
                if let (Some(standing), Some(tight)) = (self.standing.get_mut(part), tight.get(part)) {
                    standing.staged.pose = tight.pose;
                }
            }
            let tracks =
                self.tracks(|staged| parts.contains(&staged.part).then_some((*staged, Track::Swing(frame, swing))));
            self.push(SHORTEST_S.max(swing.abs() * SECONDS_PER_RADIAN), caption, false, tracks);
        }
    }

    /// The open joint closes: everything comes home while the thread turns.
    fn close(&mut self, joint: usize, turning: &Turning, caption: String) {
        let seconds = self.duration(joint);
        let frame = self.frames.get(joint).copied().unwrap_or_default();
        let spin = self.spin(joint, &frame, turning, self.opening_mm);
        self.move_posture(1.0, 0.0, seconds, caption, spin);
        self.posture = Posture::home(&self.frames);
        self.held = None;
        self.opening_mm = 0.0;
    }

    /// Without an order of work: each part goes on from the first port.
    fn one_by_one(&mut self) {
        for part in 0..self.chain.parts.len() {
            let caption = steps::without_order(part, &self.make_up.verdict);
            let frame = self.frames.get(part).copied().unwrap_or_default();
            if let Some(standing) = self.standing.get_mut(part) {
                standing.staged.shown = true;
            }
            let turning = &Turning::Collar(part);
            let screw = Screw { joint: part, frame, moving: part..=part, from_first: true, turning };
            self.screw(&screw, true, caption);
            self.hold(REST_S, String::new());
        }
    }

    /// Parts that lie elsewhere, at these poses, come to where their thread takes hold.
    fn bring(&mut self, screw: &Screw<'_>, from: &BTreeMap<usize, Isometry3<f64>>, caption: String) {
        if from.is_empty() {
            return;
        }
        let out = self.way_out(&screw.frame, screw.from_first, screw.joint);
        let spin = self.spin(screw.joint, &screw.frame, screw.turning, out.norm());
        let tracks = self.tracks(|staged| {
            let turned = spin.as_ref().filter(|spin| spin.parts.contains(&staged.part));
            let turned = turned.map_or(0.0, |spin| spin.start_rad(staged.part));
            let pose = Translation3::from(out) * about(&screw.frame, turned) * staged.pose;
            Some((Staged { pose, ..*staged }, Track::Glide(*from.get(&staged.part)?)))
        });
        self.push(2.0 * SHORTEST_S, caption, true, tracks);
    }

    /// Parts advance along the axis of a joint from where their thread is free to where they stand.
    fn screw(&mut self, screw: &Screw<'_>, begins: bool, caption: String) {
        let out = self.way_out(&screw.frame, screw.from_first, screw.joint);
        let tracks =
            self.tracks(|staged| screw.moving.contains(&staged.part).then_some((*staged, Track::Advance(out))));
        self.push(self.duration(screw.joint), caption, begins, tracks);
        let spin = self.spin(screw.joint, &screw.frame, screw.turning, out.norm());
        if let Some(segment) = self.segments.last_mut() {
            segment.spin = spin;
        }
    }

    /// From home to where parts are held before their thread takes hold of the joint at `frame`.
    fn way_out(&self, frame: &Isometry3<f64>, from_first: bool, joint: usize) -> Vector3<f64> {
        let mm = self.travel(joint) + APPROACH_MM;
        axis(frame) * if from_first { mm } else { -mm }
    }

    /// Everything moves between two shares of the open posture.
    fn move_posture(&mut self, from: f64, to: f64, seconds: f64, caption: String, spin: Option<Spin>) {
        let posture = self.posture.clone();
        let chain = self.chain;
        let benched: Vec<bool> = self.standing.iter().map(|standing| standing.on_bench).collect();
        let tracks = self.tracks(|staged| {
            let part = chain.parts.get(staged.part).filter(|_| benched.get(staged.part) == Some(&false))?;
            let track = Track::Posture { home: part.pose, stretch_mm: part.stretch_mm, entry: part.entry };
            Some((*staged, track))
        });
        let held = self.held;
        let staged = self.posed(to);
        for (standing, staged) in self.standing.iter_mut().zip(staged) {
            if !standing.on_bench {
                standing.staged = Staged { shown: standing.staged.shown, ..staged };
            }
        }
        self.push(seconds, caption, true, tracks);
        if let Some(segment) = self.segments.last_mut() {
            segment.posture = Some((posture, from, to));
            segment.held = held.map(|(body, shift)| (body, shift * from, shift * to));
            segment.spin = spin;
        }
    }

    /// The parts in a share of the open posture.
    fn posed(&self, share: f64) -> Vec<Staged> {
        let posture = self.posture.scaled(share);
        let sides = posture.sides();
        let parts = self.chain.parts.iter().enumerate().zip(&sides);
        parts
            .map(|((index, part), sides)| Staged {
                part: index,
                pose: sides.get(part.entry.min(1)).copied().unwrap_or_default() * part.pose,
                shown: true,
                stretch_mm: part.stretch_mm + posture.draw(index),
                collar_rad: [0.0; 2],
            })
            .collect()
    }

    fn hold(&mut self, seconds: f64, caption: String) {
        let begins = !caption.is_empty();
        let caption =
            if begins { caption } else { self.segments.last().map_or_else(String::new, |last| last.caption.clone()) };
        let tracks = self.tracks(|_| None);
        self.push(seconds, caption, begins, tracks);
    }

    /// A track for each part: what `moving` says, else that it stands.
    fn tracks(&self, moving: impl Fn(&Staged) -> Option<(Staged, Track)>) -> Vec<(Staged, Track)> {
        let staged = self.standing.iter().map(|standing| standing.staged);
        staged.map(|staged| moving(&staged).unwrap_or((staged, Track::Still))).collect()
    }

    fn push(&mut self, seconds: f64, caption: String, begins: bool, tracks: Vec<(Staged, Track)>) {
        let held = self.held.map(|(body, shift)| (body, shift, shift));
        self.segments.push(Segment {
            start: self.now,
            seconds,
            caption,
            begins,
            tracks,
            posture: None,
            held,
            spin: None,
            waits: self.waits.clone(),
        });
        self.now += seconds;
    }

    fn spin(&self, joint: usize, frame: &Isometry3<f64>, turning: &Turning, from_mm: f64) -> Option<Spin> {
        let facts = self.make_up.joints.get(joint)?;
        let (parts, collar) = match turning {
            Turning::Collar(part) => {
                let entry = self.chain.parts.get(*part)?.entry.min(1);
                (Vec::new(), Some((*part, if *part == joint { entry } else { 1 - entry })))
            }
            Turning::Straights(parts) | Turning::All(parts) => (parts.clone().collect(), None),
        };
        let (travel_mm, pitch_mm) = (facts.travel_mm, facts.pitch_mm);
        Some(Spin { joint, frame: *frame, parts, collar, from_mm, travel_mm, pitch_mm })
    }

    fn travel(&self, joint: usize) -> f64 {
        self.make_up.joints.get(joint).map_or(UNKNOWN_TRAVEL_MM, |facts| facts.travel_mm)
    }

    fn duration(&self, joint: usize) -> f64 {
        self.make_up.joints.get(joint).map_or(SHORTEST_S, |facts| facts.turns * SECONDS_PER_TURN).max(SHORTEST_S)
    }
}
