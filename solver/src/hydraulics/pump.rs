//! Pumps by their curve.

use super::{
    curve::{CurveError, MonotoneCurve, Trend},
    loss::{Band, Loss, Side},
};
use thiserror::Error;

/// A pump: the pressure it gains at each flow.
///
/// At another speed its curve moves by the affinity laws: flow with the speed, pressure with its square. Against a
/// flow forced through it backwards it gains more than at rest; beyond its last point it becomes a resistance. Both
/// are continued as parabolas, so that the gain falls with flow everywhere. The curve is taken as it is, for any
/// coolant: makers give it for water.
#[derive(Clone, Debug, PartialEq)]
pub struct Pump {
    curve: Curve,
    /// Gain at no flow at full speed, in Pa.
    shut_off: f64,
    /// Flow at which the given curve ends or gains nothing, at full speed, in m³/s.
    last_flow: f64,
    speed: f64,
    band: Band,
}

#[derive(Clone, Debug, PartialEq)]
enum Curve {
    Table(MonotoneCurve),
    /// `shut_off - factor * flow^power`
    Power {
        factor: f64,
        power: f64,
    },
}

/// Why a pump was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PumpError {
    /// The points are no curve.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// The first point has flow.
    #[error("the pump curve starts at {0} m³/s: give its pressure at no flow as the first point")]
    NoShutOff(f64),
    /// The pump gains nothing.
    #[error("the pump gains {0} Pa at no flow: expected more than 0")]
    NoGain(f64),
    /// A point lies below zero.
    #[error("point {index} of the pump curve is at {gain_pa} Pa: end the curve at 0, where the pump gains nothing")]
    BelowZero {
        /// Which point, from 0.
        index: usize,
        /// Its gain in Pa.
        gain_pa: f64,
    },
    /// Three points on no curve of the usual shape.
    #[error("the three points do not fall steadily ({0}, {1}, {2} Pa): expected each below the one before")]
    NotFalling(f64, f64, f64),
    /// The speed is out of range.
    #[error("speed of {0}: expected 0 (off) or {min} to {max} of full speed", min = Pump::SPEEDS.0, max = Pump::SPEEDS.1)]
    Speed(f64),
    /// The band is upside down.
    #[error("band from {low} to {high} of the gain: expected 0 to 1 and 1 or more", low = .0.low, high = .0.high)]
    Band(Band),
}

impl Pump {
    /// Speeds, as shares of full speed, at which a running pump still follows the affinity laws.
    pub const SPEEDS: (f64, f64) = (0.1, 1.5);

    /// A pump by a table of (flow in m³/s, gain in Pa), from no flow on, the gain never rising.
    ///
    /// # Errors
    /// Fewer than two points, points out of order or rising, a first point with flow, or a gain below zero.
    pub fn table(points: &[(f64, f64)]) -> Result<Self, PumpError> {
        let curve = MonotoneCurve::new(points.to_vec(), Trend::Falling)?;
        let &[(first_flow, shut_off), .., (last_flow, _)] = curve.points() else {
            return Err(CurveError::TooFew(points.len(), 2).into());
        };
        Self::check_ends(first_flow, shut_off)?;
        if let Some((index, &(_, gain_pa))) = points.iter().enumerate().find(|(_, point)| point.1 < 0.0) {
            return Err(PumpError::BelowZero { index, gain_pa });
        }
        Ok(Self { curve: Curve::Table(curve), shut_off, last_flow, speed: 1.0, band: Band::EXACT })
    }

