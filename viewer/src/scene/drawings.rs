//! Drawings that are kept from one moment to the next, because most of what stands on stage stays the same.

use super::facets::{Drawing, Sketch};
use super::fitting::{DrawnFitting, fitting};
use super::shapes::{affine, drawn};
use super::{port, sheet::sheet};
use bevy::math::{Affine3A, Vec3};
use elbowroom::{
    catalog::FittingDef,
    geometry::Solid,
    layout::{Body, BodyKind, Layout},
};
use std::{collections::HashMap, sync::Arc};

/// The drawings.
#[derive(Clone, Debug, Default)]
pub struct Drawings {
    machine: Option<Arc<Machine>>,
    bodies: HashMap<String, (Body, Arc<Sketch>)>,
    ports: HashMap<String, (elbowroom::layout::Port, Arc<Sketch>)>,
    parts: HashMap<(String, u64), Arc<PartSketches>>,
}

/// The drawings of a machine that has not changed since, in the order of its bodies and ports.
#[derive(Debug)]
pub(super) struct Machine {
    layout: Arc<Layout>,
    pub(super) bodies: Vec<Arc<Sketch>>,
    pub(super) ports: Vec<Arc<Sketch>>,
    /// How far panels are lifted that come off, in millimetres.
    pub(super) lift_mm: f32,
    /// For each body that comes off, the lines from where it is lifted to, in its own frame, to where it belongs.
    pub(super) lifts: Vec<Option<Arc<Sketch>>>,
}

/// The drawings of a fitting: its body, its collars, and the frames that those turn about.
#[derive(Debug)]
pub(super) struct PartSketches {
    pub(super) body: Arc<Sketch>,
    pub(super) collars: [Arc<Sketch>; 2],
    pub(super) ends: [Affine3A; 2],
}

impl Drawings {
    /// The drawings of a whole machine; worked out only when it is another one than before.
    pub(super) fn machine(&mut self, layout: &Arc<Layout>) -> Arc<Machine> {
        if let Some(machine) = self.machine.as_ref().filter(|machine| Arc::ptr_eq(&machine.layout, layout)) {
            return machine.clone();
        }
        let bodies: Vec<Arc<Sketch>> = layout.bodies().iter().map(|body| self.body(body)).collect();
        let ports = layout.ports().iter().map(|port| self.port(port)).collect();
        let lift_mm = lift_mm(layout);
        let lifts = layout.bodies().iter().zip(&bodies).map(|(body, drawing)| {
            (body.kind == BodyKind::Panel { removable: true }).then(|| Arc::new(Sketch::new(lift(drawing, lift_mm))))
        });
        let lifts = lifts.collect();
        self.machine.insert(Arc::new(Machine { layout: layout.clone(), bodies, ports, lift_mm, lifts })).clone()
    }

    fn body(&mut self, body: &Body) -> Arc<Sketch> {
        if let Some((known, drawing)) = self.bodies.get(&body.name)
            && same_shape(known, body)
        {
            return drawing.clone();
        }
        let drawing = Arc::new(Sketch::new(match body.kind {
            BodyKind::Panel { .. } => sheet(body),
            BodyKind::Component => component(body),
        }));
        self.bodies.insert(body.name.clone(), (body.clone(), drawing.clone()));
        drawing
    }

    fn port(&mut self, port: &elbowroom::layout::Port) -> Arc<Sketch> {
        let same = |known: &elbowroom::layout::Port| {
            (known.thread, known.gender, known.thread_length_mm, known.seat_mm)
                == (port.thread, port.gender, port.thread_length_mm, port.seat_mm)
        };
        if let Some((_, drawing)) = self.ports.get(&port.name).filter(|(known, _)| same(known)) {
            return drawing.clone();
        }
        let mut drawing = port::port(port);
        drawing.edges.extend(port::axis());
        let drawing = Arc::new(Sketch::new(drawing));
        self.ports.insert(port.name.clone(), (port.clone(), drawing.clone()));
        drawing
    }

    pub(super) fn part(&mut self, part: &FittingDef, stretch_mm: f64) -> Arc<PartSketches> {
        // Links that are pushed in look different at every moment; the catalog's other parts are few.
        if self.parts.len() > MOST_PARTS {
            self.parts.clear();
        }
        let draw = || {
            let DrawnFitting { body, collars, ends } = fitting(part, stretch_mm);
            let share = |drawing| Arc::new(Sketch::new(drawing));
            Arc::new(PartSketches { body: share(body), collars: collars.map(share), ends })
        };
        self.parts.entry((part.id.clone(), stretch_mm.to_bits())).or_insert_with(draw).clone()
    }
}

/// How far panels are lifted that come off: far enough to see in, near enough to see what they close.
fn lift_mm(layout: &Layout) -> f32 {
    const SHARE: f64 = 0.25;
    let all = layout.bodies().iter().flat_map(|body| &body.solids).map(Solid::bounds);
    let longest = all.reduce(|one, other| one.union(&other)).map_or(0.0, |all| (all.max - all.min).max());
    (longest * SHARE) as f32
}

/// Lines from the corners of a sheet, in its own frame, to where it belongs: so far against its outer side.
fn lift(sheet: &Sketch, lift_mm: f32) -> Drawing {
    let Some([low, high]) = sheet.around() else { return Drawing::default() };
    let corners = [low.x, high.x].into_iter().flat_map(|x| [low.y, high.y].map(|y| Vec3::new(x, y, low.z)));
    Drawing { pieces: Vec::new(), edges: corners.map(|corner| [corner, corner - Vec3::Z * lift_mm]).collect() }
}

/// Most drawings of parts that are kept.
const MOST_PARTS: usize = 500;

/// Whether two bodies are the same seen from their own frames, wherever they stand.
fn same_shape(a: &Body, b: &Body) -> bool {
    const SAME: f64 = 1e-6;
    let (from_a, from_b) = (a.pose.inverse(), b.pose.inverse());
    a.kind == b.kind
        && a.solids.len() == b.solids.len()
        && a.solids.iter().zip(&b.solids).all(|(one, other)| {
            let apart = (from_a * one.pose()).inverse() * (from_b * other.pose());
            apart.translation.vector.norm() < SAME && apart.rotation.angle() < SAME && one.shape() == other.shape()
        })
}

fn component(body: &Body) -> Drawing {
    let inverse = body.pose.inverse();
    let mut drawing = Drawing::default();
    for solid in &body.solids {
        drawing.add(drawn(&solid.shape()).moved(&affine(&(inverse * solid.pose()))));
    }
    drawing
}
