//! How much hotter a part is than the coolant in it.

use crate::hydraulics::curve::{CurveError, MonotoneCurve, Trend};
use thiserror::Error;

/// Kelvin per watt from the hot side of a part to the mean temperature of the coolant in it, constant or by flow.
#[derive(Clone, Debug, PartialEq)]
pub struct Resistance {
    /// By the flow in m³/s; a constant has one height.
    curve: MonotoneCurve,
}

/// Why a resistance was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ResistanceError {
    /// The points are no curve.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// A resistance is not above zero.
    #[error("resistance of {0} K/W: expected more than 0")]
    NotPositive(f64),
}

impl Resistance {
    /// The same at any flow, in K/W.
    ///
    /// # Errors
    /// A resistance that is not above zero.
    pub fn constant(k_w: f64) -> Result<Self, ResistanceError> {
        Self::table(&[(0.0, k_w), (1.0, k_w)])
    }

    /// Measured points of flow in m³/s and K/W, the resistance never growing with the flow; beyond them it stays as at the
    /// nearest.
    ///
    /// # Errors
    /// Fewer than two points, points out of order or rising, or a resistance that is not above zero.
    pub fn table(points: &[(f64, f64)]) -> Result<Self, ResistanceError> {
        if let Some(&(_, k_w)) = points.iter().find(|(_, k_w)| !(*k_w > 0.0 && k_w.is_finite())) {
            return Err(ResistanceError::NotPositive(k_w));
        }
        Ok(Self { curve: MonotoneCurve::new(points.to_vec(), Trend::Falling)? })
    }

    /// K/W at a flow in m³/s, either way.
    #[must_use]
    pub fn k_w(&self, flow_m3_s: f64) -> f64 {
        self.curve.at(flow_m3_s.abs()).0
    }
}
