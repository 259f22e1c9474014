//! What a circuit is filled with, or was measured with, as it is written in a file.

use crate::hydraulics::{Coolant, CoolantError, Glycol, Liquid, MAX_GLYCOL_PERCENT};
use crate::source::{Checker, Place};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a circuit is filled with: water, with a share of glycol, at one temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct CoolantDef {
    /// What is mixed into the water.
    pub glycol: GlycolDef,
    /// How much of it, in percent by volume: 0 to 50.
    pub volume_percent: f64,
    /// Temperature of the coolant, in °C: 0 to 95 for water, 0 to 90 with glycol.
    pub celsius: f64,
}

impl Default for CoolantDef {
    fn default() -> Self {
        Self { glycol: GlycolDef::None, volume_percent: 0.0, celsius: 25.0 }
    }
}

/// What keeps water from freezing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GlycolDef {
    /// Nothing.
    #[default]
    None,
    /// Ethylene glycol: thinner, poisonous.
    Ethylene,
    /// Propylene glycol: thicker, harmless by comparison.
    Propylene,
}

impl CoolantDef {
    /// Its properties.
    ///
    /// # Errors
    /// A share or a temperature outside the fits; see [`Coolant::water`] and [`Coolant::with_glycol`].
    pub fn coolant(&self) -> Result<Coolant, CoolantError> {
        self.liquid()?.at(self.celsius)
    }

    /// The same at no temperature yet.
    ///
    /// # Errors
    /// A share outside the fits.
    pub fn liquid(&self) -> Result<Liquid, CoolantError> {
        match self.glycol {
            GlycolDef::None => Ok(Liquid::WATER),
            GlycolDef::Ethylene => Liquid::with_glycol(Glycol::Ethylene, self.volume_percent),
            GlycolDef::Propylene => Liquid::with_glycol(Glycol::Propylene, self.volume_percent),
        }
    }
}

/// Checks a coolant and works out its properties; those of water of 25 °C where the file is wrong.
pub(crate) fn check_coolant(def: CoolantDef, place: &Place<'_>, checker: &mut Checker<'_>) -> Coolant {
    checker.within(&place.field("volume_percent"), def.volume_percent, "a share in percent", 0.0, MAX_GLYCOL_PERCENT);
    let glycol_is_known = !checker.is_doubtful(&place.field("glycol"));
    if def.glycol == GlycolDef::None && def.volume_percent > 0.0 && glycol_is_known {
        let help = "add `glycol: ethylene` or `glycol: propylene`, or leave the share out";
        checker.refuse(&place.field("volume_percent"), "expected a glycol for this share, found none", help);
    }
    // A wrong share is noted already, and says nothing of the temperature.
    let share = if (0.0..=MAX_GLYCOL_PERCENT).contains(&def.volume_percent) { def.volume_percent } else { 0.0 };
    match (CoolantDef { volume_percent: share, ..def }).coolant() {
        Ok(coolant) => coolant,
        Err(error) => {
            if let CoolantError::Temperature { .. } = error {
                let help = "give the temperature that the coolant reaches in use, in °C";
                checker.refuse(&place.field("celsius"), error.to_string(), help);
            }
            WATER
        }
    }
}

/// Water of 25 °C, rounded: stands in until the file is corrected, and is never computed with.
const WATER: Coolant = Coolant { density_kg_m3: 997.0, viscosity_pa_s: 0.00089, heat_capacity_j_kg_k: 4182.0 };
