//! How complete an answer is, in plain words.

use super::number::{count, plural, sampled_kinds, whole};

use crate::{
    bridge::{Answer, Completeness, Progress, StopReason},
    report::{BridgeReport, Compared, GapReport},
};
use std::time::Duration;

/// What was considered, what was not, and so what the list of chains means.
pub(super) fn statement(report: &BridgeReport, gap: &GapReport) -> String {
    match gap.compared {
        None => considered(report, gap, gap.answer.chains.len()),
        Some(Compared { chains: 0, .. }) => considered(report, gap, 0),
        Some(compared) => in_another_order(report, gap, compared),
    }
}

/// What a list means that is not in the order of the search.
fn in_another_order(report: &BridgeReport, gap: &GapReport, compared: Compared) -> String {
    let chains = compared.chains;
    let considered = match gap.answer.completeness {
        Completeness::BestProven { parts } => format!(
            "By parts, then loss, no chain of up to {} ranks above or among the {chains} found; lower-ranked chains were \
             not searched.",
            plural(parts, "part")
        ),
        _ => considered(report, gap, chains),
    };
    let listed = gap.listed.min(gap.answer.chains.len());
    let ranking = &report.ranking;
    let order = match compared.proven.min(listed) {
        proven if proven == listed => format!("By {ranking}, those listed are proven best."),
        0 => format!("By {ranking}, those listed are the best of the {chains} found; others may be better."),
        proven => format!(
            "By {ranking}, the first {proven} listed are proven best, and the rest are the best of the {chains} found; others \
             may be better."
        ),
    };
    format!("{considered} {order}")
}

