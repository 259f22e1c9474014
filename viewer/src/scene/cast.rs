//! Everything that is on stage at one moment: what is drawn, where, and how it is made to look. Plain data, so that
//! what a window shows, what a picture holds and what an exported model holds are the same.

use super::facets::{Drawing, Sketch};
use super::fitting::{DrawnFitting, centreline, fitting};
use super::shapes::{affine, drawn};
use super::{port, sheet::sheet};
use crate::desk::Stage;
use crate::look::{
    Covers, Show,
    palette::{COMPONENT_TONES, Tint},
};
use bevy::{
    ecs::component::Component,
    math::{Affine3A, Vec3},
};
use elbowroom::{
    bridge::Chain,
    catalog::{Catalog, FittingDef},
    interference::Interference,
    layout::{Body, BodyKind, Gap, Layout},
};
use std::{
    collections::{HashMap, HashSet},
    sync::Arc,
};

/// What there is to draw.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The machine.
    pub layout: Arc<Layout>,
    /// Where its fittings come from.
    pub catalog: Arc<Catalog>,
    /// The gap that is looked at.
    pub gap: Option<Gap>,
    /// The chain that is looked at.
    pub chain: Option<Chain>,
    /// What overlaps.
    pub findings: Arc<Interference>,
}

/// Which thing of the subject something is.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Item {
    /// A panel or component, by its place in the layout.
    Body(usize),
    /// A port, by its place in the layout.
    Port(usize),
    /// A part of the chain.
    Part(usize),
    /// The collar of a part at one of its ends.
    Collar(usize, usize),
    /// The path of the coolant.
    Path,
}

/// Something on stage.
#[derive(Clone, Debug)]
pub struct Actor {
    /// What it is.
    pub item: Item,
    /// What people call it.
    pub name: String,
    /// How it is drawn, in its own frame.
    pub drawing: Arc<Sketch>,
    /// Its frame in world millimetres.
    pub pose: Affine3A,
    /// How it is made to look.
    pub look: Look,
}

/// How something is made to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Look {
    /// Its colour.
    pub tint: Tint,
    /// Whether one looks through it.
    pub ghost: bool,
    /// Whether it is hatched and outlined, because it overlaps something.
    pub hatched: bool,
}

/// Drawings that are kept from one moment to the next, because most of what stands there stays the same.
#[derive(Clone, Debug, Default)]
pub struct Drawings {
    machine: Option<Arc<Machine>>,
    bodies: HashMap<String, (Body, Arc<Sketch>)>,
    ports: HashMap<String, (elbowroom::layout::Port, Arc<Sketch>)>,
    parts: HashMap<(String, u64), Arc<PartSketches>>,
}

/// The drawings of a machine that has not changed since, in the order of its bodies and ports.
#[derive(Debug)]
struct Machine {
    layout: Arc<Layout>,
    bodies: Vec<Arc<Sketch>>,
    ports: Vec<Arc<Sketch>>,
}

/// The drawings of a fitting: its body, its collars, and the frames that those turn about.
#[derive(Debug)]
struct PartSketches {
    body: Arc<Sketch>,
    collars: [Arc<Sketch>; 2],
    ends: [Affine3A; 2],
}

/// The whole cast.
#[must_use]
pub fn cast(subject: &Subject, stage: &Stage, show: &Show, drawings: &mut Drawings) -> Vec<Actor> {
    let mut actors = Vec::new();
    let layout = &subject.layout;
    let machine = drawings.machine(layout);
    let overlapping: HashSet<&str> =
        subject.findings.overlaps().flat_map(|meeting| [meeting.a.as_str(), meeting.b.as_str()]).collect();
    let held = |body: usize| {
        stage.held.iter().find(|held| held.body == body).map_or(Affine3A::IDENTITY, |held| affine(&held.by))
    };
    for (index, (body, drawing)) in layout.bodies().iter().zip(&machine.bodies).enumerate() {
        if !show.shows(Item::Body(index)) {
            continue;
        }
        let pose = held(index) * affine(&body.pose);
        let tint = match body.kind {
            BodyKind::Component => Tint::Component((index % usize::from(COMPONENT_TONES)) as u8),
            BodyKind::Panel { removable: false } => Tint::Sheet,
            BodyKind::Panel { removable: true } => match show.covers {
                Covers::Off => continue,
                Covers::On => Tint::Cover,
            },
        };
        let look = Look { tint, ghost: show.only_chain, hatched: overlapping.contains(body.name.as_str()) };
        let drawing = drawing.clone();
        actors.push(Actor { item: Item::Body(index), name: body.name.clone(), drawing, pose, look });
    }
    for (index, (port, drawing)) in layout.ports().iter().zip(&machine.ports).enumerate() {
        if !show.ports || !show.shows(Item::Body(port.body.index())) {
            continue;
        }
        let pose = held(port.body.index()) * affine(&port.pose);
        let at_gap = subject.gap.is_some_and(|gap| [gap.from.index(), gap.to.index()].contains(&index));
        let look = Look { tint: Tint::Port, ghost: show.only_chain && !at_gap, hatched: false };
        let drawing = drawing.clone();
        actors.push(Actor { item: Item::Port(index), name: port.name.clone(), drawing, pose, look });
    }
    if let Some(chain) = &subject.chain {
        chain_cast(&mut actors, subject, chain, stage, show, drawings);
    }
    actors
}

