//! The whole circuit: parts between ports, solved for the flow through each.

mod band;
mod change;
mod close_bends;
mod combined;
mod doubts;
mod error;
mod finding;
mod flow_sum;
mod graph;
mod order;
mod outcome;
mod short_loops;
mod solve;
mod system;
mod tees;
mod temperature;
mod warm;

pub use band::{Bands, FlowBand};
pub use change::{Change, Relief};
pub use close_bends::ClosePair;
pub use doubts::Doubt;
pub use error::NetworkError;
pub use finding::{Finding, NoFlowReason, SLACK_WATER_SHARE};
pub use order::Order;
pub use outcome::{BoreFlow, Branch, NodeOutcome, Outcome, PartOutcome, PumpOutcome, Residuals};
pub use system::{Margin, SystemPoint};
pub use temperature::{PartTemperature, Radiator, RadiatorOutcome, Temperatures};
pub use warm::Warm;

use super::{
    Coolant, Element, Wall,
    heat::Air,
    minor::{Step, Tee, TeeLeg},
};
use std::collections::HashMap;

/// A circuit: parts that carry coolant from one named port to another.
///
/// Ports are the nodes; two parts that name the same port meet there. Each part has a stated direction, from its
/// first port to its second, in which flows and losses count as positive. The circuit may have any shape: parts in
/// series, branches in parallel, bridges between them, dead ends.
///
/// ```
/// use elbowroom::hydraulics::{Coefficient, Coolant, Element, Pump, minor::Passage, network::Network};
///
/// let l_min = 1.0 / 60_000.0;
/// let mut circuit = Network::new(Coolant::water(25.0)?);
/// let pump = Pump::three_points([(0.0, 40e3), (6.0 * l_min, 30e3), (12.0 * l_min, 0.0)])?;
/// circuit.part("pump", "pump.inlet", "pump.outlet", vec![Element::Pump(pump)])?;
/// let radiator = Coefficient::square(4.0 * l_min, 8e3)?;
/// circuit.part("radiator", "pump.outlet", "radiator.outlet", vec![Element::Coefficient(radiator)])?;
/// let hose = Passage::new(0.010, 0.5, vec![])?;
/// circuit.part("hose", "radiator.outlet", "pump.inlet", vec![Element::Passage(hose)])?;
/// circuit.reservoir("pump.inlet", 0.0)?;
///
/// let outcome = circuit.solve()?;
/// assert!((6.0..9.0).contains(&(outcome.circuit_flow_m3_s() / l_min)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Network {
    coolant: Coolant,
    /// What flows in each part, where it differs in viscosity from part to part; empty where it does not.
    local: Vec<Coolant>,
    nodes: Vec<Node>,
    node_ids: HashMap<String, NodeId>,
    parts: Vec<Part>,
    part_ids: HashMap<String, PartId>,
    tees: Vec<PlacedTee>,
    reservoir: Option<(NodeId, f64)>,
    /// How high the surface in the reservoir stands.
    surface_m: f64,
}

/// A port of a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(usize);

/// A part of a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartId(usize);

impl NodeId {
    /// Position in [`Outcome::nodes`].
    #[must_use]
    pub fn index(self) -> usize {
        self.0
    }
}

impl PartId {
    /// Position in [`Outcome::parts`].
    #[must_use]
    pub fn index(self) -> usize {
        self.0
    }
}

#[derive(Clone, Debug)]
struct Node {
    name: String,
    /// Above the same level as the surface, if stated.
    height_m: Option<f64>,
    supply_m3_s: f64,
    heat_w: f64,
}

#[derive(Clone, Debug)]
struct Part {
    name: String,
    from: NodeId,
    to: NodeId,
    elements: Vec<Element>,
    wall: Wall,
    /// Narrowest bore inside, where that is known apart from the elements.
    inner_bore_m: Option<f64>,
    heat_w: f64,
    /// Shaft power of its pumps, where that is stated.
    shaft_w: Option<f64>,
    radiator: Option<Radiator>,
}

