//! The layout: reading the file, saying what is wrong with it, and the machine it describes in world axes.

mod file;

pub use file::{AllowancesDef, GapDef, HoleDef, LayoutFile, PanelDef, PlacedDef};
