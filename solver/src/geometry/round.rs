//! Closed forms for round solids: a point against every core, and a segment against a segment.
//!
//! A ball is a point with a rounding and a capsule is a segment with one, so these are exact to rounding error for
//! balls against everything but hulls and for capsules against capsules and balls.

use super::form::Core;
use super::frame::Vector;

/// Below this length in millimetres, the line between two nearest points is too short to tell a direction from.
const NO_DIRECTION_MM: f64 = 1e-9;

/// Where a point stands to a core, in the core's frame.
pub(super) struct PointToCore {
    /// Distance outside the core, or minus the depth below its surface.
    pub(super) signed: f64,
    /// Direction of length one, from the core outwards through the point.
    pub(super) outward: Vector,
    /// The nearest point on the core's surface.
    pub(super) on_core: Vector,
}

/// The nearest points of two segments, in the frame that they are given in.
pub(super) struct SegmentToSegment {
    /// Distance between the nearest points; never negative.
    pub(super) distance: f64,
    /// Direction of length one from the first to the second.
    pub(super) normal: Vector,
    /// The nearest point on the first.
    pub(super) on_a: Vector,
    /// The nearest point on the second.
    pub(super) on_b: Vector,
}

/// A segment by its middle and the vector from its middle to one end, which may be zero.
#[derive(Clone, Copy)]
pub(super) struct Segment {
    pub(super) middle: Vector,
    pub(super) half: Vector,
}

/// The signed distance of a point to a core. In the middle of a core, where several directions are equally near,
/// the first of `x`, `y`, `z` is taken. A hull counts as a point at its origin: it has no closed form, and callers
/// search for it instead.
pub(super) fn point_to_core(core: &Core, point: &Vector) -> PointToCore {
    match core {
        Core::Point | Core::Hull { .. } => outside(Vector::zeros(), point, Vector::x()),
        Core::Segment { half } => {
            let on_core = Vector::new(0.0, 0.0, point.z.clamp(-half, *half));
            outside(on_core, point, Vector::x())
        }
        Core::Box { half } => {
            let gaps = point.abs() - half;
            let deepest = gaps.imax();
            let outward = axis(deepest) * 1f64.copysign(point[deepest]);
            if gaps[deepest] > 0.0 {
                return outside(point.zip_map(half, |along, half| along.clamp(-half, half)), point, outward);
            }
            let mut on_core = *point;
            on_core[deepest] = half[deepest].copysign(point[deepest]);
            PointToCore { signed: gaps[deepest], outward, on_core }
        }
        Core::Cylinder { radius, half } => {
            let across = (point.x * point.x + point.y * point.y).sqrt();
            let radial = if across > NO_DIRECTION_MM {
                Vector::new(point.x / across, point.y / across, 0.0)
            } else {
                Vector::x()
            };
            let axial = Vector::z() * 1f64.copysign(point.z);
            let (wall, cap) = (across - radius, point.z.abs() - half);
            let on_wall = radial * *radius + Vector::z() * point.z;
            let on_cap = Vector::new(point.x, point.y, 0.0) + axial * *half;
            if wall > 0.0 && cap > 0.0 {
                outside(radial * *radius + axial * *half, point, radial)
            } else if wall >= cap {
                PointToCore { signed: wall, outward: radial, on_core: on_wall }
            } else {
                PointToCore { signed: cap, outward: axial, on_core: on_cap }
            }
        }
    }
}

/// The nearest points of two segments. Where they cross, the normal is across both; where they lie in one line, it
/// is any direction across that line.
///
/// The nearest pair is either inside both segments, where the line between them is across both, or it has an end
/// in it. All five cases are worked out and the best is taken: nearly parallel segments spoil only the first, and
/// then an end is as near to within rounding error.
pub(super) fn segment_to_segment(a: &Segment, b: &Segment) -> SegmentToSegment {
    let between = b.middle - a.middle;
    let across = a.half.cross(&b.half);
    let mut best: Option<(f64, Vector, Vector)> = None;
    let mut offer = |on_a: Vector, on_b: Vector| {
        let distance = (on_b - on_a).norm();
        if best.is_none_or(|(least, ..)| distance < least) {
            best = Some((distance, on_a, on_b));
        }
    };
    for end in [1.0, -1.0] {
        let on_a = a.middle + end * a.half;
        offer(on_a, nearest_on(b, &on_a));
    }
    for end in [1.0, -1.0] {
        let on_b = b.middle + end * b.half;
        offer(nearest_on(a, &on_b), on_b);
    }
    // Cramer's rule in the plane of the two directions; a division by zero fails the range test.
    let square = across.norm_squared();
    let along_a = between.cross(&b.half).dot(&across) / square;
    let along_b = between.cross(&a.half).dot(&across) / square;
    if along_a.abs() <= 1.0 && along_b.abs() <= 1.0 {
        offer(a.middle + along_a * a.half, b.middle + along_b * b.half);
    }
    let (distance, on_a, on_b) = best.unwrap_or((between.norm(), a.middle, b.middle));
    let normal = if distance > NO_DIRECTION_MM {
        (on_b - on_a) / distance
    } else {
        let longer = if a.half.norm_squared() >= b.half.norm_squared() { a.half } else { b.half };
        across.try_normalize(NO_DIRECTION_MM).unwrap_or_else(|| perpendicular(&longer))
    };
    SegmentToSegment { distance, normal, on_a, on_b }
}

/// A direction of length one across `along`; `x` where `along` is zero.
pub(super) fn perpendicular(along: &Vector) -> Vector {
    let seed = axis(along.abs().imin());
    along.cross(&seed).try_normalize(f64::MIN_POSITIVE).unwrap_or_else(Vector::x)
}

fn nearest_on(segment: &Segment, point: &Vector) -> Vector {
    let along = (point - segment.middle).dot(&segment.half) / segment.half.norm_squared();
    // A segment of no length is its middle.
    if along.is_finite() { segment.middle + along.clamp(-1.0, 1.0) * segment.half } else { segment.middle }
}

fn outside(on_core: Vector, point: &Vector, otherwise: Vector) -> PointToCore {
    let away = point - on_core;
    let signed = away.norm();
    let outward = if signed > NO_DIRECTION_MM { away / signed } else { otherwise };
    PointToCore { signed, outward, on_core }
}

fn axis(index: usize) -> Vector {
    Vector::from_fn(|row, _| f64::from(u8::from(row == index)))
}
