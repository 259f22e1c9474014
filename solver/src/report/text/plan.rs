//! The plan of a machine for people.

use super::{
    WIDTH,
    bridge::{gaps_table, overlapping, settings, tally, wrapped_after},
    labels,
    number::{fixed, plural},
    table::{Align, table, wrapped},
    together::not_the_best,
};
use crate::{
    plan::{Conflict, Proof},
    report::{GapReport, Item, PlanReport, verdict, words::joined},
};

/// The whole plan: its chains, what is proven of them, the order of work, and what to get.
#[must_use]
pub fn plan(report: &PlanReport) -> String {
    let bridge = &report.bridge;
    let mut out = format!("{}: plan for {}\n", bridge.layout, plural(bridge.gaps.len(), "gap"));
    out += &wrapped(&settings(bridge), WIDTH, 0, 2);
    out.extend(overlapping(&bridge.overlaps).map(|text| wrapped(&text, WIDTH, 0, 2)));
    out.push('\n');
    out += &gaps_table(bridge);
    let tally = tally(&bridge.gaps.iter().collect::<Vec<_>>(), bridge.max_parts);
    out += &wrapped(&tally, WIDTH, 2, 2);
    out += &wrapped(&proof(report), WIDTH, 2, 2);
    out.extend(beside(report).map(|text| wrapped(&text, WIDTH, 2, 2)));
    for conflict in &report.conflicts {
        out.push('\n');
        out += &excluded(report, conflict);
    }
    if !report.order.is_empty() {
        out += "\nOrder of work, removable panels off:\n";
        let places = report.order.len().to_string().len();
        for (step, gap) in report.order.iter().enumerate() {
            out += &wrapped_after(step + 1, places, &making_up(report, *gap));
        }
    }
    if !report.items.is_empty() {
        out += &format!("\nParts:\n{}", list(report));
    }
    out
}

fn names(gap: &GapReport) -> String {
    format!("{} to {}", gap.facts.from.name, gap.facts.to.name)
}

/// What is proven of the set of chains.
fn proof(report: &PlanReport) -> String {
    let sum = format!(
        "{} in all, {} kPa together, each at the flow of its gap.",
        plural(usize::try_from(report.parts).unwrap_or(usize::MAX), "part"),
        fixed(report.loss_kpa, 2)
    );
    let motions = "that can be made up by the assembly motions tried";
    let proven = match report.proof {
        Proof::GivenUp => {
            return "No set of chains was found in the time that is given to it, so none is chosen: ask for shorter chains \
                    with --max-parts, or bridge gap by gap."
                .to_owned();
        }
        Proof::Best => {
            format!("Proven best: no other set of chains {motions} has fewer parts, or as many and less loss.")
        }
        Proof::Found { parts_from_best: 0 } => {
            format!("The best set found: none {motions} has fewer parts; whether one loses less is not proven.")
        }
        Proof::Found { parts_from_best } => format!(
            "The best set found; whether another {motions} has up to {} fewer is not proven.",
            plural(usize::try_from(parts_from_best).unwrap_or(usize::MAX), "part")
        ),
    };
    format!("{sum} {proven}")
}

/// How the chains stand to each other, and which of them are not the best of their own gaps.
fn beside(report: &PlanReport) -> Option<String> {
    let together = report.bridge.together.as_ref()?;
    let lower = not_the_best(together);
    let for_others = match lower.is_empty() {
        true => String::new(),
        false => format!("For the sake of the other gaps, not the best of its own: {}. ", joined(&lower)),
    };
    let nearest = together.nearest.map_or_else(String::new, |(one, other, mm)| {
        format!("Chains come nearest to each other at gaps {} and {}: {} mm.", one + 1, other + 1, fixed(mm, 1))
    });
    Some(for_others + &nearest).filter(|text| !text.is_empty())
}

