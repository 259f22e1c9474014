//! What the catalog offers for one gap, and what can be made of it without knowing where anything is.

mod links;
pub(super) mod loss;
mod runs;
mod tally;
mod thickness;

pub(super) use links::{
    Entered, LinkId, Socket, Span, Stock, TurnClass, TurnId, grains, line_of, narrow, why_nothing_enters,
};
pub(super) use runs::{Run, RunKey, RunList, Runs, STRETCH_STEP_MM, tries};
pub(super) use tally::Tally;
