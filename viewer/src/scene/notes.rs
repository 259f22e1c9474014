//! What is written into the scene: names of components, depths of overlap, and least clearances as dimension lines.
//! Every number is the solver's.

use super::cast::{Actor, Item, Near, Subject, bounds};
use super::facets::Cut;
use super::joints;
use super::shapes::vec3;
use crate::desk::Stage;
use crate::look::Show;
use bevy::math::Vec3;
use elbowroom::{
    bridge::Chain,
    geometry::State,
    report::text::labels::{depth, in_the_way, millimetres, moved},
};

/// Something written at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What it is about.
    pub kind: Kind,
    /// The place that is written about, in world millimetres.
    pub at: Vec3,
    /// The words.
    pub text: String,
    /// The line that is dimensioned, if it is one.
    pub line: Option<[Vec3; 2]>,
    /// A thing that is named, and other places of it where the name can stand when `at` is hidden by something else.
    pub named: Option<(Item, Vec<Vec3>)>,
}

/// What a note is about; the more urgent comes first and gets its room first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Two bodies overlap, or one is in the way.
    Overlap,
    /// A distance.
    Dimension,
    /// Two bodies touch.
    Touch,
    /// What would stand if something were different.
    Near,
    /// From where turns are counted.
    Zero,
    /// The name of a component at one of the chain's ends.
    End,
    /// The name of any other component.
    Name,
}

/// The notes of a scene, most urgent first.
#[must_use]
pub fn notes(subject: &Subject, stage: &Stage, actors: &[&Actor], show: &Show) -> Vec<Note> {
    let mut notes = Vec::new();
    let shown = |name: &str| actors.iter().any(|actor| matches!(actor.item, Item::Body(_)) && actor.name == name);
    if show.dimensions {
        for meeting in subject.findings.meetings.iter().filter(|meeting| shown(&meeting.a) && shown(&meeting.b)) {
            let separation = &meeting.worst.separation;
            let (kind, text) = match separation.state {
                State::Clear => continue,
                State::Touching => (Kind::Touch, format!("{} and {} touch", meeting.a, meeting.b)),
                State::Inside => {
                    let text =
                        format!("{} and {}, one inside the other, {} mm deep", meeting.a, meeting.b, depth(meeting));
                    (Kind::Overlap, text)
                }
                State::Overlapping => {
                    (Kind::Overlap, format!("{} in {}, {} mm deep", meeting.a, meeting.b, depth(meeting)))
                }
            };
            let line = [&separation.on_a, &separation.on_b].map(|point| vec3(&point.coords));
            notes.push(Note { kind, at: line[0].midpoint(line[1]), text, line: Some(line), named: None });
        }
        for gap in &subject.clashes {
            let pieces = actors.iter().copied().filter(|actor| matches!(actor.item, Item::Other(of, ..) if of == *gap));
            if let Some([low, high]) = bounds(pieces) {
                let text = format!("clashes with the chain of gap {}", gap + 1);
                notes.push(Note { kind: Kind::Overlap, at: low.midpoint(high), text, line: None, named: None });
            }
        }
        if let Some(near) = &subject.near {
            of_near(&mut notes, near, actors);
        }
        for open in joints::open(subject, stage) {
            let text = format!("open by {} mm", millimetres(open.mm().into()));
            notes.push(Note { kind: Kind::Dimension, at: open.middle(), text, line: None, named: None });
        }
        let from = subject.gap.map(|gap| Item::Zero(gap.from.index()));
        for actor in actors.iter().filter(|actor| Some(actor.item) == from) {
            if let Some(at) = joints::zero_at(actor) {
                notes.push(Note { kind: Kind::Zero, at, text: "zero".to_owned(), line: None, named: None });
            }
        }
        // The clearance is that of the chain as it stands when all is done.
        let done = subject.chain.as_ref().filter(|chain| is_home(chain, stage));
        let clearance = done.and_then(|chain| chain.clearance.as_ref());
        if let Some(clearance) = clearance {
            let line = [clearance.on_chain, clearance.on_body].map(|at| vec3(&at.into()));
            let text = format!("{} mm to {}", millimetres(clearance.mm), clearance.body);
            notes.push(Note {
                kind: Kind::Dimension,
                at: line[0].midpoint(line[1]),
                text,
                line: Some(line),
                named: None,
            });
        }
    }
    if show.names {
        let ends: Vec<usize> = (subject.gap.iter().flat_map(|gap| [gap.from, gap.to]))
            .filter_map(|port| subject.layout.port_by_id(port).map(|port| port.body.index()))
            .collect();
        let panels = subject.layout.bodies().iter().map(|body| body.kind != elbowroom::layout::BodyKind::Component);
        let panels: Vec<bool> = panels.collect();
        for actor in actors {
            let Item::Body(index) = actor.item else { continue };
            if panels.get(index) != Some(&false) {
                continue;
            }
            let kind = if ends.contains(&index) { Kind::End } else { Kind::Name };
            // With everything see-through, the names of all that stands behind would only be in the way.
            if show.only_chain && kind == Kind::Name {
                continue;
            }
            let Some([low, high]) = bounds([*actor]) else { continue };
            let at = low.midpoint(high);
            let spots = spots(low, high);
            let named = (!show.only_chain).then_some((actor.item, spots));
            notes.push(Note { kind, at, text: actor.name.clone(), line: None, named });
        }
    }
    if let Some(cut) = show.section.map(|section| section.cut()) {
        notes.retain_mut(|note| is_left(note, &cut));
    }
    notes.sort_by_key(|note| note.kind);
    notes
}