/// Gaps that exclude each other, and why.
fn excluded(report: &PlanReport, conflict: &Conflict) -> String {
    let numbers: Vec<String> = conflict.gaps.iter().map(|gap| (gap + 1).to_string()).collect();
    let how = match conflict.proven {
        true => "cannot be bridged together",
        false => "could not be bridged together by any of the chains found",
    };
    let head = match &numbers[..] {
        [only] => format!("Gap {only} cannot be made up beside the others; it stays open."),
        several => {
            format!("Gaps {} {how}; gap {} stays open.", joined(several), conflict.left_open + 1)
        }
    };
    let mut out = wrapped(&head, WIDTH, 2, 2);
    let mut reason = |text: String| out += &wrapped(&format!("- {text}"), WIDTH, 2, 4);
    for (one, other, mm) in &conflict.too_near {
        let how = match *mm < 0.0 {
            true => format!("overlap by {} mm", fixed(-mm, 1)),
            false => format!("come within {} mm of each other", fixed(*mm, 1)),
        };
        reason(format!(
            "the best chains of gaps {} and {} {how}, where {} mm are asked",
            one + 1,
            other + 1,
            report.bridge.clearance_mm
        ));
    }
    for stuck in &conflict.stuck {
        let gap = &report.bridge.gaps[stuck.gap];
        if let Some(parts) = gap.chains.get(stuck.chain) {
            let verdict = verdict(&gap.facts, parts, &stuck.make_up);
            reason(format!("chain {} of gap {}, beside the others: {verdict}", stuck.chain + 1, stuck.gap + 1));
        }
    }
    out
}

/// A chain and how it is made up.
fn making_up(report: &PlanReport, gap: usize) -> String {
    let found = &report.bridge.gaps[gap];
    let head = format!("gap {}, {}", gap + 1, names(found));
    let chosen = report.bridge.chosen(gap).and_then(|chosen| found.chains.get(chosen));
    match (chosen, &report.make_up[gap]) {
        (Some(parts), Some(made)) => {
            format!("{head}: {}; {}", labels::parts_in_line(parts), verdict(&found.facts, parts, made))
        }
        _ => head,
    }
}

/// What to get, and what to close.
fn list(report: &PlanReport) -> String {
    let some_at_hand = report.items.iter().any(|item| item.at_hand > 0);
    let mut heads = vec![("to get", Align::Right), ("id", Align::Left), ("price of one", Align::Right)];
    if some_at_hand {
        heads.insert(1, ("at hand", Align::Right));
    }
    let row = |item: &Item| {
        let each = item.each.map_or_else(|| "-".to_owned(), |each| fixed(each, 2));
        let mut row = vec![item.to_get().to_string(), item.fitting.clone(), each];
        if some_at_hand {
            row.insert(1, item.at_hand.to_string());
        }
        row
    };
    let mut out = table(2, &heads, report.items.iter().map(row).collect());
    let pieces: usize = report.items.iter().map(Item::to_get).sum();
    let (price, unknown) = report.price();
    let of_unknown = match unknown {
        0 => String::new(),
        some => format!(", without {some} of unknown price"),
    };
    out += &wrapped(
        &format!("{} to get, {} together{of_unknown}.", plural(pieces, "piece"), fixed(price, 2)),
        WIDTH,
        2,
        2,
    );
    if !report.unused_ports.is_empty() {
        let text = format!("To be plugged, since no gap uses them: {}.", joined(&report.unused_ports));
        out += &wrapped(&text, WIDTH, 2, 2);
    }
    let open = report.bridge.gaps.iter().enumerate().filter(|(gap, _)| report.bridge.chosen(*gap).is_none());
    let open: Vec<String> = open.map(|(gap, _)| (gap + 1).to_string()).collect();
    if !open.is_empty() {
        let gaps = if open.len() == 1 { "gap" } else { "gaps" };
        out += &wrapped(&format!("Nothing is on the list for {gaps} {}.", joined(&open)), WIDTH, 2, 2);
    }
    out
}
