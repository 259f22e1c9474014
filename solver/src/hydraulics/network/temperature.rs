//! Temperatures of a circuit whose flows are known: what warms each part, what mixes at each port, what radiators take.

use super::{Network, Outcome, Part};
use crate::hydraulics::heat::{Air, Arrangement, Conductance};
use nalgebra::{DMatrix, DVector};

/// A part that gives heat to air.
#[derive(Clone, Debug, PartialEq)]
pub struct Radiator {
    /// Its conductance.
    pub conductance: Conductance,
    /// How the streams run.
    pub arrangement: Arrangement,
    /// The air that comes in.
    pub air: Air,
}

/// Steady temperatures, in °C.
#[derive(Clone, Debug, PartialEq)]
pub struct Temperatures {
    /// Of each port, in the order of the outcome's; `None` where next to nothing flows.
    pub nodes: Vec<Option<f64>>,
    /// Of the coolant in each part, in their order; `None` where next to nothing flows.
    pub parts: Vec<Option<PartTemperature>>,
    /// What each radiator does, in the order of the parts.
    pub radiators: Vec<RadiatorOutcome>,
    /// Heat of all parts and ports, in W.
    pub heat_w: f64,
    /// Shaft power of all pumps, in W: all of it ends in the coolant.
    pub shaft_w: f64,
    /// What the radiators give to the air, in W.
    pub given_off_w: f64,
}

/// The coolant in a part, in °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartTemperature {
    /// Where it enters.
    pub in_celsius: f64,
    /// Where it leaves.
    pub out_celsius: f64,
}

/// A radiator at work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RadiatorOutcome {
    /// Position of its part.
    pub part: usize,
    /// What it gives to the air, in W.
    pub given_off_w: f64,
    /// Its conductance at these flows, in W/K.
    pub w_k: f64,
    /// Share of the largest possible exchange, from 0 to 1.
    pub effectiveness: f64,
    /// The air that leaves it, in °C; as it came in where none flows.
    pub air_out_celsius: f64,
    /// Whether the flows are among those it was measured at.
    pub is_measured: bool,
}

impl PartTemperature {
    /// Half way between its ends.
    #[must_use]
    pub fn mean_celsius(&self) -> f64 {
        f64::midpoint(self.in_celsius, self.out_celsius)
    }
}

impl Temperatures {
    /// What comes in less what goes out, in W: 0 if exact.
    #[must_use]
    pub fn imbalance_w(&self) -> f64 {
        self.heat_w + self.shaft_w - self.given_off_w
    }

    /// The hottest coolant anywhere, in °C; `None` where nothing flows.
    #[must_use]
    pub fn hottest_celsius(&self) -> Option<f64> {
        let ends = self.parts.iter().flatten().map(|part| part.in_celsius.max(part.out_celsius));
        ends.chain(self.nodes.iter().flatten().copied()).reduce(f64::max)
    }

    /// The coldest coolant anywhere, in °C.
    #[must_use]
    pub fn coldest_celsius(&self) -> Option<f64> {
        let ends = self.parts.iter().flatten().map(|part| part.in_celsius.min(part.out_celsius));
        ends.chain(self.nodes.iter().flatten().copied()).reduce(f64::min)
    }
}

/// What happens to the coolant on its way through a part: it leaves at `kept` times the temperature at which it enters,
/// and `added` more.
#[derive(Clone, Copy, Debug)]
struct Passing {
    from: usize,
    to: usize,
    /// Watts that warm its flow by a kelvin.
    rate_w_k: f64,
    kept: f64,
    added: f64,
}

