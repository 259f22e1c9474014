//! Chains of four offsets between parallel ports: a linkage in the plane square to the ports, which moves in two ways at once.
//!
//! Seen along the ports' axes, the four steps aside must add up to where the second port stands. Two of their directions
//! are free; the other two follow as the sides of a triangle. So the free two are divided into cells: over a cell the third
//! side of the triangle lies in a disc, which bounds the angles of the triangle, and with all four directions bounded so is
//! how far any part can move. Each pair of steps takes its turn as the two that follow, over those cells in which they are
//! not certainly nearer to one line than another pair: in line, they would follow badly.

use super::{
    closed::Closed,
    closure::{Closing, Element, Posture, Uncovered},
    cover::{Covered, PROOF_MARGIN_MM},
    fit::Site,
    stock::LinkId,
    sweep::{Motion, arm},
};
use crate::geometry::{Solid, Vector};
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

/// Directions of the steps, each give or take some radians.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// The steps whose directions are free.
    free: [usize; 2],
    middles: [f64; 2],
    halves: [f64; 2],
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
    pub(super) fn of(closing: &Closing<'_>) -> Option<Self> {
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
    pub(super) fn cover(
        &self,
        site: &Site<'_>,
        closing: &Closing<'_>,
        links: &[LinkId],
        closed: &Closed,
    ) -> Covered<Posture> {
        let mut cells = Vec::new();
        for free in (0..STEPS).flat_map(|one| (one + 1..STEPS).map(move |other| [one, other])) {
            let half = PI / f64::from(FIRST_CELLS);
            let middle = |step: u32| half * f64::from(2 * step + 1);
            let all = (0..FIRST_CELLS).flat_map(|one| (0..FIRST_CELLS).map(move |other| [one, other]));
            cells.extend(all.map(|steps| Cell { free, middles: steps.map(middle), halves: [half; 2] }));
        }
        let last_run = closed.turns.len();
        let mut looked_at = 0;
        while let Some(cell) = cells.pop() {
            let mut open = false;
            for side in [1.0, -1.0] {
                let Some(fan) = self.fan(&cell, side) else { continue };
                if self.is_anothers(&cell, &fan) {
                    continue;
                }
                looked_at += 1;
                if looked_at > MOST_CELLS {
                    return Covered::Undecided(Uncovered::Surface);
                }
                let posture = self.posture(closing, &fan);
                let built = site.build(links, closed, &posture);
                let turning = Turning { linkage: self, fan: &fan, axes: self.axes(closing, &fan) };
                if site.blocks(&built, last_run, &turning) {
                    continue;
                }
                if fan.closes && closing.residual(&posture).within(closing.allowance) && site.has_room(&built, last_run)
                {
                    return Covered::Clear(Box::new(posture));
                }
                let [farthest] = built.farthest(|solid, element| [turning.reach(solid, element)]);
                open |= farthest > PROOF_MARGIN_MM / 4.0;
            }
            if open {
                cells.extend(cell.parts());
            }
        }
        Covered::Blocked
    }

    fn others(free: [usize; 2]) -> [usize; 2] {
        let mut others = (0..STEPS).filter(|step| !free.contains(step));
        [others.next().unwrap_or(0), others.next().unwrap_or(0)]
    }

    /// The directions of all steps over a cell, for the triangle on one side of its base; `None` where it cannot close.
    fn fan(&self, cell: &Cell, side: f64) -> Option<Fan> {
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
        for (step, own, other, side) in [(third, a, b, side), (fourth, b, a, -side)] {
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

impl Cell {
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
