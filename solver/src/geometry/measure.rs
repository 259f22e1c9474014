//! What a query between two solids finds, before it is put into words.

use super::frame::Vector;
use super::solid::Solid;

/// A signed distance in world axes. `on_b - on_a` equals `normal * signed` to within the accuracy of the query.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measure {
    /// Distance apart, or minus the depth of the overlap.
    pub(super) signed: f64,
    /// Direction of length one, from the first solid to the second.
    pub(super) normal: Vector,
    /// The nearest or deepest point on the first.
    pub(super) on_a: Vector,
    /// The nearest or deepest point on the second.
    pub(super) on_b: Vector,
}

impl Measure {
    /// The same with the two solids in the other order.
    pub(super) fn flipped(self) -> Self {
        Self { signed: self.signed, normal: -self.normal, on_a: self.on_b, on_b: self.on_a }
    }

    /// From the signed distance between two cores to that between the solids, whose roundings are `a` and `b`.
    pub(super) fn rounded(self, a: f64, b: f64) -> Self {
        Self {
            signed: self.signed - a - b,
            normal: self.normal,
            on_a: self.on_a + self.normal * a,
            on_b: self.on_b - self.normal * b,
        }
    }
}

/// A proof of clearance: the width of the slab across `normal` that keeps `a` from `b`.
///
/// The signed distance of two convex solids is the greatest such width over all directions. So whatever `normal` is,
/// the solids are at least this far apart (or at most that deep in each other), and a positive value is a plane that
/// separates them.
pub(super) fn slab(a: &Solid, b: &Solid, normal: &Vector) -> f64 {
    (b.centre() - a.centre()).dot(normal) - a.reach(normal) - b.reach(&-normal)
}
