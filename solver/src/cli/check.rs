//! `check`: does everything fit where the layout puts it?

use super::{
    args::{CheckArgs, Common, Format},
    failure::Failure,
    load,
    output::Output,
};
use elbowroom::{
    interference,
    report::{Outcome, json, text},
};

/// Checks a layout.
pub(crate) fn run(args: &CheckArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let (_, layout) = load::layout(&args.layout, common)?;
    let found = interference::check(&layout);
    output.results(&match common.format {
        Format::Text => text::check(layout.name(), &found),
        Format::Json => json::text(&json::CheckDocument::new(layout.name(), &found)),
    })?;
    Ok(Outcome::of_check(&found))
}
