//! How complete an answer is, in plain words.

use super::number::{count, plural, whole};
use crate::{
    bridge::{Answer, Completeness, Counts, StopReason},
    report::BridgeReport,
};

/// What was considered, what was not, and so what the list of chains means.
pub(super) fn statement(report: &BridgeReport, answer: &Answer) -> String {
    let found = answer.chains.len();
    match &answer.completeness {
        Completeness::Complete { parts } => {
            let considered = format!("Every chain of up to {} was considered", plural(*parts, "part"));
            match found {
                0 => format!(
                    "Nothing bridges this gap: proven up to {}. {}",
                    plural(*parts, "part"),
                    why(report, answer)
                ),
                1 => format!("{considered}: this is the only one that fits."),
                _ if found < report.want => format!("{considered}: these {found} are all that fit."),
                _ => format!("{considered}: these {found} are the best there are."),
            }
        }
        Completeness::BestProven { parts } => {
            let range = format!("no chain of up to {}", plural(*parts, "part"));
            match found {
                1 => format!("Proven best: {range} ranks above it; what ranks below was not looked for."),
                _ => format!("Proven best: {range} ranks above or among these; what ranks below was not looked for."),
            }
        }
        Completeness::Sampled { complete_parts, parts, what } => {
            let sampled = format!(
                "Every chain of up to {} was considered; those of up to {} were only sampled ({what}), so a chain \
                 among them may have been missed.",
                plural(*complete_parts, "part"),
                plural(*parts, "part"),
            );
            match found {
                0 => format!("Found nothing, which is no proof. {sampled}"),
                _ => sampled,
            }
        }
        Completeness::Stopped { why, complete_parts, at_parts } => {
            let why = match why {
                StopReason::Cancelled => "it was told to",
                StopReason::Budget => "its budget of closures was used up",
            };
            let done = match complete_parts {
                0 => "No part count was finished".to_owned(),
                parts => format!("Every chain of up to {} was considered", plural(*parts, "part")),
            };
            let listed = match found {
                0 => "found nothing so far, which is no proof",
                1 => "the chain above fits, but a better one may exist",
                _ => "the chains above fit, but better ones may exist",
            };
            format!("The search stopped among chains of {} because {why}: {listed}. {done}.", plural(*at_parts, "part"))
        }
    }
}

/// Why nothing was found, as far as the counts tell.
fn why(report: &BridgeReport, answer: &Answer) -> String {
    let counts = &answer.counts;
    if !answer.obstacles.is_empty() {
        "The reasons:".to_owned()
    } else if counts.sequences < 1.0 {
        "No sequence of parts has the threads for it.".to_owned()
    } else if counts.closed == 0 {
        let closes = format!("closes within {} mm and {}°", report.closure_mm, report.closure_deg);
        match counts.barred {
            0 => format!("No sequence of parts {closes}."),
            1 => format!("One beginning has no room at its port; no other sequence of parts {closes}."),
            barred => {
                format!("{} beginnings have no room at their port; no other sequence of parts {closes}.", whole(barred))
            }
        }
    } else {
        let (shapes, each) = match counts.closed {
            1 => ("One shape of chain closes".to_owned(), "it"),
            closed => (format!("{} shapes of chain close", whole(closed)), "each"),
        };
        format!("{shapes}, but {each} comes nearer than {} mm to something or runs into itself.", report.clearance_mm)
    }
}

/// The figures of a search, in a sentence.
pub(super) fn searched(counts: &Counts) -> String {
    let barred = match counts.barred {
        0 => String::new(),
        1 => "1 beginning without room at its port, ".to_owned(),
        barred => format!("{} beginnings without room at their port, ", whole(barred)),
    };
    format!(
        "Searched {} sequences of parts: {barred}{} closures worked out, {} closed, {} tested, {} collided.",
        count(counts.sequences),
        whole(counts.closures),
        whole(counts.closed),
        whole(counts.tested),
        whole(counts.collided),
    )
}

/// How far a search is, for a line that is overwritten again and again.
#[must_use]
pub fn progress(counts: &Counts) -> String {
    format!(
        "chains of {}, {} closures, {} closed, {} collided",
        plural(counts.parts, "part"),
        whole(counts.closures),
        whole(counts.closed),
        whole(counts.collided),
    )
}
