//! Which chains of a list are one entry of it: the same parts for the same work, of which a builder takes one chain and
//! keeps the others in mind.

use super::answer::Chain;
use crate::catalog::{Catalog, FittingDef};
use std::collections::HashMap;

/// The entry that each chain belongs to, counted from 0 in the order in which entries first appear.
///
/// Chains are of one entry if they are made of the same parts, and if parts that turn in the same way stand in the same
/// order with straight parts of the same lengths between them. They may differ in which of two alike parts comes first, in
/// the order of the straight parts of a run, in which way round a part is built in, and in the posture in which the chain
/// closes. Parts that are not in the catalog are alike.
#[must_use]
pub fn entries(catalog: &Catalog, chains: &[Chain]) -> Vec<usize> {
    Entries::new(catalog.fittings()).of(chains.iter())
}

/// What tells entries apart.
pub(super) struct Entries<'c> {
    shapes: HashMap<&'c str, Shape>,
}

/// The centreline of a part, whichever way round it is built in.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Shape {
    /// The lengths of its legs, as bits: those of equal parts are equal to the last.
    legs: Vec<u64>,
    /// The angle and the roll of each bend.
    bends: Vec<[u64; 2]>,
    stretch: u64,
}

impl Shape {
    fn new(fitting: &FittingDef) -> Self {
        let stretch = fitting.stretch_mm.unwrap_or(0.0).to_bits();
        let legs: Vec<u64> = fitting.legs.iter().map(|leg| leg.to_bits()).collect();
        let angles = || fitting.bends.iter().map(|bend| bend.angle_deg.to_bits());
        // A roll belongs to the leg between two bends, so from the other end it is that of the other bend.
        let rolls = || fitting.bends.iter().skip(1).map(|bend| bend.roll_deg.to_bits());
        let joined = |angles: Vec<u64>, rolls: Vec<u64>| {
            angles.into_iter().zip([0].into_iter().chain(rolls)).map(|(angle, roll)| [angle, roll]).collect()
        };
        let forth = Self { legs: legs.clone(), bends: joined(angles().collect(), rolls().collect()), stretch };
        let back = Self {
            legs: legs.into_iter().rev().collect(),
            bends: joined(angles().rev().collect(), rolls().rev().collect()),
            stretch,
        };
        forth.min(back)
    }

    fn is_straight(&self) -> bool {
        self.bends.is_empty()
    }
}

impl<'c> Entries<'c> {
    pub(super) fn new(fittings: &'c [FittingDef]) -> Self {
        Self { shapes: fittings.iter().map(|fitting| (fitting.id.as_str(), Shape::new(fitting))).collect() }
    }

    /// The entry of each chain, counted from 0.
    pub(super) fn of<'a>(&'a self, chains: impl Iterator<Item = &'a Chain>) -> Vec<usize> {
        let mut known = HashMap::new();
        chains
            .map(|chain| {
                let next = known.len();
                *known.entry(self.key(chain)).or_insert(next)
            })
            .collect()
    }

    /// The parts in the order of the alphabet, and the shapes in the order of the chain, those of a straight run sorted.
    fn key<'a>(&'a self, chain: &'a Chain) -> (Vec<&'a str>, Vec<Option<&'a Shape>>) {
        let mut ids: Vec<&str> = chain.parts.iter().map(|part| part.fitting.as_str()).collect();
        let mut shapes: Vec<Option<&Shape>> = ids.iter().map(|id| self.shapes.get(id)).collect();
        let turns = |shape: &Option<&Shape>| shape.is_some_and(|shape| !shape.is_straight());
        shapes.split_mut(turns).for_each(<[_]>::sort_unstable);
        ids.sort_unstable();
        (ids, shapes)
    }
}

/// Whether two chains of the same parts stand so far from each other that one sees it.
pub(super) fn stands_elsewhere(one: &Chain, other: &Chain) -> bool {
    one.parts.iter().zip(&other.parts).any(|(one, other)| {
        let apart = other.pose.translation.vector - one.pose.translation.vector;
        apart.norm() > SEEN_MM || one.pose.rotation.angle_to(&other.pose.rotation) > SEEN_DEG.to_radians()
    })
}

/// Differences from which two postures of a chain are two to whoever holds it: far more than the allowance for closing lets
/// one posture shift, which would otherwise be listed several times.
const SEEN_MM: f64 = 3.0;
const SEEN_DEG: f64 = 5.0;
