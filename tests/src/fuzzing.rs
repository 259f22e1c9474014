//! Small, odd problems out of any bytes, for the fuzzer and for what it found.

use crate::chain::{Obstacle, Port, Problem};
use crate::frame::Frame;
use crate::parts::part;
use elbowroom::catalog::{BendDef, EndDef, Family, FittingDef, Gender, Thread};
use elbowroom::geometry::{Shape, Solid, separation};
use elbowroom::layout::{self, Layout};
use nalgebra::Vector3;

/// Bytes read as numbers; zeros when they run out.
pub(crate) struct Reader<'a>(&'a [u8]);

impl<'a> Reader<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self(bytes)
    }

    pub(crate) fn byte(&mut self) -> u8 {
        let Some((&first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        first
    }

    pub(crate) fn choice<T: Copy, const N: usize>(&mut self, choices: [T; N]) -> T {
        choices[usize::from(self.byte()) % N]
    }

    /// A number in a range: round, or with two bytes of digits.
    fn number(&mut self, least: f64, most: f64) -> f64 {
        let share = match self.byte() {
            kind @ 0..128 => f64::from(kind / 8) / 15.0,
            kind => f64::from(u16::from_le_bytes([self.byte(), kind])) / f64::from(u16::MAX),
        };
        least + (most - least) * share
    }
}

/// Whether each port's seat lies on its own component alone. One that is flush with another body as well leaves open what
/// a part at the seat touches, as two ports in one place do.
#[must_use]
pub fn has_seats_of_their_own(layout: &Layout) -> bool {
    let near = |port: &layout::Port, solid: &Solid| {
        Solid::new(&Shape::Sphere { diameter: FLUSH_MM }, port.pose)
            .is_ok_and(|probe| separation(&probe, solid).signed_mm.abs() <= FLUSH_MM)
    };
    layout.ports().iter().all(|port| {
        let others = layout.bodies().iter().enumerate().filter(|(index, _)| *index != port.body.index());
        others.flat_map(|(_, body)| &body.solids).all(|solid| !near(port, solid))
    })
}

/// How near to a surface a seat counts as flush with it, in millimetres: more than the solver does.
const FLUSH_MM: f64 = 0.2;

/// A problem with one to four fittings, two ports anywhere near, and up to two bodies in the way.
///
/// The numbers are within what files may hold, but tiny, huge, equal and coincident ones are common.
#[must_use]
pub fn problem(bytes: &[u8]) -> Problem {
    let mut reader = Reader(bytes);
    let count = 1 + usize::from(reader.byte() % 4);
    let fittings = (0..count).map(|index| fitting(&mut reader, index)).collect();
    let (from, to) = (port(&mut reader), port(&mut reader));
    let obstacles = (0..reader.byte() % 3)
        .map(|index| {
            let size = [(); 3].map(|()| reader.number(0.5, 60.0));
            let shape = reader.choice([(0, size[0]), (1, size[1]), (2, size[2])]);
            Obstacle {
                name: format!("body-{index}"),
                shape: match shape.0 {
                    0 => Shape::Box { size },
                    1 => Shape::Cylinder { diameter: size[0], length: size[1] },
                    _ => Shape::Sphere { diameter: size[0] },
                },
                frame: frame(&mut reader),
            }
        })
        .collect();
    Problem {
        fittings,
        from,
        to,
        obstacles,
        closure_mm: reader.choice([0.3, 0.001, 5.0, 0.3]),
        closure_deg: reader.choice([0.5, 0.001, 10.0, 0.5]),
        clearance_mm: reader.choice([1.0, 0.0, 10.0, 1.0]),
        max_parts: 1 + usize::from(reader.byte() % 7),
    }
}

fn fitting(reader: &mut Reader<'_>, index: usize) -> FittingDef {
    let ends = [end(reader), end(reader)];
    let bends: Vec<BendDef> = (0..reader.choice([0, 1, 1, 1, 2, 2, 3]))
        .map(|_| BendDef {
            angle_deg: reader.choice([90.0, 45.0, 60.0, 1.0, 170.0, 120.0, 33.3]),
            roll_deg: reader.choice([0.0, 180.0, 90.0, -90.0, 12.5]),
        })
        .collect();
    let legs: Vec<f64> =
        (0..=bends.len()).map(|_| reader.choice([10.0, 10.0, 20.0, 5.0, 0.01, 2000.0, 13.37])).collect();
    let stretch_mm = (bends.is_empty() && reader.byte().is_multiple_of(3)).then(|| reader.choice([10.0, 0.01, 500.0]));
    let family = match (bends.len(), stretch_mm) {
        (0, Some(_)) => Family::Link,
        (0, None) if ends[0].thread != ends[1].thread => Family::Reducer,
        (0, None) if ends[0].gender == ends[1].gender => Family::Joiner,
        (0, None) => Family::Extension,
        (1, _) => Family::Bend,
        _ => Family::Offset,
    };
    FittingDef { stretch_mm, ..part(&format!("p{index}"), family, ends, &legs, &bends) }
}

fn end(reader: &mut Reader<'_>) -> EndDef {
    EndDef {
        thread: reader.choice([Thread::G14, Thread::G14, Thread::G14, Thread::G38]),
        gender: reader.choice([Gender::Male, Gender::Female]),
        thread_length_mm: reader.choice([5.0, 5.0, 8.0, 0.1]),
        swivel: !reader.byte().is_multiple_of(4),
        collar_mm: reader.choice([18.0, 20.0, 40.0]),
    }
}

fn port(reader: &mut Reader<'_>) -> Port {
    Port {
        frame: frame(reader),
        thread: reader.choice([Thread::G14, Thread::G14, Thread::G14, Thread::G38]),
        gender: reader.choice([Gender::Female, Gender::Male]),
        thread_length_mm: reader.choice([8.0, 5.0, 0.2]),
        seat_mm: reader.choice([22.0, 18.0, 60.0]),
        disc_mm: reader.choice([22.0, 0.5, 200.0]),
        disc_behind_mm: 0.0,
    }
}

fn frame(reader: &mut Reader<'_>) -> Frame {
    let at = Vector3::new(reader.number(-60.0, 60.0), reader.number(-60.0, 60.0), reader.number(-60.0, 60.0));
    let any = Vector3::new(reader.number(-1.0, 1.0), reader.number(-1.0, 1.0), reader.number(-1.0, 1.0));
    let axis = reader.choice([Vector3::z(), -Vector3::z(), Vector3::x(), -Vector3::y(), any]);
    Frame::looking(at, if axis.norm() > 0.1 { axis } else { Vector3::z() }, 0.0)
}
