//! What makes a layout valid beyond its solids: names, allowances, gaps.

use super::file::{AllowancesDef, GapDef, LayoutFile, PlacedDef};
use super::names::{Names, PortNames, component_of};
use super::world::{Gap, PortId, UnknownPort};
use crate::geometry::GREATEST_SIZE_MM;
use crate::source::{Checker, Place, brief};
use std::collections::HashMap;

/// Largest allowed miss of a chain in millimetres, and in degrees: a sealing ring gives no more.
const WIDEST_CLOSURE: f64 = 10.0;

/// Largest clearance that may be asked for, in millimetres.
const WIDEST_CLEARANCE_MM: f64 = 100.0;

/// Least and greatest arc in degrees that a tool must be able to swing through: beyond half a circle nobody reaches round
/// a fitting without letting go.
pub(crate) const TOOL_ARCS_DEG: [f64; 2] = [5.0, 180.0];

/// Least and greatest design flow in litres per minute: from a trickle to far beyond what passes such bores.
const FLOWS_L_MIN: [f64; 2] = [0.01, 100.0];

/// Checks what belongs to the machine as a whole.
pub(super) fn check_machine(file: &LayoutFile, checker: &mut Checker<'_>) {
    checker.version(file.version);
    checker.name(&Place::FILE.field("name"), &file.name, "the name of the machine");
    let AllowancesDef { closure_mm, closure_deg, clearance_mm, tool_mm, tool_arc_deg } = file.allowances;
    let allowances = Place::FILE.field("allowances");
    let mut allow = |field: &str, value: f64, what: &str, least: f64, most: f64| {
        checker.within(&allowances.field(field), value, what, least, most);
    };
    allow("closure_mm", closure_mm, "an allowance in mm", 0.001, WIDEST_CLOSURE);
    allow("closure_deg", closure_deg, "an allowance in degrees", 0.001, WIDEST_CLOSURE);
    allow("clearance_mm", clearance_mm, "a clearance in mm", 0.0, WIDEST_CLEARANCE_MM);
    allow("tool_mm", tool_mm, "room for a tool in mm", 0.0, WIDEST_CLEARANCE_MM);
    allow("tool_arc_deg", tool_arc_deg, "an arc in degrees", TOOL_ARCS_DEG[0], TOOL_ARCS_DEG[1]);
    let flow = Place::FILE.field("design_flow_l_min");
    checker.within(&flow, file.design_flow_l_min, "a flow in L/min", FLOWS_L_MIN[0], FLOWS_L_MIN[1]);
}

/// Checks where a component stands and how far it may be moved.
pub(super) fn check_stand(placed: &PlacedDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    checker.coordinates(&place.field("at"), &placed.at);
    for (index, play) in placed.play.iter().enumerate() {
        checker.within(&place.field("play").index(index), *play, "a play in mm", 0.0, GREATEST_SIZE_MM);
    }
    checker.within(&place.field("play_turn_deg"), placed.play_turn_deg, "a play in degrees", 0.0, 180.0);
}

/// Resolves the gaps; those with a problem are left out.
pub(super) fn check_gaps(
    gaps: &[GapDef],
    components: &Names<'_>,
    names: &PortNames,
    checker: &mut Checker<'_>,
) -> Vec<Gap> {
    // Of two ports of one name, which is a problem of its own, the first counts.
    let mut ports: HashMap<&str, PortId> = HashMap::new();
    for (id, name) in (0..).map(PortId).zip(&names.known) {
        ports.entry(name).or_insert(id);
    }
    let mut used: HashMap<PortId, String> = HashMap::new();
    let list = Place::FILE.field("gaps");
    let mut resolved = Vec::with_capacity(gaps.len());
    for (index, gap) in gaps.iter().enumerate() {
        let here = list.index(index);
        let mut find = |field: &str, name: &str| {
            let port = ports.get(name).copied();
            let component = component_of(name);
            let excused = checker.is_full() || names.obscure.contains(component) || components.excuse(component);
            if port.is_none() && !excused {
                let unknown = UnknownPort::new(name, names.sure(components));
                checker.refuse(&here.field(field), format!("unknown port `{}`", brief(name)), unknown.hint());
            }
            port
        };
        let ends = [find("from", &gap.from), find("to", &gap.to)];
        let fields = [here.field("from"), here.field("to")];
        // Of components of one name, which one is meant is not known.
        if [&gap.from, &gap.to].into_iter().any(|name| components.is_twice(component_of(name))) {
            continue;
        }
        if let [Some(from), Some(to)] = ends {
            if from == to {
                let message = format!("expected a gap between two ports, found `{}` twice", brief(&gap.to));
                checker.refuse(&fields[1], message, "name the port at the other side of the gap");
                continue;
            }
            resolved.push(Gap { from, to });
        }
        for (port, place) in ends.iter().zip(&fields) {
            let Some(port) = port else { continue };
            if let Some(first) = used.get(port) {
                let name = names.known.get(port.index()).map_or("", String::as_str);
                let name = brief(name);
                let message = format!("port `{name}` is used by two gaps");
                let first = ("first used here", first.clone());
                checker.refuse_both(place, message, "a port takes one fitting; a tee makes two of one", first);
            } else {
                used.insert(*port, place.to_string());
            }
        }
    }
    resolved
}
