//! Whether a chain that can move while it closes has room in any of its postures: all of its self-motion is covered by
//! stretches that are each proven blocked, until one is found that is clear.
//!
//! A signed distance changes by no more than the farthest point moves. So what is deep enough in something at the middle
//! of a stretch is in it all along; where it is not, the stretch is halved.

use crate::bridge::{
    closure::{Arc, Closing, Freedoms, Posture, SelfMotion, Uncovered, beside, golden_section, halves},
    placed::{Closed, Motion, PROOF_MARGIN_MM, Site, Stretch, Sweep},
    stock::LinkId,
};
use std::f64::consts::TAU;

/// Most stretches of one chain that are looked at. An arc at a clearance of a few hundredths of a millimetre from the
/// allowance takes some thousand.
const MOST_STRETCHES: usize = 40_000;

/// First share of a full turn of the whole chain that is tried to be proven at once.
const FIRST_ROLLS: u32 = 12;

/// What was found out about all postures of a chain.
#[derive(Clone, Debug)]
pub(in crate::bridge) enum Covered<Found> {
    /// None has room.
    Blocked,
    /// This one has, or that at the middle of this stretch.
    Clear(Box<Found>),
    /// There may be one.
    Undecided(Uncovered),
}

/// Looks for a posture with room among all that hang together with those of `motion`.
pub(in crate::bridge) fn cover(
    site: &Site<'_>,
    closing: &Closing<'_>,
    links: &[LinkId],
    closed: &Closed,
    motion: &SelfMotion,
) -> Covered<Stretch> {
    let freedoms = Freedoms::of(closing.skeleton, motion.rolls);
    let mut stretches: Vec<Stretch> = Vec::new();
    for arc in motion.arcs.iter().rev() {
        if motion.rolls {
            let half_roll = TAU / f64::from(FIRST_ROLLS) / 2.0;
            let rolls = (0..FIRST_ROLLS).map(|step| half_roll * f64::from(2 * step + 1));
            stretches.extend(rolls.map(|roll| Stretch { arc: *arc, roll, half_roll }));
        } else {
            stretches.push(Stretch { arc: *arc, roll: 0.0, half_roll: 0.0 });
        }
    }
    if !motion.rolls {
        let points = motion.points.iter().map(|point| Arc::point(point, 0.0));
        stretches.extend(points.map(|arc| Stretch { arc, roll: 0.0, half_roll: 0.0 }));
    }
    let mut looked_at = 0;
    while let Some(stretch) = stretches.pop() {
        looked_at += 1;
        if looked_at > MOST_STRETCHES {
            return Covered::Undecided(Uncovered::Long);
        }
        let posture = stretch.posture();
        let beyond = freedoms.beyond(closing.skeleton, &posture);
        let Stretch { arc, .. } = &stretch;
        if beyond > arc.half + arc.aside {
            continue;
        }
        let built = site.build(links, closed, &posture);
        let sweep = Sweep::new(closing, &freedoms, &stretch);
        let last_run = closed.turns.len();
        if site.blocks(&built, last_run, &sweep) {
            continue;
        }
        if beyond == 0.0 && site.has_room(&built, last_run) && closing.residual(&posture).within(closing.allowance) {
            return Covered::Clear(Box::new(stretch));
        }
        let [farthest, shape] =
            built.farthest(|solid, element| [sweep.reach(solid, element), sweep.shape(solid, element)]);
        if farthest < PROOF_MARGIN_MM / 4.0 {
            // Every body leaves room here, so it is the chain's end that is out of the allowance or the range.
            continue;
        }
        if farthest > 2.0 * shape {
            let half_roll = stretch.half_roll / 2.0;
            stretches.extend([half_roll, -half_roll].map(|by| Stretch {
                roll: stretch.roll + by,
                half_roll,
                ..stretch
            }));
        } else if !arc.is_least() {
            let Some(halves) = halves(closing, &freedoms, arc) else { return Covered::Undecided(Uncovered::Singular) };
            stretches.extend(halves.map(|arc| Stretch { arc, ..stretch }));
        }
    }
    motion.uncovered.map_or(Covered::Blocked, Covered::Undecided)
}

/// The posture near the middle of a stretch that is worth most: first of those that turn the chain as a whole, then of those
/// along its own motion.
pub(in crate::bridge) fn clearest(
    closing: &Closing<'_>,
    motion: &SelfMotion,
    stretch: &Stretch,
    worth: impl Fn(&Posture) -> f64,
) -> Posture {
    let freedoms = Freedoms::of(closing.skeleton, motion.rolls);
    let mut stretch = *stretch;
    let mut best = (worth(&stretch.posture()), stretch.posture());
    if motion.rolls {
        let rolled = golden_section(|by| {
            let posture = Stretch { roll: stretch.roll + by, ..stretch }.posture();
            (worth(&posture), posture)
        });
        if rolled.0 > best.0 {
            stretch.roll = rolled.1.turns[0] - stretch.arc.posture.turns[0];
            best = rolled;
        }
    }
    if stretch.arc.half > 0.0 {
        let moved = golden_section(|by| {
            let mut arc = stretch.arc;
            arc.posture = beside(closing, &freedoms, &arc, by);
            let posture = Stretch { arc, ..stretch }.posture();
            let closes = freedoms.beyond(closing.skeleton, &posture) == 0.0
                && closing.residual(&posture).within(closing.allowance);
            (if closes { worth(&posture) } else { f64::NEG_INFINITY }, posture)
        });
        if moved.0 > best.0 {
            best = moved;
        }
    }
    best.1
}
