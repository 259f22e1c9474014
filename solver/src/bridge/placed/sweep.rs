//! How far the parts of a chain move at most while it goes through a stretch of its self-motion.

use crate::{
    bridge::closure::{Arc, Closing, Element, Freedoms, Jet, LENGTH_UNIT_MM},
    geometry::{Point, Solid, Vector},
};
use std::ops::Range;

/// A stretch of a self-motion together with a turn of the whole chain about the line of both ports.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Stretch {
    pub(in crate::bridge) arc: Arc,
    /// The turn of the whole chain at the middle of the stretch and how far it goes to either side, in radians.
    pub(in crate::bridge) roll: f64,
    pub(in crate::bridge) half_roll: f64,
}

/// Bounds on how far parts of a chain move, in millimetres.
pub(in crate::bridge) trait Motion {
    /// How far a point of a solid of this element moves at most.
    fn reach(&self, solid: &Solid, element: Element) -> f64;

    /// How far a point of a solid moves at most as seen from another that comes before it in the chain.
    fn apart(&self, nearer: (&Solid, Element), farther: (&Solid, Element)) -> f64;
}

/// The motion through a stretch, seen from its middle.
pub(in crate::bridge) struct Sweep<'a> {
    stretch: &'a Stretch,
    jet: Jet,
    /// Velocity of what follows so many free choices, for each unit along the tangent: of the origin, and its rotation.
    twists: Vec<(Vector, Vector)>,
    /// The line about which the whole chain turns.
    line: (Point, Vector),
}

impl<'a> Sweep<'a> {
    pub(in crate::bridge) fn new(closing: &Closing<'_>, freedoms: &Freedoms, stretch: &'a Stretch) -> Self {
        let jet = Jet::at(closing, freedoms, &stretch.posture());
        let mut twists = vec![(Vector::zeros(), Vector::zeros())];
        let mut twist = twists[0];
        for freedom in 0..freedoms.count {
            let by = stretch.arc.tangent[freedom];
            let (is_turn, at, axis) = jet.axis(freedom);
            if is_turn {
                twist.0 += at.cross(&axis) * by;
                twist.1 += axis * by;
            } else {
                twist.0 += axis * (by * LENGTH_UNIT_MM);
            }
            twists.push(twist);
        }
        Self { stretch, jet, twists, line: (closing.from.at, closing.from.towards) }
    }

    /// How far a point of a solid of this element moves at most, without the turn of the whole chain.
    pub(in crate::bridge) fn shape(&self, solid: &Solid, element: Element) -> f64 {
        self.moved(solid, 0..self.jet.freedoms.before(element)) + self.drawn(element)
    }

    /// How much an element's own length changes, to which part of its body moves.
    fn drawn(&self, element: Element) -> f64 {
        let Arc { tangent, half, aside, .. } = &self.stretch.arc;
        self.jet
            .freedoms
            .own_length(element)
            .map_or(0.0, |freedom| (half * tangent[freedom].abs() + aside) * LENGTH_UNIT_MM)
    }

    /// How far these free choices move a solid at most: the velocity at the middle, what postures beside the tangent add,
    /// and a bound on the second order.
    fn moved(&self, solid: &Solid, range: Range<usize>) -> f64 {
        let Arc { tangent, half, aside, .. } = &self.stretch.arc;
        if *half == 0.0 && *aside == 0.0 || range.is_empty() {
            return 0.0;
        }
        let (from, to) = (&self.twists[range.start], &self.twists[range.end]);
        let (shift, turn) = (to.0 - from.0, to.1 - from.1);
        let (ends, radius) = solid.capsule_around();
        let speed = |end: &Point| (shift + turn.cross(&end.coords)).norm();
        let first = half * (speed(&ends[0]).max(speed(&ends[1])) + turn.norm() * radius);
        let (mut squares, mut longest, mut all) = (0.0, 0.0_f64, 0.0);
        for freedom in range {
            let (is_turn, at, axis) = self.jet.axis(freedom);
            let arm = if is_turn { arm(solid, &at, &axis) } else { LENGTH_UNIT_MM };
            squares += arm * arm;
            longest = longest.max(arm);
            all += half * tangent[freedom].abs() + aside;
        }
        // Arms grow by what the other choices move them.
        let longest = longest * (1.0 + 2.0 * all);
        first + aside * f64::sqrt(squares) + 0.5 * all * all * longest
    }
}

impl Motion for Sweep<'_> {
    fn reach(&self, solid: &Solid, element: Element) -> f64 {
        let shape = self.shape(solid, element);
        if self.stretch.half_roll == 0.0 {
            return shape;
        }
        let (at, axis) = &self.line;
        shape + self.stretch.half_roll * (arm(solid, &at.coords, axis) + shape)
    }

    fn apart(&self, (_, nearer): (&Solid, Element), (solid, farther): (&Solid, Element)) -> f64 {
        let freedoms = &self.jet.freedoms;
        self.moved(solid, freedoms.before(nearer)..freedoms.before(farther)) + self.drawn(nearer) + self.drawn(farther)
    }
}

impl Stretch {
    /// The posture at its middle.
    pub(in crate::bridge) fn posture(&self) -> crate::bridge::closure::Posture {
        let mut posture = self.arc.posture;
        posture.turns[0] += self.roll;
        posture
    }
}

/// How far a point of a solid can be from a line.
pub(in crate::bridge) fn arm(solid: &Solid, at: &Vector, axis: &Vector) -> f64 {
    let (ends, radius) = solid.capsule_around();
    let away = |end: &Point| {
        let delta = end.coords - at;
        (delta - axis * delta.dot(axis)).norm()
    };
    away(&ends[0]).max(away(&ends[1])) + radius
}
