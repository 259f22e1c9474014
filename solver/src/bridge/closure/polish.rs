//! The last word on closure: damped Gauss-Newton steps on the turns (and adjustable lengths) from a proposed
//! posture to the nearest one with the least miss.

use super::{
    Allowance,
    skeleton::{Frame, Line, MAX_TURNS, Posture, Skeleton, Turn},
    span::Span,
};
use crate::geometry::Vector;
use nalgebra::{SMatrix, SVector};

/// Turns and adjustable lengths together: each belongs to a part of its own, except that an adjustable turning part has
/// both. A chain with more of those keeps the last of their lengths as tried, which costs it at most half their
/// stretch.
pub(super) const UNKNOWNS: usize = MAX_TURNS + 2;

/// Steps after which a posture that has not settled is given up. From a good start three suffice; singular
/// postures, where the steps converge linearly, take about ten.
const MAX_STEPS: usize = 24;

/// Steps in a row that may be refused, each for thirty times the damping of the one before.
const REFUSALS: usize = 5;

/// A miss of this much (squares over the allowance, added) that shrinks by less than this share in a step will not
/// close: even at a double root, where steps converge slowest, the miss shrinks to a sixteenth each time.
const HOPELESS_COST: f64 = 2.0;
const HOPELESS_GAIN: f64 = 0.15;

/// A miss of this much is none: it is what rounding leaves. At a double root a turn shows only by its square, so stopping
/// sooner would leave turns open that far places can be seen to depend on.
const NO_COST: f64 = 1e-24;

/// A miss inside the allowance that shrinks by less than this share is at its least for every purpose.
const SETTLED_GAIN: f64 = 1e-10;

/// How the end of a chain lies to the second port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Residual {
    /// Distance from the end of the chain to the port's seat, in millimetres.
    pub(crate) mm: f64,
    /// Angle between the chain's end and the port's axis, in radians.
    pub(crate) rad: f64,
    /// From the port's seat to the end of the chain.
    pub(crate) miss: Vector,
}

impl Residual {
    /// Whether it is within the allowance.
    pub(crate) fn within(&self, allowance: &Allowance) -> bool {
        self.mm <= allowance.mm && self.rad <= allowance.rad
    }
}

/// Halvings of the search for the weight at which both miss and angle are within the allowance.
const WEIGHT_HALVINGS: usize = 12;

/// Greatest weight of the miss against the angle that is tried, as a natural logarithm; its negative is the least.
const GREATEST_WEIGHT: f64 = 5.0;

/// Moves `posture` to the nearest least miss. `held` names a turn that must stay as it is.
///
/// The miss that is minimised is the sum of the squares of distance and angle, each over its allowance. Where that
/// optimum lies outside the allowance in one of the two but not by much, the weight of the one against the other is
/// looked for at which both are inside, until it is clear that there is none.
pub(crate) fn polish(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    posture: &mut Posture,
    held: Option<usize>,
) -> Residual {
    let best = settle(skeleton, from, to, [1.0 / allowance.mm, 1.0 / allowance.rad], posture, held);
    let used = |residual: &Residual| [residual.mm / allowance.mm, residual.rad / allowance.rad];
    let [mm, rad] = used(&best);
    // With least squares above two, one of the two is outside whatever the weights.
    if best.within(allowance) || mm.powi(2) + rad.powi(2) > 2.0 {
        return best;
    }
    let (mut low, mut high) = (-GREATEST_WEIGHT, GREATEST_WEIGHT);
    for _ in 0..WEIGHT_HALVINGS {
        let middle = f64::midpoint(low, high);
        let mut tried = *posture;
        // Whatever the weights, what is inside both allowances costs two at most, which is what `settle` gives up by.
        let [mm, rad] = [middle.exp(), 1.0].map(|weight| weight * (2.0 / (middle.exp().powi(2) + 1.0)).sqrt());
        let weights = [mm / allowance.mm, rad / allowance.rad];
        let residual = settle(skeleton, from, to, weights, &mut tried, held);
        match used(&residual) {
            [mm, rad] if mm <= 1.0 && rad <= 1.0 => {
                *posture = tried;
                return residual;
            }
            // Neither more nor less weight brings both in.
            [mm, rad] if mm > 1.0 && rad > 1.0 => break,
            [mm, _] if mm > 1.0 => low = middle,
            _ => high = middle,
        }
    }
    best
}

