//! The two ports that a chain is to join, as the search sees them: what can reach from the one to the other, has room
//! there, and still matters.

use super::{depths::Depths, doorways::Doorways, middles::Middles};
use crate::bridge::{
    closure::{Allowance, Line, Span},
    stock::{Run, RunList, Runs, Stock, TurnId},
};
use std::sync::atomic::{AtomicU64, Ordering};

/// What sums of lengths are rounded by at most, and much less than matters.
const ROUNDING_MM: f64 = 1e-6;

/// What a search through pairs of halves needs.
pub(super) struct Meeting<'a> {
    pub(in crate::bridge) stock: &'a Stock,
    pub(in crate::bridge) runs: &'a Runs<'a>,
    pub(in crate::bridge) doorways: &'a Doorways<'a>,
    pub(in crate::bridge) depths: &'a Depths<'a>,
    pub(in crate::bridge) from: Line,
    pub(in crate::bridge) to: Line,
    /// From port to port.
    pub(in crate::bridge) distance_mm: f64,
    /// Where the other port is as seen from each: along its axis and beside it.
    pub(in crate::bridge) beyond: [[f64; 2]; 2],
    pub(in crate::bridge) allowance: Allowance,
    pub(super) middles: Middles,
    /// Least loss that this portion of the search is about.
    pub(in crate::bridge) low: u64,
    /// Loss from which on chains belong to another portion, or cannot be among the best any more.
    pub(in crate::bridge) high: AtomicU64,
}

impl Meeting<'_> {
    /// Loss from which on chains do not matter to it.
    pub(in crate::bridge) fn high(&self) -> u64 {
        self.high.load(Ordering::Relaxed)
    }

    /// Whether a loss belongs to this portion of the search.
    pub(in crate::bridge) fn wants(&self, loss: u64) -> bool {
        (self.low..self.high()).contains(&loss)
    }

    /// Whether parts of this loss and `more` others can make a chain that belongs to it.
    pub(super) fn may_want(&self, loss: u64, more: usize) -> bool {
        loss < self.high() && loss + self.stock.lossiest * more as u64 >= self.low
    }

    /// Whether a chain that begins or ends with these has room at its ports.
    pub(in crate::bridge) fn has_room(&self, port: usize, run: &Run, turn: TurnId) -> bool {
        let seen = if port == 0 { turn } else { self.stock.turns[turn].reverse };
        !self.doorways.bars(port, seen, run.span)
    }

    /// Whether a run of `list` that joins a port to a turning part has room there.
    pub(super) fn goes_ahead(&self, port: usize, list: &RunList, run: &Run) -> bool {
        !self.doorways.bars_run(port, list, run)
    }

    /// Whether parts that reach so far, and `more` others, reach from the one port to the other.
    pub(in crate::bridge) fn reaches(&self, reach_mm: f64, more: usize) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "at most MOST_PARTS")]
        let more = more as f64;
        reach_mm + self.stock.longest_mm() * more + self.allowance.mm + ROUNDING_MM >= self.distance_mm
    }

    /// Whether a chain from one of the ports, whose last corner lies within `away` of a circle about the port's axis, can
    /// reach the other port with parts that reach `rest_mm`. The circle is as wide as `beside` at `ahead` of the port.
    pub(in crate::bridge) fn comes_near(
        &self,
        port: usize,
        [ahead, beside]: [f64; 2],
        away: f64,
        rest_mm: f64,
    ) -> bool {
        let [other_ahead, other_beside] = self.beyond[port];
        let least_squared = (other_ahead - ahead).powi(2) + (other_beside - beside).powi(2);
        let reach = away + rest_mm;
        // Either end may be off by the allowance, and lean.
        let whole = reach + ahead.abs() + beside;
        least_squared <= (reach + self.allowance.mm + self.allowance.rad * whole + ROUNDING_MM).powi(2)
    }

    /// Whether the same can reach the other port's axis somewhere in `corner` ahead of that port, over `reach` from the
    /// circle.
    pub(super) fn comes_near_axis(&self, port: usize, [ahead, beside]: [f64; 2], reach: f64, corner: Span) -> bool {
        let [own, other] = if port == 0 { [&self.from, &self.to] } else { [&self.to, &self.from] };
        let from_other = own.at + own.towards * ahead - other.at;
        let nearest = from_other.dot(&other.towards).clamp(corner.shortest, corner.longest);
        let least_squared = (from_other - other.towards * nearest).norm_squared();
        let whole = reach + ahead.abs() + beside + corner.longest;
        let reach = reach + beside + self.allowance.mm + self.allowance.rad * whole + ROUNDING_MM;
        least_squared <= reach.powi(2)
    }

    /// Leaves chains of more than this loss out from now on.
    pub(in crate::bridge) fn limit(&self, loss: u64) {
        self.high.fetch_min(loss.saturating_add(1), Ordering::Relaxed);
    }
}
