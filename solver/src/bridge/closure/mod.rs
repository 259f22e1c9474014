//! Closing a chain: the turns at which a given sequence of bends and run lengths meets the second port.
//!
//! A [`Skeleton`] is a chain without names: turning elements with straight runs before, between and after them.
//! Each closed form here proposes turns ([`Posture`]s) that may close it; [`polish`] has the last word. The closed
//! forms may propose too much, never too little: every test in them is widened by what the allowance can hide.

mod corners;
mod every;
mod few;
mod five;
mod general;
mod middle;
mod mobility;
mod polish;
mod roots;
mod self_motion;
mod shifted;
mod skeleton;
mod span;
mod swing;
mod twin;

pub(super) use corners::{Four, Reached, Three};
pub(super) use every::every;
pub(super) use few::{Cones, any_square_to, at_angle, corner_play, three};
pub(super) use five::{Hand, five};
pub(super) use general::{general, is_exhaustive};
pub(super) use middle::{Bow, four};
pub(super) use mobility::{Closing, Element, Freedoms, Jet, LENGTH_UNIT_MM};
pub(super) use polish::{Residual, closes, polish, residual, responses};
pub(super) use self_motion::{Arc, SelfMotion, Uncovered, beside, follow, halves, no_motion};
pub(super) use shifted::{Middle, Shifted, shifted};
pub(super) use skeleton::{Frame, Line, MAX_TURNS, Posture, Skeleton, Turn};
pub(super) use span::{STRETCH_STEP_MM, Span, grains, tries};
pub(super) use swing::{golden_section, near, refine, swing};

/// What counts as closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Allowance {
    /// How far the end may miss the port, in millimetres.
    pub(super) mm: f64,
    /// How far it may be out of line, in radians.
    pub(super) rad: f64,
}

impl Allowance {
    /// How far the directions of runs may lean, in radians: both ends of a chain may be off.
    pub(super) fn lean(&self) -> f64 {
        self.rad * 1.5
    }
}
