//! All solids that a chain may run into, arranged so that the few near ones are found without asking the rest.

use super::frame::Vector;
use super::separation::{Separation, closer_than, or_endless, separation, separation_within};
use super::solid::{Bounds, Solid};
use parry3d::bounding_volume::Aabb;
use parry3d::partitioning::{Bvh, BvhBuildStrategy, BvhNode};
use std::cell::Cell;

/// A solid of a [`Scene`], by its place in the list that the scene was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SolidId(pub u32);

/// A fixed set of solids.
///
/// Queries take a `skip` that names solids to leave out, such as the component that a chain is screwed to, and a distance;
/// one that is not a number is endless. They look only at solids whose [`Bounds`] come near; the answers are those of a
/// plain loop over all solids.
#[derive(Clone, Debug)]
pub struct Scene {
    solids: Vec<Solid>,
    tree: Bvh,
}

impl Scene {
    /// Arranges `solids`; [`SolidId`] counts them from 0.
    #[must_use]
    pub fn new(solids: Vec<Solid>) -> Self {
        let leaves: Vec<Aabb> = solids.iter().map(|solid| aabb(&solid.bounds())).collect();
        let tree = Bvh::from_leaves(BvhBuildStrategy::Binned, &leaves);
        Self { solids, tree }
    }

    /// The solid, or `None` if the scene has none of that number.
    #[must_use]
    pub fn solid(&self, id: SolidId) -> Option<&Solid> {
        self.solids.get(id.0 as usize)
    }

    /// All solids in order of their number.
    #[must_use]
    pub fn solids(&self) -> &[Solid] {
        &self.solids
    }

    /// The solid with the least signed distance to `solid`, no farther than `horizon_mm`; among equals, the one with
    /// the lowest number. In the separation, the first solid is the query and the second the scene's.
    #[must_use]
    pub fn nearest(
        &self,
        solid: &Solid,
        horizon_mm: f64,
        skip: impl Fn(SolidId) -> bool,
    ) -> Option<(SolidId, Separation)> {
        let horizon_mm = or_endless(horizon_mm);
        let bounds = solid.bounds();
        let best: Cell<Option<(SolidId, Separation)>> = Cell::new(None);
        let horizon = || best.get().map_or(horizon_mm, |(_, separation)| separation.signed_mm);
        // The tree drops what is not strictly nearer than the best; one step up keeps equals in, for their numbers.
        self.tree.find_best(
            horizon_mm.next_up(),
            |node, _| signed_mm(node, &bounds),
            |leaf, _| {
                let id = SolidId(leaf);
                let other = self.solid(id).filter(|_| !skip(id))?;
                let found = separation_within(solid, other, horizon())?;
                let better = best.get().is_none_or(|(rival, least)| (found.signed_mm, id) < (least.signed_mm, rival));
                if better {
                    best.set(Some((id, found)));
                }
                Some(horizon().next_up())
            },
        );
        best.get()
    }

    /// The solid with the least signed distance to a point, no farther than `horizon_mm`, and that distance; among equals
    /// any one.
    pub(crate) fn nearest_to_point(&self, point: &Vector, horizon_mm: f64) -> Option<(SolidId, f64)> {
        let bounds = Bounds { min: (*point).into(), max: (*point).into() };
        let best: Cell<Option<(SolidId, f64)>> = Cell::new(None);
        self.tree.find_best(
            horizon_mm,
            |node, _| signed_mm(node, &bounds),
            |leaf, _| {
                let id = SolidId(leaf);
                let signed = self.solid(id)?.signed_mm(point);
                let nearer = signed < best.get().map_or(horizon_mm, |(_, least)| least);
                nearer.then(|| best.set(Some((id, signed))));
                Some(signed)
            },
        );
        best.get()
    }

    /// Some solid that comes nearer to `solid` than `clearance_mm`, always the same one for the same scene and query,
    /// and how it stands: the first solid is the query and the second the scene's.
    #[must_use]
    pub fn any_within(
        &self,
        solid: &Solid,
        clearance_mm: f64,
        skip: impl Fn(SolidId) -> bool,
    ) -> Option<(SolidId, Separation)> {
        let id = self.blocker(solid, clearance_mm, skip)?;
        Some((id, separation(solid, self.solid(id)?)))
    }

    /// The same solid as [`Scene::any_within`] finds, without measuring how it stands: an overlap is cheaper to prove
    /// than to measure.
    #[must_use]
    pub fn blocker(&self, solid: &Solid, clearance_mm: f64, skip: impl Fn(SolidId) -> bool) -> Option<SolidId> {
        let clearance_mm = or_endless(clearance_mm);
        let bounds = solid.bounds();
        // Cheaper than the distance of two boxes, and it lets through whatever that would.
        let near = |node: &BvhNode| {
            let (low, high) = (node.mins(), node.maxs());
            let apart = |axis: usize| (bounds.min[axis] - high[axis]).max(low[axis] - bounds.max[axis]);
            apart(0) < clearance_mm && apart(1) < clearance_mm && apart(2) < clearance_mm
        };
        self.tree
            .leaves(near)
            .map(SolidId)
            .find(|id| !skip(*id) && self.solid(*id).is_some_and(|other| closer_than(solid, other, clearance_mm)))
    }
}

fn aabb(bounds: &Bounds) -> Aabb {
    Aabb::new(bounds.min.coords.into(), bounds.max.coords.into())
}

fn signed_mm(node: &BvhNode, bounds: &Bounds) -> f64 {
    let node =
        Bounds { min: nalgebra::Vector3::from(node.mins()).into(), max: nalgebra::Vector3::from(node.maxs()).into() };
    node.signed_mm(bounds)
}
