//! What chains absorb, for people.

use super::{
    WIDTH, labels,
    number::{direction, fixed},
    table::{Align, table, wrapped},
};
use crate::{
    bridge::{Direction, SEARCHED_MM, StackUp},
    report::GapReport,
};

/// How many builds of each chain close, and for the first what it does not absorb; nothing when it was not asked for.
pub(super) fn slack(gap: &GapReport) -> String {
    if gap.slack.is_empty() {
        return String::new();
    }
    let heads = labels::SLACK_HEADS.map(|(head, _)| (head, Align::Right));
    let rows = gap.slack.iter().enumerate().map(|(index, slack)| labels::slack_cells(index, slack).to_vec());
    let [asked, within, adding_up] = said(gap);
    format!(
        "\n{}{}{}{}",
        wrapped(&asked, WIDTH, 2, 2),
        table(2, &heads, rows.collect()),
        wrapped(&within, WIDTH, 2, 2),
        wrapped(&adding_up, WIDTH, 2, 2)
    )
}

/// What was asked, over the figures of the chains, and two sentences on the first chain; empty when it was not asked for.
pub(super) fn said(gap: &GapReport) -> [String; 3] {
    let Some(first) = gap.slack.first() else { return Default::default() };
    let asked = format!(
        "Slack: how many builds in 100 close and keep their clearance with both ports out of place by ±{} mm along each \
         axis and turned by ±{}° about each (two standard deviations), the swivels set anew; {} builds tried, seed {}:",
        first.position_mm, first.angle_deg, first.samples, first.seed
    );
    [asked, within(gap, &first.directions), adding_up(&first.stack_up)]
}

/// Where the second port must be for the first chain to close.
fn within(gap: &GapReport, directions: &[Direction]) -> String {
    let limited = |found: &&Direction| found.ahead_mm.min(found.back_mm) < SEARCHED_MM;
    let limits: Vec<String> = directions.iter().filter(limited).map(limit).collect();
    let free: Vec<String> =
        directions.iter().filter(|found| !limited(found)).map(|found| line(found.towards)).collect();
    let port = &gap.facts.to.name;
    let mut text = if limits.is_empty() {
        format!("Chain 1: {port} may be anywhere within {SEARCHED_MM} mm.")
    } else {
        format!("Chain 1: {port} must be within {}.", limits.join(", "))
    };
    if !limits.is_empty() && !free.is_empty() {
        text += &format!(" It absorbs {SEARCHED_MM} mm and more along {}.", free.join(" and "));
    }
    text
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

fn adding_up(stack_up: &StackUp) -> String {
    format!(
        "Adding up: with every error at its tolerance in the worst combination chain 1 {} (off by {} mm and {}°); 95 of \
         100 builds are off by no more than {} mm and {}°.",
        if stack_up.worst_closes { "still closes" } else { "does not close" },
        fixed(stack_up.worst_mm, 2),
        fixed(stack_up.worst_deg, 2),
        fixed(stack_up.usual_mm, 2),
        fixed(stack_up.usual_deg, 2),
    )
}
