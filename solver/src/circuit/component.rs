//! What a component is made of, as elements of a circuit.

use super::fault::CircuitFault;
use crate::{
    catalog::{LossDef, coefficient, loss_table, pump},
    hydraulics::Element,
    layout::Wetted,
};

/// The elements of each way through a component, which were measured between its ports; `place` is where the layout describes it.
///
/// # Errors
/// Numbers that no element can have; the reader has refused them before.
pub(super) fn elements(wetted: &Wetted, place: &str) -> Result<Vec<Element>, CircuitFault> {
    let flow = &wetted.flow;
    let refused = |error: String| CircuitFault::new(format!("{place}.flow"), error, "correct the numbers");
    let measured_with = flow.measured_with.unwrap_or_default().coolant().map_err(|error| refused(error.to_string()))?;
    let mut elements = Vec::new();
    match &flow.loss {
        Some(LossDef::Table(points)) => {
            let table =
                loss_table(points).and_then(|table| table.measured_with(measured_with).with_band(flow.loss_band()));
            elements.push(Element::Table(table.map_err(|error| refused(error.to_string()))?));
        }
        Some(LossDef::Coefficient { l_min, kpa, power }) => {
            let law = coefficient(*l_min, *kpa, *power);
            let law = law.and_then(|law| law.measured_with(measured_with).with_band(flow.loss_band()));
            elements.push(Element::Coefficient(law.map_err(|error| refused(error.to_string()))?));
        }
        None => {}
    }
    if let Some(def) = &flow.pump {
        let [gain, at] = flow.pump_bands();
        let pump = pump(def).and_then(|pump| pump.measured_with(measured_with).with_bands(gain, at));
        let pump = pump.and_then(|pump| pump.with_speed(wetted.pump_speed));
        elements.push(Element::Pump(pump.map_err(|error| refused(error.to_string()))?));
    }
    Ok(elements)
}
