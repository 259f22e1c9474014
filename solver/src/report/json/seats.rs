//! How ports sit on their components, for programs.

use super::number::{fine, tidy};
use crate::{
    catalog::{Gender, Thread},
    interference::{Seat, SeatFault},
};
use schemars::JsonSchema;
use serde::Serialize;

/// A port and how it sits on its component. Lengths in millimetres, places and directions in the layout's axes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatDocument {
    /// `component.port`.
    pub port: String,
    /// Centre of its sealing face.
    pub at: [f64; 3],
    /// The way it faces, of length one.
    pub towards: [f64; 3],
    /// The direction from which turns at it are counted, square to that and of length one.
    pub mark: [f64; 3],
    /// Thread size.
    pub thread: Thread,
    /// Male or female.
    pub gender: Gender,
    /// Which solid of the component carries the face, counted from 0; `null` if none does.
    pub solid: Option<usize>,
    /// How far the face stands off the component along the port's axis, negative where it is sunk into it; `null` if there
    /// is nothing behind it.
    pub stands_off_mm: Option<f64>,
    /// How far the layout says that it does.
    pub said_mm: f64,
    /// Diameter of the seat.
    pub seat_mm: f64,
    /// Share of the seat that lies on a face of the component, from 0 to 1, to about 0.01.
    pub on_face: f64,
    /// What cannot be; empty where nothing is wrong.
    pub faults: Vec<SeatFaultDocument>,
}

/// What cannot be about a port.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case", tag = "fault")]
pub enum SeatFaultDocument {
    /// Its face is off the component, and it does not say so.
    StandsOff {
        /// By how much.
        mm: f64,
    },
    /// There is nothing of the component behind it.
    OffAltogether,
    /// Its own component stands ahead of it.
    FacesItself {
        /// How far ahead.
        mm: f64,
    },
    /// It lies inside another body.
    Within {
        /// The panel or component.
        body: String,
        /// How deep.
        mm: f64,
    },
    /// The seat is larger than the face it lies on.
    SeatBeyondFace,
}

impl SeatDocument {
    pub(super) fn new(seat: &Seat) -> Self {
        Self {
            port: seat.port.clone(),
            at: seat.at.map(tidy),
            towards: seat.towards.map(fine),
            mark: seat.mark.map(fine),
            thread: seat.thread,
            gender: seat.gender,
            solid: seat.solid,
            stands_off_mm: seat.stands_off_mm.map(tidy),
            said_mm: tidy(seat.said_mm),
            seat_mm: tidy(seat.seat_mm),
            on_face: fine(seat.on_face),
            faults: seat.faults.iter().map(fault).collect(),
        }
    }
}

fn fault(fault: &SeatFault) -> SeatFaultDocument {
    match fault {
        SeatFault::StandsOff(mm) => SeatFaultDocument::StandsOff { mm: tidy(*mm) },
        SeatFault::OffAltogether => SeatFaultDocument::OffAltogether,
        SeatFault::FacesItself(mm) => SeatFaultDocument::FacesItself { mm: tidy(*mm) },
        SeatFault::Within { body, depth_mm } => SeatFaultDocument::Within { body: body.clone(), mm: tidy(*depth_mm) },
        SeatFault::SeatBeyondFace => SeatFaultDocument::SeatBeyondFace,
    }
}
