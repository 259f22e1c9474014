//! Distances between solids by projecting to and fro, and the rule of what a chain may touch.
//!
//! Going back and forth between the nearest points of two convex bodies comes ever closer to their distance from
//! above (von Neumann's alternating projections; Cheney and Goldstein 1959); the plane square to the way between two such
//! points bounds it from below. It needs no more than how far each shape reaches along a direction and the nearest
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
        self.distance_between(other)[1]
    }

    /// The distance to another solid as an interval: it is no less than the first figure, by a plane between the two,
    /// and no more than the second, by a pair of points.
    ///
    /// Going to and fro alone takes tens of thousands of turns between faces that are all but parallel; momentum with
    /// restarts (Nesterov 1983; O'Donoghue and Candès 2015) takes some dozens.
    #[must_use]
    pub fn distance_between(&self, other: &Self) -> [f64; 2] {
        self.bounded(other, |_| false)
    }

    /// Whether two solids certainly are nearer to each other than `limit`. Says no when in doubt.
    #[must_use]
    pub fn is_nearer_than(&self, other: &Self, limit: f64) -> bool {
        let balls = (self.frame.at - other.frame.at).norm() - self.radius() - other.radius();
        balls < limit && self.bounded(other, |[least, most]| *least >= limit || *most < limit)[1] < limit
    }

    /// Bounds of the distance, as close as they get or until they are `enough`.
    fn bounded(&self, other: &Self, enough: impl Fn(&[f64; 2]) -> bool) -> [f64; 2] {
        let mut mine = self.nearest(&other.frame.at);
        let (mut ahead, mut momentum) = (mine, 1.0_f64);
        let mut bounds = [0.0_f64, f64::INFINITY];
        let mut still = 0;
        for _ in 0..MOST_PROJECTIONS {
            let theirs = other.nearest(&ahead);
            let next = self.nearest(&theirs);
            let apart = theirs - next;
            let distance = apart.norm();
            bounds[1] = bounds[1].min(distance);
            if distance < 1e-9 {
                return [0.0, bounds[1]];
            }
            let normal = apart / distance;
            bounds[0] = bounds[0].max(-other.farthest_along(&-normal) - self.farthest_along(&normal));
            if bounds[1] - bounds[0] < 1e-10 || enough(&bounds) {
                break;
            }
            let went = next - mine;
            still = if went.norm() < 1e-13 { still + 1 } else { 0 };
            if still > 2 {
                break;
            }
            if (ahead - next).dot(&went) > 0.0 {
                momentum = 1.0;
            }
            let larger = f64::midpoint(1.0, (1.0 + 4.0 * momentum * momentum).sqrt());
            ahead = next + went * ((momentum - 1.0) / larger);
            (mine, momentum) = (next, larger);
        }
        bounds
    }

    /// How far the solid reaches along a direction of length one, measured from the origin.
    #[must_use]
    pub fn farthest_along(&self, direction: &Vector3<f64>) -> f64 {
        let local = self.frame.axes.tr_mul(direction);
        let from_centre = match &self.shape {
            Shape::Box { size } => (0..3).map(|axis| local[axis].abs() * size[axis] / 2.0).sum(),
            Shape::Cylinder { diameter, length } => {
                local.x.hypot(local.y) * diameter / 2.0 + local.z.abs() * length / 2.0
            }
            Shape::Sphere { diameter } => diameter / 2.0,
            Shape::Capsule { diameter, length } => diameter / 2.0 + local.z.abs() * length / 2.0,
            Shape::Hull { .. } => unreachable!("the oracles invent no hulls"),
        };
        direction.dot(&self.frame.at) + from_centre
    }

    /// The radius of a ball around the solid's centre that holds all of it.
    #[must_use]
    pub fn radius(&self) -> f64 {
        match &self.shape {
            Shape::Box { size } => Vector3::from(*size).norm() / 2.0,
            Shape::Cylinder { diameter, length } => diameter.hypot(*length) / 2.0,
            Shape::Sphere { diameter } => diameter / 2.0,
            Shape::Capsule { diameter, length } => (diameter + length) / 2.0,
            Shape::Hull { .. } => unreachable!("the oracles invent no hulls"),
        }
    }

    /// Whether the two overlap by more than `depth`: even with a skin of that thickness taken off one of them
    /// they still meet. Says no when in doubt.
    #[must_use]
    pub fn overlaps_deeper(&self, other: &Self, depth: f64) -> bool {
        let peeled = |solid: &Self| Self { shape: peel(&solid.shape, depth), frame: solid.frame };
        peeled(self).is_nearer_than(other, 1e-7) || self.is_nearer_than(&peeled(other), 1e-7)
    }
}

