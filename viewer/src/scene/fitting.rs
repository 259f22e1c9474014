//! A fitting as it is drawn: within the solids that the solver tests, with the marks by which parts are told apart.
//!
//! - Sleeves are true cylinders, and bends between them swept tubes that stay within [`STRAY_MM`] of sleeves and knuckle.
//! - An end that turns freely has a knurled collar; a fixed end of a straight part has a hexagon, as a wrench wants it.
//! - Male threads stand out of their seats, and female ends show their opening.

use super::facets::{Corner, Drawing, Facet, Piece, Tone};
use super::shapes::{ROUND_SIDES, affine, drawn, prism, rim, turned, vec3};
use bevy::math::{Affine3A, Quat, Vec3};
use elbowroom::catalog::{EndDef, Family, FittingDef, Gender, PartSolid, Thread};
use elbowroom::geometry::Pose;
use std::f32::consts::{PI, TAU};

/// Steps of a right angle in a swept tube.
const SWEEP_STEPS: f32 = 12.0;
/// Lines around a knurled collar.
const KNURLS: usize = 24;
/// How far the tube of a bend may leave the solids that the solver tests, in millimetres: less than is seen.
pub const STRAY_MM: f32 = 0.1;
/// How much of a sleeve is collar, at most, in millimetres.
const COLLAR_MM: f32 = 5.0;
/// How far marks stand off the surface they lie on, in millimetres, so that they are not lost in it.
const PROUD_MM: f32 = 0.03;

/// A fitting in its own frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DrawnFitting {
    /// The body, and what is fixed to it.
    pub body: Drawing,
    /// At each end, what turns freely about that end's axis; empty for fixed ends.
    pub collars: [Drawing; 2],
    /// The frames of the ends, `z` out of the fitting: what the collars turn about.
    pub ends: [Affine3A; 2],
}

/// A fitting as it looks drawn out by `stretch_mm`.
#[must_use]
pub fn fitting(part: &FittingDef, stretch_mm: f64) -> DrawnFitting {
    let frames = part.leg_frames(stretch_mm);
    let bends = bends(part, stretch_mm);
    let solids = part.body(stretch_mm);
    let mut drawn_part = DrawnFitting::default();
    for (index, solid) in part.solids.iter().enumerate() {
        let whole = || solids.get(index).map(|solid| drawn(&solid.shape).moved(&affine(&solid.pose)));
        match solid {
            PartSolid::Sleeve { leg, from, to, diameter } => {
                let length = part.leg_length(*leg, stretch_mm) as f32;
                let (mut from, mut to) = (*from as f32, to.map_or(length, |to| to as f32));
                // The tube of a bend takes the place of the sleeve's end there.
                if let Some(before) = leg.checked_sub(1).and_then(|bend| bends[bend]) {
                    from = from.max(before.tangent_mm);
                }
                if let Some(after) = bends.get(*leg).copied().flatten() {
                    to = to.min(length - after.tangent_mm);
                }
                if to - from > 1e-3 {
                    let sleeve = Sleeve { radius: *diameter as f32 / 2.0, from, to, leg: *leg, length };
                    let frame = affine(&frames[*leg]);
                    let (body, collars) = sleeve.drawn(part);
                    drawn_part.body.add(body.moved(&frame));
                    for (collar, drawing) in drawn_part.collars.iter_mut().zip(collars) {
                        collar.add(drawing.moved(&frame));
                    }
                }
            }
            PartSolid::Knuckle { bend, .. } => match bends[*bend] {
                Some(swept) => drawn_part.body.add(swept.drawn().moved(&affine(&frames[*bend]))),
                None => drawn_part.body.add(whole().unwrap_or_default()),
            },
            PartSolid::Free(_) => drawn_part.body.add(whole().unwrap_or_default()),
        }
    }
    for (index, (end, frame)) in part.ends.iter().zip(part.end_frames(stretch_mm)).enumerate() {
        let frame = affine(&frame);
        let mouth = mouth(end, part.bore_mm).moved(&frame);
        match drawn_part.collars.get_mut(index) {
            Some(collar) if end.swivel => collar.add(mouth),
            _ => drawn_part.body.add(mouth),
        }
        if let Some(place) = drawn_part.ends.get_mut(index) {
            *place = frame;
        }
    }
    drawn_part
}

