//! Fittings and component templates: typed data, where they come from, and what makes them valid.
//!
//! A [`Catalog`] is read from RON or JSON files ([`Catalog::builtin`], [`Catalog::parse`]) or put together by a
//! program ([`Catalog::from_parts`]). Either way every number is checked, so that whoever holds a catalog can rely on
//! [`FittingDef`]'s geometry being sound.

mod body;
mod check_fitting;
mod check_flow;
mod check_shape;
mod coolant;
mod flow;
mod heat;
mod load;
mod part;

pub use body::BodySolid;
pub(crate) use check_flow::{check_flow, coefficient, loss_table, passages, pump};
pub(crate) use check_shape::{check_ports, check_solids};
pub(crate) use coolant::check_coolant;
pub use coolant::{CoolantDef, GlycolDef};
pub use flow::{FlowDef, LossDef, PumpDef, WallDef};
pub(crate) use heat::check_heat;
pub use heat::{HeatDef, ResistanceDef};
pub use load::{Catalog, schema};
pub use part::{
    BadThread, BendDef, BranchDef, CatalogFile, ComponentDef, EndDef, Family, FittingDef, Gender, PartSolid, PortDef,
    Thread,
};
