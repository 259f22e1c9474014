//! The shortest straight moves that part two bodies.

use super::frame::{Direction, Vector};
use super::separation::separation;
use super::solid::{Bounds, Solid};
use nalgebra::Translation3;

/// How much longer than need be a freeing move may be, in millimetres.
pub const FREEING_ACCURACY_MM: f64 = 1e-6;

/// Most halvings of the stretch in which a move's end is sought: enough for any stretch between solids of legal size.
const MOST_HALVINGS: usize = 60;

/// A move along one axis that frees a body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeingMove {
    /// Which way.
    pub direction: Direction,
    /// How far, in millimetres; zero if the body is free where it is.
    pub mm: f64,
}

/// For each of `+x`, `-x`, `+y`, `-y`, `+z`, `-z` in that order, the shortest move of `moving` that leaves every solid
/// of `fixed` at least `clearance_mm` away from every solid of `moving`, with only the end of the move in mind: other
/// solids may be in its way.
///
/// Longer than the shortest by at most [`FREEING_ACCURACY_MM`] beyond the accuracy of [`separation`], never shorter.
/// Free bodies and empty ones give zero moves. A negative clearance lets them overlap by that much. A clearance that
/// is not finite, or a solid moved to a pose that is not, gives endless moves.
#[must_use]
pub fn freeing_moves(fixed: &[Solid], moving: &[Solid], clearance_mm: f64) -> [FreeingMove; 6] {
    let [x, y, z] = [Vector::x_axis(), Vector::y_axis(), Vector::z_axis()];
    [x, -x, y, -y, z, -z].map(|direction| {
        let mut mm = 0.0;
        // The signed distance of convex solids is a convex function of the move, so once a pair has been freed it
        // stays free: after as many rounds as there are pairs, all are.
        for _ in 0..=fixed.len().saturating_mul(moving.len()) {
            let farther = fixed
                .iter()
                .flat_map(|a| moving.iter().map(move |b| (a, b)))
                .fold(mm, |mm, (a, b)| pair_move(a, b, &direction, clearance_mm, mm));
            if farther == mm {
                break;
            }
            mm = farther;
        }
        FreeingMove { direction, mm }
    })
}

/// The least move of `b`, no less than `from`, that leaves it `clearance` away from `a`, given that it is not to come
/// back nearer: `from` itself if that is enough.
fn pair_move(a: &Solid, b: &Solid, direction: &Direction, clearance: f64, from: f64) -> f64 {
    let short_by = |mm: f64| {
        let shift = Translation3::from(direction.into_inner() * mm);
        clearance - separation(a, &b.at(shift * b.pose())).signed_mm
    };
    if !clearance.is_finite() {
        return f64::INFINITY;
    }
    if short_by(from) <= 0.0 {
        return from;
    }
    let past = past(&a.bounds(), &b.bounds(), direction) + clearance.max(0.0);
    if !past.is_finite() {
        return f64::INFINITY;
    }
    // Short by something at `low`, by nothing at `high`.
    let (mut low, mut high) = (from, past.max(from) + FREEING_ACCURACY_MM);
    for _ in 0..MOST_HALVINGS {
        if high - low <= FREEING_ACCURACY_MM {
            break;
        }
        let middle = low.midpoint(high);
        if short_by(middle) > 0.0 { low = middle } else { high = middle }
    }
    high
}

/// How far `b` must move along a signed axis for its bounds to have passed those of `a`.
fn past(a: &Bounds, b: &Bounds, direction: &Direction) -> f64 {
    let axis = direction.abs().imax();
    if direction[axis] > 0.0 { a.max[axis] - b.min[axis] } else { b.max[axis] - a.min[axis] }
}
