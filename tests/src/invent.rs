//! Bends and offsets invented so that they join ports that are parallel or on one axis, and stay able to move.

use crate::chain::{Problem, Step, end_frame, entry_map};
use crate::frame::Frame;
use crate::parts::{mating_port, sized_end};
use crate::rules::exit_end;
use elbowroom::catalog::{BendDef, EndDef, Family, FittingDef, Gender, PartSolid, Thread};
use nalgebra::{Matrix2, Vector2, Vector3};
use rand::{Rng, rngs::StdRng, seq::IndexedRandom};
use std::f64::consts::{PI, TAU};

/// A part that turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// One bend.
    Bend,
    /// Two equal bends, back again.
    Offset,
}

/// A chain before its parts are cut to length.
#[derive(Clone, Debug)]
pub struct Draft {
    features: Vec<Feature>,
    /// The angle of each, in radians.
    angles: Vec<f64>,
    /// The middle leg of each offset.
    middles: Vec<f64>,
    /// The run before each, and the last: from corner to corner, or port.
    runs: Vec<f64>,
    /// Whether each is built in the other way round.
    reversed: Vec<bool>,
    /// How many of the straight parts between are adjustable.
    links: usize,
}

/// Shortest leg, in millimetres, and the shortest and longest run between two corners.
const SHORTEST_LEG_MM: f64 = 9.0;
const RUNS_MM: [f64; 2] = [2.0 * SHORTEST_LEG_MM, 70.0];
/// Shortest and longest step of an offset to the side.
const SHIFTS_MM: [f64; 2] = [4.0, 30.0];
/// Shortest straight part.
const SHORTEST_STRAIGHT_MM: f64 = 5.0;
/// Tries at lengths that close.
const TRIES: usize = 60;

/// Which way the features lead: bends to the direction of the run after them, offsets to the side.
struct Aim {
    towards: Vec<Vector3<f64>>,
}

impl Draft {
    /// Such features with random angles and lengths.
    #[must_use]
    pub fn invent(features: &[Feature], reversible: bool, rng: &mut StdRng) -> Self {
        let same = rng.random_bool(0.4).then(|| angle(rng));
        let count = features.len();
        Self {
            features: features.to_vec(),
            angles: (0..count).map(|_| same.unwrap_or_else(|| angle(rng))).collect(),
            middles: (0..count).map(|_| rng.random_range(9.0..30.0)).collect(),
            runs: (0..=count).map(|_| length(rng)).collect(),
            reversed: (0..count).map(|_| reversible && rng.random_bool(0.3)).collect(),
            links: 0,
        }
    }

    /// The same with so many adjustable parts in its runs.
    #[must_use]
    pub fn with_links(self, links: usize) -> Self {
        Self { links, ..self }
    }

    /// The same with all bends and offsets at right angles.
    #[must_use]
    pub fn square(mut self) -> Self {
        self.angles.fill(PI / 2.0);
        self
    }

    /// The draft changed so that its chain ends parallel to where it begins, or on the same axis, and its turns.
    /// `barely`: so that it is all but stretched. `None` where that did not come out this time.
    #[must_use]
    pub fn aimed(mut self, coaxial: bool, barely: bool, rng: &mut StdRng) -> Option<(Self, Vec<f64>)> {
        let aim = self.aim(coaxial, barely, rng)?;
        if coaxial && !self.bring_back(&aim, rng) {
            return None;
        }
        let turns = self.turns(&aim)?;
        Some((self, turns))
    }

