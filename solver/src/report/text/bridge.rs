//! The bridge report for people.

use super::{
    WIDTH,
    completeness::{searched, statement},
    make_up::{left_out, making_up},
    near_miss::near_misses,
    number::{direction, fixed, plural},
    slack::slack,
    table::{Align, table, wrapped},
    together::side_by_side,
};
use crate::{
    bridge::{Chain, Clearance},
    geometry::State,
    report::{BridgeReport, FlowBasis, GapFacts, GapReport, Outcome, PartReport, verdict},
};
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
                Some(made) => format!("{}; {}", in_line(parts), verdict(&gap.facts, parts, made)),
                None => in_line(parts),
            },
            None => statement(report, &gap.answer),
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
    let text = "At a turn of 0° a part bends the same way as the bend before it, or towards the port's own mark; turns \
                count counter-clockwise, seen from the far end of the chain.";
    format!("\n{}", wrapped(text, WIDTH, 0, 0))
}

fn heading(report: &BridgeReport) -> String {
    let flow = match report.flow_is {
        FlowBasis::Circuit => format!("the {} L/min that the circuit settles at", report.flow_l_min),
        FlowBasis::Asked | FlowBasis::Design => format!("{} L/min", report.flow_l_min),
    };
    let settings = format!(
        "chains of up to {}, losses at {}, {} mm clear of everything, closing within {} mm and {}°",
        plural(report.max_parts, "part"),
        flow,
        report.clearance_mm,
        report.closure_mm,
        report.closure_deg,
    );
    format!("{}: {}\n{}", report.layout, plural(report.gaps.len(), "gap"), wrapped(&settings, WIDTH, 0, 2))
}

/// One line for each gap: how it stands and its best chain among those that leave room for the other gaps.
fn overview(report: &BridgeReport) -> String {
    let heads = [
        ("gap", Align::Right),
        ("from", Align::Left),
        ("to", Align::Left),
        ("apart mm", Align::Right),
        ("chain", Align::Left),
        ("loss kPa", Align::Right),
        ("clear mm", Align::Right),
    ];
    let rows = report.gaps.iter().enumerate().map(|(index, gap)| {
        let best = report.chosen(index).and_then(|chosen| gap.answer.chains.get(chosen));
        let verdict = match (best, gap.outcome()) {
            (Some(chain), _) => plural(chain.parts.len(), "part"),
            (None, Outcome::NoProof) => "none found".to_owned(),
            (None, _) => format!("none up to {}", report.max_parts),
        };
        vec![
            (index + 1).to_string(),
            gap.facts.from.name.clone(),
            gap.facts.to.name.clone(),
            fixed(gap.facts.distance_mm, 1),
            verdict,
            best.map_or_else(dash, |chain| fixed(chain.loss_kpa, 2)),
            best.map_or_else(dash, |chain| clearance(chain.clearance.as_ref())),
        ]
    });
    table(2, &heads, rows.collect()) + &tally(report) + &side_by_side(report)
}

/// How many gaps have a chain and how many have none.
fn tally(report: &BridgeReport) -> String {
    let count = |outcome| report.gaps.iter().filter(|gap| gap.outcome() == outcome).count();
    let loose = |gap: &&GapReport| Outcome::of(&gap.answer) == Outcome::Fits && gap.outcome() != Outcome::Fits;
    let loose = report.gaps.iter().filter(loose).count();
    let (none, no_proof) = (count(Outcome::DoesNotFit), count(Outcome::NoProof) - loose);
    let mut text = match none + no_proof + loose {
        0 => "Every gap has a chain".to_owned(),
        _ => format!("{} of {} bridged", count(Outcome::Fits), plural(report.gaps.len(), "gap")),
    };
    if none > 0 {
        let _ = write!(text, ", {none} proven to have no chain of up to {}", plural(report.max_parts, "part"));
    }
    if loose > 0 {
        let _ = write!(text, ", {loose} only by chains that cannot be made up");
    }
    if no_proof > 0 {
        let _ = write!(text, ", {no_proof} without proof");
    }
    format!("  {text}.\n")
}

