//! Friction of a straight round bore.
//!
//! The factor is Churchill's of 1977, one equation for laminar, transitional and turbulent flow. The flows of
//! this trade lie across transition, where the usual pair of a laminar and a turbulent equation jumps by half
//! its value at one Reynolds number: a solver would then have no answer, or two. Churchill's is smooth, its loss
//! grows with flow everywhere, and outside the transition it agrees with 64/Re and with Colebrook within a few
//! percent.
//!
//! What it gives between 2,000 and 4,000 is a likely value; behind a bend the flow is turbulent earlier, in a long
//! straight and still bore later. The band says so: its high side is turbulent as early as the equations allow,
//! from about 1,000, and its low side stays laminar until about 3,200. Outside the transition the band is ±5 %,
//! the scatter of such equations among each other.

use super::{
    Coolant,
    loss::{Band, Loss, both_ways},
};
use std::f64::consts::PI;

/// Roughness of drawn tube and smooth machined bores in metres: 1.5 µm, the "drawn tubing" of Moody's chart.
pub const DRAWN_ROUGHNESS_M: f64 = 1.5e-6;

/// Largest roughness over bore that is accepted: Moody's chart ends there, and beyond it "bore" has no meaning.
pub const MAX_RELATIVE_ROUGHNESS: f64 = 0.05;

/// How far equations of the friction factor differ outside the transition.
pub const BAND: Band = Band::plus_minus(0.05);

/// Churchill's constant of where transition begins.
const TRANSITION: f64 = 37_530.0;

/// The same constant for a flow that stays laminar to about 3,200, the low side of the band.
const LATE_TRANSITION: f64 = 60_000.0;

/// Below this Reynolds number Churchill's equation equals 64/Re to the last bit of an `f64`.
const PURELY_LAMINAR: f64 = 300.0;

/// What kind of flow a Reynolds number means in a straight bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Regime {
    /// Below 2,000: layers slide on each other; the loss grows with the flow.
    Laminar,
    /// From 2,000 to 4,000: either, or both by turns; the loss is least certain here.
    Transition,
    /// Above 4,000: the loss grows almost with the square of the flow.
    Turbulent,
}

impl Regime {
    /// The regime at a Reynolds number.
    #[must_use]
    pub fn of(reynolds: f64) -> Self {
        if reynolds < 2000.0 {
            Self::Laminar
        } else if reynolds <= 4000.0 {
            Self::Transition
        } else {
            Self::Turbulent
        }
    }
}

impl std::fmt::Display for Regime {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Laminar => "laminar",
            Self::Transition => "transition",
            Self::Turbulent => "turbulent",
        })
    }
}

/// Darcy friction factor of Churchill (1977) from the Reynolds number and roughness over bore.
///
/// Source: S. W. Churchill, "Friction-factor equation spans all fluid-flow regimes", Chemical Engineering,
/// 7 November 1977, pages 91-92. Infinite at a Reynolds number of zero: use [`loss_pa`], which is not.
#[must_use]
pub fn churchill(reynolds: f64, relative_roughness: f64) -> f64 {
    blended(reynolds, relative_roughness, TRANSITION).value
}

/// Pressure lost to friction, in Pa, with the sign of the flow.
///
/// Zero at zero flow, continuous, odd, and growing with flow. A loss too large for an `f64` is returned as
/// [`f64::MAX`].
#[must_use]
pub fn loss_pa(flow_m3_s: f64, bore_m: f64, length_m: f64, roughness_m: f64, coolant: &Coolant) -> f64 {
    both_ways(flow_m3_s, |flow| {
        let at = InBore::new(flow, bore_m, coolant);
        at.friction(length_m, roughness_m, 0.0, &mut Met::default())
    })
    .pa
}

/// Mean velocity in m/s of a flow through a round bore.
#[must_use]
pub fn velocity_m_s(flow_m3_s: f64, bore_m: f64) -> f64 {
    flow_m3_s / (0.25 * PI * bore_m * bore_m)
}

/// Half density times velocity squared, in Pa: what a loss coefficient is multiplied by.
#[must_use]
pub fn dynamic_pressure_pa(velocity_m_s: f64, coolant: &Coolant) -> f64 {
    0.5 * coolant.density_kg_m3 * velocity_m_s * velocity_m_s
}

/// A flow of 0 or more in a bore, with what every loss law needs of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct InBore {
    pub(super) flow: f64,
    pub(super) bore: f64,
    pub(super) reynolds: f64,
    /// ½ρv², in Pa.
    dynamic: f64,
    /// Derivative of a loss of `½ρv²/Re`, which is linear in flow: µ / (2 D A), in Pa per m³/s.
    viscous: f64,
}

impl InBore {
    pub(super) fn new(flow: f64, bore: f64, coolant: &Coolant) -> Self {
        let velocity = velocity_m_s(flow, bore);
        Self {
            flow,
            bore,
            reynolds: coolant.reynolds(velocity, bore),
            dynamic: dynamic_pressure_pa(velocity, coolant),
            viscous: 0.5 * coolant.viscosity_pa_s / bore / (0.25 * PI * bore * bore),
        }
    }

