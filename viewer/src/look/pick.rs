//! What lies under the pointer: the facet that a ray meets first, and the face or axis that a person means by it.

use super::eye::Eye;
use super::palette::Tint;
use crate::scene::{
    Actor, Item,
    facets::{Corner, Cut, Facet},
};
use bevy::math::{Affine3A, Vec2, Vec3};

/// A ray into the scene, in world millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ray {
    /// Where it starts.
    pub from: Vec3,
    /// Where it goes, of length one.
    pub along: Vec3,
}

/// What a ray met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Which thing.
    pub item: Item,
    /// Where, in world millimetres.
    pub at: Vec3,
    /// What that thing is there.
    pub surface: Surface,
}

/// A face or an axis, in world millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Surface {
    /// A flat face.
    Face {
        /// Length one, outward.
        normal: Vec3,
    },
    /// A surface that is round about an axis.
    Round {
        /// A place on the axis, level with where the surface was met.
        centre: Vec3,
        /// The axis, of length one.
        axis: Vec3,
        /// Its radius in millimetres.
        radius: f32,
    },
}

/// Normals that differ by less belong to a flat face.
const FLAT: f32 = 1e-3;

/// The ray under a pointer, given as [`Eye::on_screen`] gives places; it starts `reach_mm` before the eye's target, or
/// at the eye of a perspective.
#[must_use]
pub fn ray(eye: &Eye, pointer: Vec2, reach_mm: f32) -> Ray {
    let [right, up, out] = eye.axes();
    let on_target = eye.target + (right * pointer.x + up * pointer.y) * eye.span_mm;
    if eye.parallel {
        return Ray { from: on_target + out * reach_mm, along: -out };
    }
    let from = eye.target + out * eye.distance_mm();
    Ray { from, along: (on_target - from).normalize() }
}

/// The first thing that a ray meets. Sheets are looked through: they count only where there is nothing behind them.
#[must_use]
pub fn pick<'a>(actors: impl IntoIterator<Item = &'a Actor>, ray: &Ray, cut: Option<&Cut>) -> Option<Hit> {
    let mut best: Option<((bool, f32), Hit)> = None;
    for actor in actors {
        if actor.look.ghost {
            continue;
        }
        let sheet = matches!(actor.look.tint, Tint::Sheet | Tint::Cover);
        let Some((distance, facet)) = first(actor, ray, cut) else { continue };
        let rank = (sheet, distance);
        if best.as_ref().is_none_or(|(known, _)| rank < *known) {
            let at = ray.from + ray.along * distance;
            best = Some((rank, Hit { item: actor.item, at, surface: surface(facet, &actor.pose, at) }));
        }
    }
    best.map(|(_, hit)| hit)
}

/// How far a ray goes until it meets an actor where it is not cut away.
#[must_use]
pub fn met_at(actor: &Actor, ray: &Ray, cut: Option<&Cut>) -> Option<f32> {
    first(actor, ray, cut).map(|(distance, _)| distance)
}

