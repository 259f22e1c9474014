//! How ports sit on their components, for people.

use super::{
    WIDTH,
    number::{direction, fixed},
    table::{Align, table, wrapped},
};
use crate::interference::{Seat, SeatFault};

/// Every port with its place in the machine's axes, its thread, and the face it lies on.
pub(super) fn ports(seats: &[Seat]) -> String {
    let heads = [
        ("port", Align::Left),
        ("at x", Align::Right),
        ("y", Align::Right),
        ("z mm", Align::Right),
        ("faces", Align::Left),
        ("mark", Align::Left),
        ("thread", Align::Left),
        ("off mm", Align::Right),
        ("seat mm", Align::Right),
        ("on face", Align::Right),
    ];
    let row = |seat: &Seat| {
        let [x, y, z] = seat.at.map(|coordinate| fixed(coordinate, 2));
        vec![
            seat.port.clone(),
            x,
            y,
            z,
            direction(seat.towards),
            direction(seat.mark),
            format!("{} {}", seat.thread, seat.gender),
            seat.stands_off_mm.map_or_else(|| "-".to_owned(), |mm| fixed(mm, 2)),
            fixed(seat.seat_mm, 1),
            format!("{} %", fixed(seat.on_face * 100.0, 0)),
        ]
    };
    if seats.is_empty() { String::new() } else { table(2, &heads, seats.iter().map(row).collect()) }
}

/// What cannot be about ports, a paragraph each, with what to do about it.
pub(super) fn faults(seats: &[Seat]) -> String {
    let said = seats.iter().flat_map(|seat| seat.faults.iter().map(|fault| said(seat, fault)));
    said.map(|text| wrapped(&text, WIDTH, 2, 4)).collect()
}

/// What cannot be about a port, and what to do about it.
pub(super) fn said(seat: &Seat, fault: &SeatFault) -> String {
    let what = match fault {
        SeatFault::StandsOff(mm) if seat.said_mm > 0.0 => format!(
            "its face stands {} mm off the component, not {} as `stand_off_mm` says; put one of the two right",
            fixed(*mm, 2),
            fixed(seat.said_mm, 2)
        ),
        SeatFault::StandsOff(mm) => format!(
            "its face stands {mm} mm off the component; move it onto the face, or say `stand_off_mm: {mm}` if it sits \
             on a boss that the solids leave out",
            mm = fixed(*mm, 2)
        ),
        SeatFault::OffAltogether => {
            "there is nothing of the component behind it; check where it is and which way it faces".to_owned()
        }
        SeatFault::FacesItself(mm) => {
            format!("its own component stands {} mm ahead of it; check which way it faces", fixed(*mm, 1))
        }
        SeatFault::Within { body, depth_mm } => {
            format!("it lies {} mm deep in {body}; move one of the two, or give {body} a hole", fixed(*depth_mm, 2))
        }
        SeatFault::SeatBeyondFace => format!(
            "only {} % of its seat of {} mm lies on a face of the component; give the diameter on which a collar can seat, \
             or draw the boss",
            fixed(seat.on_face * 100.0, 0),
            fixed(seat.seat_mm, 1)
        ),
    };
    format!("{}: {what}", seat.port)
}
