//! Roots along one free turn: the turn is combed, and sign changes, near misses and ends of each branch are offered.

use std::{f64::consts::TAU, sync::LazyLock};

/// Stops of the comb. The miss along a branch changes sign at most a few times in a full turn; 48 stops are 7.5°.
pub(super) const STOPS: usize = 48;

/// Largest miss of the last bend, in cosine, at a local minimum that is still offered: half a stop's change.
const NEAR: f64 = 0.1;

/// The same at the end of a branch, where the miss changes as the square root of the turn.
const NEAR_END: f64 = 0.4;

/// The miss on each of `N` branches at one turn, in cosine, and the directions that go with it.
pub(super) type Branches<D, const N: usize> = [Option<(f64, D)>; N];

/// Sine and cosine of a turn.
pub(super) type SinCos = (f64, f64);

/// Sine and cosine at every stop.
static AT_STOP: LazyLock<[SinCos; STOPS]> = LazyLock::new(|| std::array::from_fn(|stop| turn_of(stop).sin_cos()));

#[expect(clippy::cast_precision_loss, reason = "48 stops")]
fn turn_of(stop: usize) -> f64 {
    TAU * stop as f64 / STOPS as f64
}

/// Combs `at` over a full turn and offers the turns near which a branch may have no miss.
pub(super) fn roots<D: Copy, const N: usize>(at: impl Fn(SinCos) -> Branches<D, N>, mut offer: impl FnMut(SinCos, D)) {
    // One further stop closes the circle.
    let mut misses = [[None; STOPS + 1]; N];
    let mut any = false;
    for (stop, turn) in AT_STOP.iter().enumerate() {
        for (branch, found) in misses.iter_mut().zip(at(*turn)) {
            branch[stop] = found.map(|(miss, _)| miss);
            any |= found.is_some();
        }
    }
    if !any {
        return;
    }
    let mut offer = |branch: usize, turn: f64| {
        let turn = turn.sin_cos();
        if let Some((_, directions)) = at(turn)[branch] {
            offer(turn, directions);
        }
    };
    for (index, branch) in misses.iter_mut().enumerate() {
        branch[STOPS] = branch[0];
        for stop in 0..STOPS {
            let Some(here) = branch[stop] else { continue };
            let here: f64 = here;
            let before = branch[(stop + STOPS - 1) % STOPS];
            let Some(next) = branch[stop + 1] else {
                if here.abs() <= NEAR_END {
                    offer(index, turn_of(stop));
                }
                continue;
            };
            if here * next <= 0.0 && here != next {
                let share = here / (here - next);
                offer(index, turn_of(stop) + share * (turn_of(stop + 1) - turn_of(stop)));
                continue;
            }
            match before {
                None if here.abs() <= NEAR_END => offer(index, turn_of(stop)),
                Some(before) if here.abs() <= NEAR && here.abs() <= before.abs() && here.abs() <= next.abs() => {
                    offer(index, turn_of(stop));
                }
                _ => {}
            }
        }
    }
}
