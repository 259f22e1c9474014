//! Chains of four offsets between parallel ports: a linkage in the plane square to the ports, which moves in two ways at once.
//!
//! Seen along the ports' axes, the four steps aside must add up to where the second port stands. Two of their directions
//! are free; the other two follow as the sides of a triangle. So the free two are divided into cells: over a cell the third
//! side of the triangle lies in a disc, which bounds the angles of the triangle, and with all four directions bounded so is
//! how far any part can move. Each pair of steps takes its turn as the two that follow, over those cells in which they are
//! not certainly nearer to one line than another pair: in line, they would follow badly.

use super::cover::Covered;
use crate::{
    bridge::{
        closure::{Closing, Element, Posture, Uncovered},
        placed::{Closed, Motion, PROOF_MARGIN_MM, Site, arm},
        stock::LinkId,
    },
    geometry::{Solid, Vector},
};
use std::f64::consts::{PI, TAU};

/// Steps in such a chain.
const STEPS: usize = 4;

/// Cells of each free direction to begin with.
const FIRST_CELLS: u32 = 12;

/// Most cells of one chain that are looked at.
const MOST_CELLS: usize = 300_000;

/// Within this, in radians, the ports' axes count as parallel.
const PARALLEL: f64 = 1e-9;

/// A chain of offsets as a linkage.
pub(super) struct Linkage {
    /// How far each offset steps aside, in millimetres.
    steps: [f64; STEPS],
    /// What the turn of each is more than the change of direction from the step before.
    marks: [f64; STEPS],
    /// Where the second port stands, seen along the first one's axis from its mark on.
    target: [f64; 2],
    /// The first port's axis.
    axis: Vector,
}

/// Half of a cell, in radians, at which the most promising are told and climbed from.
const COARSE: f64 = PI / 40.0;

/// From how many cells a posture with room is looked for by climbing.
const CLIMBS: usize = 40;

/// Step at which a climb ends, in radians: it moves no part by more than a few micrometres.
const LEAST_CLIMB: f64 = 2e-5;

/// Directions of the steps, each give or take some radians.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// The steps whose directions are free.
    free: [usize; 2],
    middles: [f64; 2],
    halves: [f64; 2],
    /// On which side of its base the triangle of the other two stands: 1 or -1.
    side: f64,
}

/// All four directions over a cell.
#[derive(Clone, Copy, Debug)]
struct Fan {
    angles: [f64; STEPS],
    halves: [f64; STEPS],
    /// Whether the directions in the middle close exactly.
    closes: bool,
}

impl Linkage {
    /// `None` for any other chain.
    pub(in crate::bridge) fn of(closing: &Closing<'_>) -> Option<Self> {
        let (skeleton, from, to) = (closing.skeleton, closing.from, closing.to);
        let is_fixed = skeleton.runs[..=skeleton.count].iter().all(|run| run.is_fixed());
        if skeleton.count != STEPS || !is_fixed || from.towards.cross(&to.towards).norm() > PARALLEL {
            return None;
        }
        let (mut steps, mut marks) = ([0.0; STEPS], [0.0; STEPS]);
        let mut before = 0.0;
        for (index, turn) in skeleton.turns().enumerate() {
            let (_, step) = turn.offset()?;
            let (x, y) = turn.sideways();
            // A step's own direction in its part, and how the frame behind it is turned against the one before.
            let own = y.atan2(x);
            steps[index] = step;
            marks[index] = own + before;
            before = turn.twist() - own;
        }
        let across = from.towards.cross(&from.mark);
        let delta = to.at - from.at;
        Some(Self { steps, marks, target: [delta.dot(&from.mark), delta.dot(&across)], axis: from.towards })
    }

    /// Looks for a posture with room among all in which the chain closes.
    pub(in crate::bridge) fn cover(
        &self,
        site: &Site<'_>,
        closing: &Closing<'_>,
        links: &[LinkId],
        closed: &Closed,
    ) -> Covered<Posture> {
        let chain = InPlace { linkage: self, site, closing, links, closed };
        let mut looked_at = 0;
        let coarse = match chain.divide(Cell::all(), COARSE, &mut looked_at) {
            Ok(open) => open,
            Err(ended) => return ended,
        };
        // The most promising come first, and last into a list that is taken from its end.
        let mut coarse: Vec<(f64, Cell)> = coarse.into_iter().map(|cell| (chain.spare_mm(&cell), cell)).collect();
        coarse.sort_by(|one, other| one.0.total_cmp(&other.0));
        for (_, cell) in coarse.iter().rev().take(CLIMBS) {
            if let Some(posture) = chain.climb(cell) {
                return Covered::Clear(Box::new(posture));
            }
        }
        let coarse = coarse.into_iter().map(|(_, cell)| cell).collect();
        chain.divide(coarse, 0.0, &mut looked_at).map_or_else(|ended| ended, |_| Covered::Blocked)
    }

