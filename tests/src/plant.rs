//! Planted chains: a chain of known parts and turns, and the gap that it bridges.

use crate::chain::{Problem, Step, is_bent};
use crate::frame::Frame;
use crate::parts::{bend, mating_port, offset, part, sized_end, straight_between};
use crate::rules::{broken_rule, can_be_aimed, exit_end, joins};
use crate::solids::is_clear;
use elbowroom::catalog::{BendDef, EndDef, Family, FittingDef, Gender, Thread};
use nalgebra::Vector3;
use rand::{
    Rng, SeedableRng,
    rngs::StdRng,
    seq::{IndexedRandom, SliceRandom},
};
use std::f64::consts::TAU;

/// A problem and a chain that solves it.
#[derive(Clone, Debug, PartialEq)]
pub struct Planted {
    /// The problem; its longest chain is as long as the planted one.
    pub problem: Problem,
    /// The chain.
    pub steps: Vec<Step>,
}

/// The usual closure allowances.
const CLOSURE_MM: f64 = 0.3;
const CLOSURE_DEG: f64 = 0.5;

/// How much more room than it must have a planted chain has, in millimetres: a solver that settles on another of
/// the turns within the closure allowance still finds it clear.
const SPARE_MM: f64 = 0.5;

/// Plants a chain of `length` parts among a catalog of `pool` parts. The same seed plants the same chain.
#[must_use]
pub fn plant(seed: u64, length: usize, pool: usize) -> Planted {
    let mut rng = StdRng::seed_from_u64(seed);
    loop {
        let fittings = invent_parts(&mut rng, pool, length);
        for _ in 0..20 {
            if let Some(planted) = try_plant(&mut rng, &fittings, length) {
                return planted;
            }
        }
    }
}

/// Plants a chain of so many bends and offsets, in any order, in a catalog of just these parts, which can all be aimed. The same
/// seed plants the same chain.
#[must_use]
pub fn plant_bends_and_offsets(seed: u64, bends: usize, offsets: usize) -> Planted {
    let mut rng = StdRng::seed_from_u64(seed);
    loop {
        let same_angle = rng.random_bool(0.3).then(|| angle(&mut rng));
        let fittings: Vec<FittingDef> = (0..bends + offsets)
            .map(|index| {
                let angle = same_angle.unwrap_or_else(|| angle(&mut rng));
                let id = format!("p{index}");
                let mut leg = || leg(&mut rng);
                if index < bends {
                    bend(&id, ['M', 'F'], angle, [leg(), leg()])
                } else {
                    offset(&id, ['M', 'F'], angle, [leg(), leg(), leg()])
                }
            })
            .collect();
        let mut order: Vec<usize> = (0..fittings.len()).collect();
        order.shuffle(&mut rng);
        let style = rng.random_range(0..5);
        let steps: Vec<Step> =
            order.into_iter().map(|part| Step { part, entry: 0, turn: turn(&mut rng, style), stretch: 0.0 }).collect();
        if can_be_aimed(&fittings, &steps)
            && let Some(planted) = hide(&mut rng, &fittings, steps)
        {
            return planted;
        }
    }
}

/// Plants a chain as [`plant`] does, which misses the second port by `share` of either allowance: of the distance and of the
/// angle. The same seed plants the same chain.
#[must_use]
pub fn plant_at_the_edge(seed: u64, length: usize, pool: usize, share: f64) -> Planted {
    let mut rng = StdRng::seed_from_u64(seed);
    loop {
        let Planted { mut problem, steps } = plant(rng.random(), length, pool);
        let Some(end) = problem.place(&steps).last().map(|placed| placed.exit) else { continue };
        problem.to.frame = put_off(&mut rng, &end, [share, share]).facing();
        let placed = problem.place(&steps);
        if is_clear(&problem, &steps, &placed, SPARE_MM) {
            return Planted { problem, steps };
        }
    }
}

