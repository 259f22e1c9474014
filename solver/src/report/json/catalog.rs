//! The catalog for programs: parts as a catalog file holds them.

use crate::catalog::{ComponentDef, FittingDef};
use schemars::JsonSchema;
use serde::Serialize;

/// Parts of the catalog, in the same shape as in a catalog file.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CatalogDocument {
    /// Always `elbowroom.catalog`.
    pub format: CatalogFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// The fittings that were asked for.
    pub fittings: Vec<FittingDef>,
    /// The component templates that were asked for.
    pub components: Vec<ComponentDef>,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum CatalogFormat {
    /// The only value.
    #[serde(rename = "elbowroom.catalog")]
    Catalog,
}

impl CatalogDocument {
    /// The document of these parts.
    #[must_use]
    pub fn new(fittings: &[&FittingDef], components: &[&ComponentDef]) -> Self {
        Self {
            format: CatalogFormat::Catalog,
            version: 1,
            fittings: fittings.iter().copied().cloned().collect(),
            components: components.iter().copied().cloned().collect(),
        }
    }
}
