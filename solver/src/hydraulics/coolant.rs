//! What flows: density, viscosity and heat capacity from temperature.

use thiserror::Error;

/// A liquid at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coolant {
    /// Density in kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity in Pa s.
    pub viscosity_pa_s: f64,
    /// Specific heat capacity at constant pressure in J/(kg K).
    pub heat_capacity_j_kg_k: f64,
}

/// Why there are no properties for what was asked.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum CoolantError {
    /// The temperature lies where the fit was not made.
    #[error(
        "{coolant} at {celsius} °C is outside the fit, which holds from {from} to {to} °C: give a temperature in that range"
    )]
    Temperature {
        /// Which liquid.
        coolant: &'static str,
        /// What was asked, in °C.
        celsius: f64,
        /// Lowest temperature of the fit, in °C.
        from: f64,
        /// Highest temperature of the fit, in °C.
        to: f64,
    },
    /// There is more glycol in it than the fit was made for.
    #[error(
        "{percent} % of {glycol} by volume is outside the fit, which holds from 0 to {to} %: give a share in that range"
    )]
    Share {
        /// Which glycol.
        glycol: &'static str,
        /// What was asked, in percent by volume.
        percent: f64,
        /// Largest share of the fit, in percent by volume.
        to: f64,
    },
}

impl Coolant {
    /// Pure water at atmospheric pressure, from 0 to 95 °C.
    ///
    /// Source: IAPWS SR6-08(2011), *Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa*,
    /// equations 2 (density), 4 (heat capacity) and 7 (viscosity); stated uncertainty there: density 1 ppm to
    /// 10 ppm, heat capacity 0.1 %, viscosity 1 %. The coefficients were read from the open library iapws 1.5.5.
    /// Up to a few bar the error of taking 0.1 MPa is below 0.02 % in every property.
    ///
    /// # Errors
    /// Outside 0 to 95 °C: beyond, water at atmospheric pressure freezes or comes close to boiling in a pump.
    pub fn water(celsius: f64) -> Result<Self, CoolantError> {
        let (from, to) = (0.0, 95.0);
        if !(from..=to).contains(&celsius) {
            return Err(CoolantError::Temperature { coolant: "water", celsius, from, to });
        }
        let kelvin = celsius + 273.15;
        Ok(Self {
            density_kg_m3: water_density(kelvin),
            viscosity_pa_s: water_viscosity(kelvin),
            heat_capacity_j_kg_k: water_heat_capacity(kelvin),
        })
    }

    /// Kinematic viscosity in m²/s.
    #[must_use]
    pub fn kinematic_m2_s(&self) -> f64 {
        self.viscosity_pa_s / self.density_kg_m3
    }

    /// Reynolds number of a flow in a round bore; the direction of the flow does not matter.
    #[must_use]
    pub fn reynolds(&self, velocity_m_s: f64, bore_m: f64) -> f64 {
        self.density_kg_m3 * velocity_m_s.abs() * bore_m / self.viscosity_pa_s
    }

    /// How many kelvin a flow warms when it takes up a heat load in watts; `None` when nothing flows.
    #[must_use]
    pub fn temperature_rise_k(&self, heat_w: f64, flow_m3_s: f64) -> Option<f64> {
        let per_kelvin = self.density_kg_m3 * self.heat_capacity_j_kg_k * flow_m3_s.abs();
        (per_kelvin > 0.0).then(|| heat_w / per_kelvin)
    }
}

/// Specific gas constant of the release in J/(kg K).
const R: f64 = 461.518_05;
/// The temperature the release divides by, in K.
const T_R: f64 = 10.0;
/// The pressure of the release in Pa.
const P_0: f64 = 1e5;

/// SR6-08 equation 2: specific volume as two sums of powers, one growing towards 593 K, one towards 232 K.
fn water_density(kelvin: f64) -> f64 {
    const A: [(f64, i32); 5] =
        [(6.744_584_46e3, 4), (-2.225_216_04e5, 5), (1.002_312_47e8, 7), (-1.635_521_18e9, 8), (8.322_996_58e9, 9)];
    const B: [(f64, i32); 6] = [
        (5.785_452_92e-3, 1),
        (-1.531_956_65e-2, 2),
        (3.113_378_59e-2, 3),
        (-4.235_462_41e-2, 4),
        (3.387_135_07e-2, 5),
        (-1.199_467_61e-2, 6),
    ];
    let (alpha, beta) = (T_R / (593.0 - kelvin), T_R / (kelvin - 232.0));
    let sum = 1.937_631_57e-2 + powers(&A, alpha) + powers(&B, beta);
    P_0 / (R * T_R * sum)
}

/// SR6-08 equation 4, the second derivative of its Gibbs energy.
fn water_heat_capacity(kelvin: f64) -> f64 {
    const C_3: f64 = -8.983_025_854;
    const A: [(f64, i32); 3] = [(-1.661_470_539e5, 4), (2.708_781_640e6, 5), (-1.557_191_544e8, 7)];
    const B: [(f64, i32); 4] = [(-8.237_426_256e-1, 2), (1.908_956_353, 3), (-2.017_597_384, 4), (8.546_361_348e-1, 5)];
    let (alpha, beta) = (T_R / (593.0 - kelvin), T_R / (kelvin - 232.0));
    let curvature = |terms: &[(f64, i32)], x: f64| -> f64 {
        terms.iter().map(|&(c, n)| f64::from(n * (n + 1)) * c * x.powi(n + 2)).sum()
    };
    -R * (C_3 + kelvin / T_R * (curvature(&A, alpha) + curvature(&B, beta)))
}

/// SR6-08 equation 7.
fn water_viscosity(kelvin: f64) -> f64 {
    const TERMS: [(f64, f64); 4] = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    let reduced = kelvin / 300.0;
    1e-6 * TERMS.iter().map(|&(c, n)| c * reduced.powf(n)).sum::<f64>()
}

fn powers(terms: &[(f64, i32)], x: f64) -> f64 {
    terms.iter().map(|&(c, n)| c * x.powi(n)).sum()
}
