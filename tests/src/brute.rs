//! Every chain of a small catalog, by trying: all sequences, turns on a grid, then a general least-squares descent
//! with numeric slopes from the best of them. No closed form, no merging of straight parts, no clever order.

use crate::chain::{Problem, Step, end_frame, entry_map, is_bent, place};
use crate::frame::Frame;
use crate::rules::{broken_rule, entry_end, exit_end, joins, seats};
use crate::solids::is_clear;
use nalgebra::{SMatrix, SVector};
use std::f64::consts::TAU;

/// A sequence of parts, and one way to place it that closes and is clear.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The chain.
    pub steps: Vec<Step>,
    /// Its miss in allowances, at most one.
    pub allowances_used: f64,
}

/// More freedoms than this (turns and stretches) are not tried.
const MOST_FREEDOMS: usize = 4;
/// Grid points per turn, by the number of freedoms.
const GRID: [usize; MOST_FREEDOMS + 1] = [1, 72, 48, 24, 16];
/// How many of the grid's local minima are followed down.
const STARTS: usize = 24;
/// How much more room than it must have a chain needs to count as clear beyond doubt, in millimetres.
const SPARE_MM: f64 = 0.25;

/// Every sequence that the rules allow, up to the problem's longest.
#[must_use]
pub fn sequences(problem: &Problem) -> Vec<Vec<Step>> {
    let mut all = Vec::new();
    let mut open = vec![Vec::new()];
    for _ in 0..problem.max_parts {
        open = open.iter().flat_map(|steps| longer(problem, steps)).collect();
        all.extend(open.iter().filter(|steps| broken_rule(problem, steps).is_none()).cloned());
    }
    all
}

/// Every sequence that closes within the allowances (place and direction together) and is clear beyond doubt.
#[must_use]
pub fn enumerate(problem: &Problem) -> Vec<Found> {
    sequences(problem).iter().filter_map(|steps| close(problem, steps)).collect()
}

/// A way to place a sequence so that it closes and is clear, if trying finds one.
///
/// # Panics
/// On a sequence of more freedoms than can be tried: leaving it out in silence would look like a proof that it does not close.
#[must_use]
pub fn close(problem: &Problem, sequence: &[Step]) -> Option<Found> {
    let walk = Walk::new(problem, sequence);
    assert!(walk.freedoms.len() <= MOST_FREEDOMS, "too many freedoms to try: {sequence:?}");
    if walk.shortest_reach() > walk.longest_reach() {
        return None;
    }
    walk.starts().into_iter().find_map(|start| {
        let (values, cost) = walk.descend(start);
        if cost.sqrt() > 1.0 {
            return None;
        }
        let steps = walk.steps(&values);
        let allowances_used = problem.allowances_used(&problem.miss(&steps));
        let clear = allowances_used <= 1.0 && is_clear(problem, &steps, &problem.place(&steps), SPARE_MM);
        clear.then_some(Found { steps, allowances_used })
    })
}

fn longer(problem: &Problem, steps: &[Step]) -> Vec<Vec<Step>> {
    let mut all = Vec::new();
    for part in 0..problem.fittings.len() {
        for entry in [0, 1] {
            let step = Step { part, entry, turn: 0.0, stretch: 0.0 };
            let end = entry_end(problem, &step);
            let fits = steps
                .last()
                .map_or_else(|| seats(end, &problem.from), |last: &Step| joins(exit_end(problem, last), end));
            if fits && problem.fittings[part].is_link() {
                all.push(steps.iter().copied().chain([step]).collect());
            }
        }
    }
    all
}

/// What may be chosen in a chain.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Freedom {
    /// The turn of a part, any angle.
    Turn(usize),
    /// The stretch of a part, up to a length.
    Stretch(usize, f64),
}

type Values = [f64; MOST_FREEDOMS];

/// A sequence with its freedoms.
struct Walk<'a> {
    problem: &'a Problem,
    sequence: &'a [Step],
    freedoms: Vec<Freedom>,
}

impl<'a> Walk<'a> {
    fn new(problem: &'a Problem, sequence: &'a [Step]) -> Self {
        let mut freedoms = Vec::new();
        for (index, step) in sequence.iter().enumerate() {
            let def = &problem.fittings[step.part];
            if is_bent(def) {
                freedoms.push(Freedom::Turn(index));
            }
            if let Some(most) = def.stretch_mm {
                freedoms.push(Freedom::Stretch(index, most));
            }
        }
        Self { problem, sequence, freedoms }
    }

    /// The distance that has to be covered, less the allowance.
    fn shortest_reach(&self) -> f64 {
        (self.problem.to.frame.at - self.problem.from.frame.at).norm() - self.problem.closure_mm
    }

    /// The length of the chain drawn straight.
    fn longest_reach(&self) -> f64 {
        let length = |step: &Step| {
            let def = &self.problem.fittings[step.part];
            def.legs.iter().sum::<f64>() + def.stretch_mm.unwrap_or(0.0)
        };
        self.sequence.iter().map(length).sum()
    }

    fn steps(&self, values: &Values) -> Vec<Step> {
        let mut steps = self.sequence.to_vec();
        for (freedom, value) in self.freedoms.iter().zip(values) {
            match freedom {
                Freedom::Turn(index) => steps[*index].turn = *value,
                Freedom::Stretch(index, most) => steps[*index].stretch = value.clamp(0.0, *most),
            }
        }
        steps
    }

