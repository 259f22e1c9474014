//! Self-motions: the continuum of postures in which a chain with more freedom than the closure takes away still closes.
//!
//! A one-parameter self-motion is followed by its length, through folds of every single turn, in [`Arc`]s. Each arc
//! carries a proof: of all postures near its tangent line, only those within `aside` of it can close. So the arcs
//! together hold the whole motion, and what is shown of them is shown of all of it. The bound is that of Newton and
//! Kantorovich: with `s` the least effect of a change square to the tangent, `C` a bound on the second derivative along
//! it and `M` one on all others, a posture `t` along and `y` beside the tangent closes only if
//! `s |y| <= |F| + C t²/2 + M |t| |y| + M |y|²/2`.

use super::{
    mobility::{Change, Closing, Freedoms, Jet},
    polish::polish,
    skeleton::Posture,
};
use std::collections::VecDeque;

/// A posture that misses by less, in millimetres, closes exactly but for rounding.
const EXACT_MM: f64 = 1e-8;

/// Changes of length one that move the end by less, in millimetres, do not move it at all to first order.
const FREE_MM: f64 = 1e-3;

/// Second derivative, in millimetres, from which on a change that does not move the end to first order does so to second:
/// the posture is a double solution and no part of a continuum. On a self-motion it is nought but for rounding.
const CURVED_MM: f64 = 0.05;

/// Changes of length one that move the end by less than this many times the allowance's millimetres are hidden by the
/// allowance for a good part of a radian.
const LOOSE: f64 = 2.0;

/// Step of the walk of a turn within the allowance, in radians, how many make a full turn, and how many postures there must
/// be, with one beyond either end, for it to count as more than play.
const DRIVEN_STEP: f64 = std::f64::consts::TAU / 60.0;
const DRIVEN_STEPS: usize = 60;
const DRIVEN_LEAST: usize = 6;

/// Most postures that the allowance alone lets move from which such ways are followed.
const MOST_LOOSELY: usize = 8;

/// How far around a posture others are looked for that close, in units of a change.
const FARTHEST: f64 = 0.5;

/// Changes of length one that move the end by less than this many times the allowance's millimetres may have another solution
/// near by that no closed form tells from the one in hand.
const SOFT: f64 = 40.0;

/// Postures that differ by less, in units of a change, are one.
const ANOTHER: f64 = 1e-3;

/// Step of the turn, in radians, below which such a way is not halved: where it jumps, halving leads nowhere.
const DRIVEN_SHORTEST: f64 = 1e-4;

/// How much farther from its chord such a way may be than at its middle.
const DRIVEN_BOW: f64 = 1.5;

/// Within this of such a way, in units of a change, postures belong to it.
const DRIVEN_ISOLATION: f64 = 0.02;

/// Directions around a posture with two free changes, and around one with three, in which self-motions are looked for.
const AROUND: u32 = 24;

/// How far from a posture with several free changes they are looked for.
const PROBE: f64 = 0.08;

/// The same near a place where an arc became too short, and so how much of the surroundings has to be proven at once.
const PROBE_SINGULAR: f64 = 3e-4;

/// How many times as far as it was looked for a posture may be found.
const MOST_ASTRAY: f64 = 4.0;

/// Most places at which branches meet, of one chain.
const MOST_SINGULAR: usize = 60;

/// Longest and shortest half of an arc, in units of a change. At less than the shortest, the closure is singular.
const LONGEST_HALF: f64 = 0.3;
const SHORTEST_HALF: f64 = 1e-5;

/// How far beside its tangent an arc may run, as a share of its half length.
const MOST_ASIDE: f64 = 0.2;

/// Widest tube around an arc in which postures are told from those of other branches, in units of a change.
const WIDEST: f64 = 0.3;

/// Most arcs of one chain: far more than a closed curve needs where it is not nearly singular all along.
const MOST_ARCS: usize = 6_000;

/// Miss in millimetres, weighted, to which postures on an arc are settled.
const SETTLED_MM: f64 = 1e-11;

/// Steps in which they settle; they are quadratic from a start that is well within the bound.
const MOST_STEPS: usize = 12;

