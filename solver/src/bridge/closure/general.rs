//! Any chain: offsets, parts with several bends, adjustable bends, and more bends than the closed forms take.
//!
//! Directions first: parts whose ends are not parallel ("benders") decide the directions of all runs; parts with
//! parallel ends ("shifters") only move the end sideways, each by a fixed distance in a free direction. Up to two
//! benders with up to four shifters, none with five, three with one, and three bends with two offsets are combed without gaps; what
//! lies beyond is sampled, and the caller is told so.

mod offsets;

use self::offsets::Ring;
use super::{
    Allowance,
    few::{COMB, Cones, at_angle, corner_play},
    polish::{Residual, polish},
    roots::{STOPS, stops},
    shifted::two_cones,
    skeleton::{Frame, Line, MAX_TURNS, Posture, Skeleton, Turn},
};
use crate::geometry::Vector;
use std::f64::consts::TAU;

/// From one stop of the comb over a free turn to the next, in radians.
const STOP: f64 = TAU / STOPS as f64;

/// Stops of a comb over the free turn of a shifter.
const SHIFT_STOPS: u32 = 16;

/// Stops of the coarse comb over the first turn of a chain that is only sampled, over its first shifter, and how many
/// stops with room for the shifters are looked at.
const SAMPLE_STOPS: u32 = 12;
const SAMPLE_SHIFTS: u32 = 6;
const SAMPLE_ROOMS: u32 = 2;
const SAMPLE_GAP: f64 = TAU / 48.0;

/// Random starts for a chain that is only sampled: more find more and cost as much more.
const STARTS: u32 = 96;

/// Sine below which the ends of a part count as parallel.
const PARALLEL: f64 = 1e-6;

/// Whether [`general`] considers every posture of such a chain or only samples.
pub(crate) fn is_exhaustive(skeleton: &Skeleton<'_>) -> bool {
    let benders = skeleton.turns().filter(|turn| bends(turn)).count();
    let shifters = skeleton.count - benders;
    benders <= 2 && shifters <= 4
        || benders == 0 && shifters == 5
        || benders == 3 && shifters <= 1
        || benders == 3 && shifters == 2 && is_plain(skeleton) && is_fixed(skeleton)
}

/// Whether all its parts are bends and offsets.
fn is_plain(skeleton: &Skeleton<'_>) -> bool {
    skeleton.turns().all(|turn| turn.is_bend() || turn.offset().is_some())
}

/// Whether no run can be drawn out.
fn is_fixed(skeleton: &Skeleton<'_>) -> bool {
    skeleton.runs[..=skeleton.count].iter().all(|run| run.is_fixed())
}

fn bends(turn: &Turn) -> bool {
    let cos = turn.cos();
    1.0 - cos * cos > PARALLEL * PARALLEL
}

/// Offers postures that may close, each already polished and within the allowance, until `offer` wants no more of them.
pub(crate) fn general(
    skeleton: &Skeleton<'_>,
    from: &Line,
    to: &Line,
    allowance: &Allowance,
    mut offer: impl FnMut(Posture, Residual) -> bool,
) {
    let mut enough = false;
    let mut finish = |mut posture: Posture| {
        if enough {
            return;
        }
        let residual = polish(skeleton, from, to, allowance, &mut posture, None);
        if residual.within(allowance) {
            enough = !offer(posture, residual);
        }
    };
    let search = Directed::new(skeleton, from, to, allowance);
    if search.bender_count <= 3 {
        search.run(&mut finish);
    }
    if !is_exhaustive(skeleton) {
        sampled(skeleton, &mut finish);
    }
}

/// Seeded random turns: the same on every run.
fn sampled(skeleton: &Skeleton<'_>, finish: &mut impl FnMut(Posture)) {
    // A splitmix generator: starts only need to be spread out and the same on every run.
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut turn = || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let unit = (mixed >> 11) as f64 / (1_u64 << 53) as f64;
        unit * TAU
    };
    for _ in 0..STARTS {
        let mut turns = [0.0; MAX_TURNS];
        turns[..skeleton.count].iter_mut().for_each(|slot| *slot = turn());
        finish(skeleton.posture(&turns[..skeleton.count]));
    }
}