/// Polishes and says whether the posture closes.
pub(crate) fn closes(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    posture: &mut Posture,
) -> Option<Residual> {
    let residual = polish(skeleton, from, to, allowance, posture, None);
    residual.within(allowance).then_some(residual)
}

/// How the end of a chain answers to one of its free choices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Response {
    /// Shift of the end for each radian of a turn or millimetre of a length, in millimetres.
    pub(crate) shift: Vector,
    /// Change of the direction of the end for the same.
    pub(crate) lean: Vector,
    /// How far a length can be drawn in all, in millimetres; `None` for a turn.
    pub(crate) stretch: Option<f64>,
}

/// The Jacobian of the end of a chain: one column for each turn and each adjustable length.
pub(crate) fn responses(skeleton: &Skeleton<'_>, from: &Line, posture: &Posture) -> Vec<Response> {
    let walk: Walk = Walk::along(skeleton, Frame::at(from), posture);
    let (unknowns, size) = unknowns(skeleton, None);
    unknowns[..size]
        .iter()
        .map(|unknown| {
            let (shift, lean) = walk.response(*unknown);
            let stretch = match *unknown {
                Unknown::Turn(_) => None,
                Unknown::Run(run) => Some(skeleton.runs[run].longest - skeleton.runs[run].shortest),
                Unknown::Draw(turn) => match skeleton.turns[turn] {
                    Turn::Rigid { stretch, .. } => Some(*stretch),
                    Turn::Bend { .. } => None,
                },
            };
            Response { shift, lean, stretch }
        })
        .collect()
}

/// How the end of a chain lies to the second port in a posture, as it is.
pub(crate) fn residual(skeleton: &Skeleton<'_>, from: &Line, to: &Line, posture: &Posture) -> Residual {
    Walk::<MOST_RUNS>::along(skeleton, Frame::at(from), posture).residual(to)
}

/// What one unknown is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unknown {
    Turn(usize),
    Run(usize),
    Draw(usize),
}

/// The unknowns of a chain and how many there are.
pub(super) fn unknowns(skeleton: &Skeleton<'_>, held: Option<usize>) -> ([Unknown; UNKNOWNS], usize) {
    let count = skeleton.count;
    let mut unknowns = [Unknown::Turn(0); UNKNOWNS];
    let mut size = 0;
    let mut add = |unknown| {
        if size < UNKNOWNS {
            unknowns[size] = unknown;
            size += 1;
        }
    };
    (0..count).filter(|turn| Some(*turn) != held).for_each(|turn| add(Unknown::Turn(turn)));
    (0..=count).filter(|run| !skeleton.runs[*run].is_fixed()).for_each(|run| add(Unknown::Run(run)));
    for (index, turn) in skeleton.turns().enumerate() {
        if matches!(turn, Turn::Rigid { stretch, .. } if *stretch > 0.0) {
            add(Unknown::Draw(index));
        }
    }
    (unknowns, size)
}

fn settle(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    weights: [f64; 2],
    posture: &mut Posture,
    held: Option<usize>,
) -> Residual {
    let (unknowns, size) = unknowns(skeleton, held);
    let unknowns = &unknowns[..size];
    // Most chains have few unknowns and few turns, and the cost grows with the room for them: by the square of that for
    // unknowns.
    let ports = [from, to];
    match (size, skeleton.count) {
        (..=4, ..=4) => descend::<4, 5>(skeleton, ports, weights, posture, unknowns),
        (..=6, ..=5) => descend::<6, 6>(skeleton, ports, weights, posture, unknowns),
        (..=6, _) => descend::<6, MOST_RUNS>(skeleton, ports, weights, posture, unknowns),
        _ => descend::<UNKNOWNS, MOST_RUNS>(skeleton, ports, weights, posture, unknowns),
    }
}