/// The disc that stands for a port's component.
#[must_use]
pub fn disc(port: &Port) -> Solid {
    Solid {
        shape: Shape::Cylinder { diameter: port.disc_mm, length: DISC_THICKNESS_MM },
        frame: port.frame.advance(-port.disc_behind_mm - DISC_THICKNESS_MM / 2.0),
    }
}

/// Whether the disc of a port is what a chain is screwed to.
fn carries_the_seat(port: &Port) -> bool {
    port.disc_behind_mm.abs() < 1e-9
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
    bodies(problem)
        .into_iter()
        .enumerate()
        .map(|(index, (name, body))| {
            let mut nearest = (f64::INFINITY, name, 0);
            for each in &solids {
                let excused = is_excused(problem, steps, index, each);
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

/// A distance that the chain certainly keeps from every body, the ports' included; 0 when it may touch one.
#[must_use]
pub fn clearances_at_least(problem: &Problem, steps: &[Step], placed: &[Placed]) -> f64 {
    let bodies = bodies(problem);
    let solids = chain_solids(problem, steps, placed);
    let mut least = f64::INFINITY;
    for each in &solids {
        for (index, (_, body)) in bodies.iter().enumerate() {
            if is_excused(problem, steps, index, each) {
                continue;
            }
            let balls = (each.solid.frame.at - body.frame.at).norm() - each.solid.radius() - body.radius();
            // Bodies farther off than the nearest so far need no second look.
            if balls < least {
                let bounds = each.solid.bounded(body, |bounds| bounds[0] >= least);
                least = least.min(balls.max(bounds[0]));
            }
        }
    }
    least
}

/// The bodies around a chain by name: first the discs of the ports, `a` and `b`.
fn bodies(problem: &Problem) -> Vec<(String, Solid)> {
    let discs = [("a".to_owned(), disc(&problem.from)), ("b".to_owned(), disc(&problem.to))];
    let others = problem.obstacles.iter().map(|o| (o.name.clone(), Solid { shape: o.shape.clone(), frame: o.frame }));
    discs.into_iter().chain(others).collect()
}

/// Whether a solid of the chain may touch the body of that index because it is screwed to it.
fn is_excused(problem: &Problem, steps: &[Step], body: usize, solid: &ChainSolid) -> bool {
    match body {
        0 => carries_the_seat(&problem.from) && around_first_run(problem, steps, solid),
        1 => carries_the_seat(&problem.to) && around_last_run(problem, steps, solid),
        _ => false,
    }
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
                a.solid.is_nearer_than(&b.solid, 0.05)
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

    /// A bar that leans by 1e-4 over a board: the bounds meet, at the bar's lower rim by hand.
    #[test]
    fn a_bar_all_but_parallel_to_a_board_stands_as_far_off_as_by_hand() {
        let lean = 1e-4_f64;
        let bar = bar([0.0, 0.0, 5.0], [lean.cos(), 0.0, lean.sin()]);
        let board = Solid { shape: Shape::Box { size: [200.0, 200.0, 2.0] }, frame: Frame::world() };
        let expected = 5.0 - 10.0 * lean.sin() - 2.0 * lean.cos() - 1.0;
        let [least, most] = bar.distance_between(&board);
        assert!((least - expected).abs() < 1e-8 && (most - expected).abs() < 1e-8, "{least} to {most}, {expected}");
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
