//! How complete an answer is, in plain words.

use super::number::{count, plural, sampled_kinds, whole};

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
                1 => format!("{considered}: 1 fits, and no other."),
                _ => format!("{considered}: {found} fit, and no others."),
            }
        }
        Completeness::BestProven { parts } => {
            let range = format!("no chain of up to {}", plural(*parts, "part"));
            match found {
                1 => format!("Proven best: {range} ranks above it; what ranks below was not looked for."),
                _ => format!(
                    "Proven best: {range} ranks above or among the {found} found; what ranks below was not looked for."
                ),
            }
        }
        Completeness::Sampled { complete_parts, parts, what } => {
            let sampled = format!(
                "Every chain of up to {} was considered; those of up to {} were only sampled ({what}), so a chain \
                 among them may have been missed.",
                plural(*complete_parts, "part"),
                plural(*parts, "part"),
                what = sampled_kinds(what),
            );
            match found {
                0 => format!("Found nothing, which is no proof. {sampled}"),
                _ => sampled,
            }
        }
        Completeness::Stopped { why: stopped, complete_parts, at_parts } => {
            let why = match stopped {
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
            let instead = match found {
                0 => format!(" {}", instead(*stopped)),
                _ => String::new(),
            };
            format!(
                "The search stopped among chains of {} because {why}: {listed}. {done}.{instead}",
                plural(*at_parts, "part")
            )
        }
    }
}

/// What to do where a search was stopped before it found anything.
fn instead(stopped: StopReason) -> String {
    let how = match stopped {
        StopReason::Cancelled => "Let it come to its end",
        StopReason::Budget => "Raise the budget or leave it out",
    };
    format!("{how}: only a search that comes to its end can say what is in the way and what would open the gap.")
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
            1 => {
                format!("One beginning runs into something however it is turned; no other sequence of parts {closes}.")
            }
            barred => format!(
                "{} beginnings run into something however they are turned; no other sequence of parts {closes}.",
                whole(barred)
            ),
        }
    } else {
        let (closing, each) = match counts.closed {
            1 => ("One shape of chain closes".to_owned(), "it"),
            closed => (format!("{} close", shapes(closed)), "each"),
        };
        format!("{closing}, but {each} comes nearer than {} mm to something or runs into itself.", report.clearance_mm)
    }
}

/// The figures of a search, in a sentence. One closure does for all parts of equal geometry, so what closes are shapes,
/// and each is spelled out in one chain of named parts or more before these are tested.
pub(super) fn searched(answer: &Answer) -> String {
    let counts = &answer.counts;
    let all = match answer.completeness {
        Completeness::Stopped { .. } => "Went through a part of the",
        _ => "Searched",
    };
    let barred = match counts.barred {
        0 => String::new(),
        1 => "1 beginning without room, ".to_owned(),
        barred => format!("{} beginnings without room, ", whole(barred)),
    };
    let worked_out = match counts.closures {
        1 => "1 closure worked out".to_owned(),
        closures => format!("{} closures worked out", whole(closures)),
    };
    let shapes = match counts.closed {
        0 => " and no shape of chain that closes".to_owned(),
        closed => format!(", {} that {}", shapes(closed), if closed == 1 { "closes" } else { "close" }),
    };
    let tested = match (counts.tested, counts.collided) {
        (0, _) => String::new(),
        (1, 0) => "; 1 chain of such a shape tested, and it is clear".to_owned(),
        (1, _) => "; 1 chain of such a shape tested, and it collides".to_owned(),
        (tested, collided) => format!(
            "; {} chains of such shapes tested, of which {} {}",
            whole(tested),
            if collided == 0 { "none".to_owned() } else { whole(collided) },
            if collided < 2 { "collides" } else { "collide" },
        ),
    };
    format!("{all} {} sequences of parts: {barred}{worked_out}{shapes}{tested}.", count(counts.sequences))
}

/// `1 shape of chain`, `2 shapes of chain`.
fn shapes(closed: u64) -> String {
    match closed {
        1 => "1 shape of chain".to_owned(),
        closed => format!("{} shapes of chain", whole(closed)),
    }
}

/// How far a search is, for a line that is overwritten again and again.
#[must_use]
pub fn progress(counts: &Counts) -> String {
    format!(
        "chains of {}, {} closures, {} shapes closed, {} chains collided",
        plural(counts.parts, "part"),
        whole(counts.closures),
        whole(counts.closed),
        whole(counts.collided),
    )
}