/// Damped Gauss-Newton steps for at most `N` unknowns of chains of at most `R` runs.
fn descend<const N: usize, const R: usize>(
    skeleton: &Skeleton<'_>,
    [from, to]: [&Line; 2],
    weights: [f64; 2],
    posture: &mut Posture,
    unknowns: &[Unknown],
) -> Residual {
    let start = Frame::at(from);
    let mut walk = Walk::<R>::along(skeleton, start, posture);
    let mut error = walk.error(to, weights);
    let mut cost = error.norm_squared();
    let mut damping = 1e-4;
    for _ in 0..MAX_STEPS {
        if cost < NO_COST {
            break;
        }
        let (mut normal, mut gradient) = walk.normal_equations::<N>(unknowns, &error, weights);
        // What would leave its range stays at the end of it, and the others go where that leaves the least miss.
        for (index, unknown) in unknowns.iter().enumerate() {
            if !is_held(skeleton, posture, *unknown, gradient[index]) {
                continue;
            }
            normal.row_mut(index).fill(0.0);
            normal.column_mut(index).fill(0.0);
            normal[(index, index)] = 1.0;
            gradient[index] = 0.0;
        }
        let mut stepped = false;
        let mut gain = 0.0;
        for _ in 0..REFUSALS {
            let step = solve(&normal, &gradient, unknowns.len(), damping);
            let mut tried = *posture;
            for (index, unknown) in unknowns.iter().enumerate() {
                match *unknown {
                    Unknown::Turn(turn) => tried.turns[turn] += step[index].clamp(-1.0, 1.0),
                    Unknown::Run(run) => {
                        let span = skeleton.runs[run];
                        tried.runs[run] = (tried.runs[run] + step[index]).clamp(span.shortest, span.longest);
                    }
                    Unknown::Draw(turn) => {
                        if let Turn::Rigid { stretch, .. } = skeleton.turns[turn] {
                            tried.draws[turn] = (tried.draws[turn] + step[index]).clamp(0.0, *stretch);
                        }
                    }
                }
            }
            let tried_walk = Walk::<R>::along(skeleton, start, &tried);
            let tried_error = tried_walk.error(to, weights);
            let tried_cost = tried_error.norm_squared();
            if tried_cost < cost {
                gain = 1.0 - tried_cost / cost;
                (*posture, walk, error, cost) = (tried, tried_walk, tried_error, tried_cost);
                damping = (damping * 0.1).max(1e-12);
                stepped = true;
                break;
            }
            damping *= 30.0;
        }
        if !stepped || gain < if cost > HOPELESS_COST { HOPELESS_GAIN } else { SETTLED_GAIN } {
            break;
        }
    }
    walk.residual(to)
}

/// Whether a length is at the end of its range and a step along `slope` would take it out of that.
fn is_held(skeleton: &Skeleton<'_>, posture: &Posture, unknown: Unknown, slope: f64) -> bool {
    let (length, Span { shortest, longest }) = match unknown {
        Unknown::Turn(_) => return false,
        Unknown::Run(run) => (posture.runs[run], skeleton.runs[run]),
        Unknown::Draw(turn) => {
            let longest = if let Turn::Rigid { stretch, .. } = skeleton.turns[turn] { *stretch } else { 0.0 };
            (posture.draws[turn], Span { shortest: 0.0, longest })
        }
    };
    length <= shortest && slope < 0.0 || length >= longest && slope > 0.0
}

type Square<const N: usize> = SMatrix<f64, N, N>;
type Column<const N: usize> = SVector<f64, N>;

/// Solves the damped normal equations for the first `size` unknowns.
fn solve<const N: usize>(normal: &Square<N>, gradient: &Column<N>, size: usize, damping: f64) -> Column<N> {
    let mut lower = *normal;
    let mut step = *gradient;
    for i in 0..size {
        // The damping is relative to each unknown's own weight, plus a trifle so that an unknown without any
        // influence keeps still instead of dividing by zero.
        lower[(i, i)] += damping * normal[(i, i)] + 1e-9;
    }
    for j in 0..size {
        let mut pivot = lower[(j, j)];
        for k in 0..j {
            pivot -= lower[(j, k)] * lower[(j, k)];
        }
        let pivot = pivot.max(1e-18).sqrt();
        lower[(j, j)] = pivot;
        for i in j + 1..size {
            let mut sum = lower[(i, j)];
            for k in 0..j {
                sum -= lower[(i, k)] * lower[(j, k)];
            }
            lower[(i, j)] = sum / pivot;
        }
    }
    for i in 0..size {
        for k in 0..i {
            step[i] -= lower[(i, k)] * step[k];
        }
        step[i] /= lower[(i, i)];
    }
    for i in (0..size).rev() {
        for k in i + 1..size {
            step[i] -= lower[(k, i)] * step[k];
        }
        step[i] /= lower[(i, i)];
    }
    step
}

