//! Which way a chain gives, from its Jacobian, and how far in truth.

use super::{build::Place, error::PortError};
use crate::{
    bridge::closure::{Frame, Posture, polish, residual, responses},
    geometry::Vector,
};
use nalgebra::{DMatrix, Matrix3, Matrix6, Vector6};

/// How far limits are looked for, in millimetres: far beyond what a hole is ever out of place.
pub const SEARCHED_MM: f64 = 5.0;

/// How far the second port may be out of place along one direction, everything else as drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// The direction in the layout's axes, of length one.
    pub towards: [f64; 3],
    /// How far along it the chain still closes, in millimetres; [`SEARCHED_MM`] stands for that and more.
    pub ahead_mm: f64,
    /// How far against it, likewise.
    pub back_mm: f64,
    /// Share of a small shift along it that the swivels and adjustable lengths cannot take up, from 0 to 1.
    pub remains: f64,
}

/// A turn that counts as a small step, in radians. A direction that only larger turns could absorb is taken as one
/// that is not: the Jacobian says nothing about so large a turn.
const TURN_STEP: f64 = 0.5;

/// Values that differ by less than this share one answer, and their directions are laid along the layout's axes.
const ALIKE: f64 = 0.01;

/// Steps of the search for a limit, and of narrowing it down: 0.25 mm, then to a thousandth of that.
const STEPS: u32 = 20;
const HALVINGS: u32 = 10;

/// What a chain absorbs to first order.
pub(super) struct Absorbed {
    /// Takes a misfit (place, then direction, each over its allowance) to what remains of it.
    remainder: Matrix6<f64>,
    /// The misfit as drawn.
    drawn: Vector6<f64>,
}

impl Absorbed {
    pub(super) fn new(place: &Place<'_>) -> Self {
        let responses = responses(&place.skeleton, &place.from, &place.posture);
        let mut remainder = Matrix6::identity();
        if !responses.is_empty() {
            let columns: Vec<Vector6<f64>> = responses
                .iter()
                .map(|response| {
                    let step = response.stretch.unwrap_or(TURN_STEP);
                    misfit(place, &response.shift, &response.lean) * step
                })
                .collect();
            let steps = DMatrix::from_fn(6, columns.len(), |row, column| columns[column][row]);
            let svd = steps.svd(true, false);
            // What is square to every answer of one allowance or more is the left null space, and remains.
            if let Some(answers) = svd.u {
                for (answer, size) in answers.column_iter().zip(&svd.singular_values) {
                    if *size >= 1.0 {
                        let answer = Vector6::from_fn(|row, _| answer[row]);
                        remainder -= answer * answer.transpose();
                    }
                }
            }
        }
        let drawn = residual(&place.skeleton, &place.from, &place.to, &place.posture);
        let end = end_direction(place);
        Self { remainder, drawn: misfit(place, &drawn.miss, &(end + place.to.towards)) }
    }

    /// Whether the chain closes with these errors of the ports, to first order.
    pub(super) fn closes(&self, place: &Place<'_>, errors: &[PortError; 2]) -> bool {
        let to = place.moved(&place.relative(errors));
        let more = misfit(place, &(place.to.at - to.at), &(to.towards - place.to.towards));
        let left = self.remainder * (self.drawn + more);
        left.fixed_rows::<3>(0).norm() <= 1.0 && left.fixed_rows::<3>(3).norm() <= 1.0
    }
}

