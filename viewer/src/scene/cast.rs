//! Everything that is on stage at one moment: what is drawn, where, and how it is made to look. Plain data, so that
//! what a window shows, what a picture holds and what an exported model holds are the same.

use super::chains;
use super::drawings::Drawings;
use super::facets::Sketch;
use super::joints;
use super::marks::{Mark, marks};
use super::shapes::affine;
use crate::desk::{Stage, view::Covers};
use crate::look::{
    Show,
    palette::{COMPONENT_TONES, Tint},
};
use bevy::{
    ecs::component::Component,
    math::{Affine3A, Vec3},
};
use elbowroom::{
    bridge::{Chain, InTheWay},
    catalog::{Catalog, FittingDef},
    interference::Interference,
    layout::{BodyKind, Gap, Layout, Move},
};
use std::sync::Arc;

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
    /// The chains that stand in other gaps, with the place of the gap in the layout.
    pub others: Vec<(usize, Chain)>,
    /// Gaps whose chain the one that is looked at stands in the way of.
    pub clashes: Vec<usize>,
    /// What comes nearest to bridging the gap that is looked at, where nothing does.
    pub near: Option<Near>,
    /// What overlaps.
    pub findings: Arc<Interference>,
}

/// A chain that would stand if something were different.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// The chain, where it would stand.
    pub chain: Chain,
    /// The move after which it stands.
    pub by: Option<Move>,
    /// Components that travel with the one that moves.
    pub carried: Vec<String>,
    /// What is in its way where everything stands now.
    pub blockers: Vec<InTheWay>,
    /// A part of it that the catalog lacks.
    pub lacks: Option<FittingDef>,
}

/// Which thing of the subject something is.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Item {
    /// A panel or component, by its place in the layout.
    Body(usize),
    /// The lines from a panel that is lifted to where it belongs.
    Lift(usize),
    /// A port, by its place in the layout.
    Port(usize),
    /// A part of the chain.
    Part(usize),
    /// The collar of a part at one of its ends.
    Collar(usize, usize),
    /// From where turns are counted at a port.
    Zero(usize),
    /// A joint that stands open, by the part that it lies before.
    Joint(usize),
    /// The path of the coolant.
    Path,
    /// A piece of a part of a chain in another gap: gap, part, and 0 for the body or an end and one for its collar.
    Other(usize, usize, usize),
    /// A piece of a part of a chain that would stand if something were different.
    Near(usize, usize),
    /// A component where it would have to stand.
    Moved(usize),
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
    /// Whether one looks through it, and cannot pick it.
    pub ghost: bool,
    /// Whether it stands before the chain that is looked at, and lets it be seen.
    pub faded: bool,
    /// What it is hatched and outlined for.
    pub mark: Option<Mark>,
}

impl Look {
    /// A colour, and nothing else.
    #[must_use]
    pub fn plain(tint: Tint) -> Self {
        Self { tint, ghost: false, faded: false, mark: None }
    }
}

/// The whole cast.
#[must_use]
pub fn cast(subject: &Subject, stage: &Stage, show: &Show, drawings: &mut Drawings) -> Vec<Actor> {
    let mut actors = Vec::new();
    let layout = &subject.layout;
    let machine = drawings.machine(layout);
    let marks = marks(subject);
    let held = |body: usize| {
        stage.held.iter().find(|held| held.body == body).map_or(Affine3A::IDENTITY, |held| affine(&held.by))
    };
    for (index, (body, drawing)) in layout.bodies().iter().zip(&machine.bodies).enumerate() {
        if !show.shows(Item::Body(index)) {
            continue;
        }
        let mut pose = held(index) * affine(&body.pose);
        let tint = match body.kind {
            BodyKind::Component => Tint::Component((index % usize::from(COMPONENT_TONES)) as u8),
            BodyKind::Panel { removable: false } => Tint::Sheet,
            BodyKind::Panel { removable: true } => match show.covers {
                Covers::Off => continue,
                Covers::On => Tint::Cover,
                Covers::Lifted => {
                    pose *= Affine3A::from_translation(Vec3::Z * machine.lift_mm);
                    Tint::Cover
                }
            },
        };
        let faded = show.faded.contains(&Item::Body(index));
        let look = Look { tint, ghost: show.only_chain, faded, mark: marks.get(body.name.as_str()).copied() };
        let (name, drawing) = (body.name.clone(), drawing.clone());
        if let (Covers::Lifted, Some(lines)) = (show.covers, &machine.lifts[index]) {
            let name = format!("where {name} belongs");
            let look = Look { mark: None, ..look };
            actors.push(Actor { item: Item::Lift(index), name, drawing: lines.clone(), pose, look });
        }
        actors.push(Actor { item: Item::Body(index), name, drawing, pose, look });
    }
    for (index, (port, drawing)) in layout.ports().iter().zip(&machine.ports).enumerate() {
        if !show.ports || !show.shows(Item::Body(port.body.index())) {
            continue;
        }
        let pose = held(port.body.index()) * affine(&port.pose);
        let at_gap = subject.gap.is_some_and(|gap| [gap.from.index(), gap.to.index()].contains(&index));
        // With its body; and by itself where it stands before the chain.
        let body = Item::Body(port.body.index());
        let faded = show.faded.contains(&Item::Port(index)) || show.faded.contains(&body) && !at_gap;
        let look = Look { tint: Tint::Port, ghost: show.only_chain && !at_gap, faded, mark: None };
        let drawing = drawing.clone();
        actors.push(Actor { item: Item::Port(index), name: port.name.clone(), drawing, pose, look });
    }
    if show.ports {
        joints::zeros(&mut actors, subject, held);
    }
    joints::joints(&mut actors, subject, stage);
    if let Some(chain) = &subject.chain {
        chains::looked_at(&mut actors, subject, chain, stage, show, drawings);
    }
    chains::others(&mut actors, subject, show, drawings);
    if let Some(near) = &subject.near {
        chains::near(&mut actors, subject, near, drawings);
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
        Item::Part(_) | Item::Collar(..) | Item::Near(..) | Item::Moved(_) => true,
        Item::Body(_) | Item::Lift(_) | Item::Zero(_) | Item::Joint(_) | Item::Path | Item::Other(..) => false,
    };
    bounds(actors.iter().filter(|actor| belongs(actor.item)))
}
