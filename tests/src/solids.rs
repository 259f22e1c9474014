//! Distances between solids by projecting to and fro, and the rule of what a chain may touch.
//!
//! Going back and forth between the nearest points of two convex bodies comes ever closer to their distance from
//! above (von Neumann's alternating projections; Cheney and Goldstein 1959). It needs no more than the nearest
//! point of each shape, which has a closed form, and shares nothing with a collision library.

use crate::chain::{DISC_THICKNESS_MM, Placed, Port, Problem, Step, is_bent};
use crate::frame::Frame;
use elbowroom::catalog::{FittingDef, PartSolid};
use elbowroom::geometry::Shape;
use nalgebra::Vector3;

/// A shape in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    /// The shape.
    pub shape: Shape,
    /// Where its centre sits and which way its `z` points.
    pub frame: Frame,
}

/// A solid of a chain.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainSolid {
    /// Index of the part in the chain.
    pub part: usize,
    /// The solid.
    pub solid: Solid,
    /// The leg it is around, if it is around one.
    pub leg: Option<usize>,
}

/// Most times to go to and fro.
const MOST_PROJECTIONS: usize = 20_000;

/// Depth to which two parts of a chain may be in one place, in millimetres.
pub const SELF_OVERLAP_MM: f64 = 0.01;

impl Solid {
    /// The point of the solid nearest to `point`.
    #[must_use]
    pub fn nearest(&self, point: &Vector3<f64>) -> Vector3<f64> {
        let local = self.frame.axes.tr_mul(&(point - self.frame.at));
        self.frame.point(nearest_local(&self.shape, local))
    }

    /// The distance to another solid, never too small; 0 when they share a point.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        let mut mine = self.nearest(&other.frame.at);
        let mut distance = f64::INFINITY;
        for _ in 0..MOST_PROJECTIONS {
            let theirs = other.nearest(&mine);
            let next = self.nearest(&theirs);
            let moved = (next - mine).norm();
            mine = next;
            distance = (theirs - mine).norm();
            if moved < 1e-10 || distance < 1e-9 {
                break;
            }
        }
        distance
    }

    /// Whether the two overlap by more than `depth`: even with a skin of that thickness taken off one of them
    /// they still meet. Says no when in doubt.
    #[must_use]
    pub fn overlaps_deeper(&self, other: &Self, depth: f64) -> bool {
        let peeled = |solid: &Self| Self { shape: peel(&solid.shape, depth), frame: solid.frame };
        peeled(self).distance(other) < 1e-7 || self.distance(&peeled(other)) < 1e-7
    }
}

/// The disc that stands for a port's component.
#[must_use]
pub fn disc(port: &Port) -> Solid {
    Solid {
        shape: Shape::Cylinder { diameter: port.disc_mm, length: DISC_THICKNESS_MM },
        frame: port.frame.advance(-DISC_THICKNESS_MM / 2.0),
    }
}

/// The solids of every part of a chain, in place.
#[must_use]
pub fn chain_solids(problem: &Problem, steps: &[Step], placed: &[Placed]) -> Vec<ChainSolid> {
    let mut solids = Vec::new();
    for (index, (step, at)) in steps.iter().zip(placed).enumerate() {
        solids.extend(part_solids(&problem.fittings[step.part], step.stretch).into_iter().map(|(local, leg)| {
            ChainSolid { part: index, solid: Solid { frame: at.pose.then(&local.frame), ..local }, leg }
        }));
    }
    solids
}

/// The smallest distance of a chain to each body it comes near: `(distance, body, part)` for every body, bodies
/// named `a` and `b` for the two ports' components. Infinite where everything is excused.
#[must_use]
pub fn clearances(problem: &Problem, steps: &[Step], placed: &[Placed]) -> Vec<(f64, String, usize)> {
    let solids = chain_solids(problem, steps, placed);
    let bodies = [("a".to_owned(), disc(&problem.from)), ("b".to_owned(), disc(&problem.to))]
        .into_iter()
        .chain(problem.obstacles.iter().map(|o| (o.name.clone(), Solid { shape: o.shape.clone(), frame: o.frame })));
    bodies
        .enumerate()
        .map(|(index, (name, body))| {
            let mut nearest = (f64::INFINITY, name, 0);
            for each in &solids {
                let excused = match index {
                    0 => around_first_run(problem, steps, each),
                    1 => around_last_run(problem, steps, each),
                    _ => false,
                };
                let distance = if excused { f64::INFINITY } else { each.solid.distance(&body) };
                if distance < nearest.0 {
                    nearest.0 = distance;
                    nearest.2 = each.part;
                }
            }
            nearest
        })
        .collect()
}