/// The centreline of a fitting in its own frame, from end 0 to the far end, bends as arcs.
#[must_use]
pub fn centreline(part: &FittingDef, stretch_mm: f64) -> Vec<Vec3> {
    let frames = part.leg_frames(stretch_mm);
    let bends = bends(part, stretch_mm);
    let mut line = vec![Vec3::ZERO];
    let place = |frame: &Pose| vec3(&frame.translation.vector);
    for ((bend, frame), next) in bends.iter().zip(&frames).zip(frames.iter().skip(1)) {
        let frame = affine(frame);
        match bend {
            Some(swept) => line.extend(swept.frames().map(|step| frame.transform_point3(step.translation.into()))),
            None => line.push(place(next)),
        }
    }
    line.extend(frames.last().map(place));
    line
}

/// A bend as a tube swept along an arc.
#[derive(Clone, Copy, Debug)]
struct Swept {
    radius: f32,
    arc_mm: f32,
    angle: f32,
    /// From the corner of the centreline to either end of the arc.
    tangent_mm: f32,
    /// Length of the leg before the bend.
    leg_mm: f32,
    /// Turn of the bend's plane about the leg before it.
    roll: f32,
}

/// For each bend that has a sleeve on either side, its tube: as wide as the narrower sleeve there.
///
/// A tube of radius `r` along an arc of radius `R` cuts the corner of a bend by `β` and leaves the two sleeves on its
/// inner side, up to a distance of `√(r² + R² tan²(β/4))` from their axes. So `R` is chosen to keep that within
/// [`STRAY_MM`] of `r`, and no more than `r`.
fn bends(part: &FittingDef, stretch_mm: f64) -> Vec<Option<Swept>> {
    let radius_at = |leg: usize, end: bool| {
        let sleeves = part.solids.iter().filter_map(|solid| match solid {
            PartSolid::Sleeve { leg: on, from, to, diameter } if *on == leg => {
                let reaches = if end { to.is_none() } else { *from == 0.0 };
                reaches.then_some(*diameter as f32 / 2.0)
            }
            _ => None,
        });
        sleeves.min_by(f32::total_cmp)
    };
    let swept = |(index, bend): (usize, &elbowroom::catalog::BendDef)| {
        let radius = radius_at(index, true)?.min(radius_at(index + 1, false)?);
        let angle = (bend.angle_deg as f32).to_radians();
        let leg_mm = part.leg_length(index, stretch_mm) as f32;
        // Half of a leg between two bends belongs to either; a leg to a seat is used up to a collar's rim.
        let share = |leg: usize, outer: bool| part.leg_length(leg, stretch_mm) as f32 * if outer { 0.95 } else { 0.5 };
        let room = share(index, index == 0).min(share(index + 1, index + 1 == part.bends.len()));
        let arc = ((radius + STRAY_MM).powi(2) - radius * radius).sqrt() / (angle / 4.0).tan();
        let tangent_mm = (arc.min(radius) * (angle / 2.0).tan()).min(room);
        Some(Swept {
            radius,
            arc_mm: tangent_mm / (angle / 2.0).tan(),
            angle,
            tangent_mm,
            leg_mm,
            roll: (bend.roll_deg as f32).to_radians(),
        })
    };
    part.bends.iter().enumerate().map(swept).collect()
}

impl Swept {
    /// Frames along the arc in the frame of the leg before it, `z` along the tube.
    fn frames(&self) -> impl Iterator<Item = Affine3A> + use<> {
        let Self { arc_mm, angle, tangent_mm, leg_mm, roll, .. } = *self;
        let steps = (angle / (PI / 2.0) * SWEEP_STEPS).ceil().max(2.0) as usize;
        (0..=steps).map(move |step| {
            let turn = angle * step as f32 / steps as f32;
            let at = Vec3::new(arc_mm * (1.0 - turn.cos()), 0.0, leg_mm - tangent_mm + arc_mm * turn.sin());
            Affine3A::from_quat(Quat::from_rotation_z(roll))
                * Affine3A::from_rotation_translation(Quat::from_rotation_y(turn), at)
        })
    }