fn one_gap(report: &BridgeReport, gap: &GapReport, number: Option<usize>) -> String {
    let mut out = String::new();
    if let Some(number) = number {
        let _ = write!(out, "Gap {number}: ");
    }
    let _ = writeln!(out, "{} to {}", gap.facts.from.name, gap.facts.to.name);
    out.push_str(&wrapped(&how_it_stands(&gap.facts), WIDTH, 2, 4));
    #[expect(clippy::float_cmp, reason = "a gap without a branch of its own has the very same number")]
    if gap.flow_l_min != report.flow_l_min {
        let text = format!("in a branch of its own: losses at the {} L/min that flow there", gap.flow_l_min);
        out.push_str(&wrapped(&text, WIDTH, 2, 4));
    }
    if !gap.answer.chains.is_empty() {
        out.push('\n');
        out.push_str(&chains(gap));
        out.push('\n');
        out.push_str(&parts_of_chains(gap));
        out.push_str(&making_up(gap));
        if report.gaps.len() == 1 {
            out.push('\n');
            out.push_str(&best_in_detail(gap));
        }
        out.push_str(&slack(gap));
    }
    out.push('\n');
    out.push_str(&wrapped(&statement(report, &gap.answer), WIDTH, 2, 2));
    out.push_str(&left_out(gap));
    for obstacle in &gap.answer.obstacles {
        out.push_str(&wrapped(&format!("- {obstacle}"), WIDTH, 2, 4));
    }
    out.push_str(&wrapped(&searched(&gap.answer.counts), WIDTH, 2, 2));
    if let Some(near) = &gap.near_misses {
        out.push_str(&near_misses(&gap.facts, near));
    }
    out
}

fn how_it_stands(facts: &GapFacts) -> String {
    /// Below what is written with one decimal, a distance or angle counts as nothing.
    const NOTHING: f64 = 0.05;
    let axes = if facts.axes_deg < NOTHING {
        "facing the same way".to_owned()
    } else if facts.axes_deg <= 180.0 - NOTHING {
        format!("axes at {}°", fixed(facts.axes_deg, 1))
    } else if facts.aside_mm < NOTHING {
        "facing each other in line".to_owned()
    } else {
        "facing each other out of line".to_owned()
    };
    let ports = [&facts.from, &facts.to].map(|port| format!("{} {}", port.thread, port.gender));
    let ports = if ports[0] == ports[1] { format!("both {}", ports[0]) } else { ports.join(" to ") };
    format!(
        "{ports}, {} mm apart ({} {}, {} aside), {axes}",
        fixed(facts.distance_mm, 1),
        fixed(facts.ahead_mm.abs(), 1),
        if facts.ahead_mm < -NOTHING { "behind" } else { "ahead" },
        fixed(facts.aside_mm, 1),
    )
}

fn chains(gap: &GapReport) -> String {
    let heads = [
        ("#", Align::Right),
        ("parts", Align::Right),
        ("loss kPa", Align::Right),
        ("clear mm", Align::Right),
        ("nearest to", Align::Left),
        ("off by mm", Align::Right),
        ("off by °", Align::Right),
        ("length mm", Align::Right),
        ("price", Align::Right),
    ];
    let rows = gap.answer.chains.iter().take(gap.listed).enumerate().map(|(index, chain)| {
        vec![
            (index + 1).to_string(),
            chain.parts.len().to_string(),
            fixed(chain.loss_kpa, 2),
            clearance(chain.clearance.as_ref()),
            chain.clearance.as_ref().map_or_else(dash, |nearest| nearest.body.clone()),
            fixed(chain.residual_mm, 2),
            fixed(chain.residual_deg, 2),
            fixed(chain.length_mm, 1),
            chain.price.map_or_else(dash, |price| fixed(price, 2)),
        ]
    });
    table(2, &heads, rows.collect())
}

