//! An order of work as motions: what each of its steps does.

use super::motion::{Motions, SHORTEST_S, Screw};
use super::posture::Posture;
use super::segment::{Segment, Track, about};
use super::stage::Staged;
use elbowroom::{
    bridge::{Step, Turning},
    report::WorkStep,
};
use nalgebra::{Isometry3, Translation3, Vector3};
use std::{collections::BTreeMap, ops::RangeInclusive};

/// Seconds for a turn of a swivel by one radian.
const SECONDS_PER_RADIAN: f64 = 0.6;
/// Seconds for each millimetre that a joint opens.
const SECONDS_PER_MM: f64 = 0.06;
/// Rest between two steps.
const REST_S: f64 = 0.25;

/// A step in a line: what to do, and what to look at before going on.
pub(super) fn said(step: &WorkStep) -> String {
    format!("{} Check: {}", step.action, step.check)
}

/// The steps done so far.
pub(super) struct Work<'a> {
    motions: Motions<'a>,
}

impl<'a> Work<'a> {
    /// No step is done yet.
    pub(super) fn new(motions: Motions<'a>) -> Self {
        Self { motions }
    }

    /// Every step of the order of work, each with its caption.
    pub(super) fn in_order(&mut self, captions: &[WorkStep]) {
        let steps = &self.motions.make_up.steps;
        self.motions.waits = self.all_waits();
        for (index, (step, words)) in steps.iter().zip(captions).enumerate() {
            self.step(step, steps.get(index + 1..).unwrap_or_default(), said(words));
        }
    }

    /// Rests on the finished chain; all the motions, and how long they take.
    pub(super) fn done(mut self, rest_s: f64, caption: String) -> (Vec<Segment>, f64) {
        self.motions.hold(rest_s, caption);
        self.motions.done()
    }

    fn step(&mut self, step: &Step, later: &[Step], caption: String) {
        for (part, turn) in self.turned_standing(step) {
            if let Some(wait) = self.motions.waits.get_mut(part) {
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
                self.motions.opening_mm = *distance_mm;
            }
            Step::Open { joint, opening_mm, links, swivels } => {
                let home = |part: usize| self.motions.chain.parts.get(part).map_or(0.0, |part| part.stretch_mm);
                let draws: Vec<_> = links.iter().map(|(part, drawn)| (*part, drawn - home(*part))).collect();
                self.motions.posture = Posture::open(&self.motions.frames, *joint, swivels, &draws);
                self.motions.opening_mm = *opening_mm;
                self.motions.move_posture(0.0, 1.0, SHORTEST_S.max(opening_mm * SECONDS_PER_MM), caption, None);
            }
            Step::Attach { joint, parts, from_first, turning, swung_deg } => {
                self.attach(*joint, parts, *from_first, turning, *swung_deg, caption);
            }
            Step::Close { joint, turning, .. } => self.close(*joint, turning, caption),
        }
        self.motions.hold(REST_S, String::new());
    }

    /// A thread stops where its ring seats: parts that a later step turns where they stand do not stand as at home before.
    fn all_waits(&self) -> Vec<f64> {
        let mut waits = vec![0.0; self.motions.chain.parts.len()];
        for (part, turn) in self.motions.make_up.steps.iter().flat_map(|step| self.turned_standing(step)) {
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
        let Some(spin) = self.motions.spin(joint, &Isometry3::identity(), &turning, f64::INFINITY) else {
            return Vec::new();
        };
        let standing = spin.parts.iter().filter(|part| !moving.contains(part));
        standing
            .filter_map(|part| {
                let reversed = self.motions.chain.parts.get(*part)?.entry != 0;
                Some((*part, if reversed { -spin.start_rad(*part) } else { spin.start_rad(*part) }))
            })
            .collect()
    }

    /// Two groups become one piece outside the machine.
    fn bench(&mut self, joint: usize, parts: &RangeInclusive<usize>, turning: &Turning, caption: String) {
        let lift = Isometry3::from(Translation3::from(self.motions.lift));
        let frame = lift * self.motions.frames.get(joint).copied().unwrap_or_default();
        let right = joint..=*parts.end();
        let mut apart = BTreeMap::new();
        for part in parts.clone() {
            if let (Some(standing), Some(home)) =
                (self.motions.standing.get_mut(part), self.motions.chain.parts.get(part))
            {
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
        self.motions.bring(&screw, &apart, caption.clone());
        self.motions.screw(&screw, apart.is_empty(), caption);
    }

    fn hold_back(&mut self, component: &str, shift: Vector3<f64>, closing: Option<usize>, caption: String) {
        let second = self.motions.components[1].1 == component;
        let closing = closing.unwrap_or(self.motions.frames.len());
        self.motions.posture = Posture::held(&self.motions.frames, closing, second, shift);
        self.motions.held = Some((self.motions.components[usize::from(second)].0, shift));
        self.motions.move_posture(0.0, 1.0, SHORTEST_S.max(shift.norm() * SECONDS_PER_MM), caption, None);
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
        let frame =
            if from_first { self.motions.posture.frame_before(joint) } else { self.motions.posture.frame_after(joint) };
        let tight = self.motions.posed(1.0);
        let swing = swung_deg.to_radians();
        let swung = about(&frame, swing);
        let mut lowered = BTreeMap::new();
        for part in parts.clone() {
            let (Some(standing), Some(tight)) = (self.motions.standing.get_mut(part), tight.get(part)) else {
                continue;
            };
            if std::mem::take(&mut standing.on_bench) {
                lowered.insert(part, standing.staged.pose);
            }
            standing.staged = Staged { pose: swung * tight.pose, ..*tight };
        }
        let screw = Screw { joint, frame, moving: parts.clone(), from_first, turning };
        self.motions.bring(&screw, &lowered, caption.clone());
        self.motions.screw(&screw, lowered.is_empty(), caption.clone());
        if swing != 0.0 {
            for part in parts.clone() {
                if let (Some(standing), Some(tight)) = (self.motions.standing.get_mut(part), tight.get(part)) {
                    standing.staged.pose = tight.pose;
                }
            }
            let tracks = self
                .motions
                .tracks(|staged| parts.contains(&staged.part).then_some((*staged, Track::Swing(frame, swing))));
            self.motions.push(SHORTEST_S.max(swing.abs() * SECONDS_PER_RADIAN), caption, false, tracks);
        }
    }

    /// The open joint closes: everything comes home while the thread turns.
    fn close(&mut self, joint: usize, turning: &Turning, caption: String) {
        let seconds = self.motions.duration(joint);
        let frame = self.motions.frames.get(joint).copied().unwrap_or_default();
        let spin = self.motions.spin(joint, &frame, turning, self.motions.opening_mm);
        self.motions.move_posture(1.0, 0.0, seconds, caption, spin);
        self.motions.posture = Posture::home(&self.motions.frames);
        self.motions.held = None;
        self.motions.opening_mm = 0.0;
    }

    /// Without an order of work: each part goes on from the first port.
    pub(super) fn one_by_one(&mut self, why: &str) {
        for part in 0..self.motions.chain.parts.len() {
            let caption = format!("Part {}, in the order of the chain only; {why}.", part + 1);
            let frame = self.motions.frames.get(part).copied().unwrap_or_default();
            if let Some(standing) = self.motions.standing.get_mut(part) {
                standing.staged.shown = true;
            }
            let turning = &Turning::Collar(part);
            let screw = Screw { joint: part, frame, moving: part..=part, from_first: true, turning };
            self.motions.screw(&screw, true, caption);
            self.motions.hold(REST_S, String::new());
        }
    }
}
