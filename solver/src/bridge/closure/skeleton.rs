//! A chain reduced to lengths and angles, and where its parts are for given turns.

use super::span::{Span, grains};
use crate::geometry::{Point, Pose, Vector};
use nalgebra::Matrix3;

/// Most turning parts in one chain. Chains of more bends than five are only sampled anyway, and no enclosure that
/// needs this tool has room for eight.
pub(crate) const MAX_TURNS: usize = 8;

/// A port as a line: where it is, which way it faces, and a direction square to that from which turns about it are
/// counted. Both directions are of length one.
///
/// The mark turns with the layout, so that everything which is tried turn by turn is tried at the same places however
/// the layout stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Line {
    pub(crate) at: Point,
    pub(crate) towards: Vector,
    pub(crate) mark: Vector,
}

impl Line {
    /// How far along its axis and beside it another port is.
    pub(crate) fn beyond(&self, other: &Self) -> [f64; 2] {
        let delta = other.at - self.at;
        let ahead = delta.dot(&self.towards);
        [ahead, (delta - self.towards * ahead).norm()]
    }
}

/// How the centreline runs through a part that is not straight, from the entry seat to the exit seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Turn {
    /// A leg, one bend, a leg.
    Bend { leg_in: f64, cos: f64, sin: f64, leg_out: f64 },
    /// Any rigid way from entry to exit, with an exit leg (or entry leg) that may be drawn out.
    Rigid { rotation: Matrix3<f64>, shift: Vector, stretch: f64, stretch_at_exit: bool },
}

impl Turn {
    pub(crate) fn bend(leg_in: f64, angle: f64, leg_out: f64) -> Self {
        Self::Bend { leg_in, cos: angle.cos(), sin: angle.sin(), leg_out }
    }

    pub(crate) fn rigid(through: Pose, stretch: f64, stretch_at_exit: bool) -> Self {
        Self::Rigid {
            rotation: through.rotation.to_rotation_matrix().into_inner(),
            shift: through.translation.vector,
            stretch,
            stretch_at_exit,
        }
    }

    /// Whether it is a single bend in the plane of its legs.
    pub(crate) fn is_bend(&self) -> bool {
        matches!(self, Self::Bend { .. })
    }

    /// How far the exit lies beside the entry axis.
    pub(crate) fn sideways(&self) -> (f64, f64) {
        match self {
            Self::Bend { sin, leg_out, .. } => (sin * leg_out, 0.0),
            Self::Rigid { shift, .. } => (shift.x, shift.y),
        }
    }

    /// How far the frame behind a part with parallel ends is turned against that before it, in radians, the same way round
    /// as the part's own turn.
    pub(crate) fn twist(&self) -> f64 {
        match self {
            Self::Bend { .. } => 0.0,
            Self::Rigid { rotation, .. } => rotation[(1, 0)].atan2(rotation[(0, 0)]),
        }
    }

    /// Length along the axis and step aside of a part whose ends are parallel and face away from each other, and
    /// that cannot be drawn out.
    pub(crate) fn offset(&self) -> Option<(f64, f64)> {
        match self {
            Self::Rigid { rotation, shift, stretch, .. } if *stretch == 0.0 && rotation[(2, 2)] > 1.0 - 1e-12 => {
                Some((shift.z, shift.x.hypot(shift.y)))
            }
            _ => None,
        }
    }

    /// Cosine of the angle between the entry and the exit direction.
    pub(crate) fn cos(&self) -> f64 {
        match self {
            Self::Bend { cos, .. } => *cos,
            Self::Rigid { rotation, .. } => rotation[(2, 2)],
        }
    }

    /// Cosine and sine of that angle.
    pub(crate) fn angle(&self) -> (f64, f64) {
        match self {
            Self::Bend { cos, sin, .. } => (*cos, *sin),
            Self::Rigid { rotation, .. } => (rotation[(2, 2)], rotation[(0, 2)].hypot(rotation[(1, 2)])),
        }
    }

    /// Lengths before and after the corner of a bend.
    pub(crate) fn legs(&self) -> (f64, f64) {
        match self {
            Self::Bend { leg_in, leg_out, .. } => (*leg_in, *leg_out),
            Self::Rigid { .. } => (0.0, 0.0),
        }
    }

    /// How far the exit can lie from the entry.
    pub(crate) fn reach(&self) -> f64 {
        match self {
            Self::Bend { leg_in, leg_out, .. } => leg_in + leg_out,
            Self::Rigid { shift, stretch, .. } => shift.norm() + stretch,
        }
    }

    /// Equal for turns that differ at most in the lengths of a bend's legs: to the last bit, so that what closes with
    /// the one closes with the other.
    pub(crate) fn shape(&self) -> Vec<u64> {
        match self {
            Self::Bend { cos, sin, .. } => vec![cos.to_bits(), sin.to_bits()],
            Self::Rigid { rotation, shift, stretch, stretch_at_exit } => (rotation.iter().chain(shift.iter()))
                .chain([stretch])
                .map(|number| number.to_bits())
                .chain([u64::from(*stretch_at_exit)])
                .collect(),
        }
    }

    /// A whole-number key under which equal turns sort together.
    pub(crate) fn key(&self) -> Vec<i64> {
        match self {
            Self::Bend { leg_in, cos, sin, leg_out } => {
                vec![0, grains(*leg_in), grains(sin.atan2(*cos)), grains(*leg_out)]
            }
            Self::Rigid { rotation, shift, stretch, stretch_at_exit } => rotation
                .iter()
                .chain(shift.iter())
                .map(|number| grains(*number))
                .chain([grains(*stretch), i64::from(*stretch_at_exit)])
                .collect(),
        }
    }
}