    fn others(free: [usize; 2]) -> [usize; 2] {
        let mut others = (0..STEPS).filter(|step| !free.contains(step));
        [others.next().unwrap_or(0), others.next().unwrap_or(0)]
    }

    /// The directions of all steps over a cell; `None` where it cannot close.
    fn fan(&self, cell: &Cell) -> Option<Fan> {
        let [third, fourth] = Self::others(cell.free);
        let (a, b) = (self.steps[third], self.steps[fourth]);
        let mut rest = self.target;
        let mut spread = 0.0;
        let (mut angles, mut halves) = ([0.0; STEPS], [0.0; STEPS]);
        for ((step, middle), half) in cell.free.into_iter().zip(cell.middles).zip(cell.halves) {
            rest[0] -= self.steps[step] * middle.cos();
            rest[1] -= self.steps[step] * middle.sin();
            spread += self.steps[step] * half;
            (angles[step], halves[step]) = (middle, half);
        }
        let base = rest[0].hypot(rest[1]);
        let (least, most) = ((base - spread).max(0.0).max((a - b).abs()), (base + spread).min(a + b));
        if least > most + ROUNDING_MM {
            return None;
        }
        let along = rest[1].atan2(rest[0]);
        let lean = if base > spread { (spread / base).asin() } else { PI };
        // The angle between the base and the side `own`, of a base of some length.
        let angle = |own: f64, other: f64, base: f64| {
            let cos = (base * base + own * own - other * other) / (2.0 * base * own).max(1e-12);
            cos.clamp(-1.0, 1.0).acos()
        };
        for (step, own, other, side) in [(third, a, b, cell.side), (fourth, b, a, -cell.side)] {
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            // It has its greatest value inside where the base and the other side make a right angle.
            let turning_point = (own * own - other * other).max(0.0).sqrt();
            for base in [least, most, turning_point.clamp(least, most.max(least))] {
                let angle = angle(own, other, base);
                (low, high) = (low.min(angle), high.max(angle));
            }
            let middle = angle(own, other, base.clamp(least, most.max(least)));
            angles[step] = along + side * middle;
            halves[step] = lean + (high - middle).max(middle - low);
        }
        let closes = base >= (a - b).abs() && base <= a + b;
        Some(Fan { angles, halves, closes })
    }

    /// Whether the two steps that follow are certainly nearer to one line than some other two.
    fn is_anothers(&self, cell: &Cell, fan: &Fan) -> bool {
        let bounds = |[one, other]: [usize; 2]| {
            let (angle, half) = (fan.angles[one] - fan.angles[other], fan.halves[one] + fan.halves[other]);
            // The sine never changes faster than the angle.
            (angle.sin().abs() - half, angle.sin().abs() + half)
        };
        let (_, most) = bounds(Self::others(cell.free));
        let pairs = (0..STEPS).flat_map(|one| (one + 1..STEPS).map(move |other| [one, other]));
        pairs.into_iter().any(|pair| bounds(pair).0 > most)
    }

    fn posture(&self, closing: &Closing<'_>, fan: &Fan) -> Posture {
        let mut turns = [0.0; STEPS];
        let mut before = 0.0;
        for (index, turn) in turns.iter_mut().enumerate() {
            *turn = fan.angles[index] - before - self.marks[index];
            before = fan.angles[index];
        }
        closing.skeleton.posture(&turns)
    }

    /// A point on the axis of each run, from the first port on.
    fn axes(&self, closing: &Closing<'_>, fan: &Fan) -> [Vector; STEPS + 1] {
        let (u, v) = (closing.from.mark, closing.from.towards.cross(&closing.from.mark));
        let mut axes = [closing.from.at.coords; STEPS + 1];
        for index in 0..STEPS {
            let (sin, cos) = fan.angles[index].sin_cos();
            axes[index + 1] = axes[index] + (u * cos + v * sin) * self.steps[index];
        }
        axes
    }
}

/// What lengths are rounded by at most.
const ROUNDING_MM: f64 = 1e-9;

/// A chain that is a linkage, where it has to fit.
struct InPlace<'a> {
    linkage: &'a Linkage,
    site: &'a Site<'a>,
    closing: &'a Closing<'a>,
    links: &'a [LinkId],
    closed: &'a Closed,
}

