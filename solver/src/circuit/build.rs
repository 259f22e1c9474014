//! Putting a circuit together from components, gaps and chains.

use super::{component::elements, fault::CircuitFault, thermal::Thermal};
use crate::{
    bridge::{Chain, ChainPart, passage, swept_passage},
    catalog::{Catalog, FittingDef},
    geometry::{Pose, along, origin},
    hydraulics::{
        Element,
        minor::{Edge, Entrance, Exit, Passage, Step, Tee},
        network::{Network, NetworkError},
    },
    layout::{Body, BodyId, BodyKind, Gap, Layout, Port, PortId},
};
use std::collections::{BTreeSet, HashMap, HashSet};

/// The circuit of a layout, ready to be solved.
#[derive(Clone, Debug)]
pub struct Circuit {
    pub(super) network: Network,
    pub(super) parts: Vec<CircuitPart>,
    pub(super) places: HashMap<String, String>,
    pub(super) heat_w: f64,
    pub(super) thermal: Thermal,
    pub(super) design_flow_m3_s: f64,
    /// Parts of the network that are fittings: of chains, and placed like components.
    pub(super) fittings: HashSet<String>,
    reservoir: Option<String>,
    level_is_stated: bool,
    unstated: Vec<String>,
    joined: Vec<usize>,
}

/// A part of a circuit that comes from a chain or a component; the legs of tees are left out.
#[derive(Clone, Debug, PartialEq)]
pub struct CircuitPart {
    /// Its name in the network.
    pub name: String,
    /// The gap it helps to bridge, by its place in the layout's list; `None` for a component.
    pub gap: Option<usize>,
    pub(super) elements: Vec<Element>,
    /// The same with its drilled turns swept, if it has any.
    pub(super) swept: Option<Swept>,
}

/// What a part would be with its drilled turns swept.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Swept {
    pub(super) elements: Vec<Element>,
    /// The turns in question, in degrees.
    pub(super) turns_deg: Vec<f64>,
}

impl Circuit {
    /// The circuit of a layout; `chains` says for each of its gaps what bridges it. Where that is nothing, the joint
    /// is taken to lose nothing.
    ///
    /// Parts of chains are named `gap.part fitting`, counted from 1; components by their own names, with the ports
    /// behind them where there are several ways through.
    ///
    /// # Errors
    /// No pump that runs, a second reservoir, or parts that do not hang together, with the place in the file; a chain that
    /// [`Chain::check`] refuses.
    pub fn new(layout: &Layout, catalog: &Catalog, chains: &[Option<&Chain>]) -> Result<Self, CircuitFault> {
        let mut builder = Builder::new(layout, catalog, chains)?;
        for (index, gap) in layout.gaps().iter().enumerate() {
            builder.body_of(gap.from)?;
            builder.gap(index, *gap)?;
            builder.body_of(gap.to)?;
        }
        builder.finish()
    }

    /// The network behind it.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Its parts in the order of the network's, without the legs of tees.
    #[must_use]
    pub fn parts(&self) -> &[CircuitPart] {
        &self.parts
    }

    /// The reservoir that pressures are counted from; without one they count from where the first pump draws.
    #[must_use]
    pub fn reservoir(&self) -> Option<&str> {
        self.reservoir.as_deref()
    }

    /// Whether the layout says how high the coolant stands in the reservoir; otherwise it counts as filled to its highest
    /// port.
    #[must_use]
    pub fn level_is_stated(&self) -> bool {
        self.level_is_stated
    }

    /// Components that are taken to lose nothing because nothing is stated of them.
    #[must_use]
    pub fn unstated(&self) -> &[String] {
        &self.unstated
    }

    /// Gaps that are joined ideally, by their places in the layout's list.
    #[must_use]
    pub fn joined(&self) -> &[usize] {
        &self.joined
    }

    /// All heat given to the coolant, in watts.
    #[must_use]
    pub fn heat_w(&self) -> f64 {
        self.heat_w
    }
}

struct Builder<'a> {
    layout: &'a Layout,
    catalog: &'a Catalog,
    chains: &'a [Option<&'a Chain>],
    used: HashSet<PortId>,
    ports: HashMap<&'a str, PortId>,
    done: BTreeSet<BodyId>,
    /// Above world zero, in metres, of every network port.
    heights: Vec<(String, f64)>,
    /// Bore of the fitting in a port, in metres.
    bores: HashMap<PortId, f64>,
    reservoir: Option<(String, String)>,
    pump_off: Option<(String, String)>,
    /// Where the surface in the reservoir is said to stand, in metres above world zero.
    level_m: Option<f64>,
    /// The highest port of the reservoir.
    highest_m: f64,
    circuit: Circuit,
}

