//! The signed distance of any two cores, by search (GJK apart, EPA in overlap, both from parry3d), then proof.
//!
//! Both searches have known failures: they stop at their iteration limit with "no intersection", stall near contact,
//! or settle on a face that is not the nearest. So neither is believed. What they offer is a direction, and a
//! direction proves a signed distance (see [`super::measure::slab`]); their nearest points bound it from the other
//! side. Where the two do not meet, the direction is improved until it cannot be.
//!
//! The improvement needs only searches between bodies well apart, where GJK is at its best: move `b` away along the
//! direction `n` in hand until there is a gap, and take the direction of the gap as the next `n`. With `g` the slab
//! width and `s` the shift, the next direction maximises `g(n') + s n·n'`, so `g(n') >= g(n) + s (1 - n·n')`: the
//! proven distance never falls, and a direction that repeats is a local maximum.

use super::form::Core;
use super::frame::Vector;
use super::measure::Measure;
use super::round::{PointToCore, point_to_core};
use super::solid::Solid;
use nalgebra::Matrix3;
use parry3d::math::{Pose3, Rot3, Vec3};
use parry3d::query::epa::EPA;
use parry3d::query::gjk::{self, CsoPoint, GJKResult, VoronoiSimplex};
use parry3d::shape::SupportMap;
use std::sync::Arc;

/// How far the proven distance and the distance of the nearest points may differ before the direction is improved,
/// in millimetres.
const BRACKET_MM: f64 = 1e-6;

/// The same as a part of the distance, whichever is more. GJK stops at 5e-8 of it, so less would not be reached.
const BRACKET_PART: f64 = 1e-7;

/// Least gap that is opened between two cores to improve a direction, in millimetres: much larger than rounding
/// error and not much larger than the radii in use, because the larger the gap, the more steps are needed.
const OPENED_GAP_MM: f64 = 1.0;

/// Gain below which the improvement stops, in millimetres.
const LEAST_GAIN_MM: f64 = 1e-9;

/// Most steps of the improvement, and of finding points. The improvement needed 16 at most in 4 million random pairs.
const MOST_STEPS: usize = 60;

/// How far a point may lie outside its core, in millimetres.
const POINT_ACCURACY_MM: f64 = 1e-6;

/// Most doublings of one step: from the least change of a direction that matters to a right angle.
const MOST_DOUBLINGS: u32 = 24;

/// The signed distance between the cores of two solids.
pub(super) fn measure(a: &Solid, b: &Solid) -> Measure {
    let pair = Pair::of(a, b);
    let mut simplex = VoronoiSimplex::new();
    let found = pair.nearest(&Vector::zeros(), f64::INFINITY, &mut simplex);
    pair.measure(found, &mut simplex).in_world(a)
}

/// The same, or `None` if the cores are proven to be farther apart than `horizon` millimetres.
pub(super) fn within(a: &Solid, b: &Solid, horizon: f64) -> Option<Measure> {
    let pair = Pair::of(a, b);
    let mut simplex = VoronoiSimplex::new();
    let found = pair.nearest(&Vector::zeros(), horizon.max(0.0), &mut simplex);
    if let GJKResult::NoIntersection(direction) = found
        && pair.proof(direction.into()).slab > horizon
    {
        return None;
    }
    let measure = pair.measure(found, &mut simplex);
    (measure.signed <= horizon).then(|| measure.in_world(a))
}

/// The signed distance of a point to the hull of points, and the point of the hull that is nearest to it.
pub(super) fn point_to_hull(points: &Arc<[Vector]>, point: &Vector) -> (f64, Vector) {
    let hull = Core::Hull { points: points.clone() };
    let pair = Pair { a: &hull, b: &Core::Point, turn: Matrix3::identity(), rotation: Rot3::IDENTITY, between: *point };
    let mut simplex = VoronoiSimplex::new();
    let found = pair.nearest(&Vector::zeros(), f64::INFINITY, &mut simplex);
    let measure = pair.measure(found, &mut simplex);
    (measure.signed, point - measure.normal * measure.signed)
}

/// Two cores in the frame of the first.
struct Pair<'a> {
    a: &'a Core,
    b: &'a Core,
    /// The axes of `b`, as columns.
    turn: Matrix3<f64>,
    /// The same turn, as parry3d wants it.
    rotation: Rot3,
    /// The origin of `b`.
    between: Vector,
}

