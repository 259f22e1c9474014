//! Components that are known by measurement rather than by their insides: radiators, blocks, filters, flow meters.

use super::{
    Coolant,
    curve::{CurveError, MonotoneCurve, Trend},
    loss::{Band, Loss, Side, both_ways},
};
use thiserror::Error;

/// A component by measured points of flow and loss.
///
/// Between the points a smooth curve that never turns; beyond the last, the power of the flow at which the table
/// ends, held between 1 and 2. For a flow the other way the same loss.
#[derive(Clone, Debug, PartialEq)]
pub struct LossTable {
    curve: MonotoneCurve,
    /// The last point and the power of the flow beyond it.
    last: (f64, f64),
    power: f64,
    /// Least and largest flow that the points speak for.
    range: (f64, f64),
    measured_with: Option<Coolant>,
    band: Band,
}

/// Why a component was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ComponentError {
    /// The table is no curve.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// A flow or loss in the table is not above zero.
    #[error(
        "point {index} is ({flow_m3_s} m³/s, {loss_pa} Pa): expected both above 0; zero flow loses nothing by itself"
    )]
    Point {
        /// Which point, from 0.
        index: usize,
        /// Its flow in m³/s.
        flow_m3_s: f64,
        /// Its loss in Pa.
        loss_pa: f64,
    },
    /// A law of one point is out of range.
    #[error("loss with a power of {0} of the flow: expected 1 (laminar) to 2 (turbulent)")]
    Power(f64),
    /// The band is upside down.
    #[error("band from {low} to {high} of the likely value: expected 0 to 1 and 1 or more", low = .0.low, high = .0.high)]
    Band(Band),
    /// What a part holds back is negative.
    #[error("opening pressure of {0} Pa: expected 0 or more")]
    Opening(f64),
}

impl LossTable {
    /// A component measured at one or more points of (flow in m³/s, loss in Pa), in order of flow; the point of no
    /// flow and no loss is understood.
    ///
    /// # Errors
    /// No point, a point not above zero, or points out of order.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, ComponentError> {
        for (index, &(flow_m3_s, loss_pa)) in points.iter().enumerate() {
            if !(flow_m3_s > 0.0 && loss_pa > 0.0) {
                return Err(ComponentError::Point { index, flow_m3_s, loss_pa });
            }
        }
        let Some(&last) = points.last() else {
            return Err(CurveError::TooFew(0, 1).into());
        };
        if let [only] = points {
            // One point says nothing of the shape; turbulent is the likely one and errs little around the point.
            let halfway = (0.5 * only.0, 0.25 * only.1);
            let range = (AROUND_A_POINT.0 * only.0, AROUND_A_POINT.1 * only.0);
            return Ok(Self { range, ..Self::new(&[halfway, *only])? });
        }
        let with_rest = std::iter::once((0.0, 0.0)).chain(points.iter().copied()).collect();
        let curve = MonotoneCurve::new(with_rest, Trend::Rising)?;
        let (loss, slope) = curve.at(last.0);
        let power = (slope * last.0 / loss).clamp(1.0, 2.0);
        let range = (points[0].0, last.0);
        Ok(Self { curve, last, power, range, measured_with: None, band: Band::EXACT })
    }

    /// The same component, the coolant it was measured with stated: for another coolant the table is then read at the
    /// same Reynolds number and scaled to it.
    #[must_use]
    pub fn measured_with(self, coolant: Coolant) -> Self {
        Self { measured_with: Some(coolant), ..self }
    }

    /// The same component with a stated uncertainty; none when left out.
    ///
    /// # Errors
    /// Factors that do not enclose 1.
    pub fn with_band(self, band: Band) -> Result<Self, ComponentError> {
        if band.is_valid() { Ok(Self { band, ..self }) } else { Err(ComponentError::Band(band)) }
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(super) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        let (flow_scale, pressure_scale) = scales(self.measured_with.as_ref(), coolant);
        both_ways(flow_m3_s, |flow| {
            let equal_flow = flow * flow_scale;
            let (pa, slope) = if equal_flow > self.last.0 {
                let pa = self.last.1 * (equal_flow / self.last.0).powf(self.power);
                (pa, pa * self.power / equal_flow)
            } else {
                self.curve.at(equal_flow)
            };
            Loss { pa: pa * pressure_scale, slope: slope * pressure_scale * flow_scale }
        })
        .times(self.band.factor_at(place))
    }

    /// The flows of this coolant, in m³/s, that have the Reynolds numbers of the measured points; around a single point
    /// from half to twice its flow, as far as one point can be trusted.
    #[must_use]
    pub fn measured_m3_s(&self, coolant: &Coolant) -> (f64, f64) {
        let scale = scales(self.measured_with.as_ref(), coolant).0;
        (self.range.0 / scale, self.range.1 / scale)
    }
}

