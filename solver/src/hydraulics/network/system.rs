//! The circuit as a pump sees it: which pressure each flow needs.

use super::{
    Network, NetworkError, PartId,
    solve::{Solver, State},
};
use crate::hydraulics::{Formula, loss::Side};

/// What a flow through a pump needs and gets. Pressures in Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SystemPoint {
    /// The flow in m³/s.
    pub flow_m3_s: f64,
    /// What the circuit needs with every loss at its least.
    pub low_pa: f64,
    /// What it needs, likely.
    pub likely_pa: f64,
    /// What it needs with every loss at its most.
    pub high_pa: f64,
    /// What the pumps of the part gain.
    pub gain_pa: f64,
}

/// How far a pump reaches beyond a wanted flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// The wanted flow in m³/s.
    pub flow_m3_s: f64,
    /// What the pump gains at that flow, in Pa.
    pub gain_pa: f64,
    /// What the circuit needs for it, in Pa.
    pub needed_pa: f64,
}

impl Margin {
    /// By which factor all losses may grow before the flow falls below the wanted; below 1 it already does.
    #[must_use]
    pub fn factor(&self) -> f64 {
        self.gain_pa / self.needed_pa
    }
}

impl Network {
    /// What flows through the pump of a part need and get, for a plot of pump and system curve. Other pumps run on.
    ///
    /// # Errors
    /// As [`Network::solve`]; an unknown part, one without a running pump, or one that is in no closed loop.
    pub fn system_curve(&self, pump: &str, flows_m3_s: &[f64]) -> Result<Vec<SystemPoint>, NetworkError> {
        let id = self.known_part(pump)?;
        let part = &self.parts[id.0];
        if !part.has_running_pump() {
            return Err(NetworkError::NotAPump { part: pump.to_owned() });
        }
        let mut solver = Solver::with_last(self, Some(id))?;
        let Some(index) = solver.graph.chords.iter().position(|&chord| chord == id.0) else {
            return Err(NetworkError::NoLoop { part: pump.to_owned() });
        };
        let stances = [Side::Low, Side::Likely, Side::High].map(|side| self.stances(side));
        let mut near: [Option<State>; 3] = [const { None }; 3];
        let mut points = Vec::with_capacity(flows_m3_s.len());
        for &flow_m3_s in flows_m3_s {
            if !flow_m3_s.is_finite() {
                return Err(NetworkError::NotFinite { what: "flow of the curve in m³/s", value: flow_m3_s });
            }
            // The held loop's flow is the part's own, less what supplies send through it.
            solver.hold(index, flow_m3_s - solver.graph.base_flows[id.0]);
            let mut needed = [0.0; 3];
            for (slot, stances) in stances.iter().enumerate() {
                solver.stances.clone_from(stances);
                let state = solver.solve(near[slot].as_ref())?;
                needed[slot] = self.needed_pa(&solver, &state, index, id);
                near[slot] = Some(state);
            }
            let gain_pa = part
                .pumps()
                .filter(|pump| pump.is_on())
                .map(|pump| pump.gain_pa(flow_m3_s, self.coolant_in(id.0)))
                .sum();
            points.push(SystemPoint {
                flow_m3_s,
                low_pa: needed[0],
                likely_pa: needed[1],
                high_pa: needed[2],
                gain_pa,
            });
        }
        Ok(points)
    }

    /// How far a pump reaches beyond a wanted flow through it.
    ///
    /// # Errors
    /// As [`Network::system_curve`].
    pub fn margin(&self, pump: &str, wanted_flow_m3_s: f64) -> Result<Margin, NetworkError> {
        let points = self.system_curve(pump, &[wanted_flow_m3_s])?;
        let point = points.first().ok_or_else(|| NetworkError::NotAPump { part: pump.to_owned() })?;
        Ok(Margin { flow_m3_s: wanted_flow_m3_s, gain_pa: point.gain_pa, needed_pa: point.likely_pa })
    }

    /// What is lost around the pump's loop but for the gain of its own pumps.
    fn needed_pa(&self, solver: &Solver<'_>, state: &State, index: usize, pump: PartId) -> f64 {
        let tee_pa = solver.tee_pa(state);
        let members = solver.graph.loops[index].iter();
        let around: f64 = members.map(|&(part, sign)| sign * (state.losses[part].pa + tee_pa[part])).sum();
        let place = solver.stances[pump.0].at(Formula::Pump);
        let own_pumps = self.parts[pump.0].pumps().filter(|pump| pump.is_on());
        let gained: f64 =
            own_pumps.map(|own| -own.loss_at(state.flows[pump.0], self.coolant_in(pump.0), place).pa).sum();
        around + gained
    }
}
