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
static AT_STOP: LazyLock<[SinCos; STOPS]> =
    LazyLock::new(|| std::array::from_fn(|stop| turn_of(stop, STOPS).sin_cos()));

/// Where in its stretch a stop lies: a share that keeps the stops away from the turns at right angles and in one plane, at
/// which directions are not determined.
const SHARE: f64 = 0.382;

#[expect(clippy::cast_precision_loss, reason = "a few hundred stops")]
fn turn_of(stop: usize, stops: usize) -> f64 {
    TAU * (stop as f64 + SHARE) / stops as f64
}

/// Combs `at` over a full turn and offers the turns near which a branch may have no miss.
pub(super) fn roots<D: Copy, const N: usize>(at: impl Fn(SinCos) -> Branches<D, N>, offer: impl FnMut(SinCos, D)) {
    let misses = AT_STOP.map(|turn| at(turn).map(|found| found.map_or(f64::NAN, |(miss, _)| miss)));
    pick(&misses, [NEAR, NEAR_END], 0.0, at, offer);
}

/// Stops between two of the coarse comb where a finer one is needed.
const FINER: usize = 8;

/// The same where a branch may last for less than a stop: `alive` says in which of the stretches around the stops of the
/// coarse comb there can be any, and only these are combed, [`FINER`] times as finely.
pub(super) fn fine_roots<D: Copy, const N: usize>(
    alive: &[bool; STOPS],
    at: impl Fn(SinCos) -> Branches<D, N>,
    offer: impl FnMut(SinCos, D),
) {
    if !alive.contains(&true) {
        return;
    }
    let mut misses = [[f64::NAN; N]; STOPS * FINER];
    for (stop, misses) in misses.iter_mut().enumerate() {
        if alive[stop / FINER] {
            let turn = turn_of(stop, STOPS * FINER).sin_cos();
            *misses = at(turn).map(|found| found.map_or(f64::NAN, |(miss, _)| miss));
        }
    }
    pick(&misses, [NEAR / 2.0, NEAR_END / 2.0], turn_of(1, STOPS * FINER) - turn_of(0, STOPS * FINER), at, offer);
}

/// Sine and cosine of every stop of the coarse comb.
pub(super) fn stops() -> &'static [SinCos; STOPS] {
    &AT_STOP
}

/// Offers the turns at or between stops near which a branch may have no miss; `misses` are not numbers where there is no
/// branch. `near` and `near_end` are the largest misses at a least one and at the end of a branch that are offered; up to
/// `always` they are offered wherever they are.
fn pick<D: Copy, const N: usize>(
    misses: &[[f64; N]],
    [near, near_end]: [f64; 2],
    always: f64,
    at: impl Fn(SinCos) -> Branches<D, N>,
    mut offer: impl FnMut(SinCos, D),
) {
    let stops = misses.len();
    let step = turn_of(1, stops) - turn_of(0, stops);
    for branch in 0..N {
        let mut offer = |turn: f64| {
            let turn = turn.sin_cos();
            if let Some((_, directions)) = at(turn)[branch] {
                offer(turn, directions);
            }
        };
        for stop in 0..stops {
            let here = misses[stop][branch];
            if here.is_nan() {
                continue;
            }
            let (before, next) = (misses[(stop + stops - 1) % stops][branch], misses[(stop + 1) % stops][branch]);
            let turn = turn_of(stop, stops);
            if here * next <= 0.0 && here != next {
                offer(turn + here / (here - next) * step);
            } else if before.is_nan() || next.is_nan() {
                if here.abs() <= near_end {
                    offer(turn);
                }
            } else if here.abs() <= always
                || here.abs() <= near && here.abs() <= before.abs() && here.abs() <= next.abs()
            {
                offer(turn);
            }
        }
    }
}