/// What was considered of the chains that a search ranks, of which it found so many.
fn considered(report: &BridgeReport, gap: &GapReport, found: usize) -> String {
    let answer = &gap.answer;
    match &answer.completeness {
        Completeness::Complete { parts } => {
            let considered = format!("Every chain of up to {} was considered", plural(*parts, "part"));
            match found {
                0 if gap.is_ill_posed() => format!(
                    "Nothing of up to {} bridges this gap as it is written, which proves nothing of the machine: see what is \
                     said of its ports above. {}",
                    plural(*parts, "part"),
                    why(report, answer)
                ),
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
                1 => format!("Proven best: {range} ranks above it; lower-ranked chains were not searched."),
                _ => format!(
                    "Proven best: {range} ranks above or among the {found} found; lower-ranked chains were not searched."
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
        let barred = match counts.barred {
            0 => None,
            1 => Some(("One first bend or run is blocked at every turn".to_owned(), "it")),
            barred => Some((format!("{} first bends and runs are blocked at every turn", whole(barred)), "them")),
        };
        let nearer = format!("could only reach the port nearer than {} mm to something", report.clearance_mm);
        match (barred, counts.stuck) {
            (None, 0) => format!("No sequence of parts {closes}."),
            (Some((barred, them)), 0) => format!("{barred}; no sequence of parts without {them} {closes}."),
            (None, stuck) => format!("{} {nearer}; no other sequence of parts {closes}.", geometries(stuck)),
            (Some((barred, them)), stuck) => format!(
                "{barred}; of the sequences of parts without {them}, {} {nearer}, and no other {closes}.",
                geometries(stuck)
            ),
        }
    } else {
        let (closing, each) = match counts.closed {
            1 => ("One distinct geometry reaches the port".to_owned(), "it"),
            closed => (format!("{} reach the port", geometries(closed)), "each"),
        };
        let stuck = match counts.stuck {
            0 => String::new(),
            1 => "; one more could only do the same".to_owned(),
            stuck => format!("; {} more could only do the same", whole(stuck)),
        };
        let nearer = format!("comes nearer than {} mm to something or runs into itself", report.clearance_mm);
        format!("{closing}, but {each} {nearer}{stuck}.")
    }
}

/// The figures of a search, in a sentence. One closure attempt does for all parts of equal geometry, so what reaches the port
/// are geometries, and each is spelled out in one chain of named parts or more before these are tested.
pub(super) fn searched(answer: &Answer) -> String {
    let counts = &answer.counts;
    let all = match answer.completeness {
        Completeness::Stopped { .. } => "Went through a part of the",
        _ => "Searched",
    };
    let barred = match counts.barred {
        0 => String::new(),
        1 => "1 first bend or run blocked at every turn, ".to_owned(),
        barred => format!("{} first bends and runs blocked at every turn, ", whole(barred)),
    };
    let attempts = match counts.closures {
        1 => "1 closure attempt".to_owned(),
        closures => format!("{} closure attempts", whole(closures)),
    };
    let stuck = match counts.stuck {
        0 => String::new(),
        stuck => format!(" ({} dropped: too near to something)", whole(stuck)),
    };
    let reached = match counts.closed {
        0 => ", no geometry that reaches the port".to_owned(),
        closed => format!(", {} that {} the port", geometries(closed), if closed == 1 { "reaches" } else { "reach" }),
    };
    let tested = match (counts.tested, counts.collided) {
        (0, _) => String::new(),
        (1, 0) => "; 1 chain of named parts tested: it is clear".to_owned(),
        (1, _) => "; 1 chain of named parts tested: it collides".to_owned(),
        (tested, collided) => format!(
            "; {} chains of named parts tested: {} {}",
            whole(tested),
            if collided == 0 { "none".to_owned() } else { whole(collided) },
            if collided < 2 { "collides" } else { "collide" },
        ),
    };
    format!("{all} {} sequences of parts: {barred}{attempts}{stuck}{reached}{tested}.", count(counts.sequences))
}

/// `1 distinct geometry`, `2 distinct geometries`.
fn geometries(closed: u64) -> String {
    match closed {
        1 => "1 distinct geometry".to_owned(),
        closed => format!("{} distinct geometries", whole(closed)),
    }
}

/// How far a search is, and how long it may still take where that can be told, for a line that is overwritten again and
/// again.
#[must_use]
pub fn progress(progress: &Progress, left: Option<Duration>) -> String {
    let Progress { counts, share, waiting, .. } = progress;
    let to_test = match waiting {
        0 => String::new(),
        waiting => format!(", {} to test", whole(*waiting)),
    };
    format!(
        "{}{}; chains of {}, {} closure attempts, {} collided{to_test}",
        done(*share),
        left.map_or_else(String::new, |left| format!(", {}", at_most(left))),
        plural(counts.parts, "part"),
        whole(counts.closures),
        whole(counts.collided),
    )
}

/// `37 % done`: rounded down, so that it is not all done before its time.
fn done(share: f64) -> String {
    match (share * 100.0).floor() {
        percent if percent < 1.0 => "under 1 % done".to_owned(),
        percent => format!("{percent} % done"),
    }
}

/// A time to one or two digits: an estimate is worth no more. It is the time for everything; the chains wanted may be found
/// sooner.
fn at_most(left: Duration) -> String {
    let left = left.as_secs_f64();
    let rounded = |unit_s: f64, step: f64| (left / unit_s / step).ceil() * step;
    match left {
        left if left <= 10.0 => "less than 10 s left".to_owned(),
        left if left <= 100.0 => format!("up to about {} s left", rounded(1.0, 10.0)),
        left if left <= 6000.0 => format!("up to about {} min left", rounded(60.0, 1.0)),
        _ => format!("up to about {} h left", rounded(3600.0, 1.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::{Duration, Progress, progress};
    use crate::bridge::Counts;

    #[test]
    fn a_line_says_what_is_done_and_what_is_left_where_that_is_known() {
        let counts = Counts { parts: 4, closures: 12_345, collided: 67, ..Counts::default() };
        for (share, left, said) in [
            (0.004, None, "under 1 % done; chains of 4 parts, 12,345 closure attempts, 67 collided"),
            (0.379, Some(8), "37 % done, less than 10 s left; chains"),
            (0.5, Some(41), "50 % done, up to about 50 s left; chains"),
            (0.5, Some(601), "50 % done, up to about 11 min left; chains"),
            (0.999, Some(7201), "99 % done, up to about 3 h left; chains"),
        ] {
            let at = Progress { counts, share, ..Progress::default() };
            let line = progress(&at, left.map(Duration::from_secs));
            assert!(line.starts_with(said), "{line}");
        }
    }
}
