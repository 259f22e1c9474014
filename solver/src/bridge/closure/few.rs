//! Three bends: everything is decided by the corners at the two ports. Also what several closures share.
//!
//! Names: the first corner lies on the axis of the first port, the last corner on that of the second; `w` is the
//! vector from the one to the other. Lengths run from corner to corner, legs included.

use super::{Allowance, skeleton::Line};
use crate::geometry::Vector;

/// Widest gap between two turns that are tried one by one where a turn is not sharply determined, in radians.
/// From half of it away, polishing reaches the best turn; a finer comb only costs time.
pub(super) const COMB: f64 = 0.3;

/// How far the last corner may really lie from where the second port puts it: the closure allowance, its angle
/// over the last length, and the stretch of adjustable parts that one tried length stands for.
pub(crate) fn corner_play(allowance: &Allowance, last_length: f64, half: f64) -> f64 {
    allowance.mm + allowance.rad * last_length + half
}

/// Whether two directions stand at the angle of cosine `cos` to within `play` radians.
pub(crate) fn at_angle(a: &Vector, b: &Vector, cos: f64, play: f64) -> bool {
    let found = a.dot(b);
    // The cosine never changes faster than the angle, so this alone rejects most.
    (found - cos).abs() <= play && (angle_of(found) - angle_of(cos)).abs() <= play
}

pub(super) fn angle_of(cos: f64) -> f64 {
    cos.clamp(-1.0, 1.0).acos()
}

/// Three bends: the triangle of the two middle runs stands on `w` and turns about it.
///
/// Proposes the directions of the two middle runs.
pub(crate) fn three(
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    w: &Vector,
    lengths: [f64; 2],
    bends: [(f64, f64); 3],
    play: f64,
    mut propose: impl FnMut([Vector; 2]),
) {
    let [l1, l2] = lengths;
    let [(cos1, sin1), (cos2, _), (cos3, _)] = bends;
    let span_squared = w.norm_squared();
    let span = span_squared.sqrt();
    let wanted = (l1 * l1 + l2 * l2 + 2.0 * l1 * l2 * cos2).max(0.0).sqrt();
    if (span - wanted).abs() > play || span < 1e-9 {
        return;
    }
    let a = &from.towards;
    let along = w / span;
    let cos_w = a.dot(&along);
    let across = a - along * cos_w;
    let sin_w = across.norm();
    // Angle of the first middle run to `w`, from the triangle with its own lengths.
    let cos_first = ((l1 + l2 * cos2) / wanted.max(1e-9)).clamp(-1.0, 1.0);
    let sin_first = (1.0 - cos_first * cos_first).sqrt();
    let lean = 2.0 * play / span + play / l1.max(1e-6);
    let Some(comb) = Comb::new(cos1 - cos_w * cos_first, sin_w * sin_first, lean) else { return };
    let u = if sin_w > 1e-9 { across / sin_w } else { any_square_to(&along) };
    let v = along.cross(&u);
    let _ = sin1;
    let b = -to.towards;
    for turn in comb.angles() {
        for side in [1.0, -1.0] {
            let (sin, cos) = (turn * side).sin_cos();
            let first = along * cos_first + (u * cos + v * sin) * sin_first;
            let second = (w - first * l1).normalize();
            let slack = allowance.rad + 2.0 * play / l2.max(1e-6) + comb.gap * (sin_first * l1 / l2.max(1e-6)).min(2.0);
            if at_angle(&second, &b, cos3, slack) {
                propose([first, second]);
            }
            if turn.sin().abs() < 1e-6 {
                break;
            }
        }
    }
}

/// The turns about an axis at which `weight * cos(turn) = value`, when `value` may be off by `lean`: one where that
/// determines the turn well, a comb of them where it does not (near tangency, or when everything turns about one
/// line and the turn is free).
pub(super) struct Comb {
    low: f64,
    high: f64,
    count: u32,
    /// How far the true turn may be from the nearest one tried.
    pub(super) gap: f64,
}

impl Comb {
    /// `None` when no turn can do it.
    pub(super) fn new(value: f64, weight: f64, lean: f64) -> Option<Self> {
        if value.abs() > weight + lean {
            return None;
        }
        let weight = weight.max(1e-12);
        let turn = |value: f64| (value / weight).clamp(-1.0, 1.0).acos();
        let (low, high) = (turn(value + lean), turn(value - lean));
        let width = high - low;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 12")]
        let count = (width / COMB).ceil().max(1.0) as u32;
        Some(Self { low, high, count, gap: width / f64::from(count) / 2.0 })
    }

    /// The turns to try, in [0, pi].
    pub(super) fn angles(&self) -> impl Iterator<Item = f64> + use<> {
        let (low, step) = (self.low, (self.high - self.low) / f64::from(self.count));
        (0..self.count).map(move |index| low + step * (f64::from(index) + 0.5))
    }
}

/// Some direction square to another, for turns about it that have no natural zero.
pub(crate) fn any_square_to(axis: &Vector) -> Vector {
    let pose = crate::geometry::facing(crate::geometry::Point::origin(), nalgebra::Unit::new_unchecked(*axis));
    pose.rotation * Vector::x()
}

/// Directions at cosine `cos_a` to `a` and `cos_b` to `b`: none, one or two; a ring of them when the two axes are in
/// line, and the nearest ones when the cones miss each other by less than `lean`. Each comes with how far the true
/// one may be from it, in radians.
pub(crate) fn cones_meet(a: &Vector, cos_a: f64, b: &Vector, cos_b: f64, lean: f64) -> Vec<(Vector, f64)> {
    let between = a.dot(b).clamp(-1.0, 1.0);
    let across = b - a * between;
    let sin_ab = across.norm();
    let sin_a = angle_of(cos_a).sin();
    let Some(comb) = Comb::new(cos_b - between * cos_a, sin_ab * sin_a, lean) else { return Vec::new() };
    let u = if sin_ab > 1e-9 { across / sin_ab } else { any_square_to(a) };
    let v = a.cross(&u);
    let at = |turn: f64| (a * cos_a + (u * turn.cos() + v * turn.sin()) * sin_a, comb.gap * sin_a);
    comb.angles().flat_map(|turn| [at(turn), at(-turn)]).collect()
}
