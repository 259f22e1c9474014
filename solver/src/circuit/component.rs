//! What a component is made of, as elements of a circuit.

use super::fault::CircuitFault;
use crate::{
    catalog::{LossDef, coefficient, loss_table, pump},
    hydraulics::{Element, minor::Passage},
    layout::Wetted,
};

/// The elements of each way through a component; `place` is where the layout describes it.
///
/// # Errors
/// Numbers that no element can have; the reader has refused them before.
pub(super) fn elements(wetted: &Wetted, place: &str) -> Result<Vec<Element>, CircuitFault> {
    let refused = |error: String| CircuitFault::new(format!("{place}.flow"), error, "correct the numbers");
    let mut elements = Vec::new();
    match &wetted.flow.loss {
        Some(LossDef::Table(points)) => {
            elements.push(Element::Table(loss_table(points).map_err(|error| refused(error.to_string()))?));
        }
        Some(LossDef::Coefficient { l_min, kpa, power }) => {
            let element = coefficient(*l_min, *kpa, *power).map_err(|error| refused(error.to_string()))?;
            elements.push(Element::Coefficient(element));
        }
        None => {}
    }
    if let Some(def) = &wetted.flow.pump {
        let pump = pump(def).and_then(|pump| pump.with_speed(wetted.pump_speed));
        elements.push(Element::Pump(pump.map_err(|error| refused(error.to_string()))?));
    }
    if let Some(bore_mm) = wetted.flow.bore_mm {
        // Without length or turns it loses nothing: the loss is measured, only the velocity is of interest.
        let bore = Passage::new(bore_mm / 1000.0, 0.0, Vec::new()).map_err(|error| refused(error.to_string()))?;
        elements.push(Element::Passage(bore));
    }
    Ok(elements)
}
