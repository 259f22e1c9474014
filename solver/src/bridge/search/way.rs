//! The ways in which up to two bends can point the runs of a chain, which are known before any length is; and what they
//! say of the lengths, so that only parts that could lie so are tried.

use super::meeting::Meeting;
use crate::{
    bridge::{
        closure::{Cones, STRETCH_STEP_MM, Turn, any_square_to, at_angle},
        stock::{RunList, TurnId},
    },
    geometry::Vector,
};
use std::collections::HashMap;

/// Sine of the angle between the ports' axes below which two bends count as turning about one line: their common
/// direction then comes from where the ports are, which is the better conditioned question.
const IN_LINE: f64 = 0.02;

/// How much longer than the distance between the ports a chain of two bends is taken to be when its play is
/// estimated, in millimetres.
const SPARE_REACH: f64 = 40.0;

/// Sine of the angle between directions in one line or plane, which rounding makes of nought at most.
pub(in crate::bridge) const ROUNDING: f64 = 1e-9;

/// Directions of the runs after each bend, and how far the middle one may be off, in radians.
pub(super) struct Way {
    pub(in crate::bridge) directions: Vec<Vector>,
    pub(in crate::bridge) lean: f64,
    /// Between which lengths each of the three runs of two bends lies, from corner to corner.
    spans: [(f64, f64); 3],
}

/// Any length at all.
const ANY: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

impl Way {
    fn new(meeting: &Meeting<'_>, directions: Vec<Vector>, lean: f64) -> Self {
        let mut way = Self { directions, lean, spans: [ANY; 3] };
        if let [middle, exit] = way.directions[..] {
            way.spans = way.spans_along(meeting, &meeting.from.towards, &middle, &exit);
        }
        way
    }

    /// How far the end of a chain laid out this way may be from where it should be, in millimetres.
    pub(in crate::bridge) fn play(&self, meeting: &Meeting<'_>) -> f64 {
        let reach = meeting.distance_mm + SPARE_REACH;
        meeting.allowance.mm + (meeting.allowance.lean() + self.lean) * reach
    }

    fn spans_along(&self, meeting: &Meeting<'_>, a: &Vector, b: &Vector, c: &Vector) -> [(f64, f64); 3] {
        let w = meeting.to.at - meeting.from.at;
        let normal = b.cross(c);
        let sin = normal.norm().max(ROUNDING);
        let volume = a.dot(&normal);
        // An adjustable run is tried at the middle of a stretch, and so is whatever makes up for it.
        let play = self.play(meeting) + STRETCH_STEP_MM;
        let around = |length: f64, play: f64| (length - play, length + play);
        if volume.abs() > ROUNDING {
            let first = play * sin / volume.abs();
            let others = (play + first) / sin;
            [
                around(w.dot(&normal) / volume, first),
                around(a.dot(&w.cross(c)) / volume, others),
                around(a.dot(&b.cross(&w)) / volume, others),
            ]
        } else if a.cross(c).norm() < ROUNDING {
            // The middle run alone has to make up for what the ports stand aside of each other.
            [ANY, around(w.cross(c).dot(&normal) / (sin * sin), play / sin), ANY]
        } else {
            [ANY; 3]
        }
    }

    /// Whether the second port lies in the line or plane of the runs, if they have one.
    fn holds_the_port(&self, meeting: &Meeting<'_>) -> bool {
        let (a, w) = (&meeting.from.towards, meeting.to.at - meeting.from.at);
        let play = self.play(meeting);
        match &self.directions[..] {
            [] => (w - a * w.dot(a)).norm() <= play,
            [first, others @ ..] => {
                let normal = others.first().map_or(a.cross(first), |second| first.cross(second));
                normal.dot(a).abs() > ROUNDING || w.dot(&normal).abs() <= play * normal.norm()
            }
        }
    }

    /// Whether any of the runs, with `legs` added to it, can be the one at `place`.
    fn takes(&self, place: usize, list: &RunList, legs: f64) -> bool {
        let (least, most) = self.spans[place];
        list.within(least - legs, most - legs).next().is_some()
    }
}

