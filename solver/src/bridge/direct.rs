//! Chains of up to two bends, and of up to one bend and an offset: their directions are known before any length is,
//! so the lengths follow and are looked up instead of tried.

use super::{
    closed::{Closed, skeleton},
    closure::{Cones, Turn, at_angle, closes},
    half::Laid,
    meet::Meeting,
    run::{Run, RunList},
    stock::TurnId,
};
use crate::geometry::Vector;
use std::collections::BTreeMap;

/// Most turning parts in such a chain.
pub(super) const MOST_TURNS: usize = 2;

/// Sine of the angle between the ports' axes below which two bends count as turning about one line: their common
/// direction then comes from where the ports are, which is the better conditioned question.
const IN_LINE: f64 = 0.02;

/// Determinant of the three directions from which the first length is taken from all three equations; below it,
/// the ports and the chain lie in nearly one plane, and the first length is tried one by one.
const APART: f64 = 0.2;

/// The sequences of turning parts of such chains in `parts` parts.
fn sequences(meeting: &Meeting<'_>, parts: usize) -> Vec<Vec<TurnId>> {
    let turns = &meeting.stock.turns;
    let is_bend = |id: &TurnId| turns[*id].turn.is_bend();
    let ours: Vec<TurnId> = (0..turns.len()).filter(|id| is_bend(id) || turns[*id].offset.is_some()).collect();
    let mut sequences = vec![Vec::new()];
    if parts >= 1 {
        sequences.extend(ours.iter().map(|id| vec![*id]));
    }
    if parts >= 2 {
        let pairs = ours.iter().flat_map(|first| ours.iter().map(move |second| vec![*first, *second]));
        sequences.extend(pairs.filter(|pair| pair.iter().any(is_bend)));
    }
    sequences
}

/// Sequences of turning parts that point their runs the same ways, and these.
pub(super) struct Pointed {
    sequences: Vec<Vec<TurnId>>,
    ways: Vec<Way>,
}

/// The sequences that point from the one port to the other.
pub(super) fn pointed(meeting: &Meeting<'_>, parts: usize) -> Vec<Pointed> {
    let mut sorted: BTreeMap<Vec<u16>, Vec<Vec<TurnId>>> = BTreeMap::new();
    for sequence in sequences(meeting, parts) {
        let shapes = sequence.iter().map(|id| meeting.stock.turns[*id].shape).collect();
        sorted.entry(shapes).or_default().push(sequence);
    }
    let pointed = sorted.into_values().map(|sequences| {
        let turns: Vec<Turn> = sequences[0].iter().map(|id| meeting.stock.turns[*id].turn).collect();
        let mut ways = Vec::new();
        directions(meeting, &turns, &mut ways);
        Pointed { sequences, ways }
    });
    pointed.filter(|pointed| !pointed.ways.is_empty()).collect()
}

/// Closes sequences of turning parts with straight parts to make `parts` parts. Returns how many closures were worked
/// out.
pub(super) fn close(meeting: &Meeting<'_>, pointed: &Pointed, parts: usize, closed: &mut Vec<Closed>) -> u64 {
    let close = |turns: &Vec<TurnId>| close_one(meeting, turns, &pointed.ways, parts, closed);
    pointed.sequences.iter().map(close).sum()
}

fn close_one(meeting: &Meeting<'_>, turns: &[TurnId], ways: &[Way], parts: usize, closed: &mut Vec<Closed>) -> u64 {
    let straights = parts - turns.len();
    let mut tried = 0;
    for first in 0..=straights {
        match turns.len() {
            0 => tried += Attempt::new(meeting, turns, &[straights]).close(ways, closed),
            1 => tried += Attempt::new(meeting, turns, &[first, straights - first]).close(ways, closed),
            _ => {
                for second in 0..=straights - first {
                    let counts = [first, second, straights - first - second];
                    tried += Attempt::new(meeting, turns, &counts).close(ways, closed);
                }
            }
        }
        if turns.is_empty() {
            break;
        }
    }
    tried
}

/// Takes runs with their lengths, and the step of the offset.
type Fits<'f> = dyn FnMut(&[(Run, f64)], &Vector) + 'f;

