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
#[expect(clippy::too_many_arguments, reason = "the numbers of one closed form, each of its own kind")]
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
    let [(cos1, _), (cos2, _), (cos3, _)] = bends;
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
    // Angles of the two middle runs to `w`, from the triangle with its own lengths.
    let with_sine = |cos: f64| (cos.clamp(-1.0, 1.0), (1.0 - cos * cos).max(0.0).sqrt());
    let (cos_first, sin_first) = with_sine((l1 + l2 * cos2) / wanted.max(1e-9));
    let (cos_second, sin_second) = with_sine((l2 + l1 * cos2) / wanted.max(1e-9));
    let lean = 2.0 * play / span + play / l1.max(1e-6);
    let Some(comb) = Comb::new(cos1 - cos_w * cos_first, sin_w * sin_first, lean) else { return };
    let u = if sin_w > 1e-9 { across / sin_w } else { any_square_to(&along) };
    let v = along.cross(&u);
    let b = -to.towards;
    let last_lean = allowance.rad + 2.0 * play / span + 2.0 * play / l2.max(1e-6);
    let mut offer = |turn: f64, gap: f64| {
        let (sin, cos) = turn.sin_cos();
        let first = along * cos_first + (u * cos + v * sin) * sin_first;
        let second = (w - first * l1).normalize();
        if at_angle(&second, &b, cos3, last_lean + gap * (sin_first * l1 / l2.max(1e-6)).min(2.0)) {
            propose([first, second]);
        }
    };
    if comb.is_sharp() {
        comb.angles().for_each(|turn| [turn, -turn].into_iter().for_each(|turn| offer(turn, comb.gap)));
        return;
    }
    // The first bend leaves the turn open, so the last one is asked as well: the second run leans the other way.
    for turn in [comb.middle, -comb.middle] {
        offer(turn, comb.gap);
    }
    let (u_last, v_last) = (-b.dot(&u), -b.dot(&v));
    let weight = u_last.hypot(v_last) * sin_second;
    let Some(last) = Comb::new(cos3 - b.dot(&along) * cos_second, weight, last_lean) else { return };
    if weight < FREE_TURN {
        // Neither bend minds: everything turns about `w`, and what was offered stands for all.
        return;
    }
    let zero = v_last.atan2(u_last);
    for turn in last.angles().flat_map(|turn| [zero + turn, zero - turn]) {
        if comb.admits(turn, last.gap) {
            offer(turn, last.gap);
        }
    }
}

/// Change of the last bend's cosine over all turns, below which they are all alike to it.
const FREE_TURN: f64 = 1e-3;

/// The turns about an axis at which `weight * cos(turn) = value`, when `value` may be off by `lean`: one where that
/// determines the turn well, a comb of them where it does not (near tangency, or when everything turns about one
/// line and the turn is free).
pub(super) struct Comb {
    low: f64,
    high: f64,
    /// The turn that the numbers ask for as they are, or the nearest to it.
    middle: f64,
    /// How many others are tried below and above it.
    others: [u32; 2],
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
        let (low, middle, high) = (turn(value + lean), turn(value), turn(value - lean));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 10")]
        let others = [middle - low, high - middle].map(|width| (width / COMB - 0.5).ceil().max(0.0) as u32);
        let gap = if others == [0, 0] { (middle - low).max(high - middle) } else { COMB / 2.0 };
        Some(Self { low, high, middle, others, gap })
    }

    /// Whether one turn (and its mirror image) stands for all.
    pub(super) fn is_sharp(&self) -> bool {
        self.others == [0, 0]
    }

    /// Whether a turn of either sign lies within `gap` of those in question.
    pub(super) fn admits(&self, turn: f64, gap: f64) -> bool {
        let turn = turn.sin().atan2(turn.cos()).abs();
        (self.low - gap..=self.high + gap).contains(&turn)
    }

    /// The turns to try, in [0, pi]: the one that is asked for, since a chain that closes exactly has just that, and what the
    /// allowance makes of it to either side.
    pub(super) fn angles(&self) -> impl Iterator<Item = f64> + Clone + use<> {
        let &Self { low, high, middle, others: [below, above], .. } = self;
        let step = |index: u32| COMB * f64::from(index);
        let lower = (1..=below).map(move |index| (middle - step(index)).max(low));
        let upper = (1..=above).map(move |index| (middle + step(index)).min(high));
        std::iter::once(middle).chain(lower).chain(upper)
    }
}

/// Some direction square to another, for turns about it that have no natural zero.
pub(crate) fn any_square_to(axis: &Vector) -> Vector {
    let pose = crate::geometry::facing(crate::geometry::Point::origin(), nalgebra::Unit::new_unchecked(*axis));
    pose.rotation * Vector::x()
}

/// Directions at one cosine to one axis and another to another: none, one or two; a ring of them when the two axes are in
/// line, and the nearest ones when the cones miss each other by little.
pub(crate) struct Cones {
    along: Vector,
    u: Vector,
    v: Vector,
    comb: Comb,
    sin: f64,
}

impl Cones {
    /// The directions at cosine `cos_a` to `a` and `cos_b` to `b` give or take `lean`; `None` when there are none.
    pub(crate) fn meet(a: &Vector, cos_a: f64, b: &Vector, cos_b: f64, lean: f64) -> Option<Self> {
        let between = a.dot(b).clamp(-1.0, 1.0);
        let across = b - a * between;
        let sin_ab = across.norm();
        let sin = (1.0 - cos_a * cos_a).max(0.0).sqrt();
        let comb = Comb::new(cos_b - between * cos_a, sin_ab * sin, lean)?;
        let u = if sin_ab > 1e-9 { across / sin_ab } else { any_square_to(a) };
        Some(Self { along: a * cos_a, u, v: a.cross(&u), comb, sin })
    }

    /// Whether the two axes leave so much open that more than two directions are tried.
    pub(crate) fn are_a_ring(&self) -> bool {
        !self.comb.is_sharp()
    }

    /// The directions to try, each with how far the true one may be from it, in radians.
    pub(crate) fn directions(&self) -> impl Iterator<Item = (Vector, f64)> {
        self.comb.angles().flat_map(|turn| [turn, -turn]).map(|turn: f64| {
            let (sin, cos) = turn.sin_cos();
            (self.along + (self.u * cos + self.v * sin) * self.sin, self.comb.gap * self.sin)
        })
    }
}
