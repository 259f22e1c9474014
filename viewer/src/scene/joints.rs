//! What is drawn for whoever makes a chain up: from where turns are counted at the ports, and the joint that stands open.

use super::cast::{Actor, Item, Look, Subject};
use super::facets::{Drawing, Sketch};
use super::shapes::{affine, rim};
use crate::desk::Stage;
use crate::look::palette::Tint;
use bevy::math::{Affine3A, Vec3};
use elbowroom::layout::PortId;
use std::sync::Arc;

/// A joint that stands open: the frames of its two sides, in world millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Open {
    /// Which joint: before the part of this number, from 0; the last lies before the second port.
    pub joint: usize,
    /// The two sides.
    pub sides: [Affine3A; 2],
}

/// A joint counts as open from this on, and up to this: what is farther away is not yet brought, in millimetres.
const OPEN_MM: std::ops::Range<f32> = 0.3..80.0;
/// Rings at an open joint are so much wider than a seat, and this wide where there is no port to tell, in millimetres.
const WIDER_MM: f32 = 2.0;
const RING_MM: f32 = 11.0;
/// Length of the arrow that marks where turns are counted from, and how far it stands off the face, in millimetres.
const ARROW_MM: f32 = 7.0;
const OFF_MM: f32 = 0.4;

impl Open {
    /// How far it is open, in millimetres.
    #[must_use]
    pub fn mm(&self) -> f32 {
        self.sides[0].translation.distance(self.sides[1].translation)
    }

    /// Between its two sides.
    #[must_use]
    pub fn middle(&self) -> Vec3 {
        Vec3::from(self.sides[0].translation).midpoint(self.sides[1].translation.into())
    }
}

/// The joints of the chain that stand open at a moment, between things that are there.
#[must_use]
pub fn open(subject: &Subject, stage: &Stage) -> Vec<Open> {
    let (Some(gap), Some(chain)) = (subject.gap, &subject.chain) else { return Vec::new() };
    let port = |id: PortId| {
        let port = subject.layout.port_by_id(id)?;
        let held = stage.held.iter().find(|held| held.body == port.body.index());
        Some(held.map_or(Affine3A::IDENTITY, |held| affine(&held.by)) * affine(&port.pose))
    };
    // What is before each joint, and what is after it.
    let mut before = vec![port(gap.from)];
    let mut after = Vec::new();
    for (part, staged) in chain.parts.iter().zip(&stage.parts) {
        let ends = subject.catalog.fitting(&part.fitting).filter(|_| staged.shown);
        let ends = ends.map(|fitting| fitting.end_frames(staged.stretch_mm));
        let end = |index: usize| Some(affine(&(staged.pose * ends.as_ref()?.get(index)?)));
        after.push(end(part.entry));
        before.push(1_usize.checked_sub(part.entry).and_then(end));
    }
    after.push(port(gap.to));
    let joints = before.into_iter().zip(after).enumerate();
    let open = joints.filter_map(|(joint, (before, after))| Some(Open { joint, sides: [before?, after?] }));
    open.filter(|open| OPEN_MM.contains(&open.mm())).collect()
}

/// Rings at both sides of each open joint, and a line between them.
pub(super) fn joints(actors: &mut Vec<Actor>, subject: &Subject, stage: &Stage) {
    for open in open(subject, stage) {
        let rings =
            open.sides.iter().flat_map(|side| rim(RING_MM, 0.0).map(|edge| edge.map(|at| side.transform_point3(at))));
        let mut edges: Vec<[Vec3; 2]> = rings.collect();
        edges.push(open.sides.map(|side| side.translation.into()));
        add(actors, Item::Joint(open.joint), "open joint", edges, Affine3A::IDENTITY);
    }
}

/// At each port of the gap an arrow to its axis from where turns are counted.
pub(super) fn zeros(actors: &mut Vec<Actor>, subject: &Subject, held: impl Fn(usize) -> Affine3A) {
    for id in subject.gap.iter().flat_map(|gap| [gap.from, gap.to]) {
        let Some(port) = subject.layout.port_by_id(id) else { continue };
        let tip = Vec3::new(port.seat_mm as f32 / 2.0 + WIDER_MM / 2.0, 0.0, OFF_MM);
        let tail = tip + Vec3::X * ARROW_MM;
        let barb = |side: f32| [tip, tip + Vec3::new(ARROW_MM * 0.4, side * ARROW_MM * 0.25, 0.0)];
        let edges = vec![[tip, tail], barb(1.0), barb(-1.0)];
        let pose = held(port.body.index()) * affine(&port.pose);
        add(actors, Item::Zero(id.index()), "turns are counted from here", edges, pose);
    }
}

/// Where the words at a port's zero stand: at the end of its arrow.
#[must_use]
pub fn zero_at(actor: &Actor) -> Option<Vec3> {
    matches!(actor.item, Item::Zero(_))
        .then(|| actor.drawing.edges.first())?
        .map(|edge| actor.pose.transform_point3(edge[1]))
}

fn add(actors: &mut Vec<Actor>, item: Item, name: &str, edges: Vec<[Vec3; 2]>, pose: Affine3A) {
    let drawing = Arc::new(Sketch::new(Drawing { pieces: Vec::new(), edges }));
    actors.push(Actor { item, name: name.to_owned(), drawing, pose, look: Look::plain(Tint::Sign) });
}
