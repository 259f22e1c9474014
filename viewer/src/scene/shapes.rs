//! The solver's shapes as facets.

use super::facets::{Corner, Drawing, Facet, Piece, Tone};
use super::hull;
use bevy::math::{Affine3A, Mat3, Quat, Vec3};
use elbowroom::geometry::{Pose, Shape};
use nalgebra::Vector3;
use std::f32::consts::{FRAC_PI_2, PI, TAU};

/// Sides of what is round. At 16 mm diameter a chord stays within 0.02 mm of its arc.
pub const ROUND_SIDES: usize = 64;

/// Farthest that a chord of a ball strays from its arc, in millimetres, unless that takes more than [`ROUND_SIDES`].
/// Balls are round both ways, so that sides which nobody sees would cost the more.
const BALL_CHORD_MM: f32 = 0.02;

/// A shape in its own frame, in millimetres: centred on the origin, the long axis along `z`.
#[must_use]
pub fn drawn(shape: &Shape) -> Drawing {
    match shape {
        Shape::Box { size } => upright(*size),
        Shape::Cylinder { diameter, length } => {
            turned(&[(*diameter as f32 / 2.0, -*length as f32 / 2.0), (*diameter as f32 / 2.0, *length as f32 / 2.0)])
        }
        Shape::Sphere { diameter } => ball(*diameter as f32 / 2.0, 0.0),
        Shape::Capsule { diameter, length } => ball(*diameter as f32 / 2.0, *length as f32 / 2.0),
        Shape::Hull { points } => wrapped(points),
    }
}

/// A pose of the solver as one of the drawing.
#[must_use]
pub fn affine(pose: &Pose) -> Affine3A {
    Affine3A::from_rotation_translation(rotation(pose), vec3(&pose.translation.vector))
}

/// The turn in a pose.
#[must_use]
pub fn rotation(pose: &Pose) -> Quat {
    let turn = pose.rotation.coords;
    Quat::from_xyzw(turn.x as f32, turn.y as f32, turn.z as f32, turn.w as f32).normalize()
}

/// A vector of the solver as one of the drawing.
#[must_use]
pub fn vec3(vector: &Vector3<f64>) -> Vec3 {
    Vec3::new(vector.x as f32, vector.y as f32, vector.z as f32)
}

/// A body turned about `z`, from its outline: radius and height from the bottom up. Radii are more than zero but may be
/// zero at either end; what lies between two heights is one convex piece. Rims are drawn as edges where the radius or
/// the slope changes.
#[must_use]
pub fn turned(outline: &[(f32, f32)]) -> Drawing {
    let mut drawing = Drawing::default();
    for two in outline.windows(2) {
        let [(low_radius, low), (high_radius, high)] = [two[0], two[1]];
        let slope = Vec3::new(high - low, 0.0, low_radius - high_radius).normalize_or(Vec3::X);
        let mut facets: Vec<Facet> = (0..ROUND_SIDES)
            .map(|side| {
                let [here, there] = [around(side), around(side + 1)];
                let corner = |turn: Mat3, radius: f32, height: f32| Corner {
                    at: turn * Vec3::new(radius, 0.0, height),
                    normal: turn * slope,
                };
                let mut corners = vec![corner(here, low_radius, low)];
                if low_radius > 0.0 {
                    corners.push(corner(there, low_radius, low));
                }
                corners.push(corner(there, high_radius, high));
                if high_radius > 0.0 {
                    corners.push(corner(here, high_radius, high));
                }
                Facet { corners, seen: true, cap: false }
            })
            .collect();
        for (radius, height, up) in [(low_radius, low, false), (high_radius, high, true)] {
            if radius > 0.0 {
                facets.push(disc(radius, height, up));
                drawing.edges.extend(rim(radius, height));
            }
        }
        drawing.pieces.push(Piece { facets, tone: Tone::Plain });
    }
    drawing
}

/// A circle about `z`, as segments.
pub fn rim(radius: f32, height: f32) -> impl Iterator<Item = [Vec3; 2]> {
    (0..ROUND_SIDES).map(move |side| [side, side + 1].map(|side| around(side) * Vec3::new(radius, 0.0, height)))
}

/// A prism about `z` with corners on a circle of `radius`, from `low` to `high`.
#[must_use]
pub fn prism(sides: usize, radius: f32, low: f32, high: f32) -> Drawing {
    let corner = |side: usize, height: f32| {
        Quat::from_rotation_z(side as f32 / sides as f32 * TAU) * Vec3::new(radius, 0.0, height)
    };
    let mut piece = Piece::default();
    let mut edges = Vec::new();
    for side in 0..sides {
        let [a, b] = [side, (side + 1) % sides];
        piece.facets.push(Facet::flat([corner(a, low), corner(b, low), corner(b, high), corner(a, high)]));
        edges.extend([
            [corner(a, low), corner(b, low)],
            [corner(a, high), corner(b, high)],
            [corner(a, low), corner(a, high)],
        ]);
    }
    piece.facets.push(Facet::flat((0..sides).rev().map(|side| corner(side, low))));
    piece.facets.push(Facet::flat((0..sides).map(|side| corner(side, high))));
    Drawing { pieces: vec![piece], edges }
}

