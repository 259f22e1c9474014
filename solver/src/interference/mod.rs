//! Whether everything fits where the layout puts it: what overlaps, what touches, what comes too near, how far the
//! covers miss, which ports have something right in front of them, and which lie where no port can be. Chains play no part
//! here.

mod bodies;
mod covers;
mod ports;
mod seats;

pub use bodies::{Meeting, SolidPair};
pub use covers::CoverRoom;
pub use ports::{PORT_ROOM_MM, PortRoom};
pub use seats::{SEATED_MM, Seat, SeatFault, WHOLE_SEAT, seat};

use crate::{
    geometry::State,
    layout::{BodyKind, Layout},
};

/// What [`check`] found.
#[derive(Clone, Debug, PartialEq)]
pub struct Interference {
    /// Number of components.
    pub components: usize,
    /// Number of panels.
    pub panels: usize,
    /// Least clearance that counts as enough: the layout's allowance.
    pub clearance_mm: f64,
    /// Every two bodies that overlap, touch, or come nearer than that: deepest overlap first, widest gap last.
    pub meetings: Vec<Meeting>,
    /// For each removable panel, the component that comes nearest to it, in the order of the file.
    pub covers: Vec<CoverRoom>,
    /// Ports of the circuit with less than [`PORT_ROOM_MM`] of room straight ahead, in the order of the file.
    pub ports: Vec<PortRoom>,
    /// Every port in the machine's axes and how it sits on its component, in the order of the file.
    pub seats: Vec<Seat>,
}

impl Interference {
    /// Whether no two bodies overlap. What touches fits: components stand on panels. What comes nearer than the
    /// allowance fits too, and is listed so that a person can judge it.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.overlaps().next().is_none()
    }

    /// Whether every port lies on its component as it says.
    #[must_use]
    pub fn is_seated(&self) -> bool {
        self.seats.iter().all(|seat| seat.faults.is_empty())
    }

    /// The bodies that overlap, deepest first.
    pub fn overlaps(&self) -> impl Iterator<Item = &Meeting> {
        self.meetings.iter().filter(|meeting| is_overlap(meeting))
    }

    /// The bodies that touch.
    pub fn touching(&self) -> impl Iterator<Item = &Meeting> {
        self.meetings.iter().filter(|meeting| meeting.state() == State::Touching)
    }

    /// The bodies that are apart, but by less than the allowance, nearest first.
    pub fn tight(&self) -> impl Iterator<Item = &Meeting> {
        self.meetings.iter().filter(|meeting| meeting.state() == State::Clear)
    }
}

/// The bodies that overlap, deepest first, and nothing else of what [`check`] finds.
#[must_use]
pub fn overlaps(layout: &Layout) -> Vec<Meeting> {
    let mut meetings = bodies::meetings(layout, layout.allowances().clearance_mm);
    meetings.retain(is_overlap);
    meetings
}

/// Ports of the circuit with little room ahead, and nothing else of what [`check`] finds.
pub(crate) fn rooms(layout: &Layout) -> Vec<PortRoom> {
    ports::ports(layout)
}

fn is_overlap(meeting: &Meeting) -> bool {
    matches!(meeting.state(), State::Overlapping | State::Inside)
}

/// Checks every two bodies of a layout against each other, in their drawn places (play is not used).
///
/// Panels are not checked against panels: how sheets are joined at their edges is the builder's business, and
/// whether they are drawn to the inner or the outer size makes no difference to what fits between them. Solids of
/// one body may overlap freely. Cost: a bounds check for each two bodies, a measurement only for near ones.
#[must_use]
pub fn check(layout: &Layout) -> Interference {
    let clearance_mm = layout.allowances().clearance_mm;
    let panels = layout.bodies().iter().filter(|body| body.kind != BodyKind::Component).count();
    Interference {
        components: layout.bodies().len() - panels,
        panels,
        clearance_mm,
        meetings: bodies::meetings(layout, clearance_mm),
        covers: covers::covers(layout.bodies()),
        ports: ports::ports(layout),
        seats: seats::seats(layout),
    }
}
