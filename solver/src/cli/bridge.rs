//! `bridge`: which chains of fittings join two ports?

use super::{
    apply,
    args::{BridgeArgs, Common, Format, SearchArgs},
    failure::Failure,
    interrupt::{self, Searching},
    load,
    make_up::{self, Judging},
    output::{Output, exists},
    progress::Progress,
};
use elbowroom::{
    bridge::{BadWish, Chain, Slack, SlackWishes, Wishes, bridge, slack},
    catalog::Catalog,
    interference,
    layout::{Gap, Layout},
    report::{BridgeReport, GapReport, Outcome, RankBy, json, side_by_side, text},
    survey::{LossFlows, judged},
};

/// Bridges one gap of a layout, or all of its circuit.
pub(crate) fn run(args: &BridgeArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let (catalog, layout, text) = load::layout_and_text(&args.layout, common)?;
    let gaps = match (&args.from, &args.to) {
        (Some(from), Some(to)) => {
            vec![layout.gap(from, to).map_err(|error| Failure::Message(error.to_string()))?]
        }
        _ => layout.gaps().to_vec(),
    };
    if gaps.is_empty() {
        return Err(Failure::Message(format!(
            "{} lists no gaps; name two ports, such as `elbowroom bridge LAYOUT pump.outlet filter.inlet`, or add \
             `gaps` to the file",
            load::name(&args.layout)
        )));
    }
    if let Some(path) = args.plot.as_deref().filter(|path| !common.force && path.exists()) {
        // Said before a search that may take long.
        return Err(exists(path));
    }
    let searching = Searching::begin(output.is_quiet());
    let flows = loss_flows(&catalog, &layout, &args.search)?;
    let judging = Judging::new(args);
    let mut report = search(&catalog, &layout, &gaps, &args.search, (&flows, &judging), output)?;
    if let Some(number) = args.steps {
        return make_up::write_steps(&report, number, args.plot.as_deref(), common, output);
    }
    if let Some(wishes) = &judging.slack {
        for (gap, found) in gaps.iter().zip(&mut report.gaps) {
            let listed = found.answer.chains.get(..found.listed).unwrap_or_default();
            found.slack = slacks(&catalog, &layout, gap, listed, wishes)?;
        }
    }
    apply::look_for_near_misses(&catalog, &layout, &gaps, &args.search, &flows, &mut report, output)?;
    drop(searching);
    if let Some(number) = args.apply {
        return apply::write(&layout, &text, &report, number, output);
    }
    output.results(&match common.format {
        Format::Text if output.is_quiet() => text::bridge(&report),
        Format::Text => format!("{}\n{}", text::bridge(&report), text::cautions()),
        Format::Json => json::text(&json::BridgeDocument::new(&report)),
    })?;
    Ok(interrupt::unless_cut_short(report.outcome()))
}

/// The flows at which losses are stated, the same for every command: what was asked for, what the circuit settles at, or the
/// design flow where it does not settle.
pub(crate) fn loss_flows(catalog: &Catalog, layout: &Layout, args: &SearchArgs) -> Result<LossFlows, Failure> {
    let wishes = Wishes {
        clearance_mm: args.clearance,
        flow_l_min: args.flow,
        closure_budget: args.budget,
        cancel: Some(interrupt::flag()),
        ..Wishes::default()
    };
    Ok(on_threads(args.threads, || LossFlows::wished(catalog, layout, &wishes))??)
}

/// Searches gap after gap at the flow that each gets and judges what is found, on as many threads as asked for.
pub(crate) fn search(
    catalog: &Catalog,
    layout: &Layout,
    gaps: &[Gap],
    args: &SearchArgs,
    (flows, judging): (&LossFlows, &Judging),
    output: &Output,
) -> Result<BridgeReport, Failure> {
    let one = |index: usize, want: usize| {
        // Gaps and catalog are those that the search uses, so nothing is missing.
        let Some(gap) = gaps.get(index).copied() else { return Ok(None) };
        let progress = Progress::new(index + 1, gaps.len(), output.is_quiet());
        let update = |now: &_| progress.update(now);
        let wishes = |want| Wishes {
            max_parts: args.max_parts,
            want,
            clearance_mm: args.clearance,
            flow_l_min: Some(flows.at(&gap)),
            closure_budget: args.budget,
            cancel: Some(interrupt::flag()),
            progress: Some(&update),
        };
        let search = |want| bridge(catalog, layout, &gap, &wishes(want));
        let compared = if judging.ranking.is_usual() { want } else { want.max(COMPARED) };
        let (answer, make_up) = judged(catalog, layout, &gap, &judging.wishes, compared, search)?;
        let by_slack = judging.slack.as_ref().filter(|_| judging.ranking.figures().contains(&RankBy::Slack));
        let slack = by_slack.map(|wishes| slacks(catalog, layout, &gap, &answer.chains, wishes)).transpose()?;
        let report = GapReport::new(catalog, layout, gap, answer);
        Ok::<_, BadWish>(report.map(|report| {
            let report = report.with_make_up(make_up, judging.all).at_flow(flows.at(&gap));
            GapReport { slack: slack.unwrap_or_default(), ..report }.ranked_by(&judging.ranking)
        }))
    };
    let allowances = layout.allowances();
    let clearance_mm = args.clearance.unwrap_or(allowances.clearance_mm);
    let want = args.want as usize;
    let (gaps, together) = on_threads(args.threads, || {
        let found = (0..gaps.len()).filter_map(|index| one(index, want).transpose());
        let mut found = found.collect::<Result<Vec<GapReport>, _>>()?;
        let together = side_by_side(catalog, &mut found, clearance_mm, want, one)?;
        if together.is_none() {
            // Of several gaps, each list is as long as was wanted, or as the chain chosen needs.
            found = found.into_iter().map(|gap| gap.listing(want)).collect();
            found.iter_mut().filter(|gap| gap.compared.is_some()).for_each(|gap| gap.shorten(want, None));
        }
        Ok::<_, BadWish>((found, together))
    })??;
    Ok(BridgeReport {
        layout: layout.name().to_owned(),
        max_parts: args.max_parts,
        want,
        ranking: judging.ranking.clone(),
        clearance_mm,
        flow_l_min: flows.l_min,
        flow_is: flows.basis,
        closure_mm: allowances.closure_mm,
        closure_deg: allowances.closure_deg,
        overlaps: interference::overlaps(layout),
        gaps,
        together,
    })
}

/// Chains of a gap among which another order than that of the search is made, at least: a look through them takes no longer
/// than a breath in the demo, and they hold all that are within a fraction of a kilopascal of the best.
const COMPARED: usize = 200;

/// What each of some chains absorbs.
fn slacks(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    chains: &[Chain],
    wishes: &SlackWishes,
) -> Result<Vec<Slack>, BadWish> {
    chains.iter().map(|chain| slack(catalog, layout, gap, chain, wishes)).collect()
}

#[cfg(feature = "parallel")]
pub(super) fn on_threads<T: Send>(threads: Option<u16>, work: impl FnOnce() -> T + Send) -> Result<T, Failure> {
    let Some(threads) = threads else { return Ok(work()) };
    match rayon::ThreadPoolBuilder::new().num_threads(threads.into()).build() {
        Ok(pool) => Ok(pool.install(work)),
        Err(error) => Err(Failure::Message(format!("cannot start {threads} threads: {error}; ask for fewer"))),
    }
}

/// Without the feature `parallel` every search runs on the one thread there is.
#[cfg(not(feature = "parallel"))]
pub(super) fn on_threads<T>(_: Option<u16>, work: impl FnOnce() -> T) -> Result<T, Failure> {
    Ok(work())
}
