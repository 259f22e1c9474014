//! Where the run between two bends can point when there is an offset as well: worked out once for every two shapes of bends.

use crate::bridge::{
    closure::{Allowance, Line, Middle},
    stock::Stock,
};
use std::{borrow::Cow, sync::OnceLock};

/// Where the run between two bends can point when there is an offset as well, by the shapes of the bends.
pub(super) struct Middles {
    shapes: usize,
    known: Vec<OnceLock<Middle>>,
}

/// Shapes up to which what is worked out is kept for every two of them. There are four or five in most catalogs.
const MOST_SHAPES: usize = 64;

impl Middles {
    pub(in crate::bridge) fn new(stock: &Stock) -> Self {
        let shapes = stock.turns.iter().map(|class| usize::from(class.shape) + 1).max().unwrap_or(0);
        let kept = if shapes <= MOST_SHAPES { shapes * shapes } else { 0 };
        Self { shapes, known: (0..kept).map(|_| OnceLock::new()).collect() }
    }

    /// That between bends of these shapes, of which `cos` are the cosines.
    pub(in crate::bridge) fn between(
        &self,
        [from, to]: [&Line; 2],
        allowance: &Allowance,
        [one, other]: [u16; 2],
        cos: [f64; 2],
    ) -> Cow<'_, Middle> {
        let make = || Middle::of(from, to, allowance, cos);
        match self.known.get(usize::from(one) * self.shapes + usize::from(other)) {
            Some(known) => Cow::Borrowed(known.get_or_init(make)),
            None => Cow::Owned(make()),
        }
    }
}
