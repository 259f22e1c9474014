//! The bridge report for people.

use super::{
    WIDTH,
    check::depth,
    completeness::{searched, statement},
    labels,
    make_up::{left_out, making_up},
    near_miss::{near_misses, others_blocked},
    number::plural,
    slack::slack,
    table::{Align, table, wrapped},
    together::side_by_side,
};
use crate::interference::Meeting;
use crate::report::{BridgeReport, FlowBasis, GapReport, Outcome, verdict};
use std::fmt::Write as _;

/// The whole report: an overview when there are several gaps, then gap by gap. Lines are at most 100 columns wide
/// as long as names are not.
#[must_use]
pub fn bridge(report: &BridgeReport) -> String {
    let mut out = heading(report);
    if report.gaps.len() > 1 {
        out.push('\n');
        out.push_str(&overview(report));
    }
    for (index, gap) in report.gaps.iter().enumerate() {
        out.push('\n');
        let number = (report.gaps.len() > 1).then_some(index + 1);
        out.push_str(&one_gap(report, gap, number));
    }
    out.push_str(&how_turns_count(report));
    out
}

/// The circuit at a glance: the overview, the parts of each gap's best chain, and why gaps have none.
#[must_use]
pub fn circuit(report: &BridgeReport) -> String {
    let mut out = format!("{}\n{}", heading(report), overview(report));
    out.push_str("\n  Parts of the chain of each gap, with the turn of each part that must be aimed:\n");
    let places = report.gaps.len().to_string().len();
    for (index, gap) in report.gaps.iter().enumerate() {
        let chosen = report.chosen(index);
        let text = match chosen.and_then(|chosen| gap.chains.get(chosen)) {
            Some(parts) => match chosen.and_then(|chosen| gap.make_up.get(chosen)) {
                Some(made) => format!("{}; {}", labels::parts_in_line(parts), verdict(&gap.facts, parts, made)),
                None => labels::parts_in_line(parts),
            },
            None => statement(report, gap),
        };
        out.push_str(&wrapped_after(index + 1, places, &text));
    }
    out.push_str(&how_turns_count(report));
    out
}

/// What a turn is measured from and which way; nothing when no part of the report has one.
fn how_turns_count(report: &BridgeReport) -> String {
    let mut parts = report.gaps.iter().flat_map(|gap| gap.chains.iter().flatten());
    if parts.all(|part| part.turn_deg.is_none()) {
        return String::new();
    }
    let text = "Turns count counter-clockwise, seen from the far end of the chain, from the bend before or from the mark of \
                the port, which `check` lists. Clock faces are seen from there as well, with 12 at a turn of 0°.";
    format!("\n{}", wrapped(text, WIDTH, 0, 0))
}

fn heading(report: &BridgeReport) -> String {
    let settings = wrapped(&settings(report), WIDTH, 0, 2);
    let overlaps = overlapping(&report.overlaps).map(|text| wrapped(&text, WIDTH, 0, 2)).unwrap_or_default();
    format!("{}: {}\n{settings}{overlaps}", report.layout, plural(report.gaps.len(), "gap"))
}

/// That the layout does not fit by itself, with the pairs of bodies that overlap; `None` where none do.
pub(super) fn overlapping(overlaps: &[Meeting]) -> Option<String> {
    /// So many pairs are named.
    const NAMED: usize = 4;
    let pairs: Vec<String> = overlaps
        .iter()
        .take(NAMED)
        .map(|meeting| format!("{} and {} ({} mm)", meeting.a, meeting.b, depth(meeting)))
        .collect();
    let more = match overlaps.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(", and {more} more pairs"),
    };
    (!pairs.is_empty()).then(|| {
        format!("The layout does not fit by itself, which `check` tells more of: {}{more} overlap.", pairs.join(", "))
    })
}