/// Whether a cut leaves what a note is about; names keep the places that are left.
fn is_left(note: &mut Note, cut: &Cut) -> bool {
    let left = |at: Vec3| cut.beyond(at) <= 0.0;
    match &mut note.named {
        Some((_, spots)) => {
            spots.retain(|spot| left(*spot));
            !spots.is_empty()
        }
        None => left(note.at),
    }
}

/// What there is to say of what comes nearest: how far the component moves, or what is in the way and where.
fn of_near(notes: &mut Vec<Note>, near: &Near, actors: &[&Actor]) {
    let middle = |item: Item| {
        let actor = actors.iter().find(|actor| actor.item == item)?;
        bounds([*actor]).map(|[low, high]| low.midpoint(high))
    };
    if let Some(by) = &near.by {
        let index = by.body.index();
        let ends = (middle(Item::Body(index)), middle(Item::Moved(index)));
        if let (Some(from), Some(to)) = ends {
            let name = actors.iter().find(|actor| actor.item == Item::Body(index)).map_or("", |actor| &actor.name);
            let (text, line) = (format!("move {}", moved(name, &near.carried, by)), Some([from, to]));
            notes.push(Note { kind: Kind::Near, at: to, text, line, named: None });
        }
    }
    let clearance = near.chain.clearance.as_ref().filter(|_| near.by.is_none());
    for blocker in &near.blockers {
        let body = |actor: &&&Actor| matches!(actor.item, Item::Body(_)) && Some(&actor.name) == blocker.body.as_ref();
        let Some([low, high]) = actors.iter().find(body).and_then(|actor| bounds([*actor])) else { continue };
        let worst = clearance.filter(|worst| Some(&worst.body) == blocker.body.as_ref());
        let line = worst.map(|worst| [worst.on_chain, worst.on_body].map(|at| vec3(&at.into())));
        let at = line.map_or(low.midpoint(high), |[from, to]| from.midpoint(to));
        notes.push(Note { kind: Kind::Overlap, at, text: in_the_way(blocker), line, named: None });
    }
}

/// Whether every part stands where it belongs.
fn is_home(chain: &Chain, stage: &Stage) -> bool {
    const HOME_MM: f64 = 1e-3;
    stage.held.is_empty()
        && stage.parts.len() == chain.parts.len()
        && stage.parts.iter().zip(&chain.parts).all(|(staged, part)| {
            let apart = staged.pose.inverse() * part.pose;
            staged.shown
                && apart.translation.vector.norm() < HOME_MM
                && apart.rotation.angle() < HOME_MM
                && (staged.stretch_mm - part.stretch_mm).abs() < HOME_MM
        })
}

/// Places of a box at which a name can stand: the middle, then a grid that thins out towards the corners.
fn spots(low: Vec3, high: Vec3) -> Vec<Vec3> {
    const STEPS: [f32; 5] = [0.5, 0.25, 0.75, 0.08, 0.92];
    let mut shares: Vec<Vec3> = (STEPS.iter())
        .flat_map(|x| STEPS.iter().flat_map(move |y| STEPS.iter().map(move |z| Vec3::new(*x, *y, *z))))
        .collect();
    shares.sort_by(|a, b| (a - 0.5).length_squared().total_cmp(&(b - 0.5).length_squared()));
    shares.into_iter().map(|share| low + (high - low) * share).collect()
}
