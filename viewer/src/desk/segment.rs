//! A stretch of a time line in which everything moves evenly.

use super::posture::Posture;
use super::stage::{Held, Stage, Staged};
use nalgebra::{Isometry3, Translation3, Vector3};
use std::f64::consts::TAU;

/// A stretch of a time line.
#[derive(Clone, Debug)]
pub(super) struct Segment {
    pub(super) start: f64,
    pub(super) seconds: f64,
    pub(super) caption: String,
    /// Whether a step begins here: where stepping stops.
    pub(super) begins: bool,
    /// For each part where it stands at the end, and how it comes there.
    pub(super) tracks: Vec<(Staged, Track)>,
    /// The open posture, and which share of it the chain is in at the start and at the end.
    pub(super) posture: Option<(Posture, f64, f64)>,
    /// A component out of its place: its body, and its shift at the start and at the end.
    pub(super) held: Option<(usize, Vector3<f64>, Vector3<f64>)>,
    /// The thread that turns.
    pub(super) spin: Option<Spin>,
    /// For each part, how far about its own axis it stands from home until a later step turns it where it stands.
    pub(super) waits: Vec<f64>,
}

/// How a part comes to where it stands at the end of a segment.
#[derive(Clone, Debug)]
pub(super) enum Track {
    /// It stands there all the while.
    Still,
    /// Straight, from as far away as this.
    Advance(Vector3<f64>),
    /// Through the open, from this pose.
    Glide(Isometry3<f64>),
    /// By a turn about the `z` axis of a frame, from this angle.
    Swing(Isometry3<f64>, f64),
    /// With the whole chain, whose posture changes.
    Posture {
        /// Its pose when all is done.
        home: Isometry3<f64>,
        /// How far it is drawn out then.
        stretch_mm: f64,
        /// Which end of the fitting faces the first port.
        entry: usize,
    },
}

/// A thread that engages: what turns, and how far.
#[derive(Clone, Debug)]
pub(super) struct Spin {
    pub(super) joint: usize,
    /// World frame of the joint, `z` towards the second port; the posture has its own.
    pub(super) frame: Isometry3<f64>,
    /// Parts that turn as a whole.
    pub(super) parts: Vec<usize>,
    /// The part and the end of its fitting whose collar turns.
    pub(super) collar: Option<(usize, usize)>,
    /// How far apart the sides of the joint stand at the start; at the end they meet.
    pub(super) from_mm: f64,
    /// Distance over which the thread holds.
    pub(super) travel_mm: f64,
    pub(super) pitch_mm: f64,
}

impl Segment {
    /// What stands where at a time within the segment, or at its nearer end.
    pub(super) fn at(&self, seconds: f64) -> Stage {
        let share = if self.seconds > 0.0 { ((seconds - self.start) / self.seconds).clamp(0.0, 1.0) } else { 1.0 };
        let posture = self.posture.as_ref().map(|(posture, from, to)| posture.scaled(from + (to - from) * share));
        let sides = posture.as_ref().map(Posture::sides);
        let parts = self.tracks.iter().map(|(staged, track)| {
            let mut staged = track.at(staged, share, posture.as_ref(), sides.as_deref());
            if let Some(spin) = &self.spin {
                spin.turn(&mut staged, share, posture.as_ref());
            }
            if let Some(wait) = self.waits.get(staged.part).filter(|wait| **wait != 0.0) {
                staged.pose *= elbowroom::geometry::turned(*wait);
            }
            staged
        });
        let held = self.held.map(|(body, from, to)| {
            let shift: Vector3<f64> = from + (to - from) * share;
            Held { body, by: Translation3::from(shift).into() }
        });
        Stage { parts: parts.collect(), held: held.into_iter().collect(), caption: self.caption.clone() }
    }
}

impl Track {
    fn at(&self, end: &Staged, share: f64, posture: Option<&Posture>, sides: Option<&[[Isometry3<f64>; 2]]>) -> Staged {
        let left = 1.0 - share;
        match self {
            Self::Still => *end,
            Self::Advance(from) => Staged { pose: Translation3::from(from * left) * end.pose, ..*end },
            Self::Glide(from) => Staged { pose: from.lerp_slerp(&end.pose, share), ..*end },
            Self::Swing(frame, from) => Staged { pose: about(frame, from * left) * end.pose, ..*end },
            Self::Posture { home, stretch_mm, entry } => {
                let side = sides.and_then(|sides| sides.get(end.part)?.get(*entry)).copied().unwrap_or_default();
                let drawn = posture.map_or(0.0, |posture| posture.draw(end.part));
                Staged { pose: side * home, stretch_mm: stretch_mm + drawn, ..*end }
            }
        }
    }
}

impl Spin {
    /// By how much about the joint's axis a part stands from home before it turns, in radians.
    pub(super) fn start_rad(&self, part: usize) -> f64 {
        self.signed(part, self.from_mm.min(self.travel_mm))
    }

    /// On the side of the first port a part advances along the axis of the joint, on the other side against it.
    fn signed(&self, part: usize, left_mm: f64) -> f64 {
        let left_rad = TAU * left_mm / self.pitch_mm;
        if part < self.joint { -left_rad } else { left_rad }
    }

    /// Turns a part, or its collar, by what is left of the thread.
    ///
    /// Threads are right-handed: whatever advances turns clockwise, seen from behind.
    fn turn(&self, staged: &mut Staged, share: f64, posture: Option<&Posture>) {
        let left_mm = (self.from_mm * (1.0 - share)).min(self.travel_mm);
        if let Some((part, end)) = self.collar
            && part == staged.part
            && let Some(collar) = staged.collar_rad.get_mut(end)
        {
            *collar = -TAU * left_mm / self.pitch_mm;
        }
        if self.parts.contains(&staged.part) {
            let frame = posture.map_or(self.frame, |posture| {
                let first = staged.part < self.joint;
                if first { posture.frame_before(self.joint) } else { posture.frame_after(self.joint) }
            });
            staged.pose = about(&frame, self.signed(staged.part, left_mm)) * staged.pose;
        }
    }
}

/// The world motion that turns about the `z` axis of a frame.
pub(super) fn about(frame: &Isometry3<f64>, angle: f64) -> Isometry3<f64> {
    frame * elbowroom::geometry::turned(angle) * frame.inverse()
}