impl Part {
    fn pumps(&self) -> impl Iterator<Item = &super::Pump> {
        self.elements.iter().filter_map(Element::as_pump)
    }

    fn has_running_pump(&self) -> bool {
        self.pumps().any(super::Pump::is_on)
    }

    fn is_tee_leg(&self) -> bool {
        matches!(self.elements.as_slice(), [Element::Leg(..)])
    }
}

#[derive(Clone, Debug)]
struct PlacedTee {
    name: String,
    tee: Tee,
    legs: [PartId; 3],
}

impl Network {
    /// A circuit without parts, filled with `coolant`.
    #[must_use]
    pub fn new(coolant: Coolant) -> Self {
        Self {
            coolant,
            local: Vec::new(),
            nodes: Vec::new(),
            node_ids: HashMap::new(),
            parts: Vec::new(),
            part_ids: HashMap::new(),
            tees: Vec::new(),
            reservoir: None,
            surface_m: 0.0,
        }
    }

    /// What the circuit is filled with; where temperatures are worked out, at their mean.
    #[must_use]
    pub fn coolant(&self) -> &Coolant {
        &self.coolant
    }

    /// What flows in a part.
    fn coolant_in(&self, part: usize) -> &Coolant {
        self.local.get(part).unwrap_or(&self.coolant)
    }

    /// Adds a part that leads from one port to another through `elements`; without elements it loses nothing.
    ///
    /// # Errors
    /// A name that is taken, or a part that ends where it starts.
    pub fn part(&mut self, name: &str, from: &str, to: &str, elements: Vec<Element>) -> Result<PartId, NetworkError> {
        if self.part_ids.contains_key(name) {
            return Err(NetworkError::NameTaken { part: name.to_owned() });
        }
        if from == to {
            return Err(NetworkError::LeadsToItself { part: name.to_owned(), node: from.to_owned() });
        }
        let id = PartId(self.parts.len());
        let (from, to) = (self.node(from), self.node(to));
        let (wall, name) = (Wall::default(), name.to_owned());
        self.part_ids.insert(name.clone(), id);
        let part =
            Part { name, from, to, elements, wall, inner_bore_m: None, heat_w: 0.0, shaft_w: None, radiator: None };
        self.parts.push(part);
        Ok(id)
    }

    /// Adds parts one after another from one port to another, such as the fittings of a chain. Where a known bore
    /// meets another, the loss of the step is added to the part behind it. The ports between are named after the
    /// part before them.
    ///
    /// # Errors
    /// No part, a name that is taken, or a chain that ends where it starts.
    pub fn series(
        &mut self,
        from: &str,
        to: &str,
        parts: Vec<(String, Vec<Element>)>,
    ) -> Result<Vec<PartId>, NetworkError> {
        let Some(last) = parts.len().checked_sub(1) else {
            return Err(NetworkError::EmptyChain { from: from.to_owned(), to: to.to_owned() });
        };
        if from == to {
            let part = parts.into_iter().next().map_or_else(String::new, |(name, _)| name);
            return Err(NetworkError::LeadsToItself { part, node: from.to_owned() });
        }
        let (mut ids, mut here, mut bore) = (Vec::with_capacity(parts.len()), from.to_owned(), None);
        for (index, (name, mut elements)) in parts.into_iter().enumerate() {
            let entry = elements.first().and_then(|element| element.end_bores_m().0);
            let exit = elements.last().and_then(|element| element.end_bores_m().1);
            if let (Some(before), Some(after)) = (bore, entry)
                && before != after
            {
                elements.insert(0, Element::Step(Step::between(before, after)));
            }
            let next = if index == last { to.to_owned() } else { format!("after {name}") };
            ids.push(self.part(&name, &here, &next, elements)?);
            (here, bore) = (next, exit);
        }
        Ok(ids)
    }

