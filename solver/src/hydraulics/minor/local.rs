//! Losses at one place: bore steps, entrances, exits, valves; and coils, whose curve is everywhere.

use super::coefficient::{PROJECTING_ENTRANCE, ThreeK, entrance, exit, sudden_narrowing, sudden_widening};
use crate::hydraulics::{
    Coolant,
    friction::{DRAWN_ROUGHNESS_M, Factor, InBore, MAX_RELATIVE_ROUGHNESS, Met},
    loss::{Band, Loss, Side, both_ways},
};
use std::f64::consts::PI;
use thiserror::Error;

/// Why a loss at one place was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum LocalError {
    /// A number that has to be above zero is not.
    #[error("{what} of {value}: expected a number above 0")]
    NotPositive {
        /// Which number.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A number that may not be negative is.
    #[error("{what} of {value}: expected 0 or more")]
    Negative {
        /// Which number.
        what: &'static str,
        /// What was given.
        value: f64,
    },
}

fn positive(what: &'static str, value: f64) -> Result<f64, LocalError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(LocalError::NotPositive { what, value }) }
}

fn not_negative(what: &'static str, value: f64) -> Result<f64, LocalError> {
    if value >= 0.0 && value.is_finite() { Ok(value) } else { Err(LocalError::Negative { what, value }) }
}

/// A place where the bore suddenly becomes another: thread reducers, steps inside a fitting.
///
/// Widening is Borda and Carnot's, narrowing Rennels and Hudson's; both count on the velocity in the smaller bore.
/// For a flow the other way the two change places. Drilled cones of 118° are near enough to sudden: Rennels and
/// Hudson's cone differs from Borda and Carnot by 7 % there. The band reaches far up because in laminar flow
/// Hooper's coefficients are several times as large.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    from_m: f64,
    to_m: f64,
    narrowing: f64,
    widening: f64,
}

impl Step {
    /// Spread of the authors: Crane, Rennels and Hooper as in the open library fluids 1.3.1.
    const BAND: Band = Band { low: 0.72, high: 1.6 };

    /// A step from one bore into another, in metres.
    ///
    /// # Errors
    /// A bore that is not above zero.
    pub fn new(from_bore_m: f64, to_bore_m: f64) -> Result<Self, LocalError> {
        Ok(Self::between(positive("bore in m", from_bore_m)?, positive("bore in m", to_bore_m)?))
    }

    /// The step between two bores that are known to be above zero; equal bores lose nothing.
    pub(in crate::hydraulics) fn between(from_m: f64, to_m: f64) -> Self {
        if from_m == to_m {
            return Self { from_m, to_m, narrowing: 0.0, widening: 0.0 };
        }
        let ratio = from_m.min(to_m) / from_m.max(to_m);
        Self { from_m, to_m, narrowing: sudden_narrowing(ratio), widening: sudden_widening(ratio) }
    }

    /// The bores before and behind the step, in metres.
    #[must_use]
    pub fn bores_m(&self) -> (f64, f64) {
        (self.from_m, self.to_m)
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(in crate::hydraulics) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        let widens = (self.from_m < self.to_m) == (flow_m3_s >= 0.0);
        let coefficient = if widens { self.widening } else { self.narrowing };
        if coefficient == 0.0 {
            return Loss::default();
        }
        let small_m = self.from_m.min(self.to_m);
        both_ways(flow_m3_s, |flow| InBore::new(flow, small_m, coolant).coefficient(0.0, coefficient))
            .times(Self::BAND.factor_at(place))
    }
}

/// The edge of a bore in the wall of a vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// Flush with the wall, sharp.
    Sharp,
    /// Flush with the wall, rounded.
    Rounded {
        /// Radius of the rounding over the bore.
        radius_over_bore: f64,
    },
    /// A tube that stands out into the vessel.
    Projecting,
}

/// Where coolant leaves a vessel into a bore. For a flow the other way it is an exit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entrance {
    bore_m: f64,
    coefficient: f64,
    band: Band,
}

impl Entrance {
    /// An entrance into a bore in metres.
    ///
    /// # Errors
    /// A bore that is not above zero or a negative rounding.
    pub fn new(bore_m: f64, edge: Edge) -> Result<Self, LocalError> {
        let bore_m = positive("bore in m", bore_m)?;
        // The bands are the spread of Rennels, Crane, Idelchik, Miller, Harris and Swamee in fluids 1.3.1.
        let (coefficient, band) = match edge {
            Edge::Sharp => (entrance(0.0), Band { low: 0.9, high: 1.15 }),
            Edge::Rounded { radius_over_bore } => {
                (entrance(not_negative("rounding over bore", radius_over_bore)?), Band { low: 0.35, high: 1.45 })
            }
            Edge::Projecting => (PROJECTING_ENTRANCE, Band { low: 0.75, high: 1.4 }),
        };
        Ok(Self { bore_m, coefficient, band })
    }

    /// The bore in metres.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(in crate::hydraulics) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        if flow_m3_s < 0.0 {
            return out_of(self.bore_m, -flow_m3_s, coolant, place).turned();
        }
        both_ways(flow_m3_s, |flow| InBore::new(flow, self.bore_m, coolant).coefficient(0.0, self.coefficient))
            .times(self.band.factor_at(place))
    }
}

/// Where coolant leaves a bore into a vessel: its dynamic pressure is lost. For a flow the other way it is a sharp
/// entrance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exit {
    inward: Entrance,
}

