//! What a chain absorbs, for programs.

use super::number::{fine, tidy};
use crate::bridge::{Direction, SEARCHED_MM, Share, Slack};
use schemars::JsonSchema;
use serde::Serialize;

/// What a chain absorbs when its ports are out of place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlackDocument {
    /// How far each port is out of place along each axis: two standard deviations.
    pub position_mm: f64,
    /// How far each port is turned about each axis: two standard deviations.
    pub angle_deg: f64,
    /// Builds tried.
    pub samples: usize,
    /// Seed of the errors drawn.
    pub seed: u64,
    /// Share of builds that close and keep the clearance.
    pub builds: ShareDocument,
    /// Share of builds that close, whether or not they keep the clearance.
    pub closing: ShareDocument,
    /// The closing share by the Jacobian alone; `null` where it lies outside the sampled interval.
    pub linear: Option<f64>,
    /// Three directions square to each other, the one absorbed least first.
    pub directions: Vec<DirectionDocument>,
    /// How errors add up.
    pub stack_up: StackUpDocument,
}

/// A share with its 95 % interval, from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShareDocument {
    /// As counted.
    pub share: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

/// How far the second port may be out along one direction, everything else as drawn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DirectionDocument {
    /// The direction, of length one.
    pub towards: [f64; 3],
    /// How far along it the chain still closes; `null` when farther than was looked for, which is 5 mm.
    pub ahead_mm: Option<f64>,
    /// How far against it, likewise.
    pub back_mm: Option<f64>,
    /// Share of a small shift that nothing takes up, from 0 to 1.
    pub remains: f64,
}

/// How errors add up.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StackUpDocument {
    /// Whether the chain closes with every error at its tolerance in the worst combination.
    pub worst_closes: bool,
    /// The miss that remains then.
    pub worst_mm: f64,
    /// The angle out of line that remains then.
    pub worst_deg: f64,
    /// 95 of 100 builds miss by no more than this.
    pub usual_mm: f64,
    /// 95 of 100 builds are out of line by no more than this.
    pub usual_deg: f64,
}

impl SlackDocument {
    /// The document of a chain's slack.
    #[must_use]
    pub fn new(slack: &Slack) -> Self {
        Self {
            position_mm: tidy(slack.position_mm),
            angle_deg: tidy(slack.angle_deg),
            samples: slack.samples,
            seed: slack.seed,
            builds: share(&slack.share),
            closing: share(&slack.closing),
            linear: slack.linear.map(tidy),
            directions: slack.directions.iter().map(direction).collect(),
            stack_up: StackUpDocument {
                worst_closes: slack.stack_up.worst_closes,
                worst_mm: tidy(slack.stack_up.worst_mm),
                worst_deg: tidy(slack.stack_up.worst_deg),
                usual_mm: tidy(slack.stack_up.usual_mm),
                usual_deg: tidy(slack.stack_up.usual_deg),
            },
        }
    }
}

fn share(share: &Share) -> ShareDocument {
    ShareDocument { share: tidy(share.share), low: tidy(share.low), high: tidy(share.high) }
}

fn direction(direction: &Direction) -> DirectionDocument {
    let limit = |mm: f64| (mm < SEARCHED_MM).then(|| tidy(mm));
    DirectionDocument {
        towards: direction.towards.map(fine),
        ahead_mm: limit(direction.ahead_mm),
        back_mm: limit(direction.back_mm),
        remains: tidy(direction.remains),
    }
}