impl InPlace<'_> {
    /// Divides what is not certainly blocked until it is no larger than `least_half`, and hands back what is left open then;
    /// or how the search ended before.
    fn divide(
        &self,
        mut cells: Vec<Cell>,
        least_half: f64,
        looked_at: &mut usize,
    ) -> Result<Vec<Cell>, Covered<Posture>> {
        let Self { linkage, site, closing, closed, .. } = *self;
        let last_run = closed.turns.len();
        let mut open = Vec::new();
        while let Some(cell) = cells.pop() {
            let Some(fan) = linkage.fan(&cell).filter(|fan| !linkage.is_anothers(&cell, fan)) else { continue };
            *looked_at += 1;
            if *looked_at > MOST_CELLS {
                return Err(Covered::Undecided(Uncovered::Surface));
            }
            let posture = linkage.posture(closing, &fan);
            let built = site.build(self.links, closed, &posture);
            let turning = Turning { linkage, fan: &fan, axes: linkage.axes(closing, &fan) };
            if site.blocks(&built, last_run, &turning) {
                continue;
            }
            if fan.closes && closing.residual(&posture).within(closing.allowance) && site.has_room(&built, last_run) {
                return Err(Covered::Clear(Box::new(posture)));
            }
            let [farthest] = built.farthest(|solid, element| [turning.reach(solid, element)]);
            if farthest > PROOF_MARGIN_MM / 4.0 {
                let is_small = cell.halves[0].max(cell.halves[1]) <= least_half;
                if is_small { open.push(cell) } else { cells.extend(cell.parts()) }
            }
        }
        Ok(open)
    }

    /// How much room the chain has to spare in the middle of a cell, in millimetres.
    fn spare_mm(&self, cell: &Cell) -> f64 {
        let Self { linkage, site, closing, .. } = *self;
        let middle = Cell { halves: [0.0; 2], ..*cell };
        let fan = linkage.fan(&middle).filter(|fan| fan.closes);
        fan.map_or(f64::NEG_INFINITY, |fan| {
            let built = site.build(self.links, self.closed, &linkage.posture(closing, &fan));
            site.spare_mm(&built, self.closed.turns.len())
        })
    }

    /// The posture with room that ever shorter steps uphill from the middle of a cell lead to.
    fn climb(&self, cell: &Cell) -> Option<Posture> {
        let mut here = *cell;
        let mut spare = self.spare_mm(&here);
        let mut step = cell.halves[0].max(cell.halves[1]);
        while spare < 0.0 && step > LEAST_CLIMB {
            let around = (0..8).map(|eighth| (f64::from(eighth) * PI / 4.0).sin_cos());
            let there = around.map(|(sin, cos)| {
                let there = Cell { middles: [here.middles[0] + step * cos, here.middles[1] + step * sin], ..here };
                (self.spare_mm(&there), there)
            });
            match there.max_by(|one, other| one.0.total_cmp(&other.0)) {
                Some(best) if best.0 > spare => (spare, here) = best,
                _ => step /= 2.0,
            }
        }
        let Self { linkage, site, closing, closed, .. } = *self;
        let fan = linkage.fan(&Cell { halves: [0.0; 2], ..here })?;
        let posture = linkage.posture(closing, &fan);
        let built = site.build(self.links, closed, &posture);
        let has_room =
            closing.residual(&posture).within(closing.allowance) && site.has_room(&built, closed.turns.len());
        has_room.then_some(posture)
    }
}

impl Cell {
    /// Those to begin with, which hold every posture.
    fn all() -> Vec<Self> {
        let half = PI / f64::from(FIRST_CELLS);
        let middle = |step: u32| half * f64::from(2 * step + 1);
        let free = (0..STEPS).flat_map(|one| (one + 1..STEPS).map(move |other| [one, other]));
        let steps = (0..FIRST_CELLS).flat_map(|one| (0..FIRST_CELLS).map(move |other| [one, other]));
        let each = free.flat_map(|free| steps.clone().map(move |steps| (free, steps)));
        each.flat_map(|(free, steps)| {
            [1.0, -1.0].map(|side| Cell { free, middles: steps.map(middle), halves: [half; 2], side })
        })
        .collect()
    }

    fn parts(&self) -> [Self; 2] {
        let longer = usize::from(self.halves[1] > self.halves[0]);
        let half = self.halves[longer] / 2.0;
        [-half, half].map(|by| {
            let mut part = *self;
            part.middles[longer] += by;
            part.halves[longer] = half;
            part
        })
    }
}

/// The motion of a linkage over a cell.
struct Turning<'a> {
    linkage: &'a Linkage,
    fan: &'a Fan,
    axes: [Vector; STEPS + 1],
}

impl Motion for Turning<'_> {
    fn reach(&self, solid: &Solid, element: Element) -> f64 {
        let run = match element {
            Element::Run(run) | Element::Turning(run) => run,
        };
        let carried: f64 = (0..run).map(|step| self.linkage.steps[step] * self.fan.halves[step]).sum();
        // A part turns with its own step, and a straight one with the step before it.
        let turned = match element {
            Element::Turning(step) => self.fan.halves[step],
            Element::Run(0) => 0.0,
            Element::Run(run) => self.fan.halves[run - 1],
        };
        carried + turned.min(TAU) * arm(solid, &self.axes[run], &self.linkage.axis)
    }

    fn apart(&self, nearer: (&Solid, Element), farther: (&Solid, Element)) -> f64 {
        self.reach(nearer.0, nearer.1) + self.reach(farther.0, farther.1)
    }
}
