//! Measuring between two picked faces or axes.
//!
//! This is a ruler held to the drawing, to 0.01 mm at best; what fits is decided by the solver, whose distances are
//! dimensioned in the scene by themselves.

use super::pick::{Hit, Surface};
use bevy::math::Vec3;

/// The pick, or two, that are measured between.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measuring {
    first: Option<Hit>,
    second: Option<Hit>,
}

/// What was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The line that was measured along, in world millimetres.
    pub line: [Vec3; 2],
    /// Its length in millimetres.
    pub mm: f32,
    /// The angle between the two faces or axes in degrees, 0 to 90; faces that look at each other have 0.
    pub angle_deg: f32,
    /// In words.
    pub text: String,
}

/// Directions within this angle of each other count as parallel, in degrees.
const PARALLEL_DEG: f32 = 0.05;

impl Measuring {
    /// Takes the next pick; a third starts anew.
    pub fn take(&mut self, hit: Hit) {
        match (self.first, self.second) {
            (Some(_), None) => self.second = Some(hit),
            _ => *self = Self { first: Some(hit), second: None },
        }
    }

    /// What is picked so far.
    pub fn picks(&self) -> impl Iterator<Item = Hit> {
        self.first.into_iter().chain(self.second)
    }

    /// What was measured, once there are two picks.
    #[must_use]
    pub fn measured(&self) -> Option<Measured> {
        Some(between(&self.first?, &self.second?))
    }
}

/// Measures between two picks: along the normal of parallel faces, square to parallel axes, along the shortest line
/// between skew axes, from an axis square to a face along it. Where an angle leaves no one distance, between the two
/// places that were picked.
#[must_use]
pub fn between(first: &Hit, second: &Hit) -> Measured {
    use Surface::{Face, Round};
    let (line, angle_deg) = match (first.surface, second.surface) {
        (Face { normal: a }, Face { normal: b }) => {
            let angle = between_lines(a, b);
            let line = if angle <= PARALLEL_DEG {
                [first.at, first.at + a * a.dot(second.at - first.at)]
            } else {
                [first.at, second.at]
            };
            (line, angle)
        }
        (Round { centre: p, axis: a, .. }, Round { centre: q, axis: b, .. }) => {
            (between_axes(p, a, q, b), between_lines(a, b))
        }
        (Round { centre, axis, .. }, Face { normal }) => {
            let angle = 90.0 - between_lines(axis, normal);
            let foot = centre + normal * normal.dot(second.at - centre);
            (if angle <= PARALLEL_DEG { [centre, foot] } else { [centre, second.at] }, angle)
        }
        (Face { .. }, Round { .. }) => {
            let Measured { line: [a, b], angle_deg, .. } = between(second, first);
            ([b, a], angle_deg)
        }
    };
    let mm = line[0].distance(line[1]);
    let text = if angle_deg <= PARALLEL_DEG { format!("{mm:.2} mm") } else { format!("{mm:.2} mm, {angle_deg:.1}°") };
    Measured { line, mm, angle_deg, text }
}

/// What one pick says of itself.
#[must_use]
pub fn alone(hit: &Hit) -> String {
    match hit.surface {
        Surface::Face { .. } => "face".to_owned(),
        Surface::Round { radius, .. } => format!("axis, {:.2} mm across", 2.0 * radius),
    }
}

fn between_lines(a: Vec3, b: Vec3) -> f32 {
    // The sine is good near 0, where the cosine is not.
    a.cross(b).length().atan2(a.dot(b).abs()).to_degrees()
}

fn between_axes(p: Vec3, a: Vec3, q: Vec3, b: Vec3) -> [Vec3; 2] {
    let step = q - p;
    if between_lines(a, b) <= PARALLEL_DEG {
        let foot = q - a * a.dot(step);
        return [p, foot];
    }
    // Both ends of the shortest line between two lines: the step less what either line can take up is square to both.
    let cosine = a.dot(b);
    let square = 1.0 - cosine * cosine;
    let along_a = (step.dot(a) - cosine * step.dot(b)) / square;
    let along_b = (cosine * step.dot(a) - step.dot(b)) / square;
    [p + a * along_a, q + b * along_b]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Item;

    fn face(at: Vec3, normal: Vec3) -> Hit {
        Hit { item: Item::Body(0), at, surface: Surface::Face { normal } }
    }

    fn axis(centre: Vec3, axis: Vec3) -> Hit {
        let axis = axis.normalize();
        Hit { item: Item::Body(1), at: centre, surface: Surface::Round { centre, axis, radius: 4.0 } }
    }

    fn check(a: Hit, b: Hit, mm: f32, angle: f32) {
        for (first, second) in [(&a, &b), (&b, &a)] {
            let found = between(first, second);
            assert!(
                (found.mm - mm).abs() < 1e-3 && (found.angle_deg - angle).abs() < 1e-2,
                "{found:?}, not {mm}, {angle}"
            );
        }
    }

    #[test]
    fn distances_and_angles_are_those_of_a_drawing() {
        // Two walls 12 mm apart, picked at places aside of each other.
        check(face(Vec3::new(0.0, 5.0, 9.0), Vec3::X), face(Vec3::new(12.0, -7.0, 1.0), Vec3::NEG_X), 12.0, 0.0);
        check(face(Vec3::ZERO, Vec3::X), face(Vec3::new(3.0, 4.0, 0.0), Vec3::Y), 5.0, 90.0);
        check(axis(Vec3::ZERO, Vec3::Z), axis(Vec3::new(3.0, 4.0, 77.0), Vec3::NEG_Z), 5.0, 0.0);
        // Skew: the shortest line runs along y.
        check(axis(Vec3::new(9.0, 0.0, 0.0), Vec3::X), axis(Vec3::new(0.0, 6.0, 5.0), Vec3::Z), 6.0, 90.0);
        check(axis(Vec3::new(0.0, 0.0, 8.0), Vec3::X), face(Vec3::new(30.0, 2.0, 0.0), Vec3::Z), 8.0, 0.0);
    }

    #[test]
    fn a_third_pick_starts_anew() {
        let mut measuring = Measuring::default();
        assert_eq!(measuring.measured(), None);
        measuring.take(face(Vec3::ZERO, Vec3::X));
        measuring.take(face(Vec3::X * 2.0, Vec3::X));
        assert_eq!(measuring.measured().map(|found| found.text), Some("2.00 mm".to_owned()));
        measuring.take(face(Vec3::ZERO, Vec3::X));
        assert_eq!((measuring.picks().count(), measuring.measured()), (1, None));
    }
}