    /// The loss of a coefficient `k1/Re + k`; the laminar part is taken apart so that zero flow gives zero.
    pub(super) fn coefficient(&self, k1: f64, k: f64) -> Loss {
        let linear = Loss { pa: k1 * self.viscous * self.flow, slope: k1 * self.viscous };
        if k == 0.0 { linear } else { linear.plus(self.factor(Factor { value: k, elasticity: 0.0 })) }
    }

    /// The loss of a coefficient that varies with the Reynolds number; needs a flow above zero.
    pub(super) fn factor(&self, factor: Factor) -> Loss {
        if self.flow == 0.0 {
            return Loss::default();
        }
        let pa = factor.value * self.dynamic;
        Loss { pa, slope: pa * (2.0 + factor.elasticity) / self.flow }
    }

    /// The loss of a straight length; `place` is where in the doubt, as in [`Stance`](super::doubt::Stance).
    pub(super) fn friction(&self, length: f64, roughness: f64, place: f64, met: &mut Met) -> Loss {
        let diameters = length / self.bore;
        let mut by = |law| {
            if self.reynolds < PURELY_LAMINAR {
                return self.coefficient(64.0 * diameters, 0.0);
            }
            let factor = met.factor(self.reynolds, roughness / self.bore, law);
            self.factor(Factor { value: factor.value * diameters, ..factor })
        };
        if place == 0.0 {
            return by(Law::Churchill);
        }
        let end = by(if place > 0.0 { Law::Soon } else { Law::Late });
        if place.abs() >= 1.0 {
            return end.times(BAND.factor_at(place));
        }
        let there = place.abs();
        by(Law::Churchill).times(1.0 - there).plus(end.times(there * BAND.factor_at(place.signum())))
    }
}

/// A coefficient at one Reynolds number and its elasticity: by how many percent it grows when the flow grows by
/// one percent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Factor {
    pub(super) value: f64,
    pub(super) elasticity: f64,
}

/// Which law gives a friction factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Law {
    /// Churchill's.
    Churchill,
    /// The same with the transition as late as it may come.
    Late,
    /// Turbulent as soon as the equations allow.
    Soon,
}

/// The friction factors met last. Fittings in a row have one flow and few bores between them, and the powers in a
/// factor cost more than everything else in a loss.
#[derive(Debug, Default)]
pub(super) struct Met {
    /// Reynolds number, relative roughness, law and factor.
    recent: [Option<(f64, f64, Law, Factor)>; 4],
    next: usize,
}

impl Met {
    /// The factor at a Reynolds number above zero.
    pub(super) fn factor(&mut self, reynolds: f64, relative_roughness: f64, law: Law) -> Factor {
        let same = |&(at, rough, by, _): &(f64, f64, Law, Factor)| {
            at.to_bits() == reynolds.to_bits() && rough.to_bits() == relative_roughness.to_bits() && by == law
        };
        if let Some((.., factor)) = self.recent.iter().flatten().find(|known| same(known)) {
            return *factor;
        }
        let factor = match law {
            Law::Churchill => blended(reynolds, relative_roughness, TRANSITION),
            Law::Late => blended(reynolds, relative_roughness, LATE_TRANSITION),
            Law::Soon => soon_turbulent(reynolds, relative_roughness),
        };
        self.recent[self.next] = Some((reynolds, relative_roughness, law, factor));
        self.next = (self.next + 1) % self.recent.len();
        factor
    }
}

/// Churchill's equation with a given constant of transition.
pub(super) fn blended(reynolds: f64, relative_roughness: f64, transition: f64) -> Factor {
    if reynolds < PURELY_LAMINAR {
        return Factor { value: 64.0 / reynolds, elasticity: -1.0 };
    }
    let smooth = (7.0 / reynolds).powf(0.9);
    let inside = smooth + 0.27 * relative_roughness;
    let root = -2.457 * inside.ln();
    let (turbulent, bridge) = (root.powi(16), (transition / reynolds).powi(16));
    let sum = turbulent + bridge;
    let sum_term = 1.0 / (sum * sum.sqrt());
    let laminar_term = (8.0 / reynolds).powi(12);
    let twelfth_power = laminar_term + sum_term;

    let turbulent_growth = 16.0 * 2.457 * 0.9 * smooth / (inside * root);
    let sum_growth = (turbulent * turbulent_growth - 16.0 * bridge) / sum;
    let elasticity = (-12.0 * laminar_term - 1.5 * sum_term * sum_growth) / (12.0 * twelfth_power);
    Factor { value: 8.0 * twelfth_power.cbrt().sqrt().sqrt(), elasticity }
}

/// The larger of 64/Re and the turbulent branch of Churchill's equation: turbulent as soon as the equations allow.
pub(super) fn soon_turbulent(reynolds: f64, relative_roughness: f64) -> Factor {
    /// Where 64/Re falls below the turbulent branch in a smooth bore; below, that branch means nothing.
    const LEAST: f64 = 900.0;
    let at = reynolds.max(LEAST);
    let smooth = (7.0 / at).powf(0.9);
    let inside = smooth + 0.27 * relative_roughness;
    let log = inside.ln();
    let turbulent = 8.0 / (2.457 * log).powi(2);
    if 64.0 > turbulent * reynolds {
        Factor { value: 64.0 / reynolds, elasticity: -1.0 }
    } else {
        let elasticity = if reynolds < LEAST { 0.0 } else { 1.8 * smooth / (inside * log) };
        Factor { value: turbulent, elasticity }
    }
}
