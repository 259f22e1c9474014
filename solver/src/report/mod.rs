//! Reports: what the other modules found, as text for people, as JSON for programs, and as pictures.
//! Nothing here prints.

mod aim;
mod bridge;
mod catalog;
mod ease;
mod facts;
mod flow;
mod flow_plot;
pub mod json;
mod make_up;
mod near_miss;
mod outcome;
mod plan;
mod ranking;
mod side_by_side;
#[cfg(feature = "text")]
pub mod text;
mod turn_plot;
mod words;

pub use crate::survey::FlowBasis;
pub use aim::Aim;
pub use bridge::{BridgeReport, GapReport, PartReport, Variant};
pub use catalog::{component_matches, fitting_matches, nearest_part};
pub use ease::{Easier, odd_turns};
pub use facts::{GapFacts, PortFacts};
pub use flow::{CircuitReport, FlowReport, JointReport, JointState};
pub use flow_plot::FlowPlot;
pub use make_up::{WorkStep, order_of_work, verdict};
pub use near_miss::NearMissReport;
pub use outcome::Outcome;
pub use plan::{Item, PlanReport};
pub use ranking::{Compared, RankBy, Ranking, UnknownFigure};
pub use side_by_side::side_by_side;
pub use turn_plot::{Dial, View, turns};