impl<'a> Builder<'a> {
    fn new(layout: &'a Layout, catalog: &'a Catalog, chains: &'a [Option<&'a Chain>]) -> Result<Self, CircuitFault> {
        if layout.gaps().is_empty() {
            let help = "add `gaps: [(from: \"pump.outlet\", to: ...)]`, in the order the coolant flows";
            return Err(CircuitFault::new("gaps", "expected the gaps of a circuit, found none", help));
        }
        let mut bores = HashMap::new();
        for (index, (gap, chain)) in layout.gaps().iter().zip(chains).enumerate() {
            let Some(chain) = chain else { continue };
            chain.check(catalog).map_err(|bad| {
                CircuitFault::new(format!("gaps[{index}]"), bad.to_string(), "give a chain that `bridge` found for it")
            })?;
            let bore = |part: Option<&ChainPart>| Some(catalog.fitting(&part?.fitting)?.bore_mm / 1000.0);
            for (port, part) in [(gap.from, chain.parts.first()), (gap.to, chain.parts.last())] {
                bores.extend(bore(part).map(|bore| (port, bore)));
            }
        }
        Ok(Self {
            layout,
            catalog,
            chains,
            used: layout.gaps().iter().flat_map(|gap| [gap.from, gap.to]).collect(),
            ports: layout.ports_by_id().map(|(id, port)| (port.name.as_str(), id)).collect(),
            done: BTreeSet::new(),
            heights: Vec::new(),
            bores,
            reservoir: None,
            pump_off: None,
            level_m: None,
            highest_m: f64::NEG_INFINITY,
            circuit: Circuit {
                network: Network::new(layout.coolant()),
                parts: Vec::new(),
                places: HashMap::new(),
                heat_w: 0.0,
                thermal: Thermal::new(layout)?,
                fittings: HashSet::new(),
                design_flow_m3_s: layout.design_flow_l_min() / 60_000.0,
                reservoir: None,
                level_is_stated: false,
                unstated: Vec::new(),
                joined: Vec::new(),
            },
        })
    }

    /// Adds the component that a port belongs to, once.
    fn body_of(&mut self, port: PortId) -> Result<(), CircuitFault> {
        let layout = self.layout;
        let Some((id, body)) = layout.port_by_id(port).and_then(|port| Some((port.body, layout.body(port.body)?)))
        else {
            return Ok(());
        };
        let panels = layout.bodies().iter().filter(|body| body.kind != BodyKind::Component).count();
        let place = format!("components[{}]", id.index().saturating_sub(panels));
        if body.wetted.flow.reservoir {
            return self.reservoir_port(port, body, &place);
        }
        if !self.done.insert(id) {
            return Ok(());
        }
        if let Some(fitting) = body.wetted.fitting.as_deref().and_then(|id| self.catalog.fitting(id)) {
            self.placed_fitting(body, fitting, &place)?;
            let parts = if fitting.branch.is_some() { Vec::new() } else { vec![body.name.clone()] };
            return self.thermal(id, body, parts, &place);
        }
        let passages = self.passages(body);
        if passages.is_empty() {
            let message = format!("coolant reaches `{}` but has no way through it", body.name);
            let help = "give `flow: (passages: [(\"in\", \"out\")])` with its own ports, or `flow: (reservoir: true)`";
            return Err(CircuitFault::new(place, message, help));
        }
        if !body.wetted.is_stated {
            self.circuit.unstated.push(body.name.clone());
        }
        let elements = elements(&body.wetted, &place)?;
        if elements.iter().filter_map(Element::as_pump).any(|pump| !pump.is_on()) {
            self.pump_off = Some((body.name.clone(), format!("{place}.pump_speed")));
        }
        let several = passages.len() > 1;
        let share_w = body.wetted.heat_w / crate::circuit::operating::count(passages.len());
        let mut names = Vec::with_capacity(passages.len());
        for [from, to] in passages {
            let name = if several { format!("{} {from} to {to}", body.name) } else { body.name.clone() };
            let ends = [from, to].map(|port| format!("{}.{port}", body.name));
            self.add(&name, &ends[0], &ends[1], elements.clone(), None, None, &place)?;
            self.works(&name, body, share_w, &place)?;
            if let Some(bore_mm) = body.wetted.flow.bore_mm {
                let told = self.circuit.network.inner_bore(&name, bore_mm / 1000.0);
                told.map_err(|error| at(&error, &place))?;
            }
            names.push(name);
        }
        self.thermal(id, body, names, &place)
    }

    /// Takes in what a component says about heat.
    fn thermal(&mut self, id: BodyId, body: &Body, parts: Vec<String>, place: &str) -> Result<(), CircuitFault> {
        let Circuit { thermal, network, .. } = &mut self.circuit;
        thermal.add(self.layout, network, (id, body), parts, place)
    }

    /// The ways that gaps join at both ends, else those joined at one; turned so that coolant enters where a gap ends.
    fn passages(&self, body: &Body) -> Vec<[String; 2]> {
        let port = |name: &str| self.ports.get(format!("{}.{name}", body.name).as_str()).copied();
        let used = |name: &str| port(name).is_some_and(|id| self.used.contains(&id));
        let joined = |least: usize| -> Vec<[String; 2]> {
            let count = |way: &[String; 2]| way.iter().filter(|name| used(name)).count();
            body.wetted.flow.passages.iter().filter(|way| count(way) >= least).cloned().collect()
        };
        let mut ways = joined(2);
        if ways.is_empty() {
            ways = joined(1);
        }
        let gaps = self.layout.gaps();
        for way in &mut ways {
            let [first, last] = [0, 1].map(|end| port(&way[end]));
            let leaves_first = gaps.iter().any(|gap| Some(gap.from) == first);
            let enters_last = gaps.iter().any(|gap| Some(gap.to) == last);
            if body.wetted.flow.pump.is_none() && (leaves_first || enters_last) {
                way.swap(0, 1);
            }
        }
        ways
    }

    fn works(&mut self, name: &str, body: &Body, heat_w: f64, place: &str) -> Result<(), CircuitFault> {
        let network = &mut self.circuit.network;
        let told = network.wall(name, body.wetted.flow.wall.into()).and_then(|()| network.heat(name, heat_w));
        told.map_err(|error| at(&error, place))?;
        self.circuit.heat_w += heat_w;
        Ok(())
    }

    /// A vessel: every port of it that a gap uses leads to one free surface.
    fn reservoir_port(&mut self, id: PortId, body: &Body, place: &str) -> Result<(), CircuitFault> {
        match &self.reservoir {
            Some((first, first_place)) if *first != body.name => {
                let message = format!("`{}` is a second reservoir besides `{first}`", body.name);
                let help = "a closed circuit has one; leave one out, or describe it as a part with a way through";
                let related = Some(("the first is here".to_owned(), first_place.clone()));
                return Err(CircuitFault { related, ..CircuitFault::new(place, message, help) });
            }
            _ => self.reservoir = Some((body.name.clone(), place.to_owned())),
        }
        let Some(port) = self.layout.port_by_id(id) else { return Ok(()) };
        let leaves = self.layout.gaps().iter().any(|gap| gap.from == id);
        let own = body.wetted.flow.bore_mm.map(|bore| bore / 1000.0);
        let fitted = self.bores.get(&id).copied();
        let bore = own.or(fitted).unwrap_or(port.thread.minor_diameter_mm() / 1000.0);
        let element = if leaves {
            Entrance::new(bore, Edge::Sharp).map(Element::Entrance)
        } else {
            Exit::new(bore).map(Element::Exit)
        };
        let element = element.map_err(|error| CircuitFault::new(place, error.to_string(), "correct its bore"))?;
        let ends = if leaves { [&body.name, &port.name] } else { [&port.name, &body.name] };
        self.add(&port.name, ends[0], ends[1], vec![element], None, None, place)?;
        self.works(&port.name, body, 0.0, place)?;
        self.highest_m = self.highest_m.max(origin(&port.pose).z / 1000.0);
        if self.circuit.reservoir.is_none() {
            let network = &mut self.circuit.network;
            network.reservoir(&body.name, 0.0).map_err(|error| at(&error, place))?;
            network.heat_at(&body.name, body.wetted.heat_w).map_err(|error| at(&error, place))?;
            self.circuit.heat_w += body.wetted.heat_w;
            self.circuit.reservoir = Some(body.name.clone());
            self.circuit.level_is_stated = body.wetted.level_mm.is_some();
            self.level_m = body.wetted.level_mm.map(|level| (origin(&body.pose).z + level) / 1000.0);
            self.done.insert(port.body);
            return self.thermal(port.body, body, Vec::new(), place);
        }
        Ok(())
    }

    /// A tee or a bulkhead that is placed like a component.
    fn placed_fitting(&mut self, body: &Body, fitting: &FittingDef, place: &str) -> Result<(), CircuitFault> {
        let port = |name: &str| format!("{}.{name}", body.name);
        if let Some(branch) = fitting.branch {
            let bore = fitting.bore_mm / 1000.0;
            let refused = |error: String| CircuitFault::new(place, error, "correct the fitting in its catalog");
            let tee = Tee::new(bore, bore).and_then(|tee| tee.with_angle(branch.angle_deg.to_radians()));
            let tee = tee.map_err(|error| refused(error.to_string()))?;
            let ends = ["end-0", "end-1", "branch"].map(port);
            let network = &mut self.circuit.network;
            let legs = network.tee(&body.name, tee, [&ends[0], &ends[1], &ends[2]]);
            legs.map_err(|error| at(&error, place))?;
            // Heat of a tee reaches the coolant where its legs meet.
            network.heat_at(&body.name, body.wetted.heat_w).map_err(|error| at(&error, place))?;
            self.circuit.heat_w += body.wetted.heat_w;
            for leg in ["run a", "run b", "branch"] {
                let leg = format!("{} {leg}", body.name);
                self.circuit.places.insert(leg.clone(), place.to_owned());
                self.circuit.fittings.insert(leg);
            }
            let middle = body.pose * along(branch.at);
            self.heights.push((body.name.clone(), origin(&middle).z / 1000.0));
            return Ok(());
        }
        let Some(way) = passage(fitting, 0, 0.0) else { return Ok(()) };
        let ends = ["end-0", "end-1"].map(port);
        let enters_last =
            self.layout.gaps().iter().any(|gap| self.ports.get(ends[1].as_str()).is_some_and(|id| gap.to == *id));
        let [from, to] = if enters_last { [1, 0] } else { [0, 1] };
        self.add(&body.name, &ends[from], &ends[to], vec![Element::Passage(way)], None, None, place)?;
        self.circuit.fittings.insert(body.name.clone());
        self.works(&body.name, body, body.wetted.heat_w, place)
    }

    /// Adds what bridges a gap.
    fn gap(&mut self, index: usize, gap: Gap) -> Result<(), CircuitFault> {
        let place = format!("gaps[{index}]");
        let [Some(from), Some(to)] = [gap.from, gap.to].map(|id| self.layout.port_by_id(id)) else { return Ok(()) };
        let chain = self.chains.get(index).copied().flatten().filter(|chain| !chain.parts.is_empty());
        let Some(chain) = chain else {
            self.circuit.joined.push(index);
            let name = format!("gap {} ideal joint", index + 1);
            return self.add(&name, &from.name, &to.name, Vec::new(), Some(index), None, &place);
        };
        let (mut here, mut bore_before) = (from.name.clone(), self.way_in_m(from));
        let bore_behind = self.way_in_m(to);
        for (number, part) in chain.parts.iter().enumerate() {
            let Some(fitting) = self.catalog.fitting(&part.fitting) else { continue };
            let name = format!("{}.{} {}", index + 1, number + 1, part.fitting);
            let is_last = number + 1 == chain.parts.len();
            let next = if is_last {
                to.name.clone()
            } else {
                let next = format!("after {}.{}", index + 1, number + 1);
                self.heights.push((next.clone(), exit_height_m(fitting, part)));
                next
            };
            let with_steps = |way: Passage| -> Vec<Element> {
                let bore = Some(way.bore_m());
                let behind = if is_last { step(bore, bore_behind) } else { None };
                step(bore_before, bore).into_iter().chain([Element::Passage(way)]).chain(behind).collect()
            };
            let way = passage(fitting, part.entry, part.stretch_mm);
            let bore = way.as_ref().map(Passage::bore_m);
            let turns_deg: Vec<f64> = fitting.bends.iter().map(|bend| bend.angle_deg).collect();
            let swept = swept_passage(fitting, part.entry, part.stretch_mm)
                .filter(|_| !fitting.swept && !turns_deg.is_empty())
                .map(|way| Swept { elements: with_steps(way), turns_deg });
            let elements = way.map_or_else(Vec::new, with_steps);
            self.add(&name, &here, &next, elements, Some(index), swept, &place)?;
            self.circuit.fittings.insert(name);
            (here, bore_before) = (next, bore);
        }
        Ok(())
    }

    /// Bore behind a port, in metres, where no measured loss has the step to it in it: that of a fitting that is placed
    /// like a component, and that of a component which states a bore but no loss.
    fn way_in_m(&self, port: &Port) -> Option<f64> {
        let wetted = &self.layout.body(port.body)?.wetted;
        let fitting = wetted.fitting.as_deref().and_then(|id| self.catalog.fitting(id));
        let flow = &wetted.flow;
        let measured = flow.reservoir || flow.loss.is_some() || flow.pump.is_some();
        let bore_mm = fitting.map(|fitting| fitting.bore_mm).or(flow.bore_mm.filter(|_| !measured));
        bore_mm.map(|bore_mm| bore_mm / 1000.0)
    }

    #[expect(clippy::too_many_arguments, reason = "a part, where it is, and where the file says so")]
    fn add(
        &mut self,
        name: &str,
        from: &str,
        to: &str,
        elements: Vec<Element>,
        gap: Option<usize>,
        swept: Option<Swept>,
        place: &str,
    ) -> Result<(), CircuitFault> {
        let network = &mut self.circuit.network;
        network.part(name, from, to, elements.clone()).map_err(|error| at(&error, place))?;
        self.circuit.places.insert(name.to_owned(), place.to_owned());
        self.circuit.thermal.add_bores(&elements);
        self.circuit.parts.push(CircuitPart { name: name.to_owned(), gap, elements, swept });
        Ok(())
    }

    fn finish(self) -> Result<Circuit, CircuitFault> {
        self.check_heat()?;
        let Self { layout, mut circuit, mut heights, level_m, highest_m, pump_off, .. } = self;
        // Without a reservoir there is no surface to count heights from.
        if highest_m.is_finite() {
            let network = &mut circuit.network;
            network.surface(level_m.unwrap_or(highest_m)).map_err(|error| at(&error, "gaps"))?;
            heights.extend(layout.ports_by_id().map(|(_, port)| (port.name.clone(), origin(&port.pose).z / 1000.0)));
            heights.retain(|(port, _)| network.has_node(port));
            for (port, height_m) in &heights {
                network.height(port, *height_m).map_err(|error| at(&error, "gaps"))?;
            }
        }
        let pumps = || circuit.parts.iter().flat_map(|part| &part.elements).filter_map(Element::as_pump);
        if !pumps().any(crate::hydraulics::Pump::is_on) {
            return Err(match pump_off {
                Some((name, place)) => {
                    CircuitFault::new(place, format!("the pump `{name}` is off, and no other runs"), "turn one on")
                }
                None => {
                    let help = "describe the pump's curve: `flow: (pump: table([(0, 40), (6, 30), (12, 0)]))`";
                    CircuitFault::new("gaps", "no pump is in the circuit of these gaps", help)
                }
            });
        }
        Ok(circuit)
    }
}

