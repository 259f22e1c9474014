//! Fittings and component templates as they are written in a catalog file.

use super::flow::FlowDef;
use super::heat::HeatDef;
use crate::geometry::{Facing, SolidDef};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};

/// A parallel pipe thread of ISO 228-1, sealed on a face by a ring.
///
/// Written as text, `"G 1/4"`: RON has no names with blanks in them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
#[schemars(!try_from, !into)]
pub enum Thread {
    /// G 1/8: 28 threads per inch, 9.728 mm major diameter.
    #[schemars(rename = "G 1/8")]
    G18,
    /// G 1/4: 19 threads per inch, 13.157 mm major diameter.
    #[schemars(rename = "G 1/4")]
    G14,
    /// G 3/8: 19 threads per inch, 16.662 mm major diameter.
    #[schemars(rename = "G 3/8")]
    G38,
}

impl Thread {
    /// Every thread known here, smallest first.
    pub const ALL: [Self; 3] = [Self::G18, Self::G14, Self::G38];

    /// The size as printed on a drawing, such as `G 1/4`.
    #[must_use]
    pub fn designation(self) -> &'static str {
        match self {
            Self::G18 => "G 1/8",
            Self::G14 => "G 1/4",
            Self::G38 => "G 3/8",
        }
    }

    /// Threads per inch, from ISO 228-1.
    #[must_use]
    pub fn threads_per_inch(self) -> f64 {
        match self {
            Self::G18 => 28.0,
            Self::G14 | Self::G38 => 19.0,
        }
    }

    /// Axial advance of one turn in millimetres.
    #[must_use]
    pub fn pitch_mm(self) -> f64 {
        25.4 / self.threads_per_inch()
    }

    /// Basic major diameter in millimetres, from ISO 228-1.
    #[must_use]
    pub fn major_diameter_mm(self) -> f64 {
        match self {
            Self::G18 => 9.728,
            Self::G14 => 13.157,
            Self::G38 => 16.662,
        }
    }

    /// Basic pitch diameter in millimetres: the Whitworth form is 0.640327 pitches high (ISO 228-1).
    #[must_use]
    pub fn pitch_diameter_mm(self) -> f64 {
        self.major_diameter_mm() - WHITWORTH_HEIGHT * self.pitch_mm()
    }

    /// Basic minor diameter in millimetres.
    #[must_use]
    pub fn minor_diameter_mm(self) -> f64 {
        self.major_diameter_mm() - 2.0 * WHITWORTH_HEIGHT * self.pitch_mm()
    }
}

/// Height of the 55° Whitworth thread form in pitches (ISO 228-1).
const WHITWORTH_HEIGHT: f64 = 0.640_327;

impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.designation())
    }
}

impl From<Thread> for String {
    fn from(thread: Thread) -> Self {
        thread.designation().to_owned()
    }
}

impl TryFrom<String> for Thread {
    type Error = BadThread;
    fn try_from(text: String) -> Result<Self, BadThread> {
        text.parse()
    }
}

/// A thread size that is not known here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a thread size, one of \"G 1/8\", \"G 1/4\", \"G 3/8\", found \"{text}\"")]
pub struct BadThread {
    text: String,
}

impl FromStr for Thread {
    type Err = BadThread;

    /// Reads a designation; blanks do not count, so `G1/4` is read too.
    fn from_str(text: &str) -> Result<Self, BadThread> {
        let wanted = text.replace(' ', "");
        Self::ALL
            .into_iter()
            .find(|thread| thread.designation().replace(' ', "") == wanted)
            .ok_or_else(|| BadThread { text: text.to_owned() })
    }
}

/// Which half of a thread an end carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Gender {
    /// An outside thread that goes into the other part.
    Male,
    /// An inside thread that receives the other part.
    Female,
}

impl Gender {
    /// The half that mates with this one.
    #[must_use]
    pub fn opposite(self) -> Self {
        match self {
            Self::Male => Self::Female,
            Self::Female => Self::Male,
        }
    }
}

impl fmt::Display for Gender {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Male => "male",
            Self::Female => "female",
        })
    }
}

/// What kind of fitting a part is. Only for people and for filters: the search reads the geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Family {
    /// Straight, male to female.
    Extension,
    /// Straight, both ends of the same gender.
    Joiner,
    /// Straight, with an end that turns freely.
    Swivel,
    /// One turn of the centreline.
    Bend,
    /// Ends parallel but not in line.
    Offset,
    /// Straight, of adjustable length.
    Link,
    /// Straight, from one thread size to another.
    Reducer,
    /// Straight, carried by a panel; placed as a component, never chosen as a link of a chain.
    Bulkhead,
    /// Closes a port; has one end and is never a link of a chain.
    Plug,
    /// Has three ends and is placed as a component, never chosen as a link of a chain.
    Tee,
}

impl Family {
    /// The word that files use.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Extension => "extension",
            Self::Joiner => "joiner",
            Self::Swivel => "swivel",
            Self::Bend => "bend",
            Self::Offset => "offset",
            Self::Link => "link",
            Self::Reducer => "reducer",
            Self::Bulkhead => "bulkhead",
            Self::Plug => "plug",
            Self::Tee => "tee",
        }
    }
}

