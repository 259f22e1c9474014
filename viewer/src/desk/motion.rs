//! The motions that an order of work is made of, put one after the other: what stands, what moves, and how long it takes.

use super::posture::Posture;
use super::segment::{Segment, Spin, Track, about};
use super::stage::{Stage, Staged};
use elbowroom::{
    bridge::{Chain, MakeUp, Turning},
    geometry::axis,
    layout::{BodyId, Gap, Layout},
};
use nalgebra::{Isometry3, Translation3, Vector3};
use std::{collections::BTreeMap, ops::RangeInclusive};

/// Seconds for one turn of a thread: a little faster than by hand.
const SECONDS_PER_TURN: f64 = 0.25;
/// Shortest time for any motion that should be seen.
pub(super) const SHORTEST_S: f64 = 0.4;
/// How far above the highest body parts are joined that go in as one piece, in millimetres.
const BENCH_MM: f64 = 40.0;
/// Travel shown for a joint of which nothing is known.
const UNKNOWN_TRAVEL_MM: f64 = 8.0;
/// How far from the mouth of its thread a part is held before it goes on: the solver's default.
const APPROACH_MM: f64 = 1.0;

/// A part while the line of time is put together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    pub(super) staged: Staged,
    /// Where it waits after it was joined to others outside the machine.
    pub(super) on_bench: bool,
}

/// Parts that go on to what stands.
pub(super) struct Screw<'w> {
    pub(super) joint: usize,
    /// World frame of the joint, `z` towards the second port.
    pub(super) frame: Isometry3<f64>,
    pub(super) moving: RangeInclusive<usize>,
    /// Whether they go on to the side of the first port, and so come from that of the second.
    pub(super) from_first: bool,
    pub(super) turning: &'w Turning,
}

/// The motions so far, and how everything stands after them.
pub(super) struct Motions<'a> {
    pub(super) chain: &'a Chain,
    pub(super) make_up: &'a MakeUp,
    pub(super) frames: Vec<Isometry3<f64>>,
    /// Bodies of the two ports and their names.
    pub(super) components: [(usize, String); 2],
    pub(super) standing: Vec<Standing>,
    pub(super) posture: Posture,
    pub(super) opening_mm: f64,
    pub(super) held: Option<(usize, Vector3<f64>)>,
    pub(super) lift: Vector3<f64>,
    segments: Vec<Segment>,
    /// For each part what later steps turn it by where it stands; see [`Segment::waits`].
    pub(super) waits: Vec<f64>,
    now: f64,
}

impl<'a> Motions<'a> {
    /// Nothing stands yet; `frames` are those of the joints when all is done.
    pub(super) fn new(
        layout: &Layout,
        gap: &Gap,
        chain: &'a Chain,
        make_up: &'a MakeUp,
        frames: Vec<Isometry3<f64>>,
    ) -> Self {
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

    /// Parts that lie elsewhere, at these poses, come to where their thread takes hold.
    pub(super) fn bring(&mut self, screw: &Screw<'_>, from: &BTreeMap<usize, Isometry3<f64>>, caption: String) {
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
    pub(super) fn screw(&mut self, screw: &Screw<'_>, begins: bool, caption: String) {
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
    pub(super) fn move_posture(&mut self, from: f64, to: f64, seconds: f64, caption: String, spin: Option<Spin>) {
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
    pub(super) fn posed(&self, share: f64) -> Vec<Staged> {
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

    pub(super) fn hold(&mut self, seconds: f64, caption: String) {
        let begins = !caption.is_empty();
        let caption =
            if begins { caption } else { self.segments.last().map_or_else(String::new, |last| last.caption.clone()) };
        let tracks = self.tracks(|_| None);
        self.push(seconds, caption, begins, tracks);
    }

    /// A track for each part: what `moving` says, else that it stands.
    pub(super) fn tracks(&self, moving: impl Fn(&Staged) -> Option<(Staged, Track)>) -> Vec<(Staged, Track)> {
        let staged = self.standing.iter().map(|standing| standing.staged);
        staged.map(|staged| moving(&staged).unwrap_or((staged, Track::Still))).collect()
    }

    pub(super) fn push(&mut self, seconds: f64, caption: String, begins: bool, tracks: Vec<(Staged, Track)>) {
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

    pub(super) fn spin(&self, joint: usize, frame: &Isometry3<f64>, turning: &Turning, from_mm: f64) -> Option<Spin> {
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

    pub(super) fn duration(&self, joint: usize) -> f64 {
        self.make_up.joints.get(joint).map_or(SHORTEST_S, |facts| facts.turns * SECONDS_PER_TURN).max(SHORTEST_S)
    }

    /// All of them, and how long they take.
    pub(super) fn done(self) -> (Vec<Segment>, f64) {
        (self.segments, self.now)
    }
}
