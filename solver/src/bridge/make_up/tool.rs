//! Room for fingers or a wrench around the collar that is turned.

use super::{Blocker, joint::Side, placing::Around, sweep::turning_radius};
use crate::geometry::{Pose, Shape, Solid, Vector, along, turned};
use std::f64::consts::TAU;

/// How far from the seat the room begins, in millimetres: a wrench is laid on the collar, not on the face that it
/// closes on.
const OFF_THE_SEAT_MM: f64 = 0.5;

/// How many places around the collar are tried.
const PLACES: u32 = 24;

/// Overlap that does not count, in millimetres.
const FLUSH_MM: f64 = 0.05;

/// Finds a place around the collar of `joint` on `side` where the room for a tool is free while the collar moves over
/// `travel` along `frame`'s axis; the middle of the place as a turn from the frame's `x` in degrees.
pub(super) fn room(
    around: &Around<'_, '_>,
    frame: &Pose,
    joint: usize,
    side: Side,
    travel: [f64; 2],
) -> Result<f64, Blocker> {
    let site = around.site;
    let wishes = &site.wishes;
    let allowances = site.layout.allowances();
    let needed_mm = wishes.tool_mm.unwrap_or(allowances.tool_mm);
    let arc_deg = wishes.tool_arc_deg.unwrap_or(allowances.tool_arc_deg).clamp(5.0, 180.0);
    let collar = site.halves[joint][side.index()].collar_mm / 2.0;
    let (near, far) = (OFF_THE_SEAT_MM, wishes.collar_length_mm.max(2.0 * OFF_THE_SEAT_MM));
    let (low, high) = match side {
        Side::First => (-far + travel[0], -near + travel[1]),
        Side::Second => (near + travel[0], far + travel[1]),
    };
    if needed_mm <= 0.0 {
        return Ok(0.0);
    }
    let Ok(piece) = Solid::new(&piece(collar, needed_mm, arc_deg.to_radians(), low, high), *frame) else {
        return Ok(0.0);
    };
    // What lies along the axis of the joint is inside the ring, or is what the tool grips.
    let chain = around.chain.iter().filter(|(_, solid)| turning_radius(solid, frame) > 0.0);
    let chain = chain.map(|(member, solid)| (site.fittings[member.part].id.clone(), solid));
    let layout = around.layout.iter().map(|(obstacle, solid)| (site.body_name(obstacle.body), solid));
    let reach = collar + needed_mm;
    let all = Shape::Cylinder { diameter: 2.0 * reach / (TAU / 48.0).cos(), length: high - low };
    let all = Solid::new(&all, frame * along(f64::midpoint(low, high)));
    let near: Vec<(String, &Solid)> = layout
        .chain(chain)
        .filter(|(_, solid)| all.as_ref().is_ok_and(|all| crate::geometry::closer_than(all, solid, 0.0)))
        .collect();
    let mut first_in_the_way = None;
    for place in 0..PLACES {
        let angle = TAU * f64::from(place) / f64::from(PLACES);
        let there = piece.at(frame * turned(angle));
        match near.iter().find(|(_, solid)| crate::geometry::closer_than(&there, solid, -FLUSH_MM)) {
            None => return Ok(angle.to_degrees()),
            Some((body, _)) => first_in_the_way = first_in_the_way.or_else(|| Some(body.clone())),
        }
    }
    Err(Blocker::NoToolRoom { body: first_in_the_way.unwrap_or_default(), needed_mm })
}

/// A piece of the ring between the collar's rim and `needed` beyond, as the hull around its two arcs.
fn piece(collar: f64, needed: f64, arc: f64, low: f64, high: f64) -> Shape {
    /// How many straight edges stand for the outer arc; they run around it, not through it.
    const EDGES: u32 = 8;
    let outer = (collar + needed) / (arc / f64::from(2 * EDGES)).cos();
    let at = |radius: f64, angle: f64| Vector::new(radius * angle.cos(), radius * angle.sin(), 0.0);
    let rim = (0..=EDGES).map(|edge| at(outer, arc * (f64::from(edge) / f64::from(EDGES) - 0.5)));
    let flat = rim.chain([at(collar, -arc / 2.0), at(collar, arc / 2.0)]);
    Shape::Hull { points: flat.flat_map(|at| [[at.x, at.y, low], [at.x, at.y, high]]).collect() }
}
