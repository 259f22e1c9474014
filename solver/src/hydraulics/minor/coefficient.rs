//! Loss coefficients by their authors.
//!
//! Which one is used for what, and why: for turns drilled or threaded, Darby's three numbers, since they have the
//! laminar term that matters at these Reynolds numbers and a bounded effect of size, and lie amid the other
//! authors at 8 to 13 mm; for smooth curves Rennels and Hudson, whose friction term carries the Reynolds number.
//! None of them was fitted to bores of 8 to 13 mm: the bands are the spread of the authors there.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// Darby's three numbers of a fitting: `K = K1/Re + Ki (1 + Kd / D^0.3)`, `D` the bore in inches.
///
/// Source: R. Darby, *Chemical Engineering Fluid Mechanics*, 2nd ed. (2001), table 7-3, as in the open library
/// fluids 1.3.1. The fits come from steel pipe of nominal sizes; here the bore itself stands for the size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreeK {
    /// Laminar number, over the Reynolds number.
    pub k1: f64,
    /// Coefficient of a very large pipe.
    pub ki: f64,
    /// Growth for small pipes.
    pub kd: f64,
}

impl ThreeK {
    /// Darby's ball valve with a full bore, open.
    pub const BALL_VALVE: Self = Self { k1: 300.0, ki: 0.017, kd: 3.5 };

    /// The loss coefficient; infinite at a Reynolds number of zero.
    #[must_use]
    pub fn coefficient(&self, reynolds: f64, bore_m: f64) -> f64 {
        self.k1 / reynolds + self.turbulent(bore_m)
    }

    /// The part of the coefficient that does not depend on flow.
    #[must_use]
    pub fn turbulent(&self, bore_m: f64) -> f64 {
        const INCH_M: f64 = 0.0254;
        self.ki * (1.0 + self.kd / (bore_m / INCH_M).powf(0.3))
    }
}

/// Darby's numbers of a sharp mitre of any angle.
///
/// His table has 90° (1000, 0.27, 4.0) and 45° (500, 0.086, 4.0). Between and below, each number follows the
/// power of the angle through both and zero; below 45° that errs on the side of more loss. Above 90° the power
/// would rise too slowly; there `Ki` follows the shape of Rennels and Hudson's mitre.
#[must_use]
pub fn mitre(angle_rad: f64) -> ThreeK {
    let right = ThreeK { k1: 1000.0, ki: 0.27, kd: 4.0 };
    if angle_rad > FRAC_PI_2 {
        let shape = rennels_mitre(angle_rad) / rennels_mitre(FRAC_PI_2);
        return ThreeK { k1: right.k1 * angle_rad / FRAC_PI_2, ki: right.ki * shape, ..right };
    }
    through(right, ThreeK { k1: 500.0, ki: 0.086, kd: 4.0 }, angle_rad)
}

/// Darby's numbers of a threaded elbow with a radius of one bore, of any angle.
///
/// His table has 90° (800, 0.14, 4.0) and 45° (500, 0.071, 4.2); other angles follow the power through both and
/// zero.
#[must_use]
pub fn threaded(angle_rad: f64) -> ThreeK {
    through(ThreeK { k1: 800.0, ki: 0.14, kd: 4.0 }, ThreeK { k1: 500.0, ki: 0.071, kd: 4.2 }, angle_rad)
}

/// Rennels and Hudson's coefficient of a sharp mitre in turbulent flow.
///
/// Source: *Pipe Flow* (2012), chapter 15, as in the open library fluids 1.3.1.
#[must_use]
pub fn rennels_mitre(angle_rad: f64) -> f64 {
    let half = (0.5 * angle_rad).sin();
    0.42 * half + 2.56 * half.powi(3)
}

/// Rennels and Hudson's coefficient of a smooth bend, without the friction along its centreline.
///
/// Source: *Pipe Flow* (2012), chapter 15, as in the open library fluids 1.3.1, whose value also holds
/// `f θ r/D`; here that is counted with the length.
#[must_use]
pub fn rennels_bend(friction_factor: f64, angle_rad: f64, radius_over_bore: f64) -> f64 {
    let (constant, per_factor) = rennels_bend_parts(angle_rad, radius_over_bore);
    constant + per_factor * friction_factor
}

/// [`rennels_bend`] taken apart: the constant and what multiplies the friction factor.
pub(super) fn rennels_bend_parts(angle_rad: f64, radius_over_bore: f64) -> (f64, f64) {
    let half = (0.5 * angle_rad).sin();
    let swirl = 6.6 * (half.sqrt() + half) / radius_over_bore.powf(4.0 * angle_rad / PI);
    (0.10 * half, 2.4 * half + swirl)
}

/// Borda and Carnot's coefficient of a sudden widening, on the velocity before it; `ratio` is the smaller bore
/// over the larger.
#[must_use]
pub fn sudden_widening(ratio: f64) -> f64 {
    (1.0 - ratio * ratio).powi(2)
}

/// Coefficient of a sudden narrowing with a sharp edge, on the velocity after it; `ratio` is the smaller bore over
/// the larger.
///
/// Source: Rennels and Hudson, *Pipe Flow* (2012), chapter 10, as in the open library fluids 1.3.1.
#[must_use]
pub fn sudden_narrowing(ratio: f64) -> f64 {
    let (square, fifth) = (ratio * ratio, ratio.powi(5));
    let jet = 1.0 + 0.622 * (1.0 - 0.215 * square - 0.785 * fifth);
    0.0696 * (1.0 - fifth) * jet * jet + (jet - 1.0).powi(2)
}

/// Coefficient of a flush entrance out of a large vessel; `radius_over_bore` is the rounding of its edge, 0 when
/// sharp.
///
/// Source: P. K. Swamee and A. K. Sharma, *Design of Water Supply Pipe Networks* (2008), as in the open library
/// fluids 1.3.1: 0.5 for a sharp edge, as four of six authors there have it, and amid them when rounded.
#[must_use]
pub fn entrance(radius_over_bore: f64) -> f64 {
    0.5 / (1.0 + 36.0 * radius_over_bore.powf(1.2))
}

/// Coefficient of a tube end that stands out into the vessel it draws from.
///
/// Source: amid the authors in the open library fluids 1.3.1 for walls of 0.05 to 0.3 bores (0.43 to 0.78);
/// 0.57 is Rennels and Hudson's.
pub const PROJECTING_ENTRANCE: f64 = 0.57;

/// Coefficient of an exit into a large vessel: the whole dynamic pressure is lost.
///
/// 1 in turbulent flow, 2 in laminar flow, whose profile carries twice the energy of its mean velocity; joined by
/// a smooth step around 2,000 for which the loss still grows with flow. Source: the kinetic-energy factor of
/// pipe flow, F. M. White, *Fluid Mechanics* (from memory).
#[must_use]
pub fn exit(reynolds: f64) -> f64 {
    1.0 + 1.0 / (1.0 + (reynolds / 2000.0).powi(4))
}

/// The power law of the angle through the values at 90°, at 45° and zero.
fn through(right: ThreeK, half: ThreeK, angle_rad: f64) -> ThreeK {
    let of_right = angle_rad / FRAC_PI_2;
    let power = |at_right: f64, at_half: f64| at_right * of_right.powf((at_right / at_half).log2());
    let towards_right = ((angle_rad - FRAC_PI_4) / FRAC_PI_4).clamp(0.0, 1.0);
    ThreeK {
        k1: power(right.k1, half.k1),
        ki: power(right.ki, half.ki),
        kd: half.kd + (right.kd - half.kd) * towards_right,
    }
}
