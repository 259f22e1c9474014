//! Reported chains, worked out again from the catalog and the ports alone.

use crate::ask::DESIGN_FLOW_L_MIN;
use crate::chain::{Problem, Step, end_frame, entry_map, is_bent, miss};
use crate::frame::Frame;
use crate::rules::broken_rule;
use crate::solids::{clearances, self_overlap};
use elbowroom::bridge::{Answer, CLEARANCE_HORIZON_MM, Chain, Completeness, passage};
use elbowroom::catalog::FittingDef;
use elbowroom::hydraulics::Coolant;
use std::f64::consts::TAU;

/// Rounding allowed in reported places, in millimetres.
const PLACE_MM: f64 = 1e-6;
/// Rounding allowed in reported directions, in degrees: an arc cosine near 1 loses half the digits.
const DIRECTION_DEG: f64 = 1e-5;
/// How closely distances must agree, in millimetres: what a contact routine was measured to be off by, and what
/// projecting to and fro may leave.
const DISTANCE_MM: f64 = 2e-3;

/// Differences in loss (kPa) and clearance (mm) below which chains rank as equal and their ids decide. Losses are whole
/// micropascals.
const LOSS_ROUNDING: f64 = 1e-8;

/// By which share a loss may be off the sum of its parts: each part is a whole number of micropascals.
const LOSS_SHARE: f64 = 1e-6;
const CLEARANCE_ROUNDING: f64 = 1e-6;

/// The parts of a chain in order: id and the end that faces the first port, which is given as 0 for parts that are
/// the same either way round.
pub type Key = Vec<(String, usize)>;

/// The key of a reported chain.
#[must_use]
pub fn key_of(problem: &Problem, chain: &Chain) -> Key {
    let entry = |id: &str, entry: usize| {
        let twofold = problem.fittings.iter().any(|def| def.id == id && is_same_either_way(def));
        if twofold { 0 } else { entry }
    };
    chain.parts.iter().map(|part| (part.fitting.clone(), entry(&part.fitting, part.entry))).collect()
}

/// The key of a chain of the oracles'.
#[must_use]
pub fn key_of_steps(problem: &Problem, steps: &[Step]) -> Key {
    let def = |step: &Step| &problem.fittings[step.part];
    let entry = |step: &Step| if is_same_either_way(def(step)) { 0 } else { step.entry };
    steps.iter().map(|step| (def(step).id.clone(), entry(step))).collect()
}

/// The key of the same chain seen from the other port.
#[must_use]
pub fn reversed(problem: &Problem, key: &Key) -> Key {
    let twofold = |id: &str| problem.fittings.iter().any(|def| def.id == id && is_same_either_way(def));
    key.iter().rev().map(|(id, entry)| (id.clone(), if twofold(id) { 0 } else { 1 - entry })).collect()
}

/// A key as text.
#[must_use]
pub fn spell(key: &Key) -> String {
    let words: Vec<String> =
        key.iter().map(|(id, entry)| format!("{id}{}", if *entry == 1 { "'" } else { "" })).collect();
    words.join(" ")
}

/// Everything that is wrong with an answer; the fewer lines the better.
#[must_use]
pub fn faults(problem: &Problem, answer: &Answer) -> Vec<String> {
    let mut faults = Vec::new();
    for chain in &answer.chains {
        let name = spell(&key_of(problem, chain));
        faults.extend(chain_faults(problem, chain).into_iter().map(|fault| format!("{name}: {fault}")));
    }
    faults.extend(order_faults(problem, answer));
    for (index, chain) in answer.chains.iter().enumerate() {
        let key = key_of(problem, chain);
        let mut others = answer.chains[..index].iter().filter(|other| key_of(problem, other) == key);
        if others.any(|other| is_same_posture(chain, other) || is_adjustable(problem, chain)) {
            faults.push(format!("listed twice: {}", spell(&key)));
        }
    }
    if let Completeness::Complete { parts } = answer.completeness
        && parts != problem.max_parts
    {
        faults.push(format!("complete to {parts} parts, {} were asked for", problem.max_parts));
    }
    faults
}

