//! How a closed chain can move about a posture, to first order exactly and to second order with bounds.
//!
//! The closure of a chain is a map `F` from its free choices (turns, adjustable lengths) to the miss at the second
//! port: three millimetres of place and three of direction, the latter scaled so that both allowances weigh alike. Its
//! columns, the derivatives by each free choice, are cross products; so are the second derivatives, and a column can
//! change no faster than the columns of the choices behind it are long. That gives bounds over a whole neighbourhood
//! from one posture, without sampling it.

use super::{
    Allowance,
    polish::{Residual, UNKNOWNS, Unknown, Walk, unknowns},
    skeleton::{Frame, Line, Posture, Skeleton, Turn},
};
use crate::geometry::Vector;
use nalgebra::{SMatrix, SVector};

/// A change of the free choices, in the order of [`Freedoms`]: radians of turns, and lengths in [`LENGTH_UNIT_MM`].
pub(crate) type Change = SVector<f64, UNKNOWNS>;

/// What one unit of a length is in a [`Change`]: as far as a radian of a turn moves a usual arm.
pub(crate) const LENGTH_UNIT_MM: f64 = 30.0;

type Miss = SVector<f64, 6>;

/// Closing one chain between two lines.
#[derive(Clone, Copy)]
pub(crate) struct Closing<'a> {
    pub(crate) skeleton: &'a Skeleton<'a>,
    pub(crate) from: &'a Line,
    pub(crate) to: &'a Line,
    pub(crate) allowance: &'a Allowance,
}

impl Closing<'_> {
    /// Millimetres that a radian of direction counts for.
    fn lean_mm(&self) -> f64 {
        self.allowance.mm / self.allowance.rad
    }

    /// Whether every change of length one moves the end by more than `least_mm`, to first order.
    pub(crate) fn is_rigid(&self, posture: &Posture, least_mm: f64) -> bool {
        Jet::at(self, &Freedoms::of(self.skeleton, false), posture).is_rigid(least_mm)
    }

    fn walk(&self, posture: &Posture) -> Walk {
        Walk::along(self.skeleton, Frame::at(self.from), posture)
    }

    /// How far a posture misses in place and direction together, in millimetres.
    pub(crate) fn weighted_miss(&self, posture: &Posture) -> f64 {
        self.walk(posture).error(self.to, [1.0, self.lean_mm()]).norm()
    }

    pub(crate) fn residual(&self, posture: &Posture) -> Residual {
        self.walk(posture).residual(self.to)
    }
}

/// The free choices of a chain, in order from the first port: what comes later moves nothing before it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Freedoms {
    list: [Unknown; UNKNOWNS],
    pub(crate) count: usize,
}

impl Freedoms {
    /// All of them, but for the first turn where `but_first`.
    pub(crate) fn of(skeleton: &Skeleton<'_>, but_first: bool) -> Self {
        let (mut list, count) = unknowns(skeleton, but_first.then_some(0));
        list[..count].sort_by_key(|unknown| place(*unknown));
        Self { list, count }
    }

    fn iter(&self) -> impl DoubleEndedIterator<Item = Unknown> + ExactSizeIterator {
        self.list[..self.count].iter().copied()
    }

    /// How many of them move a part that belongs to a run or a turning element, but for its own length.
    pub(crate) fn before(&self, element: Element) -> usize {
        let end = match element {
            Element::Turning(index) => 3 * index + 2,
            Element::Run(index) => 3 * index,
        };
        self.iter().take_while(|unknown| place(*unknown) < end).count()
    }

    /// The free length of an element, if it has one: it moves a part of its body along.
    pub(crate) fn own_length(&self, element: Element) -> Option<usize> {
        self.iter().position(|unknown| match (unknown, element) {
            (Unknown::Run(run), Element::Run(index)) => run == index,
            (Unknown::Draw(turn), Element::Turning(index)) => turn == index,
            _ => false,
        })
    }

    /// `posture` changed by `change`.
    pub(crate) fn apply(&self, posture: &Posture, change: &Change) -> Posture {
        let mut changed = *posture;
        for (unknown, by) in self.iter().zip(change.iter()) {
            match unknown {
                Unknown::Turn(turn) => changed.turns[turn] += by,
                Unknown::Run(run) => changed.runs[run] += by * LENGTH_UNIT_MM,
                Unknown::Draw(turn) => changed.draws[turn] += by * LENGTH_UNIT_MM,
            }
        }
        changed
    }

    /// The change from one posture to another, turns by the shorter way.
    pub(crate) fn between(&self, from: &Posture, to: &Posture) -> Change {
        let mut change = Change::zeros();
        for (slot, unknown) in change.iter_mut().zip(self.iter()) {
            *slot = match unknown {
                Unknown::Turn(turn) => {
                    let by = to.turns[turn] - from.turns[turn];
                    by - std::f64::consts::TAU * (by / std::f64::consts::TAU).round()
                }
                Unknown::Run(run) => (to.runs[run] - from.runs[run]) / LENGTH_UNIT_MM,
                Unknown::Draw(turn) => (to.draws[turn] - from.draws[turn]) / LENGTH_UNIT_MM,
            };
        }
        change
    }

