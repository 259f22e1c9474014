//! The interference report for programs.

use super::{
    SeatDocument,
    chain::{StateDocument, state},
    number::{fine, tidy},
};
use crate::{
    geometry::{FreeingMove, Separation},
    interference::{self, Interference},
    report::Outcome,
};
use schemars::JsonSchema;
use serde::Serialize;

/// What `check` found. Lengths in millimetres, positions and directions in the layout's axes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckDocument {
    /// Always `elbowroom.check`.
    pub format: CheckFormat,
    /// Changes when a reader of the old form would be misled.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// Name of the machine.
    pub layout: String,
    /// `does_not_fit` if any two bodies overlap or a port cannot be as it is written, else `fits`.
    pub outcome: Outcome,
    /// Least clearance that counts as enough.
    pub clearance_mm: f64,
    /// Number of components.
    pub components: usize,
    /// Number of panels.
    pub panels: usize,
    /// Every two bodies that overlap, touch, or come nearer than that; deepest overlap first, widest gap last.
    pub meetings: Vec<MeetingDocument>,
    /// For each removable panel, the component that comes nearest to it.
    pub covers: Vec<CoverDocument>,
    /// Ports of the circuit with less than 10 mm of room straight ahead.
    pub ports: Vec<PortRoomDocument>,
    /// Every port and how it sits on its component, in the order of the file.
    pub seats: Vec<SeatDocument>,
}

/// Tells this document from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum CheckFormat {
    /// The only value.
    #[serde(rename = "elbowroom.check")]
    Check,
}

/// Two bodies that overlap, touch, or come too near.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeetingDocument {
    /// The component; of two components, the first in the file, unless the other is mounted on it.
    pub a: String,
    /// The panel, or the other component.
    pub b: String,
    /// Whether `b` is a panel.
    pub b_is_panel: bool,
    /// The pair of solids that is worst.
    pub worst: SolidPairDocument,
    /// Every pair of solids that overlaps, deepest first.
    pub overlapping: Vec<SolidPairDocument>,
    /// The shortest moves of `a` that free it of `b`, along each axis both ways; empty unless they overlap.
    pub moves: Vec<MoveDocument>,
}

/// A solid of one body against a solid of another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SolidPairDocument {
    /// Which solid of the first body, counted from 0.
    pub a: usize,
    /// Which solid of the second.
    pub b: usize,
    /// How they stand to each other.
    pub separation: SeparationDocument,
}

/// How two solids stand to each other.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeparationDocument {
    /// In a word.
    pub state: StateDocument,
    /// Signed distance, negative in overlap.
    pub mm: f64,
    /// The nearest point on the first, or in overlap a deepest one.
    pub on_a: [f64; 3],
    /// The same on the second.
    pub on_b: [f64; 3],
    /// From the first to the second, of length one.
    pub normal: [f64; 3],
}

/// A straight move.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveDocument {
    /// Which way.
    pub direction: [f64; 3],
    /// How far.
    pub mm: f64,
}

/// A cover and the component that comes nearest to it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoverDocument {
    /// Name of the removable panel.
    pub cover: String,
    /// Name of the component.
    pub component: String,
    /// From the component to the cover.
    pub separation: SeparationDocument,
}

/// A port with little room ahead.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PortRoomDocument {
    /// `component.port`.
    pub port: String,
    /// Name of the body in front of it.
    pub body: String,
    /// How far a bar as thick as the thread comes out before it meets that body.
    pub free_mm: f64,
}

impl CheckDocument {
    /// The document of a check of the layout of that name.
    #[must_use]
    pub fn new(layout: &str, found: &Interference) -> Self {
        Self {
            format: CheckFormat::Check,
            version: 1,
            layout: layout.to_owned(),
            outcome: Outcome::of_check(found),
            clearance_mm: tidy(found.clearance_mm),
            components: found.components,
            panels: found.panels,
            meetings: found.meetings.iter().map(meeting).collect(),
            covers: found.covers.iter().map(cover).collect(),
            ports: found.ports.iter().map(port).collect(),
            seats: found.seats.iter().map(SeatDocument::new).collect(),
        }
    }
}

fn meeting(meeting: &interference::Meeting) -> MeetingDocument {
    MeetingDocument {
        a: meeting.a.clone(),
        b: meeting.b.clone(),
        b_is_panel: meeting.b_is_panel,
        worst: pair(&meeting.worst),
        overlapping: meeting.overlapping.iter().map(pair).collect(),
        moves: meeting.moves.iter().flatten().filter_map(freeing).collect(),
    }
}

fn pair(pair: &interference::SolidPair) -> SolidPairDocument {
    SolidPairDocument { a: pair.a, b: pair.b, separation: separation(&pair.separation) }
}

fn separation(separation: &Separation) -> SeparationDocument {
    SeparationDocument {
        state: state(separation.state),
        mm: tidy(separation.signed_mm),
        on_a: <[f64; 3]>::from(separation.on_a.coords).map(tidy),
        on_b: <[f64; 3]>::from(separation.on_b.coords).map(tidy),
        normal: <[f64; 3]>::from(separation.normal).map(fine),
    }
}

/// `None` for a move that has no end.
fn freeing(freeing: &FreeingMove) -> Option<MoveDocument> {
    let direction = <[f64; 3]>::from(freeing.direction.into_inner()).map(fine);
    freeing.mm.is_finite().then(|| MoveDocument { direction, mm: tidy(freeing.mm) })
}

fn cover(room: &interference::CoverRoom) -> CoverDocument {
    CoverDocument {
        cover: room.cover.clone(),
        component: room.component.clone(),
        separation: separation(&room.separation),
    }
}

fn port(room: &interference::PortRoom) -> PortRoomDocument {
    PortRoomDocument { port: room.port.clone(), body: room.body.clone(), free_mm: tidy(room.free_mm) }
}
