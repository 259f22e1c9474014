//! The convex shapes that layouts and catalogs are written in, as plain data.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A convex shape in its own frame: centred on its origin, its long axis (where it has one) along `z`.
/// All sizes are full sizes in millimetres.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum Shape {
    /// A box.
    Box {
        /// Full sides along `x`, `y`, `z`.
        size: [f64; 3],
    },
    /// A round bar with flat ends, along `z`.
    Cylinder {
        /// Diameter.
        diameter: f64,
        /// Full length.
        length: f64,
    },
    /// A ball.
    Sphere {
        /// Diameter.
        diameter: f64,
    },
    /// A round bar with ball ends, along `z`.
    Capsule {
        /// Diameter.
        diameter: f64,
        /// Distance between the centres of the two balls; the whole capsule is one diameter longer.
        length: f64,
    },
    /// The convex hull of at least four points that do not lie in one plane.
    Hull {
        /// The points, in the shape's frame.
        points: Vec<[f64; 3]>,
    },
}

/// A shape and where it sits in the frame of the part that owns it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SolidDef {
    /// The shape.
    pub shape: Shape,
    /// Where the shape's centre sits.
    #[serde(default)]
    pub at: [f64; 3],
    /// Which way the shape's `z` axis points; `"+z"` when left out.
    #[serde(default)]
    pub facing: super::Facing,
}
