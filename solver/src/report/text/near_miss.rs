//! Near misses for people.

use super::{
    WIDTH, labels,
    number::{fixed, plural},
    table::wrapped,
};
use crate::{
    bridge::{Blocked, Chain, InTheWay, Missing, Nearest, Refused, Searched, Suggestion},
    layout::Move,
    report::{GapFacts, NearMissReport, PartReport, make_up::carrying, verdict, words::joined},
};
use std::fmt::Write as _;

/// The section on near misses under a gap that has no chain, but for what was `said` of it before; empty when there is
/// nothing to say.
pub(super) fn near_misses(gap: &GapFacts, report: &NearMissReport, said: &[String]) -> String {
    let mut out = String::new();
    let mut number = 0;
    for Section { heading, mut items, numbered } in sections(gap, report) {
        items.retain(|item| !said.contains(item));
        if items.is_empty() {
            continue;
        }
        // Said once, since the numbers go on from one heading to the next.
        let hint = if numbered && number == 0 { " (`--apply N` writes the layout with move N)" } else { "" };
        let _ = write!(out, "\n{}", wrapped(&format!("{heading}{hint}:"), WIDTH, 2, 2));
        for text in &items {
            if numbered {
                number += 1;
                out.push_str(&wrapped(&format!("{number}: {text}"), WIDTH, 2, 5));
            } else {
                out.push_str(&item(text));
            }
        }
    }
    out
}

/// What there is to say under one heading.
pub(super) struct Section {
    pub(super) heading: &'static str,
    pub(super) items: Vec<String>,
    /// Whether the items are moves to choose from, numbered on from those of the section before.
    pub(super) numbered: bool,
}

/// The headings that have something under them.
pub(super) fn sections(gap: &GapFacts, report: &NearMissReport) -> Vec<Section> {
    let found = &report.found;
    let section = |heading, items| Section { heading, items, numbered: false };
    let moves = |opening: bool| {
        let moves = found.moves.iter().zip(&report.chains);
        let moves = moves.filter(move |(suggestion, _)| suggestion.opens() == opening);
        moves.map(|(suggestion, parts)| suggested(gap, suggestion, parts)).collect()
    };
    let opened = found.moves.iter().any(|suggestion| suggestion.opens() && !suggestion.large);
    let looked_at = looked_at(&found.searched).filter(|_| !opened);
    let stiff = if found.moves.iter().any(Suggestion::opens) { labels::STIFF_MOVES } else { labels::ONLY_STIFF_MOVES };
    let sections = [
        section("Why, to check by hand", found.reasons.iter().map(ToString::to_string).collect()),
        Section { heading: labels::MOVES, items: moves(true), numbered: true },
        Section { heading: stiff, items: moves(false), numbered: true },
        section("Rejected moves", found.refused.iter().map(refused).collect()),
        section(
            labels::NEAREST,
            found.nearest.iter().map(|nearest| comes_nearest(gap, nearest, &found.searched)).collect(),
        ),
        section(labels::IN_THE_WAY, found.blocked.as_ref().map(in_the_way).unwrap_or_default()),
        section(labels::LACKING, found.missing.iter().map(lacking).collect()),
        section("What was looked at", looked_at.into_iter().collect()),
    ];
    sections.into_iter().filter(|section| !section.items.is_empty()).collect()
}

fn item(text: &str) -> String {
    wrapped(&format!("- {text}"), WIDTH, 2, 4)
}

fn suggested(gap: &GapFacts, suggestion: &Suggestion, parts: &[PartReport]) -> String {
    let Suggestion { component, carried, by: change, in_play, large, chain, make_up } = suggestion;
    let names: Vec<&str> = parts.iter().map(|part| part.fitting.as_str()).collect();
    format!(
        "move {} and this {}-part chain closes, {}: {}; {}{}",
        by(component, carried, change),
        chain.parts.len(),
        clearance(chain),
        names.join(", "),
        verdict(gap, parts, make_up),
        match (*in_play, *large) {
            (true, false) => "",
            (false, false) => " (more than the play the layout gives it)",
            (true, true) => " (a large move: no small move works)",
            (false, true) => {
                " (a large move, more than the play the layout gives it: no small move works)"
            }
        },
    )
}

fn refused(refused: &Refused) -> String {
    let Refused { component, carried, by: change, parts, why } = refused;
    format!("move {} for {}: {why}", by(component, carried, change), parts.join(", "))
}

/// ``pump` 2.3 mm along +x and 0.4 mm along -z`.
pub(super) fn by(component: &str, carried: &[String], by: &Move) -> String {
    let shifted = shifted(by.shift_mm);
    let mut text = format!("`{component}`{}", carrying(carried));
    if !shifted.is_empty() {
        let _ = write!(text, " {shifted}");
    }
    if by.turn_deg != 0.0 {
        let way = if by.turn_deg < 0.0 { "clockwise" } else { "counter-clockwise" };
        let and = if shifted.is_empty() { "" } else { " and" };
        let _ = write!(text, "{and} by a turn of {}° {way}, seen from above its top,", tenths(by.turn_deg.abs()));
    }
    text
}

/// `2.3 mm along +x and 0.4 mm along -z`; empty where nothing is shifted.
fn shifted(shift_mm: [f64; 3]) -> String {
    let steps = shift_mm.iter().zip(["x", "y", "z"]).filter(|(shift, _)| **shift != 0.0);
    let steps: Vec<String> = steps
        .map(|(shift, axis)| {
            let sign = if *shift < 0.0 { '-' } else { '+' };
            format!("{} mm along {sign}{axis}", tenths(shift.abs()))
        })
        .collect();
    joined(&steps)
}

