//! Chains on stage: the one that is looked at, those that stand in other gaps, and one that would stand if something
//! were different.

use super::cast::{Actor, Item, Look, Near, Subject};
use super::drawings::Drawings;
use super::facets::{Drawing, Sketch};
use super::fitting::centreline;
use super::marks::Mark;
use super::shapes::affine;
use crate::desk::Stage;
use crate::look::{Show, palette::Tint};
use bevy::math::{Affine3A, Vec3};
use elbowroom::bridge::Chain;
use std::sync::Arc;

/// The chain that is looked at, where its parts stand at the moment, with the path of the coolant.
pub(super) fn looked_at(
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
        let mark = (!subject.clashes.is_empty()).then_some(Mark::Overlapping);
        let look = Look { mark, ..Look::plain(Tint::Part(staged.part % 2 == 1)) };
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
        let look = Look::plain(Tint::Path);
        actors.push(Actor {
            item: Item::Path,
            name: "coolant path".to_owned(),
            drawing,
            pose: Affine3A::IDENTITY,
            look,
        });
    }
}

/// The chains that stand in other gaps.
pub(super) fn others(actors: &mut Vec<Actor>, subject: &Subject, show: &Show, drawings: &mut Drawings) {
    for (gap, chain) in &subject.others {
        for (index, part) in chain.parts.iter().enumerate() {
            let Some(definition) = subject.catalog.fitting(&part.fitting) else { continue };
            let drawn = drawings.part(definition, part.stretch_mm);
            let faded = show.faded.contains(&Item::Other(*gap, 0, 0));
            let mark = subject.clashes.contains(gap).then_some(Mark::Overlapping);
            let look = Look { ghost: show.only_chain, faded, mark, ..Look::plain(Tint::Other(index % 2 == 1)) };
            for (piece, drawing) in [&drawn.body, &drawn.collars[0], &drawn.collars[1]].into_iter().enumerate() {
                if !drawing.pieces.is_empty() {
                    let (item, name) = (Item::Other(*gap, index, piece), definition.name.clone());
                    actors.push(Actor { item, name, drawing: drawing.clone(), pose: affine(&part.pose), look });
                }
            }
        }
    }
}

/// What comes nearest to bridging the gap: its chain, and the component that would have to move, where it would stand.
pub(super) fn near(actors: &mut Vec<Actor>, subject: &Subject, near: &Near, drawings: &mut Drawings) {
    let look = Look::plain(Tint::Near);
    for (index, part) in near.chain.parts.iter().enumerate() {
        let lacking = near.lacks.as_ref().filter(|lacking| lacking.id == part.fitting);
        let Some(definition) = lacking.or_else(|| subject.catalog.fitting(&part.fitting)) else { continue };
        let drawn = drawings.part(definition, part.stretch_mm);
        for (piece, drawing) in [&drawn.body, &drawn.collars[0], &drawn.collars[1]].into_iter().enumerate() {
            if !drawing.pieces.is_empty() {
                let (item, name) = (Item::Near(index, piece), format!("{} (would fit)", definition.name));
                actors.push(Actor { item, name, drawing: drawing.clone(), pose: affine(&part.pose), look });
            }
        }
    }
    let Some(moved) = near.by.and_then(|by| subject.layout.moved(&by)) else { return };
    let machine = drawings.machine(&subject.layout);
    let bodies = subject.layout.bodies().iter().zip(moved.bodies()).zip(&machine.bodies).enumerate();
    for (index, ((now, then), drawing)) in bodies.filter(|(_, ((now, then), _))| now.pose != then.pose) {
        let (item, name) = (Item::Moved(index), format!("{} (moved)", now.name));
        let look = Look { ghost: true, ..Look::plain(Tint::Moved) };
        actors.push(Actor { item, name, drawing: drawing.clone(), pose: affine(&then.pose), look });
    }
}
