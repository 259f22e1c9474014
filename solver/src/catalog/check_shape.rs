//! What makes solids and ports valid, wherever they are written: in a catalog or in a layout.

use super::check_flow::check_flow;
use super::heat::check_heat;
use super::part::{ComponentDef, PortDef, Thread};
use crate::geometry::{Pose, Shape, Solid, SolidDef};
use crate::source::{Checker, Place, brief};
use std::collections::HashMap;

/// Most points of a hull. A hull is searched point by point; one that needs more is a scan, to be simplified first.
const MOST_HULL_POINTS: usize = 1_000;

/// Checks a component template.
pub(super) fn check_component(component: &ComponentDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    checker.word(&place.field("id"), &component.id, "an id");
    checker.name(&place.field("name"), &component.name, "a descriptive name");
    check_solids(&component.solids, &place.field("solids"), checker);
    let ports = check_ports(&component.ports, &place.field("ports"), checker);
    if let Some(flow) = &component.flow {
        let known = ports.names_are_sure.then_some(component.ports.as_slice());
        check_flow(flow, known, &place.field("flow"), checker);
    }
    if let Some(heat) = &component.heat {
        check_heat(heat, &place.field("heat"), checker);
    }
}

/// What is known of the ports of a component in spite of what is wrong with them.
pub(crate) struct CheckedPorts {
    /// Whether they are called as the file says.
    pub(crate) names_are_sure: bool,
    /// Of each, whether it is known where it sits and where it faces.
    pub(crate) placed: Vec<bool>,
}

/// Checks the solids of a component: at least one. Returns whether all is well with them.
pub(crate) fn check_solids(solids: &[SolidDef], place: &Place<'_>, checker: &mut Checker<'_>) -> bool {
    let before = checker.count();
    if solids.is_empty() {
        checker.refuse(place, "expected at least one solid, found none", "add the body, such as a box around it");
    }
    for (index, solid) in solids.iter().enumerate() {
        check_solid(solid, &place.index(index), checker);
    }
    checker.count() == before && checker.is_sure(place)
}

/// Checks one solid and where it sits.
pub(super) fn check_solid(solid: &SolidDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    check_shape(&solid.shape, &place.field("shape"), checker);
    checker.coordinates(&place.field("at"), &solid.at);
}

/// Checks the ports of a component, names included.
pub(crate) fn check_ports(ports: &[PortDef], place: &Place<'_>, checker: &mut Checker<'_>) -> CheckedPorts {
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let mut checked = CheckedPorts { names_are_sure: !checker.is_doubtful(place), placed: Vec::new() };
    for (index, port) in ports.iter().enumerate() {
        let here = place.index(index);
        checked.names_are_sure &= checker.word(&here.field("name"), &port.name, "a port name");
        let is_named = !checker.is_doubtful(&here.field("name"));
        if let Some(first) = seen.get(port.name.as_str()).filter(|_| is_named) {
            checked.names_are_sure = false;
            let other = place.index(*first).field("name").to_string();
            let message = format!("port `{}` is defined twice in one component", brief(&port.name));
            checker.refuse_both(&here.field("name"), message, "rename one of the two", ("first defined here", other));
        }
        if is_named {
            seen.entry(&port.name).or_insert(index);
        }
        let stands = checker.coordinates(&here.field("at"), &port.at);
        checked.placed.push(stands && !checker.is_doubtful(&here.field("facing")));
        checker.length(&here.field("thread_length_mm"), port.thread_length_mm, "a thread length");
        let seat = &here.field("seat_mm");
        let thread_is_known = !checker.is_doubtful(&here.field("thread"));
        if checker.length(seat, port.seat_mm, "a clear seat diameter") && thread_is_known {
            check_face(port.seat_mm, port.thread, "clear seat", seat, checker);
        }
        if let Some(mark) = &port.mark
            && port.facing.direction().cross(&mark.direction()).norm() < LEAST_MARK_DEG.to_radians().sin()
        {
            let message = format!("expected a mark that is not along `facing` (\"{}\"), found \"{mark}\"", port.facing);
            let help = "give a direction that can be seen from in front of the port, or leave it out";
            checker.refuse(&here.field("mark"), message, help);
        }
        checker.within(
            &here.field("stand_off_mm"),
            port.stand_off_mm,
            "how far the face stands off",
            0.0,
            MOST_STAND_OFF_MM,
        );
    }
    checked
}

/// Least angle between a mark and the port's axis, in degrees: nearer to it nobody sees where it points.
const LEAST_MARK_DEG: f64 = 1.0;

/// Farthest that a port can stand off its component, in millimetres: a boss that high is worth drawing.
const MOST_STAND_OFF_MM: f64 = 100.0;

/// A sealing ring lies around the thread, so the face that it seals on must be wider than the thread.
pub(super) fn check_face(face_mm: f64, thread: Thread, what: &str, place: &Place<'_>, checker: &mut Checker<'_>) {
    let major = thread.major_diameter_mm();
    if face_mm <= major {
        let message = format!("expected a {what} wider than the {thread} thread ({major} mm), found {face_mm}");
        checker.refuse(place, message, "give the diameter of the flat face around the thread");
    }
}

fn check_shape(shape: &Shape, place: &Place<'_>, checker: &mut Checker<'_>) {
    match shape {
        Shape::Box { size } => {
            let place = place.field("box");
            for (index, side) in size.iter().enumerate() {
                checker.length(&place.field("size").index(index), *side, "a side");
            }
        }
        Shape::Cylinder { diameter, length } => check_bar(*diameter, *length, &place.field("cylinder"), checker),
        Shape::Capsule { diameter, length } => check_bar(*diameter, *length, &place.field("capsule"), checker),
        Shape::Sphere { diameter } => {
            checker.length(&place.field("sphere").field("diameter"), *diameter, "a diameter");
        }
        Shape::Hull { points } => {
            let place = place.field("hull");
            let place = place.field("points");
            if points.len() > MOST_HULL_POINTS {
                let message = format!("expected a hull of at most {MOST_HULL_POINTS} points, found {}", points.len());
                checker.refuse(&place, message, "keep the corners only");
                return;
            }
            let sound = points
                .iter()
                .enumerate()
                .fold(true, |sound, (index, point)| checker.coordinates(&place.index(index), point) && sound);
            if let Some(bad) = sound.then(|| Solid::new(shape, Pose::identity()).err()).flatten() {
                checker.refuse(&place, bad.to_string(), "give at least four corners, not all in one plane");
            }
        }
    }
}

fn check_bar(diameter: f64, length: f64, place: &Place<'_>, checker: &mut Checker<'_>) {
    checker.length(&place.field("diameter"), diameter, "a diameter");
    checker.length(&place.field("length"), length, "a length");
}
