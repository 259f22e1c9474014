//! Reasons why nothing can bridge a gap that a person can check with a ruler and a sum.

use crate::{
    bridge::stock::why_nothing_enters,
    catalog::{Catalog, FittingDef},
    geometry::{axis, origin},
    interference,
    layout::{Layout, Port},
};
use std::fmt;

/// Why nothing bridges a gap.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// No part screws into one of the ports; in words.
    NothingEnters(String),
    /// The ports are farther apart than the longest parts in a row.
    TooFar {
        /// Straight distance between the seats, in millimetres.
        distance_mm: f64,
        /// How far that many of the longest part reach, in millimetres.
        reach_mm: f64,
        /// How many parts.
        parts: usize,
        /// The longest part.
        longest: String,
    },
    /// The way from one port into the other turns by more than that many bends do.
    TooFewBends {
        /// By how much the way must turn at least, in degrees.
        needed_deg: f64,
        /// By how much that many of the sharpest part turn, in degrees.
        possible_deg: f64,
        /// How many parts.
        parts: usize,
        /// The part that turns most.
        sharpest: String,
    },
    /// Something stands in front of a port, nearer than any part needs before it turns aside or ends.
    Covered {
        /// The port.
        port: String,
        /// What stands in front of it.
        body: String,
        /// Room straight ahead of the port for a bar as thick as its thread, in millimetres.
        room_mm: f64,
        /// The shortest straight leg of a part that screws into a port of this thread and gender, in millimetres.
        shortest_mm: f64,
    },
}

impl Reason {
    /// Whether no small move can change it.
    pub(super) fn settles(&self) -> bool {
        matches!(self, Self::NothingEnters(_))
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NothingEnters(why) => f.write_str(why),
            Self::TooFar { distance_mm, reach_mm, parts, longest } => write!(
                f,
                "too far apart: {distance_mm:.1} mm between the seats, and {parts} of the longest part ({longest}) reach {reach_mm:.1} mm"
            ),
            Self::TooFewBends { needed_deg, possible_deg, parts, sharpest } => write!(
                f,
                "facing the wrong way: the way must turn by at least {needed_deg:.1}°, and {parts} of the sharpest part ({sharpest}) turn by {possible_deg:.1}°"
            ),
            Self::Covered { port, body, room_mm, shortest_mm } => {
                match format!("{room_mm:.1}").as_str() {
                    "0.0" => write!(f, "{port} is covered: {body} stands right on it")?,
                    room => write!(f, "{port} is covered: {room} mm of room up to {body}")?,
                }
                write!(f, ", and the shortest part goes {shortest_mm:.1} mm straight ahead")
            }
        }
    }
}

pub(super) fn reasons(catalog: &Catalog, layout: &Layout, ports: [&Port; 2], parts: usize) -> Vec<Reason> {
    let fittings = catalog.fittings();
    let mut reasons: Vec<Reason> =
        ports.iter().filter_map(|port| why_nothing_enters(fittings, port)).map(Reason::NothingEnters).collect();
    reasons.extend(too_far(fittings, layout, ports, parts));
    reasons.extend(too_few_bends(fittings, layout, ports, parts));
    reasons.extend(covered(fittings, layout, ports));
    reasons
}

fn links(fittings: &[FittingDef]) -> impl Iterator<Item = &FittingDef> {
    fittings.iter().filter(|fitting| fitting.is_link())
}

fn too_far(fittings: &[FittingDef], layout: &Layout, [from, to]: [&Port; 2], parts: usize) -> Option<Reason> {
    let length = |fitting: &FittingDef| fitting.legs.iter().sum::<f64>() + fitting.stretch_mm.unwrap_or(0.0);
    let longest = links(fittings).max_by(|a, b| length(a).total_cmp(&length(b)))?;
    let distance_mm = (origin(&to.pose) - origin(&from.pose)).norm();
    let reach_mm = length(longest) * as_number(parts);
    (reach_mm + layout.allowances().closure_mm < distance_mm).then(|| Reason::TooFar {
        distance_mm,
        reach_mm,
        parts,
        longest: longest.id.clone(),
    })
}

fn too_few_bends(fittings: &[FittingDef], layout: &Layout, [from, to]: [&Port; 2], parts: usize) -> Option<Reason> {
    // Angles between directions obey the triangle inequality, so no part turns by more than its bends added up.
    let turn = |fitting: &FittingDef| fitting.bends.iter().map(|bend| bend.angle_deg).sum::<f64>();
    let sharpest = links(fittings).max_by(|a, b| turn(a).total_cmp(&turn(b)))?;
    let (ahead, into) = (axis(&from.pose), -axis(&to.pose));
    let needed_deg = ahead.cross(&into).norm().atan2(ahead.dot(&into)).to_degrees();
    let possible_deg = turn(sharpest) * as_number(parts);
    (possible_deg + layout.allowances().closure_deg < needed_deg).then(|| Reason::TooFewBends {
        needed_deg,
        possible_deg,
        parts,
        sharpest: sharpest.id.clone(),
    })
}

fn covered(fittings: &[FittingDef], layout: &Layout, ports: [&Port; 2]) -> Vec<Reason> {
    let rooms = interference::rooms(layout);
    ports
        .into_iter()
        .filter_map(|port| {
            let room = rooms.iter().find(|room| room.port == port.name)?;
            let leg = |fitting: &FittingDef, end: usize| {
                let leg = if end == 0 { fitting.legs.first() } else { fitting.legs.last() };
                leg.copied().unwrap_or(0.0)
            };
            let shortest_mm = links(fittings)
                .flat_map(|fitting| fitting.ends.iter().enumerate().map(move |(end, def)| (fitting, end, def)))
                .filter(|(_, _, def)| def.thread == port.thread && def.gender == port.gender.opposite())
                .map(|(fitting, end, _)| leg(fitting, end))
                .fold(f64::INFINITY, f64::min);
            (shortest_mm.is_finite() && room.free_mm < shortest_mm).then(|| Reason::Covered {
                port: port.name.clone(),
                body: room.body.clone(),
                room_mm: room.free_mm,
                shortest_mm,
            })
        })
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "a handful of parts")]
fn as_number(parts: usize) -> f64 {
    parts as f64
}
