//! The layout: reading the file, saying what is wrong with it, and the machine it describes in world axes.
//!
//! [`LayoutFile`] is the file as written, [`Layout`] what it means: every component and panel in its place, every
//! port a frame. A [`Layout`] exists only if nothing is wrong with the file; otherwise there are
//! [`Problems`](crate::source::Problems), all of them at once.

mod check;
mod edit;
mod file;
mod model;
mod mount;
mod names;
mod panel;
mod read;
mod stand;
mod wetted;
mod world;

pub use crate::catalog::{CoolantDef, GlycolDef};
pub(crate) use check::TOOL_ARCS_DEG;
pub use edit::{BadEdit, Move, move_in_text};
pub use file::{AllowancesDef, GapDef, HoleDef, LayoutFile, PanelDef, PlacedDef};
pub use panel::{HOLE_ACCURACY_MM, LEAST_WEB_MM};
pub use read::{PORT_COVER_MM, schema};
pub use stand::SQUARE_ACCURACY;
pub use wetted::Wetted;
pub use world::{BadGap, Body, BodyId, BodyKind, Gap, Layout, Port, PortId, UnknownPort};
