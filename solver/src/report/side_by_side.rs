//! Chains of several gaps that can be built side by side: chosen from their reports, which are drawn longer where that is
//! needed.

use super::GapReport;
use crate::{
    bridge::{BadWish, Chain, Completeness, Together, choose_together},
    catalog::Catalog,
};

/// Most chains of a gap among which one is looked for that leaves room for the other gaps.
const MOST_CANDIDATES: usize = 100;

/// Chooses chains that can be built side by side, one for each report, searching again for more where the best ones
/// cannot: `again` is given the place of a report and how many chains are wanted, and answers `None` to stop. Lists stay
/// as long as they were wanted, or as the chain chosen needs. `None` for fewer than two reports.
///
/// # Errors
/// What `again` refuses, and what [`choose_together`] does.
pub fn side_by_side(
    catalog: &Catalog,
    found: &mut [GapReport],
    clearance_mm: f64,
    want: usize,
    again: impl Fn(usize, usize) -> Result<Option<GapReport>, BadWish>,
) -> Result<Option<Together>, BadWish> {
    if found.len() < 2 {
        return Ok(None);
    }
    let mut refused = None;
    let mut candidates: Vec<Vec<Chain>> = found.iter().map(|gap| gap.candidates().to_vec()).collect();
    let together = choose_together(catalog, &mut candidates, clearance_mm, MOST_CANDIDATES, |gap, want| {
        if matches!(found[gap].answer.completeness, Completeness::Complete { .. } | Completeness::Stopped { .. }) {
            return None;
        }
        match again(gap, want) {
            // A search that was told to stop may have found fewer.
            Ok(longer) => found[gap] = longer.filter(|longer| !longer.answer.was_cancelled())?,
            Err(bad) => {
                refused = Some(bad);
                return None;
            }
        }
        Some(found[gap].candidates().to_vec())
    })?;
    if let Some(bad) = refused {
        return Err(bad);
    }
    for (gap, chosen) in found.iter_mut().zip(&together.chosen) {
        gap.shorten(want, *chosen);
    }
    Ok(Some(together))
}
