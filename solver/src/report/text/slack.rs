//! What chains absorb, for people.

use super::{
    WIDTH, labels,
    number::{direction, fixed},
    table::{Align, table, wrapped},
};
use crate::{
    bridge::{Direction, SEARCHED_MM, StackUp},
    report::{GapReport, words::joined},
};

/// How many builds of each chain close, and what it does not absorb; nothing when it was not asked for.
pub(super) fn slack(gap: &GapReport) -> String {
    let Some(asked) = asked(gap) else { return String::new() };
    let heads_of = |heads: [labels::Head; 6]| heads.map(|(head, _)| (head, Align::Right));
    let rows = gap.slack.iter().enumerate().map(|(index, slack)| labels::slack_cells(index, slack).to_vec());
    let mut out =
        format!("\n{}{}", wrapped(&asked, WIDTH, 2, 2), table(2, &heads_of(labels::SLACK_HEADS), rows.collect()));
    let port = &gap.facts.to.name;
    for (chains, said) in alike(gap.slack.iter().map(|slack| within(port, &slack.directions))) {
        out += &wrapped(&format!("{chains}: {said}"), WIDTH, 2, 2);
    }
    let rows = gap.slack.iter().enumerate().map(|(index, slack)| adding_up(index, &slack.stack_up).to_vec());
    out += &wrapped(ADDING_UP, WIDTH, 2, 2);
    out += &table(2, &heads_of(labels::STACK_HEADS), rows.collect());
    out
}

/// What stands over the figures that add up.
pub(super) const ADDING_UP: &str = "Adding up: how far off the end is when every error is at its tolerance in the worst \
                                    combination, and at most in 95 of 100 builds:";

/// What was asked, to stand over the figures of the chains; `None` when it was not asked for.
pub(super) fn asked(gap: &GapReport) -> Option<String> {
    let first = gap.slack.first()?;
    Some(format!(
        "Slack: how many builds in 100 close and keep their clearance with both ports out of place by ±{} mm along each \
         axis and turned by ±{}° about each (two standard deviations), swivels readjusted; {} builds tried, seed {}:",
        first.position_mm, first.angle_deg, first.samples, first.seed
    ))
}

/// What is said of chains, once for all of which the same is said.
fn alike(said: impl Iterator<Item = String>) -> Vec<(String, String)> {
    let mut groups: Vec<(Vec<String>, String)> = Vec::new();
    for (index, said) in said.enumerate() {
        let number = (index + 1).to_string();
        match groups.iter_mut().find(|(_, known)| *known == said) {
            Some((numbers, _)) => numbers.push(number),
            None => groups.push((vec![number], said)),
        }
    }
    let named = |numbers: &[String]| {
        let chain = if numbers.len() == 1 { "Chain" } else { "Chains" };
        format!("{chain} {}", joined(numbers))
    };
    groups.into_iter().map(|(numbers, said)| (named(&numbers), said)).collect()
}

/// Where the second port must be for a chain to close.
pub(super) fn within(port: &str, directions: &[Direction]) -> String {
    let limited = |found: &&Direction| found.ahead_mm.min(found.back_mm) < SEARCHED_MM;
    let limits: Vec<String> = directions.iter().filter(limited).map(limit).collect();
    let free: Vec<String> =
        directions.iter().filter(|found| !limited(found)).map(|found| line(found.towards)).collect();
    let mut text = if limits.is_empty() {
        format!("{port} may be anywhere within {SEARCHED_MM} mm.")
    } else {
        format!("{port} must be within {}.", limits.join(", "))
    };
    if !limits.is_empty() && !free.is_empty() {
        text += &format!(" It absorbs {SEARCHED_MM} mm and more along {}.", free.join(" and "));
    }
    text
}

/// How far the second port may be out along each of the layout's axes alone for a chain to close.
pub(super) fn along_axes(port: &str, axes: &[Direction; 3]) -> String {
    let far = |mm: f64| {
        if mm < SEARCHED_MM { format!("{} mm", fixed(mm, 2)) } else { format!("{SEARCHED_MM} mm or more") }
    };
    let each: Vec<String> = axes
        .iter()
        .zip(["x", "y", "z"])
        .map(|(found, axis)| match [found.ahead_mm, found.back_mm].map(far) {
            [ahead, back] if ahead == back => format!("{axis} by {ahead}"),
            [ahead, back] => format!("+{axis} by {ahead}, -{axis} by {back}"),
        })
        .collect();
    format!("{port} may be out along one axis at a time: {}.", each.join("; "))
}

/// `0.30 mm along y`, or both ways where they differ.
fn limit(found: &Direction) -> String {
    let both = [found.ahead_mm, found.back_mm]
        .map(|mm| if mm < SEARCHED_MM { fixed(mm, 2) } else { format!("{SEARCHED_MM} or more") });
    if both[0] == both[1] {
        return format!("{} mm along {}", both[0], line(found.towards));
    }
    let [x, y, z] = found.towards;
    format!("{} mm along {} and {} mm along {}", both[0], direction(found.towards), both[1], direction([-x, -y, -z]))
}

/// A direction whose sign does not matter.
fn line(towards: [f64; 3]) -> String {
    direction(towards).trim_start_matches('+').to_owned()
}

pub(super) fn adding_up(index: usize, stack_up: &StackUp) -> [String; 6] {
    [
        (index + 1).to_string(),
        fixed(stack_up.worst_mm, 2),
        fixed(stack_up.worst_deg, 2),
        if stack_up.worst_closes { "yes" } else { "no" }.to_owned(),
        fixed(stack_up.usual_mm, 2),
        fixed(stack_up.usual_deg, 2),
    ]
}
