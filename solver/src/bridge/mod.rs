//! The heart: from a gap between two ports to the ranked chains that join them.

mod alike;
mod answer;
mod attempts;
mod bad_wish;
mod clearances;
mod closed;
mod closure;
mod core;
mod cover;
mod crowding;
mod depths;
mod direct;
mod doorway;
mod entries;
mod fit;
mod half;
mod kinds;
mod linkage;
mod loss;
mod make_up;
mod meet;
mod near_miss;
mod parallel;
mod progress;
mod rank;
mod run;
mod scout;
mod search;
mod slack;
mod sound_chain;
mod stock;
mod stuck;
mod sweep;
mod tally;
mod together;
mod turn_round;
mod way;

pub use answer::{
    Answer, CLEARANCE_HORIZON_MM, Chain, ChainPart, Clearance, Completeness, Counts, MOST_WANTED, Sampling, StopReason,
    Wishes,
};
pub(crate) use bad_wish::flow as check_flow;
pub use bad_wish::{BadWish, CLEARANCES_MM, FLOWS_L_MIN};
pub use clearances::{Clearances, clearances};
pub use entries::entries;
pub use loss::{passage, swept_passage};
pub use make_up::{
    Blocker, Hit, JointFacts, MakeUp, MakeUpWishes, Moving, Neighbour, SWEEP_ACCURACY_MM, Standing, StandingPart, Step,
    Sweep, Turning, Verdict, first_hit, made_up_first, make_up, make_up_beside,
};
pub use near_miss::{
    Blocked, InTheWay, Missing, NearMissWishes, NearMisses, Nearest, Reason, Refused, Searched, Suggestion, WhyRefused,
    in_the_way, near_misses,
};
pub use progress::{Pace, Progress, STAGES, Stage};
pub use search::{MOST_PARTS, bridge};
pub use slack::{Direction, SEARCHED_MM, Share, Slack, SlackWishes, StackUp, slack};
pub(crate) use together::Outline;
pub use together::{Together, choose_together, together};
