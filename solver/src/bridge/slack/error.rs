//! How far a port is from where the drawing has it.

use super::draw::Draw;
use crate::geometry::{Point, Pose, Vector};
use nalgebra::{Translation3, UnitQuaternion};

/// Two standard deviations of each error.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tolerance {
    /// Of a shift along one axis, in millimetres.
    pub(super) mm: f64,
    /// Of a turn about one axis, in radians.
    pub(super) rad: f64,
}

/// The error of one port in the layout's axes.
#[derive(Clone, Copy, Debug)]
pub(super) struct PortError {
    shift: Vector,
    /// The turn about the port's seat, as its axis times its angle in radians.
    turn: Vector,
}

impl PortError {
    /// No error.
    pub(super) const NONE: Self = Self { shift: Vector::new(0.0, 0.0, 0.0), turn: Vector::new(0.0, 0.0, 0.0) };

    /// An error as it comes.
    pub(super) fn drawn(tolerance: &Tolerance, draw: &mut Draw) -> Self {
        let [a, b] = draw.normals();
        let [c, d] = draw.normals();
        let [e, f] = draw.normals();
        Self { shift: Vector::new(a, b, c) * (tolerance.mm / 2.0), turn: Vector::new(d, e, f) * (tolerance.rad / 2.0) }
    }

    /// Every error at its tolerance; the lowest six bits of `corner` give the signs.
    pub(super) fn corner(tolerance: &Tolerance, corner: u32) -> Self {
        let sign = |bit: u32| if corner >> bit & 1 == 0 { 1.0 } else { -1.0 };
        Self {
            shift: Vector::new(sign(0), sign(1), sign(2)) * tolerance.mm,
            turn: Vector::new(sign(3), sign(4), sign(5)) * tolerance.rad,
        }
    }

    /// A shift alone.
    pub(super) fn shifted(shift: Vector) -> Self {
        Self { shift, ..Self::NONE }
    }

    /// The same the other way.
    pub(super) fn opposite(&self) -> Self {
        Self { shift: -self.shift, turn: -self.turn }
    }

    /// The motion that takes what is drawn around `seat` to where it really is.
    pub(super) fn motion(&self, seat: &Point) -> Pose {
        let rotation = UnitQuaternion::from_scaled_axis(self.turn);
        Pose::from_parts(Translation3::from(seat.coords + self.shift - rotation * seat.coords), rotation)
    }
}