/// Flow and pressure scale between a coolant and the one that something was measured with, at equal Reynolds numbers.
fn scales(measured_with: Option<&Coolant>, coolant: &Coolant) -> (f64, f64) {
    measured_with.map_or((1.0, 1.0), |measured| {
        let ratio = coolant.kinematic_m2_s() / measured.kinematic_m2_s();
        (1.0 / ratio, coolant.density_kg_m3 / measured.density_kg_m3 * ratio * ratio)
    })
}

/// How far a law through one point can be trusted, as factors on its flow: a judgement.
const AROUND_A_POINT: (f64, f64) = (0.5, 2.0);

/// A loss in proportion to a power of the flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    flow_m3_s: f64,
    loss_pa: f64,
    power: f64,
    measured_with: Option<Coolant>,
    band: Band,
}

impl Coefficient {
    /// A loss known at one flow that grows with the square of the flow.
    ///
    /// # Errors
    /// A flow or loss not above zero.
    pub fn square(flow_m3_s: f64, loss_pa: f64) -> Result<Self, ComponentError> {
        Self::power(flow_m3_s, loss_pa, 2.0)
    }

    /// A loss known at one flow that grows with a power of the flow, from 1 to 2.
    ///
    /// # Errors
    /// A flow or loss not above zero, or another power.
    pub fn power(flow_m3_s: f64, loss_pa: f64, power: f64) -> Result<Self, ComponentError> {
        let positive = |value: f64| value > 0.0 && value.is_finite();
        if !(positive(flow_m3_s) && positive(loss_pa)) {
            return Err(ComponentError::Point { index: 0, flow_m3_s, loss_pa });
        }
        if !(1.0..=2.0).contains(&power) {
            return Err(ComponentError::Power(power));
        }
        Ok(Self { flow_m3_s, loss_pa, power, measured_with: None, band: Band::EXACT })
    }

    /// The same loss with a stated uncertainty; none when left out.
    ///
    /// # Errors
    /// Factors that do not enclose 1.
    pub fn with_band(self, band: Band) -> Result<Self, ComponentError> {
        if band.is_valid() { Ok(Self { band, ..self }) } else { Err(ComponentError::Band(band)) }
    }

    /// The same loss, the coolant it was measured with stated; see [`LossTable::measured_with`]. With the square of the
    /// flow it then changes with the density alone, with its first power with the viscosity alone.
    #[must_use]
    pub fn measured_with(self, coolant: Coolant) -> Self {
        Self { measured_with: Some(coolant), ..self }
    }

    /// As [`LossTable::measured_m3_s`].
    #[must_use]
    pub fn measured_m3_s(&self, coolant: &Coolant) -> (f64, f64) {
        let at = self.flow_m3_s / scales(self.measured_with.as_ref(), coolant).0;
        (AROUND_A_POINT.0 * at, AROUND_A_POINT.1 * at)
    }

    /// Pressure lost at one end of its uncertainty, with its slope.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_at(flow_m3_s, coolant, side.place())
    }

    pub(super) fn loss_at(&self, flow_m3_s: f64, coolant: &Coolant, place: f64) -> Loss {
        let (flow_scale, pressure_scale) = scales(self.measured_with.as_ref(), coolant);
        both_ways(flow_m3_s, |flow| {
            let ratio = flow * flow_scale / self.flow_m3_s;
            let linear = if self.power == 2.0 { ratio } else { ratio.powf(self.power - 1.0) };
            let per_flow = self.loss_pa / self.flow_m3_s * linear * flow_scale * pressure_scale;
            Loss { pa: per_flow * flow, slope: per_flow * self.power }
        })
        .times(self.band.factor_at(place))
    }
}
