//! How each port sits on its own component: a port that is off its face by half a millimetre is drawn where no port can be,
//! and everything that is then proven of it is proven of another machine.

use crate::{
    catalog::{Gender, Thread},
    geometry::{Point, Solid, Vector, axis, origin},
    layout::{Body, BodyId, Layout, Port},
};

/// How far a port may be off its face and still count as lying on it, in millimetres: rounding of a drawing.
pub const SEATED_MM: f64 = 0.05;

/// Share of a seat that must lie on the face: less is a seat that is larger than its face. The rest is for the points that
/// are tried, of which some may fall just outside a rim.
pub const WHOLE_SEAT: f64 = 0.99;

/// How far a port's face is looked for, and how far ahead of a port its own component must leave room, in millimetres.
const LOOKED_FOR_MM: f64 = 200.0;
const AHEAD_MM: f64 = 10.0;

/// Depth below a face, and height above it, at which its material begins and ends, in millimetres.
const SKIN_MM: f64 = 0.1;

/// Points of a seat that are tried.
const SEAT_POINTS: u32 = 500;

/// A port, in the machine's axes, and how it sits on its component.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    /// `component.port`.
    pub port: String,
    /// Centre of its sealing face.
    pub at: [f64; 3],
    /// The way it faces, of length one.
    pub towards: [f64; 3],
    /// The direction from which turns at it are counted, square to that and of length one.
    pub mark: [f64; 3],
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Which solid of the component carries the face, counted from 0 in the order of the file; `None` if none does.
    pub solid: Option<usize>,
    /// How far the sealing face stands off the component along the port's axis, in millimetres; negative where it is sunk
    /// into it, which a layout that is more than [`SEATED_MM`] deep is refused for. `None` if the axis does not meet the component within 200 mm.
    pub stands_off_mm: Option<f64>,
    /// How far it says that it stands off.
    pub said_mm: f64,
    /// Diameter of the seat.
    pub seat_mm: f64,
    /// Share of the seat that lies on the component's material with nothing of the component above it, from 0 to 1, to
    /// about 0.01: at 500 points.
    pub on_face: f64,
    /// What cannot be.
    pub faults: Vec<SeatFault>,
}

/// What cannot be about a port.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum SeatFault {
    /// Its sealing face is so many millimetres off the component, and it does not say so.
    StandsOff(f64),
    /// Its axis does not meet the component behind it.
    OffAltogether,
    /// Its own component stands so many millimetres ahead of it.
    FacesItself(f64),
    /// It lies so many millimetres inside another body.
    Within {
        /// Name of the panel or component.
        body: String,
        /// How deep.
        depth_mm: f64,
    },
    /// The seat is larger than the face it lies on.
    SeatBeyondFace,
}

impl SeatFault {
    /// Whether chains that would fit a sound port may be denied to this one, so that finding none proves nothing.
    #[must_use]
    pub fn voids_proof(&self) -> bool {
        !matches!(self, Self::SeatBeyondFace)
    }
}

/// The ports of all components, in the order of the file.
pub(super) fn seats(layout: &Layout) -> Vec<Seat> {
    layout.ports().iter().filter_map(|port| seat(layout, port)).collect()
}

/// How a port of `layout` sits; `None` if the port comes from another layout.
#[must_use]
pub fn seat(layout: &Layout, port: &Port) -> Option<Seat> {
    let own = layout.body(port.body)?;
    let (at, towards) = (origin(&port.pose), axis(&port.pose));
    let ahead = |mm: f64| at + towards * mm;
    let stands_off_mm = stands_off(&own.solids, at, towards);
    let face = ahead(-stands_off_mm.unwrap_or(0.0));
    let below = face - towards * SKIN_MM;
    let solid = nearest_solid(&own.solids, below).filter(|_| stands_off_mm.is_some());
    let on_face = if stands_off_mm.is_some() { share_on_face(port, &own.solids, face) } else { 0.0 };
    let mut faults = Vec::new();
    match stands_off_mm {
        None => faults.push(SeatFault::OffAltogether),
        Some(mm) if (mm - port.stand_off_mm).abs() > SEATED_MM => faults.push(SeatFault::StandsOff(mm)),
        Some(_) => {}
    }
    if let Some(mm) = first_met(&own.solids, ahead(SKIN_MM), towards, AHEAD_MM) {
        faults.push(SeatFault::FacesItself(mm + SKIN_MM));
    }
    let others = layout.bodies_by_id().filter(|(id, _)| *id != port.body);
    faults.extend(others.filter_map(|(id, body)| within(layout, id, body, ahead(SKIN_MM))));
    if on_face < WHOLE_SEAT && stands_off_mm.is_some() && port.stand_off_mm <= SEATED_MM {
        faults.push(SeatFault::SeatBeyondFace);
    }
    Some(Seat {
        port: port.name.clone(),
        at: at.into(),
        towards: towards.into(),
        mark: (port.pose.rotation * Vector::x()).into(),
        thread: port.thread,
        gender: port.gender,
        solid,
        stands_off_mm,
        said_mm: port.stand_off_mm,
        seat_mm: port.seat_mm,
        on_face,
        faults,
    })
}

