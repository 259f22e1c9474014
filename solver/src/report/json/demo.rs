//! The built-in demo for programs.

use super::{BridgeDocument, CheckDocument};
use schemars::JsonSchema;
use serde::Serialize;

/// What the program shows without a command: the demo layout, checked and bridged.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DemoDocument {
    /// Always `elbowroom.demo`.
    pub format: DemoFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// As `check` writes it.
    pub check: CheckDocument,
    /// As `bridge` writes it.
    pub bridge: BridgeDocument,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum DemoFormat {
    /// The only value.
    #[serde(rename = "elbowroom.demo")]
    Demo,
}

impl DemoDocument {
    /// Both documents in one.
    #[must_use]
    pub fn new(check: CheckDocument, bridge: BridgeDocument) -> Self {
        Self { format: DemoFormat::Demo, version: 1, check, bridge }
    }
}
