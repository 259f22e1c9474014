//! A liquid at whatever temperature it reaches.

use super::{Coolant, CoolantError, Glycol, MAX_GLYCOL_PERCENT};

/// Water, perhaps with glycol, at no temperature yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Liquid {
    glycol: Option<(Glycol, f64)>,
}

impl Liquid {
    /// Pure water.
    pub const WATER: Self = Self { glycol: None };

    /// Water with a share of glycol, in percent by volume.
    ///
    /// # Errors
    /// A share outside of what [`Coolant::with_glycol`] has fits for.
    pub fn with_glycol(glycol: Glycol, volume_percent: f64) -> Result<Self, CoolantError> {
        let liquid = Self { glycol: Some((glycol, volume_percent)) };
        if (0.0..=MAX_GLYCOL_PERCENT).contains(&volume_percent) {
            return Ok(liquid);
        }
        liquid.at(25.0).map(|_| liquid)
    }

    /// Its properties at a temperature in °C.
    ///
    /// # Errors
    /// A temperature outside [`Liquid::range_celsius`].
    pub fn at(&self, celsius: f64) -> Result<Coolant, CoolantError> {
        match self.glycol {
            None => Coolant::water(celsius),
            Some((glycol, percent)) => Coolant::with_glycol(glycol, percent, celsius),
        }
    }

    /// The temperatures in °C at which its properties are known.
    #[must_use]
    pub fn range_celsius(&self) -> (f64, f64) {
        (0.0, if self.glycol.is_none() { 95.0 } else { 90.0 })
    }
}
