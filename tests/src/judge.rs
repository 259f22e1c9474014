//! A slow judge: the postures in which a chain closes exactly, walked through in small steps, and the room it has in
//! each.
//!
//! Postures are found from scattered turns by Newton's method, each that is new is followed along its continuum both
//! ways in steps of [`STEP`], and the clearance of each is bounded from below by planes between convex bodies. Where two
//! turns are free, one of them is held at a time and the others are walked. From the best the room is climbed to its
//! peak. The judge knows nothing of kinds of chains, closed forms or intervals, and it proves one thing only: what it
//! finds is possible. What it does not find may be possible all the same.

use crate::chain::{Problem, Step};
use crate::postures::{Linkage, Turns};
use crate::solids::{clearances_at_least, self_overlap};
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::TAU;

/// The longest step along a continuum, in radians of all turns together: 0.05°.
pub const STEP: f64 = 0.05 * TAU / 360.0;
/// The same where two turns are free: 0.5°, and how far apart the turns are that are held, 2°.
const COARSE_STEP: f64 = 10.0 * STEP;
const HELD: u32 = 180;
/// Scattered turns from which postures are sought, and the same for each turn that is held.
const STARTS: usize = 240;
const STARTS_HELD: usize = 10;
/// Of the postures walked through, one in so many is kept, to tell what was walked already.
const KEPT: usize = 8;
/// Most steps in one walk: three full turns and more.
const MOST_STEPS: usize = 25_000;
/// Postures from which the room is climbed, the first step of a climb in radians, which is halved where it leads no
/// higher, and how many steps there are.
const CLIMBED: usize = 12;
const FIRST_CLIMB: f64 = 0.03;
const CLIMBS: usize = 60;

/// What the judge found about one sequence of parts.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// The most room found, in millimetres, and the chain in that posture; `None` where it closes nowhere without
    /// touching itself.
    pub best: Option<(f64, Vec<Step>)>,
    /// How many walks there were.
    pub walks: usize,
    /// How many postures were looked at.
    pub postures: usize,
}

/// Looks for a posture with room of `enough` millimetres, or failing that the most.
#[must_use]
pub fn judge(problem: &Problem, steps: &[Step], enough: f64) -> Verdict {
    let linkage = Linkage::new(problem, steps);
    let mut bench = Bench { linkage: &linkage, enough, verdict: Verdict::default(), peaks: Vec::new() };
    let mut rng = StdRng::seed_from_u64(1);
    let starts = linkage.scatter(&mut rng, STARTS);
    let two_free = starts.iter().filter(|start| is_surface(&linkage, start, &mut rng)).count() * 2 > starts.len();
    if two_free {
        for held in 0..HELD {
            let slice = linkage.holding(0, f64::from(held) * TAU / f64::from(HELD));
            let starts = slice.scatter(&mut rng, STARTS_HELD);
            bench.walk_all(&slice, &starts, COARSE_STEP);
        }
    } else {
        bench.walk_all(&linkage, &starts, STEP);
    }
    bench.climb(&mut rng);
    bench.verdict
}

/// Whether the postures near this one make up a surface and not a line: chains that lie in one plane seem to have a
/// freedom more than they have.
fn is_surface(linkage: &Linkage<'_>, start: &Turns, rng: &mut StdRng) -> bool {
    let kernel = linkage.freedoms(start);
    if kernel.len() < 2 {
        return false;
    }
    let zero = || Turns::zeros(start.len());
    let went: Vec<Turns> = (0..8)
        .filter_map(|_| {
            kernel.iter().fold(zero(), |sum, each| sum + each * rng.random_range(-1.0..1.0)).try_normalize(0.1)
        })
        .filter_map(|direction| Some(linkage.go(start, &direction, 0.2)? - start))
        .collect();
    let Some(first) = went.first().map(|first| first.normalize()) else { return false };
    went.iter().any(|other| (other - &first * first.dot(other)).norm() > 0.06)
}

