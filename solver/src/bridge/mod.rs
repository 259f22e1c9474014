//! The heart: from a gap between two ports to the ranked chains that join them.

mod answer;
mod closure;
mod direct;
mod fit;
mod half;
mod loss;
mod meet;
mod parallel;
mod rank;
mod run;
mod scout;
mod search;
mod stock;
mod tally;
mod together;

pub use answer::{Answer, CLEARANCE_HORIZON_MM, Chain, ChainPart, Clearance, Completeness, Counts, StopReason, Wishes};
pub use loss::{passage, swept_passage};
pub use search::{MOST_PARTS, bridge};
pub use together::{Together, together};
