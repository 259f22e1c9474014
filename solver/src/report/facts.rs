//! What can be said of a gap before any search: its ports and how they stand to each other.

use crate::{
    catalog::{Gender, Thread},
    geometry::{Pose, Vector, axis, origin},
};

/// A port of a gap, in the layout's axes.
#[derive(Clone, Debug, PartialEq)]
pub struct PortFacts {
    /// `component.port`.
    pub name: String,
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Centre of the sealing face, in millimetres.
    pub at: [f64; 3],
    /// Which way it faces, of length one.
    pub facing: [f64; 3],
}

impl PortFacts {
    /// The facts of the port `name` whose frame stands at `pose`.
    #[must_use]
    pub fn new(name: String, thread: Thread, gender: Gender, pose: &Pose) -> Self {
        Self { name, thread, gender, at: origin(pose).coords.into(), facing: axis(pose).into() }
    }
}

/// Two ports that must be joined and how they stand to each other.
#[derive(Clone, Debug, PartialEq)]
pub struct GapFacts {
    /// Where the chain starts.
    pub from: PortFacts,
    /// Where it ends.
    pub to: PortFacts,
    /// Straight distance between the sealing faces, in millimetres.
    pub distance_mm: f64,
    /// The part of it along the first port's axis; negative when the second port lies behind the first.
    pub ahead_mm: f64,
    /// The part of it square to the first port's axis; never negative.
    pub aside_mm: f64,
    /// Angle between the two axes, in degrees: 0 when both ports face the same way, 180 when they face each other.
    pub axes_deg: f64,
}

impl GapFacts {
    /// Measures the gap between two ports.
    #[must_use]
    pub fn between(from: PortFacts, to: PortFacts) -> Self {
        let way = Vector::from(to.at) - Vector::from(from.at);
        let [ahead_axis, other_axis] = [from.facing, to.facing].map(Vector::from);
        let ahead_mm = way.dot(&ahead_axis);
        Self {
            distance_mm: way.norm(),
            ahead_mm,
            aside_mm: (way - ahead_axis * ahead_mm).norm(),
            // The arc tangent keeps its accuracy near 0 and 180 degrees, where the arc cosine loses it.
            axes_deg: ahead_axis.cross(&other_axis).norm().atan2(ahead_axis.dot(&other_axis)).to_degrees(),
            from,
            to,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{GapFacts, PortFacts};
    use crate::catalog::{Gender, Thread};

    fn port(at: [f64; 3], facing: [f64; 3]) -> PortFacts {
        PortFacts { name: "x.y".to_owned(), thread: Thread::G14, gender: Gender::Female, at, facing }
    }

    #[test]
    fn a_gap_is_measured_along_and_across_its_first_port() {
        let facts = GapFacts::between(port([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]), port([4.0, 4.0, 12.0], [0.0, 0.0, -1.0]));
        assert!((facts.distance_mm - 13.0).abs() < 1e-12);
        assert!((facts.ahead_mm - 12.0).abs() < 1e-12);
        assert!((facts.aside_mm - 5.0).abs() < 1e-12);
        assert!((facts.axes_deg - 180.0).abs() < 1e-12);
        let square = GapFacts::between(port([0.0; 3], [1.0, 0.0, 0.0]), port([0.0; 3], [0.0, 1.0, 0.0]));
        assert!((square.axes_deg - 90.0).abs() < 1e-12);
        assert_eq!((square.distance_mm, square.aside_mm), (0.0, 0.0));
    }
}