impl Builder<'_> {
    /// Heat that no coolant reaches is more likely a gap forgotten than meant.
    fn check_heat(&self) -> Result<(), CircuitFault> {
        let panels = self.layout.bodies().iter().filter(|body| body.kind != BodyKind::Component).count();
        let forgotten = |(id, body): &(BodyId, &Body)| body.wetted.heat_w != 0.0 && !self.done.contains(id);
        match self.layout.bodies_by_id().find(forgotten) {
            None => Ok(()),
            Some((id, body)) => {
                let index = id.index().saturating_sub(panels);
                let message = format!(
                    "`{}` gives {} W to the coolant, but no gap joins it to the circuit",
                    body.name, body.wetted.heat_w
                );
                let help = "join its ports by gaps, or leave `heat_w` out where air takes the heat";
                Err(CircuitFault::new(format!("components[{index}].heat_w"), message, help))
            }
        }
    }
}

impl Circuit {
    /// A fault of the network as one of the file.
    pub(super) fn fault(&self, error: &NetworkError) -> CircuitFault {
        let part = match error {
            NetworkError::Disconnected { parts, .. } => parts.first(),
            NetworkError::NoLoop { part }
            | NetworkError::NotConverged { part, .. }
            | NetworkError::OutsideLiquid { part, .. } => Some(part),
            _ => None,
        };
        let place = part.and_then(|part| self.places.get(part)).map_or("gaps", String::as_str);
        at(error, place)
    }
}

fn at(error: &NetworkError, place: &str) -> CircuitFault {
    let text = error.to_string();
    let (message, help) = match text.split_once(": ") {
        Some((message, help)) => (message.to_owned(), help.to_owned()),
        None => (text, "correct the components and gaps of the circuit".to_owned()),
    };
    CircuitFault::new(place, message, help)
}

/// The step between two bores where both are known and differ.
fn step(before_m: Option<f64>, behind_m: Option<f64>) -> Option<Element> {
    let (before_m, behind_m) = before_m.zip(behind_m).filter(|(before, behind)| before != behind)?;
    Step::new(before_m, behind_m).ok().map(Element::Step)
}

/// How high the centreline leaves a part, above world zero, in metres.
fn exit_height_m(fitting: &FittingDef, part: &ChainPart) -> f64 {
    let ends = fitting.end_frames(part.stretch_mm);
    let exit: Pose = ends.get(1 - part.entry.min(1)).copied().unwrap_or_default();
    origin(&(part.pose * exit)).z / 1000.0
}
