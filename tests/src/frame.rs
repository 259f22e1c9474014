//! Frames of the oracles' own: a place and three axes as columns of a matrix.
//!
//! The solver keeps poses as quaternions; these are matrices on purpose, so that the two share no arithmetic.

use elbowroom::geometry::Pose;
use nalgebra::{Matrix3, Vector3};

/// A rigid frame: local coordinates `p` stand at `at + axes * p`. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// The origin.
    pub at: Vector3<f64>,
    /// The axes, as columns.
    pub axes: Matrix3<f64>,
}

impl Frame {
    /// The frame everything is measured in.
    #[must_use]
    pub fn world() -> Self {
        Self { at: Vector3::zeros(), axes: Matrix3::identity() }
    }

    /// The frame at `at` with `z` along `axis`, turned by `roll` radians. Without a roll `x` is the world axis
    /// least aligned with `axis`, made square to it, as the solver promises for ports.
    #[must_use]
    pub fn looking(at: Vector3<f64>, axis: Vector3<f64>, roll: f64) -> Self {
        let z = axis.normalize();
        let least = if z.x.abs() <= z.y.abs().min(z.z.abs()) {
            Vector3::x()
        } else if z.y.abs() <= z.z.abs() {
            Vector3::y()
        } else {
            Vector3::z()
        };
        let x = (least - z * least.dot(&z)).normalize();
        Self { at, axes: Matrix3::from_columns(&[x, z.cross(&x), z]) }.turn(roll)
    }

    /// The frame of a pose of the solver's.
    #[must_use]
    pub fn of(pose: &Pose) -> Self {
        Self { at: pose.translation.vector, axes: *pose.rotation.to_rotation_matrix().matrix() }
    }

    /// The same frame as a pose of the solver's.
    #[must_use]
    pub fn pose(&self) -> Pose {
        let rotation = nalgebra::Rotation3::from_matrix_unchecked(self.axes);
        Pose::from_parts(self.at.into(), nalgebra::UnitQuaternion::from_rotation_matrix(&rotation))
    }

    /// `other`, given in this frame, in the frame that this one is given in.
    #[must_use]
    pub fn then(&self, other: &Self) -> Self {
        Self { at: self.at + self.axes * other.at, axes: self.axes * other.axes }
    }

    /// The frame that undoes this one.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let back = self.axes.transpose();
        Self { at: -(back * self.at), axes: back }
    }

    /// A place given in this frame, in the frame that this one is given in.
    #[must_use]
    pub fn point(&self, local: Vector3<f64>) -> Vector3<f64> {
        self.at + self.axes * local
    }

    /// The axis a port in this frame faces along.
    #[must_use]
    pub fn z(&self) -> Vector3<f64> {
        self.axes.column(2).into_owned()
    }

    /// Moved along its own `z`.
    #[must_use]
    pub fn advance(&self, length: f64) -> Self {
        Self { at: self.at + self.z() * length, axes: self.axes }
    }

    /// Turned about its own `z` by `angle` radians, from `x` towards `y`.
    #[must_use]
    pub fn turn(&self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        let (x, y) = (self.axes.column(0), self.axes.column(1));
        Self { at: self.at, axes: Matrix3::from_columns(&[x * cos + y * sin, y * cos - x * sin, self.z()]) }
    }

    /// Bent about its own `y` by `angle` radians, from `z` towards `x`.
    #[must_use]
    pub fn bend(&self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        let (x, z) = (self.axes.column(0), self.axes.column(2));
        let y = self.axes.column(1).into_owned();
        Self { at: self.at, axes: Matrix3::from_columns(&[x * cos - z * sin, y, z * cos + x * sin]) }
    }

    /// The frame of whatever meets this one face to face: the half turn about its own `x`.
    #[must_use]
    pub fn facing(&self) -> Self {
        let (x, y, z) = (self.axes.column(0), self.axes.column(1), self.axes.column(2));
        Self { at: self.at, axes: Matrix3::from_columns(&[x.into_owned(), -y, -z]) }
    }
}

/// The angle between two directions in radians, exact near 0 and near 180 degrees too.
#[must_use]
pub fn angle_between(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.cross(b).norm().atan2(a.dot(b))
}
