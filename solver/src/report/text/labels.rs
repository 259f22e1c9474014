//! The words and numbers of a bridge report one by one, so that every program shows them alike.
//!
//! The report for people is put together from these; whatever else shows a gap, a chain or a part takes them from here
//! as well, and so can never differ from it by a digit.

use super::{
    bridge, check, completeness, make_up, near_miss,
    number::{direction, fixed, plural},
    seats, slack, together,
};
use crate::{
    bridge::{Answer, CLEARANCE_HORIZON_MM, Chain, Clearance, Clearances, InTheWay, Share, Slack},
    geometry::State,
    interference::Meeting,
    layout::Move,
    report::{BridgeReport, Easier, GapFacts, GapReport, NearMissReport, Outcome, PartReport, Variant},
};
use std::fmt::Write as _;

/// A head of a column and whether what stands under it is numbers.
pub type Head = (&'static str, bool);

/// Heads over [`gap_cells`].
pub const GAP_HEADS: [Head; 7] = [
    ("gap", true),
    ("from", false),
    ("to", false),
    ("apart mm", true),
    ("chain", false),
    ("loss kPa", true),
    ("clear mm", true),
];

/// Heads over [`chain_cells`].
pub const CHAIN_HEADS: [Head; 9] = [
    ("#", true),
    ("parts", true),
    ("loss kPa", true),
    ("clear mm", true),
    ("nearest to", false),
    ("off by mm", true),
    ("off by °", true),
    ("length mm", true),
    ("price", true),
];

/// Heads over [`part_cells`].
pub const PART_HEADS: [Head; 8] = [
    ("#", true),
    ("id", false),
    ("turn °", true),
    (DRAWN_OUT, true),
    ("exit direction", false),
    ("seat at x", true),
    ("y", true),
    ("z mm", true),
];

/// Heads over [`slack_cells`].
pub const SLACK_HEADS: [Head; 6] = [
    ("#", true),
    ("builds %", true),
    ("95 % interval", true),
    ("closing %", true),
    ("95 % interval", true),
    ("linear %", true),
];

/// Heads over [`stack_cells`].
pub const STACK_HEADS: [Head; 6] =
    [("#", true), ("worst mm", true), ("worst °", true), ("closes then", true), ("95 % mm", true), ("95 % °", true)];

/// The head that is of interest only where a chain has an adjustable part.
pub const DRAWN_OUT: &str = "out mm";

/// What an overview says of gap `index`, counted from 0: under [`GAP_HEADS`].
#[must_use]
pub fn gap_cells(report: &BridgeReport, index: usize, gap: &GapReport) -> [String; 7] {
    let best = report.chosen(index).and_then(|chosen| gap.answer.chains.get(chosen));
    let verdict = match (best, gap.outcome()) {
        (Some(chain), _) => plural(chain.parts.len(), "part"),
        (None, Outcome::NoProof) => "none found".to_owned(),
        (None, _) => format!("none up to {}", report.max_parts),
    };
    [
        (index + 1).to_string(),
        gap.facts.from.name.clone(),
        gap.facts.to.name.clone(),
        fixed(gap.facts.distance_mm, 1),
        verdict,
        best.map_or_else(dash, |chain| fixed(chain.loss_kpa, 2)),
        report.chosen(index).map_or_else(dash, |chosen| clear_of_others(gap, chosen)),
    ]
}

/// The figures of the chain at place `index` of a gap, counted from 0: under [`CHAIN_HEADS`]. Its clearance is that to
/// anything but the components that it joins.
#[must_use]
pub fn chain_cells(gap: &GapReport, index: usize, chain: &Chain) -> [String; 9] {
    let others = gap.clearances.get(index).and_then(|apart| apart.to_others.as_ref());
    [
        (index + 1).to_string(),
        chain.parts.len().to_string(),
        fixed(chain.loss_kpa, 2),
        clear_of_others(gap, index),
        others.map_or_else(dash, |nearest| nearest.body.clone()),
        fixed(chain.residual_mm, 2),
        fixed(chain.residual_deg, 2),
        fixed(chain.length_mm, 1),
        chain.price.map_or_else(dash, |price| fixed(price, 2)),
    ]
}

/// How the part at place `index` of a chain, counted from 0, is set and where it leads: under [`PART_HEADS`].
#[must_use]
pub fn part_cells(index: usize, part: &PartReport) -> [String; 8] {
    let id = part.way_round.map_or_else(|| part.fitting.clone(), |way| format!("{} ({way})", part.fitting));
    let [x, y, z] = part.ends_at.map(|coordinate| fixed(coordinate, 1));
    [
        (index + 1).to_string(),
        id,
        part.turn_deg.map_or_else(dash, turn),
        if is_drawn_out(part) { fixed(part.stretch_mm, 1) } else { dash() },
        direction(part.heads),
        x,
        y,
        z,
    ]
}

/// In how many builds of 100 the chain at place `index`, counted from 0, closes: under [`SLACK_HEADS`].
#[must_use]
pub fn slack_cells(index: usize, slack: &Slack) -> [String; 6] {
    [
        (index + 1).to_string(),
        percent(slack.share.share),
        interval(&slack.share),
        percent(slack.closing.share),
        interval(&slack.closing),
        slack.linear.map_or_else(dash, percent),
    ]
}

/// How the part at place `index` of a chain, counted from 0, is aimed; `None` where there is nothing to aim.
#[must_use]
pub fn aimed(index: usize, part: &PartReport) -> Option<String> {
    let aim = part.aim.as_ref()?;
    Some(format!("Aim part {}: its free end {}; {}.", index + 1, aim.towards, aim.against))
}

/// Whether a part is drawn out by what shows with two decimals.
#[must_use]
pub fn is_drawn_out(part: &PartReport) -> bool {
    part.stretch_mm.abs() >= 0.005
}

/// A turn with one decimal; what rounds to a full turn is none.
#[must_use]
pub fn turn(turn_deg: f64) -> String {
    match fixed(turn_deg, 1) {
        full if full == "360.0" => "0.0".to_owned(),
        text => text,
    }
}

/// The parts of a chain in order, with the turn of each that must be aimed.
#[must_use]
pub fn parts_in_line(parts: &[PartReport]) -> String {
    parts.iter().map(part_in_line).collect::<Vec<_>>().join(", ")
}

/// A part with which way round it is built in, its turn, and how far it is drawn out.
#[must_use]
pub fn part_in_line(part: &PartReport) -> String {
    let mut text = part.fitting.clone();
    if let Some(way) = part.way_round {
        let _ = write!(text, " ({way})");
    }
    if let Some(degrees) = part.turn_deg {
        let _ = write!(text, " {}°", turn(degrees));
    }
    if is_drawn_out(part) {
        let _ = write!(text, " +{} mm", fixed(part.stretch_mm, 1));
    }
    text
}

/// What cannot be about the ports of a gap, each with what to do about it.
#[must_use]
pub fn port_faults(gap: &GapReport) -> Vec<String> {
    let faults = gap.seats.iter().flat_map(|seat| seat.faults.iter().map(move |fault| (seat, fault)));
    faults.map(|(seat, fault)| format!("Warning: {}.", seats::said(seat, fault))).collect()
}

/// Of a chain that is a variant of one listed before it, counted from 0: of which, how it differs, and how clear it is.
#[must_use]
pub fn variant(gap: &GapReport, chain: usize) -> Option<String> {
    let (first, variant) = gap.variant(chain)?;
    let differs = match variant {
        Variant::Posture => "in another posture",
        Variant::WayRound => "with parts the other way round",
        Variant::Order => "with straight parts in another order",
    };
    Some(format!("as {} {differs}, {} mm clear", first + 1, clear_of_others(gap, chain)))
}

/// A chain that is easier than the first, in what, and for how much more loss.
#[must_use]
pub fn easier(easier: &Easier) -> String {
    let cost = |more_kpa: f64| match fixed(more_kpa, 2).as_str() {
        "0.00" => "for the same loss".to_owned(),
        more => format!("for {more} kPa more"),
    };
    match *easier {
        Easier::Aimed { chain, odd, first_odd, more_kpa } => {
            let turns = match odd {
                0 => "right angles only".to_owned(),
                odd => format!("{} instead of {first_odd}", plural(odd, "odd angle")),
            };
            format!("Easier to aim than chain 1: chain {}, {turns}, {}.", chain + 1, cost(more_kpa))
        }
        Easier::Slack { chain, builds, first_builds, more_kpa } => format!(
            "More builds close with chain {} than with chain 1: {} in 100 instead of {}, {}.",
            chain + 1,
            fixed(builds, 1),
            fixed(first_builds, 1),
            cost(more_kpa)
        ),
    }
}

/// The two ports of a gap and how they stand to each other.
#[must_use]
pub fn how_it_stands(facts: &GapFacts) -> String {
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

/// What the chain at place `index` of a gap, counted from 0, comes nearest to, in words: of everything but the components
/// that it joins, and of these.
#[must_use]
pub fn nearest(gap: &GapReport, index: usize) -> String {
    let Some(Clearances { to_others, to_joined }) = gap.clearances.get(index) else { return String::new() };
    let told = |clearance: &Clearance, what: &str| {
        let Clearance { mm, body, part, state, .. } = clearance;
        match state {
            State::Clear => format!("{} mm from {body}{what} (part {})", fixed(*mm, 1), part + 1),
            _ => format!("touching {body}{what} (part {})", part + 1),
        }
    };
    let others = to_others.as_ref().map(|clearance| told(clearance, ""));
    let joined = to_joined.as_ref().map(|clearance| told(clearance, ", which it joins"));
    match (others, joined) {
        (None, None) => format!("Nothing stands within {CLEARANCE_HORIZON_MM} mm of it."),
        (Some(only), None) | (None, Some(only)) => format!("Nearest: {only}."),
        (Some(others), Some(joined)) => format!("Nearest: {others}; {joined}."),
    }
}

/// How far a chain of a gap, counted from 0, is from anything but the components that it joins, in millimetres with one
/// decimal.
fn clear_of_others(gap: &GapReport, chain: usize) -> String {
    match gap.clearances.get(chain).map(|apart| &apart.to_others) {
        Some(Some(nearest)) => fixed(nearest.mm, 1),
        Some(None) => format!(">{CLEARANCE_HORIZON_MM}"),
        None => dash(),
    }
}

/// What was considered, what was not, and so what the list of chains means.
#[must_use]
pub fn statement(report: &BridgeReport, gap: &GapReport) -> String {
    completeness::statement(report, gap)
}

/// The figures of a search, in a sentence.
#[must_use]
pub fn searched(answer: &Answer) -> String {
    completeness::searched(answer)
}

/// What was asked of the gaps: how long chains may be, at which flow losses are stated, and what keeps clear of what.
#[must_use]
pub fn settings(report: &BridgeReport) -> String {
    bridge::settings(report)
}

/// How many gaps have a chain and how many have none, in a sentence.
#[must_use]
pub fn tally(gaps: &[&GapReport], max_parts: usize) -> String {
    bridge::tally(gaps, max_parts)
}

/// Which chains can be built side by side; `None` where that was not looked into.
#[must_use]
pub fn side_by_side(report: &BridgeReport) -> Option<String> {
    together::said(report)
}

/// The flow of a gap that has another than the circuit.
#[must_use]
pub fn branch(report: &BridgeReport, gap: &GapReport) -> Option<String> {
    bridge::branch(report, gap)
}

/// How many chains of a gap cannot be made up, for a reader who sees all that were found; `None` where all can be, or none
/// was judged.
#[must_use]
pub fn left_out(gap: &GapReport) -> Option<String> {
    make_up::left_out(gap, gap.answer.chains.len())
}

/// What was asked of the slack of chains, to stand over [`slack_cells`]; `None` where it was not worked out.
#[must_use]
pub fn slack_asked(gap: &GapReport) -> Option<String> {
    slack::asked(gap)
}

/// Where the second port must be for the chain at place `index`, counted from 0, to close; `None` where that was not
/// worked out.
#[must_use]
pub fn slack_within(gap: &GapReport, index: usize) -> Option<String> {
    gap.slack.get(index).map(|found| slack::within(&gap.facts.to.name, &found.directions))
}

/// How far the second port may be out along each of the layout's axes, one at a time, for the chain at place `index`,
/// counted from 0, to close; `None` where that was not worked out.
#[must_use]
pub fn slack_along_axes(gap: &GapReport, index: usize) -> Option<String> {
    gap.slack.get(index).map(|found| slack::along_axes(&gap.facts.to.name, &found.along_axes))
}

/// What stands over [`stack_cells`].
pub const ADDING_UP: &str = slack::ADDING_UP;

/// How the errors of the chain at place `index`, counted from 0, add up: under [`STACK_HEADS`].
#[must_use]
pub fn stack_cells(index: usize, found: &Slack) -> [String; 6] {
    slack::adding_up(index, &found.stack_up)
}

/// How deep two bodies overlap, in millimetres with two decimals.
#[must_use]
pub fn depth(meeting: &Meeting) -> String {
    check::depth(meeting)
}

/// The heading over the moves that open a gap, in the order of the near misses.
pub const MOVES: &str = "Moves that open it, each checked in full";

/// The heading over the moves after those, whose chain closes but cannot be made up.
pub const STIFF_MOVES: &str = "Moves after which a chain closes that cannot be made up";

/// The same heading, where no move opens the gap.
pub const ONLY_STIFF_MOVES: &str = "No move was found that opens it; after these a chain closes that cannot be made up";

/// The heading over what is in the way of chains that close: how many there are, then the bodies, then the best.
pub const IN_THE_WAY: &str = "What is in the way";

/// The heading over the chain that comes nearest, without regard to what is in its way.
pub const NEAREST: &str = "What comes nearest";

/// The heading over parts with which a chain would close, in the order of the near misses.
pub const LACKING: &str = "Parts that the catalog lacks";

/// The headings of a near-miss report on a gap, each with what stands under it.
#[must_use]
pub fn near_misses(gap: &GapFacts, report: &NearMissReport) -> Vec<(&'static str, Vec<String>)> {
    near_miss::sections(gap, report).into_iter().map(|section| (section.heading, section.items)).collect()
}

/// A component, what travels with it, and how it is moved, such as `` `pump` 2.3 mm along +x ``.
#[must_use]
pub fn moved(component: &str, carried: &[String], by: &Move) -> String {
    near_miss::by(component, carried, by)
}

/// A body that is in the way of chains, of how many, and how far they reach into it.
#[must_use]
pub fn in_the_way(blocker: &InTheWay) -> String {
    near_miss::blocker(blocker)
}

/// A length in millimetres with one decimal.
#[must_use]
pub fn millimetres(value: f64) -> String {
    fixed(value, 1)
}

fn dash() -> String {
    "-".to_owned()
}

fn percent(share: f64) -> String {
    fixed(share * 100.0, 1)
}

fn interval(share: &Share) -> String {
    format!("{} to {}", percent(share.low), percent(share.high))
}
