//! The way through one fitting or one piece of tube.

use super::{
    coefficient::{mitre, rennels_bend_parts, threaded},
    local::Step,
};
use crate::hydraulics::{
    Coolant, Formula,
    doubt::Stance,
    friction::{DRAWN_ROUGHNESS_M, Factor, InBore, Law, MAX_RELATIVE_ROUGHNESS, Met},
    loss::{Band, Loss, Side, both_ways},
};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
use thiserror::Error;

/// The way through one fitting or one piece of tube: a bore of constant diameter with bends.
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
    /// The same bends, worked out: what of them depends on neither flow nor coolant.
    turns: Vec<Turn>,
}

/// A turn of the coolant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// How much the centreline turns, in radians: 0 is straight on; less than π.
    pub angle_rad: f64,
    /// How the turn is made.
    pub kind: BendKind,
    /// Where it is along the centreline, in metres from the passage's start, if known. Nothing is computed from
    /// it but the note that two bends stand close together.
    pub at_m: Option<f64>,
}

/// How a turn is made inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BendKind {
    /// Two drilled holes that meet at a sharp corner (a mitre).
    Drilled,
    /// A smooth curve: a bent tube, or a fitting with a swept inside.
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

impl BendKind {
    /// The formula that its loss is worked out by.
    pub(in crate::hydraulics) fn formula(self) -> Formula {
        match self {
            Self::Drilled => Formula::Drilled,
            Self::Swept { .. } => Formula::Swept,
            Self::Threaded => Formula::Threaded,
        }
    }
}

impl Bend {
    /// A turn by `angle_rad`; [`Passage::new`] checks it.
    #[must_use]
    pub fn new(angle_rad: f64, kind: BendKind) -> Self {
        Self { angle_rad, kind, at_m: None }
    }

    /// The same turn, at a known place along the centreline.
    #[must_use]
    pub fn at(self, at_m: f64) -> Self {
        Self { at_m: Some(at_m), ..self }
    }
}

impl Passage {
    /// A passage with the roughness of drawn tube.
    ///
    /// `bore_m` is the diameter and `length_m` the length of the whole centreline, through corners and curves.
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
        let turns = bends.iter().map(|bend| Turn::new(bend, bore_m)).collect();
        Ok(Self { bore_m, length_m, roughness_m, bends, turns })
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
    /// Zero at zero flow, continuous, odd, and growing with flow. Bends are taken to act alone; within five to ten
    /// bores of each other they do not, and may together lose less or more than their sum. A loss too large for an
    /// `f64` is returned as [`f64::MAX`].
    #[must_use]
    pub fn loss_pa(&self, flow_m3_s: f64, coolant: &Coolant) -> f64 {
        self.loss(flow_m3_s, coolant, Side::Likely).pa
    }

    /// Pressure lost from end to end at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_met(flow_m3_s, coolant, &Stance::of(side), &mut Met::default())
    }

    /// The same where the part stands, with the friction factors that were met before.
    pub(in crate::hydraulics) fn loss_met(
        &self,
        flow_m3_s: f64,
        coolant: &Coolant,
        stance: &Stance,
        met: &mut Met,
    ) -> Loss {
        both_ways(flow_m3_s, |flow| {
            let at = InBore::new(flow, self.bore_m, coolant);
            let straight = if self.length_m > 0.0 {
                at.friction(self.length_m, self.roughness_m, stance.at(Formula::Friction), met)
            } else {
                Loss::default()
            };
            let turned = |sum: Loss, turn: &Turn| sum.plus(turn.loss(&at, self.roughness_m, stance, met));
            self.turns.iter().fold(straight, turned)
        })
    }
}

