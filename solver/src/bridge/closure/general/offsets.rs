//! Bends and two or more offsets: with the directions of the runs known, or known up to one free turn, the steps of the last
//! two offsets follow.

use super::{
    super::{
        roots::{Branches, STOPS, SinCos, fine_roots, stops},
        shifted::two_cones,
        skeleton::{Line, MAX_TURNS, Posture},
        twin::{First, Twin},
    },
    Directed, SAMPLE_SHIFTS, SHIFT_STOPS, STOP,
};
use crate::geometry::Vector;
use std::f64::consts::TAU;

/// How much further than the allowance two bends may be from their last direction at a stop, in cosine: chains whose bends
/// only just do it would otherwise pass between two stops.
const SPARE_LEAN: f64 = 0.02;

impl Directed<'_> {
    /// Chooses the steps of two or more offsets for given directions of the runs, which may be off by `gap` radians:
    /// all but the last two are combed.
    pub(super) fn steps(&self, directions: &[Vector], gap: f64, finish: &mut impl FnMut(Posture)) {
        let Some(rest) = self.rest(directions) else { return };
        let (free, last) = self.offsets[..self.shifters].split_at(self.shifters - 2);
        let run = |(run, _): &(usize, f64)| if *run == 0 { self.from.towards } else { directions[run - 1] };
        let twin = Twin { runs: [run(&last[0]), run(&last[1])], steps: [last[0].1, last[1].1] };
        // Chains of more shifters are only sampled.
        let stops = if free.len() <= 3 { SHIFT_STOPS } else { SAMPLE_SHIFTS };
        let combed: f64 = free.iter().map(|(_, step)| step * TAU / f64::from(stops) / 2.0).sum();
        let play = self.play + gap * self.reach + combed;
        #[expect(clippy::cast_possible_truncation, reason = "at most MAX_TURNS")]
        let combinations = stops.pow(free.len() as u32);
        for mut combination in 0..combinations {
            let mut asides = [Vector::zeros(); MAX_TURNS];
            let mut rest = rest;
            for (aside, offset) in asides.iter_mut().zip(free) {
                let (sin, cos) = (TAU * f64::from(combination % stops) / f64::from(stops)).sin_cos();
                combination /= stops;
                let run = run(offset);
                // Counted from the port's mark, as far as it shows across this run.
                let u = self.from.mark - run * self.from.mark.dot(&run);
                let u = if u.norm() > 1e-3 { u.normalize() } else { self.from.towards.cross(&run).normalize() };
                *aside = (u * cos + run.cross(&u) * sin) * offset.1;
                rest -= *aside;
            }
            twin.steps(&rest, play, |last| {
                asides[free.len()..self.shifters].copy_from_slice(&last);
                finish(self.skeleton.posture_along(self.from, directions, &asides[..self.shifters]));
            });
        }
    }

    /// Three bends and two offsets: the direction after the first bend is combed and, since that says little of the next
    /// one where it comes near the last direction, the one before the last bend as well.
    pub(super) fn twin_of_three(&self, [first, second, third]: [(f64, f64); 3], finish: &mut impl FnMut(Posture)) {
        let (a, exit) = (self.from.towards, self.exit);
        let lean = self.lean + SPARE_LEAN;
        let ahead = Ring::about(self.from, first);
        self.twin(
            |turn| {
                let one = ahead.at(turn);
                let pair = two_cones(&one, second.0, &exit, third.0, lean);
                pair.map_or([None; 2], |pair| pair.map(|two| Some([one, two, exit])))
            },
            finish,
        );
        if ahead.comes_near(&exit) {
            let behind = Ring::about(self.to, third);
            self.twin(
                |turn| {
                    let two = -behind.at(turn);
                    let pair = two_cones(&two, second.0, &a, first.0, lean);
                    pair.map_or([None; 2], |pair| pair.map(|one| Some([one, two, exit])))
                },
                finish,
            );
        }
    }

    /// Two offsets in a chain whose directions have one free turn: `ways` gives up to two choices of all directions for it.
    /// For each of these, two choices of steps satisfy all but one equation; its roots are looked for along the turn.
    pub(super) fn twin(&self, ways: impl Fn(SinCos) -> [Option<[Vector; 3]>; 2], finish: &mut impl FnMut(Posture)) {
        let a = self.from.towards;
        let [(run_one, step_one), (run_two, step_two), ..] = self.offsets;
        let steps = [step_one, step_two];
        let laid = |turn: SinCos| {
            ways(turn).map(|directions| {
                let directions = directions?;
                Some((directions, self.rest(&directions[..self.bender_count])?))
            })
        };
        let at = |turn: SinCos| {
            let mut branches: Branches<([Vector; 3], [Vector; 2]), 8> = [None; 8];
            for (way, branches) in laid(turn).into_iter().zip(branches.chunks_exact_mut(4)) {
                let Some((directions, rest)) = way else { continue };
                let run = |run: usize| if run == 0 { a } else { directions[run - 1] };
                let twin = Twin { runs: [run(run_one), run(run_two)], steps };
                for (equation, branches) in
                    [First::Distance, First::Square].into_iter().zip(branches.chunks_exact_mut(2))
                {
                    // In one run, the equation of the square holds for every turn or for none.
                    if equation == First::Square && run_one == run_two {
                        continue;
                    }
                    for (found, branch) in twin.branches(equation, &rest, self.play).into_iter().zip(branches) {
                        *branch = found.map(|(miss, steps)| (miss / self.reach, (directions, steps)));
                    }
                }
            }
            branches
        };
        // The steps are short, so that they may make up what is left over for a small part of a stop only.
        let rests = stops().map(|turn| laid(turn).map(|way| way.map(|(_, rest)| rest)));
        let joined = |one: Option<Vector>, other: Option<Vector>| match (one, other) {
            (Some(one), Some(other)) => {
                one.norm().min(other.norm()) <= self.aside + self.play + 2.0 * (other - one).norm()
            }
            // Where a way ends, directions change as the square root of the turn.
            (Some(one), None) | (None, Some(one)) => {
                one.norm() <= self.aside + self.play + (2.0 * STOP).sqrt() * self.reach
            }
            (None, None) => false,
        };
        let alive = std::array::from_fn(|stop| {
            let here = &rests[stop];
            [(stop + 1) % STOPS, (stop + STOPS - 1) % STOPS]
                .iter()
                .any(|next| here.iter().zip(&rests[*next]).any(|(one, other)| joined(*one, *other)))
        });
        fine_roots(&alive, at, |_, (directions, steps)| {
            finish(self.skeleton.posture_along(self.from, &directions[..self.bender_count], &steps));
        });
    }
}

/// The directions that a bend can give to the run beside a port.
pub(super) struct Ring {
    along: Vector,
    u: Vector,
    v: Vector,
}

impl Ring {
    /// About a port's axis, at the angle of a bend of this cosine and sine.
    pub(super) fn about(port: &Line, (cos, sin): (f64, f64)) -> Self {
        Self { along: port.towards * cos, u: port.mark * sin, v: port.towards.cross(&port.mark) * sin }
    }

    pub(super) fn at(&self, (sin, cos): SinCos) -> Vector {
        self.along + self.u * cos + self.v * sin
    }

    /// Whether some of them are within half a radian of being in line with `axis`.
    fn comes_near(&self, axis: &Vector) -> bool {
        let (along, across) = (self.along.dot(axis), f64::hypot(self.u.dot(axis), self.v.dot(axis)));
        along.abs() + across >= NEARLY_IN_LINE
    }
}

/// Cosine of half a radian.
const NEARLY_IN_LINE: f64 = 0.877_582_561_890_372_8;
