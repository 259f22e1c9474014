//! Every word and number that the panels show of gaps, chains and parts.
//!
//! Where the command line prints the same thing it is made by the same function, [`elbowroom::report::text::labels`].

use super::{Desk, Doing, GapState, Progress, placing};
use elbowroom::{
    bridge::{InTheWay, MakeUp, Verdict},
    layout::BodyId,
    report::{
        text::{self, labels},
        verdict,
    },
};

pub use labels::{
    ADDING_UP, CHAIN_HEADS, DRAWN_OUT, GAP_HEADS, Head, IN_THE_WAY, LACKING, MOVES, NEAREST, ONLY_STIFF_MOVES,
    PART_HEADS, SLACK_HEADS, STACK_HEADS, STIFF_MOVES, is_drawn_out, stack_cells, turn,
};

/// What is known of a gap, in one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GapLine {
    /// Its number in the circuit, from 1.
    pub number: String,
    /// Where the coolant leaves.
    pub from: String,
    /// Where it enters.
    pub to: String,
    /// How it stands.
    pub state: GapState,
    /// Under [`GAP_HEADS`], once it is solved.
    pub cells: Option<[String; 7]>,
    /// Whether that belongs to the layout as it is now.
    pub fresh: bool,
}

/// The gaps of the layout in order.
#[must_use]
pub fn gap_lines(desk: &Desk) -> Vec<GapLine> {
    let report = desk.chosen_report();
    let name = |port| desk.layout().port_by_id(port).map_or_else(String::new, |port| port.name.clone());
    let gaps = desk.layout().gaps().iter().enumerate();
    gaps.map(|(index, gap)| GapLine {
        number: (index + 1).to_string(),
        from: name(gap.from),
        to: name(gap.to),
        state: desk.state(index),
        cells: desk.solved(index).map(|solved| labels::gap_cells(&report, index, &solved.report)),
        fresh: desk.is_fresh(index),
    })
    .collect()
}

/// How many gaps have a chain and how many have none; `None` until all are solved.
#[must_use]
pub fn tally(desk: &Desk) -> Option<String> {
    let gaps = 0..desk.layout().gaps().len();
    let reports = gaps.map(|gap| Some(&desk.solved(gap)?.report)).collect::<Option<Vec<_>>>()?;
    (!reports.is_empty()).then(|| labels::tally(&reports, desk.asked().max_parts))
}

/// Which chains can be built side by side, once that is known; of chains that were chosen by hand, whether they can.
#[must_use]
pub fn side_by_side(desk: &Desk) -> Option<String> {
    let Some(chosen) = desk.side_by_side_by_hand() else { return labels::side_by_side(&desk.report()) };
    Some(match chosen.nearest {
        Some((one, other, mm)) if !chosen.agree => {
            let apart = apart(mm, desk.report().clearance_mm);
            format!("NOT TOGETHER: the chains chosen for gaps {} and {} {apart}.", one + 1, other + 1)
        }
        Some((one, other, mm)) => format!(
            "The chains chosen can be built side by side: those of gaps {} and {} come nearest to each other, {} mm.",
            one + 1,
            other + 1,
            labels::millimetres(mm)
        ),
        None => "The chains chosen can be built side by side, nowhere near each other.".to_owned(),
    })
}

/// Whether a ranked chain of the gap that is looked at stands in the way of chains chosen for other gaps, and how.
#[must_use]
pub fn clash(desk: &Desk, chain: usize) -> Option<String> {
    let clearance_mm = desk.report().clearance_mm;
    let each = desk
        .clashes(chain)
        .iter()
        .map(|clash| format!("it and the chain of gap {} {}", clash.gap + 1, apart(clash.mm, clearance_mm)));
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("Not together with what is chosen elsewhere: {}.", each.join("; ")))
}

/// How near two chains come that do not leave each other room.
fn apart(mm: f64, clearance_mm: f64) -> String {
    if mm < 0.0 {
        format!("overlap by {} mm", labels::millimetres(-mm))
    } else {
        format!("come within {} mm of each other, {clearance_mm} mm is wanted", labels::millimetres(mm))
    }
}

