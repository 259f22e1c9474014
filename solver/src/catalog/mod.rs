//! Fittings and component templates: typed data, where they come from, and what makes them valid.

mod body;
mod part;

pub use body::BodySolid;
pub use part::{
    BadThread, BendDef, BranchDef, CatalogFile, ComponentDef, EndDef, Family, FittingDef, Gender, PartSolid, PortDef,
    Thread,
};
