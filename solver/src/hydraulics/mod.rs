//! How much coolant moves: what it loses on its way and what the pumps bring.
//!
//! Everything in here is in SI units and knows no positions: lengths and bends come in as numbers.

mod coolant;
pub mod friction;
pub mod minor;

pub use coolant::{Coolant, CoolantError};