    /// Place and direction of the miss, each in allowances.
    fn residual(&self, values: &Values) -> SVector<f64, 6> {
        let mut here = self.problem.from.frame;
        for step in self.steps(values) {
            here = place(&self.problem.fittings[step.part], &step, &here).exit;
        }
        self.residual_at(&here)
    }

    fn residual_at(&self, end: &Frame) -> SVector<f64, 6> {
        let port = &self.problem.to.frame;
        let place = (end.at - port.at) / self.problem.closure_mm;
        let direction = (end.z() + port.z()) / self.problem.closure_deg.to_radians();
        SVector::from_column_slice(&[place.x, place.y, place.z, direction.x, direction.y, direction.z])
    }

    /// The best local minima of a grid over every freedom.
    fn starts(&self) -> Vec<Values> {
        let count = self.freedoms.len();
        let points = GRID[count];
        let total = points.pow(u32::try_from(count).unwrap_or(0));
        let costs = self.grid(points);
        let spread = |cell: usize| {
            let mut values = [0.0; MOST_FREEDOMS];
            let mut rest = cell;
            for (slot, freedom) in (0..count).rev().map(|slot| (slot, self.freedoms[slot])) {
                values[slot] = grid_value(freedom, rest % points, points);
                rest /= points;
            }
            values
        };
        let is_least = |cell: usize| {
            let mut stride = 1;
            (0..count).all(|_| {
                let digit = cell / stride % points;
                let up = cell - digit * stride + (digit + 1) % points * stride;
                let down = cell - digit * stride + (digit + points - 1) % points * stride;
                stride *= points;
                costs[cell] <= costs[up] && costs[cell] <= costs[down]
            })
        };
        let mut minima: Vec<usize> = (0..total).filter(|&cell| is_least(cell)).collect();
        minima.sort_by(|&a, &b| costs[a].total_cmp(&costs[b]).then(a.cmp(&b)));
        minima.truncate(STARTS);
        minima.into_iter().map(spread).collect()
    }

    /// The cost at every point of the grid, the last freedom running fastest.
    fn grid(&self, points: usize) -> Vec<f64> {
        let mut ends = vec![self.problem.from.frame];
        let mut slot = 0;
        for step in self.sequence {
            let def = &self.problem.fittings[step.part];
            let turns = if is_bent(def) { points } else { 1 };
            let stretches = if def.stretch_mm.is_some() { points } else { 1 };
            let mut tails = Vec::with_capacity(turns * stretches);
            for turn in 0..turns {
                for stretch in 0..stretches {
                    let angle = if turns > 1 { grid_value(self.freedoms[slot], turn, points) } else { 0.0 };
                    let drawn =
                        def.stretch_mm.map_or(0.0, |most| grid_value(Freedom::Stretch(0, most), stretch, points));
                    let through = entry_map(def, step.entry, drawn).then(&end_frame(def, 1 - step.entry, drawn));
                    tails.push(Frame::world().turn(angle).then(&through));
                }
            }
            slot += usize::from(turns > 1) + usize::from(stretches > 1);
            ends = ends.iter().flat_map(|end| tails.iter().map(|tail| end.then(tail))).collect();
        }
        ends.iter().map(|end| self.residual_at(end).norm_squared()).collect()
    }

    /// Levenberg's damped least squares with slopes from differences; gives the values and the squared residual.
    fn descend(&self, start: Values) -> (Values, f64) {
        let count = self.freedoms.len();
        let (mut values, mut damping) = (start, 1e-3);
        let mut residual = self.residual(&values);
        let mut cost = residual.norm_squared();
        for _ in 0..80 {
            let mut slopes = SMatrix::<f64, 6, MOST_FREEDOMS>::zeros();
            for slot in 0..count {
                let step = 1e-6;
                let (mut up, mut down) = (values, values);
                up[slot] += step;
                down[slot] -= step;
                slopes.set_column(slot, &((self.residual(&up) - self.residual(&down)) / (2.0 * step)));
            }
            let square = slopes.transpose() * slopes;
            let downhill = slopes.transpose() * residual;
            let mut improved = false;
            for _ in 0..12 {
                let mut damped = square;
                for slot in 0..MOST_FREEDOMS {
                    damped[(slot, slot)] += damping * square[(slot, slot)].max(1e-6);
                }
                let Some(step) = damped.lu().solve(&downhill) else { break };
                let mut next = values;
                for slot in 0..count {
                    next[slot] -= step[slot];
                    if let Freedom::Stretch(_, most) = self.freedoms[slot] {
                        next[slot] = next[slot].clamp(0.0, most);
                    }
                }
                let next_residual = self.residual(&next);
                if next_residual.norm_squared() < cost {
                    improved = next_residual.norm_squared() < cost * (1.0 - 1e-9);
                    (values, residual, cost) = (next, next_residual, next_residual.norm_squared());
                    damping = (damping / 5.0).max(1e-12);
                    break;
                }
                damping *= 4.0;
            }
            if !improved || cost < 1e-12 {
                break;
            }
        }
        (values, cost)
    }
}

/// The value of a freedom at a point of the grid.
fn grid_value(freedom: Freedom, index: usize, points: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a grid has few points")]
    let (index, points) = (index as f64, points as f64);
    match freedom {
        Freedom::Turn(_) => TAU * index / points,
        Freedom::Stretch(_, most) => most * index / (points - 1.0),
    }
}