/// A stretch of a self-motion: postures `posture + t tangent + y` with `|t| <= half` that close have `|y| <= aside`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Arc {
    pub(crate) posture: Posture,
    pub(crate) tangent: Change,
    pub(crate) half: f64,
    pub(crate) aside: f64,
    /// Within this of the tangent there are no other postures that close.
    pub(crate) isolation: f64,
    /// Of an arc along the least miss as a turn goes on, see [`Driven`].
    driven: Option<Driven>,
}

/// A chain that the allowance alone lets move has no postures of its own to prove anything of: what stands for it are those
/// of the least miss while one turn goes on. Such an arc is what lies between two of them.
#[derive(Clone, Copy, Debug)]
struct Driven {
    turn: usize,
    ends: [Posture; 2],
}

impl Arc {
    /// All within `radius` of a posture.
    pub(crate) fn point(posture: &Posture, radius: f64) -> Self {
        let isolation = radius.max(1e-3);
        Self { posture: *posture, tangent: Change::zeros(), half: 0.0, aside: radius, isolation, driven: None }
    }

    /// Between two postures of a least miss.
    fn driven(closing: &Closing<'_>, freedoms: &Freedoms, turn: usize, ends: [Posture; 2]) -> Self {
        let across = freedoms.between(&ends[0], &ends[1]);
        let mut middle = freedoms.apply(&ends[0], &(across / 2.0));
        let straight = middle;
        let Closing { skeleton, from, to, allowance } = *closing;
        polish(skeleton, from, to, allowance, &mut middle, Some(turn));
        let bow = freedoms.between(&straight, &middle).norm();
        let length = across.norm();
        let tangent = if length > 0.0 { across / length } else { Change::zeros() };
        // A smooth way is nowhere farther from its chord than a little more than at its middle.
        let aside = DRIVEN_BOW * bow;
        Self {
            posture: middle,
            tangent,
            half: length / 2.0,
            aside,
            isolation: aside.max(DRIVEN_ISOLATION),
            driven: Some(Driven { turn, ends }),
        }
    }
}

/// Why a continuum of postures is not covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Uncovered {
    /// Several adjustable parts of one run share its length, of which only one way is tried.
    Shared,
    /// It has two or more parameters, beside a turn of the whole chain about the line of both ports.
    Surface,
    /// Somewhere the closure is singular or nearly so, and the branches there cannot be told apart.
    Singular,
    /// Too much work.
    Long,
}

/// What a chain can do from some of its closed postures.
#[derive(Clone, Debug, Default)]
pub(crate) struct SelfMotion {
    /// Whether the ports lie on one line and face each other or the same way, so that every posture turns about it.
    pub(crate) rolls: bool,
    pub(crate) arcs: Vec<Arc>,
    /// Single postures that close beside those that were given.
    pub(crate) points: Vec<Posture>,
    pub(crate) uncovered: Option<Uncovered>,
}

impl SelfMotion {
    /// Whether there is any continuum at all.
    pub(crate) fn moves(&self) -> bool {
        self.rolls || !self.arcs.is_empty() || self.uncovered.is_some()
    }

    fn give_up(&mut self, why: Uncovered) {
        self.uncovered = self.uncovered.max(Some(why));
    }
}

/// Within this, in millimetres and radians, two ports count as on one line: a turn about it moves no end visibly.
const ON_A_LINE: f64 = 1e-6;

/// Whether the whole chain turns freely about the line of its ports.
fn rolls(closing: &Closing<'_>) -> bool {
    let [_, aside] = closing.from.beyond(closing.to);
    closing.skeleton.count > 0
        && aside <= ON_A_LINE
        && closing.from.towards.cross(&closing.to.towards).norm() <= ON_A_LINE
}

/// The self-motions of a chain without any posture to begin with.
pub(crate) fn no_motion(closing: &Closing<'_>) -> SelfMotion {
    SelfMotion { rolls: rolls(closing), ..SelfMotion::default() }
}

/// Follows every self-motion that holds one of `seeds`, which close, beside those that are known.
pub(crate) fn follow(closing: &Closing<'_>, known: SelfMotion, seeds: impl IntoIterator<Item = Posture>) -> SelfMotion {
    let freedoms = Freedoms::of(closing.skeleton, known.rolls);
    let mut tracer = Tracer { closing, freedoms, motion: known, singular: 0, loosely: 0 };
    for seed in seeds {
        tracer.follow(&seed);
    }
    tracer.motion
}

