//! Chains of up to two bends, and of up to one bend and an offset: their directions are known before any length is,
//! so the lengths follow and are looked up instead of tried.

use super::{
    attempts::Attempts,
    kinds::MOST_DIRECT,
    meeting::Meeting,
    way::{ROUNDING, Way, each_pair, ways},
};
use crate::{
    bridge::{
        closure::{Turn, closes},
        placed::{Closed, Laid, skeleton},
        stock::{Run, RunList, TurnId},
    },
    geometry::Vector,
};
use std::collections::BTreeMap;

/// Turning parts that point their runs the same ways: one of each list makes a chain, in order.
pub(super) struct Pointed {
    turns: Vec<Vec<TurnId>>,
    ways: Vec<Way>,
}

/// The sequences of turning parts that point from the one port to the other.
pub(super) fn pointed(meeting: &Meeting<'_>, parts: usize) -> Vec<Pointed> {
    let turns = &meeting.stock.turns;
    let mut shapes: BTreeMap<u16, Vec<TurnId>> = BTreeMap::new();
    for (id, class) in turns.iter().enumerate() {
        if class.turn.is_bend() || class.offset.is_some() {
            shapes.entry(class.shape).or_default().push(id);
        }
    }
    let is_bend = |ids: &Vec<TurnId>| turns[ids[0]].turn.is_bend();
    let mut sequences: Vec<Vec<&Vec<TurnId>>> = vec![Vec::new()];
    if parts >= 1 {
        sequences.extend(shapes.values().map(|ids| vec![ids]));
    }
    if parts >= 2 {
        let pairs = shapes.values().flat_map(|first| shapes.values().map(move |second| vec![first, second]));
        sequences.extend(pairs.filter(|pair| pair.iter().any(|ids| is_bend(ids))));
    }
    let pointed = sequences.into_iter().map(|sequence| {
        let sample: Vec<Turn> = sequence.iter().map(|ids| turns[ids[0]].turn).collect();
        Pointed { turns: sequence.into_iter().cloned().collect(), ways: ways(meeting, &sample) }
    });
    pointed.filter(|pointed| !pointed.ways.is_empty()).collect()
}

/// Closes sequences of turning parts with straight parts to make `parts` parts, as long as `attempts` allow.
pub(in crate::bridge) fn close(
    meeting: &Meeting<'_>,
    pointed: &Pointed,
    parts: usize,
    attempts: &mut Attempts<'_>,
    closed: &mut Vec<Closed>,
) {
    let straights = parts - pointed.turns.len();
    match &pointed.turns[..] {
        [] => Attempt::new(meeting, &[], &[straights]).close(&pointed.ways, attempts, closed),
        [only] => {
            for (id, before) in only.iter().flat_map(|id| (0..=straights).map(move |before| (*id, before))) {
                Attempt::new(meeting, &[id], &[before, straights - before]).close(&pointed.ways, attempts, closed);
            }
        }
        [firsts, lasts, ..] => each_pair(meeting, [firsts, lasts], &pointed.ways, straights, |turns, counts, ways| {
            Attempt::new(meeting, &turns, &counts).close(ways, attempts, closed);
        }),
    }
}

/// Takes runs with their lengths, and the step of the offset.
type Fits<'f> = dyn FnMut(&[(Run, f64)], &Vector) + 'f;

/// Takes runs with their lengths.
type Sums<'f> = dyn FnMut(&[(Run, f64)]) + 'f;

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

    fn close<'w>(
        &self,
        ways: impl IntoIterator<Item = &'w Way>,
        attempts: &mut Attempts<'_>,
        closed: &mut Vec<Closed>,
    ) {
        let straight: u64 = self.lists.iter().map(|list| list.least).sum();
        let straights: usize = self.counts.iter().sum();
        if self.lists.iter().any(|list| list.runs.is_empty()) || !self.meeting.may_want(self.loss + straight, straights)
        {
            return;
        }
        let mut found: Vec<Closed> = Vec::new();
        for way in ways {
            if !attempts.goes_on() {
                break;
            }
            self.lengths(way, &mut |runs, aside| {
                if self.is_ours(runs) && self.has_room(runs) && attempts.another() {
                    self.offer(way, runs, aside, &mut found);
                }
            });
        }
        closed.append(&mut found);
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
        self.meeting.wants(self.loss_with(runs)) && (self.turns.is_empty() || (0..runs.len()).all(aimed))
    }

    /// Whether nothing is in the way of the straight parts at the ports.
    fn has_room(&self, runs: &[(Run, f64)]) -> bool {
        let ends = [(0, 0), (1, runs.len() - 1)];
        self.turns.is_empty()
            || ends.iter().all(|(port, index)| self.meeting.goes_ahead(*port, self.lists[*index], &runs[*index].0))
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
        let play = way.play(self.meeting);
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
                let (least, most) = if apart.abs() > ROUNDING {
                    let (length, play) = (rest.dot(&volume) / apart, play * volume.norm() / apart.abs());
                    (length - play, length + play)
                } else {
                    // Ports and chain lie in one plane: the first length is tried one by one.
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
                let mut runs = [(first[0].0, 0.0); MOST_DIRECT + 1];
                let count = chosen.len() + first.len() + second.len();
                for (slot, run) in runs.iter_mut().zip(chosen.iter().chain(first).chain(second)) {
                    *slot = *run;
                }
                fits(&runs[..count], &Vector::zeros());
            });
        });
    }
}

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
