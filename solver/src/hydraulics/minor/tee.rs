//! Tees: where a flow divides or two flows combine.

use super::{
    local::LocalError,
    tee_law::{combining_branch, combining_run, dividing_branch, dividing_run},
};
use crate::hydraulics::{
    Coolant,
    friction::{InBore, dynamic_pressure_pa, velocity_m_s},
    loss::{Band, Loss, Side, both_ways},
};
use std::f64::consts::{FRAC_PI_2, PI};

/// A tee: two ends in line (the run) and one to the side (the branch).
///
/// What a leg loses depends on how the flow splits, so it is no law of that leg's flow alone: with little flow the
/// branch of a dividing tee still loses what the passing coolant does not turn into it, and the branch of a
/// combining tee is even drawn along. [`Tee::losses_pa`] therefore takes all three flows.
///
/// Sources: Crane, Technical Paper 410 (2009), equations 2-35 to 2-38, as in the open library fluids 1.3.1, for the run
/// and the branch where one end of the run carries the whole flow. Where the branch carries it: dividing,
/// `1 + 0.69 (w/wc)²`, which meets Crane's branch when all goes one way and lies between Idelchik's constants of 0.3
/// and 1.5; combining, Idelchik's `1 + a² + 3 a² (q² - q)`, `a` the bore area of the branch over that of the run (both
/// from memory). The laminar part, 200/Re through the run and 500/Re round the corner, is Darby's for threaded tees.
///
/// A branch may lean to one end of the run. Crane has constants for turns of 30° to 60° and for 90°; between 60° and 90°
/// they are led over in proportion, and beyond 90°, where the coolant turns back and nobody has any, the laws for 90°
/// lose more by the term with the cosine of the turn that Crane's laws for smaller angles have.
///
/// Band: ±40 % and at least ±0.2, fading with the flow in the leg (downwards also with the flow of the branch, in the
/// run), and ±60 % for a turn back; a judgement: authors differ by half, and none measured at 10 mm. The laminar part is in the same doubt. Each leg is off on its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tee {
    run_bore_m: f64,
    branch_bore_m: f64,
    /// Of the angle by which coolant turns from [`TeeLeg::RunA`] into the branch; 0 for a right angle.
    cosine: f64,
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

/// The same for a turn back by more than a right angle.
const BAND_BACK: f64 = 0.6;

/// Size below which a coefficient is in as much doubt as at it: it passes through zero where gain and loss balance.
const LEAST_DOUBTED: f64 = 0.5;

/// Share of the flow below which the doubt fades: a leg without flow feels the pressure on the wall of the run, which
/// is the total less one dynamic pressure, whatever the shape.
const CERTAIN_BELOW: f64 = 0.2;

impl Tee {
    /// A square tee with a bore through the run and one in the branch, in metres.
    ///
    /// # Errors
    /// A bore that is not above zero.
    pub fn new(run_bore_m: f64, branch_bore_m: f64) -> Result<Self, LocalError> {
        for value in [run_bore_m, branch_bore_m] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(LocalError::NotPositive { what: "bore in m", value });
            }
        }
        Ok(Self { run_bore_m, branch_bore_m, cosine: 0.0 })
    }

    /// The same tee with a branch that leans: coolant that comes in by [`TeeLeg::RunA`] and leaves by the branch turns by
    /// `angle_rad`, less than a right angle where the branch leans away from that end.
    ///
    /// # Errors
    /// An angle that is not above 0 and below π.
    pub fn with_angle(self, angle_rad: f64) -> Result<Self, LocalError> {
        if angle_rad > 0.0 && angle_rad < PI {
            let cosine = if angle_rad == FRAC_PI_2 { 0.0 } else { angle_rad.cos() };
            Ok(Self { cosine, ..self })
        } else {
            Err(LocalError::NotPositive { what: "angle of a branch in rad, below π,", value: angle_rad })
        }
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
        self.losses_at(into_m3_s, coolant, [side.place(); 3])
    }

    /// The same with each leg where it stands in its own doubt.
    pub(in crate::hydraulics) fn losses_at(
        &self,
        into_m3_s: [f64; 3],
        coolant: &Coolant,
        places: [f64; 3],
    ) -> [f64; 3] {
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
            let (from, to) = (TeeLeg::ALL[common], TeeLeg::ALL[leg]);
            let mut coefficient = self.coefficient(from, to, share, dividing);
            if places[leg] != 0.0 {
                let straight = from != TeeLeg::Branch && to != TeeLeg::Branch;
                let turns_back = !straight && self.cosine_between(from, to) < -1e-9;
                let band = if turns_back { BAND_BACK } else { BAND };
                // Straight on past a branch without flow, coolant may lose more than Crane says, but it cannot gain.
                let certain = if straight && places[leg] < 0.0 { share.min(1.0 - share) } else { share };
                let doubt = band * (certain / CERTAIN_BELOW).min(1.0) * coefficient.abs().max(LEAST_DOUBTED);
                coefficient += places[leg] * doubt;
            }
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
        let cosine = self.cosine_between(common, leg);
        match (common, leg, dividing) {
            (TeeLeg::Branch, _, true) => {
                let speed = share * area_ratio;
                1.0 + 0.69 * speed * speed - 2.0 * cosine * speed
            }
            (TeeLeg::Branch, _, false) => {
                let square = area_ratio * area_ratio;
                1.0 + square + 3.0 * square * (share * share - share) - 2.0 * cosine * area_ratio * share * share
            }
            (_, TeeLeg::Branch, true) => dividing_branch(area_ratio, share, cosine),
            (_, TeeLeg::Branch, false) => combining_branch(area_ratio, share, cosine),
            (_, TeeLeg::RunA | TeeLeg::RunB, true) => dividing_run(area_ratio, 1.0 - share),
            (_, TeeLeg::RunA | TeeLeg::RunB, false) => combining_run(area_ratio, 1.0 - share, cosine),
        }
    }

    /// The part of a leg's loss that is linear in its own flow, from the port to the middle.
    #[must_use]
    pub fn laminar_loss(&self, leg: TeeLeg, flow_m3_s: f64, coolant: &Coolant) -> Loss {
        self.laminar_loss_at(leg, flow_m3_s, coolant, 0.0)
    }

    pub(in crate::hydraulics) fn laminar_loss_at(
        &self,
        leg: TeeLeg,
        flow_m3_s: f64,
        coolant: &Coolant,
        place: f64,
    ) -> Loss {
        let k1 = match leg {
            TeeLeg::RunA | TeeLeg::RunB => 100.0,
            TeeLeg::Branch => 400.0,
        };
        let k1 = k1 * Band::plus_minus(BAND).factor_at(place);
        both_ways(flow_m3_s, |flow| InBore::new(flow, self.bore_m(leg), coolant).coefficient(k1, 0.0))
    }

    /// Cosine of the angle by which coolant turns between the branch and the end of the run that is one of two legs; where
    /// both are, that of the one with the whole flow.
    fn cosine_between(&self, common: TeeLeg, leg: TeeLeg) -> f64 {
        let run = if common == TeeLeg::Branch { leg } else { common };
        if run == TeeLeg::RunB { -self.cosine } else { self.cosine }
    }
}