/// The least box around a cast, in world millimetres; `None` for an empty stage.
#[must_use]
pub fn bounds<'a>(actors: impl IntoIterator<Item = &'a Actor>) -> Option<[Vec3; 2]> {
    let boxes = actors.into_iter().filter_map(|actor| {
        let [low, high] = actor.drawing.around()?;
        let corners = (0..8).map(|bits| {
            let pick = |axis: usize| if bits >> axis & 1 == 1 { high[axis] } else { low[axis] };
            actor.pose.transform_point3(Vec3::new(pick(0), pick(1), pick(2)))
        });
        corners.fold(None, |all: Option<[Vec3; 2]>, at| {
            Some(all.map_or([at, at], |[low, high]| [low.min(at), high.max(at)]))
        })
    });
    boxes.reduce(|all, next| [all[0].min(next[0]), all[1].max(next[1])])
}

/// The least box around the ports of the gap that is looked at and its chain, in world millimetres.
#[must_use]
pub fn gap_bounds(subject: &Subject, actors: &[Actor]) -> Option<[Vec3; 2]> {
    let gap = subject.gap?;
    let belongs = |item: Item| match item {
        Item::Port(port) => port == gap.from.index() || port == gap.to.index(),
        Item::Part(_) | Item::Collar(..) => true,
        Item::Body(_) | Item::Path => false,
    };
    bounds(actors.iter().filter(|actor| belongs(actor.item)))
}

fn chain_cast(
    actors: &mut Vec<Actor>,
    subject: &Subject,
    chain: &Chain,
    stage: &Stage,
    show: &Show,
    drawings: &mut Drawings,
) {
    let mut path: Vec<[Vec3; 2]> = Vec::new();
    for staged in stage.parts.iter().filter(|staged| staged.shown && show.shows(Item::Part(staged.part))) {
        let Some(part) = chain.parts.get(staged.part) else { continue };
        let Some(definition) = subject.catalog.fitting(&part.fitting) else { continue };
        let drawn_part = drawings.part(definition, staged.stretch_mm);
        let pose = affine(&staged.pose);
        let look = Look { tint: Tint::Part(staged.part % 2 == 1), ghost: false, hatched: false };
        let mut actor = |item: Item, drawing: &Arc<Sketch>, pose: Affine3A| {
            if !drawing.pieces.is_empty() {
                actors.push(Actor { item, name: definition.name.clone(), drawing: drawing.clone(), pose, look });
            }
        };
        actor(Item::Part(staged.part), &drawn_part.body, pose);
        for end in [0, 1] {
            let frame = drawn_part.ends[end];
            let turn = frame * Affine3A::from_rotation_z(staged.collar_rad[end] as f32) * frame.inverse();
            actor(Item::Collar(staged.part, end), &drawn_part.collars[end], pose * turn);
        }
        let line = centreline(definition, staged.stretch_mm);
        path.extend(line.windows(2).map(|two| [two[0], two[1]].map(|at| pose.transform_point3(at))));
    }
    if show.path && !path.is_empty() {
        let drawing = Arc::new(Sketch::new(Drawing { pieces: Vec::new(), edges: path }));
        let look = Look { tint: Tint::Path, ghost: false, hatched: false };
        actors.push(Actor {
            item: Item::Path,
            name: "coolant path".to_owned(),
            drawing,
            pose: Affine3A::IDENTITY,
            look,
        });
    }
}

impl Drawings {
    /// The drawings of a whole machine; worked out only when it is another one than before.
    fn machine(&mut self, layout: &Arc<Layout>) -> Arc<Machine> {
        if let Some(machine) = self.machine.as_ref().filter(|machine| Arc::ptr_eq(&machine.layout, layout)) {
            return machine.clone();
        }
        let bodies = layout.bodies().iter().map(|body| self.body(body)).collect();
        let ports = layout.ports().iter().map(|port| self.port(port)).collect();
        self.machine.insert(Arc::new(Machine { layout: layout.clone(), bodies, ports })).clone()
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

    fn part(&mut self, part: &FittingDef, stretch_mm: f64) -> Arc<PartSketches> {
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