/// The search over directions.
struct Directed<'a> {
    skeleton: &'a Skeleton<'a>,
    from: &'a Line,
    to: &'a Line,
    exit: Vector,
    play: f64,
    lean: f64,
    /// Cosine and sine of the benders, in order.
    benders: [(f64, f64); MAX_TURNS],
    bender_count: usize,
    shifters: usize,
    /// Length of the chain laid out straight.
    reach: f64,
    /// Sum of the sideways steps of the shifters.
    aside: f64,
    sign: f64,
    /// Where all parts are bends and offsets: the run that each offset sits in and how far it steps aside, and each
    /// run's length from corner to corner.
    offsets: [(usize, f64); MAX_TURNS],
    lengths: [f64; MAX_TURNS + 1],
    is_plain: bool,
}

impl<'a> Directed<'a> {
    fn new(skeleton: &'a Skeleton<'a>, from: &'a Line, to: &'a Line, allowance: &Allowance) -> Self {
        let mut benders = [(1.0, 0.0); MAX_TURNS];
        let mut bender_count = 0;
        let mut sign = 1.0;
        let mut shifters = 0;
        let mut offsets = [(0, 0.0); MAX_TURNS];
        let mut aside = 0.0;
        let mut reach = 0.0;
        let mut lengths = [0.0; MAX_TURNS + 1];
        let mut is_plain = true;
        for (index, turn) in skeleton.turns().enumerate() {
            let cos = turn.cos().clamp(-1.0, 1.0);
            reach += turn.reach();
            lengths[bender_count] += skeleton.tried[index];
            match turn {
                Turn::Bend { leg_in, leg_out, .. } => {
                    lengths[bender_count] += leg_in;
                    lengths[bender_count + 1] = *leg_out;
                }
                Turn::Rigid { .. } => match turn.offset() {
                    Some((length, _)) => lengths[bender_count] += length,
                    None => is_plain = false,
                },
            }
            if bends(turn) {
                // A part that sends the flow straight back flips the direction for everything after it.
                benders[bender_count] = (cos * sign, (1.0 - cos * cos).sqrt());
                bender_count += 1;
                sign = 1.0;
            } else {
                let (x, y) = turn.sideways();
                let step = f64::hypot(x, y);
                offsets[shifters] = (bender_count, step);
                shifters += 1;
                aside += step;
                sign *= cos.signum();
            }
        }
        lengths[bender_count] += skeleton.tried[skeleton.count];
        let draw: f64 = skeleton.turns().map(|turn| draw_of(turn) / 2.0).sum();
        let half: f64 = skeleton.runs[..=skeleton.count].iter().map(|run| (run.longest - run.shortest) / 2.0).sum();
        let reach = reach + skeleton.runs[..=skeleton.count].iter().map(|run| run.longest).sum::<f64>();
        Self {
            skeleton,
            from,
            to,
            exit: -to.towards,
            play: corner_play(allowance, reach, half + draw),
            lean: allowance.rad,
            benders,
            bender_count,
            shifters,
            reach,
            aside,
            sign,
            offsets,
            lengths,
            is_plain,
        }
    }

