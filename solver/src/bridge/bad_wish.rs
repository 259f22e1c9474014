//! Questions that make no sense: which number of them is wrong, and what it may be.

use crate::{
    layout::{Gap, Layout, Port},
    source::number,
};
use std::ops::RangeInclusive;

/// Clearances that may be asked for, in millimetres: those that a layout file may state.
pub const CLEARANCES_MM: RangeInclusive<f64> = 0.0..=100.0;

/// Flows for which losses may be asked, in L/min: from a trickle to the most that a file may state of a pump.
pub const FLOWS_L_MIN: RangeInclusive<f64> = 0.01..=1_000.0;

/// A question that makes no sense, however it came about: a wish outside its range or not a number, a chain whose numbers
/// or parts cannot be, ports that make no gap. Whoever asks can put it right, so it is an error, where a gap that nothing
/// bridges is an answer.
///
/// One type for all questions of this module, because all of them share most of their wishes.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BadWish {
    /// A number outside its range, or none.
    #[error("expected `{field}` from {} to {} {unit}, found {}; {remedy}", number(*least), number(*most), number(*found))]
    Number {
        /// Which number, such as `clearance_mm` or `chain.parts[2].stretch_mm`.
        field: String,
        /// What it is.
        found: f64,
        /// The least that it may be.
        least: f64,
        /// The most that it may be.
        most: f64,
        /// Its unit.
        unit: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// A count outside its range.
    #[error("expected `{field}` from {least} to {most}, found {found}; {remedy}")]
    Count {
        /// Which count, such as `max_parts`.
        field: String,
        /// What it is.
        found: usize,
        /// The least that it may be.
        least: usize,
        /// The most that it may be.
        most: usize,
        /// What to do.
        remedy: &'static str,
    },
    /// Something else that cannot be.
    #[error("expected {expected} in `{field}`, found {found}; {remedy}")]
    Item {
        /// Where, such as `chain.parts[2].fitting`.
        field: String,
        /// What it must be.
        expected: &'static str,
        /// What is there.
        found: String,
        /// What to do.
        remedy: &'static str,
    },
}

/// What to do about a gap that is none.
const FIND_GAP: &str = "find the gap with `Layout::gap` or `Layout::gaps` of the layout that is asked about";

/// The two ports of a gap of `layout`.
///
/// # Errors
/// When one of them belongs to another layout, or both are the same.
pub(super) fn ports_of<'l>(layout: &'l Layout, gap: &Gap) -> Result<[&'l Port; 2], BadWish> {
    let refused =
        |expected, found: String| BadWish::Item { field: "gap".to_owned(), expected, found, remedy: FIND_GAP };
    let port = |id| {
        layout.port_by_id(id).ok_or_else(|| refused("ports of this layout", "a port of another layout".to_owned()))
    };
    let ports = [port(gap.from)?, port(gap.to)?];
    if gap.from == gap.to {
        return Err(refused("two different ports", format!("`{}` twice", ports[0].name)));
    }
    Ok(ports)
}

/// Checks a number against its range. What is not a number is in no range.
pub(super) fn within(
    field: impl Into<String>,
    found: f64,
    range: &RangeInclusive<f64>,
    unit: &'static str,
    remedy: &'static str,
) -> Result<(), BadWish> {
    if range.contains(&found) {
        return Ok(());
    }
    let (least, most) = (*range.start(), *range.end());
    Err(BadWish::Number { field: field.into(), found, least, most, unit, remedy })
}

/// Checks a count against its range.
pub(super) fn counted(
    field: impl Into<String>,
    found: usize,
    range: &RangeInclusive<usize>,
    remedy: &'static str,
) -> Result<(), BadWish> {
    if range.contains(&found) {
        return Ok(());
    }
    let (least, most) = (*range.start(), *range.end());
    Err(BadWish::Count { field: field.into(), found, least, most, remedy })
}

/// Checks a clearance that is wished instead of the layout's own.
pub(super) fn clearance(wished: Option<f64>) -> Result<(), BadWish> {
    let remedy = "give the room to keep in millimetres, or `None` for the layout's own allowance";
    wished.map_or(Ok(()), |mm| within("clearance_mm", mm, &CLEARANCES_MM, "mm", remedy))
}

/// Checks a flow that is wished instead of the layout's own.
pub(crate) fn flow(wished: Option<f64>) -> Result<(), BadWish> {
    let remedy = "give the flow at which losses are stated, or `None` for the layout's own design flow";
    wished.map_or(Ok(()), |l_min| within("flow_l_min", l_min, &FLOWS_L_MIN, "L/min", remedy))
}
