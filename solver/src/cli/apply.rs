//! Near misses of `bridge`, and `bridge --apply`, which makes one of the suggested moves.

use super::{args::SearchArgs, bridge::on_threads, failure::Failure, interrupt, output::Output};
use elbowroom::{
    bridge::{Answer, NearMissWishes, in_the_way, near_misses},
    catalog::Catalog,
    layout::{Gap, Layout, move_in_text},
    report::{BridgeReport, NearMissReport, Outcome},
    survey::LossFlows,
};

/// Closures of the search for what is in the way where chains are known to close: about a second's worth.
const BLOCKED_BUDGET: u64 = 1_000_000;

/// Looks for near misses of each gap that is known to have no chain: a search that was stopped has not shown that
/// anything is needed, let alone what. Of a single gap that has one, for what is in the way of others of as few parts.
///
/// # Errors
/// When the threads asked for cannot be started.
pub(super) fn look_for_near_misses(
    catalog: &Catalog,
    layout: &Layout,
    gaps: &[Gap],
    args: &SearchArgs,
    flows: &LossFlows,
    report: &mut BridgeReport,
    output: &Output,
) -> Result<(), Failure> {
    let usual = NearMissWishes::default();
    let blocked_budget =
        args.budget.map_or(BLOCKED_BUDGET, |budget| budget.clamp(usual.blocked_budget, BLOCKED_BUDGET));
    let wishes = |gap, answer: &Answer| NearMissWishes {
        max_parts: args.max_parts,
        clearance_mm: args.clearance,
        flow_l_min: Some(flows.at(gap)),
        // Whether what is barred at its port, or could only close too near to something, does close was not looked at yet.
        blocked_budget: if answer.counts.closed + answer.counts.barred + answer.counts.stuck > 0 {
            blocked_budget
        } else {
            usual.blocked_budget
        },
        cancel: Some(interrupt::flag()),
        ..usual
    };
    on_threads(args.threads, || {
        if let ([gap], [entry]) = (gaps, &mut report.gaps[..])
            && let Some(first) = entry.answer.chains.first()
            && entry.answer.counts.collided + entry.answer.counts.stuck + entry.answer.counts.barred > 0
        {
            let parts = first.parts.len();
            let wishes = NearMissWishes { max_parts: parts, ..wishes(gap, &entry.answer) };
            entry.in_the_way = in_the_way(catalog, layout, gap, &wishes)?;
        }
        for (gap, entry) in gaps.iter().zip(&mut report.gaps).filter(|(_, entry)| entry.is_open()) {
            let found = near_misses(catalog, layout, gap, &wishes(gap, &entry.answer))?;
            if interrupt::came() {
                output.note("stopped while looking for moves that open a gap: none is listed");
                break;
            }
            entry.near_misses = NearMissReport::new(catalog, found);
        }
        Ok(())
    })?
}

/// Writes the layout with move `number` made.
///
/// # Errors
/// When there is no such move, or it is not clear of which gap; when the output cannot be written.
pub(super) fn write(
    layout: &Layout,
    text: &str,
    report: &BridgeReport,
    number: u32,
    output: &Output,
) -> Result<Outcome, Failure> {
    let open: Vec<_> = report.gaps.iter().filter(|gap| gap.answer.chains.is_empty()).collect();
    let gap = match open[..] {
        [] => return Err(refusal("every gap has a chain, so there is no move to make".to_owned())),
        [gap] => gap,
        _ => {
            let names: Vec<_> =
                open.iter().map(|gap| format!("`{} {}`", gap.facts.from.name, gap.facts.to.name)).collect();
            let names = names.join(", ");
            return Err(refusal(format!("several gaps have no chain; name the one that is meant: {names}")));
        }
    };
    if !gap.is_open() {
        return Err(refusal(format!(
            "the search from {} to {} was stopped before its end, so no moves were looked for; raise --budget or leave \
             it out",
            gap.facts.from.name, gap.facts.to.name
        )));
    }
    let moves = gap.near_misses.as_ref().map_or(&[][..], |near| &near.found.moves);
    let Some(suggestion) = usize::try_from(number).ok().and_then(|number| moves.get(number.checked_sub(1)?)) else {
        let between = format!("{} to {}", gap.facts.from.name, gap.facts.to.name);
        return Err(refusal(match moves.len() {
            0 => format!(
                "no move within reach lets a chain close from {between}; run `bridge` without --apply to see why"
            ),
            1 => format!("there is one move for {between}; ask for --apply 1"),
            several => format!("there are {several} moves for {between}; ask for one from 1 to {several}"),
        }));
    };
    let moved = move_in_text(text, layout, &suggestion.by).map_err(|error| refusal(error.to_string()))?;
    output.results(&moved)?;
    if !suggestion.opens() {
        output.note(&format!(
            "note: after move {number} a chain closes, but it cannot be made up; run `bridge` without --apply to see why"
        ));
    }
    Ok(Outcome::Fits)
}

fn refusal(message: String) -> Failure {
    Failure::Message(message)
}
