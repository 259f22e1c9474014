//! Four bends: three middle runs with two fixed bends between them form a bow whose span fixes how far it is
//! twisted; the bow then turns about its span until the first bend fits, and the last bend is the test.

use super::{
    Allowance,
    few::{Comb, any_square_to},
    skeleton::Line,
};
use crate::geometry::Vector;

/// The three middle runs and the two bends between them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bow {
    pub(crate) lengths: [f64; 3],
    /// Cosine and sine of the two bends.
    pub(crate) bends: [(f64, f64); 2],
}

impl Bow {
    /// Cosine between the first and the last run when the span squared is `span_squared`.
    fn first_to_last(&self, span_squared: f64) -> f64 {
        let [l1, l2, l3] = self.lengths;
        let [(c1, _), (c2, _)] = self.bends;
        (span_squared - l1 * l1 - l2 * l2 - l3 * l3 - 2.0 * l2 * (l1 * c1 + l3 * c2)) / (2.0 * l1 * l3)
    }

    /// Least and greatest cosine between the first and the last run, over all twists.
    fn first_to_last_range(&self) -> (f64, f64) {
        let [(c1, s1), (c2, s2)] = self.bends;
        (c1 * c2 - s1 * s2, c1 * c2 + s1 * s2)
    }
}

/// The bow laid on its span `w`: everything but the turn about `w`.
pub(super) struct Laid {
    along: Vector,
    u: Vector,
    v: Vector,
    /// Cosine and sine between `w` and the first and the last run.
    first: (f64, f64),
    last: (f64, f64),
    /// Cosine of the first run's angle to `w` times that of the entry axis, and the product of the sines.
    offset: f64,
    weight: f64,
    first_to_last: f64,
    span: f64,
}

impl Laid {
    /// `None` when the bow cannot span `w` give or take `play`.
    pub(super) fn new(bow: &Bow, entry: &Vector, w: &Vector, play: f64) -> Option<Self> {
        let span_squared = w.norm_squared();
        let span = span_squared.sqrt();
        if span < 1e-6 {
            return None;
        }
        let [l1, l2, l3] = bow.lengths;
        let [(c1, _), (c2, _)] = bow.bends;
        let (least, most) = bow.first_to_last_range();
        let free = bow.first_to_last(span_squared);
        let lean = play * (span + play) / (l1 * l3);
        if free < least - lean || free > most + lean {
            return None;
        }
        let first_to_last = free.clamp(least, most);
        // A clamped bow has its own span, not that of `w`.
        let own = (span_squared + 2.0 * l1 * l3 * (first_to_last - free)).max(1e-12).sqrt();
        let with_sine = |cos: f64| {
            let cos = cos.clamp(-1.0, 1.0);
            (cos, (1.0 - cos * cos).sqrt())
        };
        let first = with_sine((l1 + l2 * c1 + l3 * first_to_last) / own);
        let last = with_sine((l3 + l2 * c2 + l1 * first_to_last) / own);
        let along = w / span;
        let cos_w = entry.dot(&along);
        let across = entry - along * cos_w;
        let sin_w = across.norm();
        let u = if sin_w > 1e-9 { across / sin_w } else { any_square_to(&along) };
        let v = along.cross(&u);
        Some(Self { along, u, v, first, last, offset: cos_w * first.0, weight: sin_w * first.1, first_to_last, span })
    }

    fn direction(&self, (cos, sin): (f64, f64), turn: (f64, f64)) -> Vector {
        self.along * cos + (self.u * turn.1 + self.v * turn.0) * sin
    }

    /// The first and last directions of the four postures in which the entry bend has cosine `cos_entry`, if it is
    /// met within `margin` (in cosine); turns out of reach within the margin are clamped.
    pub(super) fn postures(&self, cos_entry: f64, margin: f64) -> Option<[(Vector, Vector); 4]> {
        let weight = self.weight.max(1e-9);
        let cos_turn = (cos_entry - self.offset) / weight;
        if cos_turn.abs() > 1.0 + margin / weight {
            return None;
        }
        let cos_turn = cos_turn.clamp(-1.0, 1.0);
        let sin_turn = (1.0 - cos_turn * cos_turn).sqrt();
        let both = (self.first.1 * self.last.1).max(1e-9);
        let cos_twist = ((self.first_to_last - self.first.0 * self.last.0) / both).clamp(-1.0, 1.0);
        let sin_twist = (1.0 - cos_twist * cos_twist).sqrt();
        Some([(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)].map(|(turn, twist)| {
            let (st, sw) = (sin_turn * turn, sin_twist * twist);
            let sum = (st * cos_twist + cos_turn * sw, cos_turn * cos_twist - st * sw);
            (self.direction(self.first, (st, cos_turn)), self.direction(self.last, sum))
        }))
    }
}

/// Four bends. `bends` are those at the two ports' corners (the bow holds the inner two). Proposes the directions of
/// the three middle runs.
#[expect(clippy::too_many_arguments, reason = "the numbers of one closed form, each of its own kind")]
pub(crate) fn four(
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    w: &Vector,
    bow: &Bow,
    cos: [f64; 2],
    play: f64,
    mut propose: impl FnMut([Vector; 3]),
) {
    let Some(laid) = Laid::new(bow, &from.towards, w, play) else { return };
    let [l1, l2, l3] = bow.lengths;
    let exit = -to.towards;
    let lean = play * (2.0 / laid.span + 1.0 / l1);
    let Some(turns) = Comb::new(cos[0] - laid.offset, laid.weight, lean) else { return };
    let twist_lean = play * ((laid.span + play) / (l1 * l3) + 2.0 / laid.span + 1.0 / l1 + 1.0 / l3);
    let both = laid.first.1 * laid.last.1;
    let Some(twists) = Comb::new(laid.first_to_last - laid.first.0 * laid.last.0, both, twist_lean) else { return };
    let slack = allowance.rad + play * (1.0 / laid.span + 1.0 / l3) + laid.last.1 * (turns.gap + twists.gap).min(2.0);
    let along_exit = laid.along.dot(&exit) * laid.last.0;
    let (u_exit, v_exit) = (laid.u.dot(&exit) * laid.last.1, laid.v.dot(&exit) * laid.last.1);
    for turn in turns.angles() {
        for twist in twists.angles() {
            for (turn, twist) in [(turn, twist), (turn, -twist), (-turn, twist), (-turn, -twist)] {
                let (sin, cos_sum) = (turn + twist).sin_cos();
                if (along_exit + u_exit * cos_sum + v_exit * sin - cos[1]).abs() > slack {
                    continue;
                }
                let first = laid.direction(laid.first, turn.sin_cos());
                let last = laid.direction(laid.last, (sin, cos_sum));
                let middle = (w - first * l1 - last * l3) / l2;
                let length = middle.norm();
                let middle = if length > 1e-9 { middle / length } else { laid.along };
                propose([first, middle, last]);
            }
        }
    }
}
