//! Room for fingers or a wrench around the collar that is turned.

use super::{Blocker, joint::Side, placing::Around, sweep::turning_radius};
use crate::geometry::{Pose, Shape, Solid, Vector, along, closer_than, turned};
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
    let arc_deg = wishes.tool_arc_deg.unwrap_or(allowances.tool_arc_deg);
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
    let near: Vec<(String, &Solid)> =
        layout.chain(chain).filter(|(_, solid)| all.as_ref().is_ok_and(|all| closer_than(all, solid, 0.0))).collect();
    let mut first_in_the_way = None;
    // What was in the way at one place mostly is at the next one too, and is asked first.
    let mut last = 0;
    for place in 0..PLACES {
        let angle = TAU * f64::from(place) / f64::from(PLACES);
        let there = piece.at(frame * turned(angle));
        let in_the_way = |index: &usize| near.get(*index).is_some_and(|(_, solid)| closer_than(&there, solid, 0.0));
        match [last].into_iter().chain(0..near.len()).find(in_the_way) {
            None => return Ok(angle.to_degrees()),
            Some(index) => {
                last = index;
                first_in_the_way = first_in_the_way.or_else(|| near.get(index).map(|(body, _)| body.clone()));
            }
        }
    }
    Err(Blocker::NoToolRoom { body: first_in_the_way.unwrap_or_default(), needed_mm })
}

/// A piece of the ring between the collar's rim and `needed` beyond, as the hull around its two arcs; smaller on all
/// sides by the overlap that does not count.
fn piece(collar: f64, needed: f64, arc: f64, low: f64, high: f64) -> Shape {
    /// How many straight edges stand for the outer arc; they run around it, not through it.
    const EDGES: u32 = 4;
    let outer = (collar + needed - FLUSH_MM) / (arc / f64::from(2 * EDGES)).cos();
    let (collar, low, high) = (collar + FLUSH_MM, low + FLUSH_MM, high - FLUSH_MM);
    let arc = (arc - 2.0 * FLUSH_MM / collar).max(arc / 2.0);
    let at = |radius: f64, angle: f64| Vector::new(radius * angle.cos(), radius * angle.sin(), 0.0);
    let rim = (0..=EDGES).map(|edge| at(outer, arc * (f64::from(edge) / f64::from(EDGES) - 0.5)));
    let flat = rim.chain([at(collar, -arc / 2.0), at(collar, arc / 2.0)]);
    Shape::Hull { points: flat.flat_map(|at| [[at.x, at.y, low], [at.x, at.y, high]]).collect() }
}
