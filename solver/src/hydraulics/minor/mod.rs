//! Losses where the coolant turns, where its bore changes, and where it enters or leaves.

mod coefficient;
mod local;
mod passage;
mod tee;
mod tee_law;

pub use coefficient::{
    PROJECTING_ENTRANCE, ThreeK, entrance, exit, mitre, rennels_bend, rennels_mitre, sudden_narrowing, sudden_widening,
    threaded,
};
pub use local::{Coil, Edge, Entrance, Exit, LocalError, Step, Valve};
pub use passage::{Bend, BendKind, Passage, PassageError, chain_loss_pa};
pub use tee::{Tee, TeeLeg};
