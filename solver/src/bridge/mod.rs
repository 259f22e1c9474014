//! The heart: from a gap between two ports to the ranked chains that join them.

mod answer;
mod bad_wish;
mod closure;
mod entries;
mod make_up;
mod near_miss;
mod parallel;
mod placed;
mod progress;
mod search;
mod slack;
mod sound_chain;
mod stock;
mod together;

pub use answer::{
    Answer, CLEARANCE_HORIZON_MM, Chain, ChainPart, Clearance, Completeness, MOST_PARTS, MOST_WANTED, Sampling,
    StopReason, Wishes,
};
pub(crate) use bad_wish::flow as check_flow;
pub use bad_wish::{BadWish, CLEARANCES_MM, FLOWS_L_MIN};
pub use entries::entries;
pub use make_up::{
    Blocker, Hit, JointFacts, MakeUp, MakeUpWishes, Moving, Neighbour, SWEEP_ACCURACY_MM, Standing, StandingPart, Step,
    Sweep, Turning, Verdict, first_hit, made_up_first, make_up, make_up_beside,
};
pub use near_miss::{
    Blocked, InTheWay, Missing, NearMissWishes, NearMisses, Nearest, Reason, Refused, Searched, Suggestion, WhyRefused,
    in_the_way, near_misses,
};
pub use placed::{Clearances, clearances};
pub use progress::{Counts, Pace, Progress, STAGES, Stage};
pub use search::bridge;
pub use slack::{Direction, SEARCHED_MM, Share, Slack, SlackWishes, StackUp, slack};
pub use stock::loss::{passage, swept_passage};
pub(crate) use together::Outline;
pub use together::{Together, choose_together, together};
