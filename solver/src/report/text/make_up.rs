//! Whether chains can be made up, and the order of work, for people.

use super::{WIDTH, bridge::wrapped_after, number::fixed, table::wrapped};
use crate::{
    bridge::Verdict,
    report::{BridgeReport, GapReport, PartReport, order_of_work, verdict},
};
use std::fmt::Write as _;

/// What the making up takes for granted, said once above the verdicts.
const TAKEN_FOR_GRANTED: &str =
    "Making them up, removable panels off (`--steps N` gives the order of work of chain N):";

/// The order of work of chain `number` of a gap as numbered lines, or what stops it; `None` if that chain is not listed
/// or was not judged.
#[must_use]
pub fn steps(report: &BridgeReport, gap: &GapReport, number: usize) -> Option<String> {
    let chain = number.checked_sub(1).filter(|chain| *chain < gap.listed)?;
    let (parts, made) = (gap.chains.get(chain)?, gap.make_up.get(chain)?);
    let mut out =
        format!("{}: chain {number} from {} to {}\n\n", report.layout, gap.facts.from.name, gap.facts.to.name);
    out.push_str(&wrapped(&format!("{}.", capital(&verdict(&gap.facts, parts, made))), WIDTH, 0, 0));
    let work = order_of_work(&gap.facts, parts, made);
    if work.is_empty() {
        return Some(out);
    }
    out.push_str("\nTo hand:\n");
    for (index, part) in parts.iter().enumerate() {
        out.push_str(&wrapped(&format!("part {}: {}", index + 1, in_hand(part)), WIDTH, 2, 4));
    }
    let held = match &made.verdict {
        Verdict::OfferedUp { component, .. } => format!(" Leave `{component}` loose until it is moved home."),
        _ => String::new(),
    };
    out.push('\n');
    out.push_str(&wrapped(
        &format!(
            "Take removable panels off. Threads are right-handed; `clockwise` is seen from behind what is turned.{held}"
        ),
        WIDTH,
        0,
        0,
    ));
    out.push('\n');
    let places = work.len().to_string().len();
    for (index, step) in work.iter().enumerate() {
        out.push_str(&wrapped_after(index + 1, places, &step.action));
        out.push_str(&wrapped(&format!("Check: {}", step.check), WIDTH, 4 + places, 4 + places));
    }
    out.push('\n');
    out.push_str(&wrapped(
        "Turns of aimed parts count counter-clockwise, seen from the far end of the chain, from the bend before or from the \
         mark of the port, which `check` lists; clock faces are seen from there as well.",
        WIDTH,
        0,
        0,
    ));
    Some(out)
}

/// The verdict on each chain listed; nothing when none was judged.
pub(super) fn making_up(gap: &GapReport) -> String {
    if gap.make_up.is_empty() {
        return String::new();
    }
    let places = gap.listed.to_string().len();
    let judged = gap.chains.iter().zip(&gap.make_up).take(gap.listed);
    let said: Vec<String> = judged.map(|(parts, made)| verdict(&gap.facts, parts, made)).collect();
    // Of a variant only what is not said of the chain that it is a variant of.
    let is_news = |index: usize| gap.variant(index).is_none_or(|(first, _)| said.get(first) != said.get(index));
    let lines = said
        .iter()
        .enumerate()
        .filter(|(index, _)| is_news(*index))
        .map(|(index, text)| wrapped_after(index + 1, places, text))
        .collect::<String>();
    format!("\n{}{lines}", wrapped(TAKEN_FOR_GRANTED, WIDTH, 2, 2))
}

/// How many of the chains found cannot be made up, where no more than `want` are listed; `None` when none was judged, or
/// all can be and are listed.
pub(super) fn left_out(gap: &GapReport, want: usize) -> Option<String> {
    let judged = gap.make_up.len();
    let can = gap.make_up.iter().filter(|made| made.verdict.can_be_made_up()).count();
    if judged == 0 || can == judged && gap.listed == judged {
        return None;
    }
    let (cannot, listed) = (judged - can, gap.listed);
    Some(if can == 0 && listed == judged {
        "None of these can be made up: none of the assembly motions tried works. Each says what stops it.".to_owned()
    } else if can == 0 {
        let shown = match listed {
            1 => "the first is listed with what stops it".to_owned(),
            listed => format!("the first {listed} are listed with what stops them"),
        };
        format!("None of the {judged} found can be made up, since none of the assembly motions tried works; {shown}.")
    } else if listed < can {
        let rest = if cannot == 0 { String::new() } else { format!("; the other {cannot} cannot") };
        format!("Of the {judged} found, {can} can be made up{rest}. `--want` lists more of them.")
    } else if listed == can {
        let more = if want > can { String::new() } else { format!(" --want {judged}") };
        format!("Of the {judged} found, {cannot} cannot be made up; `--all{more}` shows what stops them.")
    } else if listed < judged {
        format!(
            "Of the {judged} found, {can} can be made up; the other {cannot} cannot, and `--want` lists more of them."
        )
    } else {
        format!("Of the {judged} found, the last {cannot} cannot be made up.")
    })
}

fn in_hand(part: &PartReport) -> String {
    let mut text = format!("{}, {}", part.fitting, part.name);
    if let Some(way) = part.way_round {
        let _ = write!(text, " ({way})");
    }
    if part.stretch_mm.abs() >= 0.005 {
        let _ = write!(text, ", drawn out {} mm", fixed(part.stretch_mm, 1));
    }
    text
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
