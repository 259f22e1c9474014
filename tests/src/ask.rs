//! Puts a problem to the solver through its front door.

use crate::chain::{DISC_THICKNESS_MM, Port, Problem};
use crate::frame::Frame;
use elbowroom::bridge::{Answer, Wishes, bridge};
use elbowroom::catalog::{Catalog, PortDef};
use elbowroom::geometry::{Facing, Shape, SolidDef};
use elbowroom::layout::{AllowancesDef, CoolantDef, Gap, Layout, LayoutFile, PlacedDef};
use nalgebra::Vector3;

/// More chains than any problem of these tests has.
pub const ALL: usize = 1_000_000;

/// Flow in L/min at which the losses of chains are stated in all problems.
pub const DESIGN_FLOW_L_MIN: f64 = 4.0;

/// A problem as the solver takes it.
pub struct Asked {
    /// The catalog.
    pub catalog: Catalog,
    /// The layout: components `a` and `b`, each a disc with a port `p`, and the obstacles.
    pub layout: Layout,
    /// From `a.p` to `b.p`.
    pub gap: Gap,
}

/// The chains of a problem, up to `want` of them.
///
/// # Panics
/// When the solver refuses the problem, which the oracles do not mean to happen.
#[must_use]
pub fn ask(problem: &Problem, want: usize) -> Answer {
    let asked = pose(problem).unwrap_or_else(|refusal| panic!("refused: {refusal}\n{problem:#?}"));
    let wishes = Wishes { max_parts: problem.max_parts, want, ..Wishes::default() };
    bridge(&asked.catalog, &asked.layout, &asked.gap, &wishes).unwrap_or_else(|bad| panic!("{bad}"))
}

/// The problem as the solver takes it.
///
/// # Errors
/// When the solver refuses the catalog or the layout, in its words.
pub fn pose(problem: &Problem) -> Result<Asked, String> {
    let catalog =
        Catalog::from_parts(problem.fittings.clone(), Vec::new()).map_err(|refusal| format!("{refusal:?}"))?;
    let layout = Layout::from_file(&layout_file(problem), &catalog).map_err(|refusal| format!("{refusal:?}"))?;
    let gap = layout.gap("a.p", "b.p").map_err(|refusal| format!("{refusal:?}"))?;
    Ok(Asked { catalog, layout, gap })
}

/// The layout of a problem as it would be written down.
#[must_use]
pub fn layout_file(problem: &Problem) -> LayoutFile {
    let mut components = vec![port_component("a", &problem.from), port_component("b", &problem.to)];
    components.extend(problem.obstacles.iter().map(|obstacle| {
        let solid = SolidDef { shape: obstacle.shape.clone(), at: [0.0; 3], facing: Facing::default() };
        placed(&obstacle.name, &obstacle.frame, vec![solid], Vec::new())
    }));
    LayoutFile {
        version: 1,
        name: "two ports".to_owned(),
        panels: Vec::new(),
        components,
        gaps: Vec::new(),
        allowances: AllowancesDef {
            closure_mm: problem.closure_mm,
            closure_deg: problem.closure_deg,
            clearance_mm: problem.clearance_mm,
            ..AllowancesDef::default()
        },
        design_flow_l_min: DESIGN_FLOW_L_MIN,
        coolant: CoolantDef::default(),
        ambient_celsius: None,
    }
}

fn port_component(name: &str, port: &Port) -> PlacedDef {
    let disc = SolidDef {
        shape: Shape::Cylinder { diameter: port.disc_mm, length: DISC_THICKNESS_MM },
        at: [0.0, 0.0, -port.disc_behind_mm - DISC_THICKNESS_MM / 2.0],
        facing: Facing::default(),
    };
    let def = PortDef {
        name: "p".to_owned(),
        at: [0.0; 3],
        facing: Facing::default(),
        thread: port.thread,
        gender: port.gender,
        thread_length_mm: port.thread_length_mm,
        seat_mm: port.seat_mm,
        stand_off_mm: 0.0,
        mark: None,
    };
    placed(name, &port.frame, vec![disc], vec![def])
}

fn placed(name: &str, frame: &Frame, solids: Vec<SolidDef>, ports: Vec<PortDef>) -> PlacedDef {
    PlacedDef {
        name: name.to_owned(),
        template: None,
        solids,
        ports,
        at: frame.at.into(),
        front: written(-frame.axes.column(1)),
        top: written(frame.z()),
        play: [0.0; 3],
        play_turn_deg: 0.0,
        mounted_on: None,
        flow: None,
        heat: None,
        heat_w: 0.0,
        limit_celsius: None,
        fan_speed: 1.0,
        pump_speed: 1.0,
        level_mm: None,
    }
}

/// A direction with every digit that it has.
fn written(axis: Vector3<f64>) -> Facing {
    let text = format!("{:?} {:?} {:?}", axis.x, axis.y, axis.z);
    text.parse().unwrap_or_else(|refusal| panic!("{text}: {refusal}"))
}