impl Network {
    /// The steady temperatures at the flows of an outcome of this circuit; `None` where heat has no way out, or no heat
    /// flows at all.
    ///
    /// Each part warms its coolant by its heat and by what it loses to friction; a pump adds what its shaft takes beyond
    /// the pressure that it gains; a radiator takes its effectiveness times the largest possible exchange. At ports
    /// coolant mixes. Density and heat capacity are those of [`Network::coolant`] throughout, so that what comes in is what
    /// goes out. Flows may have any sign; parts and ports in which next to nothing flows have no temperature.
    #[must_use]
    pub fn temperatures(&self, outcome: &Outcome) -> Option<Temperatures> {
        let flows: Vec<f64> = outcome.parts.iter().map(|part| part.flow_m3_s).collect();
        let little = super::SLACK_WATER_SHARE * flows.iter().copied().map(f64::abs).fold(0.0, f64::max);
        let moves = |part: usize| flows[part].abs() > little;
        let heats: Vec<f64> = (0..flows.len()).map(|part| self.heat_in(part, outcome)).collect();
        let passing: Vec<Option<Passing>> =
            (0..flows.len()).map(|part| moves(part).then(|| self.passing(part, flows[part], heats[part]))).collect();
        let nodes = self.node_temperatures(&passing)?;
        let parts: Vec<Option<PartTemperature>> = passing
            .iter()
            .map(|passing| {
                let passing = passing.as_ref()?;
                let in_celsius = nodes[passing.from]?;
                Some(PartTemperature { in_celsius, out_celsius: passing.kept * in_celsius + passing.added })
            })
            .collect();
        let radiators: Vec<RadiatorOutcome> = (0..flows.len())
            .filter_map(|part| {
                let at = self.exchange(part, flows[part])?;
                let air = self.parts[part].radiator.as_ref()?.air;
                let given_off_w =
                    parts[part].map_or(0.0, |coolant| at.w_k_of_inlets * (coolant.in_celsius - air.celsius));
                let warmed = if at.air_w_k > 0.0 { given_off_w / at.air_w_k } else { 0.0 };
                let RadiatorOutcome { w_k, effectiveness, is_measured, .. } = at.outcome;
                let air_out_celsius = air.celsius + warmed;
                Some(RadiatorOutcome { part, given_off_w, w_k, effectiveness, air_out_celsius, is_measured })
            })
            .collect();
        let moving: f64 = (0..flows.len()).filter(|&part| moves(part)).map(|part| self.parts[part].heat_w).sum();
        let warmed = self.nodes.iter().zip(&nodes).filter(|(_, celsius)| celsius.is_some());
        let shaft_w = (0..flows.len()).filter(|&part| moves(part)).map(|part| self.shaft_w(part, flows[part], outcome));
        let given_off_w = radiators.iter().map(|radiator| radiator.given_off_w).sum();
        Some(Temperatures {
            heat_w: moving + warmed.map(|(node, _)| node.heat_w).sum::<f64>(),
            shaft_w: shaft_w.sum(),
            given_off_w,
            nodes,
            parts,
            radiators,
        })
    }

    /// All that warms the coolant in a part, radiators apart, in W.
    fn heat_in(&self, part: usize, outcome: &Outcome) -> f64 {
        let at = &outcome.parts[part];
        let friction_w = at.loss_pa * at.flow_m3_s;
        let pump_w = self.shaft_w(part, at.flow_m3_s, outcome) - at.gain_pa * at.flow_m3_s;
        self.parts[part].heat_w + friction_w + pump_w
    }

    /// The parts of a single loop in the order in which coolant passes them, each with what it keeps of the temperature and
    /// what it adds; `None` where flows part, or nothing flows.
    pub(super) fn loop_of_passings(&self, outcome: &Outcome) -> Option<Vec<(usize, f64, f64)>> {
        let little = super::SLACK_WATER_SHARE * outcome.circuit_flow_m3_s();
        let mut leaving: Vec<Option<(usize, Passing)>> = vec![None; self.nodes.len()];
        let mut count = 0;
        for (part, at) in outcome.parts.iter().enumerate().filter(|(_, part)| part.flow_m3_s.abs() > little) {
            let mut passing = self.passing(part, at.flow_m3_s, self.heat_in(part, outcome));
            passing.added += self.nodes[passing.to].heat_w / passing.rate_w_k;
            if leaving[passing.from].replace((part, passing)).is_some() {
                return None;
            }
            count += 1;
        }
        let start = leaving.iter().flatten().next()?.1.from;
        let (mut ring, mut node) = (Vec::with_capacity(count), start);
        while ring.len() < count {
            let (part, passing) = leaving[node]?;
            ring.push((part, passing.kept, passing.added));
            node = passing.to;
        }
        (node == start).then_some(ring)
    }

    /// What the shafts of all running pumps take, in W.
    #[must_use]
    pub fn all_shaft_w(&self, outcome: &Outcome) -> f64 {
        (0..self.parts.len()).map(|part| self.shaft_w(part, outcome.parts[part].flow_m3_s, outcome)).sum()
    }

    /// What the shafts of a part's running pumps take, in W: what is stated, or at least what they gain.
    fn shaft_w(&self, part: usize, flow_m3_s: f64, outcome: &Outcome) -> f64 {
        if !self.parts[part].has_running_pump() {
            return 0.0;
        }
        let gained = outcome.parts[part].gain_pa * flow_m3_s;
        let pumps = self.parts[part].pumps().filter(|pump| pump.is_on());
        let likely =
            self.parts[part].shaft_w.unwrap_or_else(|| pumps.map(crate::hydraulics::Pump::likely_shaft_w).sum());
        likely.max(gained)
    }

    fn passing(&self, part: usize, flow: f64, heat_w: f64) -> Passing {
        let coolant = &self.coolant;
        let rate_w_k = coolant.density_kg_m3 * coolant.heat_capacity_j_kg_k * flow.abs();
        let Part { from, to, .. } = &self.parts[part];
        let (from, to) = if flow < 0.0 { (to.0, from.0) } else { (from.0, to.0) };
        let taken = self.exchange(part, flow).map_or(0.0, |at| at.w_k_of_inlets) / rate_w_k;
        let air_celsius = self.parts[part].radiator.as_ref().map_or(0.0, |radiator| radiator.air.celsius);
        Passing { from, to, rate_w_k, kept: 1.0 - taken, added: taken * air_celsius + heat_w / rate_w_k }
    }