/// What is wrong with the order of an answer: entries by their first chains, and the chains of each one after the other.
fn order_faults(problem: &Problem, answer: &Answer) -> Vec<String> {
    let mut faults = Vec::new();
    let mut check = |before: &Chain, after: &Chain| {
        let (first, second) = (rank(before), rank(after));
        if is_worse(first, second) {
            faults.push(format!("out of order: {first:?} before {second:?}"));
        }
        if is_tied(first, second) && ids_either_way(before) > ids_either_way(after) {
            faults.push(format!("tied but out of order: {:?} before {:?}", ids(before), ids(after)));
        }
    };
    let entries: Vec<&[Chain]> =
        answer.chains.chunk_by(|one, other| entry_of(problem, one) == entry_of(problem, other)).collect();
    entries.windows(2).for_each(|pair| check(&pair[0][0], &pair[1][0]));
    entries.iter().flat_map(|entry| entry.windows(2)).for_each(|pair| check(&pair[0], &pair[1]));
    let mut names: Vec<_> = entries.iter().map(|entry| entry_of(problem, &entry[0])).collect();
    names.sort();
    faults.extend(names.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| format!("torn apart: {:?}", pair[0])));
    faults
}

/// What the chains of one entry have in common: their parts in no order, and what they are along the chain. Of a part that
/// bends that is its legs and bends, from whichever end comes first in writing; of a run of straight parts their lengths in
/// no order.
#[must_use]
pub fn entry_of(problem: &Problem, chain: &Chain) -> (Vec<String>, Vec<String>) {
    let mut along: Vec<String> = Vec::new();
    let mut run: Vec<String> = Vec::new();
    let close = |run: &mut Vec<String>, along: &mut Vec<String>| {
        run.sort();
        along.append(run);
    };
    for part in &chain.parts {
        let Some(def) = problem.fittings.iter().find(|def| def.id == part.fitting) else { continue };
        if !is_bent(def) {
            run.push(format!("{:?} {:?}", def.legs, def.stretch_mm));
            continue;
        }
        let written = |legs: Vec<f64>, angles: Vec<f64>, rolls: Vec<f64>| {
            format!("{legs:?} {angles:?} {rolls:?} {:?}", def.stretch_mm)
        };
        let legs = || def.legs.iter().copied();
        let angles = || def.bends.iter().map(|bend| bend.angle_deg);
        let rolls = || def.bends.iter().skip(1).map(|bend| bend.roll_deg);
        let forth = written(legs().collect(), angles().collect(), rolls().collect());
        let back = written(legs().rev().collect(), angles().rev().collect(), rolls().rev().collect());
        close(&mut run, &mut along);
        along.push(forth.min(back));
    }
    close(&mut run, &mut along);
    let mut names: Vec<String> = chain.parts.iter().map(|part| part.fitting.clone()).collect();
    names.sort();
    (names, along)
}

/// Whether two chains of the same parts stand in the same place as far as one can see.
fn is_same_posture(one: &Chain, other: &Chain) -> bool {
    one.parts.iter().zip(&other.parts).all(|(one, other)| {
        let (one, other) = (Frame::of(&one.pose), Frame::of(&other.pose));
        (one.at - other.at).norm() < 1.0 && (one.axes - other.axes).norm() < 0.05
    })
}

fn is_adjustable(problem: &Problem, chain: &Chain) -> bool {
    let can_be_drawn = |id: &str| problem.fittings.iter().any(|def| def.id == id && def.stretch_mm.is_some());
    chain.parts.iter().any(|part| can_be_drawn(&part.fitting))
}