/// Directions all around in the space that one, two or three changes span.
fn directions(free: &[Change]) -> Vec<Change> {
    let around = |step: u32, of: u32| (std::f64::consts::TAU * f64::from(step) / f64::from(of)).sin_cos();
    match free {
        [only] => vec![*only, -only],
        [one, two] => (0..AROUND).map(|step| around(step, AROUND)).map(|(sin, cos)| one * cos + two * sin).collect(),
        [one, two, three, ..] => {
            let mut all = vec![*three, -three];
            for ring in 1..AROUND / 2 {
                let (beside, along) = around(ring, AROUND);
                let turns = (0..AROUND).map(|step| around(step, AROUND));
                all.extend(turns.map(|(sin, cos)| (one * cos + two * sin) * beside + three * along));
            }
            all
        }
        [] => Vec::new(),
    }
}

/// A posture with the way the self-motion goes on from it.
struct Place {
    jet: Jet,
    tangent: Change,
    /// Least effect of a change square to the tangent, in millimetres.
    stiffness: f64,
}

/// Principal directions, those that are free first, with how far each moves the end.
type Principal<'p> = (&'p [(f64, Change)], &'p [(f64, Change)]);

struct Tracer<'a> {
    closing: &'a Closing<'a>,
    freedoms: Freedoms,
    motion: SelfMotion,
    /// How many singular places were passed.
    singular: usize,
    /// How many postures that the allowance alone lets move were looked at.
    loosely: usize,
}

