//! Reports for people: plain text, at most 100 columns, no colour.

mod bridge;
mod catalog;
mod cautions;
mod check;
mod completeness;
pub mod labels;
mod near_miss;
mod number;
mod slack;
mod table;

pub use bridge::{bridge, circuit};
pub use catalog::{catalog, component, fitting};
pub use cautions::{CAUTIONS, cautions};
pub use check::check;
pub use completeness::progress;

/// Widest line of a report, in columns, as long as no single name is wider.
const WIDTH: usize = 100;