impl Exit {
    /// An exit out of a bore in metres.
    ///
    /// # Errors
    /// A bore that is not above zero.
    pub fn new(bore_m: f64) -> Result<Self, LocalError> {
        Ok(Self { inward: Entrance::new(bore_m, Edge::Sharp)? })
    }

    /// The bore in metres.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.inward.bore_m
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(in crate::hydraulics) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        self.inward.loss_at(-flow_m3_s, coolant, place).turned()
    }
}

fn out_of(bore_m: f64, flow: f64, coolant: &Coolant, place: f64) -> Loss {
    let at = InBore::new(flow, bore_m, coolant);
    let step = 1.0 / (1.0 + (at.reynolds / 2000.0).powi(4));
    let elasticity = -4.0 * (1.0 - step) * step / (1.0 + step);
    at.factor(Factor { value: exit(at.reynolds), elasticity }).finite().times(Band::plus_minus(0.1).factor_at(place))
}

/// A valve or any other thing that is stated by Darby's three numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Valve {
    bore_m: f64,
    k1: f64,
    k: f64,
}

impl Valve {
    /// Half as much again either way: bores inside small valves differ from maker to maker.
    const BAND: Band = Band { low: 0.67, high: 1.5 };

    /// A valve of a bore in metres.
    ///
    /// # Errors
    /// A bore that is not above zero or a negative number.
    pub fn new(bore_m: f64, numbers: ThreeK) -> Result<Self, LocalError> {
        let bore_m = positive("bore in m", bore_m)?;
        let numbers = ThreeK {
            k1: not_negative("K1", numbers.k1)?,
            ki: not_negative("Ki", numbers.ki)?,
            kd: not_negative("Kd", numbers.kd)?,
        };
        Ok(Self { bore_m, k1: numbers.k1, k: numbers.turbulent(bore_m) })
    }

    /// The bore in metres.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(in crate::hydraulics) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        both_ways(flow_m3_s, |flow| InBore::new(flow, self.bore_m, coolant).coefficient(self.k1, self.k))
            .times(Self::BAND.factor_at(place))
    }
}

/// A helical coil of tube.
///
/// The curve makes the coolant swirl, which costs more than the same length of straight tube and keeps the flow
/// laminar longer. The factor is the largest of White's (1929, laminar), Mori and Nakayama's (1967, turbulent)
/// and that of straight tube, so the loss grows with flow throughout; both are taken as in the open library fluids
/// 1.3.1. Band: ±20 %, a judgement on the spread of seven turbulent equations there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coil {
    bore_m: f64,
    length_m: f64,
    /// Bore over the diameter of the helix.
    curvature: f64,
    roughness_m: f64,
}

impl Coil {
    const BAND: Band = Band::plus_minus(0.2);

    /// A coil of drawn tube: bore, diameter of the helix measured to the centreline, both in metres, and how many
    /// turns, any number above 0.
    ///
    /// # Errors
    /// A number that is not above zero.
    pub fn new(bore_m: f64, helix_diameter_m: f64, turns: f64) -> Result<Self, LocalError> {
        let (bore_m, turns) = (positive("bore in m", bore_m)?, positive("number of turns", turns)?);
        let helix = positive("diameter of the helix in m", helix_diameter_m)?;
        let (length_m, curvature) = (positive("length of the coil in m", PI * helix * turns)?, bore_m / helix);
        Ok(Self { bore_m, length_m, curvature, roughness_m: DRAWN_ROUGHNESS_M.min(MAX_RELATIVE_ROUGHNESS * bore_m) })
    }

    /// The bore in metres.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(in crate::hydraulics) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        both_ways(flow_m3_s, |flow| {
            let at = InBore::new(flow, self.bore_m, coolant);
            let straight = at.friction(self.length_m, self.roughness_m, 0.0, &mut Met::default());
            let diameters = self.length_m / self.bore_m;
            let dean = at.reynolds * self.curvature.sqrt();
            if dean < DEAN_ONSET {
                return straight;
            }
            let curved = [white(at.reynolds, dean), mori_nakayama(at.reynolds, self.curvature)];
            curved.into_iter().fold(straight, |most, factor| {
                most.max(at.factor(Factor { value: factor.value * diameters, ..factor }))
            })
        })
        .times(Self::BAND.factor_at(place))
    }
}

/// Dean number below which a curve makes no difference.
const DEAN_ONSET: f64 = 11.6;

/// White's laminar friction factor of a coil; the Dean number is at least [`DEAN_ONSET`].
fn white(reynolds: f64, dean: f64) -> Factor {
    const POWER: f64 = 1.0 / 0.45;
    let ratio = (DEAN_ONSET / dean).powf(0.45);
    let rest = 1.0 - ratio;
    let straight_share = 1.0 - rest.powf(POWER);
    Factor {
        value: 64.0 / reynolds / straight_share,
        elasticity: -1.0 + ratio * rest.powf(POWER - 1.0) / straight_share,
    }
}

/// Mori and Nakayama's turbulent friction factor of a coil.
fn mori_nakayama(reynolds: f64, curvature: f64) -> Factor {
    let swirl = (reynolds * curvature * curvature).powf(-0.2);
    let correction = 1.0 + 0.112 * swirl;
    Factor { value: 0.3 * curvature.sqrt() * swirl * correction, elasticity: -0.2 * (1.0 + 0.112 * swirl / correction) }
}
