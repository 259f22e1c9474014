//! Moves that would close a chain, before they are checked.

use super::{
    super::Chain,
    ANY_MM, NearMissWishes,
    movers::Mover,
    parts_of,
    widened::{Reach, aligning_turn, miss, named, widened},
};
use crate::{
    catalog::Catalog,
    geometry::{Point, Pose, Solid, Vector, turned},
    layout::{Layout, Move},
};
use std::cell::Cell;

/// Chains looked at for each component and rung.
const CHAINS: usize = 40;

/// Chains looked at where those that are blocked are among them.
const MANY_CHAINS: usize = 200;

/// Farthest turn that is looked for at one time, in degrees: the closed forms take small angles for small.
const MOST_TURN_DEG: f64 = 10.0;

/// Turns farther than that are looked for around steps of this many degrees.
const TURN_STEP_DEG: f64 = 15.0;

/// Rounds of going back and forth between where the play ends and where the chain would end.
const ROUNDS: usize = 3;

/// Share of the closure allowance that a move may leave open, to be a simpler one.
const SIMPLER: f64 = 0.5;

/// Play is written with rounding.
const ROUNDING: f64 = 1e-9;

/// A move to be checked.
pub(super) struct Candidate {
    pub(super) by: Move,
    pub(super) in_play: bool,
    pub(super) size_mm: f64,
    pub(super) parts: usize,
    /// The parts of the chain, by their ids, from the first port of the gap that was asked about.
    pub(super) chain: Vec<String>,
    /// Which catalog of parts.
    pub(super) catalog: usize,
}

/// The search for moves of one component.
pub(super) struct Search<'a> {
    pub(super) catalog: &'a Catalog,
    pub(super) layout: &'a Layout,
    pub(super) mover: &'a Mover,
    pub(super) wishes: &'a NearMissWishes<'a>,
    /// Longest shift, in millimetres.
    pub(super) reach_mm: f64,
    /// Whether chains are looked for through whatever is in their way, and those that are blocked left out afterwards: it
    /// spares holding each of the thousands against everything where many close and few are clear.
    pub(super) through_everything: bool,
    /// Set when a search stops at its budget, or had too many chains to go through.
    pub(super) stopped: &'a Cell<bool>,
}

