//! Near misses for people.

use super::{
    WIDTH, labels,
    number::{fixed, plural},
    table::wrapped,
};
use crate::{
    bridge::{Blocked, Chain, InTheWay, Missing, Suggestion},
    layout::Move,
    report::{GapFacts, NearMissReport, PartReport, verdict},
};
use std::fmt::Write as _;

/// The section on near misses under a gap that has no chain; empty when there is nothing to say.
pub(super) fn near_misses(gap: &GapFacts, report: &NearMissReport) -> String {
    let mut out = String::new();
    for Section { heading, items, numbered } in sections(gap, report) {
        let hint = if numbered { " (`--apply N` writes the layout with move N)" } else { "" };
        let _ = write!(out, "\n  {heading}{hint}:\n");
        for (index, text) in items.iter().enumerate() {
            out.push_str(&if numbered { wrapped(&format!("{}: {text}", index + 1), WIDTH, 2, 5) } else { item(text) });
        }
    }
    out
}

/// What there is to say under one heading.
pub(super) struct Section {
    pub(super) heading: &'static str,
    pub(super) items: Vec<String>,
    /// Whether the items are moves to choose from.
    pub(super) numbered: bool,
}

/// The headings that have something under them.
pub(super) fn sections(gap: &GapFacts, report: &NearMissReport) -> Vec<Section> {
    let found = &report.found;
    let section = |heading, items| Section { heading, items, numbered: false };
    let moves = found.moves.iter().zip(&report.chains).map(|(suggestion, parts)| suggested(gap, suggestion, parts));
    let refused =
        found.refused.iter().map(|refused| format!("move {}: {}", by(&refused.component, &refused.by), refused.why));
    let sections = [
        section("Why, to check by hand", found.reasons.iter().map(ToString::to_string).collect()),
        Section { heading: labels::MOVES, items: moves.collect(), numbered: true },
        section("Moves that would close a chain but may not be made", refused.collect()),
        section(labels::IN_THE_WAY, found.blocked.as_ref().map(in_the_way).unwrap_or_default()),
        section(labels::LACKING, found.missing.iter().map(lacking).collect()),
    ];
    sections.into_iter().filter(|section| !section.items.is_empty()).collect()
}

fn item(text: &str) -> String {
    wrapped(&format!("- {text}"), WIDTH, 2, 4)
}

fn suggested(gap: &GapFacts, suggestion: &Suggestion, parts: &[PartReport]) -> String {
    let Suggestion { component, by: change, in_play, chain, make_up } = suggestion;
    let names: Vec<&str> = parts.iter().map(|part| part.fitting.as_str()).collect();
    format!(
        "move {} and this {}-part chain closes, {}: {}; {}{}",
        by(component, change),
        chain.parts.len(),
        clearance(chain),
        names.join(", "),
        verdict(gap, parts, make_up),
        if *in_play { "" } else { " (more than the play the layout gives it)" },
    )
}

/// ``pump` 2.3 mm along +x and 0.4 mm along -z`.
pub(super) fn by(component: &str, by: &Move) -> String {
    let mut steps = Vec::new();
    for (shift, axis) in by.shift_mm.iter().zip(["x", "y", "z"]) {
        if *shift != 0.0 {
            let sign = if *shift < 0.0 { '-' } else { '+' };
            steps.push(format!("{} mm along {sign}{axis}", tenths(shift.abs())));
        }
    }
    let mut text = format!("`{component}`");
    if !steps.is_empty() {
        let _ = write!(text, " {}", joined(&steps));
    }
    if by.turn_deg != 0.0 {
        let way = if by.turn_deg < 0.0 { "clockwise" } else { "counter-clockwise" };
        let and = if steps.is_empty() { "" } else { " and" };
        let _ = write!(text, "{and} by a turn of {}° {way}, seen from above its top,", tenths(by.turn_deg.abs()));
    }
    text
}

/// With one decimal, or more where the value has more.
fn tenths(value: f64) -> String {
    let short = fixed(value, 1);
    if short.parse() == Ok(value) { short } else { value.to_string() }
}

fn joined(items: &[String]) -> String {
    match items {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => items.join(""),
    }
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
        if blocked.looked_at == 1 { "it comes" } else { "they all come" },
        if blocked.all { "" } else { " (there are more that were not measured)" },
    )];
    items.extend(blocked.blockers.iter().map(blocker));
    let parts: Vec<&str> = blocked.best.parts.iter().map(|part| part.fitting.as_str()).collect();
    let parts = parts.join(", ");
    items.push(match blocked.passing_clearance_mm() {
        Some(mm) => format!("with a clearance of {} mm this one would pass: {parts}", floored(mm)),
        None => format!("none would pass with any clearance; nearest to it comes {parts}"),
    });
    items
}

/// A body that is in the way, for how many chains, and how far they reach into it.
pub(super) fn blocker(blocker: &InTheWay) -> String {
    let [least, most] = blocker.mm;
    let range = if fixed(least, 1) == fixed(most, 1) {
        reach(least)
    } else {
        format!("from {} to {}", reach(least), reach(most))
    };
    format!("{} for {}: {range}", blocker.body, plural(blocker.chains, "chain"))
}

/// A clearance that certainly passes, in hundredths.
fn floored(mm: f64) -> String {
    fixed((mm * 100.0).floor() / 100.0, 2)
}

fn reach(mm: f64) -> String {
    if mm < 0.0 { format!("{} mm deep", fixed(-mm, 1)) } else { format!("{} mm away", fixed(mm, 1)) }
}

fn lacking(missing: &Missing) -> String {
    let parts: Vec<&str> = missing.chain.parts.iter().map(|part| part.fitting.as_str()).collect();
    format!("with {} this closes, {}: {}", missing.what, clearance(&missing.chain), parts.join(", "))
}