/// How far the second port may be out along x, y and z for the chain that is shown to close.
#[must_use]
pub fn slack_along_axes(desk: &Desk) -> Option<String> {
    labels::slack_along_axes(&desk.solved(desk.gap()?)?.report, desk.shown_chain()?)
}

/// Below this share of builds that close, a chain that bridges a gap is flagged.
const FEW_BUILDS: f64 = 0.8;

/// In how few of 100 builds the chain chosen for a gap closes, where that is few.
#[must_use]
pub fn few_builds(desk: &Desk, gap: usize) -> Option<String> {
    let slack = desk.solved(gap)?.report.slack.get(desk.chosen_of(gap)?)?;
    (slack.share.share < FEW_BUILDS).then(|| format!("closes in {:.0} of 100 builds", slack.share.share * 100.0))
}

/// The move that opens a gap which nothing bridges.
#[must_use]
pub fn opened_by(desk: &Desk, gap: usize) -> Option<String> {
    let near = desk.solved(gap)?.report.near_misses.as_ref()?;
    let first = near.found.moves.iter().find(|found| found.opens())?;
    Some(format!("move {}", labels::moved(&first.component, &first.carried, &first.by)))
}

/// What is asked of the gaps, and at which flow losses are stated.
#[must_use]
pub fn settings(desk: &Desk) -> String {
    labels::settings(&desk.report())
}

/// The flow of the gap that is looked at, where it has another than the circuit.
#[must_use]
pub fn branch(desk: &Desk) -> Option<String> {
    labels::branch(&desk.report(), &desk.solved(desk.gap()?)?.report)
}

/// How many chains of the gap that is looked at cannot be made up, if any.
#[must_use]
pub fn left_out(desk: &Desk) -> Option<String> {
    labels::left_out(&desk.solved(desk.gap()?)?.report)
}

/// A state in a word.
#[must_use]
pub fn state(state: GapState) -> &'static str {
    match state {
        GapState::Unknown => "not solved",
        GapState::Bridged => "bridged",
        GapState::CannotBeMadeUp => "cannot be made up",
        GapState::Nearly => "nearly",
        GapState::Blocked => "blocked",
        GapState::NotProven => "no proof",
    }
}

/// A state as a sign that is told from the others without colour.
#[must_use]
pub fn sign(state: GapState) -> &'static str {
    match state {
        GapState::Unknown => "·",
        GapState::Bridged => "●",
        GapState::CannotBeMadeUp => "◉",
        GapState::Nearly => "◐",
        GapState::Blocked => "×",
        GapState::NotProven => "?",
    }
}

/// The ports of the gap that is looked at and how they stand to each other.
#[must_use]
pub fn how_it_stands(desk: &Desk) -> Option<String> {
    Some(labels::how_it_stands(&desk.solved(desk.gap()?)?.report.facts))
}

/// A ranked chain of the gap that is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainLine {
    /// Under [`CHAIN_HEADS`].
    pub cells: [String; 9],
    /// Whether it can be made up, in a word or two.
    pub made_up: Option<&'static str>,
    /// Under [`SLACK_HEADS`].
    pub slack: Option<[String; 6]>,
    /// Of which chain before it is a variant, and how it differs.
    pub variant: Option<String>,
}

/// The ranked chains of the gap that is looked at.
#[must_use]
pub fn chain_lines(desk: &Desk) -> Vec<ChainLine> {
    let Some(solved) = desk.gap().and_then(|gap| desk.solved(gap)) else { return Vec::new() };
    let chains = solved.ranked().iter().enumerate();
    chains
        .map(|(index, chain)| ChainLine {
            cells: labels::chain_cells(&solved.report, index, chain),
            made_up: solved.report.make_up.get(index).map(making_up_in_short),
            slack: solved.report.slack.get(index).map(|slack| labels::slack_cells(index, slack)),
            variant: labels::variant(&solved.report, index),
        })
        .collect()
}