    /// A pump by three points of (flow in m³/s, gain in Pa): no flow, ordinary flow, large flow.
    ///
    /// The curve through them is `H0 - a Qⁿ`, the usual one where no more is known; three points of a parabola give
    /// that parabola back.
    ///
    /// # Errors
    /// Points out of order, not falling, or a first point with flow.
    pub fn three_points(points: [(f64, f64); 3]) -> Result<Self, PumpError> {
        MonotoneCurve::new(points.to_vec(), Trend::Falling)?;
        let [(first_flow, shut_off), (flow, gain), (large_flow, least)] = points;
        Self::check_ends(first_flow, shut_off)?;
        if least < 0.0 {
            return Err(PumpError::BelowZero { index: 2, gain_pa: least });
        }
        if !(shut_off > gain && gain > least) {
            return Err(PumpError::NotFalling(shut_off, gain, least));
        }
        let power = ((shut_off - least) / (shut_off - gain)).ln() / (large_flow / flow).ln();
        let factor = (shut_off - least) / large_flow.powf(power);
        let last_flow = (shut_off / factor).powf(1.0 / power);
        Ok(Self { curve: Curve::Power { factor, power }, shut_off, last_flow, speed: 1.0, band: Band::EXACT })
    }

    fn check_ends(first_flow: f64, shut_off: f64) -> Result<(), PumpError> {
        if first_flow != 0.0 {
            return Err(PumpError::NoShutOff(first_flow));
        }
        if shut_off <= 0.0 {
            return Err(PumpError::NoGain(shut_off));
        }
        Ok(())
    }

    /// The same pump at a share of its full speed; 0 is off, when it only resists.
    ///
    /// # Errors
    /// A speed outside [`Pump::SPEEDS`] other than 0.
    pub fn with_speed(self, speed: f64) -> Result<Self, PumpError> {
        if speed == 0.0 || (Self::SPEEDS.0..=Self::SPEEDS.1).contains(&speed) {
            Ok(Self { speed, ..self })
        } else {
            Err(PumpError::Speed(speed))
        }
    }

    /// The same pump with a stated uncertainty of its gain; none when left out.
    ///
    /// # Errors
    /// Factors that do not enclose 1.
    pub fn with_band(self, band: Band) -> Result<Self, PumpError> {
        if band.is_valid() { Ok(Self { band, ..self }) } else { Err(PumpError::Band(band)) }
    }

    /// Whether it runs.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.speed > 0.0
    }

    /// Gain at no flow at its speed, in Pa.
    #[must_use]
    pub fn shut_off_pa(&self) -> f64 {
        self.shut_off * self.speed * self.speed
    }

    /// Flow at which its curve ends at its speed, in m³/s: what it moves against nothing, if the curve goes so far.
    #[must_use]
    pub fn last_flow_m3_s(&self) -> f64 {
        self.last_flow * self.speed
    }

    /// Pressure gained, in Pa.
    #[must_use]
    pub fn gain_pa(&self, flow_m3_s: f64) -> f64 {
        -self.loss(flow_m3_s, Side::Likely).pa
    }

    /// The gain as a negative loss, with its slope; the high side is the weak pump.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, side: Side) -> Loss {
        let factor = match side {
            Side::Low => self.band.high,
            Side::Likely => 1.0,
            Side::High => self.band.low,
        };
        if self.speed == 0.0 {
            // The parabola's own limit as the speed goes to nothing.
            let per_flow = self.shut_off / (self.last_flow * self.last_flow) * flow_m3_s.abs();
            return Loss { pa: per_flow * flow_m3_s, slope: 2.0 * per_flow };
        }
        let (gain, slope) = self.full_speed(flow_m3_s / self.speed);
        let scaled = Loss { pa: -gain * self.speed * self.speed, slope: -slope * self.speed };
        if scaled.pa < 0.0 { scaled.times(factor) } else { scaled }
    }

    /// Gain and its slope at full speed.
    fn full_speed(&self, flow: f64) -> (f64, f64) {
        let parabola = self.shut_off / (self.last_flow * self.last_flow);
        if flow < 0.0 {
            return (self.shut_off + parabola * flow * flow, 2.0 * parabola * flow);
        }
        match &self.curve {
            Curve::Power { factor, power } => {
                let fall = factor * flow.powf(*power);
                let slope = if flow > 0.0 { -fall * power / flow } else { 0.0 };
                (self.shut_off - fall, slope)
            }
            Curve::Table(curve) => {
                let (gain, slope) = curve.at(flow);
                let beyond = (flow - self.last_flow).max(0.0);
                (gain + beyond * (slope.min(0.0) - parabola * beyond), slope - 2.0 * parabola * beyond)
            }
        }
    }
}
