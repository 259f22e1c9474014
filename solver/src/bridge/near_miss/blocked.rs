//! What stands in the way of chains that close but collide.

use super::{
    super::{
        BadWish, Chain, Completeness, Wishes,
        bad_wish::ports_of,
        placed::{Obstacle, Site},
        search::closing,
    },
    NearMissWishes,
};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout, Port},
};
use std::{cmp::Reverse, collections::BTreeMap};

/// Why the chains that close do not fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocked {
    /// How many chains that close were looked at: those of fewest parts and least loss.
    pub looked_at: usize,
    /// How many of these are clear of everything.
    pub clear: usize,
    /// Whether these are all there are of that many parts.
    pub all: bool,
    /// All that any of them is too near to, what stands in the way of most of them first.
    pub blockers: Vec<InTheWay>,
    /// Of those that are not, the chain for which least would have to give way, in all.
    pub best: Chain,
    /// The clearance allowance with which one of those would pass, in millimetres, the greatest there is; `None` if each of
    /// them overlaps something.
    pub passing_mm: Option<f64>,
}

/// Something in the way of chains that close.
#[derive(Clone, Debug, PartialEq)]
pub struct InTheWay {
    /// The panel or component; `None` where parts of the chain run into each other.
    pub body: Option<String>,
    /// The port of the gap that it carries, if it carries one.
    pub carries: Option<String>,
    /// Whether it carries a seat in which chains stand too deep, rather than standing beside them.
    pub is_seat: bool,
    /// How many of the chains it is in the way of.
    pub chains: usize,
    /// How many of these are clear of everything else.
    pub alone: usize,
    /// The least and the most by which it would have to give way for one of them, in millimetres.
    pub give_way_mm: [f64; 2],
}

/// Entries that are looked at.
const ENTRIES: usize = 100;

/// What is in the way of the chains of `gap` that close, of up to as many parts as `wishes` say: also where others fit, to see
/// why a chain of fewer parts does not. `None` where none closes, and where all that were looked at are clear.
///
/// # Errors
/// A wish that [`NearMissWishes::check`] refuses, and a gap that is not one between two ports of this layout.
pub fn in_the_way(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    wishes: &NearMissWishes,
) -> Result<Option<Blocked>, BadWish> {
    wishes.check()?;
    Ok(looked_into(catalog, layout, gap, ports_of(layout, gap)?, wishes))
}

/// What is in the way of the chains that close; `None` where none does, or where one of them keeps the clearance.
pub(super) fn blocked(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    ports: [&Port; 2],
    wishes: &NearMissWishes,
) -> Option<Blocked> {
    // A search that only sampled may have missed one that does, and then what is in the way of the others is not to blame.
    looked_into(catalog, layout, gap, ports, wishes).filter(|blocked| blocked.clear == 0)
}

fn looked_into(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    ports: [&Port; 2],
    wishes: &NearMissWishes,
) -> Option<Blocked> {
    let asked = Wishes { closure_budget: Some(wishes.blocked_budget), ..wishes.search(ENTRIES) };
    let answer = closing(catalog, layout, gap, &asked);
    let needed_mm = wishes.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
    let site = Site::new(catalog.fittings(), layout, ports, needed_mm);
    let looked_at = answer.chains.len();
    let crowded: Vec<(BTreeMap<Obstacle, f64>, Chain)> = answer
        .chains
        .into_iter()
        .map(|chain| (site.crowding(&chain, needed_mm), chain))
        .filter(|(crowd, _)| !crowd.is_empty())
        .collect();
    let mut found: BTreeMap<Obstacle, InTheWay> = BTreeMap::new();
    for (crowd, _) in &crowded {
        for (what, mm) in crowd {
            let known = found.entry(*what).or_insert_with(|| obstacle(layout, ports, *what));
            known.chains += 1;
            known.alone += usize::from(crowd.len() == 1);
            known.give_way_mm = [known.give_way_mm[0].min(*mm), known.give_way_mm[1].max(*mm)];
        }
    }
    let mut blockers: Vec<InTheWay> = found.into_values().collect();
    // The sort is stable: equals stay in the order of the layout.
    blockers.sort_by_key(|blocker| Reverse((blocker.chains, blocker.alone)));
    let passing_mm = crowded.iter().filter_map(|(crowd, _)| passing_mm(crowd, needed_mm)).reduce(f64::max);
    let all = matches!(answer.completeness, Completeness::Complete { .. });
    let clear = looked_at - crowded.len();
    // The first of equals, as listed.
    let worst = |crowd: &BTreeMap<Obstacle, f64>| crowd.values().copied().fold(0.0, f64::max);
    let (_, best) =
        crowded.into_iter().reduce(|best, next| if worst(&next.0) < worst(&best.0) { next } else { best })?;
    Some(Blocked { looked_at, clear, all, blockers, best, passing_mm })
}

fn obstacle(layout: &Layout, ports: [&Port; 2], what: Obstacle) -> InTheWay {
    let index = match what {
        Obstacle::Body(index) | Obstacle::Seat(index) => Some(index),
        Obstacle::Itself => None,
    };
    let carried = ports.into_iter().find(|port| index == Some(port.body.index()));
    InTheWay {
        body: index.and_then(|index| layout.bodies().get(index)).map(|body| body.name.clone()),
        carries: carried.map(|port| port.name.clone()),
        is_seat: matches!(what, Obstacle::Seat(_)),
        chains: 0,
        alone: 0,
        give_way_mm: [f64::INFINITY, 0.0],
    }
}

/// The clearance allowance with which a chain would pass; `None` where no allowance helps, because it overlaps something or
/// itself, or stands too deep in what carries its seat.
fn passing_mm(crowd: &BTreeMap<Obstacle, f64>, needed_mm: f64) -> Option<f64> {
    if crowd.keys().any(|what| matches!(what, Obstacle::Itself | Obstacle::Seat(_))) {
        return None;
    }
    let left_mm = needed_mm - crowd.values().copied().fold(0.0, f64::max);
    (left_mm >= 0.0).then_some(left_mm)
}
