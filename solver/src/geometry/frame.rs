//! Frames: the poses of ports, fittings and components, and the directions people write down.
//!
//! World axes are the layout's own: millimetres, right-handed, `+z` up. A *port frame* has its origin at the
//! centre of the sealing face and its `z` axis pointing out of the component; its `x` axis only says where a turn
//! of zero degrees lies.

use nalgebra::{Isometry3, Matrix3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

/// A rigid pose: maps coordinates of the named local frame to the frame it is given in.
pub type Pose = Isometry3<f64>;
/// A place, in millimetres.
pub type Point = Point3<f64>;
/// A displacement in millimetres, or a direction without a unit.
pub type Vector = Vector3<f64>;
/// A direction of length one.
pub type Direction = Unit<Vector3<f64>>;

/// The half turn about `x` that lays two facing port frames onto each other.
#[must_use]
pub fn face_to_face() -> Pose {
    Pose::from_parts(
        Translation3::identity(),
        UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI),
    )
}

/// A shift along the local `z` axis by `length` millimetres.
#[must_use]
pub fn along(length: f64) -> Pose {
    Pose::translation(0.0, 0.0, length)
}

/// A turn about the local `z` axis by `angle` radians, counter-clockwise seen against the axis.
#[must_use]
pub fn turned(angle: f64) -> Pose {
    Pose::from_parts(Translation3::identity(), UnitQuaternion::from_axis_angle(&Vector3::z_axis(), angle))
}

/// A bend: the centreline turns from `+z` towards `+x` by `angle` radians, about the local `+y` axis.
#[must_use]
pub fn bent(angle: f64) -> Pose {
    Pose::from_parts(Translation3::identity(), UnitQuaternion::from_axis_angle(&Vector3::y_axis(), angle))
}

/// The frame at `origin` whose `z` axis is `axis`.
///
/// Its `x` axis is the world axis least aligned with `axis`, made perpendicular; the choice is the same on every
/// run and has no meaning beyond marking a turn of zero.
#[must_use]
pub fn facing(origin: Point, axis: Direction) -> Pose {
    let magnitudes = axis.map(f64::abs);
    let seed = if magnitudes.x <= magnitudes.y && magnitudes.x <= magnitudes.z {
        Vector::x()
    } else if magnitudes.y <= magnitudes.z {
        Vector::y()
    } else {
        Vector::z()
    };
    let x = (seed - axis.into_inner() * seed.dot(&axis)).normalize();
    let y = axis.cross(&x);
    let rotation = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, y, axis.into_inner()]));
    Pose::from_parts(Translation3::from(origin.coords), UnitQuaternion::from_rotation_matrix(&rotation))
}

/// The origin of a frame.
#[must_use]
pub fn origin(pose: &Pose) -> Point {
    Point::from(pose.translation.vector)
}

/// The `z` axis of a frame, of length one: the way a port faces.
#[must_use]
pub fn axis(pose: &Pose) -> Vector {
    pose.rotation * Vector::z()
}
