//! Losses where the coolant turns or its bore changes.

use super::{
    Coolant,
    friction::{self, DRAWN_ROUGHNESS_M, MAX_RELATIVE_ROUGHNESS, dynamic_pressure_pa, velocity_m_s, with_sign_of},
};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
use thiserror::Error;

/// The way through one fitting: a bore of constant diameter with bends.
///
/// ```
/// use elbowroom::hydraulics::{Coolant, minor::{Bend, BendKind, Passage}};
///
/// // A drilled right angle, 10 mm bore, 15 mm from each seat to the corner, at 4 L/min of water of 25 °C.
/// let water = Coolant::water(25.0)?;
/// let elbow = Passage::new(0.010, 0.030, vec![Bend::new(90_f64.to_radians(), BendKind::Drilled)])?;
/// let loss_pa = elbow.loss_pa(4.0 / 60_000.0, &water);
/// assert!((600.0..800.0).contains(&loss_pa));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Passage {
    bore_m: f64,
    length_m: f64,
    roughness_m: f64,
    bends: Vec<Bend>,
}

/// A turn of the coolant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// How much the centreline turns, in radians: 0 is straight on; less than π.
    pub angle_rad: f64,
    /// How the turn is made.
    pub kind: BendKind,
}

/// How a turn is made inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BendKind {
    /// Two drilled holes that meet at a sharp corner (a mitre).
    Drilled,
    /// A smooth curve.
    Swept {
        /// Radius of the centreline over the bore: 0.5 is the tightest there is.
        radius_over_bore: f64,
    },
    /// A cast or forged elbow with threaded ends and a short inner radius.
    Threaded,
}

/// Why a passage was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PassageError {
    /// The bore is no diameter.
    #[error("bore of {0} m: expected a diameter above 0")]
    Bore(f64),
    /// The length is no length.
    #[error("length of {0} m: expected 0 or more")]
    Length(f64),
    /// The roughness is none or too large.
    #[error("roughness of {roughness_m} m: expected 0 to {max_m} m, one twentieth of the bore")]
    Roughness {
        /// What was given.
        roughness_m: f64,
        /// The largest accepted for this bore.
        max_m: f64,
    },
    /// A bend turns by no possible angle.
    #[error("bend {index} turns by {angle_rad} rad: expected 0 to less than π")]
    Angle {
        /// Which bend, from 0.
        index: usize,
        /// What was given.
        angle_rad: f64,
    },
    /// A swept bend is tighter than its bore allows.
    #[error("bend {index} has a radius of {radius_over_bore} bores: expected 0.5 or more, measured to the centreline")]
    Radius {
        /// Which bend, from 0.
        index: usize,
        /// What was given.
        radius_over_bore: f64,
    },
}

impl Bend {
    /// A turn by `angle_rad`; [`Passage::new`] checks it.
    #[must_use]
    pub fn new(angle_rad: f64, kind: BendKind) -> Self {
        Self { angle_rad, kind }
    }

    /// Pressure lost in this turn alone, in Pa, at a flow of 0 or more; the friction along the centreline is not
    /// in it.
    #[must_use]
    pub fn loss_pa(&self, flow_m3_s: f64, bore_m: f64, roughness_m: f64, coolant: &Coolant) -> f64 {
        let velocity = velocity_m_s(flow_m3_s.abs(), bore_m);
        let drilled = || mitre(self.angle_rad).loss_pa(velocity, bore_m, coolant);
        let loss = match self.kind {
            BendKind::Drilled => drilled(),
            BendKind::Threaded => threaded(self.angle_rad).loss_pa(velocity, bore_m, coolant),
            BendKind::Swept { radius_over_bore } => {
                let reynolds = coolant.reynolds(velocity, bore_m);
                if reynolds > 0.0 {
                    let factor = bend_friction_factor(reynolds, roughness_m / bore_m);
                    let swept = rennels_bend(factor, self.angle_rad, radius_over_bore);
                    // A curve never loses more than the corner it replaces; the formula, made for gentle curves,
                    // would say so below a radius of about 0.6 bores.
                    (swept * dynamic_pressure_pa(velocity, coolant)).min(drilled())
                } else {
                    0.0
                }
            }
        };
        with_sign_of(flow_m3_s, loss)
    }
}

impl Passage {
    /// A passage with the roughness of drawn tube.
    ///
    /// `bore_m` is the diameter and `length_m` the length of the whole centreline, through the corners.
    ///
    /// # Errors
    /// A bore that is not above zero, a negative length, or a bend that no bore can have.
    pub fn new(bore_m: f64, length_m: f64, bends: Vec<Bend>) -> Result<Self, PassageError> {
        if !(bore_m > 0.0 && bore_m.is_finite()) {
            return Err(PassageError::Bore(bore_m));
        }
        if !(length_m >= 0.0 && length_m.is_finite()) {
            return Err(PassageError::Length(length_m));
        }
        for (index, bend) in bends.iter().enumerate() {
            if !(0.0..PI).contains(&bend.angle_rad) {
                return Err(PassageError::Angle { index, angle_rad: bend.angle_rad });
            }
            if let BendKind::Swept { radius_over_bore } = bend.kind
                && !(radius_over_bore >= 0.5 && radius_over_bore.is_finite())
            {
                return Err(PassageError::Radius { index, radius_over_bore });
            }
        }
        let roughness_m = DRAWN_ROUGHNESS_M.min(MAX_RELATIVE_ROUGHNESS * bore_m);
        Ok(Self { bore_m, length_m, roughness_m, bends })
    }

