//! What the queries see of a shape: a core with flat and sharp features, and a rounding laid around it.
//!
//! A ball is a point with a rounding, a capsule a segment with one. Rounding a core by `r` lowers its signed
//! distance to anything by exactly `r`, apart and in overlap alike, so all searching is done between cores.

use super::frame::Vector;
use std::sync::Arc;

/// A core and its rounding, in the shape's own frame.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Form {
    /// The core.
    pub(super) core: Core,
    /// Radius of the ball that is swept over the core, in millimetres; zero for sharp shapes.
    pub(super) round: f64,
}

/// A convex set about the origin of its frame. Sizes are half sizes in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Core {
    /// The origin.
    Point,
    /// From `-half` to `+half` on the `z` axis.
    Segment { half: f64 },
    /// A box.
    Box { half: Vector },
    /// A cylinder about the `z` axis.
    Cylinder { radius: f64, half: f64 },
    /// The convex hull of points.
    Hull { points: Arc<[Vector]> },
}

impl Core {
    /// The point of the core that lies farthest along `direction`, which need not have length one.
    ///
    /// Where a whole edge or face lies farthest, one of its corners is chosen, except across a cylinder's axis:
    /// along the axis exactly, the point on the rim towards `x`.
    pub(super) fn support(&self, direction: &Vector) -> Vector {
        match self {
            Core::Point => Vector::zeros(),
            Core::Segment { half } => Vector::new(0.0, 0.0, half.copysign(direction.z)),
            Core::Box { half } => half.zip_map(direction, f64::copysign),
            Core::Cylinder { radius, half } => {
                let across = (direction.x * direction.x + direction.y * direction.y).sqrt();
                let (x, y) = if across > 0.0 { (direction.x / across, direction.y / across) } else { (1.0, 0.0) };
                Vector::new(radius * x, radius * y, half.copysign(direction.z))
            }
            Core::Hull { points } => {
                let mut best = (f64::NEG_INFINITY, Vector::zeros());
                for point in points.iter() {
                    let along = point.dot(direction);
                    if along > best.0 {
                        best = (along, *point);
                    }
                }
                best.1
            }
        }
    }

    /// How far the core reaches from its origin along `direction`, which has length one.
    pub(super) fn reach(&self, direction: &Vector) -> f64 {
        match self {
            Core::Point => 0.0,
            Core::Segment { half } => half * direction.z.abs(),
            Core::Box { half } => half.dot(&direction.abs()),
            Core::Cylinder { radius, half } => {
                radius * (direction.x * direction.x + direction.y * direction.y).sqrt() + half * direction.z.abs()
            }
            Core::Hull { points } => points.iter().map(|point| point.dot(direction)).fold(f64::NEG_INFINITY, f64::max),
        }
    }
}
