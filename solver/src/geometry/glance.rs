//! What can be proven of two solids at a glance: enough to dismiss most pairs, for a twentieth of a search.

use super::form::Core;
use super::frame::Vector;
use super::measure::slab;
use super::round::{Segment, segment_to_segment};
use super::solid::Solid;

/// A point in each of two solids, guessed to be near each other. Bounds that follow from them are proofs, however bad
/// the guess.
pub(super) struct Glance<'a> {
    a: &'a Solid,
    b: &'a Solid,
    on_a: Vector,
    on_b: Vector,
}

impl<'a> Glance<'a> {
    /// Guesses the points: nearest on the axes of round solids and in boxes, roughly; in the middle of hulls.
    pub(super) fn at(a: &'a Solid, b: &'a Solid) -> Self {
        let (on_a, on_b) = match (&a.form().core, &b.form().core) {
            (Core::Box { half }, _) => b.spine().map(|spine| box_to_spine(a, half, &spine)),
            (_, Core::Box { half }) => a.spine().map(|spine| box_to_spine(b, half, &spine)).map(|(b, a)| (a, b)),
            _ => {
                a.spine().zip(b.spine()).map(|(a, b)| segment_to_segment(&a, &b)).map(|found| (found.on_a, found.on_b))
            }
        }
        .unwrap_or((a.centre(), b.centre()));
        Self { a, b, on_a, on_b }
    }

    /// The signed distance is not less than this: the direction between the points, as any, gives a slab.
    pub(super) fn at_least(&self) -> f64 {
        let between = self.on_b - self.on_a;
        between.try_normalize(f64::MIN_POSITIVE).map_or(f64::NEG_INFINITY, |normal| slab(self.a, self.b, &normal))
    }

    /// The signed distance is not more than this: a solid holds a ball around a point as large as the point is deep in
    /// it, or else comes as near to the point as its distance. Nothing is proven for hulls.
    pub(super) fn at_most(&self) -> f64 {
        if [self.a, self.b].iter().any(|solid| matches!(solid.form().core, Core::Hull { .. })) {
            return f64::INFINITY;
        }
        [self.on_a, self.on_b, (self.on_a + self.on_b) / 2.0]
            .iter()
            .map(|point| self.a.signed_mm(point) + self.b.signed_mm(point))
            .fold(f64::INFINITY, f64::min)
    }
}

/// A point of a box and one of `spine`: three rounds of nearest points to and fro.
fn box_to_spine(solid: &Solid, half: &Vector, spine: &Segment) -> (Vector, Vector) {
    let middle = solid.axes().tr_mul(&(spine.middle - solid.centre()));
    let along = solid.axes().tr_mul(&spine.half);
    let square = along.norm_squared();
    let mut on_spine = middle;
    let mut on_box = middle;
    for _ in 0..3 {
        on_box = on_spine.zip_map(half, |along, half| along.clamp(-half, half));
        if square > 0.0 {
            on_spine = middle + along * ((on_box - middle).dot(&along) / square).clamp(-1.0, 1.0);
        }
    }
    (solid.centre() + solid.axes() * on_box, solid.centre() + solid.axes() * on_spine)
}
