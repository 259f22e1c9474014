//! Tees: where a flow divides or two flows combine.

use super::local::LocalError;
use crate::hydraulics::{
    Coolant,
    friction::{InBore, dynamic_pressure_pa, velocity_m_s},
    loss::{Loss, Side, both_ways},
};

/// A square tee: two ends in line (the run) and one at 90° (the branch).
///
/// What a leg loses depends on how the flow splits, so it is no law of that leg's flow alone: with little flow the
/// branch of a dividing tee still loses what the passing coolant does not turn into it, and the branch of a
/// combining tee is even drawn along. [`Tee::losses_pa`] therefore takes all three flows.
///
/// Sources: Crane, Technical Paper 410 (2009), equations 2-35 to 2-38 with the constants for 90°, as in the open
/// library fluids 1.3.1, for the run and the branch where one end of the run carries the whole flow. Where the
/// branch carries it: dividing, `1 + 0.69 (w/wc)²`, which meets Crane's branch when all goes one way and lies
/// between Idelchik's constants of 0.3 and 1.5; combining, Idelchik's `1 + a² + 3 a² (q² - q)`, `a` the bore area
/// of the branch over that of the run (both from memory). The laminar part, 200/Re through the run and 500/Re
/// round the corner, is Darby's for threaded tees. Band: ±40 % and at least ±0.2,
/// fading with the flow in the leg; a judgement: authors differ by half, and none measured at 10 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tee {
    run_bore_m: f64,
    branch_bore_m: f64,
}

/// One end of a tee.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TeeLeg {
    /// One end of the run.
    RunA,
    /// The other end of the run.
    RunB,
    /// The branch.
    Branch,
}

impl TeeLeg {
    /// The legs in the order of [`Tee::losses_pa`].
    pub const ALL: [Self; 3] = [Self::RunA, Self::RunB, Self::Branch];
}

/// Share of its size by which a coefficient may be off.
const BAND: f64 = 0.4;

/// Size below which a coefficient is in as much doubt as at it: it passes through zero where gain and loss balance.
const LEAST_DOUBTED: f64 = 0.5;

/// Share of the flow below which the doubt fades: a leg without flow feels the pressure on the wall of the run, which
/// is the total less one dynamic pressure, whatever the shape.
const CERTAIN_BELOW: f64 = 0.2;