impl Tracer<'_> {
    fn follow(&mut self, seed: &Posture) {
        if self.motion.arcs.iter().any(|arc| self.is_on(arc, seed)) {
            return;
        }
        let jet = Jet::at(self.closing, &self.freedoms, seed);
        let principal = jet.principal();
        let is_exact = jet.miss().norm() < EXACT_MM;
        let softer = |than: f64| principal.iter().take_while(|(effect, _)| *effect < than).count();
        let free = softer(FREE_MM);
        let before = self.motion.arcs.len();
        if is_exact && free == 1 {
            if jet.curvature(&principal[0].1, &principal[1..]) < CURVED_MM {
                self.trace_both(seed, &principal[0].1);
            }
        } else if is_exact && free > 1 {
            self.follow_several(seed, &jet, principal.split_at(free));
        }
        let loose = softer(LOOSE * self.closing.allowance.mm);
        if self.motion.arcs.len() == before && self.loosely < MOST_LOOSELY {
            let soft: Vec<Change> = principal
                .iter()
                .take(softer(SOFT * self.closing.allowance.mm).min(2))
                .map(|(_, change)| *change)
                .collect();
            self.loosely += usize::from(!soft.is_empty());
            self.follow_near(seed, &jet, &soft);
            if loose > 0 && self.motion.arcs.len() == before {
                self.follow_within_allowance(seed);
            }
            if loose > 1 && self.motion.arcs.len() > before {
                // The allowance lets the chain move two ways, of which only lines of least miss were followed.
                self.motion.give_up(Uncovered::Surface);
            }
        }
        if self.motion.rolls && self.motion.arcs.len() == before {
            self.motion.arcs.push(Arc::point(seed, 0.0));
        }
    }

    /// Looks for what closes near a posture that some `soft` changes move little: the self-motions of a linkage that can barely
    /// close, which has all of them within a fraction of a degree, and the other one of two solutions that lie near to each
    /// other.
    fn follow_near(&mut self, seed: &Posture, jet: &Jet, soft: &[Change]) {
        let Closing { skeleton, from, to, allowance } = *self.closing;
        let back =
            |direction: Change| Some((direction, jet.bends_back(&direction, soft).filter(|far| *far < FARTHEST)?));
        for (direction, far) in directions(soft).into_iter().filter_map(back) {
            let mut there = self.freedoms.apply(seed, &(direction * far));
            let residual = polish(skeleton, from, to, allowance, &mut there, self.motion.rolls.then_some(0));
            if self.closing.weighted_miss(&there) < EXACT_MM {
                self.follow_branch(&there);
            }
            if residual.within(allowance) && !self.holds(&there) && self.freedoms.between(seed, &there).norm() > ANOTHER
            {
                if self.motion.rolls {
                    self.motion.arcs.push(Arc::point(&there, 0.0));
                } else {
                    self.motion.points.push(there);
                }
            }
        }
    }

    /// Whether a posture is held already.
    fn holds(&self, posture: &Posture) -> bool {
        self.motion.arcs.iter().any(|arc| self.is_on(arc, posture))
            || self.motion.points.iter().any(|point| self.freedoms.between(point, posture).norm() < ANOTHER)
    }

    /// Follows what is no self-motion, but which the allowance lets move far.
    fn follow_within_allowance(&mut self, seed: &Posture) {
        let Closing { skeleton, from, to, allowance } = *self.closing;
        for turn in usize::from(self.motion.rolls)..skeleton.count {
            let mut line = VecDeque::from([*seed]);
            let mut open = [true; 2];
            for (side, step) in [DRIVEN_STEP, -DRIVEN_STEP].into_iter().enumerate() {
                while open[side] && line.len() < DRIVEN_STEPS {
                    let mut here = if side == 0 { line[line.len() - 1] } else { line[0] };
                    here.turns[turn] += step;
                    // The first posture that does not close bounds where those that do end.
                    open[side] = polish(skeleton, from, to, allowance, &mut here, Some(turn)).within(allowance);
                    if side == 0 { line.push_back(here) } else { line.push_front(here) }
                }
            }
            if line.len() < DRIVEN_LEAST {
                continue;
            }
            if open[0] {
                // All the way round.
                line.push_back(line[0]);
            }
            let arcs = line.iter().zip(line.iter().skip(1));
            let arcs = arcs.map(|(one, other)| Arc::driven(self.closing, &self.freedoms, turn, [*one, *other]));
            self.motion.arcs.extend(arcs);
        }
    }

    /// Follows the self-motions through a posture that several `free` changes leave closed to first order: to second order,
    /// none of them may, or all, or some.
    fn follow_several(&mut self, seed: &Posture, jet: &Jet, (free, stiff): Principal<'_>) {
        let free: Vec<Change> = free.iter().map(|(_, change)| *change).collect();
        let directions = directions(&free);
        let curved = directions.iter().filter(|direction| jet.curvature(direction, stiff) >= CURVED_MM).count();
        if curved == 0 {
            return self.motion.give_up(Uncovered::Surface);
        }
        let exact = self.probe(seed, &directions, PROBE);
        if exact.len() * 4 > directions.len() * 3 {
            return self.motion.give_up(Uncovered::Surface);
        }
        if exact.is_empty() && curved < directions.len() {
            return self.motion.give_up(Uncovered::Singular);
        }
        exact.iter().for_each(|posture| self.follow_branch(posture));
    }

    /// The postures that close exactly some `radius` away from another in one of these directions.
    fn probe(&self, centre: &Posture, directions: &[Change], radius: f64) -> Vec<Posture> {
        let there = directions.iter().map(|direction| {
            let there = self.freedoms.apply(centre, &(direction * radius));
            settle(self.closing, &self.freedoms, &there, direction)
        });
        let is_one = |there: &Posture| {
            self.closing.weighted_miss(there) < EXACT_MM
                && self.freedoms.between(centre, there).norm() < MOST_ASTRAY * radius
        };
        there.filter(is_one).collect()
    }

    /// Follows a branch through a posture that closes exactly, if it is on one and on none that is known.
    fn follow_branch(&mut self, posture: &Posture) {
        if self.motion.arcs.iter().any(|arc| self.is_on(arc, posture)) {
            return;
        }
        let jet = Jet::at(self.closing, &self.freedoms, posture);
        let principal = jet.principal();
        match principal.iter().take_while(|(effect, _)| *effect < FREE_MM).count() {
            0 => {}
            1 if jet.curvature(&principal[0].1, &principal[1..]) < CURVED_MM => {
                self.trace_both(posture, &principal[0].1);
            }
            1 => {}
            _ => self.motion.give_up(Uncovered::Surface),
        }
    }

    fn trace_both(&mut self, seed: &Posture, tangent: &Change) {
        self.trace(seed, tangent);
        self.trace(seed, &-tangent);
    }

    /// Whether a posture lies on an arc.
    fn is_on(&self, arc: &Arc, posture: &Posture) -> bool {
        let change = self.freedoms.between(&arc.posture, posture);
        let along = arc.tangent.dot(&change);
        along.abs() <= arc.half * (1.0 + 1e-9) + 1e-12 && (change - arc.tangent * along).norm() <= arc.isolation
    }

    /// Follows the motion from `start` along `tangent` until it ends, comes round, or runs into arcs that are there.
    fn trace(&mut self, start: &Posture, tangent: &Change) {
        let first = self.motion.arcs.len();
        let (mut here, mut ahead) = (*start, *tangent);
        let mut half = LONGEST_HALF / 4.0;
        loop {
            if self.motion.arcs.len() >= MOST_ARCS {
                return self.motion.give_up(Uncovered::Long);
            }
            let Some((arc, end)) = self.arc_from(&here, &ahead, &mut half) else {
                return self.pass_singular(&here);
            };
            self.motion.arcs.push(arc);
            let count = self.motion.arcs.len();
            // The arc just made touches its own end, and that before it too where it is short.
            let known = self.motion.arcs[..first].iter().chain(&self.motion.arcs[first..(count - 1).max(first)]);
            let came_round = known.rev().skip(1).any(|arc| self.is_on(arc, &end));
            let outside = self.freedoms.beyond(self.closing.skeleton, &end) > 0.0;
            if came_round || outside || !self.closing.residual(&end).within(self.closing.allowance) {
                return;
            }
            (here, ahead) = (end, arc.tangent);
        }
    }

    /// Takes a ball around a posture near which the closure is singular for granted, and goes on from all branches that leave
    /// it.
    fn pass_singular(&mut self, here: &Posture) {
        let jet = Jet::at(self.closing, &self.freedoms, here);
        if jet.miss().norm() > EXACT_MM {
            return self.motion.give_up(Uncovered::Singular);
        }
        self.singular += 1;
        if self.singular > MOST_SINGULAR {
            return self.motion.give_up(Uncovered::Singular);
        }
        self.motion.arcs.push(Arc::point(here, PROBE_SINGULAR * 1.01));
        let free: Vec<Change> = jet.principal().iter().take(2).map(|(_, change)| *change).collect();
        for posture in self.probe(here, &directions(&free), PROBE_SINGULAR * 1.05) {
            self.follow_branch(&posture);
        }
    }

    /// The arc that begins at `here` and goes `ahead`, and its far end.
    fn arc_from(&self, here: &Posture, ahead: &Change, half: &mut f64) -> Option<(Arc, Posture)> {
        *half = (*half * 2.0).min(LONGEST_HALF);
        while *half >= SHORTEST_HALF {
            let tried = *half;
            *half /= 2.0;
            let middle = self.freedoms.apply(here, &(ahead * tried));
            let middle = settle(self.closing, &self.freedoms, &middle, ahead);
            let Some(place) = self.place(&middle, ahead) else { continue };
            let back = self.freedoms.between(&middle, here);
            let reach = place.tangent.dot(&back).abs() * (1.0 + 1e-9);
            // The way back must lead along this very arc.
            if !(0.5..1.5).contains(&(reach / tried)) {
                continue;
            }
            let Some(bound) = bound(&place, reach) else { continue };
            if (back - place.tangent * place.tangent.dot(&back)).norm() > bound.aside * (1.0 + 1e-6) + 1e-9 {
                continue;
            }
            let arc = Arc {
                posture: middle,
                tangent: place.tangent,
                half: reach,
                aside: bound.aside,
                isolation: bound.isolation,
                driven: None,
            };
            let end = self.freedoms.apply(&middle, &(place.tangent * reach));
            let end = settle(self.closing, &self.freedoms, &end, &place.tangent);
            *half = tried;
            return Some((arc, end));
        }
        None
    }

    fn place(&self, posture: &Posture, hint: &Change) -> Option<Place> {
        place(self.closing, &self.freedoms, posture, hint)
    }
}

