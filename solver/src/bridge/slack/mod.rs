//! Slack: how much misplacement of its ports a chain still absorbs.
//!
//! Holes are drilled by hand, so the real ports are not quite where the drawing has them. Each build draws an error
//! for the component at either port: a shift along each of the layout's axes and a turn about each of them, with the
//! centre of the port's sealing face as the pivot. The component's solids move with its port; everything else stays
//! where the drawing has it. Then the swivels are turned, and adjustable lengths drawn, anew from the listed posture
//! to the nearest one with the least miss, and the chain counts as built if it is within the closure allowance and
//! keeps its clearance. Two ports of one component move together, as one.
//!
//! What this does not do: it does not look for a posture far from the listed one, so the shares are on the low side
//! for a chain that could be swung out of the way. At the two seats it is the closure allowance that counts, not how
//! deep a collar sinks.

mod build;
mod directions;
mod draw;
mod error;
mod rebuilt;
mod share;

pub use directions::{Direction, SEARCHED_MM};
pub use share::Share;

use super::{
    answer::Chain,
    bad_wish::{BadWish, clearance, counted, ports_of, within},
    closure::Allowance,
    parallel,
    placed::{is_backwards, turn_chain},
};
use crate::{
    catalog::Catalog,
    layout::{Gap, Layout, Port},
};
use build::{Place, Verdict};
use draw::Draw;
use error::{PortError, Tolerance};
use rebuilt::Rebuilt;
use std::ops::RangeInclusive;

/// How far ports may be out of place, and how many builds are tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlackWishes {
    /// Hole-position tolerance along each of the layout's axes, in millimetres, from 0 to 100: two standard deviations.
    pub position_mm: f64,
    /// Tolerance of the turn about each of the layout's axes, in degrees, from 0 to 45: two standard deviations.
    pub angle_deg: f64,
    /// How many builds are tried, from 1 to a million.
    pub samples: usize,
    /// Seed of the errors drawn: the same seed draws the same errors on every machine.
    pub seed: u64,
    /// Least clearance; the layout's allowance when `None`.
    pub clearance_mm: Option<f64>,
}

impl Default for SlackWishes {
    /// ±0.5 mm, common practice for holes drilled by hand; ±0.5°, what a component sits out of square on such holes
    /// 60 mm apart; 1,000 builds.
    fn default() -> Self {
        Self { position_mm: 0.5, angle_deg: 0.5, samples: 1_000, seed: 1, clearance_mm: None }
    }
}

impl SlackWishes {
    /// Checks every wish against its range.
    ///
    /// # Errors
    /// The first that is not a number or outside its range.
    pub fn check(&self) -> Result<(), BadWish> {
        let remedy = "give how far holes are out of place, or components out of true: two standard deviations";
        within("position_mm", self.position_mm, &POSITIONS_MM, "mm", remedy)?;
        within("angle_deg", self.angle_deg, &ANGLES_DEG, "degrees", remedy)?;
        counted("samples", self.samples, &SAMPLES, "give how many builds to try; 1,000 tell the share to 3 in 100")?;
        clearance(self.clearance_mm)
    }
}

/// What a chain absorbs.
#[derive(Clone, Debug, PartialEq)]
pub struct Slack {
    /// Builds tried.
    pub samples: usize,
    /// Seed of the errors.
    pub seed: u64,
    /// Position tolerance that was asked about, in millimetres.
    pub position_mm: f64,
    /// Angle tolerance that was asked about, in degrees.
    pub angle_deg: f64,
    /// Share of builds that close and keep the clearance.
    pub share: Share,
    /// Share of builds that close, whether or not they keep the clearance.
    pub closing: Share,
    /// The share that closes by the chain's Jacobian alone; `None` where it lies outside the interval of
    /// [`Slack::closing`], because the chain does not answer in proportion.
    pub linear: Option<f64>,
    /// Three directions square to each other, the one absorbed least first.
    pub directions: Vec<Direction>,
    /// The layout's axes `x`, `y` and `z`: how far along each of them alone, everything else as drawn.
    pub along_axes: [Direction; 3],
    /// How errors add up.
    pub stack_up: StackUp,
}

/// How errors add up: the worst case beside the statistical one. Misses are those that remain when the swivels are
/// set as well as they can be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StackUp {
    /// Whether the chain still closes with every error at its tolerance in the worst combination of signs.
    pub worst_closes: bool,
    /// Miss in that case, in millimetres.
    pub worst_mm: f64,
    /// Angle out of line in that case, in degrees.
    pub worst_deg: f64,
    /// 95 of 100 builds miss by no more than this, in millimetres.
    pub usual_mm: f64,
    /// 95 of 100 builds are out of line by no more than this, in degrees.
    pub usual_deg: f64,
}

/// Tolerances that may be asked about, in millimetres and degrees: beyond these nothing was measured to begin with.
const POSITIONS_MM: RangeInclusive<f64> = 0.0..=100.0;
const ANGLES_DEG: RangeInclusive<f64> = 0.0..=45.0;

/// How many builds may be asked for: enough to tell a share to 1 in 1,000, and a bound on memory.
const SAMPLES: RangeInclusive<usize> = 1..=1_000_000;

/// How many of 100 builds the usual miss covers.
const USUAL: f64 = 0.95;

/// Builds worked out at a stretch by one thread: well under a millisecond.
const BATCH: usize = 32;

