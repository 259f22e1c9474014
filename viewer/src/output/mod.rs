//! Pictures, films and models of the scene, made without a window.

pub mod dragging;
pub mod driver;
pub mod glb;
pub mod live;
pub mod offscreen;
pub mod pace;
pub mod picture;

pub use driver::{NoDriver, driver};
pub use offscreen::{NotDrawn, Offscreen};
