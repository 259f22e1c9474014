//! Ports with something right in front of them.

use crate::{
    geometry::{Scene, Shape, Solid, SolidId, along},
    layout::{BodyId, Layout, Port, PortId},
};

/// Room straight ahead of a port below which a note is due, in millimetres: about what the shortest bend of a small
/// thread takes before it turns aside. Less room is no proof that nothing fits, only a place to look at.
pub const PORT_ROOM_MM: f64 = 10.0;

/// A port with little room ahead.
#[derive(Clone, Debug, PartialEq)]
pub struct PortRoom {
    /// `component.port`.
    pub port: String,
    /// Name of the body that stands in front of it.
    pub body: String,
    /// How far a bar as thick as the port's thread can come out of it before it meets that body.
    pub free_mm: f64,
}

/// Distance in front of the sealing face at which looking starts, in millimetres, so that what merely touches the
/// face from the side is no obstacle.
const START_MM: f64 = 0.05;
/// Accuracy of the room, in millimetres.
const ACCURACY_MM: f64 = 0.005;

/// The ports that gaps of the layout use and that have less than [`PORT_ROOM_MM`] of room.
pub(super) fn ports(layout: &Layout) -> Vec<PortRoom> {
    let mut owners = Vec::new();
    let mut solids = Vec::new();
    for (id, body) in layout.bodies_by_id() {
        owners.extend(body.solids.iter().map(|_| id));
        solids.extend(body.solids.iter().cloned());
    }
    let scene = Scene::new(solids);
    let used = |id: PortId| layout.gaps().iter().any(|gap| gap.from == id || gap.to == id);
    layout
        .ports_by_id()
        .filter(|&(id, _)| used(id))
        .filter_map(|(_, port)| {
            let (owner, free_mm) = room(port, &scene, &owners)?;
            Some(PortRoom { port: port.name.clone(), body: layout.body(owner)?.name.clone(), free_mm })
        })
        .collect()
}

/// How far a bar comes out of the port and what it meets; `None` if there is room enough.
fn room(port: &Port, scene: &Scene, owners: &[BodyId]) -> Option<(BodyId, f64)> {
    let owner = |id: SolidId| owners.get(id.0 as usize).copied();
    let met = |length: f64| {
        let shape = Shape::Cylinder { diameter: port.thread.major_diameter_mm(), length };
        let bar = Solid::new(&shape, port.pose * along(START_MM + length / 2.0)).ok()?;
        scene.blocker(&bar, 0.0, |id| owner(id) == Some(port.body)).and_then(owner)
    };
    // Free at `low`, met at `high`.
    let (mut low, mut high) = (0.0, PORT_ROOM_MM - START_MM);
    let mut body = met(high)?;
    while high - low > ACCURACY_MM {
        let middle = f64::midpoint(low, high);
        match met(middle) {
            Some(nearer) => (high, body) = (middle, nearer),
            None => low = middle,
        }
    }
    // Met at once, even by the shortest bar that was tried: there is no room.
    let free_mm = if low == 0.0 { 0.0 } else { START_MM + low };
    Some((body, free_mm))
}