    /// The same passage with another roughness of its wall, in metres.
    ///
    /// # Errors
    /// A roughness below zero or above [`MAX_RELATIVE_ROUGHNESS`] of the bore.
    pub fn with_roughness(self, roughness_m: f64) -> Result<Self, PassageError> {
        let max_m = MAX_RELATIVE_ROUGHNESS * self.bore_m;
        if !(0.0..=max_m).contains(&roughness_m) {
            return Err(PassageError::Roughness { roughness_m, max_m });
        }
        Ok(Self { roughness_m, ..self })
    }

    /// Diameter of the bore in metres.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Length of the centreline in metres.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.length_m
    }

    /// The turns in order.
    #[must_use]
    pub fn bends(&self) -> &[Bend] {
        &self.bends
    }

    /// Pressure lost from end to end, in Pa, with the sign of the flow.
    ///
    /// Zero at zero flow, continuous, odd, and growing with flow. Bends are taken to act alone; within five to
    /// ten bores of each other they do not, and the true loss is usually smaller. A loss too large for an `f64`
    /// is returned as [`f64::MAX`]. Costs about 100 ns a bend.
    #[must_use]
    pub fn loss_pa(&self, flow_m3_s: f64, coolant: &Coolant) -> f64 {
        let flow = flow_m3_s.abs();
        let straight = friction::loss_pa(flow, self.bore_m, self.length_m, self.roughness_m, coolant);
        let turns: f64 = self.bends.iter().map(|bend| bend.loss_pa(flow, self.bore_m, self.roughness_m, coolant)).sum();
        with_sign_of(flow_m3_s, straight + turns)
    }
}

/// Pressure lost in passages one after another, in Pa, with the sign of the flow: their own losses and those of
/// the sudden steps between unequal bores.
#[must_use]
pub fn chain_loss_pa(passages: &[Passage], flow_m3_s: f64, coolant: &Coolant) -> f64 {
    let flow = flow_m3_s.abs();
    let inside: f64 = passages.iter().map(|passage| passage.loss_pa(flow, coolant)).sum();
    let steps: f64 = passages.windows(2).map(|pair| step_loss_pa(pair[0].bore_m, pair[1].bore_m, flow, coolant)).sum();
    with_sign_of(flow_m3_s, inside + steps)
}

/// Pressure lost where a bore suddenly becomes another, in Pa, for a flow of 0 or more from the first into the
/// second; zero between equal bores.
///
/// Widening: Borda and Carnot, `(1 - β²)²`. Narrowing: Rennels and Hudson, *Pipe Flow* (2012), chapter 10, sharp
/// edge. β is the smaller bore over the larger, and both count on the velocity in the smaller bore.
#[must_use]
pub fn step_loss_pa(from_bore_m: f64, to_bore_m: f64, flow_m3_s: f64, coolant: &Coolant) -> f64 {
    let (small, large) = if from_bore_m < to_bore_m { (from_bore_m, to_bore_m) } else { (to_bore_m, from_bore_m) };
    let ratio = small / large;
    let coefficient = if from_bore_m < to_bore_m { sudden_widening(ratio) } else { sudden_narrowing(ratio) };
    with_sign_of(flow_m3_s, coefficient * dynamic_pressure_pa(velocity_m_s(flow_m3_s, small), coolant))
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
    /// The loss coefficient; infinite at a Reynolds number of zero.
    #[must_use]
    pub fn coefficient(&self, reynolds: f64, bore_m: f64) -> f64 {
        self.k1 / reynolds + self.turbulent(bore_m)
    }

    /// The part of the coefficient that does not depend on flow.
    #[must_use]
    pub fn turbulent(&self, bore_m: f64) -> f64 {
        self.ki * (1.0 + self.kd / (bore_m / INCH_M).powf(0.3))
    }

    /// Pressure lost in Pa at a velocity of 0 or more; the laminar part is taken apart so that zero flow gives zero.
    fn loss_pa(&self, velocity_m_s: f64, bore_m: f64, coolant: &Coolant) -> f64 {
        0.5 * self.k1 * coolant.viscosity_pa_s * velocity_m_s / bore_m
            + self.turbulent(bore_m) * dynamic_pressure_pa(velocity_m_s, coolant)
    }
}

const INCH_M: f64 = 0.0254;

/// Darby's numbers of a sharp mitre of any angle.
///
/// His table has 90° (1000, 0.27, 4.0) and 45° (500, 0.086, 4.0). Between and below, each number follows the
/// power of the angle through both and zero. Above 90° that power would rise too slowly; there `Ki` follows the
/// shape of Rennels and Hudson's mitre, `0.42 sin(θ/2) + 2.56 sin³(θ/2)`.
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
    let half = (0.5 * angle_rad).sin();
    (0.10 + 2.4 * friction_factor) * half
        + 6.6 * friction_factor * (half.sqrt() + half) / radius_over_bore.powf(4.0 * angle_rad / PI)
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

/// Friction factor that goes with a bend: turbulent as soon as the flow would allow it, since the swirl behind a
/// bend keeps the flow from being laminar; 64/Re below.
fn bend_friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    /// Where 64/Re falls below the turbulent branch of Churchill's equation, for any roughness.
    const LAMINAR_BELOW: f64 = 900.0;
    let at = reynolds.max(LAMINAR_BELOW);
    let turbulent = 8.0 / (2.457 * ((7.0 / at).powf(0.9) + 0.27 * relative_roughness).ln()).powi(2);
    turbulent.max(64.0 / reynolds)
}
