//! How much coolant moves: what it loses on its way and what the pumps bring.
//!
//! Everything in here is in SI units and knows no positions, files or printing: lengths and bends come in as numbers.
//! A [`minor::Passage`] is the way through one fitting; an [`Element`] is anything that loses or gains pressure; a
//! [`network::Network`] joins elements between named ports and finds the flow through each. Every loss comes with its
//! slope and with a band of how far authors differ about it.
//!
//! A layout maps on to a network so: its ports are the nodes, by their names; a component is a part from its inlet to
//! its outlet; the chain that bridges a gap is a series of parts from one port to the other
//! ([`network::Network::series`]); a reservoir is a node of its own, reached through a [`minor::Exit`] and left
//! through a [`minor::Entrance`], so that its losses and its pressure have a place.

mod component;
mod coolant;
mod curve;
mod doubt;
mod element;
pub mod friction;
mod glycol;
pub mod heat;
mod liquid;
mod loss;
pub mod minor;
pub mod network;
mod pump;
mod velocity;

pub use component::{Coefficient, ComponentError, LossTable};
pub use coolant::{Coolant, CoolantError};
pub use curve::{CurveError, MonotoneCurve, Trend};
pub use doubt::Formula;
pub use element::{Element, Holdback};
pub use glycol::{Glycol, MAX_GLYCOL_PERCENT};
pub use liquid::Liquid;
pub use loss::{Band, Loss, Side};
pub use pump::{Pump, PumpError};
pub use velocity::Wall;