/// Two different parts of the chain that are in one place, if any: clearly so, or, with `strict`, by the
/// slightest touch.
#[must_use]
pub fn self_overlap(problem: &Problem, steps: &[Step], placed: &[Placed], strict: bool) -> Option<(usize, usize)> {
    let solids = chain_solids(problem, steps, placed);
    for (index, a) in solids.iter().enumerate() {
        for b in &solids[index + 1..] {
            if a.part == b.part || share_a_seat(problem, steps, a, b) {
                continue;
            }
            let overlap = if strict {
                a.solid.distance(&b.solid) < 0.05
            } else {
                a.solid.overlaps_deeper(&b.solid, SELF_OVERLAP_MM + 0.005)
            };
            if overlap {
                return Some((a.part, b.part));
            }
        }
    }
    None
}

/// Whether a chain clears everything by `margin` more than it must, itself included.
#[must_use]
pub fn is_clear(problem: &Problem, steps: &[Step], placed: &[Placed], margin: f64) -> bool {
    clearances(problem, steps, placed).iter().all(|each| each.0 >= problem.clearance_mm + margin)
        && self_overlap(problem, steps, placed, true).is_none()
}

/// The solids of a part in its own frame, and the leg that each is around.
fn part_solids(def: &FittingDef, stretch: f64) -> Vec<(Solid, Option<usize>)> {
    let mut starts = vec![Frame::world()];
    for (index, bend) in def.bends.iter().enumerate() {
        let corner = starts[index].advance(leg_length(def, index, stretch));
        starts.push(corner.turn(bend.roll_deg.to_radians()).bend(bend.angle_deg.to_radians()));
    }
    def.solids
        .iter()
        .map(|solid| match solid {
            PartSolid::Sleeve { leg, from, to, diameter } => {
                let to = to.unwrap_or_else(|| leg_length(def, *leg, stretch));
                let shape = Shape::Cylinder { diameter: *diameter, length: to - from };
                (Solid { shape, frame: starts[*leg].advance(f64::midpoint(*from, to)) }, Some(*leg))
            }
            PartSolid::Knuckle { bend, diameter } => {
                (Solid { shape: Shape::Sphere { diameter: *diameter }, frame: starts[bend + 1] }, None)
            }
            PartSolid::Free(own) => {
                let frame = Frame::looking(Vector3::from(own.at), own.facing.direction().into_inner(), 0.0);
                (Solid { shape: own.shape.clone(), frame }, None)
            }
        })
        .collect()
}

fn leg_length(def: &FittingDef, leg: usize, stretch: f64) -> f64 {
    def.legs[leg] + if leg == 0 { stretch } else { 0.0 }
}

/// The leg of a part that an end sits on.
fn leg_of_end(def: &FittingDef, end: usize) -> usize {
    if end == 0 { 0 } else { def.legs.len() - 1 }
}

fn around_first_run(problem: &Problem, steps: &[Step], solid: &ChainSolid) -> bool {
    let part = |index: usize| &problem.fittings[steps[index].part];
    (0..solid.part).all(|index| !is_bent(part(index)))
        && solid.leg == Some(leg_of_end(part(solid.part), steps[solid.part].entry))
}

fn around_last_run(problem: &Problem, steps: &[Step], solid: &ChainSolid) -> bool {
    let part = |index: usize| &problem.fittings[steps[index].part];
    (solid.part + 1..steps.len()).all(|index| !is_bent(part(index)))
        && solid.leg == Some(leg_of_end(part(solid.part), 1 - steps[solid.part].entry))
}

