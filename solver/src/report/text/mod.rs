//! Reports for people: plain text, at most 100 columns, no colour.

mod bridge;
mod catalog;
mod cautions;
mod check;
mod completeness;
mod flow;
mod heat;
pub mod labels;
mod make_up;
mod near_miss;
mod plan;
mod seats;
mod slack;
mod table;
mod together;

use super::words as number;

pub use bridge::{bridge, circuit};
pub use catalog::{catalog, component, fitting};
pub use cautions::{CAUTIONS, cautions};
pub use check::check;
pub use completeness::progress;
pub use flow::flow;
pub use make_up::steps;
pub use plan::plan;

/// Widest line of a report, in columns, as long as no single name is wider.
const WIDTH: usize = 100;
