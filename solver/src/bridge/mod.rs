//! The heart: from a gap between two ports to the ranked chains that join them.

mod answer;

pub use answer::{Answer, CLEARANCE_HORIZON_MM, Chain, ChainPart, Clearance, Completeness, Counts, StopReason, Wishes};