/// Pressure lost in passages one after another, in Pa, with the sign of the flow: their own losses and those of
/// the sudden steps between unequal bores.
#[must_use]
pub fn chain_loss_pa(passages: &[Passage], flow_m3_s: f64, coolant: &Coolant) -> f64 {
    let mut met = Met::default();
    let inside: f64 =
        passages.iter().map(|passage| passage.loss_met(flow_m3_s, coolant, &Stance::LIKELY, &mut met).pa).sum();
    let steps: f64 = passages
        .windows(2)
        .map(|pair| Step::between(pair[0].bore_m, pair[1].bore_m).loss(flow_m3_s, coolant, Side::Likely).pa)
        .sum();
    inside + steps
}

/// A bend with everything worked out that depends on neither flow nor coolant: powers cost more than the rest.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Turn {
    k1: f64,
    k: f64,
    band: Band,
    formula: Formula,
    /// For a smooth curve, constant and multiple of the friction factor; `k1` and `k` then are the sharp corner
    /// that it never exceeds.
    curve: Option<(f64, f64)>,
}

impl Turn {
    fn new(bend: &Bend, bore_m: f64) -> Self {
        let numbers = match bend.kind {
            BendKind::Drilled | BendKind::Swept { .. } => mitre(bend.angle_rad),
            BendKind::Threaded => threaded(bend.angle_rad),
        };
        let curve = match bend.kind {
            BendKind::Swept { radius_over_bore } => Some(rennels_bend_parts(bend.angle_rad, radius_over_bore)),
            BendKind::Drilled | BendKind::Threaded => None,
        };
        let (k1, k) = (numbers.k1, numbers.turbulent(bore_m));
        Self { k1, k, band: band(bend), formula: bend.kind.formula(), curve }
    }

    fn loss(&self, at: &InBore, roughness_m: f64, stance: &Stance, met: &mut Met) -> Loss {
        let corner = at.coefficient(self.k1, self.k);
        let loss = match self.curve {
            None => corner,
            Some((constant, per_factor)) => {
                // The swirl behind a bend keeps the flow from being laminar, so it gets the early turbulent factor.
                let factor = met.factor(at.reynolds, roughness_m / at.bore, Law::Soon);
                let curve = if factor.elasticity == -1.0 {
                    at.coefficient(64.0 * per_factor, constant)
                } else {
                    let value = constant + per_factor * factor.value;
                    let elasticity = per_factor * factor.value * factor.elasticity / value;
                    at.factor(Factor { value, elasticity })
                };
                // A curve never loses more than the corner it replaces; the formula, made for gentle curves,
                // would say so below a radius of about 0.6 bores.
                curve.min(corner)
            }
        };
        let alone = self.band.factor_at(stance.at(self.formula));
        loss.times(alone * CLOSE_BENDS.factor_at(stance.at(Formula::CloseBends)))
    }
}

/// What another bend close by may make of a bend's loss: together two lose a third less than their sum or half as much
/// more, by how they face (Idelchik's twin elbows, from memory).
const CLOSE_BENDS: Band = Band { low: 2.0 / 3.0, high: 1.5 };

/// How far the authors differ about a bend at bores of 8 to 13 mm and Reynolds numbers of 1,000 to 20,000: Miller,
/// Crane, Blevins, Rennels and Ito as computed with the open library fluids 1.3.1. A judgement on that spread,
/// not a published band.
fn band(bend: &Bend) -> Band {
    match bend.kind {
        BendKind::Drilled => {
            // At 90° from 1.1 to 2.4 around 1.8. At 45° and below Darby stands at the upper end of the authors, and
            // beyond 90° again.
            let towards_right = ((bend.angle_rad - FRAC_PI_4) / (FRAC_PI_2 - FRAC_PI_4)).clamp(0.0, 1.0);
            let beyond_right = ((bend.angle_rad - FRAC_PI_2) / (FRAC_PI_2 - FRAC_PI_4)).clamp(0.0, 1.0);
            Band { low: 0.42 + 0.19 * towards_right - 0.09 * beyond_right, high: 1.35 }
        }
        BendKind::Swept { .. } => Band { low: 0.7, high: 1.35 },
        // Hooper gives half as much again as Darby, Crane a tenth less.
        BendKind::Threaded => Band { low: 0.8, high: 1.55 },
    }
}