/// The chain that comes nearest, and why it is no suggestion.
fn comes_nearest(gap: &GapFacts, nearest: &Nearest, searched: &Searched) -> String {
    let Nearest { component, shift_mm, off_deg, in_the_way, chain } = nearest;
    let parts: Vec<&str> = chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    // Nobody acts on hundredths of a move that is only a measure of the distance.
    let shift = shifted(shift_mm.map(|shift| (shift * 10.0).round() / 10.0));
    let shift = if shift.is_empty() { shift } else { format!("move {shift}") };
    let turn = if *off_deg < 0.05 { String::new() } else { format!("turn by {}°", fixed(*off_deg, 1)) };
    let change = joined(&[shift, turn].into_iter().filter(|change| !change.is_empty()).collect::<Vec<_>>());
    let way = match in_the_way {
        Some((body, mm)) if *mm < 0.0 => format!("; on its way it runs {} mm into {body}", fixed(-mm, 1)),
        Some((body, mm)) => format!("; on its way it comes within {} mm of {body}", fixed(*mm, 1)),
        None => String::new(),
    };
    let could = if searched.components.is_empty() {
        String::new()
    } else {
        format!("; whether `{component}` can was not checked")
    };
    format!(
        "{} would have to {change} to meet this {}-part chain: {}{way}{could}",
        gap.to.name,
        chain.parts.len(),
        parts.join(", "),
    )
}

/// The bounds of what is said about moves; `None` where none were looked for.
fn looked_at(searched: &Searched) -> Option<String> {
    let Searched { components, reach_mm, parts, complete } = searched;
    if *parts == 0 {
        return None;
    }
    if components.is_empty() {
        return Some("no moves: whatever carries one of the ports moves both ports".to_owned());
    }
    let names: Vec<String> = components.iter().map(|name| format!("`{name}`")).collect();
    let rest = if *complete { "" } else { ", some of them only in part, so that a smaller move may have been missed" };
    Some(format!(
        "moves of {} of up to {} mm, and turns as far as their play allows, with chains of up to {}{rest}",
        joined(&names),
        tenths(*reach_mm),
        plural(*parts, "part"),
    ))
}

/// With one decimal, or more where the value has more.
fn tenths(value: f64) -> String {
    let short = fixed(value, 1);
    if short.parse() == Ok(value) { short } else { value.to_string() }
}

fn clearance(chain: &Chain) -> String {
    match &chain.clearance {
        Some(nearest) => format!("least clearance {} mm", fixed(nearest.mm, 1)),
        None => format!("nothing within {} mm of it", crate::bridge::CLEARANCE_HORIZON_MM),
    }
}

fn in_the_way(blocked: &Blocked) -> Vec<String> {
    let mut items = vec![format!(
        "{} where everything stands now, but {} too near to something{}",
        match blocked.looked_at {
            1 => "1 chain closes".to_owned(),
            several => format!("{several} chains close"),
        },
        if blocked.looked_at == 1 { "it comes" } else { "each comes" },
        if blocked.all { "" } else { " (there are more that were not measured)" },
    )];
    items.extend(blocked.blockers.iter().map(blocker));
    let parts: Vec<&str> = blocked.best.parts.iter().map(|part| part.fitting.as_str()).collect();
    items.push(format!("least would have to give way for {}", parts.join(", ")));
    items.push(match blocked.passing_mm {
        Some(mm) => format!("with a clearance of {} mm one of them would pass", floored(mm)),
        None => "none would pass with any clearance".to_owned(),
    });
    items
}

/// What is in the way of chains that do not fit, where others do; wrapped lines.
pub(super) fn others_blocked(blocked: &Blocked) -> String {
    let which = if blocked.all { "of as few parts as chain 1 or fewer" } else { "of fewest parts and least loss" };
    let head = format!(
        "Of {} {which} that reach the port, {} too near to something:",
        plural(blocked.looked_at, "chain"),
        match blocked.looked_at - blocked.clear {
            1 => "1 comes".to_owned(),
            several => format!("{several} come"),
        }
    );
    let items = blocked.blockers.iter().map(|item| wrapped(&format!("- {}", blocker(item)), WIDTH, 2, 4));
    std::iter::once(wrapped(&head, WIDTH, 2, 2)).chain(items).collect()
}

/// Something in the way, of how many chains, of how many it alone, and by how much it would have to give way.
pub(super) fn blocker(blocker: &InTheWay) -> String {
    let carries = blocker.carries.as_ref().map(|port| format!(", which carries {port}")).unwrap_or_default();
    let what = match &blocker.body {
        None => "parts of the chain, which run into each other".to_owned(),
        Some(body) if blocker.is_seat => format!("{body}{carries} and in which they stand too deep"),
        Some(body) => format!("{body}{carries}"),
    };
    let alone = match blocker.alone {
        0 => String::new(),
        alone if alone == blocker.chains => ", of each alone".to_owned(),
        alone => format!(", of {alone} alone"),
    };
    let [least, most] = blocker.give_way_mm.map(|mm| fixed(mm, 1));
    let by = if least == most { least } else { format!("{least} to {most}") };
    format!("{what}: in the way of {}{alone}, by {by} mm", plural(blocker.chains, "chain"))
}

/// A clearance that certainly passes, in hundredths.
fn floored(mm: f64) -> String {
    fixed((mm * 100.0).floor() / 100.0, 2)
}

fn lacking(missing: &Missing) -> String {
    let parts: Vec<&str> = missing.chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    format!("with {} this closes, {}: {}", missing.what, clearance(&missing.chain), parts.join(", "))
}
