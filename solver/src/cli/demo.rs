//! The built-in demo: shown when no command is given, and written to a file by `demo`.

use super::{
    args::{Common, Format, SearchArgs},
    bridge,
    failure::Failure,
    interrupt::{self, Searching},
    load,
    make_up::Judging,
    output::Output,
};
use elbowroom::{
    interference,
    report::{Outcome, json, text},
};

/// What to try next, under the demo.
const NEXT: &str = "\
This was the built-in demo. Next:
  elbowroom demo -o boat.ron                                    its layout as a file, to change
  elbowroom check boat.ron                                      what overlaps or comes too near
  elbowroom bridge boat.ron reservoir.outlet pump.inlet         one gap, part by part
  elbowroom help                                                the guide, page by page
  elbowroom --help                                              everything else";

/// Longest chain that the demo looks for: enough for each of its gaps that can be bridged.
const DEMO_PARTS: usize = 4;

/// Checks and bridges the demo layout. Ends well even though one of its gaps has no chain: that is what it shows.
pub(crate) fn show(common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let catalog = load::catalog(common)?;
    let layout = load::demo(&catalog)?;
    let found = interference::check(&layout);
    let search = SearchArgs { max_parts: DEMO_PARTS, want: 1, ..SearchArgs::default() };
    let judging = Judging::default();
    let searching = Searching::begin(output.is_quiet());
    let flows = bridge::loss_flows(&catalog, &layout, &search)?;
    let report = bridge::search(&catalog, &layout, layout.gaps(), &search, (&flows, &judging), output)?;
    drop(searching);
    output.results(&match common.format {
        Format::Text => {
            let cautions = if output.is_quiet() { String::new() } else { format!("\n{}", text::cautions()) };
            format!("{}\n{}{cautions}", text::check(layout.name(), &found), text::circuit(&report))
        }
        Format::Json => json::text(&json::DemoDocument::new(
            json::CheckDocument::new(layout.name(), &found),
            json::BridgeDocument::new(&report),
        )),
    })?;
    output.note(&format!("\n{NEXT}"));
    Ok(interrupt::unless_cut_short(Outcome::Fits))
}

/// Writes the demo layout.
pub(crate) fn write(output: &Output) -> Result<Outcome, Failure> {
    let (_, layout) = elbowroom_catalog::DEMO;
    output.results(layout)?;
    Ok(Outcome::Fits)
}