/// Whether two solids, the first of the earlier part, meet at the seat between two parts that follow each other.
fn share_a_seat(problem: &Problem, steps: &[Step], a: &ChainSolid, b: &ChainSolid) -> bool {
    let part = |index: usize| &problem.fittings[steps[index].part];
    b.part == a.part + 1
        && a.leg == Some(leg_of_end(part(a.part), 1 - steps[a.part].entry))
        && b.leg == Some(leg_of_end(part(b.part), steps[b.part].entry))
}

fn nearest_local(shape: &Shape, p: Vector3<f64>) -> Vector3<f64> {
    match shape {
        Shape::Box { size } => {
            let half = Vector3::from(*size) / 2.0;
            Vector3::new(p.x.clamp(-half.x, half.x), p.y.clamp(-half.y, half.y), p.z.clamp(-half.z, half.z))
        }
        Shape::Cylinder { diameter, length } => {
            let radius = p.x.hypot(p.y);
            let scale = if radius > diameter / 2.0 { diameter / 2.0 / radius } else { 1.0 };
            Vector3::new(p.x * scale, p.y * scale, p.z.clamp(-length / 2.0, length / 2.0))
        }
        Shape::Sphere { diameter } => within_ball(Vector3::zeros(), diameter / 2.0, p),
        Shape::Capsule { diameter, length } => {
            within_ball(Vector3::new(0.0, 0.0, p.z.clamp(-length / 2.0, length / 2.0)), diameter / 2.0, p)
        }
        Shape::Hull { .. } => unreachable!("the oracles invent no hulls"),
    }
}

fn within_ball(centre: Vector3<f64>, radius: f64, p: Vector3<f64>) -> Vector3<f64> {
    let away = p - centre;
    let distance = away.norm();
    if distance > radius { centre + away * (radius / distance) } else { p }
}

/// The shape with a skin of thickness `depth` taken off.
fn peel(shape: &Shape, depth: f64) -> Shape {
    let less = |size: f64| (size - 2.0 * depth).max(0.0);
    match shape {
        Shape::Box { size } => Shape::Box { size: size.map(less) },
        Shape::Cylinder { diameter, length } => Shape::Cylinder { diameter: less(*diameter), length: less(*length) },
        Shape::Sphere { diameter } => Shape::Sphere { diameter: less(*diameter) },
        Shape::Capsule { diameter, length } => Shape::Capsule { diameter: less(*diameter), length: *length },
        Shape::Hull { .. } => unreachable!("the oracles invent no hulls"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(at: [f64; 3], axis: [f64; 3]) -> Solid {
        Solid {
            shape: Shape::Cylinder { diameter: 4.0, length: 20.0 },
            frame: Frame::looking(Vector3::from(at), Vector3::from(axis), 0.0),
        }
    }

    /// Hand-derived: axes 10 mm apart less two radii; end faces 3 mm apart; a corner against a flank.
    #[test]
    fn round_bars_stand_as_far_apart_as_by_hand() {
        let upright = bar([0.0; 3], [0.0, 0.0, 1.0]);
        let check = |other: Solid, expected: f64| {
            let found = upright.distance(&other);
            assert!((found - expected).abs() < 1e-6, "{other:?}: {found}, expected {expected}");
        };
        check(bar([10.0, 0.0, 0.0], [0.0, 1.0, 0.0]), 6.0);
        check(bar([10.0, 0.0, 3.0], [0.0, 0.0, 1.0]), 6.0);
        check(bar([0.0, 0.0, 23.0], [0.0, 0.0, 1.0]), 3.0);
        check(bar([7.0, 0.0, 24.0], [0.0, 0.0, 1.0]), 5.0);
        check(bar([1.0, 0.0, 5.0], [0.0, 1.0, 0.0]), 0.0);
    }

    #[test]
    fn only_overlap_deeper_than_asked_counts() {
        let upright = bar([0.0; 3], [0.0, 0.0, 1.0]);
        let across = bar([3.9, 0.0, 0.0], [0.0, 1.0, 0.0]);
        assert!(upright.overlaps_deeper(&across, 0.09));
        assert!(!upright.overlaps_deeper(&across, 0.11));
        assert!(!upright.overlaps_deeper(&bar([4.0, 0.0, 0.0], [0.0, 1.0, 0.0]), 0.01));
    }
}
