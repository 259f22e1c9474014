//! Whether something can turn and advance about an axis without coming too near to anything.

use crate::bridge::{
    bad_wish::{BadWish, within},
    sound_chain::check_pose,
};
use crate::geometry::{
    FARTHEST_PLACE_MM, Pose, Shape, Solid, Vector, along, axis, origin, separation, separation_within, turned,
};
use std::ops::RangeInclusive;

/// How much nearer than demanded a sweep may come unnoticed, in millimetres. A sweep that keeps its distance is never
/// refused; one that misses it by more than this always is.
pub const SWEEP_ACCURACY_MM: f64 = 0.05;

/// Most pieces into which one sweep of one pair of solids is cut. Beyond, the sweep is refused: the safe side.
const MOST_PIECES: usize = 20_000;

/// Distance from the axis below which a round solid counts as lying on it, and sine below which it counts as along it.
const ON_AXIS: f64 = 1e-6;

/// A screwing motion: every turn within a range together with every advance within a range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sweep {
    /// World frame whose `z` axis is turned about, within 100 m of the origin.
    pub frame: Pose,
    /// Least and greatest turn in radians, within 1,000 either way.
    pub turn: [f64; 2],
    /// Least and greatest shift along `z` in millimetres, within 100 m either way.
    pub travel: [f64; 2],
}

/// Turns of a sweep in radians: 160 rounds of a thread, far beyond any.
const TURNS_RAD: RangeInclusive<f64> = -1_000.0..=1_000.0;

/// Shifts of a sweep, and distances to keep, in millimetres.
const SHIFTS_MM: RangeInclusive<f64> = -FARTHEST_PLACE_MM..=FARTHEST_PLACE_MM;

impl Sweep {
    /// Checks the frame, and that both ranges are numbers in order.
    ///
    /// # Errors
    /// The first number that is wrong.
    pub fn check(&self) -> Result<(), BadWish> {
        check_pose(&self.frame, "sweep.frame")?;
        for (field, [least, most], range, unit) in
            [("turn", self.turn, &TURNS_RAD, "radians"), ("travel", self.travel, &SHIFTS_MM, "mm")]
        {
            let remedy = "give the least first and the greatest second";
            within(format!("sweep.{field}[0]"), least, range, unit, remedy)?;
            within(format!("sweep.{field}[1]"), most, &(least..=*range.end()), unit, remedy)?;
        }
        Ok(())
    }

    /// The motion of a solid when turned and shifted by so much.
    #[must_use]
    pub fn motion(&self, turn: f64, travel: f64) -> Pose {
        self.frame * along(travel) * turned(turn) * self.frame.inverse()
    }
}

/// Where a sweep comes too near.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// The turn in radians.
    pub turn: f64,
    /// The shift in millimetres.
    pub travel: f64,
    /// The signed distance there.
    pub signed_mm: f64,
}

/// Where `moving`, swept, comes nearer to `fixed` than `need_mm`; `None` if it keeps that distance all the way.
///
/// Decided by cutting the ranges until each piece is proven: within a piece nothing moves farther from its middle
/// than its greatest radius times half the turn, plus half the advance. Good to [`SWEEP_ACCURACY_MM`], on either
/// account: that much too near may pass, and nothing that keeps its distance is refused (unless it takes more than
/// 20,000 pieces to tell). A solid that was moved to a pose that is not finite hits everything.
///
/// # Errors
/// A sweep that [`Sweep::check`] refuses, and a distance that is not a number or beyond 100 m.
pub fn first_hit(sweep: &Sweep, moving: &Solid, fixed: &Solid, need_mm: f64) -> Result<Option<Hit>, BadWish> {
    sweep.check()?;
    within("need_mm", need_mm, &SHIFTS_MM, "mm", "give the distance to keep; it may be negative")?;
    Ok(swept_hit(sweep, moving, fixed, need_mm))
}

/// The same for a sweep that needs no check.
pub(super) fn swept_hit(sweep: &Sweep, moving: &Solid, fixed: &Solid, need_mm: f64) -> Option<Hit> {
    let radius = if sweep.turn[1] > sweep.turn[0] { turning_radius(moving, &sweep.frame) } else { 0.0 };
    let mut pieces = vec![(sweep.turn, sweep.travel)];
    for _ in 0..MOST_PIECES {
        let (turn, travel) = pieces.pop()?;
        let middle = |range: [f64; 2]| f64::midpoint(range[0], range[1]);
        let half = |range: [f64; 2]| (range[1] - range[0]) / 2.0;
        let (by_turn, by_travel) = (radius * half(turn), half(travel));
        let reach = by_turn + by_travel;
        let (at_turn, at_travel) = (middle(turn), middle(travel));
        let need = need_mm - SWEEP_ACCURACY_MM;
        let there = moving.moved(&sweep.motion(at_turn, at_travel));
        let Some(found) = separation_within(&there, fixed, need + reach) else { continue };
        if found.signed_mm >= need + reach {
            continue;
        }
        if found.signed_mm < need || reach <= SWEEP_ACCURACY_MM / 2.0 {
            return Some(Hit { turn: at_turn, travel: at_travel, signed_mm: found.signed_mm });
        }
        if by_turn > by_travel {
            pieces.push(([at_turn, turn[1]], travel));
            pieces.push(([turn[0], at_turn], travel));
        } else {
            pieces.push((turn, [at_travel, travel[1]]));
            pieces.push((turn, [travel[0], at_travel]));
        }
    }
    let (turn, travel) = pieces.last().map_or((sweep.turn[0], sweep.travel[0]), |(turn, travel)| (turn[0], travel[0]));
    let signed_mm = separation(&moving.moved(&sweep.motion(turn, travel)), fixed).signed_mm;
    Some(Hit { turn, travel, signed_mm })
}

/// How far, for each radian of turn about the frame's `z`, a solid is displaced at most: what looks the same after a
/// turn about its own axis is not displaced by that.
pub(super) fn turning_radius(solid: &Solid, frame: &Pose) -> f64 {
    let (at, about) = (origin(frame), axis(frame));
    let off = |point: Vector| {
        let from = point - at.coords;
        (from - about * from.dot(&about)).norm()
    };
    let centre = solid.pose().translation.vector;
    let radius = match solid.shape() {
        Shape::Sphere { .. } => off(centre),
        Shape::Capsule { length, .. } => {
            let half = axis(solid.pose()) * (length / 2.0);
            off(centre + half).max(off(centre - half))
        }
        Shape::Cylinder { diameter, length } => {
            let along = axis(solid.pose());
            let half = along * (length / 2.0);
            let tilt = along.cross(&about).norm();
            off(centre + half).max(off(centre - half)) + if tilt < ON_AXIS { 0.0 } else { diameter / 2.0 * tilt }
        }
        Shape::Box { .. } | Shape::Hull { .. } => {
            let bounds = solid.bounds();
            let corner = |index: usize| {
                let pick = |axis: usize| if index >> axis & 1 == 0 { bounds.min[axis] } else { bounds.max[axis] };
                off(Vector::new(pick(0), pick(1), pick(2)))
            };
            (0..8).map(corner).fold(0.0, f64::max)
        }
    };
    if radius < ON_AXIS { 0.0 } else { radius }
}
