//! `flow`: how much coolant moves, and where does its pressure go?

use super::{
    args::{Common, FlowArgs, Format, SearchArgs},
    bridge,
    failure::Failure,
    interrupt::{self, Searching},
    load,
    make_up::Judging,
    output::{Output, exists, stderr_in_colour},
};
use elbowroom::{
    bridge::{Answer, Chain},
    catalog::Catalog,
    circuit::{Circuit, CircuitFault},
    layout::Layout,
    report::{BridgeReport, CircuitReport, FlowPlot, FlowReport, GapReport, Outcome, json, text},
    source::Source,
};
use std::path::Path;

/// Solves the circuit of a layout, or of two.
pub(crate) fn run(args: &FlowArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    if let Some(path) = args.plot.as_deref().filter(|path| !common.force && path.exists()) {
        // Said before a search that may take long.
        return Err(exists(path));
    }
    let paths: Vec<&Path> =
        [Some(&args.layout), args.compare.as_ref()].into_iter().flatten().map(AsRef::as_ref).collect();
    let (catalog, layouts) = load::layouts(&paths, common)?;
    let mut circuits = Vec::with_capacity(layouts.len());
    let mut plot = None;
    for (source, layout) in &layouts {
        let (report, circuit) = solve(&catalog, layout, source, args, output)?;
        if let (true, Some(circuit)) = (circuits.is_empty(), &circuit) {
            plot = Some(FlowPlot::new(&report.layout, circuit.network()));
        }
        circuits.push(report);
    }
    if let Some(path) = &args.plot {
        match plot {
            Some(Ok(plot)) => output.beside(path, &plot.to_svg(), common.force)?,
            Some(Err(error)) => return Err(Failure::Message(format!("cannot plot the circuit: {error}"))),
            None => output.note("no picture: the circuit of the first layout is open"),
        }
    }
    let report = FlowReport { circuits };
    output.results(&match common.format {
        Format::Text if output.is_quiet() => text::flow(&report),
        Format::Text => format!("{}\n{}", text::flow(&report), text::cautions()),
        Format::Json => json::text(&json::FlowDocument::new(&report)),
    })?;
    Ok(interrupt::unless_cut_short(report.outcome()))
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
    let none = vec![None; layout.gaps().len()];
    Circuit::new(layout, catalog, &none).and_then(|ideal| ideal.operating()).map_err(faulty)?;
    let search = SearchArgs {
        max_parts: args.max_parts,
        want: 1,
        clearance: args.clearance,
        threads: args.threads,
        budget: args.budget,
        flow: None,
    };
    let searching = Searching::begin(output.is_quiet());
    let flows = bridge::loss_flows(catalog, layout, &search)?;
    let found = bridge::search(catalog, layout, layout.gaps(), &search, (&flows, &Judging::default()), output)?;
    drop(searching);
    let answers = answers(&found);
    let report = CircuitReport::new(layout, &answers, args.max_parts, found.flow_l_min);
    if report.open().next().is_some() && !args.assume_joined {
        return Ok((report, None));
    }
    let chains: Vec<Option<&Chain>> = answers.iter().map(|answer| answer.chains.first()).collect();
    let circuit = Circuit::new(layout, catalog, &chains).map_err(faulty)?;
    let operating = circuit.operating().map_err(faulty)?;
    Ok((report.at_work(&circuit, operating), Some(circuit)))
}

/// The answers, each with only the chain that is to be built.
fn answers(found: &BridgeReport) -> Vec<Answer> {
    let only = |(index, gap): (usize, &GapReport)| {
        let chosen = found.chosen(index).and_then(|chosen| gap.answer.chains.get(chosen));
        Answer { chains: chosen.into_iter().cloned().collect(), ..gap.answer.clone() }
    };
    found.gaps.iter().enumerate().map(only).collect()
}