/// What was asked of the gaps.
pub(super) fn settings(report: &BridgeReport) -> String {
    let flow = match report.flow_is {
        FlowBasis::Circuit => format!("the {} L/min that the circuit settles at", report.flow_l_min),
        FlowBasis::CircuitIfJoined => {
            format!("the {} L/min that the circuit settles at with open gaps joined without loss", report.flow_l_min)
        }
        FlowBasis::Asked | FlowBasis::Design => format!("{} L/min", report.flow_l_min),
    };
    let order = if report.ranking.is_usual() { String::new() } else { format!(", by {}", report.ranking) };
    format!(
        "chains of up to {}{order}, losses at {}, {} mm clear of everything, closing within {} mm and {}°",
        plural(report.max_parts, "part"),
        flow,
        report.clearance_mm,
        report.closure_mm,
        report.closure_deg,
    )
}

/// One line for each gap: how it stands and its best chain among those that leave room for the other gaps.
fn overview(report: &BridgeReport) -> String {
    let tally = format!("  {}\n", tally(&report.gaps.iter().collect::<Vec<_>>(), report.max_parts));
    gaps_table(report) + &tally + &side_by_side(report)
}

/// A row for each gap, with the chain that is chosen.
pub(super) fn gaps_table(report: &BridgeReport) -> String {
    let rows = report.gaps.iter().enumerate().map(|(index, gap)| labels::gap_cells(report, index, gap).to_vec());
    table(2, &heads_of(labels::GAP_HEADS), rows.collect())
}

/// How many gaps have a chain and how many have none.
pub(super) fn tally(gaps: &[&GapReport], max_parts: usize) -> String {
    let count = |outcome| gaps.iter().filter(|gap| gap.outcome() == outcome).count();
    let loose = |gap: &&&GapReport| Outcome::of(&gap.answer) == Outcome::Fits && gap.outcome() != Outcome::Fits;
    let loose = gaps.iter().filter(loose).count();
    let (none, no_proof) = (count(Outcome::DoesNotFit), count(Outcome::NoProof) - loose);
    let mut text = match none + no_proof + loose {
        0 => "Every gap has a chain".to_owned(),
        _ => format!("{} of {} bridged", count(Outcome::Fits), plural(gaps.len(), "gap")),
    };
    if none > 0 {
        let _ = write!(text, ", {none} proven to have no chain of up to {}", plural(max_parts, "part"));
    }
    if loose > 0 {
        let _ = write!(text, ", {loose} only by chains that cannot be made up");
    }
    if no_proof > 0 {
        let _ = write!(text, ", {no_proof} without proof");
    }
    text + "."
}

