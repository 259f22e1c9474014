//! How much coolant moves: what it loses on its way and what the pumps bring.
//!
//! Everything in here is in SI units and knows no positions: lengths and bends come in as numbers.

mod component;
mod coolant;
mod curve;
mod element;
pub mod friction;
mod glycol;
mod loss;
pub mod minor;
pub mod network;
mod pump;
mod velocity;

pub use component::{Coefficient, ComponentError, LossTable};
pub use coolant::{Coolant, CoolantError};
pub use curve::{CurveError, MonotoneCurve, Trend};
pub use element::{Element, Holdback};
pub use glycol::{Glycol, MAX_GLYCOL_PERCENT};
pub use loss::{Band, Loss, Side};
pub use pump::{Pump, PumpError};
pub use velocity::Wall;