/// How far a ray goes to the nearest facet of an actor that is not cut away.
fn first<'a>(actor: &'a Actor, ray: &Ray, cut: Option<&Cut>) -> Option<(f32, &'a Facet)> {
    let inverse = actor.pose.inverse();
    let local = Ray { from: inverse.transform_point3(ray.from), along: inverse.transform_vector3(ray.along) };
    if !meets(actor.drawing.around()?, &local) {
        return None;
    }
    let facets = actor.drawing.pieces.iter().flat_map(|piece| &piece.facets).filter(|facet| facet.seen);
    facets
        .filter_map(|facet| {
            let distance = met(facet, &local)?;
            let kept = cut.is_none_or(|cut| cut.beyond(ray.from + ray.along * distance) <= 0.0);
            kept.then_some((distance, facet))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Whether a ray goes through a box, or past it by no more than rounding.
fn meets([low, high]: [Vec3; 2], ray: &Ray) -> bool {
    const ROUNDING_MM: f32 = 0.01;
    let (mut from, mut to) = (0.0_f32, f32::INFINITY);
    for axis in 0..3 {
        let (low, high) = (low[axis] - ROUNDING_MM - ray.from[axis], high[axis] + ROUNDING_MM - ray.from[axis]);
        // A ray along the box's sides divides by zero: the infinities that come out say inside or outside.
        let (a, b) = (low / ray.along[axis], high / ray.along[axis]);
        (from, to) = (from.max(a.min(b)), to.min(a.max(b)));
    }
    from <= to
}

/// How far a ray goes to a facet that faces it.
fn met(facet: &Facet, ray: &Ray) -> Option<f32> {
    let corners = &facet.corners;
    let first = corners.first()?.at;
    for two in corners.windows(2).skip(1) {
        let (a, b) = (two[0].at - first, two[1].at - first);
        // Möller and Trumbore, "Fast, minimum storage ray/triangle intersection", 1997.
        let across = ray.along.cross(b);
        let turn = a.dot(across);
        if turn <= 1e-12 {
            continue;
        }
        let step = ray.from - first;
        let u = step.dot(across) / turn;
        let other = step.cross(a);
        let v = ray.along.dot(other) / turn;
        let distance = b.dot(other) / turn;
        if u >= 0.0 && v >= 0.0 && u + v <= 1.0 && distance > 0.0 {
            return Some(distance);
        }
    }
    None
}

fn surface(facet: &Facet, pose: &Affine3A, at: Vec3) -> Surface {
    match round(&facet.corners) {
        Some((centre, axis, radius)) => {
            let axis = pose.transform_vector3(axis).normalize();
            let centre = pose.transform_point3(centre);
            Surface::Round { centre: centre + axis * axis.dot(at - centre), axis, radius }
        }
        None => Surface::Face { normal: pose.transform_vector3(facet.normal()).normalize_or_zero() },
    }
}

/// A place on the axis, the axis and the radius of the cylinder that a facet is a strip of: two corners with one normal
/// lie along it, and the turn of the normal across it gives its radius.
fn round(corners: &[Corner]) -> Option<(Vec3, Vec3, f32)> {
    let [a, b, c, d] = corners else { return None };
    if a.normal.distance(d.normal) > FLAT || b.normal.distance(c.normal) > FLAT || a.normal.distance(b.normal) < FLAT {
        return None;
    }
    let axis = (d.at - a.at).try_normalize()?;
    let radius = a.at.distance(b.at) / a.normal.distance(b.normal);
    // The strips of balls and tubes have other normals, those of cones are not square to the axis.
    (axis.dot(a.normal).abs() < FLAT && (a.at - a.normal * radius).distance(b.at - b.normal * radius) < 0.01 * radius)
        .then_some((a.at - a.normal * radius, axis, radius))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::scene::{Look, facets::Sketch, shapes::drawn};
    use elbowroom::geometry::Shape;
    use std::sync::Arc;

    pub(crate) fn actor(item: Item, shape: &Shape, at: Vec3) -> Actor {
        Actor {
            item,
            name: format!("{item:?}"),
            drawing: Arc::new(Sketch::new(drawn(shape))),
            pose: Affine3A::from_translation(at),
            look: Look::plain(Tint::Component(0)),
        }
    }

    #[test]
    fn the_nearest_face_is_picked_and_a_cut_opens_the_way_to_the_next() {
        let size = [10.0, 10.0, 10.0];
        let near = actor(Item::Body(0), &Shape::Box { size }, Vec3::new(0.0, -20.0, 0.0));
        let far = actor(Item::Body(1), &Shape::Cylinder { diameter: 10.0, length: 30.0 }, Vec3::ZERO);
        let eye = Eye { heading: 0.0, elevation: 0.0, ..Eye::default() };
        for parallel in [true, false] {
            let ray = ray(&Eye { parallel, ..eye }, Vec2::ZERO, 500.0);
            let hit = pick([&far, &near], &ray, None).unwrap();
            assert_eq!(hit.item, Item::Body(0));
            assert!(hit.at.distance(Vec3::new(0.0, -25.0, 0.0)) < 1e-3, "{hit:?}");
            assert!(matches!(hit.surface, Surface::Face { normal } if normal.distance(Vec3::NEG_Y) < 1e-4));
            // The front is cut away.
            let cut = Cut { normal: Vec3::NEG_Y, at_mm: 10.0 };
            let hit = pick([&far, &near], &ray, Some(&cut)).unwrap();
            assert_eq!(hit.item, Item::Body(1));
            let Surface::Round { centre, axis, radius } = hit.surface else { panic!("{hit:?}") };
            assert!(axis.z.abs() > 0.999_9 && (radius - 5.0).abs() < 1e-3 && centre.length() < 1e-2, "{hit:?}");
            assert_eq!(pick([&near], &ray, Some(&cut)), None);
        }
    }
}