/// A direction from `a` to `b`, the distance it proves, and points that go with it.
#[derive(Clone, Copy)]
struct Proof {
    slab: f64,
    normal: Vector,
    points: Option<(Vector, Vector)>,
}

impl<'a> Pair<'a> {
    fn of(a: &'a Solid, b: &'a Solid) -> Self {
        let turn = a.axes().tr_mul(b.axes());
        let between = a.axes().tr_mul(&(b.centre() - a.centre()));
        let rotation = (a.pose().rotation.inverse() * b.pose().rotation).into();
        Self { a: &a.form().core, b: &b.form().core, turn, rotation, between }
    }

    /// See [`super::measure::slab`]; `normal` has length one.
    fn slab(&self, normal: &Vector) -> f64 {
        self.between.dot(normal) - self.a.reach(normal) - self.b.reach(&-self.turn.tr_mul(normal))
    }

    /// What `direction` proves, whatever its length. Searches return directions of length zero, or that are not
    /// numbers, when a face of their polytope is degenerate: those prove nothing.
    fn proof(&self, direction: Vector) -> Proof {
        match direction.try_normalize(f64::MIN_POSITIVE) {
            Some(normal) => Proof { slab: self.slab(&normal), normal, points: None },
            None => Proof { slab: f64::NEG_INFINITY, normal: Vector::x(), points: None },
        }
    }

    fn pose(&self, shift: &Vector) -> Pose3 {
        Pose3::from_parts((self.between + shift).into(), self.rotation)
    }

    /// GJK, with `b` shifted.
    fn nearest(&self, shift: &Vector, horizon: f64, simplex: &mut VoronoiSimplex) -> GJKResult {
        let pose = self.pose(shift);
        let start = pose.translation.try_normalize().unwrap_or(Vec3::X);
        simplex.reset(CsoPoint::from_shapes(&pose, self.a, self.b, start));
        gjk::closest_points(&pose, self.a, self.b, horizon.min(f64::MAX), true, simplex)
    }

    /// From what GJK found to a proven signed distance.
    fn measure(&self, found: GJKResult, simplex: &mut VoronoiSimplex) -> Measure {
        let mut best = self.proof(self.between);
        match found {
            GJKResult::ClosestPoints(on_a, on_b, normal) => {
                let (on_a, on_b) = (Vector::from(on_a), Vector::from(on_b));
                let distance = (on_b - on_a).norm();
                let proof = Proof { points: Some((on_a, on_b)), ..self.proof(on_b - on_a) };
                if distance - proof.slab <= BRACKET_MM.max(BRACKET_PART * distance) {
                    return proof.into_measure(self);
                }
                best.improve(proof);
                best.improve(self.proof(normal.into()));
            }
            GJKResult::Intersection => {
                if let Some((_, _, normal)) =
                    EPA::new().closest_points(&self.pose(&Vector::zeros()), self.a, self.b, simplex)
                {
                    best.improve(self.proof(normal.into()));
                }
            }
            GJKResult::NoIntersection(direction) | GJKResult::Proximity(direction) => {
                best.improve(self.proof(direction.into()));
            }
        }
        for axis in [Vector::x(), Vector::y(), Vector::z()] {
            for axis in [axis, self.turn * axis] {
                best.improve(self.proof(axis));
                best.improve(self.proof(-axis));
            }
        }
        self.climb(best, simplex).into_measure(self)
    }

    /// Improves a direction until it repeats.
    fn climb(&self, mut best: Proof, simplex: &mut VoronoiSimplex) -> Proof {
        for _ in 0..MOST_STEPS {
            let shift = best.normal * (OPENED_GAP_MM - best.slab).max(OPENED_GAP_MM / 4.0);
            let GJKResult::ClosestPoints(on_a, on_b, _) = self.nearest(&shift, f64::INFINITY, simplex) else { break };
            let (on_a, on_b) = (Vector::from(on_a), Vector::from(on_b));
            let next = self.proof(on_b - on_a);
            let gain = next.slab - best.slab;
            if gain.is_nan() || gain < -BRACKET_MM {
                break;
            }
            if gain <= LEAST_GAIN_MM {
                // The direction repeats to within the accuracy of GJK, so these points are the ones that go with it.
                return Proof { points: Some((on_a, on_b - shift)), ..next };
            }
            best = self.leap(&best, next);
        }
        best
    }

