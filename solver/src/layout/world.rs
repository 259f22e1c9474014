//! The machine in world axes: bodies, ports, gaps.

use super::file::AllowancesDef;
use super::wetted::Wetted;
use crate::catalog::CoolantDef;
use crate::catalog::{Gender, Thread};
use crate::geometry::{Pose, Solid};
use crate::hydraulics::Coolant;
use crate::source::{brief, nearest, one_of};
use std::{collections::HashMap, iter};

/// A whole machine, every number in it checked and every name resolved.
///
/// World axes are the file's: millimetres, right-handed, `+z` up.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    pub(super) name: String,
    pub(super) bodies: Vec<Body>,
    pub(super) ports: Vec<Port>,
    pub(super) gaps: Vec<Gap>,
    pub(super) allowances: AllowancesDef,
    pub(super) design_flow_l_min: f64,
    pub(super) ambient_celsius: Option<f64>,
    pub(super) coolant_def: CoolantDef,
    pub(super) coolant: Coolant,
    pub(super) ports_by_name: HashMap<String, PortId>,
}

/// A panel or component of one [`Layout`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BodyId(pub(super) u32);

/// A port of one [`Layout`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PortId(pub(super) u32);

/// Two ports of one [`Layout`] that must be joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Gap {
    /// Where the coolant leaves.
    pub from: PortId,
    /// Where it enters.
    pub to: PortId,
}

/// Something rigid: a panel or a component.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Name, unique among all bodies.
    pub name: String,
    /// What it is.
    pub kind: BodyKind,
    /// Its solids in world axes.
    pub solids: Vec<Solid>,
    /// How far it may still be shifted along world x, y and z, either way.
    pub play_mm: [f64; 3],
    /// How far it may still be turned about its top axis, either way.
    pub play_turn_deg: f64,
    /// The component that it is mounted on: where that one goes, it goes too.
    pub mounted_on: Option<BodyId>,
    /// Its frame in world axes. A component's is its template's; a panel's has its origin in the middle of the inner
    /// face, `z` towards the outer face and `x` along the width.
    pub pose: Pose,
    /// What coolant meets in it; nothing in a panel.
    pub wetted: Wetted,
}

/// What a body is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyKind {
    /// A sheet of the enclosure.
    Panel {
        /// Whether it comes off for assembly.
        removable: bool,
    },
    /// Something built in.
    Component,
}

/// A threaded port of a component.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Full name, `component.port`.
    pub name: String,
    /// The component it belongs to.
    pub body: BodyId,
    /// Frame in world axes: origin at the centre of the sealing face, `z` out of the component. Where `x` points is
    /// fixed in the component's own frame, so that a turn of zero degrees turns with the component.
    pub pose: Pose,
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Female: how deep a male thread may go. Male: how far the thread stands out.
    pub thread_length_mm: f64,
    /// Diameter of the flat face around the port on which a collar can seat.
    pub seat_mm: f64,
    /// How far the sealing face stands off the component's solids, as on a boss that they leave out.
    pub stand_off_mm: f64,
}

/// A port name that the layout does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("unknown port `{}`; {hint}", brief(name))]
pub struct UnknownPort {
    name: String,
    hint: String,
}

/// Two names that make no gap.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BadGap {
    /// One of the ports is unknown.
    #[error(transparent)]
    UnknownPort(#[from] UnknownPort),
    /// Both names mean the same port.
    #[error("expected two different ports, found `{0}` twice")]
    SamePort(String),
}

impl Layout {
    /// What the machine is called.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Panels, then components, each in the order of the file.
    #[must_use]
    pub fn bodies(&self) -> &[Body] {
        &self.bodies
    }

    /// The ports of all components, in the order of the file.
    #[must_use]
    pub fn ports(&self) -> &[Port] {
        &self.ports
    }

    /// The gaps of the circuit, in the order of the file.
    #[must_use]
    pub fn gaps(&self) -> &[Gap] {
        &self.gaps
    }

    /// What counts as closed and as clear.
    #[must_use]
    pub fn allowances(&self) -> AllowancesDef {
        self.allowances
    }

    /// Flow for which losses are stated, in litres per minute.
    #[must_use]
    pub fn design_flow_l_min(&self) -> f64 {
        self.design_flow_l_min
    }

    /// What the circuit is filled with, as the file says it.
    #[must_use]
    pub fn coolant_def(&self) -> CoolantDef {
        self.coolant_def
    }

    /// Temperature of the air that radiators draw, in °C, if it is stated.
    #[must_use]
    pub fn ambient_celsius(&self) -> Option<f64> {
        self.ambient_celsius
    }