/// Takes runs with their lengths.
type Sums<'f> = dyn FnMut(&[(Run, f64)]) + 'f;

/// Directions of the runs after each bend, and how far the middle one may be off, in radians.
struct Way {
    directions: Vec<Vector>,
    lean: f64,
}

fn directions(meeting: &Meeting<'_>, turns: &[Turn], ways: &mut Vec<Way>) {
    let (a, exit) = (meeting.from.towards, -meeting.to.towards);
    let lean = meeting.allowance.rad * 1.5;
    let cosines: Vec<(f64, f64)> = turns
        .iter()
        .filter_map(|turn| if let Turn::Bend { cos, sin, .. } = turn { Some((*cos, *sin)) } else { None })
        .collect();
    match cosines[..] {
        [] => {
            if a.dot(&exit) >= lean.cos() {
                ways.push(Way { directions: Vec::new(), lean: 0.0 });
            }
        }
        [(cos, _)] => {
            if at_angle(&a, &exit, cos, lean) {
                ways.push(Way { directions: vec![exit], lean: 0.0 });
            }
        }
        [(first, sin), (second, _), ..] => {
            let between = a.cross(&exit).norm();
            if between < IN_LINE {
                let delta = meeting.to.at - meeting.from.at;
                let aside = delta - a * delta.dot(&a);
                let distance = aside.norm();
                // Ports in one line: only a middle run of no width could join them, in whatever direction.
                let aside = if distance > 1e-9 { aside / distance } else { super::closure::any_square_to(&a) };
                let middle = a * first + aside * sin;
                if at_angle(&middle, &exit, second, lean + between) {
                    ways.push(Way { directions: vec![middle, exit], lean: lean + between });
                }
                return;
            }
            let Some(cones) = Cones::meet(&a, first, &exit, second, lean) else { return };
            for (middle, gap) in cones.directions() {
                ways.push(Way { directions: vec![middle, exit], lean: lean + gap });
            }
        }
    }
}

/// One sequence of turning parts with so many straight parts in each run.
struct Attempt<'a> {
    meeting: &'a Meeting<'a>,
    turns: &'a [TurnId],
    counts: Vec<usize>,
    lists: Vec<&'a RunList>,
    /// Loss of the turning parts.
    loss: u64,
}

impl<'a> Attempt<'a> {
    fn new(meeting: &'a Meeting<'a>, turns: &'a [TurnId], counts: &[usize]) -> Self {
        let stock = meeting.stock;
        let mut exit = stock.from;
        let mut lists = Vec::with_capacity(counts.len());
        for (index, count) in counts.iter().enumerate() {
            let class = turns.get(index).map(|id| &stock.turns[*id]);
            lists.push(meeting.runs.between(exit, class.map_or(stock.to, |class| class.entry), *count));
            exit = class.map_or(stock.to, |class| class.exit);
        }
        let loss = turns.iter().map(|id| stock.turns[*id].loss).sum();
        Self { meeting, turns, counts: counts.to_vec(), lists, loss }
    }

    fn close(&self, ways: &[Way], closed: &mut Vec<Closed>) -> u64 {
        let straight: u64 = self.lists.iter().map(|list| list.least).sum();
        let straights: usize = self.counts.iter().sum();
        if self.lists.iter().any(|list| list.runs.is_empty()) || !self.meeting.may_want(self.loss + straight, straights)
        {
            return 0;
        }
        let mut tried = 0;
        let mut found: Vec<Closed> = Vec::new();
        for way in ways {
            self.lengths(way, &mut |runs, aside| {
                if self.is_ours(runs) {
                    tried += 1;
                    self.offer(way, runs, aside, &mut found);
                }
            });
        }
        closed.append(&mut found);
        tried
    }

    /// Loss of the whole chain.
    fn loss_with(&self, runs: &[(Run, f64)]) -> u64 {
        self.loss + runs.iter().map(|(run, _)| run.loss).sum::<u64>()
    }