    /// Where each feature leads.
    fn aim(&mut self, coaxial: bool, barely: bool, rng: &mut StdRng) -> Option<Aim> {
        let bends: Vec<usize> = (0..self.features.len()).filter(|&i| self.features[i] == Feature::Bend).collect();
        let start = rng.random_range(0.0..TAU);
        let size = 10_f64.powf(rng.random_range(-2.5..-0.7));
        let flat = !coaxial && rng.random_bool(0.3);
        let azimuth = |rng: &mut StdRng| match (barely && !coaxial, flat) {
            (true, _) => start + size * rng.random_range(-1.0..1.0),
            (_, true) => start + f64::from(rng.random_range(0..2)) * PI + size * rng.random_range(-1.0..1.0),
            _ => rng.random_range(0.0..TAU),
        };
        let ahead = Vector3::z();
        let mut directions = Vec::new();
        let back = rng.random_bool(0.2);
        let last = if back { -ahead } else { ahead };
        match bends[..] {
            [first, second] => {
                self.angles[second] = if back { PI - self.angles[first] } else { self.angles[first] };
                directions = vec![around(&ahead, self.angles[first], azimuth(rng)), last];
            }
            [first, second, third, fourth] if rng.random_bool(if coaxial { 0.3 } else { 0.5 }) => {
                // Two to the side and two back again.
                self.angles[second] = self.angles[first];
                self.angles[fourth] = self.angles[third];
                let out = azimuth(rng);
                let home = if coaxial { out + PI } else { azimuth(rng) };
                let to_the_side = |angle: f64, azimuth: f64| around(&ahead, angle, azimuth);
                directions.extend([to_the_side(self.angles[first], out), ahead]);
                directions.extend([to_the_side(self.angles[third], home), ahead]);
            }
            _ => {
                let mut here = ahead;
                for &bend in &bends[..bends.len() - 2] {
                    here = around(&here, self.angles[bend], rng.random_range(0.0..TAU));
                    directions.push(here);
                }
                let angles = [self.angles[bends[bends.len() - 2]], self.angles[bends[bends.len() - 1]]];
                let both = on_both_cones(&here, &last, angles)?;
                directions.extend([*both.choose(rng)?, last]);
            }
        }
        let mut here = ahead;
        let mut directions = directions.into_iter();
        let towards = self.features.iter().map(|feature| {
            if *feature == Feature::Offset {
                return around(&here, PI / 2.0, azimuth(rng));
            }
            here = directions.next().unwrap_or(last);
            here
        });
        Some(Aim { towards: towards.collect() })
    }

    /// Chooses lengths so that the chain ends on the axis it began on. False when none were found.
    fn bring_back(&mut self, aim: &Aim, rng: &mut StdRng) -> bool {
        let mut here = Vector3::z();
        let mut parts: Vec<(bool, usize, Vector3<f64>)> = Vec::new();
        for (index, feature) in self.features.iter().enumerate() {
            if index > 0 {
                parts.push((false, index, here));
            }
            match feature {
                Feature::Bend => here = aim.towards[index],
                Feature::Offset => {
                    let (sin, cos) = self.angles[index].sin_cos();
                    parts.push((true, index, aim.towards[index] + here * (cos / sin)));
                }
            }
        }
        parts.retain(|part| part.2.xy().norm() > 1e-6);
        for _ in 0..TRIES {
            let mut lengths: Vec<f64> = parts
                .iter()
                .map(|(shift, ..)| {
                    let [least, most] = if *shift { SHIFTS_MM } else { RUNS_MM };
                    rng.random_range(least..most)
                })
                .collect();
            let solved = [rng.random_range(0..parts.len()), rng.random_range(0..parts.len())];
            if !self.solve(&parts, &mut lengths, solved) {
                continue;
            }
            for ((shift, index, _), length) in parts.iter().zip(&lengths) {
                if *shift {
                    self.middles[*index] = length / self.angles[*index].sin();
                } else {
                    self.runs[*index] = *length;
                }
            }
            return true;
        }
        false
    }

    /// Solves two of the lengths so that the sum has no part across the axis; says whether they are possible.
    fn solve(&self, parts: &[(bool, usize, Vector3<f64>)], lengths: &mut [f64], [a, b]: [usize; 2]) -> bool {
        let across = |index: usize| -> Vector2<f64> { parts[index].2.xy() };
        let (one, other) = (across(a), across(b));
        let sum = |lengths: &[f64]| (0..parts.len()).fold(Vector2::zeros(), |sum, i| sum + across(i) * lengths[i]);
        let parallel = (one.x * other.y - one.y * other.x).abs() < 1e-3 * one.norm() * other.norm();
        if a == b || parallel {
            // All in one plane through the axis: one length is enough.
            lengths[a] = 0.0;
            lengths[a] = -sum(lengths).dot(&one) / one.norm_squared();
        } else {
            lengths[a] = 0.0;
            lengths[b] = 0.0;
            let Some(inverse) = Matrix2::from_columns(&[one, other]).try_inverse() else { return false };
            let found = -(inverse * sum(lengths));
            lengths[a] = found.x;
            lengths[b] = found.y;
        }
        let within = |index: usize| {
            let [least, most] = if parts[index].0 { SHIFTS_MM } else { RUNS_MM };
            lengths[index] >= least && lengths[index] <= most
        };
        within(a) && within(b) && sum(lengths).norm() < 1e-9
    }

