//! Whether chains can be made up, and `bridge --steps`, which writes the order of work of one.

use super::{
    args::{BridgeArgs, Common, Format, MakeUpArgs},
    failure::Failure,
    output::Output,
};
use elbowroom::{
    bridge::{MakeUpWishes, SlackWishes},
    report::{BridgeReport, Outcome, RankBy, Ranking, json, text, turns},
};
use std::path::Path;

/// How chains are judged, which are listed and in which order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Judging {
    pub(crate) wishes: MakeUpWishes,
    /// Whether chains that cannot be made up are listed after the others.
    pub(crate) all: bool,
    pub(crate) ranking: Ranking,
    /// How far holes are out of place, where that is asked for.
    pub(crate) slack: Option<SlackWishes>,
}

impl Judging {
    /// What the command line asks for.
    pub(crate) fn new(args: &BridgeArgs) -> Self {
        let wishes = wishes(&args.make_up, args.search.clearance);
        let slack = SlackWishes {
            position_mm: args.hole_mm,
            angle_deg: args.hole_deg,
            clearance_mm: args.search.clearance,
            ..SlackWishes::default()
        };
        let is_asked = args.slack || args.rank.contains(&RankBy::Slack);
        Self { wishes, all: args.all, ranking: Ranking::by(&args.rank), slack: is_asked.then_some(slack) }
    }
}

/// How chains are made up, where this clearance is asked for instead of the layout's.
pub(crate) fn wishes(args: &MakeUpArgs, clearance_mm: Option<f64>) -> MakeUpWishes {
    MakeUpWishes { clearance_mm, tool_mm: args.tool_mm, tool_arc_deg: args.tool_arc, ..MakeUpWishes::default() }
}

/// Writes the order of work of chain `number`, and the picture of its turns to `plot`.
///
/// # Errors
/// When it is not clear of which gap, there is no such chain, or the output cannot be written.
pub(crate) fn write_steps(
    report: &BridgeReport,
    number: u32,
    plot: Option<&Path>,
    common: &Common,
    output: &Output,
) -> Result<Outcome, Failure> {
    let [gap] = &report.gaps[..] else {
        return Err(Failure::Message(
            "an order of work is for one gap; name its two ports, such as `elbowroom bridge LAYOUT pump.outlet \
             filter.inlet --steps 1`"
                .to_owned(),
        ));
    };
    let chain = usize::try_from(number).unwrap_or(usize::MAX);
    let written = match common.format {
        Format::Text if output.is_quiet() => text::steps(report, gap, chain),
        Format::Text => text::steps(report, gap, chain).map(|steps| format!("{steps}\n{}", text::cautions())),
        Format::Json => json::StepsDocument::new(report, gap, chain).map(|document| json::text(&document)),
    };
    let Some(written) = written else {
        let between = format!("{} to {}", gap.facts.from.name, gap.facts.to.name);
        let left_out = match (gap.listed < gap.answer.chains.len(), gap.listed < report.want) {
            (false, _) => "",
            (true, true) => " (`--all` lists more)",
            (true, false) => " (`--want` lists more)",
        };
        return Err(Failure::Message(match gap.listed {
            0 => format!("no chain bridges {between}, so there is no order of work; run `bridge` without --steps"),
            1 => format!("there is one chain from {between}{left_out}; ask for --steps 1"),
            several => format!("there are {several} chains from {between}{left_out}; ask for one from 1 to {several}"),
        }));
    };
    if let Some(path) = plot {
        match turns(gap, chain) {
            Some(picture) => output.beside(path, &picture, common.force)?,
            None => output.note("no picture: nothing in this chain has to be aimed"),
        }
    }
    output.results(&written)?;
    Ok(if gap.can_be_made_up(chain.saturating_sub(1)) { Outcome::Fits } else { Outcome::NoProof })
}
