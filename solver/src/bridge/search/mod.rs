//! The search for chains that join two ports.

mod alike;
mod attempts;
mod cover;
mod depths;
mod direct;
pub(super) mod doorways;
mod halves;
mod kinds;
mod linkage;
mod meeting;
mod portions;
mod rank;
mod scout;
mod stuck;
mod way;

pub(super) use cover::PROOF_MARGIN_MM;
pub(super) use doorways::Beginning;
pub(super) use halves::Laid;
pub(super) use kinds::{Kinds, Method};
pub use portions::{MOST_PARTS, bridge};
pub(super) use portions::{answered, closing, laid_out_from_first};