    /// The tube in the frame of the leg before it: one convex slice for each step.
    fn drawn(&self) -> Drawing {
        // Towards the inside of the bend a ring must not pass the centre of the arc.
        let ring = |frame: &Affine3A| -> Vec<Corner> {
            let corner = |side: usize| {
                let normal = Quat::from_rotation_z(side as f32 / ROUND_SIDES as f32 * TAU) * Vec3::X;
                let at = Vec3::new((normal.x * self.radius).min(self.arc_mm), normal.y * self.radius, 0.0);
                Corner { at: frame.transform_point3(at), normal: frame.transform_vector3(normal) }
            };
            (0..ROUND_SIDES).map(corner).collect()
        };
        let frames: Vec<Affine3A> = self.frames().collect();
        let mut drawing = Drawing::default();
        for two in frames.windows(2) {
            let [low, high] = [ring(&two[0]), ring(&two[1])];
            let facet = |corners: Vec<Corner>, seen: bool| Facet { corners, seen, cap: false };
            let mut facets: Vec<Facet> = (0..ROUND_SIDES)
                .map(|side| {
                    let next = (side + 1) % ROUND_SIDES;
                    facet(vec![low[side], low[next], high[next], high[side]], true)
                })
                .collect();
            facets.push(Facet { seen: false, ..Facet::flat(low.iter().rev().map(|corner| corner.at)) });
            facets.push(Facet { seen: false, ..Facet::flat(high.iter().map(|corner| corner.at)) });
            drawing.pieces.push(Piece { facets, tone: Tone::Plain });
        }
        drawing
    }
}

/// A straight stretch of a leg, in the leg's frame.
struct Sleeve {
    radius: f32,
    from: f32,
    to: f32,
    leg: usize,
    length: f32,
}

impl Sleeve {
    /// The sleeve's fixed stretches, and the collars at end 0 and end 1 that turn freely.
    fn drawn(&self, part: &FittingDef) -> (Drawing, [Drawing; 2]) {
        let Self { radius, from, to, leg, length } = *self;
        let first = part.ends.first().filter(|_| leg == 0 && from == 0.0);
        let last = part.ends.get(1).filter(|_| leg + 1 == part.legs.len() && to == length);
        let both = first.is_some() && last.is_some();
        let collar_mm = COLLAR_MM.min((to - from) * if both { 0.45 } else { 0.8 });
        // A clamping nut around the middle of a link is the only sleeve there that no seat belongs to.
        let nut = part.family == Family::Link && first.is_none() && last.is_none();
        let straight = matches!(part.family, Family::Extension | Family::Joiner | Family::Reducer | Family::Plug);
        let (mut low, mut high) = (from, to);
        let mut body = Drawing::default();
        let mut collars = [Drawing::default(), Drawing::default()];
        for ((end, collar), at_start) in [first, last].into_iter().zip(&mut collars).zip([true, false]) {
            let Some(end) = end else { continue };
            let [start, stop] = if at_start { [from, from + collar_mm] } else { [to - collar_mm, to] };
            if end.swivel {
                collar.add(stretch(radius, start, stop, Mark::Knurl));
            } else if straight {
                body.add(stretch(radius, start, stop, Mark::Hexagon));
            } else {
                continue;
            }
            if at_start { low = stop } else { high = start }
        }
        if high - low > 1e-3 {
            body.add(stretch(radius, low, high, if nut { Mark::Hexagon } else { Mark::Plain }));
        }
        (body, collars)
    }
}

/// How a stretch of a sleeve is finished.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Mark {
    Plain,
    Knurl,
    Hexagon,
}

fn stretch(radius: f32, from: f32, to: f32, mark: Mark) -> Drawing {
    match mark {
        Mark::Hexagon => prism(6, radius, from, to),
        Mark::Plain => turned(&[(radius, from), (radius, to)]),
        Mark::Knurl => {
            // A slight chamfer and lines along it: the grip of a collar that is turned by hand.
            let chamfer = (0.12 * (to - from)).min(0.5);
            let mut drawing = turned(&[
                (radius - chamfer, from),
                (radius, from + chamfer),
                (radius, to - chamfer),
                (radius - chamfer, to),
            ]);
            drawing.edges.extend((0..KNURLS).map(|line| {
                let turn = Quat::from_rotation_z(line as f32 / KNURLS as f32 * TAU);
                [from + chamfer, to - chamfer].map(|height| turn * Vec3::new(radius + PROUD_MM, 0.0, height))
            }));
            drawing
        }
    }
}