fn around(side: usize) -> Mat3 {
    Mat3::from_rotation_z((side % ROUND_SIDES) as f32 / ROUND_SIDES as f32 * TAU)
}

fn disc(radius: f32, height: f32, up: bool) -> Facet {
    let corner = |side: usize| around(side) * Vec3::new(radius, 0.0, height);
    if up { Facet::flat((0..ROUND_SIDES).map(corner)) } else { Facet::flat((0..ROUND_SIDES).rev().map(corner)) }
}

fn upright(size: [f64; 3]) -> Drawing {
    let half = size.map(|size| size / 2.0);
    let corners: Vec<[f64; 3]> =
        (0..8).map(|bits| [0, 1, 2].map(|axis| if bits >> axis & 1 == 1 { half[axis] } else { -half[axis] })).collect();
    wrapped(&corners)
}

/// A ball, or a bar with ball ends when `half` is more than zero; one piece.
fn ball(radius: f32, half: f32) -> Drawing {
    let sides = ball_sides(radius);
    let around = |side: usize| Mat3::from_rotation_z((side % sides) as f32 / sides as f32 * TAU);
    let rings_up = sides / 4;
    let mut rings: Vec<(f32, f32)> = Vec::new(); // elevation, and the height of the ball's centre
    let steps = |index: usize| index as f32 / rings_up as f32 * FRAC_PI_2;
    rings.extend((1..=rings_up).map(|ring| (steps(ring) - FRAC_PI_2, -half)));
    let upper = if half > 0.0 { 0 } else { 1 };
    rings.extend((upper..rings_up).map(|ring| (steps(ring), half)));
    let corner = |side: usize, (elevation, centre): (f32, f32)| {
        let normal = around(side) * Vec3::new(elevation.cos(), 0.0, elevation.sin());
        Corner { at: normal * radius + Vec3::Z * centre, normal }
    };
    let pole = |sign: f32| Corner { at: Vec3::Z * sign * (radius + half), normal: Vec3::Z * sign };
    let mut facets = Vec::new();
    let facet = |corners: Vec<Corner>| Facet { corners, seen: true, cap: false };
    for side in 0..sides {
        let next = side + 1;
        let (first, last) = (rings[0], rings[rings.len() - 1]);
        facets.push(facet(vec![pole(-1.0), corner(next, first), corner(side, first)]));
        for two in rings.windows(2) {
            facets.push(facet(vec![
                corner(side, two[0]),
                corner(next, two[0]),
                corner(next, two[1]),
                corner(side, two[1]),
            ]));
        }
        facets.push(facet(vec![corner(side, last), corner(next, last), pole(1.0)]));
    }
    // A circle, or two, tells a ball from a disc.
    let mut edges: Vec<[Vec3; 2]> = Vec::new();
    for height in if half > 0.0 { vec![-half, half] } else { vec![0.0] } {
        edges.extend(rim(radius, height));
    }
    Drawing { pieces: vec![Piece { facets, tone: Tone::Plain }], edges }
}

/// Sides of a ball, a multiple of four so that its rings are as far apart as its sides.
fn ball_sides(radius: f32) -> usize {
    let sides = (PI / (1.0 - BALL_CHORD_MM / radius.max(BALL_CHORD_MM)).acos()).ceil();
    (sides as usize).next_multiple_of(4).clamp(16, ROUND_SIDES)
}

fn wrapped(points: &[[f64; 3]]) -> Drawing {
    let at = |index: &usize| vec3(&Vector3::from(points[*index]));
    let mut drawing = Drawing::default();
    let mut piece = Piece::default();
    for corners in hull::facets(points) {
        for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            // Each edge belongs to two facets, which walk it in opposite directions.
            if a < b {
                drawing.edges.push([at(a), at(b)]);
            }
        }
        piece.facets.push(Facet::flat(corners.iter().map(at)));
    }
    drawing.pieces.push(piece);
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The volume of a drawn shape against the textbook's; round ones are drawn inside themselves.
    #[test]
    fn shapes_are_drawn_in_their_size() {
        let third = 4.0 / 3.0;
        let cases = [
            (Shape::Box { size: [2.0, 3.0, 4.0] }, 24.0),
            (Shape::Cylinder { diameter: 10.0, length: 7.0 }, 25.0 * PI * 7.0),
            (Shape::Sphere { diameter: 10.0 }, third * PI * 125.0),
            (Shape::Capsule { diameter: 10.0, length: 6.0 }, third * PI * 125.0 + 25.0 * PI * 6.0),
        ];
        for (shape, expected) in cases {
            let drawing = drawn(&shape);
            let facets = drawing.pieces.iter().flat_map(|piece| &piece.facets);
            let fan = |facet: &Facet| -> f32 {
                let first = facet.corners[0].at;
                facet.corners.windows(2).map(|two| first.dot(two[0].at.cross(two[1].at)) / 6.0).sum()
            };
            let found: f32 = facets.map(fan).sum();
            assert!(found <= expected * 1.000_1 && found > 0.985 * expected, "{shape:?}: {found}, not {expected}");
        }
    }
}
