//! Boxes that leave a chain in one posture just room enough, and other postures of it none.

use crate::chain::{Obstacle, Placed, Problem, Step};
use crate::frame::Frame;
use crate::postures::{Linkage, Turns};
use crate::solids::{ChainSolid, Solid, chain_solids, clearances_at_least};
use elbowroom::geometry::Shape;
use nalgebra::Vector3;
use rand::{Rng, rngs::StdRng, seq::IndexedRandom};
use std::f64::consts::TAU;

/// How boxes are to be placed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowding {
    /// Most boxes that block other postures.
    pub most: usize,
    /// How much more room than it must have the planted posture keeps, least and most, in millimetres.
    pub spare_mm: [f64; 2],
}

/// Tries to place one box.
const TRIES: usize = 12;

/// Blocks as many of `others` as it can with boxes that the chain as planted clears by the allowance and what
/// `crowding` spares. Returns how many of `others` are still open.
pub fn crowd(problem: &mut Problem, planted: &[Step], others: &[Turns], rng: &mut StdRng, crowding: Crowding) -> usize {
    let solids = solids_of(problem, planted);
    let linkage = Linkage::new(problem, planted);
    let bodies: Vec<Vec<ChainSolid>> = others.iter().map(|turns| solids_of(problem, &linkage.steps(turns))).collect();
    let clearance = problem.clearance_mm;
    let mut open: Vec<usize> = (0..others.len()).collect();
    for (near, far) in (0..2).flat_map(|far| (0..crowding.most).map(move |near| (near, far))) {
        if open.is_empty() || problem.obstacles.len() >= crowding.most {
            break;
        }
        for _ in 0..TRIES {
            // Those that come nearest to the planted posture are the first to be blocked, every other time.
            let nearest =
                open.iter().min_by(|&&a, &&b| moved(&solids, &bodies[a]).total_cmp(&moved(&solids, &bodies[b])));
            let pick = if (near + far) % 2 == 0 { nearest.copied() } else { open.choose(rng).copied() };
            let Some(pick) = pick else { break };
            let spare = spare(rng, crowding.spare_mm);
            let Some(solid) = place_box(&solids, &bodies[pick], clearance + spare, rng) else { continue };
            let still_open: Vec<usize> =
                open.iter().copied().filter(|&index| !is_blocked(&bodies[index], &solid, clearance)).collect();
            if still_open.len() == open.len() {
                continue;
            }
            open = still_open;
            let name = format!("box-{}", problem.obstacles.len());
            problem.obstacles.push(Obstacle { name, shape: solid.shape, frame: solid.frame });
            break;
        }
    }
    open.len()
}

/// Whether the chain clears every body by `spare` more than it must, beyond doubt.
#[must_use]
pub fn clears_by(problem: &Problem, steps: &[Step], spare: f64) -> bool {
    let placed: Vec<Placed> = problem.place(steps);
    clearances_at_least(problem, steps, &placed) >= problem.clearance_mm + spare
}

fn solids_of(problem: &Problem, steps: &[Step]) -> Vec<ChainSolid> {
    chain_solids(problem, steps, &problem.place(steps))
}

/// How far the solids of one posture lie from those of another: the most that any centre moved.
fn moved(one: &[ChainSolid], other: &[ChainSolid]) -> f64 {
    one.iter().zip(other).map(|(a, b)| (a.solid.frame.at - b.solid.frame.at).norm()).fold(0.0, f64::max)
}

/// Spare room, mostly little.
fn spare(rng: &mut StdRng, [least, most]: [f64; 2]) -> f64 {
    let share: f64 = rng.random_range(0.0..1.0);
    least * (most / least).powf(share * share)
}

fn is_blocked(solids: &[ChainSolid], body: &Solid, clearance: f64) -> bool {
    solids.iter().any(|each| each.solid.is_nearer_than(body, clearance - 1e-3))
}

/// A box in the way of the chain where `there` has it, at a distance of `apart` from where `here` has it.
fn place_box(here: &[ChainSolid], there: &[ChainSolid], apart: f64, rng: &mut StdRng) -> Option<Solid> {
    // The solid that moves most, or any.
    let index = if rng.random_bool(0.5) {
        let by = |index: usize| (here[index].solid.frame.at - there[index].solid.frame.at).norm();
        (0..here.len()).max_by(|&a, &b| by(a).total_cmp(&by(b)))?
    } else {
        rng.random_range(0..here.len())
    };
    let (one, other) = (&here[index].solid, &there[index].solid);
    let reach = one.radius();
    let local = Vector3::from_fn(|_, _| rng.random_range(-reach..reach));
    let local = one.frame.axes.tr_mul(&(one.nearest(&one.frame.point(local)) - one.frame.at));
    let (from, to) = (one.frame.point(local), other.frame.point(local));
    let way = to - from;
    let wobble = Vector3::from_fn(|_, _| rng.random_range(-0.4..0.4));
    let towards = (way.try_normalize(1e-4)? + wobble).try_normalize(1e-3)?;
    let mut edge = || 2.0 * 15.0_f64.powf(rng.random_range(0.0..1.0));
    let size = [edge(), edge(), edge()];
    let roll = rng.random_range(0.0..TAU);
    let axis = if rng.random_bool(0.5) { towards } else { Vector3::from_fn(|_, _| rng.random_range(-1.0..1.0)) };
    let turned = Frame::looking(Vector3::zeros(), axis.try_normalize(1e-3)?, roll);
    let mut solid = Solid { shape: Shape::Box { size }, frame: turned };
    let aim = to + Vector3::from_fn(|_, _| rng.random_range(-2.0..2.0));
    // It comes from afar and stops before it is nearer than it may be; a step as long as the distance that is left
    // never goes too far.
    let mut at = 150.0;
    for _ in 0..200 {
        solid.frame.at = aim + towards * at;
        let left = here.iter().map(|each| room(&each.solid, &solid)).fold(f64::INFINITY, f64::min) - apart;
        if left < 1e-4 {
            return (left > 0.0).then_some(solid);
        }
        at -= left - 5e-5;
        if at < -150.0 {
            return None;
        }
    }
    None
}

/// How far two solids are apart at least.
fn room(one: &Solid, other: &Solid) -> f64 {
    let balls = (one.frame.at - other.frame.at).norm() - one.radius() - other.radius();
    if balls > 5.0 { balls } else { one.distance_between(other)[0].max(balls) }
}