    /// The turns that lead there.
    fn turns(&self, aim: &Aim) -> Option<Vec<f64>> {
        let mut here = Frame::world();
        let mut turns = Vec::new();
        for (index, towards) in aim.towards.iter().enumerate() {
            let def = self.part(
                index,
                &format!("p{index}"),
                [sized_end(Thread::G14, Gender::Male, true), sized_end(Thread::G14, Gender::Female, true)],
                [10.0, 10.0],
                4.0,
            );
            let entry = usize::from(self.reversed[index]);
            let through = entry_map(&def, entry, 0.0).then(&end_frame(&def, 1 - entry, 0.0));
            let leads = match self.features[index] {
                Feature::Bend => through.z(),
                Feature::Offset => through.at,
            };
            let wanted = here.axes.tr_mul(towards);
            let turn = wanted.y.atan2(wanted.x) - leads.y.atan2(leads.x);
            here = Frame { at: Vector3::zeros(), axes: here.turn(turn).then(&through).axes };
            if self.features[index] == Feature::Bend && (here.z() - towards).norm() > 1e-9 {
                return None;
            }
            turns.push(turn);
        }
        Some(turns)
    }

    /// A part of the draft with these ends and outer legs.
    fn part(&self, index: usize, id: &str, ends: [EndDef; 2], legs: [f64; 2], sleeve_mm: f64) -> FittingDef {
        let bend = |roll_deg: f64| BendDef { angle_deg: self.angles[index].to_degrees(), roll_deg };
        let (family, mut legs, bends) = match self.features[index] {
            Feature::Bend => (Family::Bend, legs.to_vec(), vec![bend(0.0)]),
            Feature::Offset => {
                (Family::Offset, vec![legs[0], self.middles[index], legs[1]], vec![bend(0.0), bend(180.0)])
            }
        };
        let mut ends = ends.to_vec();
        if self.reversed[index] {
            ends.reverse();
            legs.reverse();
        }
        fitting(id, family, ends, legs, bends, sleeve_mm)
    }

    /// The parts, cut to length, and the problem that they solve with these turns. With `beside`, the second port stands
    /// that far to the side of where the chain ends.
    #[must_use]
    pub fn place(
        &self,
        from: &Frame,
        turns: &[f64],
        beside: Option<f64>,
        rng: &mut StdRng,
    ) -> Option<(Problem, Vec<Step>)> {
        let sleeve_mm = *[4.0, 4.0, 7.0].choose(rng)?;
        let mut spare_straights = if self.links > 0 { self.links } else { rng.random_range(0..3_usize) };
        let mut links = self.links;
        // What is between the corners: the last leg of one part, perhaps a straight part, the first leg of the next.
        let count = self.features.len();
        let mut cut: Vec<[f64; 3]> = Vec::new();
        for (index, run) in self.runs.iter().enumerate() {
            let [mut before, mut straight, mut after] = [0.0, 0.0, 0.0];
            let needed = [index > 0, index < count].map(|needs| if needs { SHORTEST_LEG_MM } else { 0.0 });
            let left = run - needed[0] - needed[1];
            if spare_straights > 0 && left > SHORTEST_STRAIGHT_MM && (links > 0 || rng.random_bool(0.5)) {
                spare_straights -= 1;
                straight = if rng.random_bool(0.5) { left } else { rng.random_range(SHORTEST_STRAIGHT_MM..left) };
            }
            let share = rng.random_range(0.0..1.0);
            let rest = left - straight;
            match (index > 0, index < count) {
                (true, true) => (before, after) = (needed[0] + rest * share, needed[1] + rest * (1.0 - share)),
                (true, false) => before = needed[0] + rest,
                _ => after = needed[1] + rest,
            }
            cut.push([before, straight, after]);
        }
        let straights = cut.iter().filter(|[_, straight, _]| *straight > 0.0).count();
        let joints = joints(count + straights, rng);
        let mut joint = 0;
        let mut next = || {
            joint += 1;
            let (thread, gender) = joints[joint % joints.len()];
            let (before, _) = joints[(joint - 1) % joints.len()];
            let entered = joints[(joint - 1) % joints.len()].1;
            [sized_end(before, entered, true), sized_end(thread, gender.opposite(), true)]
        };
        let (mut fittings, mut steps) = (Vec::new(), Vec::new());
        for (index, [_, straight, _]) in cut.iter().enumerate() {
            if *straight > 0.0 {
                let mut ends = next();
                let family = match (ends[0].thread == ends[1].thread, ends[0].gender == ends[1].gender) {
                    (false, _) => Family::Reducer,
                    (true, true) => Family::Joiner,
                    (true, false) => Family::Extension,
                };
                ends[0].swivel = rng.random_bool(0.5);
                ends[1].swivel = rng.random_bool(0.3);
                let id = format!("s{index}");
                let mut def = fitting(&id, family, ends.to_vec(), vec![*straight], Vec::new(), sleeve_mm);
                let mut stretch = 0.0;
                if links > 0 {
                    links -= 1;
                    stretch = straight * rng.random_range(0.0..0.7);
                    def.family = Family::Link;
                    def.legs[0] -= stretch;
                    def.stretch_mm = Some(stretch + rng.random_range(0.5..20.0));
                }
                fittings.push(def);
                steps.push(Step { part: fittings.len() - 1, entry: 0, turn: 0.0, stretch });
            }
            if index < count {
                let legs = [cut[index][2], cut[index + 1][0]];
                fittings.push(self.part(index, &format!("p{index}"), next(), legs, sleeve_mm));
                let entry = usize::from(self.reversed[index]);
                steps.push(Step { part: fittings.len() - 1, entry, turn: turns[index], stretch: 0.0 });
            }
        }
        let first = &fittings[steps[0].part].ends[steps[0].entry];
        let port = mating_port(first, *from);
        let max_parts = steps.len();
        let mut problem = Problem {
            fittings,
            to: port.clone(),
            from: port,
            obstacles: Vec::new(),
            closure_mm: 0.3,
            closure_deg: 0.5,
            clearance_mm: *[1.0, 1.0, 2.0, 0.5].choose(rng)?,
            max_parts,
        };
        if links > 0 {
            return None;
        }
        let mut exit = problem.place(&steps).last()?.exit;
        if let Some(beside) = beside {
            exit.at += exit.turn(rng.random_range(0.0..TAU)).axes.column(0) * beside;
        }
        let end = exit_end(&problem, steps.last()?).clone();
        problem.to = mating_port(&end, exit.facing().turn(rng.random_range(0.0..TAU)));
        ((problem.to.frame.at - problem.from.frame.at).norm() > 1.0).then_some((problem, steps))
    }
}