    /// What the circuit is filled with, as numbers.
    #[must_use]
    pub fn coolant(&self) -> Coolant {
        self.coolant
    }

    /// A body by its handle; `None` if the handle comes from a larger layout.
    #[must_use]
    pub fn body(&self, id: BodyId) -> Option<&Body> {
        self.bodies.get(id.0 as usize)
    }

    /// A port by its handle; `None` if the handle comes from a larger layout.
    #[must_use]
    pub fn port_by_id(&self, id: PortId) -> Option<&Port> {
        self.ports.get(id.0 as usize)
    }

    /// A port by its full name, such as `pump.outlet`.
    ///
    /// # Errors
    /// When there is none; the error names the ports that may have been meant.
    pub fn port(&self, name: &str) -> Result<&Port, UnknownPort> {
        self.port_id(name).and_then(|id| self.port_by_id(id).ok_or_else(|| self.unknown(name)))
    }

    /// The handle of a port, by its full name.
    ///
    /// # Errors
    /// When there is none; the error names the ports that may have been meant.
    pub fn port_id(&self, name: &str) -> Result<PortId, UnknownPort> {
        self.ports_by_name.get(name).copied().ok_or_else(|| self.unknown(name))
    }

    /// The gap between two ports, whether or not the file lists it.
    ///
    /// # Errors
    /// When one of the ports does not exist, or both are the same.
    pub fn gap(&self, from: &str, to: &str) -> Result<Gap, BadGap> {
        let gap = Gap { from: self.port_id(from)?, to: self.port_id(to)? };
        if gap.from == gap.to { Err(BadGap::SamePort(from.to_owned())) } else { Ok(gap) }
    }

    /// The handles and the bodies, in order.
    pub fn bodies_by_id(&self) -> impl Iterator<Item = (BodyId, &Body)> {
        (0..).map(BodyId).zip(&self.bodies)
    }

    /// Whether a body is mounted on another, or on something that is.
    #[must_use]
    pub fn rides_on(&self, rider: BodyId, carrier: BodyId) -> bool {
        let below = |body: BodyId| self.body(body).and_then(|body| body.mounted_on);
        iter::successors(below(rider), |on| below(*on)).any(|on| on == carrier)
    }

    /// What moves when a body is moved: the body itself, then all that is mounted on it or on what is mounted on it, in
    /// the order of the file. Only the handle itself if it comes from a larger layout.
    #[must_use]
    pub fn travelling_with(&self, id: BodyId) -> Vec<BodyId> {
        let riders = self.bodies_by_id().map(|(other, _)| other).filter(|other| self.rides_on(*other, id));
        iter::once(id).chain(riders).collect()
    }

    /// Names of what travels with a body when it is moved, the body itself left out.
    #[must_use]
    pub fn carried_by(&self, id: BodyId) -> Vec<String> {
        let riders = self.travelling_with(id).into_iter().skip(1);
        riders.filter_map(|rider| self.body(rider)).map(|rider| rider.name.clone()).collect()
    }

    /// The handles and the ports, in order.
    pub fn ports_by_id(&self) -> impl Iterator<Item = (PortId, &Port)> {
        (0..).map(PortId).zip(&self.ports)
    }

    fn unknown(&self, name: &str) -> UnknownPort {
        UnknownPort::new(name, self.ports.iter().map(|port| port.name.as_str()))
    }
}

impl BodyId {
    /// Place of the body in [`Layout::bodies`].
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl PortId {
    /// Place of the port in [`Layout::ports`].
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl UnknownPort {
    /// Finds out what may have been meant among the full names of all ports.
    pub(super) fn new<'a>(name: &str, known: impl Iterator<Item = &'a str> + Clone) -> Self {
        let component = name.split_once('.').map_or(name, |(component, _)| component);
        let siblings: Vec<&str> = known.clone().filter(|port| port.split('.').next() == Some(component)).collect();
        let choice = if siblings.is_empty() {
            format!("known ports: {}", one_of(known.clone()))
        } else {
            format!("`{}` has {}", brief(component), one_of(siblings.iter().copied()))
        };
        let hint = match nearest(name, siblings).or_else(|| nearest(name, known)) {
            Some(near) => format!("did you mean `{near}`? {choice}"),
            None => choice,
        };
        Self { name: name.to_owned(), hint }
    }

    /// The name that was asked for.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Which ports may have been meant.
    #[must_use]
    pub fn hint(&self) -> &str {
        &self.hint
    }
}
