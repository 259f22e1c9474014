//! Where heat goes: from a hot side into the coolant, and from the coolant into air.

mod conductance;
mod exchanger;
mod resistance;

pub use conductance::{Conductance, ConductanceError};
pub use exchanger::{Air, Arrangement};
pub use resistance::{Resistance, ResistanceError};