/// Most runs of a chain.
const MOST_RUNS: usize = MAX_TURNS + 1;

/// A chain of at most `R` runs laid out for one posture: the axis of each turn and the end.
pub(super) struct Walk<const R: usize = MOST_RUNS> {
    /// A point on the axis of each run, and its direction.
    pub(super) axes: [(Vector, Vector); R],
    /// Direction in which each turning element is drawn out.
    pub(super) draws: [Vector; R],
    at: Vector,
    towards: Vector,
}

impl<const R: usize> Walk<R> {
    pub(super) fn along(skeleton: &Skeleton<'_>, mut frame: Frame, posture: &Posture) -> Self {
        let mut axes = [(Vector::zeros(), Vector::zeros()); R];
        let mut draws = [Vector::zeros(); R];
        for (index, turn) in skeleton.turns().enumerate() {
            axes[index] = (frame.at, frame.z);
            frame.advance(posture.runs[index]);
            frame.turn(posture.turns[index]);
            let before = frame.z;
            frame.pass(turn, posture.draws[index]);
            draws[index] = if matches!(turn, Turn::Rigid { stretch_at_exit: true, .. }) { frame.z } else { before };
        }
        axes[skeleton.count] = (frame.at, frame.z);
        frame.advance(posture.runs[skeleton.count]);
        Self { axes, draws, at: frame.at, towards: frame.z }
    }

    /// Miss and misalignment, weighted.
    pub(super) fn error(&self, to: &Line, weights: [f64; 2]) -> SVector<f64, 6> {
        let miss = (self.at - to.at.coords) * weights[0];
        let lean = (self.towards + to.towards) * weights[1];
        SVector::<f64, 6>::new(miss.x, miss.y, miss.z, lean.x, lean.y, lean.z)
    }

    /// How the end shifts and changes direction with an unknown.
    pub(super) fn response(&self, unknown: Unknown) -> (Vector, Vector) {
        match unknown {
            Unknown::Turn(turn) => {
                let (point, axis) = self.axes[turn];
                (axis.cross(&(self.at - point)), axis.cross(&self.towards))
            }
            Unknown::Run(run) => (self.axes[run].1, Vector::zeros()),
            Unknown::Draw(turn) => (self.draws[turn], Vector::zeros()),
        }
    }

    fn normal_equations<const N: usize>(
        &self,
        unknowns: &[Unknown],
        error: &SVector<f64, 6>,
        weights: [f64; 2],
    ) -> (Square<N>, Column<N>) {
        let mut columns = [SVector::<f64, 6>::zeros(); N];
        for (column, unknown) in columns.iter_mut().zip(unknowns) {
            let (shift, lean) = self.response(*unknown);
            column.fixed_rows_mut::<3>(0).copy_from(&(shift * weights[0]));
            column.fixed_rows_mut::<3>(3).copy_from(&(lean * weights[1]));
        }
        let mut normal = Square::zeros();
        let mut gradient = Column::zeros();
        for i in 0..unknowns.len() {
            for j in 0..=i {
                normal[(i, j)] = columns[i].dot(&columns[j]);
            }
            gradient[i] = -columns[i].dot(error);
        }
        (normal, gradient)
    }

    pub(super) fn residual(&self, to: &Line) -> Residual {
        let miss = self.at - to.at.coords;
        let facing = -to.towards;
        let rad = self.towards.cross(&facing).norm().atan2(self.towards.dot(&facing));
        Residual { mm: miss.norm(), rad, miss }
    }
}
