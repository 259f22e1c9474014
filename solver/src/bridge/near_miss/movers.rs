//! Which components can move to open a gap.

use crate::layout::{BodyId, BodyKind, Gap, Layout};
use std::iter;

/// Which end of a gap moves.
#[derive(Clone, Debug)]
pub(super) struct Mover {
    /// The component that moves.
    pub(super) body: BodyId,
    /// It, and all that is mounted on it and moves with it.
    pub(super) travelling: Vec<BodyId>,
    /// The gap, asked for so that it ends at that component: a miss is then the shift that makes up for it.
    pub(super) gap: Gap,
    /// Whether its chains run the other way round than the gap that was asked about.
    pub(super) reversed: bool,
}

/// The components that can move an end of the gap: those of the two ports, and what these are mounted on. Those with play
/// come first, of these the second port's. One that takes the other end along opens nothing.
pub(super) fn movers(layout: &Layout, gap: &Gap) -> Vec<Mover> {
    let body = |port| layout.port_by_id(port).map(|port| port.body);
    let (Some(from), Some(to)) = (body(gap.from), body(gap.to)) else { return Vec::new() };
    let back = Gap { from: gap.to, to: gap.from };
    let carrier = |body: BodyId| layout.body(body).and_then(|body| body.mounted_on);
    let mut movers = Vec::new();
    for (end, other, gap, reversed) in [(to, from, *gap, false), (from, to, back, true)] {
        for body in iter::successors(Some(end), |body| carrier(*body)) {
            let travelling = layout.travelling_with(body);
            let component = layout.body(body).is_some_and(|body| body.kind == BodyKind::Component);
            if component && !travelling.contains(&other) {
                movers.push(Mover { body, travelling, gap, reversed });
            }
        }
    }
    let fixed = |mover: &Mover| {
        layout.body(mover.body).is_some_and(|body| body.play_mm == [0.0; 3] && body.play_turn_deg == 0.0)
    };
    movers.sort_by_key(fixed);
    movers
}