/// One threaded end of a fitting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EndDef {
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Male: how far the thread stands out beyond the seat. Female: how deep a male thread may go.
    pub thread_length_mm: f64,
    /// Whether the threaded collar turns freely against the body.
    #[serde(default)]
    pub swivel: bool,
    /// Diameter of the face that closes on the sealing ring: it must fit on the clear seat of the port.
    pub collar_mm: f64,
}

/// A turn of the centreline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BendDef {
    /// How much the centreline turns: 0 is straight on, 90 a right angle. More than 0, at most 170.
    pub angle_deg: f64,
    /// Where the plane of this bend lies, turned from the plane of the bend before it: 0 turns the same way
    /// again, 180 turns back. Always 0 for the first bend, which turns towards +x.
    #[serde(default)]
    pub roll_deg: f64,
}

/// A solid of a fitting, placed along its centreline.
///
/// Threads inside another part are not solids. Distances along a leg start where the leg starts: at the seat of
/// end 0, or at the bend before the leg.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum PartSolid {
    /// A round bar with flat ends around a stretch of a leg.
    Sleeve {
        /// Which leg, from 0.
        leg: usize,
        /// Where it starts along the leg.
        #[serde(default)]
        from: f64,
        /// Where it ends; the end of the leg when left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<f64>,
        /// Diameter; for a hexagon, across its corners.
        diameter: f64,
    },
    /// A ball around a bend of the centreline.
    Knuckle {
        /// Which bend, from 0.
        bend: usize,
        /// Diameter.
        diameter: f64,
    },
    /// Any other solid, in the fitting's frame.
    Free(SolidDef),
}

/// The side outlet of a tee.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BranchDef {
    /// Where it leaves leg 0, measured from the seat of end 0.
    pub at: f64,
    /// Length of the branch from the centreline to its seat.
    pub leg: f64,
    /// Angle between the run and the branch.
    pub angle_deg: f64,
}

/// A fitting of the catalog.
///
/// Frame: origin at the seat of end 0, `z` pointing into the fitting along leg 0; the first bend turns towards
/// `+x`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FittingDef {
    /// Short unique name, used in files and on the command line: lower-case words joined by `-`.
    pub id: String,
    /// Plain descriptive name.
    pub name: String,
    /// What kind of fitting it is.
    pub family: Family,
    /// Its threaded ends: one for a plug, two for a link of a chain, three for a tee (the branch last).
    pub ends: Vec<EndDef>,
    /// Lengths of the straight stretches of the centreline, seat to first bend, bend to bend, last bend to seat.
    pub legs: Vec<f64>,
    /// The turns between the legs: one fewer than there are legs.
    #[serde(default)]
    pub bends: Vec<BendDef>,
    /// Adjustable part: how much longer leg 0 can be made than written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stretch_mm: Option<f64>,
    /// The side outlet of a tee.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub branch: Option<BranchDef>,
    /// The body.
    pub solids: Vec<PartSolid>,
    /// Smallest bore diameter.
    pub bore_mm: f64,
    /// Whether the coolant turns in a swept curve rather than at a drilled corner.
    #[serde(default)]
    pub swept: bool,
    /// Price in any one currency, if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

/// A threaded port of a component.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PortDef {
    /// Name, unique within the component: lower-case words joined by `-`.
    pub name: String,
    /// Centre of the sealing face, in the component's frame.
    pub at: [f64; 3],
    /// Which way the port faces, out of the component.
    pub facing: Facing,
    /// Thread size.
    pub thread: Thread,
    /// Male or female; female when left out.
    #[serde(default = "female")]
    pub gender: Gender,
    /// Female: how deep a male thread may go. Male: how far the thread stands out.
    pub thread_length_mm: f64,
    /// Diameter of the flat face around the port on which a collar can seat.
    pub seat_mm: f64,
    /// How far the sealing face stands off the component's solids along the port's axis, as on a boss that they leave out.
    #[serde(default, skip_serializing_if = "is_none_mm")]
    pub stand_off_mm: f64,
    /// A direction that can be seen on the component and from which turns at the port are counted: only what of it is square
    /// to `facing` matters. When left out, the axis of the component that is least aligned with `facing`: +x before +y
    /// before +z.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<Facing>,
}

fn is_none_mm(mm: &f64) -> bool {
    *mm == 0.0
}

fn female() -> Gender {
    Gender::Female
}

/// A component template: a pump, a radiator, a block.
///
/// Frame: `z` up, front towards `-y`; the origin is wherever the template finds useful and is stated in `note`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ComponentDef {
    /// Short unique name: lower-case words joined by `-`.
    pub id: String,
    /// Plain descriptive name.
    pub name: String,
    /// Where its origin is and what else a user should know.
    #[serde(default)]
    pub note: String,
    /// The body.
    pub solids: Vec<SolidDef>,
    /// Its ports.
    #[serde(default)]
    pub ports: Vec<PortDef>,
    /// How coolant goes through it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<FlowDef>,
    /// How it takes up and gives off heat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat: Option<HeatDef>,
}

/// A catalog file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CatalogFile {
    /// Format version: 1.
    pub version: u32,
    /// What the file holds and where its numbers come from.
    #[serde(default)]
    pub note: String,
    /// Fittings.
    #[serde(default)]
    pub fittings: Vec<FittingDef>,
    /// Component templates.
    #[serde(default)]
    pub components: Vec<ComponentDef>,
}