    /// Adds a tee between three ports: the two ends of its run and its branch, in that order. Its middle becomes a
    /// port named after the tee, its legs become parts.
    ///
    /// # Errors
    /// A name that is taken.
    pub fn tee(&mut self, name: &str, tee: Tee, ports: [&str; 3]) -> Result<[PartId; 3], NetworkError> {
        let legs = [
            self.tee_leg(name, "run a", ports[0], tee, TeeLeg::RunA)?,
            self.tee_leg(name, "run b", ports[1], tee, TeeLeg::RunB)?,
            self.tee_leg(name, "branch", ports[2], tee, TeeLeg::Branch)?,
        ];
        self.tees.push(PlacedTee { name: name.to_owned(), tee, legs });
        Ok(legs)
    }

    fn tee_leg(&mut self, name: &str, suffix: &str, port: &str, tee: Tee, leg: TeeLeg) -> Result<PartId, NetworkError> {
        self.part(&format!("{name} {suffix}"), port, name, vec![Element::Leg(tee, leg)])
    }

    /// Says which port is held at a known pressure: that of the reservoir, in Pa above the atmosphere, 0 for a vented
    /// one. Without a reservoir, pressures count from where the first pump draws.
    ///
    /// # Errors
    /// An unknown port, or a second reservoir: two levels that are held apart would drive a flow of their own.
    pub fn reservoir(&mut self, node: &str, gauge_pa: f64) -> Result<(), NetworkError> {
        let id = self.known_node(node)?;
        if let Some((first, _)) = self.reservoir {
            return Err(NetworkError::SecondReservoir {
                first: self.nodes[first.0].name.clone(),
                second: node.to_owned(),
            });
        }
        if !gauge_pa.is_finite() {
            return Err(NetworkError::NotFinite { what: "reservoir pressure in Pa", value: gauge_pa });
        }
        self.reservoir = Some((id, gauge_pa));
        Ok(())
    }

    /// Lets coolant in (positive) or out (negative) at a port, in m³/s, as in a plant that is not closed.
    ///
    /// # Errors
    /// An unknown port or a flow that is not finite.
    pub fn supply(&mut self, node: &str, flow_m3_s: f64) -> Result<(), NetworkError> {
        let id = self.known_node(node)?;
        if !flow_m3_s.is_finite() {
            return Err(NetworkError::NotFinite { what: "supply in m³/s", value: flow_m3_s });
        }
        self.nodes[id.0].supply_m3_s = flow_m3_s;
        Ok(())
    }

    /// Says how high a port lies, in metres above any level, the same for all ports and the surface in the reservoir; as
    /// high as that surface when not said. It changes the pressure there, not the flow.
    ///
    /// # Errors
    /// An unknown port or a height that is not finite.
    pub fn height(&mut self, node: &str, height_m: f64) -> Result<(), NetworkError> {
        let id = self.known_node(node)?;
        if !height_m.is_finite() {
            return Err(NetworkError::NotFinite { what: "height in m", value: height_m });
        }
        self.nodes[id.0].height_m = Some(height_m);
        Ok(())
    }

    /// Says how high the surface in the reservoir stands, in metres; 0 when not said.
    ///
    /// # Errors
    /// A height that is not finite.
    pub fn surface(&mut self, height_m: f64) -> Result<(), NetworkError> {
        if !height_m.is_finite() {
            return Err(NetworkError::NotFinite { what: "height of the surface in m", value: height_m });
        }
        self.surface_m = height_m;
        Ok(())
    }

