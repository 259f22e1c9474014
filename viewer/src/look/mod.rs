//! How the scene is looked at: the eye, the colours, and what is left out of sight.

pub mod camera;
pub mod controls;
pub mod eye;
pub mod lettering;
pub mod measure;
pub mod measuring;
pub mod palette;
pub mod pick;
pub mod rooms;
pub mod seeing;
mod show;
pub mod turning;

pub use show::{Section, Show};
