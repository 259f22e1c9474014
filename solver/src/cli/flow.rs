//! `flow`: how much coolant moves, and where does its pressure go?

use super::{
    args::{Common, FlowArgs, Format, SearchArgs},
    bridge,
    failure::Failure,
    load,
    output::{Output, stderr_in_colour},
};
use elbowroom::{
    bridge::Answer,
    catalog::Catalog,
    circuit::{Circuit, CircuitFault},
    layout::Layout,
    report::{BridgeReport, CircuitReport, FlowPlot, FlowReport, Outcome, json, text},
    source::Source,
};
use std::path::Path;

/// Solves the circuit of a layout, or of two.
pub(crate) fn run(args: &FlowArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let paths: Vec<&Path> =
        [Some(&args.layout), args.compare.as_ref()].into_iter().flatten().map(AsRef::as_ref).collect();
    let (catalog, layouts) = load::layouts(&paths, common)?;
    let mut circuits = Vec::with_capacity(layouts.len());
    let mut plot = None;
    for (source, layout) in &layouts {
        let (report, circuit) = solve(&catalog, layout, source, args, output)?;
        if let (None, Some(circuit)) = (&plot, &circuit) {
            plot = Some(FlowPlot::new(&report.layout, circuit.network()));
        }
        circuits.push(report);
    }
    if let Some(path) = &args.plot {
        match plot {
            Some(Ok(plot)) => output.beside(path, &plot.to_svg(), common.force)?,
            Some(Err(error)) => return Err(Failure::Message(format!("cannot plot the circuit: {error}"))),
            None => output.note("no picture: the circuit is open"),
        }
    }
    let report = FlowReport { circuits };
    output.results(&match common.format {
        Format::Text if output.is_quiet() => text::flow(&report),
        Format::Text => format!("{}\n{}", text::flow(&report), text::cautions()),
        Format::Json => json::text(&json::FlowDocument::new(&report)),
    })?;
    Ok(report.outcome())
}

/// The flow that a layout's circuit settles at, in L/min, with the best chains at its design flow; `None` when it has
/// no pump, is open, or has no answer.
pub(crate) fn operating_flow(
    catalog: &Catalog,
    layout: &Layout,
    args: &SearchArgs,
    output: &Output,
) -> Result<Option<f64>, Failure> {
    if Circuit::new(layout, catalog, &none(layout)).is_err() {
        return Ok(None);
    }
    let search = SearchArgs { want: 1, flow: None, ..args.clone() };
    let found = bridge::search(catalog, layout, layout.gaps(), &search, output)?;
    Ok(settled(catalog, layout, &found))
}

/// The flow with the chains that were found; `None` as for [`operating_flow`]. Rounded, so that what is said of it is
/// what was used.
fn settled(catalog: &Catalog, layout: &Layout, found: &BridgeReport) -> Option<f64> {
    let answers = answers(found);
    if answers.iter().any(|answer| answer.chains.is_empty()) {
        return None;
    }
    let circuit = Circuit::new(layout, catalog, &chains(&answers)).ok()?;
    let flow = (circuit.flow_l_min().ok()? * 10.0).round() / 10.0;
    (flow > 0.0).then_some(flow)
}

fn solve(
    catalog: &Catalog,
    layout: &Layout,
    source: &Source,
    args: &FlowArgs,
    output: &Output,
) -> Result<(CircuitReport, Option<Circuit>), Failure> {
    let faulty = |fault: CircuitFault| Failure::Problems(fault.in_file(source).render(stderr_in_colour()));
    // What is wrong with the circuit itself is worth saying before a long search.
    Circuit::new(layout, catalog, &none(layout)).and_then(|ideal| ideal.operating()).map_err(faulty)?;
    let mut search = SearchArgs {
        max_parts: args.max_parts,
        want: 1,
        clearance: args.clearance,
        threads: args.threads,
        budget: args.budget,
        flow: None,
    };
    let mut found = bridge::search(catalog, layout, layout.gaps(), &search, output)?;
    // As `bridge` does: the chains are those that are best at the flow they get.
    if let Some(flow) = settled(catalog, layout, &found) {
        search.flow = Some(flow);
        found = bridge::search(catalog, layout, layout.gaps(), &search, output)?;
    }
    let answers = answers(&found);
    let report = CircuitReport::new(layout, &answers, args.max_parts, found.flow_l_min);
    if report.open().next().is_some() && !args.assume_joined {
        return Ok((report, None));
    }
    let circuit = Circuit::new(layout, catalog, &chains(&answers)).map_err(faulty)?;
    let operating = circuit.operating().map_err(faulty)?;
    Ok((report.at_work(&circuit, operating), Some(circuit)))
}

fn none(layout: &Layout) -> Vec<Option<&'static elbowroom::bridge::Chain>> {
    vec![None; layout.gaps().len()]
}

fn answers(found: &BridgeReport) -> Vec<&Answer> {
    found.gaps.iter().map(|gap| &gap.answer).collect()
}

fn chains<'a>(answers: &[&'a Answer]) -> Vec<Option<&'a elbowroom::bridge::Chain>> {
    answers.iter().map(|answer| answer.chains.first()).collect()
}