    /// Goes on from `last` through `next` in doubling strides for as long as that proves more. Where the slab hardly
    /// changes with the direction, as between coaxial cylinders, single steps would creep.
    fn leap(&self, last: &Proof, next: Proof) -> Proof {
        let step = next.normal - last.normal;
        let mut best = next;
        for doubling in 1..MOST_DOUBLINGS {
            let farther = self.proof(last.normal + step * f64::from(1 << doubling));
            if farther.slab.is_nan() || farther.slab <= best.slab {
                break;
            }
            best = farther;
        }
        best
    }
}

impl Pair<'_> {
    /// Whether two points lie in their cores. GJK can report others between faces that are nearly parallel, right in
    /// their distance and wrong in their place. A point against a
    /// hull is believed, because it is this very search that would be asked.
    fn hold(&self, on_a: &Vector, on_b: &Vector) -> bool {
        if matches!((self.a, self.b), (Core::Hull { .. }, Core::Point) | (Core::Point, Core::Hull { .. })) {
            return true;
        }
        let local_b = self.turn.tr_mul(&(on_b - self.between));
        nearest_in(self.a, on_a).0 <= POINT_ACCURACY_MM && nearest_in(self.b, &local_b).0 <= POINT_ACCURACY_MM
    }

    /// Points where the cores touch once `b` is moved by `-slab` along `normal`, found by going to and fro between
    /// the nearest points of the two; the point on `b` is moved back.
    ///
    /// It starts from an end of either core along `normal`, because the way is short along a flat face and long over
    /// a curved one.
    fn touching_points(&self, normal: &Vector, slab: f64) -> (Vector, Vector) {
        let moved = self.between - normal * slab;
        if matches!((self.a, self.b), (Core::Hull { .. }, Core::Point)) {
            return (moved, self.between);
        }
        let end_of_b = moved + self.turn * self.b.support(&-self.turn.tr_mul(normal));
        let mut best = (f64::INFINITY, end_of_b, end_of_b);
        for mut on_b in [end_of_b, self.a.support(normal)] {
            for _ in 0..MOST_STEPS {
                let on_a = nearest_in(self.a, &on_b).1;
                on_b = moved + self.turn * nearest_in(self.b, &self.turn.tr_mul(&(on_a - moved))).1;
                let gap = (on_b - on_a).norm();
                if gap < best.0 {
                    best = (gap, on_a, on_b);
                }
                if gap <= POINT_ACCURACY_MM {
                    break;
                }
            }
        }
        (best.1, best.2 + normal * slab)
    }
}

impl Proof {
    /// Takes `other` if it proves more; one that is not a number proves nothing.
    fn improve(&mut self, other: Proof) {
        if other.slab > self.slab {
            *self = other;
        }
    }

    fn into_measure(self, pair: &Pair) -> Measure {
        let Self { slab: signed, normal, points } = self;
        let (on_a, on_b) = match points {
            Some((on_a, on_b)) if pair.hold(&on_a, &on_b) => (on_a, on_b),
            _ => pair.touching_points(&normal, signed),
        };
        Measure { signed, normal, on_a, on_b }
    }
}

/// The point of a core that is nearest to `point`, and how far that is: nothing within the core.
fn nearest_in(core: &Core, point: &Vector) -> (f64, Vector) {
    let (signed, on_core) = match core {
        Core::Hull { points } => point_to_hull(points, point),
        core => {
            let PointToCore { signed, on_core, .. } = point_to_core(core, point);
            (signed, on_core)
        }
    };
    if signed > 0.0 { (signed, on_core) } else { (0.0, *point) }
}

impl Measure {
    fn in_world(self, frame: &Solid) -> Self {
        let place = |point: Vector| frame.centre() + frame.axes() * point;
        Self { signed: self.signed, normal: frame.axes() * self.normal, on_a: place(self.on_a), on_b: place(self.on_b) }
    }
}

impl SupportMap for Core {
    fn local_support_point(&self, dir: Vec3) -> Vec3 {
        self.support(&dir.into()).into()
    }
}
