//! A port: the ring on which a collar seats, the opening or thread within it, and its axis.

use super::facets::Drawing;
use super::fitting::{opening, threaded};
use super::shapes::{rim, turned};
use bevy::math::Vec3;
use elbowroom::{catalog::Gender, layout::Port};

/// How far the ring stands off the face, in millimetres, so that it is seen.
const RING_MM: f32 = 0.25;
/// Length of the axis line in front of the face, in millimetres.
const AXIS_MM: f32 = 16.0;

/// A port in its own frame.
#[must_use]
pub fn port(port: &Port) -> Drawing {
    let seat = port.seat_mm as f32 / 2.0;
    let thread = port.thread.major_diameter_mm() as f32 / 2.0;
    let mut drawing = turned(&[(seat, 0.0), (seat, RING_MM)]);
    match port.gender {
        Gender::Female => drawing.add(opening(thread, RING_MM)),
        Gender::Male => drawing.add(threaded(port.thread, port.thread_length_mm as f32)),
    }
    drawing.edges.extend(rim(seat, RING_MM));
    drawing
}

/// The axis of a port in its own frame, as the strokes of a centre line: long, short, long.
#[must_use]
pub fn axis() -> Vec<[Vec3; 2]> {
    let strokes = [[0.0, 0.45], [0.55, 0.65], [0.75, 1.0]];
    strokes.iter().map(|stroke| stroke.map(|share| Vec3::Z * (share * AXIS_MM))).collect()
}
