//! Crane's laws of tees and wyes, made continuous: without that some circuits would have no answer.
//!
//! `share` is the flow of the branch over the whole flow, `area_ratio` the bore area of the branch over that of the run,
//! `cosine` that of the angle by which the coolant turns between the branch and the leg with the whole flow: 0 for a
//! square tee. Crane's `F` and `J cos α` are two cosines throughout.

/// Cosine of the largest angle for which Crane has a wye.
const WYE: f64 = 0.5;

/// How much of a law is that of a wye: all from its angles on, none from a right angle on.
fn wye_share(cosine: f64) -> f64 {
    (cosine / WYE).clamp(0.0, 1.0)
}

fn led_over(cosine: f64, tee: impl Fn() -> f64, wye: impl Fn() -> f64) -> f64 {
    match wye_share(cosine) {
        0.0 => tee(),
        1.0 => wye(),
        share => (1.0 - share) * tee() + share * wye(),
    }
}

/// Crane 2-37.
pub(super) fn dividing_branch(area_ratio: f64, share: f64, cosine: f64) -> f64 {
    let speed = share / area_ratio;
    let tee = || {
        let growth = if area_ratio <= 2.0 / 3.0 { 1.0 } else { 1.0 + 0.3 * share * share };
        let turning = if area_ratio.sqrt() <= 2.0 / 3.0 { 1.0 } else { 0.3 };
        growth * (1.0 + turning * speed * speed) - 2.0 * speed * cosine.min(0.0)
    };
    let wye = || {
        // His constant jumps where here the larger of both holds, and is led to 1 as the flow ceases.
        let growth = if area_ratio <= 0.35 {
            (1.1 - 0.7 * share).max(0.85) - 0.1 * (1.0 - share / 0.1).max(0.0)
        } else {
            (1.0 - 0.6 * share).max(0.6)
        };
        growth * (1.0 + speed * speed - 2.0 * speed * cosine)
    };
    led_over(cosine, tee, wye)
}

/// Crane 2-35. Two corrections make it continuous: his constant jumps from 0.54 to 0.55 at a share of 0.4, where here the
/// larger holds on either side; and below a share of 0.1 it is led to 1, so that a branch without flow feels the same
/// pressure whether a trickle leaves or enters.
pub(super) fn combining_branch(area_ratio: f64, share: f64, cosine: f64) -> f64 {
    let constant =
        if area_ratio <= 0.35 { 1.0 } else { (0.9 * (1.0 - share)).max(0.55) + 0.1 * (1.0 - share / 0.1).max(0.0) };
    let (speed, rest) = (share / area_ratio, 1.0 - share);
    constant * (1.0 + speed * speed - 2.0 * rest * rest - 2.0 * cosine / area_ratio * share * share)
}

/// Crane 2-38, the same for all angles.
pub(super) fn dividing_run(area_ratio: f64, share: f64) -> f64 {
    let constant = if area_ratio <= 0.4 {
        0.4
    } else if share <= 0.5 {
        2.0 * (2.0 * share - 1.0)
    } else {
        0.3 * (2.0 * share - 1.0)
    };
    constant * share * share
}

/// Crane 2-36.
pub(super) fn combining_run(area_ratio: f64, share: f64, cosine: f64) -> f64 {
    let angled = 2.0 * cosine / area_ratio * share * share;
    let tee = || 1.55 * share - share * share - angled.min(0.0);
    let rest = 1.0 - share;
    led_over(cosine, tee, || 1.0 - rest * rest - angled)
}
