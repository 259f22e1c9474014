//! A joint: its thread, its travel, and what can turn to make it up.

use crate::catalog::{EndDef, Gender, Thread};
use crate::geometry::Pose;
use crate::layout::Port;
use std::ops::RangeInclusive;

/// A threaded joint of a chain. All threads are right-handed: who looks along the way a thread goes in turns it clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointFacts {
    /// Thread size.
    pub thread: Thread,
    /// Axial advance of one turn.
    pub pitch_mm: f64,
    /// How far the male thread goes in from where it takes hold: its length, but no farther than the female is deep.
    pub travel_mm: f64,
    /// How many turns that takes.
    pub turns: f64,
    /// Whether a swivelling collar carries the thread: on the side of the first port, and on that of the second.
    pub swivels: [bool; 2],
    /// Which side carries the male thread.
    pub male: [bool; 2],
    /// Frame of the joint in the layout's axes when all is home: origin on the seat, `z` along the axis of the thread
    /// towards the second port.
    pub frame: Pose,
}

/// What is turned to make up a joint. Parts are counted from 0.
#[derive(Clone, Debug, PartialEq)]
pub enum Turning {
    /// The swivelling collar of a part.
    Collar(usize),
    /// Straight parts that turn where they stand, between the joint and a swivel.
    Straights(RangeInclusive<usize>),
    /// All that goes on, as one piece.
    All(RangeInclusive<usize>),
}

impl Turning {
    /// Whether a part turns as a whole.
    pub(super) fn turns(&self, part: usize) -> bool {
        match self {
            Self::Collar(_) => false,
            Self::Straights(parts) | Self::All(parts) => parts.contains(&part),
        }
    }
}

/// One half of a joint.
#[derive(Clone, Copy, Debug)]
pub(super) struct Half {
    pub(super) thread: Thread,
    pub(super) gender: Gender,
    pub(super) thread_length_mm: f64,
    pub(super) swivel: bool,
    pub(super) collar_mm: f64,
}

impl Half {
    pub(super) fn of_end(end: &EndDef) -> Self {
        let EndDef { thread, gender, thread_length_mm, swivel, collar_mm } = *end;
        Self { thread, gender, thread_length_mm, swivel, collar_mm }
    }

    pub(super) fn of_port(port: &Port) -> Self {
        Self {
            thread: port.thread,
            gender: port.gender,
            thread_length_mm: port.thread_length_mm,
            swivel: false,
            collar_mm: port.seat_mm,
        }
    }
}

/// The joint that two halves make at `frame`, or `None` if they do not mate.
pub(super) fn joint(left: &Half, right: &Half, frame: Pose) -> Option<JointFacts> {
    if left.thread != right.thread || left.gender == right.gender {
        return None;
    }
    let travel_mm = left.thread_length_mm.min(right.thread_length_mm);
    let pitch_mm = left.thread.pitch_mm();
    Some(JointFacts {
        thread: left.thread,
        pitch_mm,
        travel_mm,
        turns: travel_mm / pitch_mm,
        swivels: [left.swivel, right.swivel],
        male: [left, right].map(|half| half.gender == Gender::Male),
        frame,
    })
}

/// A side of a joint: towards the first port, or towards the second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    First,
    Second,
}

impl Side {
    pub(super) fn index(self) -> usize {
        self as usize
    }
}