/// Three directions square to each other, the one absorbed least first, with how far each may be out.
pub(super) fn principal(place: &Place<'_>, absorbed: &Absorbed) -> Vec<Direction> {
    let shifts: Matrix3<f64> = absorbed.remainder.fixed_view::<3, 3>(0, 0).into_owned();
    let eigen = shifts.symmetric_eigen();
    let mut pairs: Vec<(f64, Vector)> = eigen
        .eigenvalues
        .iter()
        .copied()
        .zip(eigen.eigenvectors.column_iter().map(|column| column.into_owned()))
        .collect();
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs
        .chunk_by(|a, b| a.0 - b.0 < ALIKE)
        .flat_map(|alike| {
            let value = alike.iter().map(|(value, _)| value).sum::<f64>() / alike.len().max(1) as f64;
            let space: Vec<Vector> = alike.iter().map(|(_, direction)| *direction).collect();
            nearest_axes(&space).into_iter().map(move |direction| (value, direction))
        })
        .map(|(value, direction)| Direction {
            towards: direction.into(),
            ahead_mm: limit(place, &direction),
            back_mm: limit(place, &-direction),
            remains: value.clamp(0.0, 1.0).sqrt(),
        })
        .collect()
}

/// The layout's axes, with how far along each the second port may be out.
pub(super) fn along_axes(place: &Place<'_>, absorbed: &Absorbed) -> [Direction; 3] {
    let shifts = absorbed.remainder.fixed_view::<3, 3>(0, 0);
    [Vector::x(), Vector::y(), Vector::z()].map(|axis| Direction {
        towards: axis.into(),
        ahead_mm: limit(place, &axis),
        back_mm: limit(place, &-axis),
        remains: (shifts * axis).norm().min(1.0),
    })
}

/// The directions that span the same space and lie as near to the layout's axes as they can, each pointing to the
/// positive side of the axis that it is nearest to.
fn nearest_axes(space: &[Vector]) -> Vec<Vector> {
    let mut found: Vec<Vector> = Vec::with_capacity(space.len());
    for _ in space {
        let inside = |axis: Vector| {
            let within: Vector = space.iter().map(|direction| *direction * direction.dot(&axis)).sum();
            within - found.iter().map(|done| *done * done.dot(&within)).sum::<Vector>()
        };
        let best = [Vector::x(), Vector::y(), Vector::z()]
            .map(inside)
            .into_iter()
            .reduce(|best, other| if other.norm() > best.norm() + 1e-9 { other } else { best });
        if let Some(direction) = best.and_then(|best| best.try_normalize(1e-12)) {
            found.push(if direction[direction.iamax()] < 0.0 { -direction } else { direction });
        }
    }
    found
}

/// How far the second port can be shifted along `direction` until the chain does not close.
fn limit(place: &Place<'_>, direction: &Vector) -> f64 {
    let close = |mm: f64, start: &Posture| {
        let to = place.moved(&place.relative(&[PortError::NONE, PortError::shifted(direction * mm)]));
        let mut posture = *start;
        let residual = polish(&place.skeleton, &place.from, &to, &place.allowance, &mut posture, None);
        residual.within(&place.allowance).then_some(posture)
    };
    let Some(mut posture) = close(0.0, &place.posture) else { return 0.0 };
    let step = SEARCHED_MM / f64::from(STEPS);
    let mut low = 0.0;
    for _ in 0..STEPS {
        match close(low + step, &posture) {
            Some(next) => (low, posture) = (low + step, next),
            None => break,
        }
    }
    if low >= SEARCHED_MM - step / 2.0 {
        return SEARCHED_MM;
    }
    let mut high = low + step;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        match close(middle, &posture) {
            Some(next) => (low, posture) = (middle, next),
            None => high = middle,
        }
    }
    low
}

/// A misfit of place and direction, each over its allowance.
fn misfit(place: &Place<'_>, shift: &Vector, lean: &Vector) -> Vector6<f64> {
    let (shift, lean) = (shift / place.allowance.mm, lean / place.allowance.rad);
    Vector6::new(shift.x, shift.y, shift.z, lean.x, lean.y, lean.z)
}

/// Which way the end of the chain looks as drawn.
fn end_direction(place: &Place<'_>) -> Vector {
    let mut frame = Frame::at(&place.from);
    for (index, turn) in place.skeleton.turns().enumerate() {
        frame.turn(place.posture.turns[index]);
        frame.pass(turn, place.posture.draws[index]);
    }
    frame.z
}