    /// Whether the losses are those of this portion and every run can be aimed.
    fn is_ours(&self, runs: &[(Run, f64)]) -> bool {
        let aimed = |index: usize| {
            runs[index].0.swivel
                || index > 0 && self.meeting.stock.turns[self.turns[index - 1]].exit_swivel
                || self.turns.get(index).is_some_and(|id| self.meeting.stock.turns[*id].entry_swivel)
        };
        let has_room = |port: usize, run: Option<&(Run, f64)>, turn: Option<&TurnId>| {
            run.zip(turn).is_none_or(|((run, _), turn)| self.meeting.has_room(port, run, *turn))
        };
        self.meeting.wants(self.loss_with(runs))
            && (self.turns.is_empty() || (0..runs.len()).all(aimed))
            && has_room(0, runs.first(), self.turns.first())
            && has_room(1, runs.last(), self.turns.last())
    }

    fn offer(&self, way: &Way, runs: &[(Run, f64)], aside: &Vector, found: &mut Vec<Closed>) {
        let meeting = self.meeting;
        let laid: Vec<Laid> = runs
            .iter()
            .zip(&self.counts)
            .map(|((run, length), parts)| Laid {
                run: *run,
                parts: *parts,
                length: length.clamp(run.span.shortest, run.span.longest),
            })
            .collect();
        let skeleton = skeleton(meeting.stock, self.turns, &laid);
        let mut posture = skeleton.posture_along(&meeting.from, &way.directions, std::slice::from_ref(aside));
        let Some(residual) = closes(&skeleton, &meeting.from, &meeting.to, &meeting.allowance, &mut posture) else {
            return;
        };
        // The same lengths may come up for each of two directions.
        let same = |closed: &&mut Closed| {
            closed.runs.iter().zip(&laid).all(|(one, other)| {
                one.run.span == other.run.span && one.run.loss == other.run.loss && one.run.swivel == other.run.swivel
            })
        };
        if let Some(closed) = found.iter_mut().find(same) {
            closed.add(posture, residual);
        } else {
            let loss = self.loss_with(runs);
            let mut closed = Closed { loss, turns: self.turns.to_vec(), runs: laid, postures: Vec::new() };
            closed.add(posture, residual);
            found.push(closed);
        }
    }

    /// Calls `fits` with every choice of runs that makes the chain end near the second port, and the offset's step.
    fn lengths(&self, way: &Way, fits: &mut Fits<'_>) {
        let (from, to) = (&self.meeting.from, &self.meeting.to);
        let w = to.at - from.at;
        let mut ahead = vec![from.towards];
        ahead.extend(&way.directions);
        // What the legs of the turning parts already make, and which bend's run each straight run belongs to.
        let mut rest = w;
        let mut owner = vec![0];
        let mut step = None;
        let mut bend = 0;
        for id in self.turns {
            match self.meeting.stock.turns[*id].turn {
                Turn::Bend { leg_in, leg_out, .. } => {
                    rest -= ahead[bend] * leg_in + ahead[bend + 1] * leg_out;
                    bend += 1;
                }
                ref turn => {
                    let Some((length, aside)) = turn.offset() else { return };
                    rest -= ahead[bend] * length;
                    step = Some((bend, aside));
                }
            }
            owner.push(bend);
        }
        let play = self.meeting.allowance.mm + (self.meeting.allowance.rad * 1.5 + way.lean) * (w.norm() + SPARE_REACH);
        match (&ahead[..], step) {
            ([a], None) => self.on_line(a, &rest, play, fits),
            ([a], Some((_, step))) => {
                let along = rest.dot(a);
                let aside = rest - a * along;
                if (aside.norm() - step).abs() <= play {
                    sums(&self.lists, along - play, along + play, &mut |runs| fits(runs, &aside));
                }
            }
            ([a, b], None) => self.in_plane([a, b], &owner, &rest, play, &[], fits),
            ([a, b], Some((bend, step))) => {
                let normal = a.cross(b).normalize();
                let across = if bend == 0 { normal.cross(a) } else { normal.cross(b) };
                let out = rest.dot(&normal);
                if out.abs() > step + play {
                    return;
                }
                // The step's share in the plane; its play grows where the step points almost out of the plane.
                let share = |out: f64| (step * step - out * out).max(0.0).sqrt();
                let (least, most) = (share(out.abs() + play), share((out.abs() - play).max(0.0)));
                let sides = if least > play {
                    vec![f64::midpoint(least, most), -f64::midpoint(least, most)]
                } else {
                    vec![0.0]
                };
                let play = play + if least > play { (most - least) / 2.0 } else { most };
                for side in sides {
                    let aside = normal * out + across * side;
                    self.in_plane([a, b], &owner, &(rest - aside), play, &[], &mut |runs, _| fits(runs, &aside));
                }
            }
            ([a, b, c], None) => {
                let volume = b.cross(c);
                let apart = a.dot(&volume);
                let list = self.lists[0];
                let (least, most) = if apart.abs() > APART {
                    let (length, play) = (rest.dot(&volume) / apart, play * volume.norm() / apart.abs());
                    (length - play, length + play)
                } else {
                    (0.0, f64::INFINITY)
                };
                for (_, run) in list.within(least, most) {
                    for (length, half) in run.tries() {
                        let rest = rest - a * length;
                        self.in_plane([b, c], &owner[1..], &rest, play + half, &[(*run, length)], fits);
                    }
                }
            }
            _ => {}
        }
    }