/// What shows at a seat, in the end's frame (`z` out of the fitting): the thread of a male end, the opening of a female.
fn mouth(end: &EndDef, bore_mm: f64) -> Drawing {
    let minor = end.thread.minor_diameter_mm() as f32 / 2.0;
    match end.gender {
        Gender::Male => {
            let length = end.thread_length_mm as f32;
            let mut thread = threaded(end.thread, length);
            thread.add(opening(bore_mm as f32 / 2.0, length));
            thread
        }
        Gender::Female => opening(minor, 0.0),
    }
}

/// A bar with a thread, from the origin along `z`.
pub(super) fn threaded(thread: Thread, length: f32) -> Drawing {
    let major = thread.major_diameter_mm() as f32 / 2.0;
    let minor = thread.minor_diameter_mm() as f32 / 2.0;
    let mut bar = turned(&[(minor, 0.0), (minor, length)]).toned(Tone::Shaded);
    // The thread's ridge as one line that winds along the bar, right-handed.
    let turns = length / thread.pitch_mm() as f32;
    let steps = (turns * 24.0).ceil() as usize;
    let at = |step: usize| {
        let share = step as f32 / steps as f32;
        Quat::from_rotation_z(share * turns * TAU) * Vec3::new(major, 0.0, share * length)
    };
    bar.edges.extend((0..steps).map(|step| [at(step), at(step + 1)]));
    bar
}

/// A dark disc that faces along `z`, with a line around it.
pub(super) fn opening(radius: f32, height: f32) -> Drawing {
    let mut drawing = turned(&[(radius, height - PROUD_MM), (radius, height + PROUD_MM)]).toned(Tone::Opening);
    drawing.edges = rim(radius, height + PROUD_MM).collect();
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use elbowroom::{
        catalog::Catalog,
        geometry::{Shape, Solid, separation},
    };

    /// What is drawn of every built-in fitting lies in the solids that the solver tests, threads and marks aside, to
    /// [`STRAY_MM`], and reaches as far as they do.
    #[test]
    fn fittings_are_drawn_within_their_solids() {
        for part in Catalog::builtin().fittings() {
            let solids: Vec<Solid> = (part.body(0.0).iter())
                .map(|body| Solid::new(&body.shape, body.pose).unwrap_or_else(|bad| panic!("{}: {bad}", part.id)))
                .collect();
            let DrawnFitting { body: mut drawing, collars, .. } = fitting(part, 0.0);
            collars.into_iter().for_each(|collar| drawing.add(collar));
            let plain = drawing.pieces.iter().filter(|piece| piece.tone == Tone::Plain);
            let corners: Vec<Vec3> = plain
                .flat_map(|piece| &piece.facets)
                .flat_map(|facet| &facet.corners)
                .map(|corner| corner.at)
                .collect();
            for at in &corners {
                let at64 = nalgebra::Translation3::new(f64::from(at.x), f64::from(at.y), f64::from(at.z));
                let Ok(point) = Solid::new(&Shape::Sphere { diameter: 0.002 }, at64.into()) else { panic!("{at}") };
                let inside = |solid: &Solid| separation(&point, solid).signed_mm <= f64::from(STRAY_MM) + 0.002;
                assert!(solids.iter().any(inside), "{}: {at} is drawn outside the solids", part.id);
            }
            let bounds = solids.iter().map(Solid::bounds).reduce(|all, next| all.union(&next)).unwrap();
            let far = |pick: fn(Vec3, Vec3) -> Vec3| corners.iter().copied().reduce(pick).unwrap();
            for (drawn, solid) in [(far(Vec3::min), bounds.min), (far(Vec3::max), bounds.max)] {
                let solid = vec3(&solid.coords);
                // A tube rounds a corner off where the knuckle's ball stands out a little farther.
                assert!((drawn - solid).abs().max_element() < 5.0, "{}: {drawn}, not {solid}", part.id);
            }
        }
    }
}
