//! Loops that share as few parts as may be: each is added to others as long as that makes them shorter.
//!
//! A ladder of tees closed through its tree has loops that all run through the same two lines of tees. Made short they
//! are its rungs, two by two, and the equations are all but empty.

/// A loop as parts with their signs.
type Loop = Vec<(usize, f64)>;

/// The same circuit by shorter loops. The loop at `alone` stays as it is and is added to none, so that its chord is in no
/// other.
pub(super) fn shortened(mut loops: Vec<Loop>, parts: usize, alone: Option<usize>) -> Vec<Loop> {
    /// A ladder takes one round and one that finds nothing left to do.
    const MOST_ROUNDS: usize = 8;
    let mut signs = vec![0.0; parts];
    for _ in 0..MOST_ROUNDS {
        let mut order: Vec<usize> = (0..loops.len()).filter(|&index| Some(index) != alone).collect();
        order.sort_by_key(|&index| std::cmp::Reverse(loops[index].len()));
        let mut changed = false;
        for &index in &order {
            loops[index].iter().for_each(|&(part, sign)| signs[part] = sign);
            let gains = order.iter().filter(|&&other| other != index);
            let gains = gains.filter_map(|&other| Some((other, gain(&signs, &loops[other])?)));
            let best = gains.max_by_key(|&(other, (saved, _))| (saved, std::cmp::Reverse(other)));
            loops[index].iter().for_each(|&(part, _)| signs[part] = 0.0);
            if let Some((other, (_, factor))) = best.filter(|(_, (saved, _))| *saved > 0) {
                loops[index] = sum(&loops[index], &loops[other], factor, &mut signs);
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    loops
}

/// How many parts shorter a loop (as signs) becomes by adding `factor` times another; `None` where they do not run side
/// by side, or against each other, all along what they share.
fn gain(signs: &[f64], other: &Loop) -> Option<(isize, f64)> {
    let mut shared = 0_usize;
    let mut factor = 0.0;
    for &(part, sign) in other {
        if signs[part] == 0.0 {
            continue;
        }
        let needed = -signs[part] * sign;
        if factor != 0.0 && factor != needed {
            return None;
        }
        factor = needed;
        shared += 1;
    }
    let saved = 2 * isize::try_from(shared).ok()? - isize::try_from(other.len()).ok()?;
    Some((saved, factor))
}

/// One loop and `factor` times another; `signs` is scratch, all zero before and after.
fn sum(one: &Loop, other: &Loop, factor: f64, signs: &mut [f64]) -> Loop {
    one.iter().for_each(|&(part, sign)| signs[part] = sign);
    let mut all: Vec<usize> = one.iter().chain(other).map(|&(part, _)| part).collect();
    other.iter().for_each(|&(part, sign)| signs[part] += factor * sign);
    all.sort_unstable();
    all.dedup();
    let kept: Loop = all.iter().map(|&part| (part, signs[part])).filter(|(_, sign)| *sign != 0.0).collect();
    all.iter().for_each(|&part| signs[part] = 0.0);
    kept
}
