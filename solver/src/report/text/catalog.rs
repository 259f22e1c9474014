//! The catalog for people: a list, or one part in full.

use super::{
    number::{direction, fixed, plural},
    table::{Align, table, wrapped},
};
use crate::{
    catalog::{ComponentDef, EndDef, Family, FittingDef, FlowDef, Gender, LossDef, PartSolid, PortDef, PumpDef},
    geometry::{Facing, Shape},
    hydraulics::Wall,
    report::words::joined,
};

/// A list of parts, a line each.
#[must_use]
pub fn catalog(fittings: &[&FittingDef], components: &[&ComponentDef]) -> String {
    let mut out = String::new();
    if !fittings.is_empty() {
        out.push_str(&format!("{}; * marks ends that swivel\n", plural(fittings.len(), "fitting")));
        out.push_str(&fitting_list(fittings));
    }
    if !components.is_empty() {
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&format!("{}\n", plural(components.len(), "component")));
        out.push_str(&component_list(components));
    }
    out
}

/// A fitting in full.
#[must_use]
pub fn fitting(fitting: &FittingDef) -> String {
    let mut rows = vec![("family".to_owned(), fitting.family.word().to_owned())];
    for (index, end) in fitting.ends.iter().enumerate() {
        rows.push((format!("end {index}"), end_in_full(end)));
    }
    rows.push(("centreline".to_owned(), format!("{} (mm and degrees, from end 0)", centreline(fitting))));
    if let Some(stretch) = fitting.stretch_mm {
        rows.push(("adjustable".to_owned(), format!("up to {stretch} mm longer, in the first leg")));
    }
    if let Some(branch) = fitting.branch {
        let text = format!("leaves {} mm from end 0 at {}°, {} mm long", branch.at, branch.angle_deg, branch.leg);
        rows.push(("branch".to_owned(), text));
    }
    for solid in &fitting.solids {
        rows.push(("solid".to_owned(), part_solid(solid)));
    }
    let turn = match (fitting.bends.is_empty(), fitting.swept) {
        (true, _) => "",
        (false, true) => ", swept round the bend",
        (false, false) => ", drilled to a sharp corner",
    };
    if has_bore(fitting) {
        rows.push(("bore".to_owned(), format!("{} mm{turn}", fitting.bore_mm)));
    }
    rows.push(("price".to_owned(), fitting.price.map_or_else(|| "not known".to_owned(), |price| fixed(price, 2))));
    in_full(&fitting.id, &fitting.name, &rows)
}

/// A component template in full.
#[must_use]
pub fn component(component: &ComponentDef) -> String {
    let mut rows = Vec::new();
    if !component.note.is_empty() {
        rows.push(("note".to_owned(), component.note.clone()));
    }
    for solid in &component.solids {
        let text = format!("{} at {}, along {}", shape(&solid.shape), place(solid.at), towards(&solid.facing));
        rows.push(("solid".to_owned(), text));
    }
    for port in &component.ports {
        rows.push((format!("port {}", port.name), port_in_full(port)));
    }
    if let Some(flow) = &component.flow {
        rows.extend(flow_in_full(flow));
    }
    in_full(&component.id, &component.name, &rows)
}

fn fitting_list(fittings: &[&FittingDef]) -> String {
    let heads = [
        ("id", Align::Left),
        ("family", Align::Left),
        ("ends", Align::Left),
        ("legs mm and bends °", Align::Left),
        ("bore mm", Align::Right),
        ("price", Align::Right),
    ];
    let rows = fittings.iter().map(|fitting| {
        vec![
            fitting.id.clone(),
            fitting.family.word().to_owned(),
            ends(&fitting.ends),
            centreline(fitting),
            if has_bore(fitting) { fixed(fitting.bore_mm, 1) } else { "-".to_owned() },
            fitting.price.map_or_else(|| "-".to_owned(), |price| fixed(price, 2)),
        ]
    });
    table(2, &heads, rows.collect())
}

fn component_list(components: &[&ComponentDef]) -> String {
    let heads = [("id", Align::Left), ("what it is", Align::Left), ("ports", Align::Right)];
    let rows = components
        .iter()
        .map(|component| vec![component.id.clone(), component.name.clone(), component.ports.len().to_string()]);
    table(2, &heads, rows.collect())
}

/// The ends on as little room as can be: `G 1/4 m*, f` where both have the same thread.
fn ends(ends: &[EndDef]) -> String {
    let mut last = None;
    let texts = ends.iter().map(|end| {
        let thread = if last == Some(end.thread) { String::new() } else { format!("{} ", end.thread) };
        last = Some(end.thread);
        let gender = match end.gender {
            Gender::Male => "m",
            Gender::Female => "f",
        };
        format!("{thread}{gender}{}", if end.swivel { "*" } else { "" })
    });
    texts.collect::<Vec<_>>().join(", ")
}

fn end_in_full(end: &EndDef) -> String {
    let thread = match end.gender {
        Gender::Male => format!("thread {} mm long", end.thread_length_mm),
        Gender::Female => format!("takes {} mm of thread", end.thread_length_mm),
    };
    let turns = if end.swivel { "swivels" } else { "fixed" };
    format!("{} {}, {turns}, {thread}, collar {} mm across", end.thread, end.gender, end.collar_mm)
}