/// The parts of each chain on a line, with the turn of every swivel.
fn parts_of_chains(gap: &GapReport) -> String {
    let places = gap.listed.to_string().len();
    let lines = gap
        .chains
        .iter()
        .take(gap.listed)
        .enumerate()
        .map(|(index, parts)| wrapped_after(index + 1, places, &in_line(parts)));
    format!("  Parts in order, with the turn of each part that must be aimed:\n{}", lines.collect::<String>())
}

/// `text` after a number, its further lines under its first.
pub(super) fn wrapped_after(number: usize, places: usize, text: &str) -> String {
    wrapped(&format!("{number}: {text}"), WIDTH, 2 + places - number.to_string().len().min(places), 4 + places)
}

fn in_line(parts: &[PartReport]) -> String {
    parts.iter().map(part_in_line).collect::<Vec<_>>().join(", ")
}

fn part_in_line(part: &PartReport) -> String {
    let mut text = part.fitting.clone();
    if let Some(way) = part.way_round {
        let _ = write!(text, " ({way})");
    }
    if let Some(turn) = part.turn_deg {
        let _ = write!(text, " {}°", turn_text(turn));
    }
    if is_drawn_out(part) {
        let _ = write!(text, " +{} mm", fixed(part.stretch_mm, 1));
    }
    text
}

/// A turn with one decimal; what rounds to a full turn is none.
fn turn_text(turn_deg: f64) -> String {
    match fixed(turn_deg, 1) {
        full if full == "360.0" => "0.0".to_owned(),
        text => text,
    }
}

/// The best chain part by part.
fn best_in_detail(gap: &GapReport) -> String {
    let (Some(parts), Some(chain)) = (gap.chains.first(), gap.answer.chains.first()) else { return String::new() };
    let mut heads = vec![
        ("part", Align::Right),
        ("id", Align::Left),
        ("turn °", Align::Right),
        ("then heads", Align::Left),
        ("seat at x", Align::Right),
        ("y", Align::Right),
        ("z mm", Align::Right),
    ];
    let drawn = parts.iter().any(is_drawn_out);
    if drawn {
        heads.insert(3, ("drawn out mm", Align::Right));
    }
    let rows = parts.iter().enumerate().map(|(index, part)| {
        let id = part.way_round.map_or_else(|| part.fitting.clone(), |way| format!("{} ({way})", part.fitting));
        let mut cells =
            vec![(index + 1).to_string(), id, part.turn_deg.map_or_else(dash, turn_text), direction(part.heads)];
        cells.extend(part.ends_at.map(|coordinate| fixed(coordinate, 1)));
        if drawn {
            cells.insert(3, if is_drawn_out(part) { fixed(part.stretch_mm, 1) } else { dash() });
        }
        cells
    });
    format!(
        "  Chain 1, from {}:\n{}{}",
        gap.facts.from.name,
        table(2, &heads, rows.collect()),
        wrapped(&nearest(chain), WIDTH, 2, 2)
    )
}

/// Whether a part is drawn out by what shows with two decimals.
fn is_drawn_out(part: &PartReport) -> bool {
    part.stretch_mm.abs() >= 0.005
}

/// What a chain comes nearest to, in words.
fn nearest(chain: &Chain) -> String {
    match &chain.clearance {
        Some(Clearance { mm, body, part, state: State::Clear, .. }) => {
            format!("Part {} comes nearest to anything: {} mm from {body}.", part + 1, fixed(*mm, 1))
        }
        Some(Clearance { body, part, .. }) => format!("Part {} touches {body}.", part + 1),
        None => format!("Nothing stands within {} mm of it.", crate::bridge::CLEARANCE_HORIZON_MM),
    }
}

fn clearance(clearance: Option<&Clearance>) -> String {
    match clearance {
        Some(nearest) => fixed(nearest.mm, 1),
        None => format!(">{}", crate::bridge::CLEARANCE_HORIZON_MM),
    }
}

fn dash() -> String {
    "-".to_owned()
}