/// What cannot be about the ports of the gap that is looked at.
#[must_use]
pub fn port_faults(desk: &Desk) -> Vec<String> {
    desk.gap().and_then(|gap| desk.solved(gap)).map_or_else(Vec::new, |solved| labels::port_faults(&solved.report))
}

/// Which chains are easier than the first for little more loss.
#[must_use]
pub fn easier(desk: &Desk) -> Vec<String> {
    let solved = desk.gap().and_then(|gap| desk.solved(gap));
    solved.map_or_else(Vec::new, |solved| solved.report.easier().iter().map(labels::easier).collect())
}

/// How each part of the chain that is shown is aimed.
#[must_use]
pub fn aims(desk: &Desk) -> Vec<String> {
    desk.parts().iter().enumerate().filter_map(|(index, part)| labels::aimed(index, part)).collect()
}

/// The parts of the chain that is shown, under [`PART_HEADS`].
#[must_use]
pub fn part_rows(desk: &Desk) -> Vec<[String; 8]> {
    desk.parts().iter().enumerate().map(|(index, part)| labels::part_cells(index, part)).collect()
}

/// What the chain that is shown comes nearest to.
#[must_use]
pub fn nearest(desk: &Desk) -> Option<String> {
    let solved = desk.solved(desk.gap()?)?;
    desk.chain().and(desk.shown_chain()).map(|chain| labels::nearest(&solved.report, chain))
}

/// What was considered, and so what the list of chains means; while a component is dragged, that little was.
#[must_use]
pub fn statement(desk: &Desk) -> Option<String> {
    let solved = desk.solved(desk.gap()?)?;
    if solved.quick {
        return Some(
            "Provisional: while dragging only the best chain is looked for, and among fewer parts; letting go searches in full."
                .into(),
        );
    }
    Some(labels::statement(&desk.report(), &solved.report))
}

/// The figures of the search.
#[must_use]
pub fn searched(desk: &Desk) -> Option<String> {
    Some(labels::searched(&desk.solved(desk.gap()?)?.report.answer))
}

/// Reasons that hold before any search.
#[must_use]
pub fn obstacles(desk: &Desk) -> &[String] {
    desk.gap().and_then(|gap| desk.solved(gap)).map_or(&[], |solved| &solved.report.answer.obstacles)
}

/// What comes nearest to bridging the gap that is looked at: headings, each with what stands under it.
#[must_use]
pub fn near_misses(desk: &Desk) -> Vec<(&'static str, Vec<String>)> {
    let report = desk.gap().and_then(|gap| Some(&desk.solved(gap)?.report));
    let near = report.and_then(|report| Some(labels::near_misses(&report.facts, report.near_misses.as_ref()?)));
    near.unwrap_or_default()
}

/// Whether a chain can be made up, in a word or two.
#[must_use]
pub fn making_up_in_short(make_up: &MakeUp) -> &'static str {
    match make_up.verdict {
        Verdict::MadeUpInPlace => "in place",
        Verdict::OfferedUp { .. } => "offered up",
        Verdict::CannotBeMadeUp { .. } => "cannot",
        Verdict::NotModelled { .. } => "not judged",
    }
}

/// How far the solver is.
#[must_use]
pub fn progress(progress: &Progress) -> String {
    let gap = progress.gap + 1;
    let counts = text::progress(&progress.search, progress.left);
    match progress.doing {
        Doing::Flow => format!("Finding the flow: {counts}"),
        Doing::Chains => format!("Gap {gap} ({} of {}): {counts}", progress.done + 1, progress.of.max(1)),
        Doing::SideBySide => format!("Gap {gap}, more chains to choose from: {counts}"),
        Doing::NearMisses => format!("Gap {gap}: looking for near misses ({} of {})", progress.done + 1, progress.of),
    }
}

/// What was asked of the slack of the chains of the gap that is looked at; nothing until it is worked out.
#[must_use]
pub fn slack(desk: &Desk) -> Option<String> {
    labels::slack_asked(&desk.solved(desk.gap()?)?.report)
}