fn port_in_full(port: &PortDef) -> String {
    let thread = match port.gender {
        Gender::Male => format!("thread {} mm long", port.thread_length_mm),
        Gender::Female => format!("takes {} mm of thread", port.thread_length_mm),
    };
    format!(
        "{} {} at {}, faces {}, {thread}, seat {} mm across",
        port.thread,
        port.gender,
        place(port.at),
        towards(&port.facing),
        port.seat_mm
    )
}

/// How coolant goes through a component, and what that costs or gains.
fn flow_in_full(flow: &FlowDef) -> Vec<(String, String)> {
    let mut rows = Vec::new();
    let ways: Vec<String> = flow.passages.iter().map(|[from, to]| format!("{from} to {to}")).collect();
    let ways = match (flow.reservoir, ways.is_empty()) {
        (true, _) => "in and out by any port, through a vessel with a free surface".to_owned(),
        (false, true) => "inlet to outlet".to_owned(),
        (false, false) => joined(&ways),
    };
    rows.push(("flow".to_owned(), ways));
    if let Some(loss) = &flow.loss {
        let text = match loss {
            LossDef::Table(points) => format!("{}, measured", points_in_line(points)),
            LossDef::Coefficient { l_min, kpa, power } => {
                format!("{kpa} kPa at {l_min} L/min, growing with the flow to the power of {power}")
            }
        };
        let each = if flow.passages.len() > 1 { ", each way" } else { "" };
        rows.push(("loss".to_owned(), format!("{text}{each}")));
    } else if flow.pump.is_none() && !flow.reservoir {
        rows.push(("loss".to_owned(), "none stated".to_owned()));
    }
    if let Some(pump) = &flow.pump {
        let text = match pump {
            PumpDef::Table(points) => format!("gains {}, measured at full speed", points_in_line(points)),
            PumpDef::ThreePoints(points) => {
                format!("gains {} at full speed, on a curve of the usual shape through these", points_in_line(points))
            }
        };
        rows.push(("pump".to_owned(), text));
    }
    let bore = flow.bore_mm.map_or_else(|| "not stated".to_owned(), |bore| format!("{bore} mm at its narrowest"));
    rows.push(("bore".to_owned(), bore));
    rows.push(("wall".to_owned(), Wall::from(flow.wall).to_string()));
    rows
}

/// Points of flow and pressure, such as `18 kPa at 0 L/min and 12 kPa at 4 L/min`.
fn points_in_line(points: &[[f64; 2]]) -> String {
    joined(&points.iter().map(|[l_min, kpa]| format!("{kpa} kPa at {l_min} L/min")).collect::<Vec<_>>())
}

/// Whether coolant goes through a fitting: a plug ends it.
fn has_bore(fitting: &FittingDef) -> bool {
    fitting.family != Family::Plug
}

/// A direction as reports write it, however the file does.
fn towards(facing: &Facing) -> String {
    direction(facing.direction().into_inner().into())
}

/// Legs and bends in turn, such as `11.5 90° 11.5`; a bend that turns back has a minus sign.
fn centreline(fitting: &FittingDef) -> String {
    let mut texts = Vec::new();
    for (index, leg) in fitting.legs.iter().enumerate() {
        match (index, fitting.stretch_mm) {
            (0, Some(stretch)) => texts.push(format!("{leg} to {}", leg + stretch)),
            _ => texts.push(leg.to_string()),
        }
        if let Some(bend) = fitting.bends.get(index) {
            texts.push(match bend.roll_deg {
                0.0 => format!("{}°", bend.angle_deg),
                180.0 => format!("-{}°", bend.angle_deg),
                roll => format!("{}° (rolled {roll}°)", bend.angle_deg),
            });
        }
    }
    texts.join(" ")
}

fn part_solid(solid: &PartSolid) -> String {
    match solid {
        PartSolid::Sleeve { leg, from, to, diameter } => {
            let to = to.map_or_else(|| "its end".to_owned(), |to| format!("{to} mm"));
            format!("sleeve of {diameter} mm around leg {leg}, from {from} mm to {to}")
        }
        PartSolid::Knuckle { bend, diameter } => format!("ball of {diameter} mm around bend {bend}"),
        PartSolid::Free(solid) => {
            format!("{} at {}, along {}", shape(&solid.shape), place(solid.at), towards(&solid.facing))
        }
    }
}

fn shape(shape: &Shape) -> String {
    match shape {
        Shape::Box { size: [x, y, z] } => format!("box of {x} x {y} x {z} mm"),
        Shape::Cylinder { diameter, length } => format!("cylinder of {diameter} mm, {length} mm long"),
        Shape::Sphere { diameter } => format!("ball of {diameter} mm"),
        Shape::Capsule { diameter, length } => format!("capsule of {diameter} mm, {length} mm between centres"),
        Shape::Hull { points } => format!("hull of {} points", points.len()),
    }
}

fn place([x, y, z]: [f64; 3]) -> String {
    format!("({x}, {y}, {z})")
}

fn in_full(id: &str, name: &str, rows: &[(String, String)]) -> String {
    let widest = rows.iter().map(|(head, _)| head.chars().count()).max().unwrap_or(0);
    let lines = rows.iter().map(|(head, text)| {
        let body = wrapped(text, super::WIDTH, 4 + widest, 4 + widest);
        format!("  {head:<widest$}{}", body.get(2 + widest..).unwrap_or_default())
    });
    format!("{id}\n{name}\n{}", lines.collect::<String>())
}
