//! Chains of fittings placed from catalog data alone: where each part sits and how far the last one misses.

use crate::frame::{Frame, angle_between};
use elbowroom::catalog::{FittingDef, Gender, Thread};
use elbowroom::geometry::Shape;
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// A port that a chain starts or ends at.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Origin at the seat, `z` out of the component.
    pub frame: Frame,
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Depth of a female thread, length of a male one.
    pub thread_length_mm: f64,
    /// Diameter of the clear seat.
    pub seat_mm: f64,
    /// Diameter of the disc behind the seat that stands for the component, see [`DISC_THICKNESS_MM`].
    pub disc_mm: f64,
    /// How far behind the seat that disc stands: 0 carries the seat, and far away leaves a bare port.
    pub disc_behind_mm: f64,
}

/// Thickness of the disc that stands for a component.
pub const DISC_THICKNESS_MM: f64 = 1.0;

/// Two ports to be joined, what may be used, and what stands about.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// The parts of the catalog.
    pub fittings: Vec<FittingDef>,
    /// Where chains start.
    pub from: Port,
    /// Where they end.
    pub to: Port,
    /// Further bodies, each a component of its own with one solid.
    pub obstacles: Vec<Obstacle>,
    /// How far a chain may miss.
    pub closure_mm: f64,
    /// How far out of line it may be.
    pub closure_deg: f64,
    /// Least clearance.
    pub clearance_mm: f64,
    /// Longest chain.
    pub max_parts: usize,
}

/// A body in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Its name in the layout.
    pub name: String,
    /// Its shape.
    pub shape: Shape,
    /// Where it stands.
    pub frame: Frame,
}

/// One part of a chain and how it sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Index among the problem's fittings.
    pub part: usize,
    /// The end that faces the first port.
    pub entry: usize,
    /// Turn against what comes before, in radians.
    pub turn: f64,
    /// How far an adjustable part is drawn out.
    pub stretch: f64,
}

/// A part in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The fitting's own frame.
    pub pose: Frame,
    /// The frame of its far end, `z` out of it.
    pub exit: Frame,
}

/// How far the last end misses the second port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Miss {
    /// The vector from the port to the chain's end.
    pub vector: Vector3<f64>,
    /// Its length.
    pub mm: f64,
    /// How far out of line.
    pub deg: f64,
}

impl Problem {
    /// Whether a miss is within the allowances.
    #[must_use]
    pub fn closes(&self, miss: &Miss) -> bool {
        miss.mm <= self.closure_mm && miss.deg <= self.closure_deg
    }

    /// The size of a miss in allowances, place and direction taken together: one or less closes whichever way
    /// the two are weighed against each other.
    #[must_use]
    pub fn allowances_used(&self, miss: &Miss) -> f64 {
        (miss.mm / self.closure_mm).hypot(miss.deg / self.closure_deg)
    }

    /// Every part of a chain in its place.
    #[must_use]
    pub fn place(&self, steps: &[Step]) -> Vec<Placed> {
        let mut here = self.from.frame;
        steps
            .iter()
            .map(|step| {
                let placed = place(&self.fittings[step.part], step, &here);
                here = placed.exit;
                placed
            })
            .collect()
    }

    /// How far a chain misses the second port.
    #[must_use]
    pub fn miss(&self, steps: &[Step]) -> Miss {
        let end = self.place(steps).last().map_or(self.from.frame, |placed| placed.exit);
        miss(&end, &self.to.frame)
    }

    /// A chain as text: ids, with `'` after those built in the other way round.
    #[must_use]
    pub fn describe(&self, steps: &[Step]) -> String {
        let words: Vec<String> = steps
            .iter()
            .map(|step| {
                let degrees = step.turn.rem_euclid(TAU).to_degrees();
                let prime = if step.entry == 1 { "'" } else { "" };
                format!("{}{prime}({degrees:.2}° +{:.2})", self.fittings[step.part].id, step.stretch)
            })
            .collect();
        words.join(" ")
    }
}

/// How far an end misses a port that it should meet face to face.
#[must_use]
pub fn miss(end: &Frame, port: &Frame) -> Miss {
    let vector = end.at - port.at;
    Miss { vector, mm: vector.norm(), deg: angle_between(&end.z(), &-port.z()).to_degrees() }
}

/// The frame of an end in the fitting's frame, `z` out of the fitting.
#[must_use]
pub fn end_frame(def: &FittingDef, end: usize, stretch: f64) -> Frame {
    let mut here = Frame::world();
    if end == 0 {
        return here.facing();
    }
    for (index, leg) in def.legs.iter().enumerate() {
        if index > 0 {
            let bend = def.bends[index - 1];
            here = here.turn(bend.roll_deg.to_radians()).bend(bend.angle_deg.to_radians());
        }
        here = here.advance(if index == 0 { leg + stretch } else { *leg });
    }
    here
}

/// The map from the frame a part is screwed to, turned, to the fitting's own frame.
#[must_use]
pub fn entry_map(def: &FittingDef, entry: usize, stretch: f64) -> Frame {
    if entry == 0 { Frame::world() } else { end_frame(def, 1, stretch).facing().inverse() }
}

/// A part screwed to the frame before it.
#[must_use]
pub fn place(def: &FittingDef, step: &Step, before: &Frame) -> Placed {
    let pose = before.turn(step.turn).then(&entry_map(def, step.entry, step.stretch));
    Placed { pose, exit: pose.then(&end_frame(def, 1 - step.entry, step.stretch)) }
}

/// Whether a part's centreline turns anywhere, so that its turn makes a difference.
#[must_use]
pub fn is_bent(def: &FittingDef) -> bool {
    !def.bends.is_empty()
}
