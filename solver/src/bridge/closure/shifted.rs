//! Up to four bends and one offset: the offset moves the rest of the chain sideways by a fixed distance in a free
//! direction, square to the run it sits in.
//!
//! Without the sideways step the runs would miss the second port by exactly that step, so once the directions of all
//! runs are known the offset's own turn follows. Directions: two bends or fewer leave at most two choices; three
//! are a closed form for each place the offset can have; four add a comb over the first turn.

use super::{
    Allowance,
    few::{COMB, Comb, Cones, any_square_to, at_angle},
    roots::{Branches, SinCos, roots},
    skeleton::Line,
};
use crate::geometry::Vector;

/// A chain of bends with one offset in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shifted<'a> {
    /// From corner to corner, the offset's own length along the run included: one more than there are bends.
    pub(crate) lengths: &'a [f64],
    /// Cosine and sine of each bend.
    pub(crate) bends: &'a [(f64, f64)],
    /// Index of the run with the offset.
    pub(crate) run: usize,
    /// How far the offset steps sideways.
    pub(crate) step: f64,
    /// How far the last corner may lie from its place.
    pub(crate) play: f64,
}

/// Where the middle run of two bends and an offset can point. It is the same for all lengths.
#[derive(Clone, Debug)]
pub(crate) enum Middle {
    Nowhere,
    /// Anywhere around the ports' axes, which are nearly in line.
    Around,
    /// These directions, each with how far the true one may be from it, in radians.
    Along(Vec<(Vector, f64)>),
}

impl Middle {
    /// What the bends, of which `first` and `second` are the cosines, leave it.
    pub(crate) fn of(from: &Line, to: &Line, allowance: &Allowance, [first, second]: [f64; 2]) -> Self {
        match Cones::meet(&from.towards, first, &-to.towards, second, allowance.lean()) {
            None => Self::Nowhere,
            Some(ways) if ways.are_a_ring() => Self::Around,
            Some(ways) => Self::Along(ways.directions().collect()),
        }
    }
}

/// Proposes the directions of the runs after each bend and the sideways step, as a vector. `middle` matters to two bends.
pub(crate) fn shifted(
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    chain: &Shifted<'_>,
    middle: &Middle,
    mut propose: impl FnMut(&[Vector], Vector),
) {
    let (a, exit) = (from.towards, -to.towards);
    let lean = allowance.lean();
    let aside = |directions: &[Vector]| {
        let along = directions.iter().zip(&chain.lengths[1..]).map(|(direction, length)| direction * *length);
        to.at - from.at - a * chain.lengths[0] - along.sum::<Vector>()
    };
    let mut offer = |directions: &[Vector]| propose(directions, aside(directions));
    // Two bends or fewer: the directions are known beforehand, so the step left over is a test that costs little.
    let fits = |directions: &[Vector], gap: f64| {
        let aside = aside(directions);
        let run = if chain.run == 0 { &a } else { &directions[chain.run - 1] };
        let play = 2.0 * chain.play + gap * chain.lengths[1];
        (aside.norm() - chain.step).abs() <= play && aside.dot(run).abs() <= play
    };
    match *chain.bends {
        [] if a.dot(&exit) >= lean.cos() => offer(&[]),
        [first] if at_angle(&a, &exit, first.0, lean) && fits(&[exit], 0.0) => offer(&[exit]),
        [first, second] => match middle {
            Middle::Nowhere => {}
            Middle::Around => {
                // The ports' axes are nearly in line and leave the middle run's direction open: the step decides.
                for (middle, gap) in around_line(&a, first, &aside(&[a * first.0, exit]), chain) {
                    if at_angle(&middle, &exit, second.0, lean + gap + COMB) && fits(&[middle, exit], gap) {
                        offer(&[middle, exit]);
                    }
                }
            }
            Middle::Along(ways) => {
                for (middle, gap) in ways {
                    if fits(&[*middle, exit], *gap) {
                        offer(&[*middle, exit]);
                    }
                }
            }
        },
        [_, _, _] => three(from, to, allowance, chain, |[one, two]| offer(&[one, two, exit])),
        [_, _, _, _] => four(from, to, chain, |[one, two, three]| offer(&[one, two, three, exit])),
        _ => {}
    }
}

/// Directions of the middle of three runs about the first port's axis, such that what is left of `rest`, the way still
/// to go without the middle run's own part square to the axis, is as long as the offset's step. Each with how far it
/// may be off, in radians.
fn around_line(a: &Vector, (cos, sin): (f64, f64), rest: &Vector, chain: &Shifted<'_>) -> Vec<(Vector, f64)> {
    let beside = chain.lengths[1] * sin;
    let across = rest - a * rest.dot(a);
    let weight = across.norm();
    let u = if weight > 1e-9 { across / weight } else { any_square_to(a) };
    let v = a.cross(&u);
    let value = (rest.norm_squared() + beside * beside - chain.step * chain.step) / (2.0 * beside.max(1e-9));
    let lean = 2.0 * chain.play * (chain.step + chain.play) / beside.max(1e-9);
    let Some(comb) = Comb::new(value, weight, lean) else { return Vec::new() };
    let at = |turn: f64| (a * cos + (u * turn.cos() + v * turn.sin()) * sin, comb.gap * sin);
    if weight < chain.play {
        // Both ports on one line: everything turns about it, and one direction stands for all.
        return vec![at(0.0)];
    }
    comb.angles().flat_map(|turn| [at(turn), at(-turn)]).collect()
}