/// Everything that is wrong with a reported chain.
#[must_use]
pub fn chain_faults(problem: &Problem, chain: &Chain) -> Vec<String> {
    let (steps, mut faults) = match retrace(problem, chain) {
        Ok(retraced) => retraced,
        Err(fault) => return vec![fault],
    };
    faults.extend(broken_rule(problem, &steps));
    faults.extend(residual_faults(problem, chain, &steps));
    let placed = problem.place(&steps);
    if let Some((a, b)) = self_overlap(problem, &steps, &placed, false) {
        faults.push(format!("parts {a} and {b} are in one place"));
    }
    faults.extend(clearance_fault(problem, chain, &steps));
    let length: f64 =
        steps.iter().map(|step| problem.fittings[step.part].legs.iter().sum::<f64>() + step.stretch).sum();
    if (length - chain.length_mm).abs() > PLACE_MM {
        faults.push(format!("centreline {} reported, {length} by hand", chain.length_mm));
    }
    let price: Option<f64> = steps.iter().map(|step| problem.fittings[step.part].price).sum();
    if !matches!((price, chain.price), (None, None))
        && !matches!((price, chain.price), (Some(a), Some(b)) if (a - b).abs() < 1e-9)
    {
        faults.push(format!("price {:?} reported, {price:?} by hand", chain.price));
    }
    let loss_kpa = loss_kpa(problem, &steps);
    if !((chain.loss_kpa - loss_kpa).abs() <= LOSS_SHARE * loss_kpa && loss_kpa > 0.0) {
        faults.push(format!("a loss of {} kPa reported, {loss_kpa} by adding up its parts", chain.loss_kpa));
    }
    faults
}

/// The losses of the parts one by one, forth and with links pushed in, as chains are ranked by: at the design flow of the
/// layouts that problems are asked in, in water at 25 °C.
fn loss_kpa(problem: &Problem, steps: &[Step]) -> f64 {
    let Ok(water) = Coolant::water(25.0) else { return f64::NAN };
    let part = |step: &Step| {
        let through = passage(&problem.fittings[step.part], 0, 0.0);
        through.map_or(f64::NAN, |passage| passage.loss_pa(DESIGN_FLOW_L_MIN / 60_000.0, &water) / 1e3)
    };
    steps.iter().map(part).sum()
}

