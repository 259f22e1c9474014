//! Reports: what the other modules found, as text for people and as JSON for programs. Nothing here prints.

mod bridge;
mod catalog;
mod facts;
pub mod json;
mod outcome;
#[cfg(feature = "cli")]
pub mod text;

pub use bridge::{BridgeReport, GapReport, PartReport};
pub use catalog::{component_matches, fitting_matches};
pub use facts::{GapFacts, PortFacts};
pub use outcome::Outcome;
