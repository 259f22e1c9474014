//! Five bends: one turn is left free by the corners, so the closure is a root along it. The first turn is combed;
//! each stop is a chain of four bends.

use super::{
    middle::{Bow, Laid},
    roots::{SinCos, roots},
    skeleton::Line,
};
use crate::geometry::Vector;

/// The first two bends and the last of a chain of five.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hand {
    /// Length of the run after the first bend.
    pub(crate) first: f64,
    /// Cosine and sine of the first bend.
    pub(crate) bend: (f64, f64),
    /// Cosine of the second bend.
    pub(crate) second: f64,
    /// Cosine of the last bend.
    pub(crate) last: f64,
}

/// Proposes the directions of the four middle runs.
pub(crate) fn five(
    from: &Line,
    to: &Line,
    w: &Vector,
    hand: &Hand,
    bow: &Bow,
    play: f64,
    mut propose: impl FnMut([Vector; 4]),
) {
    let u = from.mark;
    let v = from.towards.cross(&u);
    let exit = -to.towards;
    let at = |(sin, cos): SinCos| {
        let first = from.towards * hand.bend.0 + (u * cos + v * sin) * hand.bend.1;
        let rest = w - first * hand.first;
        let margin = play * (2.0 / rest.norm().max(1e-6) + 1.0 / bow.lengths[0]);
        let Some(postures) = Laid::new(bow, &first, &rest, play).and_then(|laid| laid.postures(hand.second, margin))
        else {
            return [None; 4];
        };
        postures.map(|(second, last)| Some((last.dot(&exit) - hand.last, (first, rest, second, last))))
    };
    roots(at, |_, (first, rest, second, last)| {
        let middle = rest - second * bow.lengths[0] - last * bow.lengths[2];
        let length = middle.norm();
        let middle = if length > 1e-9 { middle / length } else { second };
        propose([first, second, middle, last]);
    });
}