/// A chain without names: `count` turning elements with a run of straight length before, between and after them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Skeleton<'t> {
    pub(crate) count: usize,
    pub(crate) turns: [&'t Turn; MAX_TURNS],
    /// Straight parts only: the legs belong to the turns.
    pub(crate) runs: [Span; MAX_TURNS + 1],
    /// The length at which each run is tried.
    pub(crate) tried: [f64; MAX_TURNS + 1],
}

static STRAIGHT: Turn = Turn::Bend { leg_in: 0.0, cos: 1.0, sin: 0.0, leg_out: 0.0 };

impl<'t> Skeleton<'t> {
    /// The skeleton without any turn or run.
    pub(crate) const EMPTY: Self = Self {
        count: 0,
        turns: [&STRAIGHT; MAX_TURNS],
        runs: [Span { shortest: 0.0, longest: 0.0 }; MAX_TURNS + 1],
        tried: [0.0; MAX_TURNS + 1],
    };

    /// The turning elements.
    pub(crate) fn turns(&self) -> impl Iterator<Item = &'t Turn> + Clone + use<'t> {
        self.turns.into_iter().take(self.count)
    }

    /// Where the bends have their corners in a posture, in order; other turning elements have none.
    pub(crate) fn corners(&self, from: &Line, posture: &Posture) -> impl Iterator<Item = Vector> + use<'t> {
        let mut frame = Frame::at(from);
        let (turns, runs, draws) = (posture.turns, posture.runs, posture.draws);
        self.turns().enumerate().filter_map(move |(index, turn)| {
            frame.advance(runs[index]);
            frame.turn(turns[index]);
            let corner = frame.at + frame.z * turn.legs().0;
            frame.pass(turn, draws[index]);
            turn.is_bend().then_some(corner)
        })
    }

    /// The posture with these turns and every adjustable run at its tried length.
    pub(crate) fn posture(&self, turns: &[f64]) -> Posture {
        let mut posture = Posture { turns: [0.0; MAX_TURNS], runs: self.tried, draws: [0.0; MAX_TURNS] };
        posture.turns[..turns.len()].copy_from_slice(turns);
        for (draw, turn) in posture.draws.iter_mut().zip(self.turns()) {
            if let Turn::Rigid { stretch, .. } = turn {
                *draw = stretch / 2.0;
            }
        }
        posture
    }

    /// The posture whose runs follow `directions`: that of the run after each bend. Parts with parallel ends are
    /// turned so that they step towards `asides`, in order.
    pub(crate) fn posture_along(&self, from: &Line, directions: &[Vector], asides: &[Vector]) -> Posture {
        let mut frame = Frame::at(from);
        let mut turns = [0.0; MAX_TURNS];
        let (mut directions, mut asides) = (directions.iter(), asides.iter());
        for (index, turn) in self.turns().enumerate() {
            let Some(target) = (if turn.is_bend() { directions.next() } else { asides.next() }) else { break };
            let (x, y) = turn.sideways();
            turns[index] = target.dot(&frame.y).atan2(target.dot(&frame.x)) - y.atan2(x);
            frame.turn(turns[index]);
            frame.pass(turn, 0.0);
        }
        self.posture(&turns[..self.count])
    }
}

/// The free choices of a chain: the turn of each turning element against the one before, in radians, the length of
/// each run, and how far each adjustable turning element is drawn out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Posture {
    pub(crate) turns: [f64; MAX_TURNS],
    pub(crate) runs: [f64; MAX_TURNS + 1],
    pub(crate) draws: [f64; MAX_TURNS],
}

/// A frame that walks along a chain, `z` ahead.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(crate) at: Vector,
    pub(crate) x: Vector,
    pub(crate) y: Vector,
    pub(crate) z: Vector,
}

impl Frame {
    /// The frame at a port, `x` along its mark.
    pub(crate) fn at(line: &Line) -> Self {
        Self { at: line.at.coords, x: line.mark, y: line.towards.cross(&line.mark), z: line.towards }
    }

    /// Steps ahead.
    #[inline]
    pub(crate) fn advance(&mut self, length: f64) {
        self.at += self.z * length;
    }

    /// Turns about the way ahead.
    #[inline]
    pub(crate) fn turn(&mut self, angle: f64) {
        let (sin, cos) = angle.sin_cos();
        (self.x, self.y) = (self.x * cos + self.y * sin, self.y * cos - self.x * sin);
    }

    /// Goes through a turning element drawn out by `draw`.
    #[inline]
    pub(crate) fn pass(&mut self, turn: &Turn, draw: f64) {
        match turn {
            Turn::Bend { leg_in, cos, sin, leg_out } => {
                self.at += self.z * *leg_in;
                (self.x, self.z) = (self.x * *cos - self.z * *sin, self.z * *cos + self.x * *sin);
                self.at += self.z * *leg_out;
            }
            Turn::Rigid { rotation, shift, stretch_at_exit, .. } => {
                if !stretch_at_exit {
                    self.advance(draw);
                }
                self.at += self.x * shift.x + self.y * shift.y + self.z * shift.z;
                let columns = [0, 1, 2].map(|column| {
                    self.x * rotation[(0, column)] + self.y * rotation[(1, column)] + self.z * rotation[(2, column)]
                });
                [self.x, self.y, self.z] = columns;
                if *stretch_at_exit {
                    self.advance(draw);
                }
            }
        }
    }
}