/// Tries many builds of `chain` with its ports out of place.
///
/// In a build the component at either port is shifted along each of the layout's axes and turned about each of them
/// around the port's seat, its solids with it; everything else stays. The swivels and adjustable lengths are set anew,
/// from the listed posture to the nearest one with the least miss. Two ports of one component move as one. Postures far
/// from the listed one are not looked for, so shares are on the low side for a chain that could be swung out of the
/// way; at the two seats the closure allowance counts, not how deep a collar sinks.
///
/// The answer depends only on the arguments, not on the number of threads.
///
/// # Errors
/// A wish that [`SlackWishes::check`] refuses, a chain that [`Chain::check`] does, and a gap that is not one between two
/// ports of this layout.
pub fn slack(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    chain: &Chain,
    wishes: &SlackWishes,
) -> Result<Slack, BadWish> {
    wishes.check()?;
    chain.check(catalog)?;
    let ports = ports_of(layout, gap)?;
    if is_backwards(layout, gap) {
        // As it was laid out, so that it misses the port that it was found to miss.
        let chain = turn_chain(chain.clone(), catalog.fittings(), ports[1]);
        let mut slack = slack_as_laid_out(catalog, layout, [ports[1], ports[0]], &chain, wishes)?;
        // One port out of place one way is the other out of place the other way.
        for direction in slack.directions.iter_mut().chain(&mut slack.along_axes) {
            std::mem::swap(&mut direction.ahead_mm, &mut direction.back_mm);
        }
        return Ok(slack);
    }
    slack_as_laid_out(catalog, layout, ports, chain, wishes)
}

fn slack_as_laid_out(
    catalog: &Catalog,
    layout: &Layout,
    ports: [&Port; 2],
    chain: &Chain,
    wishes: &SlackWishes,
) -> Result<Slack, BadWish> {
    let SlackWishes { position_mm, angle_deg, samples, .. } = *wishes;
    let tolerance = Tolerance { mm: position_mm, rad: angle_deg.to_radians() };
    let allowances = layout.allowances();
    let allowance = Allowance { mm: allowances.closure_mm, rad: allowances.closure_deg.to_radians() };
    let clearance_mm = wishes.clearance_mm.unwrap_or(allowances.clearance_mm);

    // A chain that was checked has links of this catalog only, and no more turns than parts.
    let unfit = || BadWish::Item {
        field: "chain".to_owned(),
        expected: "links of the catalog",
        found: "another part".to_owned(),
        remedy: "give the catalog that the chain was found with",
    };
    let rebuilt = Rebuilt::new(catalog, chain).ok_or_else(unfit)?;
    let place = Place::new(&rebuilt, layout, ports, allowance, clearance_mm);
    let absorbed = directions::Absorbed::new(&place);

    let starts: Vec<usize> = (0..samples).step_by(BATCH).collect();
    let verdicts: Vec<(Verdict, bool)> = parallel::map(&starts, |start| {
        (*start..samples.min(start + BATCH))
            .map(|build| {
                let mut draw = Draw::new(wishes.seed, build as u64);
                let errors = [PortError::drawn(&tolerance, &mut draw), PortError::drawn(&tolerance, &mut draw)];
                (place.build(&errors), absorbed.closes(&place, &errors))
            })
            .collect::<Vec<_>>()
    })
    .concat();

    let count = |of: &dyn Fn(&(Verdict, bool)) -> bool| verdicts.iter().filter(|verdict| of(verdict)).count();
    let closing = Share::of(count(&|(verdict, _)| verdict.closes), samples);
    #[expect(clippy::cast_precision_loss, reason = "counts of builds are far below 2^53")]
    let linear = count(&|(_, linear)| *linear) as f64 / samples as f64;
    let worst = worst_case(&place, &tolerance);
    Ok(Slack {
        samples,
        seed: wishes.seed,
        position_mm,
        angle_deg,
        share: Share::of(count(&|(verdict, _)| verdict.closes && verdict.clear), samples),
        closing,
        linear: closing.contains(linear).then_some(linear),
        directions: directions::principal(&place, &absorbed),
        along_axes: directions::along_axes(&place, &absorbed),
        stack_up: StackUp {
            worst_closes: worst.closes,
            worst_mm: worst.mm,
            worst_deg: worst.rad.to_degrees(),
            usual_mm: usual(verdicts.iter().map(|(verdict, _)| verdict.mm)),
            usual_deg: usual(verdicts.iter().map(|(verdict, _)| verdict.rad)).to_degrees(),
        },
    })
}

/// The build that misses most, in allowances, of all those with every error at its tolerance.
///
/// To first order only the difference of the two ports' errors counts, and the least miss is a convex function of it,
/// so it is greatest in a corner of the box of differences. Each corner is reached by opposite errors at the two ports.
fn worst_case(place: &Place<'_>, tolerance: &Tolerance) -> Verdict {
    let corners = (0..64_u32).map(|corner| {
        let error = PortError::corner(tolerance, corner);
        place.closing(&[error.opposite(), error])
    });
    corners
        .reduce(|worst, other| if place.used(&other) > place.used(&worst) { other } else { worst })
        .unwrap_or_else(|| place.closing(&[PortError::NONE; 2]))
}

/// The value that [`USUAL`] of the values do not exceed.
fn usual(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a small count"
    )]
    let rank = (values.len() as f64 * USUAL).ceil() as usize;
    values.get(rank.saturating_sub(1)).copied().unwrap_or_default()
}
