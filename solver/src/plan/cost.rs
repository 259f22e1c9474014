//! What a chain costs a plan: parts first, then loss.

use crate::bridge::Chain;
use std::{iter::Sum, ops::Add};

/// Parts and loss, compared in that order. Losses are whole micropascals, so that sums do not depend on their order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cost {
    /// How many parts.
    pub parts: u64,
    /// How much pressure they lose, in micropascals, each gap at one fixed flow.
    pub loss_upa: u64,
}

/// Micropascals in a kilopascal.
const UPA_IN_KPA: f64 = 1e9;

impl Cost {
    /// What a chain costs.
    #[must_use]
    pub fn of(chain: &Chain) -> Self {
        Self { parts: chain.parts.len() as u64, loss_upa: (chain.loss_kpa * UPA_IN_KPA).round() as u64 }
    }

    /// Its loss in kilopascals.
    #[must_use]
    pub fn loss_kpa(&self) -> f64 {
        self.loss_upa as f64 / UPA_IN_KPA
    }
}

impl Add for Cost {
    type Output = Self;

    /// Stays at the greatest number where a sum would be larger.
    fn add(self, other: Self) -> Self {
        Self { parts: self.parts.saturating_add(other.parts), loss_upa: self.loss_upa.saturating_add(other.loss_upa) }
    }
}

impl Sum for Cost {
    fn sum<I: Iterator<Item = Self>>(costs: I) -> Self {
        costs.fold(Self::default(), Add::add)
    }
}