/// The gap that a chain of these parts bridges exactly, from the origin along +z, with the usual allowances.
///
/// # Panics
/// When the parts do not make a chain.
#[must_use]
pub fn gap_for(fittings: Vec<FittingDef>, steps: &[Step], max_parts: usize) -> Problem {
    let from = Frame::looking(Vector3::zeros(), Vector3::z(), 0.0);
    let first = mating_port(&fittings[steps[0].part].ends[steps[0].entry], from);
    let mut problem = Problem {
        fittings,
        to: first.clone(),
        from: first,
        obstacles: Vec::new(),
        closure_mm: CLOSURE_MM,
        closure_deg: CLOSURE_DEG,
        clearance_mm: 1.0,
        max_parts,
    };
    let last = steps.len() - 1;
    let exit = problem.place(steps)[last].exit;
    problem.to = mating_port(exit_end(&problem, &steps[last]), exit.facing());
    assert_eq!(broken_rule(&problem, steps), None, "{}", problem.describe(steps));
    problem
}

/// Invents parts with ids `p0`, `p1`, …; adjustable ones only where chains are short.
#[must_use]
pub fn invent_parts(rng: &mut StdRng, count: usize, length: usize) -> Vec<FittingDef> {
    let same_angle = rng.random_bool(0.3).then(|| angle(rng));
    (0..count).map(|index| invent_part(rng, &format!("p{index}"), length <= 4, same_angle)).collect()
}

fn invent_part(rng: &mut StdRng, id: &str, adjustable: bool, same_angle: Option<f64>) -> FittingDef {
    let (male, female) = (Gender::Male, Gender::Female);
    let genders = match rng.random_range(0..10) {
        0 => [male, male],
        1 => [female, female],
        _ => [male, female],
    };
    let kind = rng.random_range(0..100);
    let often = if kind < 30 { 0.3 } else { 0.75 };
    let mut ends: [EndDef; 2] = genders.map(|gender| sized_end(Thread::G14, gender, rng.random_bool(often)));
    let own_angle = same_angle.unwrap_or_else(|| angle(rng));
    match kind {
        30..80 => {
            let legs = [leg(rng), leg(rng)];
            part(id, Family::Bend, ends, &legs, &[BendDef { angle_deg: own_angle, roll_deg: 0.0 }])
        }
        80..90 => {
            let roll_deg = *[180.0, 180.0, 0.0, 90.0, 37.0].choose(rng).unwrap_or(&180.0);
            let bends = [BendDef { angle_deg: own_angle, roll_deg: 0.0 }, BendDef { angle_deg: own_angle, roll_deg }];
            part(id, Family::Offset, ends, &[leg(rng), leg(rng), leg(rng)], &bends)
        }
        90..95 if adjustable => {
            let stretch_mm = Some(f64::from(rng.random_range(2..12)));
            FittingDef { stretch_mm, ..part(id, Family::Link, ends, &[leg(rng)], &[]) }
        }
        95..100 => {
            ends[1].thread = Thread::G38;
            part(id, Family::Reducer, ends, &[leg(rng)], &[])
        }
        _ => straight_between(id, ends, leg(rng)),
    }
}

fn angle(rng: &mut StdRng) -> f64 {
    if rng.random_bool(0.9) {
        *[30.0, 45.0, 60.0, 90.0, 90.0].choose(rng).unwrap_or(&90.0)
    } else {
        rng.random_range(10.0..120.0)
    }
}

fn leg(rng: &mut StdRng) -> f64 {
    if rng.random_bool(0.7) { 5.0 * f64::from(rng.random_range(2..6)) } else { rng.random_range(9.0..28.0) }
}

fn try_plant(rng: &mut StdRng, fittings: &[FittingDef], length: usize) -> Option<Planted> {
    let steps = walk(rng, fittings, length)?;
    hide(rng, fittings, steps)
}

