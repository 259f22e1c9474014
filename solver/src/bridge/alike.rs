//! Halves that lie alike: of the many ways to build one and the same bent line, one stands for all of them when a
//! chain is closed.

use super::{half::Half, stock::{Socket, Stock}};

/// Halves that lie alike up to their last corner. They differ in parts, last leg, ends and loss.
#[derive(Clone, Debug)]
pub(super) struct Alike<'h> {
    /// Any one of them.
    pub(super) half: &'h Half,
    /// Their least loss.
    pub(super) least: u64,
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

/// Sorts halves into those that lie alike, least loss first.
pub(super) fn alike<'h>(halves: &'h mut [Half], stock: &Stock) -> Vec<Alike<'h>> {
    halves.sort_unstable_by_key(|half| (half.trace, half.leg.to_bits(), half.exit, half.swivel, half.loss, half.turns));
    let halves = &*halves;
    let mut groups: Vec<Alike<'h>> = halves
        .chunk_by(|a, b| a.trace == b.trace && a.lies_like(b, stock))
        .map(|halves| {
            let ends_like = |a: &Half, b: &Half| (a.leg.to_bits(), a.exit, a.swivel) == (b.leg.to_bits(), b.exit, b.swivel);
            let endings = halves.chunk_by(ends_like).map(|halves| Ending {
                leg: halves[0].leg,
                exit: usize::from(halves[0].exit),
                swivel: halves[0].swivel,
                halves,
            });
            let least = halves.iter().map(|half| half.loss).min().unwrap_or(0);
            Alike { half: &halves[0], least, endings: endings.collect() }
        })
        .collect();
    groups.sort_by_key(|group| group.least);
    groups
}
