//! Invented fittings, thin enough to leave chains of them room.

use crate::chain::Port;
use crate::frame::Frame;
use elbowroom::catalog::{BendDef, EndDef, Family, FittingDef, Gender, PartSolid, Thread};

/// Diameter of the sleeves of invented parts.
pub const SLEEVE_MM: f64 = 4.0;
/// Diameter of the knuckles of invented parts.
pub const KNUCKLE_MM: f64 = 4.4;
/// Male thread length of invented ends.
pub const MALE_MM: f64 = 5.0;
/// Female thread depth of invented ends.
pub const FEMALE_MM: f64 = 8.0;
/// Collar of invented ends.
pub const COLLAR_MM: f64 = 20.0;
/// Clear seat and disc of invented ports.
pub const SEAT_MM: f64 = 22.0;

/// An end of a G 1/4 part: `m` male, `f` female, capital letters turn freely.
///
/// # Panics
/// On any other letter.
#[must_use]
pub fn end(letter: char) -> EndDef {
    let gender = match letter.to_ascii_lowercase() {
        'm' => Gender::Male,
        'f' => Gender::Female,
        other => panic!("ends are m, f, M or F, not {other}"),
    };
    sized_end(Thread::G14, gender, letter.is_ascii_uppercase())
}

/// An end of any size, gender and mobility.
#[must_use]
pub fn sized_end(thread: Thread, gender: Gender, swivel: bool) -> EndDef {
    let thread_length_mm = if gender == Gender::Male { MALE_MM } else { FEMALE_MM };
    EndDef { thread, gender, thread_length_mm, swivel, collar_mm: COLLAR_MM }
}

/// A straight part with ends written as in [`end`].
#[must_use]
pub fn straight(id: &str, ends: [char; 2], length: f64) -> FittingDef {
    straight_between(id, ends.map(end), length)
}

/// A straight part with any ends: an extension, or a joiner where both are of one gender.
#[must_use]
pub fn straight_between(id: &str, ends: [EndDef; 2], length: f64) -> FittingDef {
    let family = if ends[0].gender == ends[1].gender { Family::Joiner } else { Family::Extension };
    part(id, family, ends, &[length], &[])
}

/// A bend with ends written as in [`end`].
#[must_use]
pub fn bend(id: &str, ends: [char; 2], angle_deg: f64, legs: [f64; 2]) -> FittingDef {
    part(id, Family::Bend, ends.map(end), &legs, &[BendDef { angle_deg, roll_deg: 0.0 }])
}

/// A part that leaves its axis by two equal bends and goes on beside it.
#[must_use]
pub fn offset(id: &str, ends: [char; 2], angle_deg: f64, legs: [f64; 3]) -> FittingDef {
    let bends = [BendDef { angle_deg, roll_deg: 0.0 }, BendDef { angle_deg, roll_deg: 180.0 }];
    part(id, Family::Offset, ends.map(end), &legs, &bends)
}

/// A straight part that can be drawn out by up to `stretch_mm`.
#[must_use]
pub fn link(id: &str, ends: [char; 2], length: f64, stretch_mm: f64) -> FittingDef {
    FittingDef { stretch_mm: Some(stretch_mm), ..part(id, Family::Link, ends.map(end), &[length], &[]) }
}

/// Any part, with a sleeve around each leg and a knuckle at each bend.
#[must_use]
pub fn part(id: &str, family: Family, ends: [EndDef; 2], legs: &[f64], bends: &[BendDef]) -> FittingDef {
    let sleeves = (0..legs.len()).map(|leg| PartSolid::Sleeve { leg, from: 0.0, to: None, diameter: SLEEVE_MM });
    let knuckles = (0..bends.len()).map(|bend| PartSolid::Knuckle { bend, diameter: KNUCKLE_MM });
    FittingDef {
        id: id.to_owned(),
        name: format!("Invented part {id}"),
        family,
        ends: ends.to_vec(),
        legs: legs.to_vec(),
        bends: bends.to_vec(),
        stretch_mm: None,
        branch: None,
        solids: sleeves.chain(knuckles).collect(),
        bore_mm: 3.0,
        swept: false,
        price: None,
    }
}

/// A G 1/4 port, female for `f`, male for `m`.
#[must_use]
pub fn port(letter: char, frame: Frame) -> Port {
    mating_port(&end(if letter == 'f' { 'm' } else { 'f' }), frame)
}

/// The port that an end screws into.
#[must_use]
pub fn mating_port(end: &EndDef, frame: Frame) -> Port {
    let gender = end.gender.opposite();
    let thread_length_mm = if gender == Gender::Male { MALE_MM } else { FEMALE_MM };
    Port {
        frame,
        thread: end.thread,
        gender,
        thread_length_mm,
        seat_mm: SEAT_MM,
        disc_mm: SEAT_MM,
        disc_behind_mm: 0.0,
    }
}