impl Search<'_> {
    /// Adds the shifts that would close a chain, and with small turns where the play allows them.
    pub(super) fn candidates(&self, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(body) = self.layout.body(self.mover.body) else { return };
        let allowed_deg = self.layout.allowances().closure_deg;
        for chain in self.near(self.catalog, self.layout, allowed_deg) {
            self.candidate(&chain, 0.0, catalogs, candidates);
        }
        if body.play_turn_deg > 0.0 {
            self.aligned(0.0, body.play_turn_deg.min(MOST_TURN_DEG), catalogs, candidates);
        }
    }

    /// Adds the moves with turns of more than a few degrees, as far as the play allows.
    pub(super) fn turned_candidates(&self, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(body) = self.layout.body(self.mover.body) else { return };
        let mut base_deg = TURN_STEP_DEG;
        while base_deg - TURN_STEP_DEG / 2.0 <= body.play_turn_deg {
            self.aligned(base_deg, TURN_STEP_DEG / 2.0, catalogs, candidates);
            self.aligned(-base_deg, TURN_STEP_DEG / 2.0, catalogs, candidates);
            base_deg += TURN_STEP_DEG;
        }
    }

    /// Adds the moves that turn the component into line with the end of a chain, by a turn near `base_deg`.
    fn aligned(&self, base_deg: f64, about_deg: f64, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(play_deg) = self.layout.body(self.mover.body).map(|body| body.play_turn_deg) else { return };
        let by = Move { body: self.mover.body, shift_mm: [0.0; 3], turn_deg: base_deg };
        let Some(turned) = self.layout.moved(&by) else { return };
        let allowed_deg = self.layout.allowances().closure_deg;
        for chain in self.near(self.catalog, &turned, about_deg + allowed_deg) {
            let turn = aligning_turn(self.catalog, &turned, self.mover, &chain);
            let Some((turn, left)) = turn else { continue };
            let turn = base_deg + turn;
            let needless = base_deg == 0.0 && chain.residual_deg <= allowed_deg;
            if !needless && left <= allowed_deg && turn.abs() <= play_deg + ROUNDING {
                // Tenths of a degree are as fine as anybody turns a component by hand.
                let turn = (turn * 10.0).round() / 10.0;
                self.candidate(&chain, turn.clamp(-play_deg, play_deg), catalogs, candidates);
            }
        }
    }

    fn near(&self, catalog: &Catalog, layout: &Layout, deg: f64) -> Vec<Chain> {
        let reach = Reach { mm: self.reach_mm, deg };
        let look = |wishes: &NearMissWishes, want: usize| {
            let (chains, stopped) = widened(catalog, layout, self.mover, reach, wishes, want);
            self.stopped.set(self.stopped.get() || stopped);
            chains
        };
        if !self.through_everything {
            return look(self.wishes, CHAINS);
        }
        let mut chains = look(&NearMissWishes { clearance_mm: Some(ANY_MM), ..*self.wishes }, MANY_CHAINS);
        let many = chains.len() == MANY_CHAINS;
        let asked = self.wishes.clearance_mm.unwrap_or(self.layout.allowances().clearance_mm);
        chains.retain(|chain| chain.clearance.as_ref().is_none_or(|clearance| clearance.mm >= asked));
        self.stopped.set(self.stopped.get() || many && chains.is_empty());
        chains
    }

    /// The moves that would close `chain`, after a turn that brings the port in line with its end.
    fn candidate(&self, chain: &Chain, turn_deg: f64, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(body) = self.layout.body(self.mover.body) else { return };
        let Some(parts) = parts_of(self.catalog, chain) else { return };
        let shift =
            if turn_deg == 0.0 { Some(miss(chain)) } else { self.shift_left(&parts, turn_deg, Vector::zeros()) };
        let Some(shift) = shift else { return };
        let allowed = self.layout.allowances().closure_mm;
        let mut shifts = Vec::new();
        if shift.norm() <= self.reach_mm {
            shifts.push(graspable(simpler(shift, allowed * SIMPLER), allowed));
            shifts.push(graspable(shift, allowed));
        }
        shifts.extend(self.within_play(&parts, turn_deg, shift));
        for shift in shifts {
            if shift == Vector::zeros() && turn_deg == 0.0 {
                continue;
            }
            let by = Move { body: self.mover.body, shift_mm: shift.into(), turn_deg };
            let in_play = shift.iter().zip(body.play_mm).all(|(shift, play)| shift.abs() <= play + ROUNDING);
            candidates.push(Candidate {
                by,
                in_play,
                size_mm: self.size_mm(&by),
                parts: chain.parts.len(),
                chain: named(chain, self.mover.reversed),
                catalog: catalogs.len(),
            });
        }
        catalogs.push(parts);
    }

    /// A shift within the component's play that closes the chain: from where the chain would have the component, back
    /// to the nearest place that the play allows, to where the chain can follow, and so on.
    fn within_play(&self, parts: &Catalog, turn_deg: f64, shift: Vector) -> Option<Vector> {
        let play = self.layout.body(self.mover.body)?.play_mm;
        if play == [0.0; 3] {
            return None;
        }
        let allowed = self.layout.allowances().closure_mm;
        let clamped = |shift: Vector| Vector::from_fn(|axis, _| shift[axis].clamp(-play[axis], play[axis]));
        let mut wanted = shift;
        for _ in 0..ROUNDS {
            let possible = clamped(wanted);
            let left = (wanted - possible).norm();
            if left <= allowed * (1.0 - SIMPLER) {
                return Some(clamped(graspable(simpler(possible, allowed * SIMPLER - left), allowed)));
            }
            wanted = possible + self.shift_left(parts, turn_deg, possible)?;
        }
        None
    }

    /// The shift that is left to make after a turn and a shift.
    fn shift_left(&self, parts: &Catalog, turn_deg: f64, shift: Vector) -> Option<Vector> {
        let moved = self.layout.moved(&Move { body: self.mover.body, shift_mm: shift.into(), turn_deg })?;
        let chains = self.near(parts, &moved, self.layout.allowances().closure_deg);
        chains.iter().map(miss).min_by(|a, b| a.norm().total_cmp(&b.norm()))
    }

    /// How far the farthest corner of the box around what moves travels, in millimetres.
    fn size_mm(&self, by: &Move) -> f64 {
        let Some(body) = self.layout.body(by.body) else { return 0.0 };
        let shift = Vector::from(by.shift_mm);
        if by.turn_deg == 0.0 {
            return shift.norm();
        }
        let turn: Pose = body.pose * turned(by.turn_deg.to_radians()) * body.pose.inverse();
        let moved = self.mover.travelling.iter().filter_map(|body| self.layout.body(*body));
        let bounds = moved.flat_map(|body| &body.solids).map(Solid::bounds).reduce(|all, next| all.union(&next));
        let Some(bounds) = bounds else { return shift.norm() };
        let corner = |index: usize| {
            Point::from(Vector::from_fn(
                |axis, _| {
                    if index >> axis & 1 == 0 { bounds.min[axis] } else { bounds.max[axis] }
                },
            ))
        };
        (0..8).map(corner).map(|corner| (turn * corner - corner + shift).norm()).fold(0.0, f64::max)
    }
}

/// The shift without the components that the allowance makes unnecessary, smallest first.
fn simpler(shift: Vector, spare_mm: f64) -> Vector {
    let mut axes = [0, 1, 2];
    axes.sort_by(|a, b| shift[*a].abs().total_cmp(&shift[*b].abs()));
    let (mut simple, mut left) = (shift, 0.0_f64);
    for axis in axes {
        if left.hypot(shift[axis]) > spare_mm {
            break;
        }
        left = left.hypot(shift[axis]);
        simple[axis] = 0.0;
    }
    simple
}

/// The shift in the coarsest decimal fractions that the allowance hides: a person measures tenths, not millionths.
fn graspable(shift: Vector, allowed_mm: f64) -> Vector {
    let mut steps = 10.0;
    while 2.0 / steps > allowed_mm && steps < 1e6 {
        steps *= 10.0;
    }
    shift.map(|shift| (shift * steps).round() / steps + 0.0)
}
