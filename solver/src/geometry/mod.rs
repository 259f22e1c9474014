//! Frames, solids, and how near solids come to each other. Everything that names parry3d is in here.

mod facing;
mod frame;
mod shape;

pub use facing::{BadFacing, Facing};
pub use frame::{Direction, Point, Pose, Vector, along, axis, bent, face_to_face, facing, origin, turned};
pub use shape::{Shape, SolidDef};

/// How two solids stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Apart.
    Clear,
    /// In contact without depth.
    Touching,
    /// Partly in the same place.
    Overlapping,
    /// One wholly inside the other.
    Inside,
}