    fn on_line(&self, a: &Vector, rest: &Vector, play: f64, fits: &mut Fits<'_>) {
        let along = rest.dot(a);
        if (rest - a * along).norm() <= play {
            sums(&self.lists, along - play, along + play, &mut |runs| fits(runs, &Vector::zeros()));
        }
    }

    /// Runs along two directions that make up `rest`, after the runs already `chosen`.
    fn in_plane(
        &self,
        directions: [&Vector; 2],
        owner: &[usize],
        rest: &Vector,
        play: f64,
        chosen: &[(Run, f64)],
        fits: &mut Fits<'_>,
    ) {
        let [a, b] = directions;
        let normal = a.cross(b);
        let squared = normal.norm_squared();
        let sin = squared.sqrt();
        if (rest.dot(&normal)).abs() > play * sin {
            return;
        }
        let along_a = rest.cross(b).dot(&normal) / squared;
        let along_b = a.cross(rest).dot(&normal) / squared;
        let play = play / sin;
        if along_a < -play || along_b < -play {
            return;
        }
        let lists = &self.lists[chosen.len()..];
        let split = owner.iter().filter(|bend| **bend == owner[0]).count();
        let (firsts, seconds) = lists.split_at(split);
        sums(firsts, along_a - play, along_a + play, &mut |first| {
            sums(seconds, along_b - play, along_b + play, &mut |second| {
                let mut runs = [(first[0].0, 0.0); MOST_TURNS + 1];
                let count = chosen.len() + first.len() + second.len();
                for (slot, run) in runs.iter_mut().zip(chosen.iter().chain(first).chain(second)) {
                    *slot = *run;
                }
                fits(&runs[..count], &Vector::zeros());
            });
        });
    }
}

/// How much longer than the distance between the ports a chain of two bends is taken to be when its play is
/// estimated, in millimetres.
const SPARE_REACH: f64 = 40.0;

/// Calls `found` with every choice of one run from each list whose lengths add up to between `least` and `most`.
fn sums(lists: &[&RunList], least: f64, most: f64, found: &mut Sums<'_>) {
    let middle = f64::midpoint(least, most);
    match lists {
        [only] => {
            for (_, run) in only.within(least, most) {
                found(&[(*run, middle)]);
            }
        }
        [first, second] => {
            for (_, one) in first.within(0.0, most) {
                for (_, two) in second.within(least - one.span.longest, most - one.span.shortest) {
                    // Whatever the second cannot take up, the first must.
                    let length =
                        middle.clamp(two.span.shortest + one.span.shortest, two.span.longest + one.span.longest);
                    let second = (length - f64::midpoint(one.span.shortest, one.span.longest))
                        .clamp(two.span.shortest, two.span.longest);
                    found(&[(*one, length - second), (*two, second)]);
                }
            }
        }
        _ => {}
    }
}
