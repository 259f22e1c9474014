//! From which side the chain is seen, and what still stands before it.

use super::{
    eye::Eye,
    palette::Tint,
    pick::{Ray, met_at},
};
use crate::scene::{Actor, Item, cast::bounds, facets::Cut};
use bevy::math::Vec3;
use std::collections::BTreeSet;
use std::f32::consts::{FRAC_PI_2, PI};

/// Places along the path of a chain are no farther apart than this, in millimetres: less than the thinnest part is long.
const STEP_MM: f32 = 8.0;
/// What lies nearer before a place than this is part of what is there, in millimetres.
const MARGIN_MM: f32 = 2.0;
/// A view from which at most this share of the chain is hidden is left as it is.
const LITTLE: f32 = 0.1;
/// Headings and heights that are tried, in steps of 15° and degrees over the horizon.
const HEADINGS: u16 = 24;
const HEIGHTS_DEG: [f32; 6] = [20.0, 35.0, 50.0, 65.0, 5.0, -25.0];
/// What a view costs beside the hidden share of the chain: for half a turn from where the eye is, for looking from below,
/// where machines are seldom seen from, and for looking along the chain.
const TURN_COST: f32 = 0.3;
const BELOW_COST: f32 = 0.3;
const ALONG_COST: f32 = 0.5;
/// Seen shorter than this share of its length, one looks along a chain.
const SHORT: f32 = 0.4;

/// The places that are to be seen: along the path of the chain that is looked at; where there is no chain, of what would
/// stand instead.
#[must_use]
pub fn places(actors: &[&Actor]) -> Vec<Vec3> {
    let paths = actors.iter().filter(|actor| actor.item == Item::Path);
    let along =
        paths.flat_map(|actor| actor.drawing.edges.iter().map(|edge| edge.map(|end| actor.pose.transform_point3(end))));
    let along: Vec<Vec3> = along
        .flat_map(|[from, to]| {
            let steps = (from.distance(to) / STEP_MM).ceil().max(1.0);
            (0..steps as usize).map(move |step| from.lerp(to, (step as f32 + 0.5) / steps))
        })
        .collect();
    if !along.is_empty() {
        return along;
    }
    let near = actors.iter().filter(|actor| matches!(actor.item, Item::Near(..)));
    near.filter_map(|actor| bounds([*actor])).map(|[low, high]| low.midpoint(high)).collect()
}

/// What stands between the eye and each of some places: everything that is not looked through.
#[must_use]
pub fn before(eye: &Eye, actors: &[&Actor], places: &[Vec3], cut: Option<&Cut>) -> Vec<BTreeSet<Item>> {
    let reach = reach(eye, actors);
    let bodies: Vec<&Actor> = actors.iter().copied().filter(|actor| hides(actor)).collect();
    let behind = |place: &Vec3| {
        let (ray, distance) = towards(eye, *place, reach);
        let met = bodies.iter().filter(|actor| met_at(actor, &ray, cut).is_some_and(|met| met < distance - MARGIN_MM));
        met.map(|actor| actor.item).collect()
    };
    places.iter().map(behind).collect()
}

/// Everything that stands before the chain that is looked at; a chain of another gap counts as a whole.
#[must_use]
pub fn in_front(eye: &Eye, actors: &[&Actor], cut: Option<&Cut>) -> BTreeSet<Item> {
    let all = before(eye, actors, &places(actors), cut).into_iter().flatten();
    all.map(|item| if let Item::Other(gap, ..) = item { Item::Other(gap, 0, 0) } else { item }).collect()
}

/// The eye turned to a side from which the places are seen, as near to where it is as it can be; as it is where they are
/// seen already, or from nowhere better.
#[must_use]
pub fn turned(eye: &Eye, actors: &[&Actor], places: &[Vec3], cut: Option<&Cut>) -> Eye {
    let hidden = |eye: &Eye| {
        let before = before(eye, actors, places, cut);
        before.iter().filter(|before| !before.is_empty()).count() as f32 / places.len().max(1) as f32
    };
    let along = |eye: &Eye| if seen_length(eye, places) < SHORT { ALONG_COST } else { 0.0 };
    let now = hidden(eye);
    if now <= LITTLE && along(eye) == 0.0 {
        return *eye;
    }
    let mut sides: Vec<(f32, Eye)> = (0..HEADINGS)
        .flat_map(|step| {
            let heading = f32::from(step) * 2.0 * PI / f32::from(HEADINGS) - PI;
            HEIGHTS_DEG.map(|height| Eye { heading, elevation: height.to_radians().min(FRAC_PI_2), ..*eye })
        })
        .map(|side| {
            let turn = side.axes()[2].angle_between(eye.axes()[2]) / PI;
            let below = if side.elevation < 0.0 { BELOW_COST } else { 0.0 };
            (turn * TURN_COST + below + along(&side), side)
        })
        .collect();
    sides.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best = (now + along(eye), *eye);
    for (cost, side) in sides {
        if cost >= best.0 {
            break;
        }
        let all = cost + hidden(&side);
        if all < best.0 {
            best = (all, side);
        }
    }
    best.1
}

