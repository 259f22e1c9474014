//! Halves that lie alike: of the many ways to build one and the same bent line, one stands for all of them when a
//! chain is closed.

use super::{
    half::Half,
    stock::{Socket, Stock},
};

/// Halves that lie alike up to their last corner. They differ in parts, last leg, ends and loss.
#[derive(Clone, Debug)]
pub(super) struct Alike<'h> {
    /// Any one of them.
    pub(super) half: &'h Half,
    /// Their least and greatest loss.
    pub(super) least: u64,
    pub(super) most: u64,
    /// The halves by how they end.
    pub(super) endings: Vec<Ending<'h>>,
}

/// Halves that lie alike and end alike.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ending<'h> {
    /// What there is already of the run after the last corner.
    pub(super) leg: f64,
    pub(super) exit: Socket,
    pub(super) swivel: bool,
    /// In order of loss.
    pub(super) halves: &'h [Half],
}

impl Ending<'_> {
    /// Least and greatest loss.
    pub(super) fn losses(&self) -> (u64, u64) {
        let loss = |half: Option<&Half>| half.map_or(0, |half| half.loss);
        (loss(self.halves.first()), loss(self.halves.last()))
    }
}

/// Halves sorted into those that lie alike.
pub(super) struct Sorted {
    halves: Vec<Half>,
}

impl Sorted {
    pub(super) fn new(halves: &[Half]) -> Self {
        let key = |half: &Half| (half.trace, half.leg.to_bits(), half.exit, half.swivel, half.loss);
        let mut order: Vec<_> = halves.iter().enumerate().map(|(index, half)| (key(half), index)).collect();
        order.sort_unstable();
        Self { halves: order.into_iter().map(|(_, index)| halves[index]).collect() }
    }

    /// Those that lie alike, least loss first.
    pub(super) fn alike(&self, stock: &Stock) -> Vec<Alike<'_>> {
        let like = |a: &Half, b: &Half| a.trace == b.trace && a.lies_like(b, stock);
        let ends_like = |a: &Half, b: &Half| (a.leg.to_bits(), a.exit, a.swivel) == (b.leg.to_bits(), b.exit, b.swivel);
        let mut groups: Vec<Alike<'_>> = self
            .halves
            .chunk_by(like)
            .map(|halves| Alike {
                half: &halves[0],
                least: halves.iter().map(|half| half.loss).min().unwrap_or(0),
                most: halves.iter().map(|half| half.loss).max().unwrap_or(0),
                endings: halves
                    .chunk_by(ends_like)
                    .map(|halves| {
                        let Half { leg, exit, swivel, .. } = halves[0];
                        Ending { leg, exit: usize::from(exit), swivel, halves }
                    })
                    .collect(),
            })
            .collect();
        groups.sort_by_key(|group| group.least);
        groups
    }
}