    /// How far the lengths of a posture are outside what the parts can do, in units of a [`Change`].
    pub(crate) fn beyond(&self, skeleton: &Skeleton<'_>, posture: &Posture) -> f64 {
        let outside = |length: f64, shortest: f64, longest: f64| (shortest - length).max(length - longest).max(0.0);
        self.iter()
            .map(|unknown| match unknown {
                Unknown::Turn(_) => 0.0,
                Unknown::Run(run) => {
                    outside(posture.runs[run], skeleton.runs[run].shortest, skeleton.runs[run].longest)
                }
                Unknown::Draw(turn) => match skeleton.turns[turn] {
                    Turn::Rigid { stretch, .. } => outside(posture.draws[turn], 0.0, *stretch),
                    Turn::Bend { .. } => 0.0,
                },
            })
            .fold(0.0, f64::max)
            / LENGTH_UNIT_MM
    }
}

/// A run or a turning element of a chain, counted from the first port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Element {
    Run(usize),
    Turning(usize),
}

/// Where along the chain a free choice acts.
fn place(unknown: Unknown) -> usize {
    match unknown {
        Unknown::Run(run) => 3 * run,
        Unknown::Turn(turn) => 3 * turn + 1,
        Unknown::Draw(turn) => 3 * turn + 2,
    }
}

/// The principal directions of a jet, worked out in a square of so many rows. A macro, since the decomposition is not to be
/// had for a number of rows that a function is generic over.
macro_rules! principal {
    ($rows:expr, $jet:expr) => {{
        let (jet, n): (&Jet, usize) = ($jet, $jet.freedoms.count);
        let normal = SMatrix::<f64, { $rows }, { $rows }>::from_fn(|i, j| {
            // Rows without a free choice come last, and mix with no other.
            let pad = if i == j && i >= n { 1e12 } else { 0.0 };
            jet.columns[i].dot(&jet.columns[j]) + pad
        });
        let eigen = normal.symmetric_eigen();
        let mut order: Vec<usize> = (0..$rows).collect();
        order.sort_by(|a, b| eigen.eigenvalues[*a].total_cmp(&eigen.eigenvalues[*b]));
        order.truncate(n);
        let change = |index: usize| {
            let mut change = Change::zeros();
            change.rows_mut(0, n).copy_from(&eigen.eigenvectors.column(index).rows(0, n));
            (eigen.eigenvalues[index].max(0.0).sqrt(), change)
        };
        order.into_iter().map(change).collect()
    }};
}

/// The closure about one posture.
pub(crate) struct Jet {
    pub(crate) freedoms: Freedoms,
    walk: Walk,
    miss: Miss,
    columns: [Miss; UNKNOWNS],
    lean_mm: f64,
}

impl Jet {
    pub(crate) fn at(closing: &Closing<'_>, freedoms: &Freedoms, posture: &Posture) -> Self {
        let walk = closing.walk(posture);
        let lean_mm = closing.lean_mm();
        let mut columns = [Miss::zeros(); UNKNOWNS];
        for (column, unknown) in columns.iter_mut().zip(freedoms.iter()) {
            let (shift, lean) = walk.response(unknown);
            let unit = if matches!(unknown, Unknown::Turn(_)) { 1.0 } else { LENGTH_UNIT_MM };
            column.fixed_rows_mut::<3>(0).copy_from(&(shift * unit));
            column.fixed_rows_mut::<3>(3).copy_from(&(lean * lean_mm));
        }
        let miss = walk.error(closing.to, [1.0, lean_mm]);
        Self { freedoms: *freedoms, walk, miss, columns, lean_mm }
    }

    pub(crate) fn miss(&self) -> &Miss {
        &self.miss
    }

    /// Whether every change of length one moves the end by more than `least` millimetres, to first order.
    fn is_rigid(&self, least: f64) -> bool {
        let n = self.freedoms.count;
        let mut lower = [[0.0_f64; UNKNOWNS]; UNKNOWNS];
        // The products less `least` squared are positive definite just then, which a Cholesky factor shows.
        for i in 0..n {
            for j in 0..=i {
                let mut sum = self.columns[i].dot(&self.columns[j]);
                if i == j {
                    sum -= least * least;
                }
                sum -= (0..j).map(|k| lower[i][k] * lower[j][k]).sum::<f64>();
                if i == j {
                    if sum <= 0.0 {
                        return false;
                    }
                    lower[i][i] = sum.sqrt();
                } else {
                    lower[i][j] = sum / lower[j][j];
                }
            }
        }
        true
    }

    /// Directions in which the end moves least first, and how far it moves in each, in millimetres for a change of length
    /// one.
    pub(crate) fn principal(&self) -> Vec<(f64, Change)> {
        // Most chains have few free choices, and the work grows with the cube of the room for them.
        match self.freedoms.count {
            ..=4 => principal!(4, self),
            5 => principal!(5, self),
            _ => principal!(UNKNOWNS, self),
        }
    }

