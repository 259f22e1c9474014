//! Bodies that overlap, touch, or come too near.

use crate::{
    geometry::{Bounds, FreeingMove, Separation, State, freeing_moves, separation_within},
    layout::{Body, BodyKind, Layout},
};

/// Two bodies that overlap, touch, or come nearer than the allowance.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    /// The component; of two components, the first in the file, unless the other is mounted on it and would be taken
    /// along by any move.
    pub a: String,
    /// The panel, or the other component.
    pub b: String,
    /// Whether `b` is a panel.
    pub b_is_panel: bool,
    /// The pair of solids that is worst: deepest, or nearest.
    pub worst: SolidPair,
    /// Every pair of solids that overlaps, deepest first; empty when none does.
    pub overlapping: Vec<SolidPair>,
    /// When they overlap: for `+x`, `-x`, `+y`, `-y`, `+z`, `-z` in that order, the shortest move of `a` along it that
    /// frees it of `b`, whatever else may be in the way.
    pub moves: Option<[FreeingMove; 6]>,
}

impl Meeting {
    /// How the two bodies stand: as their worst pair of solids does.
    #[must_use]
    pub fn state(&self) -> State {
        self.worst.separation.state
    }
}

/// A solid of one body against a solid of another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidPair {
    /// Which solid of the first body, in the order of the file.
    pub a: usize,
    /// Which solid of the second.
    pub b: usize,
    /// How they stand to each other, from the first to the second.
    pub separation: Separation,
}

/// Every two bodies nearer than `clearance_mm`, worst first; equals in the order of the file.
pub(super) fn meetings(layout: &Layout, clearance_mm: f64) -> Vec<Meeting> {
    let bounded: Vec<_> = layout.bodies_by_id().filter_map(|(id, body)| Some((id, body, bounds(body)?))).collect();
    let mut found = Vec::new();
    for (index, (first_id, first, first_bounds)) in bounded.iter().enumerate() {
        for (second_id, second, second_bounds) in bounded.iter().skip(index + 1) {
            if first_bounds.signed_mm(second_bounds) > clearance_mm {
                continue;
            }
            let pair = match (is_panel(first), is_panel(second)) {
                (true, true) => continue,
                (true, false) => (*second, *first),
                (false, false) if layout.rides_on(*second_id, *first_id) => (*second, *first),
                _ => (*first, *second),
            };
            found.extend(meeting(pair.0, pair.1, clearance_mm));
        }
    }
    // The sort is stable, which keeps equals in the order of the file.
    found.sort_by(|one, other| one.worst.separation.signed_mm.total_cmp(&other.worst.separation.signed_mm));
    found
}

/// The upright box around a body; `None` for a body without solids.
pub(super) fn bounds(body: &Body) -> Option<Bounds> {
    body.solids.iter().map(crate::geometry::Solid::bounds).reduce(|all, next| all.union(&next))
}

fn is_panel(body: &Body) -> bool {
    matches!(body.kind, BodyKind::Panel { .. })
}

fn meeting(a: &Body, b: &Body, clearance_mm: f64) -> Option<Meeting> {
    let mut pairs: Vec<SolidPair> = Vec::new();
    for (index_a, solid_a) in a.solids.iter().enumerate() {
        for (index_b, solid_b) in b.solids.iter().enumerate() {
            let near = separation_within(solid_a, solid_b, clearance_mm);
            pairs.extend(near.map(|separation| SolidPair { a: index_a, b: index_b, separation }));
        }
    }
    pairs.sort_by(|one, other| one.separation.signed_mm.total_cmp(&other.separation.signed_mm));
    let worst = *pairs.first()?;
    // At the allowance itself there is enough room; and a touch counts even where the allowance is zero.
    if worst.separation.state == State::Clear && worst.separation.signed_mm >= clearance_mm {
        return None;
    }
    pairs.retain(|pair| matches!(pair.separation.state, State::Overlapping | State::Inside));
    let moves = (!pairs.is_empty()).then(|| freeing_moves(&b.solids, &a.solids, 0.0));
    Some(Meeting { a: a.name.clone(), b: b.name.clone(), b_is_panel: is_panel(b), worst, overlapping: pairs, moves })
}
