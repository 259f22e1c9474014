//! The near misses of a gap as a report shows them.

use super::PartReport;
use crate::{
    bridge::{Chain, ChainPart, NearMisses},
    catalog::Catalog,
};

/// The near misses of a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct NearMissReport {
    /// What was found.
    pub found: NearMisses,
    /// For each suggested move, the parts of its chain as a person needs them.
    pub chains: Vec<Vec<PartReport>>,
}

impl NearMissReport {
    /// Gathers what there is to say of `found`, whose parts come from `catalog`. `None` if they do not.
    #[must_use]
    pub fn new(catalog: &Catalog, found: NearMisses) -> Option<Self> {
        let parts = |chain: &Chain| -> Option<Vec<PartReport>> {
            let part = |part: &ChainPart| Some(PartReport::new(catalog.fitting(&part.fitting)?, part));
            chain.parts.iter().map(part).collect()
        };
        let chains = found.moves.iter().map(|suggestion| parts(&suggestion.chain)).collect::<Option<_>>()?;
        Some(Self { found, chains })
    }
}