/// The self-motion at a posture; `None` where more than one way is open.
fn place(closing: &Closing<'_>, freedoms: &Freedoms, posture: &Posture, hint: &Change) -> Option<Place> {
    let jet = Jet::at(closing, freedoms, posture);
    let principal = jet.principal();
    let tangent = principal[0].1;
    let tangent = if tangent.dot(hint) < 0.0 { -tangent } else { tangent };
    let stiffness = principal.get(1).map_or(f64::INFINITY, |(effect, _)| *effect);
    (stiffness > 0.0).then_some(Place { jet, tangent, stiffness })
}

struct Bound {
    aside: f64,
    isolation: f64,
}

/// How far beside its tangent the motion can be within `half` of a place; `None` where that cannot be told.
fn bound(place: &Place, half: f64) -> Option<Bound> {
    let Place { jet, tangent, stiffness } = place;
    if stiffness.is_infinite() {
        return Some(Bound { aside: 0.0, isolation: WIDEST });
    }
    let count = jet.freedoms.count;
    let mut isolation = WIDEST.min(half);
    for _ in 0..2 {
        let deltas = tangent.abs().map(|share| share * half + isolation);
        let columns = jet.column_bounds(&deltas);
        let (mut beside, mut all, mut along) = (0.0, 0.0, 0.0);
        for i in 0..count {
            let mut mixed = 0.0;
            for j in 0..count {
                let column = columns[i.max(j)];
                mixed += tangent[j].abs() * column;
                all += column * column;
                let third: f64 = (0..count).map(|k| deltas[k] * columns[i.max(j).max(k)]).sum();
                along += (tangent[i] * tangent[j]).abs() * third;
            }
            beside += mixed * mixed;
        }
        let (beside, all) = (beside.sqrt(), all.sqrt());
        let left = stiffness / 2.0 - half * beside;
        if left <= 0.0 {
            return None;
        }
        let widest = (2.0 * left / all).min(isolation);
        let curve = 0.5 * half * half * (jet.second(tangent).norm() + along);
        let aside = 2.0 * (SETTLED_MM + curve) / stiffness;
        if aside <= (MOST_ASIDE * half).min(widest / 2.0) {
            return Some(Bound { aside, isolation: widest });
        }
        isolation = widest;
    }
    None
}

