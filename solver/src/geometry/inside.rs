//! Whether one solid lies wholly within another: two shells that do not cross can still be in the same place.

use super::form::Core;
use super::frame::Vector;
use super::round::point_to_core;
use super::search;
use super::separation::TOUCHING_MM;
use super::solid::Solid;

/// Points on each rim of a cylinder that are looked at before the farthest is closed in on.
const RIM_POINTS: usize = 16;

/// Halvings of the arc around the farthest rim point: 30 leave nothing of a rim of 10 m.
const RIM_HALVINGS: usize = 30;

/// Whether `inner` lies wholly within `outer`, to [`TOUCHING_MM`]: it may touch the surface from within.
///
/// The signed distance to a convex solid is a convex function, so it is greatest at an end, a corner or on a rim.
pub(super) fn is_inside(inner: &Solid, outer: &Solid) -> bool {
    let (small, large) = (inner.bounds(), outer.bounds());
    let room = Vector::repeat(TOUCHING_MM);
    if !(large.min - room <= small.min && small.max <= large.max + room) {
        return false;
    }
    let allowance = TOUCHING_MM + outer.form().round - inner.form().round;
    let depth_at = |local: Vector| {
        let world = inner.centre() + inner.axes() * local;
        let place = outer.axes().tr_mul(&(world - outer.centre()));
        match &outer.form().core {
            Core::Hull { points } => search::point_to_hull(points, &place).0,
            core => point_to_core(core, &place).signed,
        }
    };
    let within = |local: Vector| depth_at(local) <= allowance;
    match &inner.form().core {
        Core::Point => within(Vector::zeros()),
        Core::Segment { half } => [*half, -half].into_iter().all(|z| within(Vector::new(0.0, 0.0, z))),
        Core::Box { half } => (0..8).all(|corner| {
            within(Vector::from_fn(|axis, _| if corner >> axis & 1 == 0 { half[axis] } else { -half[axis] }))
        }),
        Core::Hull { points } => points.iter().all(|point| within(*point)),
        Core::Cylinder { radius, half } => [*half, -half].into_iter().all(|z| {
            let at = |turn: f64| depth_at(Vector::new(radius * turn.cos(), radius * turn.sin(), z));
            farthest_on_rim(at) <= allowance
        }),
    }
}

/// The greatest value of `at` over a full turn: the best of a few points, closed in on from both sides.
fn farthest_on_rim(at: impl Fn(f64) -> f64) -> f64 {
    let step = std::f64::consts::TAU / RIM_POINTS as f64;
    let (mut best, mut turn) = (f64::NEG_INFINITY, 0.0);
    for index in 0..RIM_POINTS {
        let here = index as f64 * step;
        let value = at(here);
        if value > best {
            (best, turn) = (value, here);
        }
    }
    let mut reach = step;
    for _ in 0..RIM_HALVINGS {
        reach /= 2.0;
        for here in [turn - reach, turn + reach] {
            let value = at(here);
            if value > best {
                (best, turn) = (value, here);
            }
        }
    }
    best
}
