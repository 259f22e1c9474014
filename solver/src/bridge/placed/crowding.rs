//! What a chain in place is too near to: every body, itself, and how far each would have to give way.

use super::site::{Built, Member, OVERLAP_MM, Site, pairs, run_along, solids_of};
use crate::{
    bridge::{answer::Chain, closure::Element},
    geometry::{SolidId, separation_within},
};
use std::collections::BTreeMap;

/// What stands in the way of a chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::bridge) enum Obstacle {
    /// A panel or component, by its place among the layout's bodies.
    Body(usize),
    /// The solid that carries one of its seats, of this body, because the chain stands too deep in it.
    Seat(usize),
    /// Parts of the chain run into each other.
    Itself,
}

impl Site<'_> {
    /// All that a chain is nearer to than `clearance_mm`, each with how far it would have to give way, in millimetres. What
    /// carries a seat only has to let the chain in as deep as the closure allowance does.
    pub(in crate::bridge) fn crowding(&self, chain: &Chain, clearance_mm: f64) -> BTreeMap<Obstacle, f64> {
        let mut found: BTreeMap<Obstacle, f64> = BTreeMap::new();
        let mut note = |what: Obstacle, mm: f64| {
            if mm > 0.0 {
                found.entry(what).and_modify(|most| *most = mm.max(*most)).or_insert(mm);
            }
        };
        let (built, last_run) = self.retrace(chain);
        for member in &built.solids {
            let bounds = member.solid.bounds();
            let excused = self.excused(member, last_run);
            for (index, (solid, owner)) in (0..).zip(self.scene.solids().iter().zip(&self.owners)) {
                let is_seat = excused.iter().any(|seats| seats.contains(&SolidId(index)));
                let horizon_mm = if is_seat { 0.0 } else { clearance_mm };
                if bounds.signed_mm(&solid.bounds()) > horizon_mm {
                    continue;
                }
                let Some(separation) = separation_within(&member.solid, solid, horizon_mm) else { continue };
                let least_mm = if is_seat { -self.seat_depth_mm() } else { clearance_mm };
                let what = if is_seat { Obstacle::Seat(*owner) } else { Obstacle::Body(*owner) };
                note(what, least_mm - separation.signed_mm);
            }
        }
        for (one, other) in pairs(&built) {
            if let Some(separation) = separation_within(&one.solid, &other.solid, 0.0) {
                note(Obstacle::Itself, -OVERLAP_MM - separation.signed_mm);
            }
        }
        found
    }

    /// The solids of a chain where its parts say that they are, and the number of its last run.
    pub(super) fn retrace(&self, chain: &Chain) -> (Built, usize) {
        let mut solids = Vec::new();
        let mut run = 0;
        for (index, part) in chain.parts.iter().enumerate() {
            let Some(fitting) = self.fittings.iter().find(|fitting| fitting.id == part.fitting) else { continue };
            let turning = part.turn_deg.is_some();
            for (solid, leg) in solids_of(fitting, part.stretch_mm) {
                let along = leg.and_then(|leg| run_along(fitting, part.entry, leg, turning, run));
                let element = if turning { Element::Turning(run) } else { Element::Run(run) };
                solids.push(Member { solid: solid.moved(&part.pose), part: index, run: along, element });
            }
            run += usize::from(turning);
        }
        (Built::of(solids), run)
    }
}
