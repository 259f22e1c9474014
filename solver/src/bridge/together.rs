//! Chains of different gaps in one machine: whether they leave room for each other.
//!
//! `bridge` looks at one gap at a time. Where several gaps lie close together, the best chain of each may stand where
//! that of its neighbour does; then the best set of chains that can be built together is wanted.

use super::{
    answer::Chain,
    bad_wish::{BadWish, clearance},
};
use crate::{
    catalog::Catalog,
    geometry::{Bounds, Solid, separation_within},
};

/// Sets of chains looked at before the search for one that fits together gives up. Neighbouring gaps that conflict
/// are few, so that a search which needs more has no answer worth waiting for.
const MOST_SETS: usize = 10_000;

/// One chain for each gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// For each gap, in order, which of its chains is chosen; `None` for a gap without any.
    pub chosen: Vec<Option<usize>>,
    /// The two gaps whose chosen chains come nearest to each other, and how near, in millimetres; `None` with fewer
    /// than two chains, or when none comes within [`super::CLEARANCE_HORIZON_MM`] of another.
    pub nearest: Option<(usize, usize, f64)>,
    /// Whether every two chosen chains keep the clearance asked for. When they do not, the chosen chains are simply
    /// the best of each gap.
    pub agree: bool,
}

/// Chooses a chain for each gap so that all of them keep `clearance_mm` from each other, preferring better-ranked
/// chains of earlier gaps. `gaps` lists the ranked chains of each gap, as `bridge` gives them.
///
/// # Errors
/// A clearance outside [`CLEARANCES_MM`](super::CLEARANCES_MM), and a chain that [`Chain::check`] refuses: one whose parts
/// are not in the catalog would have no solids and be in nobody's way.
pub fn together(catalog: &Catalog, gaps: &[&[Chain]], clearance_mm: f64) -> Result<Together, BadWish> {
    clearance(Some(clearance_mm))?;
    gaps.iter().copied().flatten().try_for_each(|chain| chain.check(catalog))?;
    Ok(chosen(catalog, gaps, clearance_mm))
}

fn chosen(catalog: &Catalog, gaps: &[&[Chain]], clearance_mm: f64) -> Together {
    let bodies: Vec<Vec<Outline>> =
        gaps.iter().map(|chains| chains.iter().map(|chain| Outline::new(catalog, chain)).collect()).collect();
    let mut chosen = Vec::with_capacity(gaps.len());
    let mut sets = 0;
    let agree = choose(&bodies, clearance_mm, &mut chosen, &mut sets);
    if !agree {
        chosen = bodies.iter().map(|bodies| (!bodies.is_empty()).then_some(0)).collect();
    }
    let body_of = |gap: usize| chosen[gap].map(|index| &bodies[gap][index]);
    let mut nearest: Option<(usize, usize, f64)> = None;
    for first in 0..gaps.len() {
        for second in first + 1..gaps.len() {
            let (Some(one), Some(other)) = (body_of(first), body_of(second)) else { continue };
            let horizon = nearest.map_or(super::CLEARANCE_HORIZON_MM, |(.., mm)| mm);
            if let Some(mm) = one.nearer_than(other, horizon) {
                nearest = Some((first, second, mm));
            }
        }
    }
    Together { chosen, nearest, agree }
}

/// Chooses like [`together`], and where the best chains of some gaps stand in each other's way, asks `more` for longer lists
/// of these gaps: `more(gap, want)` gives up to `want` chains of the gap, or `None` when there are no more than are known.
/// Ends when the choice agrees, or when there are no more chains, or `most` of each gap. `gaps` keeps the longer lists.
///
/// # Errors
/// As [`together`], for the chains of `more` as well.
pub fn choose_together(
    catalog: &Catalog,
    gaps: &mut [Vec<Chain>],
    clearance_mm: f64,
    most: usize,
    mut more: impl FnMut(usize, usize) -> Option<Vec<Chain>>,
) -> Result<Together, BadWish> {
    loop {
        let chains: Vec<&[Chain]> = gaps.iter().map(Vec::as_slice).collect();
        let set = together(catalog, &chains, clearance_mm)?;
        if set.agree {
            return Ok(set);
        }
        let mut grew = false;
        for gap in in_each_others_way(catalog, &chains, clearance_mm) {
            let known = gaps[gap].len();
            if known < most
                && let Some(longer) = more(gap, (known * MORE).max(FIRST_MORE).min(most))
            {
                grew |= longer.len() > known;
                gaps[gap] = longer;
            }
        }
        if !grew {
            return Ok(set);
        }
    }
}

