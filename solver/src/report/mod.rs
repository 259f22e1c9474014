//! Reports: what the other modules found, as text for people, as JSON for programs, and as pictures.
//! Nothing here prints.

mod bridge;
mod catalog;
mod facts;
mod flow_plot;
pub mod json;
mod near_miss;
mod outcome;
#[cfg(feature = "text")]
pub mod text;

pub use bridge::{BridgeReport, GapReport, PartReport};
pub use catalog::{component_matches, fitting_matches};
pub use facts::{GapFacts, PortFacts};
pub use flow_plot::FlowPlot;
pub use near_miss::NearMissReport;
pub use outcome::Outcome;
