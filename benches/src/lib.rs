//! Shared set-up of the benches: gaps to bridge, catalogs of other sizes, and what a process spends.

pub mod cases;
pub mod dense;
pub mod spent;