/// Moves a posture square to `tangent` to the least miss.
fn settle(closing: &Closing<'_>, freedoms: &Freedoms, posture: &Posture, tangent: &Change) -> Posture {
    let mut posture = *posture;
    for _ in 0..MOST_STEPS {
        let jet = Jet::at(closing, freedoms, &posture);
        let step = jet.least_squares(tangent);
        posture = freedoms.apply(&posture, &step);
        if step.norm() < SETTLED_MM {
            break;
        }
    }
    posture
}

/// The posture on the motion that is `along` an arc's tangent from its middle.
pub(crate) fn beside(closing: &Closing<'_>, freedoms: &Freedoms, arc: &Arc, along: f64) -> Posture {
    settle(closing, freedoms, &freedoms.apply(&arc.posture, &(arc.tangent * along)), &arc.tangent)
}

impl Arc {
    /// Whether it is too short to be halved with any sense.
    pub(crate) fn is_least(&self) -> bool {
        self.driven.is_some_and(|Driven { turn, ends: [start, end] }| {
            let by = end.turns[turn] - start.turns[turn];
            (by - std::f64::consts::TAU * (by / std::f64::consts::TAU).round()).abs() < DRIVEN_SHORTEST
        })
    }
}

/// The two halves of an arc, together as long; `None` where that cannot be shown of them.
pub(crate) fn halves(closing: &Closing<'_>, freedoms: &Freedoms, arc: &Arc) -> Option<[Arc; 2]> {
    if let Some(Driven { turn, ends }) = arc.driven {
        let [start, end] = ends;
        let halves = [[start, arc.posture], [arc.posture, end]];
        return Some(halves.map(|ends| Arc::driven(closing, freedoms, turn, ends)));
    }
    let half_of = |side: f64| {
        let middle = beside(closing, freedoms, arc, side * arc.half / 2.0);
        let place = place(closing, freedoms, &middle, &arc.tangent)?;
        // Both tangents have length one: their difference is at least the sine between them.
        let half = arc.half / 2.0 + 2.0 * arc.aside * (place.tangent - arc.tangent).norm();
        let Bound { aside, isolation } = bound(&place, half)?;
        Some(Arc { posture: middle, tangent: place.tangent, half, aside, isolation, driven: None })
    };
    Some([half_of(-1.0)?, half_of(1.0)?])
}