impl Tee {
    /// A tee with a bore through the run and one in the branch, in metres.
    ///
    /// # Errors
    /// A bore that is not above zero.
    pub fn new(run_bore_m: f64, branch_bore_m: f64) -> Result<Self, LocalError> {
        for value in [run_bore_m, branch_bore_m] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(LocalError::NotPositive { what: "bore in m", value });
            }
        }
        Ok(Self { run_bore_m, branch_bore_m })
    }

    /// The bore of a leg in metres.
    #[must_use]
    pub fn bore_m(&self, leg: TeeLeg) -> f64 {
        match leg {
            TeeLeg::RunA | TeeLeg::RunB => self.run_bore_m,
            TeeLeg::Branch => self.branch_bore_m,
        }
    }

    /// Total pressure lost by splitting or joining, in Pa, counted from each port to the middle of the tee.
    ///
    /// `into_m3_s` are the flows into the tee, negative where they leave it, in the order of [`TeeLeg::ALL`]. The
    /// leg with the largest flow is the one that the others divide from or combine to; nothing is counted to it.
    #[must_use]
    pub fn losses_pa(&self, into_m3_s: [f64; 3], coolant: &Coolant, side: Side) -> [f64; 3] {
        let size = into_m3_s.map(f64::abs);
        let common = (0..3).fold(0, |largest, leg| if size[leg] > size[largest] { leg } else { largest });
        if size[common] == 0.0 {
            return [0.0; 3];
        }
        let dividing = into_m3_s[common] > 0.0;
        let velocity = velocity_m_s(size[common], self.bore_m(TeeLeg::ALL[common]));
        let dynamic = dynamic_pressure_pa(velocity, coolant);
        let mut losses = [0.0; 3];
        for leg in (0..3).filter(|&leg| leg != common) {
            let share = (size[leg] / size[common]).min(1.0);
            let coefficient = self.coefficient(TeeLeg::ALL[common], TeeLeg::ALL[leg], share, dividing);
            let doubt = BAND * (share / CERTAIN_BELOW).min(1.0) * coefficient.abs().max(LEAST_DOUBTED);
            let coefficient = match side {
                Side::Low => coefficient - doubt,
                Side::Likely => coefficient,
                Side::High => coefficient + doubt,
            };
            let along_flow = coefficient * dynamic;
            losses[leg] = if dividing { -along_flow } else { along_flow };
        }
        losses
    }

    /// The coefficient between the leg that carries the whole flow and another that carries `share` of it, on the
    /// velocity of the whole flow.
    #[must_use]
    pub fn coefficient(&self, common: TeeLeg, leg: TeeLeg, share: f64, dividing: bool) -> f64 {
        let area_ratio = (self.branch_bore_m / self.run_bore_m).powi(2);
        match (common, leg, dividing) {
            (TeeLeg::Branch, _, true) => 1.0 + 0.69 * (share * area_ratio).powi(2),
            (TeeLeg::Branch, _, false) => {
                let square = area_ratio * area_ratio;
                1.0 + square + 3.0 * square * (share * share - share)
            }
            (_, TeeLeg::Branch, true) => dividing_branch(area_ratio, share),
            (_, TeeLeg::Branch, false) => combining_branch(area_ratio, share),
            (_, TeeLeg::RunA | TeeLeg::RunB, true) => dividing_run(area_ratio, 1.0 - share),
            (_, TeeLeg::RunA | TeeLeg::RunB, false) => combining_run(1.0 - share),
        }
    }

    /// The part of a leg's loss that is linear in its own flow, from the port to the middle.
    #[must_use]
    pub fn laminar_loss(&self, leg: TeeLeg, flow_m3_s: f64, coolant: &Coolant) -> Loss {
        let k1 = match leg {
            TeeLeg::RunA | TeeLeg::RunB => 100.0,
            TeeLeg::Branch => 400.0,
        };
        both_ways(flow_m3_s, |flow| InBore::new(flow, self.bore_m(leg), coolant).coefficient(k1, 0.0))
    }
}

/// Crane 2-37 for 90°: `share` is the branch's.
fn dividing_branch(area_ratio: f64, share: f64) -> f64 {
    let growth = if area_ratio <= 2.0 / 3.0 { 1.0 } else { 1.0 + 0.3 * share * share };
    let turning = if area_ratio.sqrt() <= 2.0 / 3.0 { 1.0 } else { 0.3 };
    growth * (1.0 + turning * (share / area_ratio).powi(2))
}

/// Crane 2-35 for 90°. Two corrections make it continuous, without which some circuits would have no answer: his
/// constant jumps from 0.54 to 0.55 at a share of 0.4, where here the larger holds on either side; and below a share of
/// 0.1 it is led to 1, so that a branch without flow feels the same pressure whether a trickle leaves or enters.
fn combining_branch(area_ratio: f64, share: f64) -> f64 {
    let constant =
        if area_ratio <= 0.35 { 1.0 } else { (0.9 * (1.0 - share)).max(0.55) + 0.1 * (1.0 - share / 0.1).max(0.0) };
    constant * (1.0 + (share / area_ratio).powi(2) - 2.0 * (1.0 - share).powi(2))
}

/// Crane 2-38: `share` is the branch's.
fn dividing_run(area_ratio: f64, share: f64) -> f64 {
    let constant = if area_ratio <= 0.4 {
        0.4
    } else if share <= 0.5 {
        2.0 * (2.0 * share - 1.0)
    } else {
        0.3 * (2.0 * share - 1.0)
    };
    constant * share * share
}

/// Crane 2-36 for 90°: `share` is the branch's.
fn combining_run(share: f64) -> f64 {
    1.55 * share - share * share
}