/// Where the second port must be for the chain that is shown to close.
#[must_use]
pub fn slack_within(desk: &Desk) -> Option<String> {
    labels::slack_within(&desk.solved(desk.gap()?)?.report, desk.shown_chain()?)
}

/// How the errors of the chain that is shown add up, each figure with its head.
#[must_use]
pub fn adding_up(desk: &Desk) -> Option<Vec<String>> {
    let (report, shown) = (&desk.solved(desk.gap()?)?.report, desk.shown_chain()?);
    let cells = labels::stack_cells(shown, report.slack.get(shown)?);
    let figures = cells.iter().zip(labels::STACK_HEADS).skip(1);
    Some(figures.map(|(cell, (head, _))| format!("{head} {cell}")).collect())
}

/// Whether and how the chain that is shown can be made up.
#[must_use]
pub fn making_up(desk: &Desk) -> Option<String> {
    let facts = &desk.solved(desk.gap()?)?.report.facts;
    Some(verdict(facts, desk.parts(), desk.making_up()?))
}

/// A coordinate with as many decimals as it needs.
#[must_use]
pub fn coordinate(mm: f64) -> String {
    ((mm * 1e6).round() / 1e6 + 0.0).to_string()
}

/// The moment that is played, and how long it takes.
#[must_use]
pub fn seconds(now: f64, total: f64) -> String {
    format!("{} of {} s", labels::millimetres(now), labels::millimetres(total))
}

/// Which candidate is being shown, and its parts.
#[must_use]
pub fn candidate(desk: &Desk) -> Option<String> {
    let shown = desk.shown_chain()?;
    Some(format!("Candidate {}: {}", shown + 1, labels::parts_in_line(desk.parts())))
}

/// How far a component may still be moved, by the layout.
#[must_use]
pub fn play(desk: &Desk, body: BodyId) -> Option<String> {
    let body = desk.layout().body(body)?;
    let axes = body.play_mm.iter().zip(["x", "y", "z"]).filter(|(play, _)| **play > 0.0);
    let plays: Vec<String> = axes.map(|(play, axis)| format!("±{play} mm along {axis}")).collect();
    Some(if plays.is_empty() {
        "The layout gives it no play.".to_owned()
    } else {
        format!("Play by the layout: {}.", plays.join(", "))
    })
}

/// Where a component stands farther from where the file has it than its play allows: a line for each axis.
#[must_use]
pub fn beyond_play(desk: &Desk, body: BodyId) -> Vec<String> {
    let Some(beyond) = placing::beyond_play(desk.layout(), desk.saved_layout(), body) else { return Vec::new() };
    let Some(known) = desk.layout().body(body) else { return Vec::new() };
    let axes = beyond.moved_mm.iter().zip(known.play_mm).zip(["x", "y", "z"]).filter(|((by, _), _)| **by != 0.0);
    let mut lines: Vec<String> = axes
        .map(|((by, play), axis)| {
            let allowed =
                if play > 0.0 { format!("its play is ±{play} mm") } else { "it has no play there".to_owned() };
            format!("{axis}: moved by {} mm, {allowed}", coordinate(*by))
        })
        .collect();
    if beyond.turned_deg > 0.0 {
        let turned = coordinate((beyond.turned_deg * 10.0).round() / 10.0);
        lines.push(format!("turned by {turned}°, its play is ±{}°", known.play_turn_deg));
    }
    lines
}

/// What is in the way of the chains that close: the body, how many chains it is in the way of, of how many it alone, and the
/// least and the most by which it would have to give way for one of them.
#[must_use]
pub fn blocker_rows(desk: &Desk) -> Vec<[String; 4]> {
    let row = |blocker: &InTheWay| {
        let body = blocker.body.clone().unwrap_or_else(|| "the chain itself".to_owned());
        let body = if blocker.is_seat { format!("the seat on {body}") } else { body };
        let [least, most] = blocker.give_way_mm.map(labels::millimetres);
        let far = if least == most { least } else { format!("{least} to {most}") };
        [body, blocker.chains.to_string(), blocker.alone.to_string(), far]
    };
    desk.blockers().iter().map(row).collect()
}
