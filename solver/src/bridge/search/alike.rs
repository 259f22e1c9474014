//! Halves of identical geometry: of the many ways to build one and the same bent line, one stands for all of them when a
//! chain is closed.

use super::halves::Half;
use crate::bridge::stock::{Socket, Stock};

/// Halves of identical geometry up to their last corner. They differ in parts, last leg, ends and loss.
#[derive(Clone, Copy, Debug)]
pub(super) struct Alike<'h> {
    /// Any one of them.
    pub(in crate::bridge) half: &'h Half,
    /// Their least and greatest loss.
    pub(in crate::bridge) least: u64,
    pub(in crate::bridge) most: u64,
    /// The halves by how they end, in order of the last leg.
    pub(super) endings: &'h [Ending<'h>],
}

/// Halves of identical geometry that end alike.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ending<'h> {
    /// What there is already of the run after the last corner.
    pub(in crate::bridge) leg: f64,
    pub(in crate::bridge) exit: Socket,
    pub(in crate::bridge) swivel: bool,
    /// In order of loss.
    pub(in crate::bridge) halves: &'h [Half],
}

impl Ending<'_> {
    /// Least and greatest loss.
    pub(in crate::bridge) fn losses(&self) -> (u64, u64) {
        let loss = |half: Option<&Half>| half.map_or(0, |half| half.loss);
        (loss(self.halves.first()), loss(self.halves.last()))
    }
}

/// Halves sorted by geometry.
pub(super) struct Sorted {
    halves: Vec<Half>,
}

impl Sorted {
    pub(in crate::bridge) fn new(halves: &[Half]) -> Self {
        let key = |half: &Half| (half.trace, half.leg.to_bits(), half.exit, half.swivel, half.loss);
        let mut order: Vec<_> = halves.iter().enumerate().map(|(index, half)| (key(half), index)).collect();
        order.sort_unstable();
        Self { halves: order.into_iter().map(|(_, index)| halves[index]).collect() }
    }

    /// Those that lie and end alike.
    pub(super) fn endings(&self, stock: &Stock) -> Vec<Ending<'_>> {
        let ends_like = |a: &Half, b: &Half| {
            (a.leg.to_bits(), a.exit, a.swivel) == (b.leg.to_bits(), b.exit, b.swivel) && lie_alike(a, b, stock)
        };
        let mut endings = Vec::with_capacity(self.halves.len());
        endings.extend(self.halves.chunk_by(ends_like).map(|halves| {
            let Half { leg, exit, swivel, .. } = halves[0];
            Ending { leg, exit: usize::from(exit), swivel, halves }
        }));
        endings
    }
}

fn lie_alike(a: &Half, b: &Half, stock: &Stock) -> bool {
    a.trace == b.trace && a.lies_like(b, stock)
}

/// Those of `endings` of identical geometry, least loss first.
pub(in crate::bridge) fn alike<'h>(endings: &'h [Ending<'h>], stock: &Stock) -> Vec<Alike<'h>> {
    let mut groups: Vec<Alike<'h>> = endings
        .chunk_by(|a, b| lie_alike(&a.halves[0], &b.halves[0], stock))
        .map(|endings| Alike {
            half: &endings[0].halves[0],
            least: endings.iter().map(|ending| ending.losses().0).min().unwrap_or(0),
            most: endings.iter().map(|ending| ending.losses().1).max().unwrap_or(0),
            endings,
        })
        .collect();
    groups.sort_by_key(|group| group.least);
    groups
}
