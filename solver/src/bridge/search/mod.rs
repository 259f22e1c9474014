//! The search for chains that join two ports.

mod alike;
mod attempts;
mod cover;
mod depths;
mod direct;
mod doorways;
mod gauge;
mod halves;
mod kinds;
mod linkage;
mod meeting;
mod middles;
mod pairs;
mod portions;
mod rank;
mod scout;
mod stuck;
mod way;

pub use portions::bridge;
pub(super) use portions::{answered, closing, laid_out_from_first};
