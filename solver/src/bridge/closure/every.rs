//! Every posture in which one chain closes, whatever its kind: the closed form for that kind, or the general closure.

use super::{
    Allowance, Bow, Hand, Middle, Residual, Shifted, closes, corner_play, five, four, general, shifted,
    skeleton::{Line, MAX_TURNS, Posture, Skeleton},
    span::tries,
    three,
};
use crate::geometry::Vector;

/// Most combinations of lengths at which adjustable runs are tried for a closed form that needs lengths.
const MOST_TRIES: usize = 400;

/// Offers postures that close, each polished and within the allowance. A continuum is offered in pieces.
pub(crate) fn every(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    mut offer: impl FnMut(Posture, Residual),
) {
    let bends = skeleton.turns().filter(|turn| turn.is_bend()).count();
    let offsets = skeleton.turns().filter(|turn| turn.offset().is_some()).count();
    let is_plain = bends + offsets == skeleton.count;
    // Up to two bends, and a bend and an offset, have all directions known; the general closure uses that.
    if !is_plain || offsets > 1 || bends + offsets < 3 || bends + offsets > 5 {
        general(skeleton, from, to, allowance, |posture, residual| {
            offer(posture, residual);
            true
        });
        return;
    }
    for_each_try(skeleton, |tried, half| {
        let mut propose = |directions: &[Vector], aside: Vector| {
            let mut posture = tried.posture_along(from, directions, std::slice::from_ref(&aside));
            if let Some(residual) = closes(tried, from, to, allowance, &mut posture) {
                offer(posture, residual);
            }
        };
        closed_form(tried, from, to, allowance, half, &mut propose);
    });
}

/// Gives `each` the chain with its adjustable runs at every combination of the lengths at which they are tried, and how
/// far off in all these may be.
fn for_each_try(skeleton: &Skeleton<'_>, mut each: impl FnMut(&Skeleton<'_>, f64)) {
    let mut chains = vec![(*skeleton, 0.0)];
    for run in 0..=skeleton.count {
        let span = skeleton.runs[run];
        if span.is_fixed() {
            continue;
        }
        let longer: Vec<_> = chains
            .iter()
            .flat_map(|(chain, off)| {
                tries(span).map(move |(length, half)| {
                    let mut chain = *chain;
                    chain.tried[run] = length;
                    (chain, off + half)
                })
            })
            .take(MOST_TRIES)
            .collect();
        chains = longer;
    }
    chains.iter().for_each(|(chain, half)| each(chain, *half));
}

/// Proposes the directions of the runs after each bend, and the step of the offset.
fn closed_form(
    chain: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    half: f64,
    propose: &mut impl FnMut(&[Vector], Vector),
) {
    // From corner to corner, first and last from a port.
    let mut lengths = [0.0; MAX_TURNS + 1];
    let mut angles = [(1.0, 0.0); MAX_TURNS];
    let (mut bends, mut offset) = (0, None);
    for (index, turn) in chain.turns().enumerate() {
        lengths[bends] += chain.tried[index];
        if let Some((length, step)) = turn.offset() {
            lengths[bends] += length;
            offset = Some((bends, step));
        } else {
            let (leg_in, leg_out) = turn.legs();
            lengths[bends] += leg_in;
            angles[bends] = turn.angle();
            bends += 1;
            lengths[bends] = leg_out;
        }
    }
    lengths[bends] += chain.tried[chain.count];
    let play = corner_play(allowance, lengths[bends], half);
    let exit = -to.towards;
    if let Some((run, step)) = offset {
        let (lengths, bends) = (&lengths[..=bends], &angles[..bends]);
        let middle = match *bends {
            [first, second] => Middle::of(from, to, allowance, [first.0, second.0]),
            _ => Middle::Nowhere,
        };
        let chain = Shifted { lengths, bends, run, step, play };
        shifted(from, to, allowance, &chain, &middle, |directions, aside| propose(directions, aside));
        return;
    }
    let last = to.at.coords + to.towards * lengths[bends];
    let w = last - from.at.coords - from.towards * lengths[0];
    let none = Vector::zeros();
    match bends {
        3 => three(
            from,
            to,
            allowance,
            &w,
            [lengths[1], lengths[2]],
            [angles[0], angles[1], angles[2]],
            play,
            |[one, two]| propose(&[one, two, exit], none),
        ),
        4 => {
            let bow = Bow { lengths: [lengths[1], lengths[2], lengths[3]], bends: [angles[1], angles[2]] };
            four(from, to, allowance, &w, &bow, [angles[0].0, angles[3].0], play, |[one, two, three]| {
                propose(&[one, two, three, exit], none);
            });
        }
        _ => {
            let bow = Bow { lengths: [lengths[2], lengths[3], lengths[4]], bends: [angles[2], angles[3]] };
            let hand = Hand { first: lengths[1], bend: angles[0], second: angles[1].0, last: angles[4].0 };
            five(from, to, &w, &hand, &bow, play, |[one, two, three, four]| {
                propose(&[one, two, three, four, exit], none);
            });
        }
    }
}