    /// What a radiator does at a flow of coolant.
    fn exchange(&self, part: usize, flow: f64) -> Option<Exchange> {
        let radiator = self.parts[part].radiator.as_ref()?;
        let coolant_w_k = self.coolant.density_kg_m3 * self.coolant.heat_capacity_j_kg_k * flow.abs();
        let air_w_k = radiator.air.capacity_rate_w_k();
        let (lesser, greater) = (coolant_w_k.min(air_w_k), coolant_w_k.max(air_w_k));
        let w_k = radiator.conductance.w_k(flow, radiator.air.flow_m3_s);
        let effectiveness =
            if lesser > 0.0 { radiator.arrangement.effectiveness(w_k / lesser, lesser / greater) } else { 0.0 };
        let is_measured = radiator.conductance.is_measured(flow, radiator.air.flow_m3_s);
        let outcome = RadiatorOutcome {
            part,
            given_off_w: 0.0,
            w_k,
            effectiveness,
            air_out_celsius: radiator.air.celsius,
            is_measured,
        };
        Some(Exchange { outcome, w_k_of_inlets: effectiveness * lesser, air_w_k })
    }

    /// The temperature of each port. Where one flow alone enters a port, its temperature follows from that of the port
    /// before; what is left to be solved for are the ports where flows mix, and one in each ring without any.
    fn node_temperatures(&self, passing: &[Option<Passing>]) -> Option<Vec<Option<f64>>> {
        let count = self.nodes.len();
        let mut entering: Vec<Vec<&Passing>> = vec![Vec::new(); count];
        let mut leaving: Vec<Vec<&Passing>> = vec![Vec::new(); count];
        for passing in passing.iter().flatten() {
            entering[passing.to].push(passing);
            leaving[passing.from].push(passing);
        }
        let rate = |node: usize| entering[node].iter().map(|passing| passing.rate_w_k).sum::<f64>();
        // Each port as `kept` times an unknown and `added`.
        let mut known: Vec<Option<(usize, f64, f64)>> = vec![None; count];
        let mut unknowns: Vec<usize> = Vec::new();
        let start = |node: usize, unknowns: &mut Vec<usize>, known: &mut Vec<Option<(usize, f64, f64)>>| {
            known[node] = Some((unknowns.len(), 1.0, 0.0));
            unknowns.push(node);
            let mut next = vec![node];
            while let Some(at) = next.pop() {
                let Some((unknown, kept, added)) = known[at] else { continue };
                for passing in &leaving[at] {
                    if known[passing.to].is_none() && entering[passing.to].len() == 1 {
                        let own = self.nodes[passing.to].heat_w / passing.rate_w_k;
                        let there = (unknown, passing.kept * kept, passing.kept * added + passing.added + own);
                        known[passing.to] = Some(there);
                        next.push(passing.to);
                    }
                }
            }
        };
        for node in (0..count).filter(|&node| entering[node].len() > 1) {
            start(node, &mut unknowns, &mut known);
        }
        for node in 0..count {
            if known[node].is_none() && !entering[node].is_empty() {
                start(node, &mut unknowns, &mut known);
            }
        }
        if unknowns.is_empty() {
            return None;
        }
        // What enters the port of each unknown is what it holds.
        let mut matrix = DMatrix::identity(unknowns.len(), unknowns.len());
        let mut right = DVector::zeros(unknowns.len());
        for (row, &node) in unknowns.iter().enumerate() {
            let all = rate(node);
            right[row] = self.nodes[node].heat_w / all;
            for passing in &entering[node] {
                let (unknown, kept, added) = known[passing.from]?;
                let share = passing.rate_w_k / all;
                matrix[(row, unknown)] -= share * passing.kept * kept;
                right[row] += share * (passing.kept * added + passing.added);
            }
        }
        let factors = matrix.full_piv_lu();
        // Without a way out every sum of the rows is zero but for rounding.
        let least = factors.u().diagonal().iter().map(|pivot: &f64| pivot.abs()).fold(f64::INFINITY, f64::min);
        if least < 1e-12 {
            return None;
        }
        let solved = factors.solve(&right)?;
        let celsius = |&(unknown, kept, added): &(usize, f64, f64)| kept * solved[unknown] + added;
        let celsius: Vec<Option<f64>> = known.iter().map(|node| node.as_ref().map(celsius)).collect();
        celsius.iter().flatten().all(|celsius| celsius.is_finite()).then_some(celsius)
    }
}

/// What a radiator does, and its watts per kelvin between the inlets of coolant and air.
struct Exchange {
    outcome: RadiatorOutcome,
    w_k_of_inlets: f64,
    air_w_k: f64,
}