    fn run(&self, finish: &mut impl FnMut(Posture)) {
        // Sign after the last bender: the direction that the last bender must leave in.
        let exit = self.exit * self.sign;
        let a = self.from.towards;
        let lean = self.lean * 1.5;
        match self.benders[..self.bender_count] {
            [] if a.dot(&exit) >= lean.cos() => self.shift(&[], 0.0, finish),
            [first] if at_angle(&a, &exit, first.0, lean) => self.shift(&[exit], 0.0, finish),
            [first, second] => {
                let Some(cones) = Cones::meet(&a, first.0, &exit, second.0, lean) else { return };
                if cones.are_a_ring() && self.shifters == 2 && self.is_plain && is_fixed(self.skeleton) {
                    // The ports' axes are nearly in line: the middle run may point anywhere around them.
                    let ring = Ring::about(self.from, first);
                    let way = |one: Vector| at_angle(&one, &exit, second.0, lean + COMB).then_some([one, exit, exit]);
                    self.twin(|turn| [way(ring.at(turn)), None], finish);
                    return;
                }
                for (middle, gap) in cones.directions() {
                    self.shift(&[middle, exit], gap, finish);
                }
            }
            [first, second, third] => {
                let u = self.from.mark;
                let v = a.cross(&u);
                if self.shifters == 2 && self.is_plain {
                    self.twin_of_three([first, second, third], finish);
                    return;
                }
                if self.shifters > 1 {
                    self.sample([first, second, third], &exit, finish);
                    return;
                }
                for &(sin, cos) in stops() {
                    let one = a * first.0 + (u * cos + v * sin) * first.1;
                    // Half a stop either way changes the angle to the exit by as much at most.
                    let lean = lean + STOP / 2.0;
                    let Some(cones) = Cones::meet(&one, second.0, &exit, third.0, lean) else { continue };
                    for (two, _) in cones.directions() {
                        self.shift(&[one, two, exit], STOP, finish);
                    }
                }
            }
            _ => {}
        }
    }

    /// Chooses the free directions of the shifters for given directions of the runs, which may be off by `gap` radians.
    fn shift(&self, directions: &[Vector], gap: f64, finish: &mut impl FnMut(Posture)) {
        if !self.leaves_room(directions, gap) {
            return;
        }
        if self.shifters >= 2 && self.is_plain {
            self.steps(directions, gap, finish);
            return;
        }
        let free = self.shifters.saturating_sub(1);
        #[expect(clippy::cast_possible_truncation, reason = "at most MAX_TURNS")]
        let free_turns = free as u32;
        // Chains of more shifters are only sampled.
        let stops = if free <= 4 { SHIFT_STOPS } else { SAMPLE_SHIFTS };
        let combinations = stops.pow(free_turns);
        for mut combination in 0..combinations {
            let mut angles = [0.0; MAX_TURNS];
            for angle in &mut angles[..free] {
                *angle = TAU * f64::from(combination % stops) / f64::from(stops);
                combination /= stops;
            }
            if let Some((_, posture)) = self.settle(directions, gap, &angles[..free]) {
                finish(posture);
            }
        }
    }

    /// Three benders and several shifters: a coarse comb over the first turn and the first shifter, of which only the
    /// posture that comes nearest is offered.
    fn sample(&self, [first, second, third]: [(f64, f64); 3], exit: &Vector, finish: &mut impl FnMut(Posture)) {
        let a = self.from.towards;
        let u = self.from.mark;
        let v = a.cross(&u);
        let free = self.shifters - 1;
        let mut best: Option<(f64, Posture)> = None;
        let mut rooms = 0;
        for stop in 0..SAMPLE_STOPS {
            let (sin, cos) = (TAU * f64::from(stop) / f64::from(SAMPLE_STOPS)).sin_cos();
            let one = a * first.0 + (u * cos + v * sin) * first.1;
            for two in two_cones(&one, second.0, exit, third.0, 0.0).into_iter().flatten() {
                let directions = [one, two, *exit];
                if rooms >= SAMPLE_ROOMS || !self.leaves_room(&directions, SAMPLE_GAP) {
                    continue;
                }
                rooms += 1;
                for shift in 0..SAMPLE_SHIFTS {
                    let angles = [TAU * f64::from(shift) / f64::from(SAMPLE_SHIFTS); MAX_TURNS];
                    let Some(found) = self.settle(&directions, SAMPLE_GAP, &angles[..free]) else { continue };
                    if best.is_none_or(|best| found.0 < best.0) {
                        best = Some(found);
                    }
                }
            }
        }
        if let Some((_, posture)) = best {
            finish(posture);
        }
    }