/// Most bends beside the offset.
const MOST_BENDS: usize = 4;

/// The same chain seen from the other port, for which the directions come out backwards and reversed.
fn reversed<const N: usize>(
    chain: &Shifted<'_>,
    solve: impl FnOnce(&Shifted<'_>, &mut dyn FnMut([Vector; N])),
    mut propose: impl FnMut([Vector; N]),
) {
    let (mut lengths, mut bends) = ([0.0; MOST_BENDS + 1], [(1.0, 0.0); MOST_BENDS]);
    let (lengths, bends) = (&mut lengths[..chain.lengths.len()], &mut bends[..chain.bends.len()]);
    lengths.iter_mut().zip(chain.lengths.iter().rev()).for_each(|(slot, length)| *slot = *length);
    bends.iter_mut().zip(chain.bends.iter().rev()).for_each(|(slot, bend)| *slot = *bend);
    let mirrored = Shifted { lengths, bends, run: chain.bends.len() - chain.run, ..*chain };
    solve(&mirrored, &mut |mut directions: [Vector; N]| {
        directions.reverse();
        propose(directions.map(|direction| -direction));
    });
}

fn three(from: &Line, to: &Line, allowance: &Allowance, chain: &Shifted<'_>, mut propose: impl FnMut([Vector; 2])) {
    if chain.run >= 2 {
        return reversed(chain, |mirrored, propose| three(to, from, allowance, mirrored, propose), propose);
    }
    let (Some(corners), [l0, l1, l2, _], [b1, b2, b3]) = (Corners::new(from, to, chain), chain.lengths, chain.bends)
    else {
        return;
    };
    let play = chain.play;
    let exit = -to.towards;
    if chain.run == 0 {
        let Some(comb) = corners.comb(play) else { return };
        for side in comb.angles().flat_map(|turn| [turn, -turn]) {
            let start = corners.at(side);
            let shifted = Line { at: (start - from.towards * *l0).into(), ..*from };
            let play = play + comb.gap * chain.step;
            super::few::three(
                &shifted,
                to,
                allowance,
                &(corners.end - start),
                [*l1, *l2],
                [*b1, *b2, *b3],
                play,
                &mut propose,
            );
        }
        return;
    }
    // The offset lies in the second run: the second corner is on a ring about the second port's axis.
    let Some(comb) = corners.comb(play) else { return };
    for side in comb.angles().flat_map(|turn| [turn, -turn]) {
        let corner = corners.at(side);
        let second = (corners.end - corner) / *l2;
        let reach = corner - corners.start;
        let distance = reach.norm().max(1e-9);
        let lean = 2.0 * play / distance + comb.gap * (l2 * b3.1 / distance);
        let along = reach / distance;
        let Some(cones) = Cones::meet(&from.towards, b1.0, &along, (l1 / distance).min(1.0), lean) else { continue };
        for (first, gap) in cones.directions() {
            let slack = allowance.rad + 2.0 * play / l2 + lean + gap + comb.gap;
            if at_angle(&first, &second, b2.0, slack) && at_angle(&second, &exit, b3.0, 0.1 + slack) {
                propose([first, second]);
            }
        }
    }
}

/// The ring on which a corner lies because of the offset or the last bend, and the distance it must keep.
struct Corners {
    start: Vector,
    end: Vector,
    centre: Vector,
    u: Vector,
    v: Vector,
    radius: f64,
    value: f64,
    weight: f64,
    distance: f64,
}

impl Corners {
    /// For the offset in the first run: the first corner on a ring about the first axis, at the distance from the last
    /// corner that the two middle runs span. In the second run: the second corner on the last bend's ring, at the
    /// distance from the first corner that run and step make.
    fn new(from: &Line, to: &Line, chain: &Shifted<'_>) -> Option<Self> {
        let ([l0, l1, l2, l3], [_, b2, b3]) = (chain.lengths, chain.bends) else { return None };
        let start = from.at.coords + from.towards * *l0;
        let end = to.at.coords + to.towards * *l3;
        let (centre, axis, radius, other, distance) = if chain.run == 0 {
            let span = (l1 * l1 + l2 * l2 + 2.0 * l1 * l2 * b2.0).max(0.0).sqrt();
            (start, from.towards, chain.step, end, span)
        } else {
            let centre = end + to.towards * (l2 * b3.0);
            (centre, to.towards, l2 * b3.1, start, l1.hypot(chain.step))
        };
        let delta = other - centre;
        let across = delta - axis * delta.dot(&axis);
        let weight = across.norm();
        let u = if weight > 1e-9 { across / weight } else { any_square_to(&axis) };
        let value = (delta.norm_squared() + radius * radius - distance * distance) / (2.0 * radius.max(1e-9));
        Some(Self { start, end, centre, u, v: axis.cross(&u), radius, value, weight, distance })
    }

    fn lean(&self, play: f64) -> f64 {
        play * (self.distance + play) / self.radius.max(1e-9)
    }

    fn comb(&self, play: f64) -> Option<Comb> {
        Comb::new(self.value, self.weight, self.lean(play))
    }

    fn at(&self, turn: f64) -> Vector {
        self.centre + (self.u * turn.cos() + self.v * turn.sin()) * self.radius
    }

    /// The turn, clamped where it is out of reach by no more than `play` explains.
    fn turn(&self, play: f64) -> Option<f64> {
        let lean = self.lean(play);
        if self.value.abs() > self.weight + lean {
            return None;
        }
        Some((self.value / self.weight.max(1e-9)).clamp(-1.0, 1.0).acos())
    }
}

fn four(from: &Line, to: &Line, chain: &Shifted<'_>, mut propose: impl FnMut([Vector; 3])) {
    if chain.run == 0 {
        return reversed(chain, |mirrored, propose| four(to, from, mirrored, propose), propose);
    }
    let (cos, sin) = chain.bends[0];
    let u = from.mark;
    let v = from.towards.cross(&u);
    let corner = from.at + from.towards * chain.lengths[0];
    let rest = Shifted { lengths: &chain.lengths[1..], bends: &chain.bends[1..], run: chain.run - 1, ..*chain };
    let first = |turn: SinCos| from.towards * cos + (u * turn.1 + v * turn.0) * sin;
    // The mark only matters to turns that are combed, and this line has none.
    let at = |turn: SinCos| three_branches(&Line { at: corner, towards: first(turn), mark: from.mark }, to, &rest);
    roots(at, |turn, [second, third]| propose([first(turn), second, third]));
}

/// The four postures of three bends and an offset that fit in all but one angle, and their miss in it, in cosine.
fn three_branches(from: &Line, to: &Line, chain: &Shifted<'_>) -> Branches<[Vector; 2], 4> {
    let mut branches = [None; 4];
    if chain.run >= 2 {
        let lengths = [chain.lengths[3], chain.lengths[2], chain.lengths[1], chain.lengths[0]];
        let bends = [chain.bends[2], chain.bends[1], chain.bends[0]];
        let mirrored = Shifted { lengths: &lengths, bends: &bends, run: 3 - chain.run, ..*chain };
        return three_branches(to, from, &mirrored).map(|branch| branch.map(|(miss, [one, two])| (miss, [-two, -one])));
    }
    let (Some(corners), [_, l1, l2, _], [b1, b2, b3]) = (Corners::new(from, to, chain), chain.lengths, chain.bends)
    else {
        return branches;
    };
    let Some(turn) = corners.turn(chain.play) else { return branches };
    let exit = -to.towards;
    let margin = chain.play / l1.max(1e-6) + chain.play / l2.max(1e-6);
    for (index, side) in [turn, -turn].into_iter().enumerate() {
        let corner = corners.at(side);
        if chain.run == 0 {
            let w = corners.end - corner;
            let span = w.norm().max(1e-9);
            let along_first = ((l1 + l2 * b2.0) / span).clamp(-1.0, 1.0);
            let Some(pair) = two_cones(&from.towards, b1.0, &(w / span), along_first, margin) else { continue };
            for (side, first) in pair.into_iter().enumerate() {
                let second = (w - first * *l1) / *l2;
                branches[2 * index + side] = Some((second.dot(&exit) - b3.0, [first, second.normalize()]));
            }
        } else {
            let second = (corners.end - corner) / *l2;
            let reach = corner - corners.start;
            let distance = reach.norm().max(1e-9);
            let along = (l1 / distance).min(1.0);
            let Some(pair) = two_cones(&from.towards, b1.0, &(reach / distance), along, margin) else { continue };
            for (side, first) in pair.into_iter().enumerate() {
                branches[2 * index + side] = Some((first.dot(&second) - b2.0, [first, second]));
            }
        }
    }
    branches
}

/// The two directions at given cosines to two axes, clamped where they miss by no more than `margin`.
pub(super) fn two_cones(a: &Vector, cos_a: f64, b: &Vector, cos_b: f64, margin: f64) -> Option<[Vector; 2]> {
    let between = a.dot(b);
    let across = b - a * between;
    let sin = across.norm().max(1e-9);
    let sin_a = (1.0 - cos_a * cos_a).max(0.0).sqrt();
    let weight = (sin * sin_a).max(1e-9);
    let value = cos_b - between * cos_a;
    if value.abs() > weight + margin {
        return None;
    }
    let cos = (value / weight).clamp(-1.0, 1.0);
    let turn = (1.0 - cos * cos).sqrt();
    let u = across / sin;
    let v = a.cross(&u);
    Some([turn, -turn].map(|turn| a * cos_a + (u * cos + v * turn) * sin_a))
}
