//! What the catalog offers for one gap, and what can be made of it without knowing where anything is.

mod links;
pub(super) mod loss;
mod runs;
mod tally;
mod thickness;

pub(super) use links::{Entered, LinkId, Socket, Stock, TurnClass, TurnId, narrow, why_nothing_enters};
pub(super) use runs::{Run, RunKey, RunList, Runs};
pub(super) use tally::Tally;
