//! What a layout says about heat, gathered as its circuit is put together.

use super::fault::CircuitFault;
use crate::{
    hydraulics::{
        Element, Liquid,
        heat::{Air, Arrangement, Conductance, Resistance},
        network::{Network, NetworkError, Radiator},
    },
    layout::{Body, BodyId, Layout},
};
use std::f64::consts::FRAC_PI_4;

/// What a circuit's temperatures follow from.
#[derive(Clone, Debug)]
pub(super) struct Thermal {
    pub(super) liquid: Liquid,
    /// Temperature of the coolant in the layout: where it starts from.
    pub(super) start_celsius: f64,
    pub(super) ambient_celsius: Option<f64>,
    pub(super) bodies: Vec<ThermalBody>,
    /// Coolant in bores and in what states a volume, in m³.
    pub(super) volume_m3: f64,
    /// What warms the components themselves by a kelvin, in J/K.
    pub(super) capacity_j_k: f64,
    /// Components whose volume is not stated, and so not counted.
    pub(super) without_volume: Vec<String>,
    /// Radiators that no air is said to pass.
    pub(super) without_air: Vec<String>,
}

/// A component that takes part in the heat of a circuit.
#[derive(Clone, Debug)]
pub(super) struct ThermalBody {
    pub(super) name: String,
    /// Its parts in the network; none for a reservoir and a tee, whose port it is.
    pub(super) parts: Vec<String>,
    pub(super) heat_w: f64,
    pub(super) resistance: Option<Resistance>,
    /// By which share that may be off.
    pub(super) resistance_doubt: f64,
    pub(super) limit_celsius: Option<f64>,
    /// By which share the conductance of a radiator may be off; `None` for what is none.
    pub(super) conductance_doubt: Option<f64>,
}

impl Thermal {
    pub(super) fn new(layout: &Layout) -> Result<Self, CircuitFault> {
        let def = layout.coolant_def();
        let liquid = def.liquid();
        Ok(Self {
            liquid: liquid.map_err(|error| CircuitFault::new("coolant", error.to_string(), "correct the share"))?,
            start_celsius: def.celsius,
            ambient_celsius: layout.ambient_celsius(),
            bodies: Vec::new(),
            volume_m3: 0.0,
            capacity_j_k: 0.0,
            without_volume: Vec::new(),
            without_air: Vec::new(),
        })
    }

    /// Takes in a component, of which these are the parts in the network.
    pub(super) fn add(
        &mut self,
        layout: &Layout,
        network: &mut Network,
        (id, body): (BodyId, &Body),
        parts: Vec<String>,
        place: &str,
    ) -> Result<(), CircuitFault> {
        let (wetted, heat) = (&body.wetted, &body.wetted.heat);
        let refused = |error: String| CircuitFault::new(format!("{place}.heat"), error, "correct the numbers");
        let of_network = |error: NetworkError| refused(error.to_string());
        let resistance = heat.resistance().map_err(|error| refused(error.to_string()))?;
        let conductance = heat.conductance().map_err(|error| refused(error.to_string()))?;
        match heat.volume_ml {
            Some(volume_ml) => self.volume_m3 += volume_ml * 1e-6,
            None if wetted.fitting.is_none() => self.without_volume.push(body.name.clone()),
            None => {}
        }
        self.capacity_j_k += heat.heat_capacity_j_k.unwrap_or(0.0);
        for part in parts.iter().filter(|_| heat.shaft_w.is_some()) {
            let shaft_w = heat.shaft_w.unwrap_or(0.0) * wetted.pump_speed.powi(3);
            network.shaft_power(part, shaft_w).map_err(of_network)?;
        }
        let doubt = conductance.as_ref().map(|_| heat.conductance_doubt());
        if let (Some(conductance), Some(celsius)) = (conductance, self.ambient_celsius) {
            let flow_m3_s = air_m3_s(layout, id, body);
            if flow_m3_s == 0.0 {
                self.without_air.push(body.name.clone());
            }
            let share = 1.0 / crate::circuit::operating::count(parts.len());
            for part in &parts {
                let conductance: Conductance = conductance.clone().times(share);
                let air = Air { flow_m3_s: flow_m3_s * share, celsius };
                let radiator = Radiator { conductance, arrangement: Arrangement::Crossflow, air };
                network.radiator(part, radiator).map_err(of_network)?;
            }
        }
        self.bodies.push(ThermalBody {
            name: body.name.clone(),
            parts,
            heat_w: wetted.heat_w,
            resistance,
            resistance_doubt: heat.resistance_doubt(),
            limit_celsius: wetted.limit_celsius,
            conductance_doubt: doubt,
        });
        Ok(())
    }

    /// Takes in the bores of fittings.
    pub(super) fn add_bores(&mut self, elements: &[Element]) {
        for element in elements {
            if let Element::Passage(passage) = element {
                self.volume_m3 += FRAC_PI_4 * passage.bore_m().powi(2) * passage.length_m();
            }
        }
    }

    /// Whether anything is to give heat to the air.
    pub(super) fn has_radiator(&self) -> bool {
        self.bodies.iter().any(|body| body.conductance_doubt.is_some())
    }
}

/// The air through a radiator: what it states itself, or what the fans that are mounted on it move side by side.
fn air_m3_s(layout: &Layout, id: BodyId, radiator: &Body) -> f64 {
    let fans = layout.bodies().iter().filter(|fan| fan.mounted_on == Some(id));
    let moved = fans.filter_map(|fan| Some(fan.wetted.heat.air_m3_s()? * fan.wetted.fan_speed));
    radiator.wetted.heat.air_m3_s().unwrap_or_else(|| moved.sum())
}
