//! Friction of a straight round bore.
//!
//! The factor is Churchill's of 1977, one equation for laminar, transitional and turbulent flow. The flows of
//! this trade lie across transition, where the usual pair of a laminar and a turbulent equation jumps by half
//! its value at one Reynolds number: a solver would then have no answer, or two. Churchill's is smooth, its loss
//! grows with flow everywhere, and outside the transition it agrees with 64/Re and with Colebrook within a few
//! percent. What it gives between 2,000 and 4,000 is a likely value; the real flow there may flicker between both.

use super::Coolant;
use std::f64::consts::PI;

/// Roughness of drawn tube and smooth machined bores in metres: 1.5 µm, the "drawn tubing" of Moody's chart.
pub const DRAWN_ROUGHNESS_M: f64 = 1.5e-6;

/// Largest roughness over bore that is accepted: Moody's chart ends there, and beyond it "bore" has no meaning.
pub const MAX_RELATIVE_ROUGHNESS: f64 = 0.05;

/// Below this Reynolds number Churchill's equation equals 64/Re to the last bit of an `f64`.
const PURELY_LAMINAR: f64 = 300.0;

/// Darcy friction factor of Churchill (1977) from the Reynolds number and roughness over bore.
///
/// Source: S. W. Churchill, "Friction-factor equation spans all fluid-flow regimes", Chemical Engineering,
/// 7 November 1977, pages 91-92. Infinite at a Reynolds number of zero: use [`loss_pa`], which is not.
#[must_use]
pub fn churchill(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds < PURELY_LAMINAR {
        return 64.0 / reynolds;
    }
    let turbulent = (-2.457 * ((7.0 / reynolds).powf(0.9) + 0.27 * relative_roughness).ln()).powi(16);
    let bridge = (37_530.0 / reynolds).powi(16);
    let sum = turbulent + bridge;
    let twelfth_power = (8.0 / reynolds).powi(12) + 1.0 / (sum * sum.sqrt());
    8.0 * twelfth_power.cbrt().sqrt().sqrt()
}

/// Mean velocity in m/s of a flow through a round bore.
#[must_use]
pub fn velocity_m_s(flow_m3_s: f64, bore_m: f64) -> f64 {
    flow_m3_s / (0.25 * PI * bore_m * bore_m)
}

/// Pressure lost to friction, in Pa, with the sign of the flow.
///
/// Zero at zero flow, continuous, odd, and growing with flow. A loss too large for an `f64` is returned as
/// [`f64::MAX`].
#[must_use]
pub fn loss_pa(flow_m3_s: f64, bore_m: f64, length_m: f64, roughness_m: f64, coolant: &Coolant) -> f64 {
    let velocity = velocity_m_s(flow_m3_s.abs(), bore_m);
    let reynolds = coolant.reynolds(velocity, bore_m);
    let loss = if reynolds < PURELY_LAMINAR {
        32.0 * coolant.viscosity_pa_s * velocity * length_m / (bore_m * bore_m)
    } else {
        churchill(reynolds, roughness_m / bore_m) * length_m / bore_m * dynamic_pressure_pa(velocity, coolant)
    };
    with_sign_of(flow_m3_s, loss)
}

/// Half density times velocity squared, in Pa: what a loss coefficient is multiplied by.
#[must_use]
pub fn dynamic_pressure_pa(velocity_m_s: f64, coolant: &Coolant) -> f64 {
    0.5 * coolant.density_kg_m3 * velocity_m_s * velocity_m_s
}

/// Gives a loss the sign of the flow and keeps it finite: an overflow of absurd input must not become a `NaN`
/// that a comparison further on would silently swallow.
pub(super) fn with_sign_of(flow_m3_s: f64, loss_pa: f64) -> f64 {
    if flow_m3_s == 0.0 {
        return 0.0;
    }
    let finite = if loss_pa.is_finite() { loss_pa } else { f64::MAX };
    finite.copysign(flow_m3_s)
}