/// The judge at work.
struct Bench<'a> {
    linkage: &'a Linkage<'a>,
    enough: f64,
    verdict: Verdict,
    /// The roomiest postures of each stretch of the walks.
    peaks: Vec<(f64, Turns)>,
}

impl Bench<'_> {
    /// Whether enough was found.
    fn is_done(&self) -> bool {
        self.verdict.best.as_ref().is_some_and(|best| best.0 >= self.enough)
    }

    /// The room of a posture; nothing where the chain touches itself.
    fn look(&mut self, turns: &Turns) -> f64 {
        self.verdict.postures += 1;
        let problem = self.linkage.problem;
        let chain = self.linkage.steps(turns);
        let placed = problem.place(&chain);
        let room = clearances_at_least(problem, &chain, &placed);
        let best = self.verdict.best.as_ref().map_or(f64::NEG_INFINITY, |best| best.0);
        if room > best && self_overlap(problem, &chain, &placed, false).is_none() {
            self.verdict.best = Some((room, chain));
        }
        room
    }

    /// Walks through every continuum that one of `starts` lies on.
    fn walk_all(&mut self, linkage: &Linkage<'_>, starts: &[Turns], step: f64) {
        let mut walked: Vec<Turns> = Vec::new();
        #[expect(clippy::cast_precision_loss, reason = "a small number")]
        let near = step * KEPT as f64;
        for start in starts {
            if self.is_done() || walked.iter().any(|known| Linkage::apart(known, start) < near) {
                continue;
            }
            self.verdict.walks += 1;
            let room = self.look(start);
            self.peaks.push((room, start.clone()));
            walked.push(start.clone());
            let Some(direction) = linkage.freedoms(start).into_iter().next() else { continue };
            for sign in [1.0, -1.0] {
                let (mut here, mut ahead) = (start.clone(), &direction * sign);
                let mut peak = (f64::NEG_INFINITY, here.clone());
                let mut is_round = false;
                for count in 1..MOST_STEPS {
                    let Some((next, onward)) = linkage.stride(&here, &ahead, step) else { break };
                    (here, ahead) = (next, onward);
                    let room = self.look(&here);
                    if room > peak.0 {
                        peak = (room, here.clone());
                    }
                    if count % KEPT == 0 {
                        is_round = count > 4 * KEPT && Linkage::apart(&here, start) < near;
                        walked.push(here.clone());
                    }
                    if count % (16 * KEPT) == 0 {
                        self.peaks.push(std::mem::replace(&mut peak, (f64::NEG_INFINITY, here.clone())));
                    }
                    if is_round || self.is_done() {
                        break;
                    }
                }
                self.peaks.push(peak);
                if is_round || self.is_done() {
                    break;
                }
            }
        }
    }

    /// Climbs from the roomiest postures to where there is most room.
    fn climb(&mut self, rng: &mut StdRng) {
        let mut peaks = std::mem::take(&mut self.peaks);
        peaks.sort_by(|a, b| b.0.total_cmp(&a.0));
        peaks.truncate(CLIMBED);
        for (mut room, mut here) in peaks {
            let mut by = FIRST_CLIMB;
            for _ in 0..CLIMBS {
                if self.is_done() {
                    return;
                }
                let kernel = self.linkage.freedoms(&here);
                let mut tries: Vec<Turns> = kernel.iter().flat_map(|each| [each.clone(), -each]).collect();
                if kernel.len() > 1 {
                    for _ in 0..8 {
                        let zero = Turns::zeros(here.len());
                        let mix = kernel.iter().fold(zero, |sum, each| sum + each * rng.random_range(-1.0..1.0));
                        tries.extend(mix.try_normalize(1e-6));
                    }
                }
                let mut is_better = false;
                for direction in tries {
                    let Some(next) = self.linkage.go(&here, &direction, by) else { continue };
                    let there = self.look(&next);
                    if there > room {
                        (room, here, is_better) = (there, next, true);
                        break;
                    }
                }
                if !is_better {
                    by /= 2.0;
                }
            }
        }
    }
}
