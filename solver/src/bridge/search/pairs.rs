//! Two halves and the run between them: cheap rejects first, then the closed form for that many bends, then polish.

use super::{
    alike::{Alike, Ending},
    attempts::Attempts,
    halves::{Half, MAX_BENDS},
    meeting::Meeting,
    stuck::{self, Outlook},
};
use crate::{
    bridge::{
        closure::{Bow, Four, Hand, Shifted, Skeleton, Span, Three, closes, corner_play, five, four, shifted, three},
        placed::{Closed, Laid},
        stock::{Run, TurnId},
    },
    geometry::Vector,
};

/// Halves of identical geometry and where their corners are.
pub(super) struct Placed<'h> {
    alike: Alike<'h>,
    /// The first corner.
    corner: Vector,
    /// The circle on which the second corner lies; the first corner itself, without radius, for halves of one bend.
    centre: Vector,
    radius: f64,
    /// Least and greatest of the last legs.
    legs: (f64, f64),
    /// Cosine and sine of each bend.
    angles: [(f64, f64); MAX_BENDS],
    /// The shape of the first bend.
    shape: u16,
    /// The least core of what any of them has between its first corner and its last, in millimetres.
    core_mm: f64,
}

impl<'h> Placed<'h> {
    /// As seen from the first port or the second, counted from 0.
    pub(in crate::bridge) fn new(alike: Alike<'h>, meeting: &Meeting<'_>, port: usize) -> Self {
        let (half, stock) = (alike.half, meeting.stock);
        let port = [&meeting.from, &meeting.to][port];
        let halves = alike.endings.iter().flat_map(|ending| ending.halves);
        let core_mm = halves.map(|half| half.core_mm(stock, meeting.runs)).fold(f64::INFINITY, f64::min);
        let corner = port.at.coords + port.towards * half.lengths[0];
        let angles = half.angles(stock);
        let (cos, sin) = angles[0];
        let beyond = if half.bends >= 2 { half.lengths[1] } else { 0.0 };
        // The endings are in order of their legs.
        let leg = |ending: Option<&Ending<'_>>| ending.map_or(0.0, |ending| ending.leg);
        let legs = (leg(alike.endings.first()), leg(alike.endings.last()));
        let shape = half.bent(stock).next().map_or(0, |class| class.shape);
        Self {
            alike,
            corner,
            centre: corner + port.towards * (beyond * cos),
            radius: beyond * sin,
            legs,
            angles,
            shape,
            core_mm,
        }
    }
}

/// One way to join two halves: how each of them ends and the run between, at a tried length.
#[derive(Clone, Copy)]
struct Join<'r> {
    /// From corner to corner, and the share of the run in it.
    length: f64,
    straight: f64,
    /// Half of what this length of an adjustable run stands for.
    stretch: f64,
    /// The least core of any parts in it, in millimetres.
    core_mm: f64,
    run: &'r Run,
    first: Ending<'r>,
    second: Ending<'r>,
}

impl Join<'_> {
    /// Joins of equal key are one closure.
    fn key(&self) -> (u64, u64, u64, u64) {
        let Span { shortest, longest } = self.run.span;
        (self.length.to_bits(), self.stretch.to_bits(), shortest.to_bits(), longest.to_bits())
    }
}

