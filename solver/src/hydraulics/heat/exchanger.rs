//! How much of the heat that two streams could exchange they do exchange.

/// How the streams of a heat exchanger run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Arrangement {
    /// Against each other.
    Counterflow,
    /// Side by side.
    Parallel,
    /// Across each other, neither mixed on its way: tubes with fins.
    Crossflow,
    /// Across each other, the stream of the smaller capacity rate mixed.
    CrossflowLesserMixed,
    /// Across each other, the stream of the larger capacity rate mixed.
    CrossflowGreaterMixed,
}

impl Arrangement {
    /// Share of the largest possible exchange of heat that takes place, from 0 to 1.
    ///
    /// `transfer_units` is the conductance over the smaller of the two capacity rates (NTU), 0 or more; `rates` the
    /// smaller capacity rate over the larger, 0 to 1. Values outside are taken as the nearest within.
    ///
    /// Source: the closed forms of Kays and London as in the open library ht 1.2.0 (`effectiveness_from_NTU`). For
    /// [`Arrangement::Crossflow`] the usual approximation with powers of 0.22 and 0.78, up to 4 % off the exact series.
    #[must_use]
    pub fn effectiveness(self, transfer_units: f64, rates: f64) -> f64 {
        let (n, c) = (transfer_units.max(0.0), rates.clamp(0.0, 1.0));
        if c < 1e-9 {
            return -(-n).exp_m1();
        }
        match self {
            Self::Counterflow if (1.0 - c).abs() < 1e-9 => n / (1.0 + n),
            Self::Counterflow => {
                let left = (-n * (1.0 - c)).exp();
                (1.0 - left) / (1.0 - c * left)
            }
            Self::Parallel => -(-n * (1.0 + c)).exp_m1() / (1.0 + c),
            Self::Crossflow => {
                let growth = (-c * n.powf(0.78)).exp_m1();
                -(n.powf(0.22) * growth / c).exp_m1()
            }
            Self::CrossflowLesserMixed => -((-c * n).exp_m1() / c).exp_m1(),
            Self::CrossflowGreaterMixed => -(c * (-n).exp_m1()).exp_m1() / c,
        }
    }
}

/// A stream of air at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Flow in m³/s at its temperature.
    pub flow_m3_s: f64,
    /// Temperature in °C.
    pub celsius: f64,
}

impl Air {
    /// How many watts warm the stream by a kelvin: dry air at sea level as an ideal gas of 1.2041 kg/m³ at 20 °C, with
    /// 1006 J/(kg K) (from memory).
    #[must_use]
    pub fn capacity_rate_w_k(&self) -> f64 {
        self.flow_m3_s * 1.2041 * 293.15 / (self.celsius + 273.15) * 1006.0
    }
}