fn one_gap(report: &BridgeReport, gap: &GapReport, number: Option<usize>) -> String {
    let mut out = String::new();
    if let Some(number) = number {
        let _ = write!(out, "Gap {number}: ");
    }
    let _ = writeln!(out, "{} to {}", gap.facts.from.name, gap.facts.to.name);
    out.push_str(&wrapped(&labels::how_it_stands(&gap.facts), WIDTH, 2, 4));
    for fault in labels::port_faults(gap) {
        out.push_str(&wrapped(&fault, WIDTH, 2, 4));
    }
    if let Some(text) = branch(report, gap) {
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    if !gap.answer.chains.is_empty() {
        out.push('\n');
        out.push_str(&chains(gap));
        out.push('\n');
        out.push_str(&parts_of_chains(gap));
        for easier in gap.easier() {
            out.push_str(&wrapped(&labels::easier(&easier), WIDTH, 2, 4));
        }
        out.push_str(&making_up(gap));
        if report.gaps.len() == 1 {
            out.push('\n');
            out.push_str(&best_in_detail(gap));
        }
        out.push_str(&slack(gap));
    }
    out.push('\n');
    out.push_str(&wrapped(&statement(report, gap), WIDTH, 2, 2));
    if let Some(text) = left_out(gap, report.want) {
        out.push_str(&wrapped(&text, WIDTH, 2, 2));
    }
    for obstacle in &gap.answer.obstacles {
        out.push_str(&wrapped(&format!("- {obstacle}"), WIDTH, 2, 4));
    }
    out.push_str(&wrapped(&searched(&gap.answer), WIDTH, 2, 2));
    if let Some(blocked) = &gap.in_the_way {
        out.push_str(&others_blocked(blocked));
    }
    if let Some(near) = &gap.near_misses {
        out.push_str(&near_misses(&gap.facts, near, &gap.answer.obstacles));
    }
    out
}

/// The flow of a gap that has another than the circuit.
pub(super) fn branch(report: &BridgeReport, gap: &GapReport) -> Option<String> {
    #[expect(clippy::float_cmp, reason = "a gap without a branch of its own has the very same number")]
    let own = gap.flow_l_min != report.flow_l_min;
    own.then(|| format!("in a branch of its own: losses at the {} L/min that flow there", gap.flow_l_min))
}

fn chains(gap: &GapReport) -> String {
    let chains = gap.answer.chains.iter().take(gap.listed).enumerate();
    let firsts = chains.filter(|(index, _)| gap.variant(*index).is_none());
    let rows = firsts.map(|(index, chain)| labels::chain_cells(gap, index, chain).to_vec());
    table(2, &heads_of(labels::CHAIN_HEADS), rows.collect())
}

/// Heads for a table: words to the left, numbers to the right.
fn heads_of<const N: usize>(heads: [(&'static str, bool); N]) -> [(&'static str, Align); N] {
    heads.map(|(head, number)| (head, if number { Align::Right } else { Align::Left }))
}

/// Most variants of an entry that are spelled out; the JSON report has all.
const MOST_VARIANTS: usize = 3;

/// The parts of each chain on a line, with the turn of every swivel.
fn parts_of_chains(gap: &GapReport) -> String {
    let places = gap.listed.to_string().len();
    let mut lines = String::new();
    let chains = gap.chains.iter().zip(&gap.entries).take(gap.listed).enumerate().collect::<Vec<_>>();
    for entry in chains.chunk_by(|(_, (_, one)), (_, (_, other))| one == other) {
        for (index, (parts, _)) in entry.iter().take(1 + MOST_VARIANTS) {
            let mut text = labels::parts_in_line(parts);
            if let Some(note) = labels::variant(gap, *index) {
                text = format!("{note}: {text}");
            }
            lines.push_str(&wrapped_after(index + 1, places, &text));
        }
        if let [(index, _), .., (last, _)] = entry.get(1 + MOST_VARIANTS..).unwrap_or(&[]) {
            let text = format!("{} to {}: further variants, which the JSON report spells out", index + 1, last + 1);
            lines.push_str(&wrapped(&text, WIDTH, 4 + places, 4 + places));
        }
    }
    format!("  Parts in order, with the turn of each part that must be aimed:\n{lines}")
}

/// `text` after a number, its further lines under its first.
pub(super) fn wrapped_after(number: usize, places: usize, text: &str) -> String {
    wrapped(&format!("{number}: {text}"), WIDTH, 2 + places - number.to_string().len().min(places), 4 + places)
}

/// The best chain part by part.
fn best_in_detail(gap: &GapReport) -> String {
    let Some(parts) = gap.chains.first() else { return String::new() };
    let drawn = parts.iter().any(labels::is_drawn_out);
    let heads: Vec<_> =
        labels::PART_HEADS.into_iter().filter(|(head, _)| drawn || *head != labels::DRAWN_OUT).collect();
    let skipped = labels::PART_HEADS.iter().position(|(head, _)| !drawn && *head == labels::DRAWN_OUT);
    let rows = parts.iter().enumerate().map(|(index, part)| {
        let cells = labels::part_cells(index, part).into_iter().enumerate();
        cells.filter(|(column, _)| Some(*column) != skipped).map(|(_, cell)| cell).collect()
    });
    let heads: Vec<_> =
        heads.into_iter().map(|(head, number)| (head, if number { Align::Right } else { Align::Left })).collect();
    let aims = parts.iter().enumerate().filter_map(|(index, part)| labels::aimed(index, part));
    format!(
        "  Chain 1, from {}:\n{}{}{}",
        gap.facts.from.name,
        table(2, &heads, rows.collect()),
        aims.map(|text| wrapped(&text, WIDTH, 2, 4)).collect::<String>(),
        wrapped(&labels::nearest(gap, 0), WIDTH, 2, 2)
    )
}