/// How many chains of a gap are asked for first when its best is in the way, and how many times as many next.
const FIRST_MORE: usize = 20;
const MORE: usize = 4;

/// Gaps whose best chain comes nearer than `clearance_mm` to that of another gap.
fn in_each_others_way(catalog: &Catalog, gaps: &[&[Chain]], clearance_mm: f64) -> Vec<usize> {
    let best: Vec<Option<Outline>> =
        gaps.iter().map(|chains| chains.first().map(|chain| Outline::new(catalog, chain))).collect();
    let meets = |one: usize, other: usize| match (&best[one], &best[other]) {
        (Some(one_body), Some(other_body)) => one != other && one_body.nearer_than(other_body, clearance_mm).is_some(),
        _ => false,
    };
    (0..gaps.len()).filter(|one| (0..gaps.len()).any(|other| meets(*one, other))).collect()
}

/// Depth first in the order of the gaps; the first set found is the best by rank of the first gap, then the second.
fn choose(bodies: &[Vec<Outline>], clearance_mm: f64, chosen: &mut Vec<Option<usize>>, sets: &mut usize) -> bool {
    let gap = chosen.len();
    let Some(candidates) = bodies.get(gap) else { return true };
    if candidates.is_empty() {
        chosen.push(None);
        return choose(bodies, clearance_mm, chosen, sets) || {
            chosen.pop();
            false
        };
    }
    for (index, candidate) in candidates.iter().enumerate() {
        *sets += 1;
        if *sets > MOST_SETS {
            return false;
        }
        let fits = chosen.iter().enumerate().all(|(earlier, index)| {
            index.is_none_or(|index| candidate.nearer_than(&bodies[earlier][index], clearance_mm).is_none())
        });
        if fits {
            chosen.push(Some(index));
            if choose(bodies, clearance_mm, chosen, sets) {
                return true;
            }
            chosen.pop();
        }
    }
    false
}

/// The solids of a chain where its parts say that they are.
pub(super) fn solids_of(catalog: &Catalog, chain: &Chain) -> Vec<Solid> {
    let mut solids = Vec::new();
    for part in &chain.parts {
        let Some(fitting) = catalog.fitting(&part.fitting) else { continue };
        let placed = fitting.body(part.stretch_mm).into_iter();
        solids.extend(placed.filter_map(|solid| Solid::new(&solid.shape, part.pose * solid.pose).ok()));
    }
    solids
}

/// The solids of a chain in place, and a box around them.
pub(crate) struct Outline {
    solids: Vec<Solid>,
    bounds: Option<Bounds>,
}

impl Outline {
    pub(crate) fn new(catalog: &Catalog, chain: &Chain) -> Self {
        let solids = solids_of(catalog, chain);
        let bounds = solids.iter().map(Solid::bounds).reduce(|one, other| one.union(&other));
        Self { solids, bounds }
    }

    /// How near another chain comes, if nearer than `horizon_mm`.
    pub(crate) fn nearer_than(&self, other: &Self, horizon_mm: f64) -> Option<f64> {
        let (Some(bounds), Some(others)) = (self.bounds, other.bounds) else { return None };
        if bounds.signed_mm(&others) > horizon_mm {
            return None;
        }
        let mut least = None;
        let mut horizon = horizon_mm;
        for one in &self.solids {
            for two in &other.solids {
                if let Some(separation) = separation_within(one, two, horizon)
                    && separation.signed_mm < horizon
                {
                    horizon = separation.signed_mm;
                    least = Some(horizon);
                }
            }
        }
        least
    }
}