/// The chain as steps of the oracles', its turns measured from the reported poses; and what is wrong with them.
///
/// # Errors
/// When parts are unknown or do not meet at their seats, so that there is no chain to look at.
pub fn retrace(problem: &Problem, chain: &Chain) -> Result<(Vec<Step>, Vec<String>), String> {
    let (mut steps, mut faults) = (Vec::new(), Vec::new());
    let mut here = problem.from.frame;
    for (index, part) in chain.parts.iter().enumerate() {
        let known = problem.fittings.iter().position(|def| def.id == part.fitting);
        let (Some(known), true) = (known, part.entry < 2) else {
            return Err(format!("part {index}: no {} by end {}", part.fitting, part.entry));
        };
        let def = &problem.fittings[known];
        let pose = Frame::of(&part.pose);
        let seated = here.inverse().then(&pose).then(&entry_map(def, part.entry, part.stretch_mm).inverse());
        if seated.at.norm() > PLACE_MM || (seated.z() - nalgebra::Vector3::z()).norm() > PLACE_MM {
            return Err(format!("part {index} is not seated: {} off, z {}", seated.at.norm(), seated.z()));
        }
        let turn = seated.axes[(1, 0)].atan2(seated.axes[(0, 0)]);
        match part.turn_deg {
            Some(turn_deg) if is_bent(def) => {
                let off = (turn_deg.to_radians() - turn + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
                if off.to_degrees().abs() > DIRECTION_DEG || !(0.0..360.0).contains(&turn_deg) {
                    faults.push(format!("part {index} turned by {turn_deg}, its pose says {}", turn.to_degrees()));
                }
            }
            None if !is_bent(def) => {}
            other => faults.push(format!("part {index} ({}) has turn {other:?}", def.id)),
        }
        steps.push(Step { part: known, entry: part.entry, turn, stretch: part.stretch_mm });
        here = pose.then(&end_frame(def, 1 - part.entry, part.stretch_mm));
    }
    Ok((steps, faults))
}

fn residual_faults(problem: &Problem, chain: &Chain, steps: &[Step]) -> Vec<String> {
    let mut faults = Vec::new();
    let end = problem.place(steps).last().map_or(problem.from.frame, |placed| placed.exit);
    let found = miss(&end, &problem.to.frame);
    if !problem.closes(&found) {
        faults.push(format!("does not close: {} mm, {} deg", found.mm, found.deg));
    }
    if (found.mm - chain.residual_mm).abs() > PLACE_MM {
        faults.push(format!("misses by {} mm, reported {}", found.mm, chain.residual_mm));
    }
    if (found.deg - chain.residual_deg).abs() > DIRECTION_DEG {
        faults.push(format!("misses by {} deg, reported {}", found.deg, chain.residual_deg));
    }
    let vector = nalgebra::Vector3::from(chain.residual_vector_mm);
    if (found.vector - vector).norm() > PLACE_MM {
        faults.push(format!("misses by {}, reported {vector}", found.vector));
    }
    faults
}

fn clearance_fault(problem: &Problem, chain: &Chain, steps: &[Step]) -> Option<String> {
    let all = clearances(problem, steps, &problem.place(steps));
    let least = all.iter().map(|each| each.0).fold(f64::INFINITY, f64::min);
    let Some(reported) = &chain.clearance else {
        return (least < CLEARANCE_HORIZON_MM - DISTANCE_MM).then(|| format!("clearance {least} not reported"));
    };
    if (reported.mm - least).abs() > DISTANCE_MM {
        return Some(format!("clearance {} to {} reported, {all:?} by hand", reported.mm, reported.body));
    }
    if reported.mm < problem.clearance_mm {
        return Some(format!("clearance {} is too small", reported.mm));
    }
    let Some((to_body, ..)) = all.iter().find(|each| each.1 == reported.body) else {
        return Some(format!("clearance to {}, which is no body around: {all:?}", reported.body));
    };
    if (to_body - reported.mm).abs() > DISTANCE_MM {
        return Some(format!("clearance {} is not to {} but {all:?}", reported.mm, reported.body));
    }
    let between = (nalgebra::Vector3::from(reported.on_chain) - nalgebra::Vector3::from(reported.on_body)).norm();
    ((between - reported.mm).abs() > DISTANCE_MM)
        .then(|| format!("clearance {} between points {between} apart", reported.mm))
}

/// Part count, loss, clearance with the largest first.
fn rank(chain: &Chain) -> Rank {
    (chain.parts.len(), chain.loss_kpa, -chain.clearance.as_ref().map_or(f64::INFINITY, |clearance| clearance.mm))
}

type Rank = (usize, f64, f64);

/// Whether the first rank is worse than the second by more than rounding.
fn is_worse(a: Rank, b: Rank) -> bool {
    let same_loss = (a.1 - b.1).abs() <= LOSS_ROUNDING;
    a.0 > b.0 || a.0 == b.0 && (a.1 > b.1 + LOSS_ROUNDING || same_loss && a.2 > b.2 + CLEARANCE_ROUNDING)
}

/// Whether two ranks differ by far less than rounding, so that only ids can decide.
fn is_tied(a: Rank, b: Rank) -> bool {
    let same = |x: f64, y: f64, rounding: f64| x.total_cmp(&y).is_eq() || (x - y).abs() < rounding * 1e-3;
    a.0 == b.0 && same(a.1, b.1, CLEARANCE_ROUNDING) && same(a.2, b.2, CLEARANCE_ROUNDING)
}

/// The ids read from whichever end comes first in the alphabet, as ties are broken.
fn ids_either_way(chain: &Chain) -> Vec<&str> {
    let forth = ids(chain);
    let back = forth.iter().rev().copied().collect();
    forth.min(back)
}

fn ids(chain: &Chain) -> Vec<&str> {
    chain.parts.iter().map(|part| part.fitting.as_str()).collect()
}

/// Whether a part built in the other way round is the same part.
fn is_same_either_way(def: &FittingDef) -> bool {
    let back_to_front = |numbers: &[f64]| numbers.iter().rev().eq(numbers);
    let angles: Vec<f64> = def.bends.iter().map(|bend| bend.angle_deg).collect();
    def.ends.len() == 2
        && def.ends[0] == def.ends[1]
        && back_to_front(&def.legs)
        && back_to_front(&angles)
        && def.bends.len() <= 2
}