    /// The change square to `tangent` that leaves the least miss, to first order.
    pub(crate) fn least_squares(&self, tangent: &Change) -> Change {
        match self.freedoms.count {
            ..=4 => self.least_squares_in::<4>(tangent),
            5 => self.least_squares_in::<5>(tangent),
            _ => self.least_squares_in::<UNKNOWNS>(tangent),
        }
    }

    fn least_squares_in<const N: usize>(&self, tangent: &Change) -> Change {
        let along = self.along(tangent);
        // What goes along the tangent is taken out of the columns, and a weight along it keeps the step square to it.
        let square: [Miss; N] = std::array::from_fn(|i| self.columns[i] - along * tangent[i]);
        let weight: f64 = square.iter().map(Miss::norm_squared).sum::<f64>().max(1.0);
        let n = self.freedoms.count;
        let normal = SMatrix::<f64, N, N>::from_fn(|i, j| {
            let pad = if i == j && i >= n { 1.0 } else { 0.0 };
            square[i].dot(&square[j]) + weight * tangent[i] * tangent[j] + pad
        });
        let slope = SVector::<f64, N>::from_fn(|i, _| -square[i].dot(&self.miss));
        let mut change = Change::zeros();
        if let Some(factor) = normal.cholesky() {
            change.fixed_rows_mut::<N>(0).copy_from(&factor.solve(&slope));
        }
        change
    }

    /// The linear part of the closure for a change.
    fn along(&self, change: &Change) -> Miss {
        self.columns.iter().zip(change.iter()).map(|(column, by)| column * *by).sum()
    }

    /// How much of the second derivative along `change` no first derivative makes up for, in millimetres. `stiff` are the
    /// principal directions that move the end, with how far.
    pub(crate) fn curvature(&self, change: &Change, stiff: &[(f64, Change)]) -> f64 {
        let mut left = self.second(change);
        for (effect, direction) in stiff {
            let towards = self.along(direction) / *effect;
            left -= towards * towards.dot(&left);
        }
        left.norm()
    }

    /// How far along `change`, which is of length one, the second derivative makes up for the first, so that another posture
    /// closes there to second order; `None` if it never does. What the changes other than the `soft` ones can make up for
    /// does not count; those are principal directions, and `change` is made of them.
    pub(crate) fn bends_back(&self, change: &Change, soft: &[Change]) -> Option<f64> {
        let (first, second) = (self.along(change), self.second(change));
        let bend = soft
            .iter()
            .map(|soft| self.along(soft).normalize())
            .fold(Miss::zeros(), |bend, towards| bend + towards * towards.dot(&second));
        (first.dot(&bend) < 0.0).then(|| 2.0 * first.norm() / bend.norm())
    }

    /// The second derivative of the closure along `change`.
    pub(crate) fn second(&self, change: &Change) -> Miss {
        let mut sum = Miss::zeros();
        let mut behind = Miss::zeros();
        for (index, unknown) in self.freedoms.iter().enumerate().rev() {
            let own = self.columns[index] * change[index];
            if let Unknown::Turn(turn) = unknown {
                let axis = self.walk.axes[turn].1 * change[index];
                let all = own + behind * 2.0;
                let (place, lean) = (all.fixed_rows::<3>(0).into_owned(), all.fixed_rows::<3>(3).into_owned());
                let mut turned = sum.fixed_rows_mut::<3>(0);
                turned += axis.cross(&place);
                let mut leaned = sum.fixed_rows_mut::<3>(3);
                leaned += axis.cross(&lean);
            }
            behind += own;
        }
        sum
    }

    /// Bounds on the length of each column while no free choice changes by more than `deltas`.
    pub(crate) fn column_bounds(&self, deltas: &Change) -> Change {
        let mut bounds = Change::zeros();
        let (mut places, mut leans) = (0.0, 0.0);
        for (index, unknown) in self.freedoms.iter().enumerate().rev() {
            let (place, lean) = match unknown {
                Unknown::Turn(_) => {
                    let column = &self.columns[index];
                    let lean = column.fixed_rows::<3>(3).norm() + leans;
                    (column.fixed_rows::<3>(0).norm() + places, lean.min(self.lean_mm))
                }
                Unknown::Run(_) | Unknown::Draw(_) => (LENGTH_UNIT_MM, 0.0),
            };
            bounds[index] = place.hypot(lean);
            places += deltas[index] * place;
            leans += deltas[index] * lean;
        }
        bounds
    }

    /// The axis of a turn, or the direction of a length: a point on it and its direction.
    pub(crate) fn axis(&self, freedom: usize) -> (bool, Vector, Vector) {
        match self.freedoms.list[freedom] {
            Unknown::Turn(turn) => (true, self.walk.axes[turn].0, self.walk.axes[turn].1),
            Unknown::Run(run) => (false, self.walk.axes[run].0, self.walk.axes[run].1),
            Unknown::Draw(turn) => (false, Vector::zeros(), self.walk.draws[turn]),
        }
    }
}
