//! Pumps by their curve.

use super::{
    Coolant,
    curve::{CurveError, MonotoneCurve, Trend},
    loss::{Band, Loss, Side},
};
use thiserror::Error;

/// A pump: the pressure it gains at each flow.
///
/// At another speed its curve moves by the affinity laws: flow with the speed, pressure with its square. Against a
/// flow forced through it backwards it gains more than at rest; beyond its last point it becomes a resistance. Both
/// are continued as parabolas, so that the gain falls with flow everywhere.
///
/// Makers give curves for water. With a thicker coolant a pump moves less: see [`Pump::measured_with`].
#[derive(Clone, Debug, PartialEq)]
pub struct Pump {
    curve: Curve,
    /// Gain at no flow at full speed, in Pa.
    shut_off: f64,
    /// Flow at which the given curve ends or gains nothing, at full speed, in m³/s.
    last_flow: f64,
    /// Flow and gain where their product is largest, at full speed.
    best: (f64, f64),
    speed: f64,
    measured_with: Option<Coolant>,
    band: Band,
    flow_band: Band,
}

/// What a pump that is off resists is no more than an estimate from its curve: a judgement.
const OFF_BAND: Band = Band { low: 0.5, high: 2.0 };

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
        Ok(Self::of(Curve::Table(curve), shut_off, last_flow))
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
        Ok(Self::of(Curve::Power { factor, power }, shut_off, last_flow))
    }

    fn of(curve: Curve, shut_off: f64, last_flow: f64) -> Self {
        const STEPS: u32 = 200;
        let [band, flow_band] = [Band::EXACT; 2];
        let best = (0.0, shut_off);
        let mut pump = Self { curve, shut_off, last_flow, best, speed: 1.0, measured_with: None, band, flow_band };
        let flows = (1..=STEPS).map(|step| last_flow * f64::from(step) / f64::from(STEPS));
        let points = flows.map(|flow| (flow, pump.full_speed(flow).0));
        pump.best = points.max_by(|a, b| (a.0 * a.1).total_cmp(&(b.0 * b.1))).unwrap_or(best);
        pump
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

    /// The same pump with a stated uncertainty of its gain, and of the flow at which it has it; none when left out. A
    /// weak pump is weak in both.
    ///
    /// # Errors
    /// Factors that do not enclose 1.
    pub fn with_bands(self, gain: Band, flow: Band) -> Result<Self, PumpError> {
        match [gain, flow].into_iter().find(|band| !band.is_valid()) {
            Some(band) => Err(PumpError::Band(band)),
            None => Ok(Self { band: gain, flow_band: flow, ..self }),
        }
    }

    /// The same pump, the coolant of its curve stated: with another the curve is corrected for the viscosity, as far as
    /// a simple rule can.
    ///
    /// The rule is that of ANSI/HI 9.6.7 (from memory): from `B = 16.5 ν^0.5 H^0.0625 / (Q^0.375 N^0.25)`, with ν in cSt,
    /// H in m, Q in m³/h where flow times gain is largest, it makes flows smaller by `C = 2.71^(-0.165 (log B)^3.15)` and
    /// gains by 1 at no flow to C at Q; here linearly, and by the quotient of the two coolants' C. Pumps of this trade
    /// are smaller than any it was made for, and their speed N is not stated: 4,000 a minute is taken, which matters
    /// little. So the correction is itself in doubt by all its size: with the strongest pump there is none, with the
    /// weakest twice as much.
    #[must_use]
    pub fn measured_with(self, coolant: Coolant) -> Self {
        Self { measured_with: Some(coolant), ..self }
    }

    /// What its shaft may take at its speed, in W, where nobody says: the hydraulic power at the best point of the curve by
    /// an efficiency of 30 %, a judgement for pumps of this size; with the cube of the speed.
    #[must_use]
    pub fn likely_shaft_w(&self) -> f64 {
        const EFFICIENCY: f64 = 0.3;
        self.best.0 * self.best.1 / EFFICIENCY * self.speed.powi(3)
    }

    /// Its speed as a share of full speed.
    #[must_use]
    pub fn speed(&self) -> f64 {
        self.speed
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
    pub fn gain_pa(&self, flow_m3_s: f64, coolant: &Coolant) -> f64 {
        -self.loss(flow_m3_s, coolant, Side::Likely).pa
    }

    /// The gain as a negative loss, with its slope; the high side is the weak pump.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(super) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        if self.speed == 0.0 {
            // The parabola's own limit as the speed goes to nothing.
            let per_flow = self.shut_off / (self.last_flow * self.last_flow) * flow_m3_s.abs();
            return Loss { pa: per_flow * flow_m3_s, slope: 2.0 * per_flow }.times(OFF_BAND.factor_at(place));
        }
        let slowed = self.slowed(coolant, place);
        let flow_scale = self.speed * self.flow_band.factor_at(-place) * slowed;
        let flow = flow_m3_s / flow_scale;
        let (gain, slope) = self.full_speed(flow);
        let (mut kept, mut falls) = (1.0, 0.0);
        if slowed != 1.0 {
            let per_flow = (1.0 - slowed) / self.best.0;
            kept -= per_flow * flow.clamp(0.0, self.last_flow);
            falls = if (0.0..self.last_flow).contains(&flow) { per_flow * gain } else { 0.0 };
        }
        let square = self.speed * self.speed;
        let corrected = Loss { pa: -gain * kept * square, slope: -(slope * kept - falls) * square / flow_scale };
        let doubted = if corrected.pa < 0.0 { corrected.times(self.band.factor_at(-place)) } else { corrected };
        doubted.finite()
    }

    /// By how much the viscosity reduces its flows, as a factor.
    fn slowed(&self, coolant: &Coolant, place: f64) -> f64 {
        let Some(measured) = self.measured_with.filter(|measured| measured != coolant) else { return 1.0 };
        let factor = |coolant: &Coolant| {
            const SPEED_PER_MIN: f64 = 4000.0;
            const GRAVITY: f64 = 9.806_65;
            let (flow_m3_h, head_m) = (self.best.0 * 3600.0, self.best.1 / (measured.density_kg_m3 * GRAVITY));
            let centistokes = coolant.kinematic_m2_s() * 1e6;
            let size = flow_m3_h.powf(0.375) * SPEED_PER_MIN.powf(0.25);
            let b = 16.5 * centistokes.sqrt() * head_m.powf(0.0625) / size;
            // The rule ends at 40, where half is left.
            2.71_f64.powf(-0.165 * b.clamp(1.0, 40.0).log10().powf(3.15))
        };
        let likely = factor(coolant) / factor(&measured);
        let place = place.clamp(-1.0, 1.0);
        likely.powf(if likely < 1.0 { 1.0 + place } else { 1.0 - place })
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
