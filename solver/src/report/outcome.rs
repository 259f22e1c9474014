//! How a command ended, in three words.

use crate::{
    bridge::{Answer, Completeness},
    interference::Interference,
};
use schemars::JsonSchema;
use serde::Serialize;

/// How a check or a search ended. Time running out is never mistaken for a proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Everything fits; every gap has a chain and its list is proven as far as it claims.
    Fits,
    /// Something overlaps, a port lies where none can be, or a gap is proven to have no chain.
    DoesNotFit,
    /// The search stopped before its proof, or only sampled and found nothing.
    NoProof,
}

impl Outcome {
    /// How the search of one gap ended.
    ///
    /// A search that was stopped has no proof even when it found chains: what it lists is real, but a better
    /// chain may have been missed.
    #[must_use]
    pub fn of(answer: &Answer) -> Self {
        match (&answer.completeness, answer.chains.is_empty()) {
            (Completeness::Stopped { .. }, _) | (Completeness::Sampled { .. }, true) => Self::NoProof,
            (_, false) => Self::Fits,
            (Completeness::Complete { .. } | Completeness::BestProven { .. }, true) => Self::DoesNotFit,
        }
    }

    /// How a check ended: it always has its proof.
    #[must_use]
    pub fn of_check(found: &Interference) -> Self {
        if found.fits() && found.is_seated() { Self::Fits } else { Self::DoesNotFit }
    }

    /// The one outcome that stands for several: `DoesNotFit` if any is, because that is certain and settles the
    /// whole; else `NoProof` if any is; else `Fits`.
    #[must_use]
    pub fn worst(outcomes: impl IntoIterator<Item = Self>) -> Self {
        outcomes.into_iter().fold(Self::Fits, |worst, next| match (worst, next) {
            (Self::DoesNotFit, _) | (_, Self::DoesNotFit) => Self::DoesNotFit,
            (Self::NoProof, _) | (_, Self::NoProof) => Self::NoProof,
            (Self::Fits, Self::Fits) => Self::Fits,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Outcome::{self, DoesNotFit, Fits, NoProof};

    #[test]
    fn a_proven_misfit_outranks_a_missing_proof_in_any_order() {
        for (outcomes, expected) in [
            (vec![], Fits),
            (vec![Fits, Fits], Fits),
            (vec![Fits, NoProof], NoProof),
            (vec![NoProof, Fits, DoesNotFit], DoesNotFit),
            (vec![DoesNotFit, NoProof], DoesNotFit),
        ] {
            assert_eq!(Outcome::worst(outcomes.clone()), expected, "{outcomes:?}");
            assert_eq!(Outcome::worst(outcomes.iter().rev().copied()), expected, "{outcomes:?} reversed");
        }
    }
}