impl Meeting<'_> {
    /// Closes `first` with each of `seconds`, which are sorted by their least loss, over runs of `parts` parts, as
    /// long as `attempts` allow. Halves of identical geometry share one closure.
    pub(in crate::bridge) fn close(
        &self,
        first: &Placed<'_>,
        seconds: &[Placed<'_>],
        parts: usize,
        attempts: &mut Attempts<'_>,
        closed: &mut Vec<Closed>,
    ) {
        let mut joins = Vec::new();
        let a = first.alike.half;
        let runs = self.stock.run_lengths(parts);
        for second in seconds {
            if first.alike.least + second.alike.least >= self.high() {
                break;
            }
            let b = second.alike.half;
            if first.alike.most + second.alike.most + self.stock.lossiest * (parts as u64) < self.low {
                continue;
            }
            let margin = corner_play(&self.allowance, b.lengths[0], a.half + b.half) + a.step + b.step;
            let least = first.legs.0 + second.legs.0 + runs.shortest - margin;
            let most = first.legs.1 + second.legs.1 + runs.longest + margin;
            // Most pairs are too far apart for any run, wherever on their circles the corners are.
            let beside = first.radius + second.radius + if a.bends == 3 { a.lengths[2] } else { 0.0 };
            if (second.centre - first.centre).norm_squared() > (most + beside).powi(2) {
                continue;
            }
            let (shortest, longest) = self.window(first, second);
            if shortest > most || longest < least {
                continue;
            }
            self.joins([first, second], parts, (shortest - margin, longest + margin), &mut joins);
            joins.sort_by_key(Join::key);
            for alike in joins.chunk_by(|a, b| a.key() == b.key()) {
                if !attempts.another() {
                    return;
                }
                if self.try_closure(first, second, alike, parts, closed) == Outlook::Stuck {
                    attempts.note_stuck();
                }
            }
            joins.clear();
        }
    }

    /// The ways to join two halves by runs of `parts` parts, between `least` and `most` long from corner to corner.
    fn joins<'r>(
        &'r self,
        [first, second]: [&Placed<'r>; 2],
        parts: usize,
        (least, most): (f64, f64),
        joins: &mut Vec<Join<'r>>,
    ) {
        for a in first.alike.endings {
            for b in second.alike.endings {
                let legs = a.leg + b.leg;
                if legs > most {
                    break;
                }
                if parts == 0 && legs < least {
                    continue;
                }
                let losses = (a.losses().0 + b.losses().0, a.losses().1 + b.losses().1);
                let list = self.runs.between(a.exit, b.exit, parts);
                for (_, run) in list.within(least - legs, most - legs) {
                    let wanted = losses.0 + run.loss < self.high() && losses.1 + run.loss >= self.low;
                    if !wanted || !(a.swivel || b.swivel || run.swivel) {
                        continue;
                    }
                    for (straight, stretch) in run.tries() {
                        let length = legs + straight;
                        if length + stretch >= least && length - stretch <= most {
                            let core_mm = list.core_mm;
                            joins.push(Join { length, straight, stretch, core_mm, run, first: *a, second: *b });
                        }
                    }
                }
            }
        }
    }

    /// Least and greatest distance over which the run between the halves, their last legs included, can reach.
    fn window(&self, first: &Placed<'_>, second: &Placed<'_>) -> (f64, f64) {
        let (a, b) = (first.alike.half, second.alike.half);
        match (a.bends, b.bends) {
            (1, 1) => {
                let distance = (second.corner - first.corner).norm();
                (distance, distance)
            }
            (3, _) => {
                let (least, most) = self.between_circles(first, second);
                let (cos, sin) = first.angles[2];
                // The run of interest is one side of a triangle whose base is known to lie between the two.
                let side = |base: f64| {
                    let across = a.lengths[2] * sin;
                    (base * base - across * across).max(0.0).sqrt() - a.lengths[2] * cos
                };
                if cos < 0.0 { (0.0, most + a.lengths[2]) } else { (side(least).max(0.0), side(most)) }
            }
            _ => self.between_circles(first, second),
        }
    }

    /// Bounds on the distance between a point of the one circle and a point of the other.
    fn between_circles(&self, first: &Placed<'_>, second: &Placed<'_>) -> (f64, f64) {
        let delta = second.centre - first.centre;
        let squared = delta.norm_squared();
        let (ra, rb) = (first.radius, second.radius);
        let (ahead_a, ahead_b) = (delta.dot(&self.from.towards), delta.dot(&self.to.towards));
        let aside_a = (squared - ahead_a * ahead_a).max(0.0).sqrt();
        let aside_b = (squared - ahead_b * ahead_b).max(0.0).sqrt();
        let base = squared + ra * ra + rb * rb;
        let spread = 2.0 * (ra * aside_a + rb * aside_b + ra * rb);
        ((base - spread).max(0.0).sqrt(), (base + spread).sqrt())
    }

    /// Closes the halves over one length between them, and names every chain of this portion that is joined so. Returns what
    /// was known before any posture was fitted.
    fn try_closure(
        &self,
        first: &Placed<'_>,
        second: &Placed<'_>,
        joins: &[Join<'_>],
        parts: usize,
        closed: &mut Vec<Closed>,
    ) -> Outlook {
        let [Join { length, straight, stretch, run, first: a_ending, second: b_ending, .. }, ..] = *joins else {
            return Outlook::Never;
        };
        let (a, b) = (first.alike.half, second.alike.half);
        let (from, to, allowance) = (&self.from, &self.to, &self.allowance);
        let half = a.half + b.half + stretch;
        let exit = -to.towards;
        let laid = Laid { run: *run, parts, length: straight };
        let sample = [&a_ending.halves[0], &b_ending.halves[0]];
        let mut found = Found { meeting: self, halves: sample, laid, closed: None, skeleton: None, outlook: None };
        let outlook = || self.outlook([first, second], joins, half);
        let w = second.corner - first.corner;
        let play = corner_play(allowance, b.lengths[0], half);
        if a.step + b.step > 0.0 {
            let (in_a, in_b) = (usize::from(a.bends), usize::from(b.bends));
            let bends = in_a + in_b;
            let mut lengths = [0.0; MAX_BENDS + 2];
            let mut angles = [(1.0, 0.0); MAX_BENDS + 1];
            lengths[..in_a].copy_from_slice(&a.lengths[..in_a]);
            angles[..in_a].copy_from_slice(&first.angles[..in_a]);
            lengths[in_a] = length;
            for index in 0..in_b {
                lengths[bends - index] = b.lengths[index];
                angles[bends - 1 - index] = second.angles[index];
            }
            let chain = Shifted {
                lengths: &lengths[..=bends],
                bends: &angles[..bends],
                run: if a.step > 0.0 {
                    usize::from(a.bends_before_step)
                } else {
                    bends - usize::from(b.bends_before_step)
                },
                step: a.step + b.step,
                play: corner_play(allowance, lengths[bends], half),
            };
            let middle = self.middles.between(
                [&self.from, &self.to],
                &self.allowance,
                [first.shape, second.shape],
                [first.angles[0].0, second.angles[0].0],
            );
            shifted(from, to, allowance, &chain, &middle, |directions, aside| found.offer_shifted(directions, &aside));
            found.closed.into_iter().for_each(|found| self.name_all(&found, joins, parts, closed));
            return Outlook::Open;
        }
        match (a.bends, b.bends) {
            (2, 1) => {
                let bends = [first.angles[0], first.angles[1], second.angles[0]];
                three(from, to, allowance, &w, [a.lengths[1], length], bends, play, |[one, two]| {
                    found.offer_if(outlook, &[one, two, exit]);
                });
            }
            (2, 2) => {
                let bow =
                    Bow { lengths: [a.lengths[1], length, b.lengths[1]], bends: [first.angles[1], second.angles[1]] };
                let cos = [first.angles[0].0, second.angles[0].0];
                four(from, to, allowance, &w, &bow, cos, play, |[one, two, three]| {
                    found.offer_if(outlook, &[one, two, three, exit]);
                });
            }
            _ => {
                let bow =
                    Bow { lengths: [a.lengths[2], length, b.lengths[1]], bends: [first.angles[2], second.angles[1]] };
                let hand = Hand {
                    first: a.lengths[1],
                    bend: first.angles[0],
                    second: first.angles[1].0,
                    last: second.angles[0].0,
                };
                five(from, to, &w, &hand, &bow, play, |[one, two, three, four]| {
                    found.offer(&[one, two, three, four, exit]);
                });
            }
        }
        found.closed.into_iter().for_each(|found| self.name_all(&found, joins, parts, closed));
        found.outlook.unwrap_or(Outlook::Open)
    }

    /// What can be said of all chains of `joins` before they are fitted; `half` is how much their lengths may differ from
    /// those that are tried.
    fn outlook(&self, [first, second]: [&Placed<'_>; 2], joins: &[Join<'_>], half: f64) -> Outlook {
        let (a, b) = (first.alike.half, second.alike.half);
        let [Join { length, .. }, ..] = *joins else { return Outlook::Never };
        // An offset is no bar, even one that steps aside by nothing.
        if half > 0.0 || a.count > a.bends || b.count > b.bends {
            return Outlook::Open;
        }
        let core_mm = joins.iter().map(|join| join.core_mm).fold(first.core_mm.min(second.core_mm), f64::min);
        let (lines, allowance, depths) = ([&self.from, &self.to], &self.allowance, self.depths);
        let outlook = match (a.bends, b.bends) {
            (2, 1) => {
                let lengths = [a.lengths[0], a.lengths[1], length, b.lengths[0]];
                let bends = [first.angles[0], first.angles[1], second.angles[0]];
                Three::new(lines, allowance, lengths, bends)
                    .map(|chain| stuck::three(depths, &chain, [first.core_mm, core_mm]))
            }
            (2, 2) => {
                let bow =
                    Bow { lengths: [a.lengths[1], length, b.lengths[1]], bends: [first.angles[1], second.angles[1]] };
                Four::new(lines, allowance, [a.lengths[0], b.lengths[0]], bow, [first.angles[0], second.angles[0]])
                    .map(|chain| stuck::four(depths, &chain, [first.core_mm, core_mm, second.core_mm]))
            }
            _ => None,
        };
        outlook.unwrap_or(Outlook::Open)
    }

    /// Gives every chain of `joins` the postures of the one that was closed for all of them.
    fn name_all(&self, found: &Closed, joins: &[Join<'_>], parts: usize, closed: &mut Vec<Closed>) {
        for Join { straight, run, first, second, .. } in joins {
            let laid = Laid { run: **run, parts, length: *straight };
            for a in first.halves {
                for b in second.halves {
                    if self.wants(a.loss + b.loss + run.loss) {
                        let mut chain = name(self, [a, b], laid);
                        chain.postures = found.postures.clone();
                        chain.lay_runs();
                        closed.push(chain);
                    }
                }
            }
        }
    }
}

/// Collects the postures of one pair of halves.
struct Found<'m, 'a> {
    meeting: &'m Meeting<'a>,
    halves: [&'m Half; 2],
    laid: Laid,
    closed: Option<Closed>,
    skeleton: Option<Skeleton<'m>>,
    /// What is known before anything is polished, once it was asked for.
    outlook: Option<Outlook>,
}

impl Found<'_, '_> {
    /// Polishes the posture along these run directions and keeps it if it closes.
    fn offer(&mut self, directions: &[Vector]) {
        self.offer_shifted(directions, &Vector::zeros());
    }

    /// The same unless there is nothing to be found.
    fn offer_if(&mut self, outlook: impl Fn() -> Outlook, directions: &[Vector]) {
        if *self.outlook.get_or_insert_with(outlook) == Outlook::Open {
            self.offer(directions);
        }
    }

    /// The same for a chain with an offset that steps towards `aside`.
    fn offer_shifted(&mut self, directions: &[Vector], aside: &Vector) {
        let meeting = self.meeting;
        let skeleton = *self.skeleton.get_or_insert_with(|| {
            let mut skeleton = Skeleton::EMPTY;
            skeleton.count = usize::from(self.halves[0].count + self.halves[1].count);
            each_part(meeting, self.halves, self.laid, |place, turn, laid| {
                skeleton.runs[place] = laid.run.span;
                skeleton.tried[place] = laid.length;
                turn.into_iter().for_each(|turn| skeleton.turns[place] = &meeting.stock.turns[turn].turn);
            });
            skeleton
        });
        let mut posture = skeleton.posture_along(&meeting.from, directions, std::slice::from_ref(aside));
        if let Some(residual) = closes(&skeleton, &meeting.from, &meeting.to, &meeting.allowance, &mut posture) {
            self.closed.get_or_insert_with(|| name(meeting, self.halves, self.laid)).add(posture, residual);
        }
    }
}

/// Gives `each` the place, turning class and run before it of a chain of two halves and the run between them; the last run has
/// no class after it. Not in order.
fn each_part(
    meeting: &Meeting<'_>,
    [first, second]: [&Half; 2],
    between: Laid,
    mut each: impl FnMut(usize, Option<TurnId>, Laid),
) {
    let (stock, runs) = (meeting.stock, meeting.runs);
    let (ahead, count) = (usize::from(first.count), usize::from(first.count + second.count));
    first.spell(stock, runs, stock.from, |place, turn, laid| each(place, Some(turn), laid));
    // Seen from the second port, each run stands before the part that it comes after here.
    let mut after = None;
    second.spell(stock, runs, stock.to, |place, turn, laid| {
        each(count - place, after.replace(stock.turns[turn].reverse), laid);
    });
    each(ahead, after, between);
}

fn name(meeting: &Meeting<'_>, halves: [&Half; 2], between: Laid) -> Closed {
    let count = usize::from(halves[0].count + halves[1].count);
    let (mut turns, mut lengths) = (vec![0; count], vec![between; count + 1]);
    each_part(meeting, halves, between, |place, turn, laid| {
        lengths[place] = laid;
        turn.into_iter().for_each(|turn| turns[place] = turn);
    });
    let loss = halves[0].loss + halves[1].loss + between.run.loss;
    Closed { loss, turns, runs: lengths, postures: Vec::new() }
}