/// Whether one cannot look through something that is no part of what is looked at. What is faded would hide it.
fn hides(actor: &Actor) -> bool {
    let looked_at = matches!(
        actor.item,
        Item::Part(_)
            | Item::Collar(..)
            | Item::Zero(_)
            | Item::Joint(_)
            | Item::Path
            | Item::Near(..)
            | Item::Moved(_)
            | Item::Lift(_)
    );
    !looked_at && !actor.look.ghost && !matches!(actor.look.tint, Tint::Sheet | Tint::Cover)
}

/// The greatest distance between two places on screen, as a share of that in space.
fn seen_length(eye: &Eye, places: &[Vec3]) -> f32 {
    let [_, _, out] = eye.axes();
    let (mut seen, mut long) = (0.0_f32, 0.0_f32);
    for (index, from) in places.iter().enumerate() {
        for to in &places[index + 1..] {
            let step = *to - *from;
            long = long.max(step.length());
            seen = seen.max((step - out * step.dot(out)).length());
        }
    }
    if long > 0.0 { seen / long } else { 1.0 }
}

/// Far enough from any target to be outside of everything.
fn reach(eye: &Eye, actors: &[&Actor]) -> f32 {
    let all = bounds(actors.iter().copied());
    all.map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low))
}

/// The ray from the eye to a place, and how far it is.
fn towards(eye: &Eye, place: Vec3, reach: f32) -> (Ray, f32) {
    let [_, _, out] = eye.axes();
    let from = if eye.parallel { place + out * reach } else { eye.target + out * eye.distance_mm() };
    let step = place - from;
    (Ray { from, along: step.normalize_or(-out) }, step.length())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::look::pick::tests::actor;
    use crate::scene::{
        Look,
        facets::{Drawing, Sketch},
    };
    use bevy::math::Affine3A;
    use elbowroom::geometry::Shape;
    use std::sync::Arc;

    /// A path of 60 mm along x.
    fn path() -> Actor {
        let edges = vec![[Vec3::NEG_X * 30.0, Vec3::X * 30.0]];
        Actor {
            item: Item::Path,
            name: String::new(),
            drawing: Arc::new(Sketch::new(Drawing { pieces: Vec::new(), edges })),
            pose: Affine3A::IDENTITY,
            look: Look::plain(Tint::Path),
        }
    }

    fn hidden(eye: &Eye, actors: &[&Actor]) -> usize {
        before(eye, actors, &places(actors), None).iter().filter(|before| !before.is_empty()).count()
    }

    #[test]
    fn the_eye_turns_to_a_side_from_which_the_path_is_seen() {
        let path = path();
        let wall = actor(Item::Body(1), &Shape::Box { size: [200.0, 10.0, 200.0] }, Vec3::new(0.0, -40.0, 0.0));
        let actors = [&path, &wall];
        assert_eq!(places(&actors).len(), 8);
        for parallel in [true, false] {
            let front = Eye { heading: 0.0, elevation: 0.2, parallel, ..Eye::default() };
            assert_eq!(hidden(&front, &actors), 8, "the wall stands before all of it");
            let turned = turned(&front, &actors, &places(&actors), None);
            assert_eq!(hidden(&turned, &actors), 0, "{turned:?}");
            assert!((turned.target, turned.span_mm) == (front.target, front.span_mm));
            let cut = Cut { normal: Vec3::NEG_Y, at_mm: 20.0 };
            assert_eq!(super::turned(&front, &actors, &places(&actors), Some(&cut)), front, "the wall is cut away");
            assert_eq!(super::turned(&turned, &actors, &places(&actors), None), turned, "it is seen already");
        }
    }

    #[test]
    fn along_the_path_is_no_view_of_it() {
        let path = path();
        let end_on = Eye { heading: FRAC_PI_2, elevation: 0.0, ..Eye::default() };
        let turned = turned(&end_on, &[&path], &places(&[&path]), None);
        assert!(seen_length(&turned, &places(&[&path])) >= SHORT, "{turned:?}");
    }

    #[test]
    fn what_hides_it_from_everywhere_is_named() {
        let path = path();
        let shell = actor(Item::Body(3), &Shape::Box { size: [100.0; 3] }, Vec3::ZERO);
        let actors = [&path, &shell];
        let turned = turned(&Eye::default(), &actors, &places(&actors), None);
        let before = before(&turned, &actors, &places(&actors), None);
        assert!(before.iter().all(|before| *before == BTreeSet::from([Item::Body(3)])), "{before:?}");
    }
}