/// The gap that these parts bridge, somewhere in space; `None` where they get in each other's way.
fn hide(rng: &mut StdRng, fittings: &[FittingDef], steps: Vec<Step>) -> Option<Planted> {
    let from = if rng.random_bool(0.5) {
        let axes = [Vector3::x(), Vector3::y(), Vector3::z(), -Vector3::x(), -Vector3::y(), -Vector3::z()];
        let axis = *axes.choose(rng)?;
        Frame::looking(Vector3::new(10.0, -20.0, 30.0), axis, 0.0)
    } else {
        let at = Vector3::from_fn(|_, _| rng.random_range(-100.0..100.0));
        Frame::looking(at, Vector3::from_fn(|_, _| rng.random_range(-1.0..1.0)), rng.random_range(0.0..TAU))
    };
    let mut problem = gap_for(fittings.to_vec(), &steps, steps.len());
    problem.from.frame = from;
    let exit = problem.place(&steps).last()?.exit;
    let roll = if rng.random_bool(0.5) { 0.0 } else { rng.random_range(0.0..TAU) };
    let misplaced = if rng.random_bool(0.25) { misplace(rng, &exit) } else { exit };
    problem.to = mating_port(exit_end(&problem, steps.last()?), misplaced.facing().turn(roll));
    let placed = problem.place(&steps);
    let apart = (problem.to.frame.at - problem.from.frame.at).norm() > 1.0;
    (apart && is_clear(&problem, &steps, &placed, SPARE_MM)).then_some(Planted { problem, steps })
}

/// Moves and tilts an end by less than the allowances, both taken together.
fn misplace(rng: &mut StdRng, end: &Frame) -> Frame {
    let mut any = || Vector3::<f64>::from_fn(|_, _| rng.random_range(-1.0..1.0)).normalize();
    let (shift, about) = (any(), any());
    let share = rng.random_range(0.0..TAU / 4.0);
    let tilt = nalgebra::Rotation3::from_scaled_axis(about * (CLOSURE_DEG * 0.95 * share.sin()).to_radians());
    Frame { at: end.at + shift * (CLOSURE_MM * 0.95 * share.cos()), axes: tilt.matrix() * end.axes }
}

/// Moves and tilts an end by these shares of the allowances, each in any direction.
fn put_off(rng: &mut StdRng, end: &Frame, [shift, tilt]: [f64; 2]) -> Frame {
    let mut any = || Vector3::<f64>::from_fn(|_, _| rng.random_range(-1.0..1.0)).normalize();
    let (towards, about) = (any(), end.z().cross(&any()).normalize());
    let tilt = nalgebra::Rotation3::from_scaled_axis(about * (CLOSURE_DEG * tilt).to_radians());
    Frame { at: end.at + towards * (CLOSURE_MM * shift), axes: tilt.matrix() * end.axes }
}

/// A chain that threads and swivels allow, from whichever end it likes.
fn walk(rng: &mut StdRng, fittings: &[FittingDef], length: usize) -> Option<Vec<Step>> {
    let style = rng.random_range(0..5);
    for _ in 0..60 {
        let mut steps: Vec<Step> = Vec::with_capacity(length);
        while steps.len() < length {
            let fits = |part: usize, entry: usize| {
                steps
                    .last()
                    .is_none_or(|last| joins(&fittings[last.part].ends[1 - last.entry], &fittings[part].ends[entry]))
            };
            let choices: Vec<(usize, usize)> = (0..fittings.len())
                .flat_map(|part| [(part, 0), (part, 1)])
                .filter(|&(part, entry)| fits(part, entry))
                .collect();
            let Some(&(part, entry)) = choices.choose(rng) else { break };
            let turn = if is_bent(&fittings[part]) { turn(rng, style) } else { 0.0 };
            let stretch = match fittings[part].stretch_mm {
                Some(most) if rng.random_bool(0.3) => *[0.0, most].choose(rng)?,
                Some(most) => rng.random_range(0.0..most),
                None => 0.0,
            };
            steps.push(Step { part, entry, turn, stretch });
        }
        if steps.len() == length && can_be_aimed(fittings, &steps) {
            return Some(steps);
        }
    }
    None
}

/// Turns of one style: in one plane, at right angles, by eighths, all but degenerate, or any.
fn turn(rng: &mut StdRng, style: u32) -> f64 {
    match style {
        0 => f64::from(rng.random_range(0..2)) * TAU / 2.0,
        1 => f64::from(rng.random_range(0..4)) * TAU / 4.0,
        2 => f64::from(rng.random_range(0..8)) * TAU / 8.0,
        3 => f64::from(rng.random_range(0..4)) * TAU / 4.0 + 10_f64.powi(-rng.random_range(2..10)),
        _ => rng.random_range(0.0..TAU),
    }
}
