//! The steps of an order of work, in words. Parts and joints count from 1 for people.

use elbowroom::bridge::{Step, Turning, Verdict};
use elbowroom::report::text::labels::millimetres;
use std::ops::RangeInclusive;

/// A step in words.
#[must_use]
pub fn caption(step: &Step) -> String {
    match step {
        Step::Bench { joint, parts, turning } => {
            format!("Outside the machine, join {} at joint {}: {}", these(parts), joint + 1, turned(turning))
        }
        Step::HoldBack { component, distance_mm, .. } => {
            format!("Hold {component} back by {} mm", millimetres(*distance_mm))
        }
        Step::Open { joint, opening_mm, links, swivels } => {
            let mut by = Vec::new();
            if !links.is_empty() {
                by.push("links pushed in");
            }
            if !swivels.is_empty() {
                by.push("swivels turned");
            }
            let by = if by.is_empty() { String::new() } else { format!(", {}", by.join(" and ")) };
            format!("Open joint {} by {} mm{by}", joint + 1, millimetres(*opening_mm))
        }
        Step::Attach { joint, parts, from_first, turning, swung_deg } => {
            let side = if *from_first { "first" } else { "second" };
            let aim = if *swung_deg == 0.0 { "" } else { ", then aim" };
            format!("On the side of the {side} port, {} at joint {}: {}{aim}", these(parts), joint + 1, turned(turning))
        }
        Step::Close { joint, turning, component } => {
            let home = component.as_ref().map_or_else(String::new, |name| format!(" while {name} moves home"));
            format!("Close joint {}{home}: {}", joint + 1, turned(turning))
        }
    }
}

/// What is shown of part `part`, counted from 0, where no order of work is known.
#[must_use]
pub fn without_order(part: usize, verdict: &Verdict) -> String {
    let why = match verdict {
        Verdict::CannotBeMadeUp { .. } => "cannot be made up",
        Verdict::NotModelled { .. } => "making up not modelled",
        Verdict::MadeUpInPlace | Verdict::OfferedUp { .. } => "no order of work",
    };
    format!("Part {} ({why}: parts in their order only)", part + 1)
}

fn these(parts: &RangeInclusive<usize>) -> String {
    let (first, last) = (parts.start() + 1, parts.end() + 1);
    if first == last { format!("part {first}") } else { format!("parts {first} to {last}") }
}

fn turned(turning: &Turning) -> String {
    match turning {
        Turning::Collar(part) => format!("turn the collar of part {}", part + 1),
        Turning::Straights(parts) | Turning::All(parts) => format!("turn {}", these(parts)),
    }
}