    /// Says how narrow a part is inside, in metres, where its loss is measured and its elements do not tell. It counts
    /// for velocity alone.
    ///
    /// # Errors
    /// An unknown part or a bore that is not above zero.
    pub fn inner_bore(&mut self, part: &str, bore_m: f64) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        if !(bore_m > 0.0 && bore_m.is_finite()) {
            return Err(NetworkError::NotFinite { what: "bore in m, which is above 0,", value: bore_m });
        }
        self.parts[id.0].inner_bore_m = Some(bore_m);
        Ok(())
    }

    /// Says what the bores of a part are made of; brass when not said.
    ///
    /// # Errors
    /// An unknown part.
    pub fn wall(&mut self, part: &str, wall: Wall) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        self.parts[id.0].wall = wall;
        Ok(())
    }

    /// Says how much heat a part gives to the coolant, in watts.
    ///
    /// # Errors
    /// An unknown part or a load that is not finite.
    pub fn heat(&mut self, part: &str, heat_w: f64) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        if !heat_w.is_finite() {
            return Err(NetworkError::NotFinite { what: "heat load in W", value: heat_w });
        }
        self.parts[id.0].heat_w = heat_w;
        Ok(())
    }

    /// Says how much heat is given to the coolant at a port, such as in a reservoir or in the middle of a tee, in watts.
    ///
    /// # Errors
    /// An unknown port or a load that is not finite.
    pub fn heat_at(&mut self, node: &str, heat_w: f64) -> Result<(), NetworkError> {
        let id = self.known_node(node)?;
        if !heat_w.is_finite() {
            return Err(NetworkError::NotFinite { what: "heat load in W", value: heat_w });
        }
        self.nodes[id.0].heat_w = heat_w;
        Ok(())
    }

    /// Says how much power drives the pumps of a part at their speed, in watts. When not said, it is taken from the
    /// hydraulic power at the best point of the curve by an efficiency of 30 %, a judgement for pumps of this size.
    ///
    /// # Errors
    /// An unknown part or a power that is not finite.
    pub fn shaft_power(&mut self, part: &str, shaft_w: f64) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        if !shaft_w.is_finite() {
            return Err(NetworkError::NotFinite { what: "shaft power in W", value: shaft_w });
        }
        self.parts[id.0].shaft_w = Some(shaft_w);
        Ok(())
    }

    /// Says that a part gives heat to air.
    ///
    /// # Errors
    /// An unknown part, or an air flow or temperature that is not finite.
    pub fn radiator(&mut self, part: &str, radiator: Radiator) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        let Air { flow_m3_s, celsius } = radiator.air;
        if !(flow_m3_s >= 0.0 && flow_m3_s.is_finite() && celsius > -273.15 && celsius.is_finite()) {
            return Err(NetworkError::NotFinite { what: "flow or temperature of air", value: flow_m3_s.min(celsius) });
        }
        self.parts[id.0].radiator = Some(radiator);
        Ok(())
    }

    /// Replaces what a part consists of.
    ///
    /// # Errors
    /// An unknown part.
    pub fn replace(&mut self, part: &str, elements: Vec<Element>) -> Result<(), NetworkError> {
        let id = self.known_part(part)?;
        self.parts[id.0].elements = elements;
        Ok(())
    }

    /// Whether a part leads to a port of that name.
    #[must_use]
    pub fn has_node(&self, name: &str) -> bool {
        self.node_ids.contains_key(name)
    }

    fn node(&mut self, name: &str) -> NodeId {
        if let Some(&id) = self.node_ids.get(name) {
            return id;
        }
        let id = NodeId(self.nodes.len());
        self.nodes.push(Node { name: name.to_owned(), height_m: None, supply_m3_s: 0.0, heat_w: 0.0 });
        self.node_ids.insert(name.to_owned(), id);
        id
    }

    fn known_node(&self, name: &str) -> Result<NodeId, NetworkError> {
        self.node_ids.get(name).copied().ok_or_else(|| NetworkError::UnknownNode { node: name.to_owned() })
    }

    fn known_part(&self, name: &str) -> Result<PartId, NetworkError> {
        self.part_ids.get(name).copied().ok_or_else(|| NetworkError::UnknownPart { part: name.to_owned() })
    }
}
