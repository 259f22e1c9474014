//! The interference report for people.

use super::{
    WIDTH,
    number::{fixed, plural},
    seats,
    table::{Align, table, wrapped},
};
use crate::{
    geometry::{FreeingMove, State},
    interference::{CoverRoom, Interference, Meeting, PortRoom},
};
use std::fmt::Write as _;

/// What overlaps, what comes too near, what touches, how far the covers miss, and the verdict.
#[must_use]
pub fn check(layout: &str, found: &Interference) -> String {
    let mut out = format!(
        "{layout}: {}, {}, clearance allowance {} mm\n",
        plural(found.components, "component"),
        plural(found.panels, "panel"),
        found.clearance_mm
    );
    section(&mut out, "Overlapping, and the shortest moves of the first that free it of the second", &overlaps(found));
    section(&mut out, &format!("Nearer than {} mm", found.clearance_mm), &tight(found));
    let touching: Vec<_> = found.touching().map(|meeting| format!("{} and {}", meeting.a, meeting.b)).collect();
    if !touching.is_empty() {
        section(&mut out, "Touching", &wrapped(&touching.join("; "), WIDTH, 2, 2));
    }
    section(&mut out, "Covers", &found.covers.iter().map(cover).collect::<String>());
    section(&mut out, "Little room in front of a port", &found.ports.iter().map(port).collect::<String>());
    section(&mut out, "Ports, in the machine's axes", &seats::ports(&found.seats));
    section(&mut out, "Ports that cannot be as they are written", &seats::faults(&found.seats));
    let _ = writeln!(out, "\n{}", verdict(found));
    out
}

fn section(out: &mut String, heading: &str, body: &str) {
    if !body.is_empty() {
        let _ = write!(out, "\n{heading}:\n{body}");
    }
}

fn verdict(found: &Interference) -> String {
    let unsound = found.seats.iter().filter(|seat| !seat.faults.is_empty()).count();
    let ports = match unsound {
        0 => return bodies(found),
        1 => "1 port cannot be as it is written".to_owned(),
        _ => format!("{unsound} ports cannot be as they are written"),
    };
    if found.fits() {
        format!(
            "Nothing overlaps, but {ports}: nothing that follows from {} can be trusted.",
            if unsound == 1 { "it" } else { "them" }
        )
    } else {
        format!("{} And {ports}.", bodies(found))
    }
}

fn bodies(found: &Interference) -> String {
    match found.overlaps().count() {
        0 => match found.tight().count() {
            0 => "Everything fits: nothing overlaps.".to_owned(),
            tight => {
                format!("Everything fits: nothing overlaps, but {} nearer than the allowance.", pairs(tight, "comes"))
            }
        },
        overlaps => format!("Does not fit: {}.", pairs(overlaps, "overlaps")),
    }
}

fn pairs(number: usize, verb: &str) -> String {
    match number {
        1 => format!("1 pair of bodies {verb}"),
        _ => format!("{number} pairs of bodies {}", verb.trim_end_matches('s')),
    }
}

fn overlaps(found: &Interference) -> String {
    let heads = [
        ("first", Align::Left),
        ("second", Align::Left),
        ("depth mm", Align::Right),
        ("along x", Align::Right),
        ("along y", Align::Right),
        ("along z", Align::Right),
        ("solids", Align::Right),
        ("", Align::Left),
    ];
    let rows: Vec<_> = found
        .overlaps()
        .map(|meeting| {
            let mut cells = vec![meeting.a.clone(), meeting.b.clone(), depth(meeting)];
            cells.extend([0, 2, 4].map(|axis| shortest(meeting.moves.as_ref(), axis)));
            cells.push(meeting.overlapping.len().to_string());
            cells.push(if meeting.state() == State::Inside { "one inside the other" } else { "" }.to_owned());
            cells
        })
        .collect();
    if rows.is_empty() { String::new() } else { table(2, &heads, rows) }
}

/// The shorter of the two moves along an axis, signed.
fn shortest(moves: Option<&[FreeingMove; 6]>, axis: usize) -> String {
    let Some([forth, back]) = moves.and_then(|moves| moves.get(axis..axis + 2)) else { return "-".to_owned() };
    let (sign, mm) = if forth.mm <= back.mm { ('+', forth.mm) } else { ('-', back.mm) };
    if mm.is_finite() { format!("{sign}{}", outwards(mm)) } else { "-".to_owned() }
}

/// A length that must not be cut short: rounded up to a tenth.
fn outwards(mm: f64) -> String {
    /// What is longer by no more than the accuracy of the measurement is not rounded up.
    const NOISE_MM: f64 = 1e-4;
    fixed(((mm - NOISE_MM) * 10.0).ceil() / 10.0, 1)
}

/// How deep two bodies overlap, in millimetres.
pub(super) fn depth(meeting: &Meeting) -> String {
    fixed(-meeting.worst.separation.signed_mm, 2)
}

fn tight(found: &Interference) -> String {
    let heads = [("first", Align::Left), ("second", Align::Left), ("apart mm", Align::Right)];
    let row =
        |meeting: &Meeting| vec![meeting.a.clone(), meeting.b.clone(), fixed(meeting.worst.separation.signed_mm, 2)];
    let rows: Vec<_> = found.tight().map(row).collect();
    if rows.is_empty() { String::new() } else { table(2, &heads, rows) }
}

fn cover(room: &CoverRoom) -> String {
    let CoverRoom { cover, component, separation } = room;
    let text = match separation.state {
        State::Clear => format!("{component} misses the {cover} by {} mm", fixed(separation.signed_mm, 1)),
        State::Touching => format!("{component} touches the {cover}"),
        State::Overlapping | State::Inside => {
            format!("{component} reaches {} mm into the {cover}", fixed(-separation.signed_mm, 1))
        }
    };
    wrapped(&text, WIDTH, 2, 4)
}

fn port(room: &PortRoom) -> String {
    let text = match fixed(room.free_mm, 1) {
        none if none == "0.0" => format!("{}: {} stands right on it", room.port, room.body),
        mm => format!("{}: {} stands {mm} mm in front of it", room.port, room.body),
    };
    wrapped(&text, WIDTH, 2, 4)
}
