//! From a layout to the circuit of its coolant: which parts meet where, and how much moves through them.
//!
//! Ports of the layout become the ports of a [`Network`](crate::hydraulics::network::Network), components the parts
//! between their ports, and the chain chosen for each gap a series of parts. A gap without a chain is joined ideally:
//! whoever builds a circuit so must say it.

mod build;
mod component;
mod fault;
mod heat;
mod heat_trial;
mod operating;
mod thermal;
mod trial;

pub use build::{Circuit, CircuitPart};
pub use fault::CircuitFault;
pub use heat::{Capacity, Heat, HotPart, RadiatorAtWork, Rising, Steady};
pub use heat_trial::HeatTrial;
pub use operating::{Flows, Operating};
pub use trial::Trial;
