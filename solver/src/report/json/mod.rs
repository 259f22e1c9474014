//! Reports for programs: versioned documents, described by the schema files in `solver/schema`.

mod bridge;
mod catalog;
mod chain;
mod check;
mod demo;
mod flow;
mod heat;
mod make_up;
mod near_miss;
mod number;
mod plan;
mod seats;
mod slack;

pub use bridge::{
    BridgeDocument, BridgeFormat, ComparedDocument, CompletenessDocument, CountsDocument, GapDocument, OverlapDocument,
    PortDocument, StopDocument, TogetherDocument,
};
pub use catalog::{CatalogDocument, CatalogFormat};
pub use chain::{AimDocument, ChainDocument, ClearanceDocument, PartDocument, StateDocument, VariantDocument};
pub use check::{
    CheckDocument, CheckFormat, CoverDocument, MeetingDocument, MoveDocument, PortRoomDocument, SeparationDocument,
    SolidPairDocument,
};
pub use demo::{DemoDocument, DemoFormat};
pub use flow::{
    BandDocument, BoreDocument, BranchDocument, CircuitDocument, FlowDocument, FlowFormat, JointDocument,
    MarginDocument, NodeDocument, OperatingDocument, PartFlowDocument, PumpDocument, ResidualsDocument, TrialDocument,
};
pub use heat::{
    CoolantDocument, HeatDocument, HeatTrialDocument, HotPartDocument, RadiatorDocument, RisingDocument, SteadyDocument,
};
pub use make_up::{
    BlockerDocument as MakeUpBlockerDocument, JointDocument as MakeUpJointDocument, LinkDocument, MakeUpDocument,
    StepDocument, StepsDocument, StepsFormat, SwivelDocument, TurningDocument, VerdictDocument, WorkDocument,
};
pub use near_miss::{
    BlockedDocument, BlockerDocument, MissingDocument, NearMissDocument, RefusedDocument, SuggestionDocument,
};
pub use plan::{
    ConflictDocument, ItemDocument, NearPairDocument, PlanDocument, PlanFormat, PlannedGapDocument, ProofDocument,
    StuckDocument,
};
pub use seats::{SeatDocument, SeatFaultDocument};
pub use slack::{DirectionDocument, ShareDocument, SlackDocument, StackUpDocument};

use schemars::{JsonSchema, Schema, SchemaGenerator, generate::SchemaSettings};
use serde::Serialize;

/// A document as text: two blanks of indentation, keys in the order of the types, a line feed at the end.
#[must_use]
pub fn text(document: &impl Serialize) -> String {
    // Every document is made of structs, lists, strings and numbers, which cannot fail to be written.
    let mut text = serde_json::to_string_pretty(document).unwrap_or_else(|error| format!("{{\"fault\": \"{error}\"}}"));
    text.push('\n');
    text
}

/// The schema of each document and the name of its file in `solver/schema`. What is described is what is written, so
/// a field that is always written is required.
#[must_use]
pub fn schemas() -> Vec<(&'static str, Schema)> {
    vec![
        ("bridge.schema.json", schema::<BridgeDocument>()),
        ("catalog.schema.json", schema::<CatalogDocument>()),
        ("check.schema.json", schema::<CheckDocument>()),
        ("demo.schema.json", schema::<DemoDocument>()),
        ("flow.schema.json", schema::<FlowDocument>()),
        ("plan.schema.json", schema::<PlanDocument>()),
        ("steps.schema.json", schema::<StepsDocument>()),
    ]
}

fn schema<Document: JsonSchema>() -> Schema {
    SchemaGenerator::new(SchemaSettings::draft2020_12().for_serialize()).into_root_schema_for::<Document>()
}
