//! Frames, solids, and how near solids come to each other. Everything that names parry3d is in here.

mod facing;
mod form;
mod frame;
mod freeing;
mod glance;
mod inside;
mod measure;
mod round;
mod scene;
mod search;
mod separation;
mod shape;
mod solid;
mod square;

pub use facing::{BadFacing, Facing};
pub use frame::{Direction, Point, Pose, Vector, along, axis, bent, face_to_face, facing, origin, turned};
pub use freeing::{FREEING_ACCURACY_MM, FreeingMove, freeing_moves};
pub use scene::{Scene, SolidId};
pub use separation::{Separation, TOUCHING_MM, closer_than, separation, separation_within};
pub use shape::{Shape, SolidDef};
pub(crate) use solid::ROTATION_ACCURACY;
pub use solid::{BadShape, Bounds, FARTHEST_PLACE_MM, GREATEST_SIZE_MM, LEAST_SIZE_MM, Solid};

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
