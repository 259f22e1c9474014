//! The scene: what the solver knows of a machine, as something to look at.
//!
//! [`cast`] is the whole of it as plain data; everything else here either makes that data or hands it to Bevy. World
//! axes are the layout's: millimetres, `z` up. Nothing in here decides what fits or touches: that is the solver's.

pub mod cast;
mod chains;
pub mod drawings;
pub mod facets;
pub mod fitting;
pub mod hull;
pub mod joints;
pub mod marks;
pub mod mesh;
pub mod notes;
pub mod port;
pub mod present;
pub mod shapes;
pub mod sheet;

pub use cast::{Actor, Item, Look, Near, Subject};
pub use present::{OnStage, Player, ScenePlugin, Troupe};