    /// Whether what the runs and bends leave over is within reach of the shifters. Chains with other parts are let
    /// through.
    fn leaves_room(&self, directions: &[Vector], gap: f64) -> bool {
        let Some(rest) = self.rest(directions) else { return true };
        let last = directions.last().unwrap_or(&self.from.towards);
        rest.norm() <= self.aside + self.play + gap * self.reach
            && (self.bender_count > 0 || rest.dot(last).abs() <= self.play)
    }

    /// What runs and bends along `directions` leave over up to the second port; `None` with parts other than bends and
    /// offsets.
    fn rest(&self, directions: &[Vector]) -> Option<Vector> {
        let after = directions.iter().zip(&self.lengths[1..]).map(|(direction, length)| direction * *length);
        let rest = self.to.at - self.from.at - self.from.towards * self.lengths[0] - after.sum::<Vector>();
        self.is_plain.then_some(rest)
    }

    /// Lays the chain along `directions`; the last shifter makes up for whatever sideways miss is left.
    fn settle(&self, directions: &[Vector], gap: f64, shift_turns: &[f64]) -> Option<(f64, Posture)> {
        let mut turns = [0.0; MAX_TURNS];
        let mut frame = Frame::at(self.from);
        let mut next = directions.iter();
        let mut waiting = None;
        let mut shifts = 0;
        for (index, turn) in self.skeleton.turns().enumerate() {
            frame.advance(self.skeleton.tried[index]);
            let (out_x, out_y) = out_of_plane(turn);
            if bends(turn) {
                let direction = next.next()?;
                turns[index] = direction.dot(&frame.y).atan2(direction.dot(&frame.x)) - out_y.atan2(out_x);
                frame.turn(turns[index]);
            } else {
                if let Some(angle) = shift_turns.get(shifts) {
                    turns[index] = *angle;
                    frame.turn(*angle);
                } else {
                    waiting = Some((index, frame, turn.sideways()));
                }
                shifts += 1;
            }
            frame.pass(turn, draw_of(turn) / 2.0);
        }
        frame.advance(self.skeleton.tried[self.skeleton.count]);
        let miss = self.to.at.coords - frame.at;
        // The comb over a free turn leaves half a stop of error at the end of the longest arm.
        let comb = gap * self.reach
            + if shift_turns.is_empty() { 0.0 } else { self.aside * TAU / f64::from(SHIFT_STOPS) / 2.0 };
        let short = if let Some((index, at, sideways)) = waiting {
            // The miss was worked out with the shift at turn zero: give that back, then aim it.
            let laid = at.x * sideways.0 + at.y * sideways.1;
            let wanted = miss + laid;
            let along = wanted.dot(&at.z);
            let across = wanted - at.z * along;
            turns[index] = across.dot(&at.y).atan2(across.dot(&at.x)) - sideways.1.atan2(sideways.0);
            // What follows a shifter is turned with it; the benders after it turn back.
            if let Some(after) = (index + 1..self.skeleton.count).find(|after| bends(self.skeleton.turns[*after])) {
                turns[after] -= turns[index] * self.skeleton.turns[index].cos().signum();
            }
            along.abs().max((across.norm() - sideways.0.hypot(sideways.1)).abs())
        } else {
            miss.norm()
        };
        (short <= self.play + comb).then(|| (short, self.skeleton.posture(&turns[..self.skeleton.count])))
    }
}

fn draw_of(turn: &Turn) -> f64 {
    if let Turn::Rigid { stretch, .. } = turn { *stretch } else { 0.0 }
}

/// The sideways parts of the exit direction.
fn out_of_plane(turn: &Turn) -> (f64, f64) {
    match turn {
        Turn::Bend { sin, .. } => (*sin, 0.0),
        Turn::Rigid { rotation, .. } => (rotation[(0, 2)], rotation[(1, 2)]),
    }
}