/// The ways in which a chain of these turning parts points from the one port to the other.
pub(in crate::bridge) fn ways(meeting: &Meeting<'_>, turns: &[Turn]) -> Vec<Way> {
    let (a, exit) = (meeting.from.towards, -meeting.to.towards);
    let lean = meeting.allowance.lean();
    let bends: Vec<(f64, f64)> = turns.iter().filter(|turn| turn.is_bend()).map(Turn::angle).collect();
    let way = |directions: &[Vector], lean: f64| Way::new(meeting, directions.to_vec(), lean);
    let mut ways: Vec<Way> = match bends[..] {
        [] => (a.dot(&exit) >= lean.cos()).then(|| way(&[], 0.0)).into_iter().collect(),
        [(cos, _)] => at_angle(&a, &exit, cos, lean).then(|| way(&[exit], 0.0)).into_iter().collect(),
        [(first, sin), (second, _), ..] => {
            let between = a.cross(&exit).norm();
            if between < IN_LINE {
                let delta = meeting.to.at - meeting.from.at;
                let aside = delta - a * delta.dot(&a);
                let distance = aside.norm();
                // Ports in one line: only a middle run of no width could join them, in whatever direction.
                let aside = if distance > 1e-9 { aside / distance } else { any_square_to(&a) };
                let middle = a * first + aside * sin;
                let points = at_angle(&middle, &exit, second, lean + between);
                points.then(|| way(&[middle, exit], lean + between)).into_iter().collect()
            } else {
                let cones = Cones::meet(&a, first, &exit, second, lean);
                let directions = cones.iter().flat_map(Cones::directions);
                directions.map(|(middle, gap)| way(&[middle, exit], lean + gap)).collect()
            }
        }
    };
    if bends.len() == turns.len() {
        ways.retain(|way| way.holds_the_port(meeting));
    }
    ways
}

/// One of the ways that are numbered so, as a bit. Two cones leave a few dozen at most; were there more, some would share
/// a bit and be tried together.
fn bit(number: usize) -> u64 {
    1 << (number % 64)
}

/// Gives `each` the pairs of a first and a last turning part between which and around which `straights` straight parts can
/// lie in one of the ways: the pair, how many straight parts stand before, between and after, and these ways.
pub(super) fn each_pair<'w>(
    meeting: &Meeting<'_>,
    [firsts, lasts]: [&[TurnId]; 2],
    ways: &'w [Way],
    straights: usize,
    mut each: impl FnMut([TurnId; 2], [usize; 3], &mut dyn Iterator<Item = &'w Way>),
) {
    let (stock, runs) = (meeting.stock, meeting.runs);
    let legs = |id: TurnId| stock.turns[id].turn.legs();
    let taking = |place: usize, list: &RunList, legs: f64| {
        let taking = ways.iter().enumerate().filter(|(_, way)| way.takes(place, list, legs));
        taking.fold(0, |bits, (number, _)| bits | bit(number))
    };
    // What each part allows by itself, by how many straight parts stand between it and its port.
    let alone = |ids: &[TurnId], place: usize| -> Vec<(TurnId, usize, u64)> {
        let each = ids.iter().flat_map(|id| (0..=straights).map(move |count| (*id, count)));
        let ways = each.map(|(id, count)| {
            let (class, (leg_in, leg_out)) = (&stock.turns[id], legs(id));
            let bits = if place == 0 {
                taking(0, runs.between(stock.from, class.entry, count), leg_in)
            } else {
                taking(2, runs.between(class.exit, stock.to, count), leg_out)
            };
            (id, count, bits)
        });
        ways.filter(|(.., bits)| *bits != 0).collect()
    };
    let (firsts, lasts) = (alone(firsts, 0), alone(lasts, 2));
    // Many parts are the same between the two.
    let mut known = HashMap::new();
    for (first, before, one) in &firsts {
        let (exit, leg) = (stock.turns[*first].exit, legs(*first).1);
        for (last, after, other) in &lasts {
            let Some(between) = (straights - before).checked_sub(*after) else { continue };
            let (entry, more) = (stock.turns[*last].entry, legs(*last).0);
            let both = one & other;
            if both == 0 {
                continue;
            }
            let key = (exit, entry, leg.to_bits(), more.to_bits(), between);
            let take = *known.entry(key).or_insert_with(|| taking(1, runs.between(exit, entry, between), leg + more));
            let bits = both & take;
            if bits != 0 {
                let mut ways =
                    ways.iter().enumerate().filter(|(number, _)| bits & bit(*number) != 0).map(|(_, way)| way);
                each([*first, *last], [*before, between, *after], &mut ways);
            }
        }
    }
}