/// Signed distance of a point to solids taken together: below zero inside any of them.
fn signed_mm(solids: &[Solid], point: Point) -> f64 {
    solids.iter().map(|solid| solid.signed_mm(&point.coords)).fold(f64::INFINITY, f64::min)
}

fn nearest_solid(solids: &[Solid], point: Point) -> Option<usize> {
    let signed = |index: &usize| solids[*index].signed_mm(&point.coords);
    (0..solids.len()).min_by(|one, other| signed(one).total_cmp(&signed(other)))
}

/// How far `at` is in front of the solids along `towards`; negative inside them.
fn stands_off(solids: &[Solid], at: Point, towards: Vector) -> Option<f64> {
    let signed = signed_mm(solids, at);
    if signed < 0.0 {
        let outside = |point: Point| -signed_mm(solids, point);
        return march(outside, at, towards, LOOKED_FOR_MM).map(|mm| -mm);
    }
    first_met(solids, at, -towards, LOOKED_FOR_MM)
}

/// How far ahead of a point outside the solids they begin, up to `most_mm`.
fn first_met(solids: &[Solid], at: Point, towards: Vector, most_mm: f64) -> Option<f64> {
    march(|point| signed_mm(solids, point), at, towards, most_mm)
}

/// How far along a line a distance that changes no faster than one goes becomes nothing. Glancing along a surface counts as
/// meeting it.
fn march(distance: impl Fn(Point) -> f64, at: Point, towards: Vector, most_mm: f64) -> Option<f64> {
    /// Below this a distance is none, in millimetres; no step is shorter.
    const NONE_MM: f64 = 1e-4;
    let mut gone = 0.0;
    while gone <= most_mm {
        let left = distance(at + towards * gone);
        if left <= NONE_MM {
            return Some(gone + left.max(0.0));
        }
        gone += left;
    }
    None
}

/// Share of the seat around `face` that has the component's material under it and nothing of the component over it.
fn share_on_face(port: &Port, solids: &[Solid], face: Point) -> f64 {
    /// Turn from one point to the next that spreads points evenly over a disc (Vogel 1979).
    const GOLDEN_ANGLE: f64 = 2.399_963_229_728_653;
    let (across, up) = (port.pose.rotation * Vector::x(), port.pose.rotation * Vector::y());
    let skin = axis(&port.pose) * SKIN_MM;
    let carried = (0..SEAT_POINTS).filter(|index| {
        let part = (f64::from(*index) + 0.5) / f64::from(SEAT_POINTS);
        let (sin, cos) = (f64::from(*index) * GOLDEN_ANGLE).sin_cos();
        let point = face + (across * cos + up * sin) * (port.seat_mm / 2.0 * part.sqrt());
        signed_mm(solids, point - skin) <= 0.0 && signed_mm(solids, point + skin) > 0.0
    });
    carried.count() as f64 / f64::from(SEAT_POINTS)
}

/// Whether a point just ahead of a port lies inside another body.
fn within(layout: &Layout, id: BodyId, body: &Body, point: Point) -> Option<SeatFault> {
    let depth_mm = -signed_mm(&body.solids, point);
    let body = &layout.body(id)?.name;
    (depth_mm > SEATED_MM).then(|| SeatFault::Within { body: body.clone(), depth_mm })
}