/// A part with sleeves of that diameter round its legs.
fn fitting(
    id: &str,
    family: Family,
    ends: Vec<EndDef>,
    legs: Vec<f64>,
    bends: Vec<BendDef>,
    sleeve_mm: f64,
) -> FittingDef {
    let sleeves = (0..legs.len()).map(|leg| PartSolid::Sleeve { leg, from: 0.0, to: None, diameter: sleeve_mm });
    let knuckles = (0..bends.len()).map(|bend| PartSolid::Knuckle { bend, diameter: 1.1 * sleeve_mm });
    FittingDef {
        id: id.to_owned(),
        name: format!("Invented part {id}"),
        family,
        solids: sleeves.chain(knuckles).collect(),
        ends,
        legs,
        bends,
        stretch_mm: None,
        branch: None,
        bore_mm: 3.0,
        swept: false,
        price: None,
    }
}

/// The joints along a chain, each with the thread and the gender of the part that comes after it: all alike, so that
/// the parts may follow each other in any order, or mostly unlike, so that few sequences are possible, which is all that
/// long chains leave time for.
fn joints(parts: usize, rng: &mut StdRng) -> Vec<(Thread, Gender)> {
    if parts <= 4 && rng.random_bool(0.3) {
        return vec![(Thread::G14, Gender::Male)];
    }
    let (male, female) = (Gender::Male, Gender::Female);
    let mut all: Vec<(Thread, Gender)> =
        Thread::ALL.into_iter().flat_map(|thread| [(thread, male), (thread, female)]).collect();
    rand::seq::SliceRandom::shuffle(&mut all[..], rng);
    all
}

/// A direction at `angle` from `axis`, at that azimuth about it.
fn around(axis: &Vector3<f64>, angle: f64, azimuth: f64) -> Vector3<f64> {
    Frame::looking(Vector3::zeros(), *axis, azimuth).bend(angle).z()
}

/// The directions at these angles from both axes.
fn on_both_cones(a: &Vector3<f64>, b: &Vector3<f64>, angles: [f64; 2]) -> Option<[Vector3<f64>; 2]> {
    let cos = a.dot(b);
    let square = 1.0 - cos * cos;
    if square < 1e-6 {
        return None;
    }
    let [x, y] = angles.map(f64::cos);
    let along = (a * (x - cos * y) + b * (y - cos * x)) / square;
    let across = ((1.0 - along.norm_squared()) / square).max(-1.0);
    if across < 0.0 {
        return None;
    }
    let off = a.cross(b) * across.sqrt();
    Some([along + off, along - off])
}

fn angle(rng: &mut StdRng) -> f64 {
    let degrees: f64 = if rng.random_bool(0.6) {
        *[30.0, 45.0, 60.0, 90.0, 90.0].choose(rng).unwrap_or(&90.0)
    } else {
        rng.random_range(20.0..110.0)
    };
    degrees.to_radians()
}

fn length(rng: &mut StdRng) -> f64 {
    let [least, most] = RUNS_MM;
    rng.random_range(least..most * 0.7)
}
