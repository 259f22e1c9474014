//! Measuring by pointer: `M`, then two clicks on faces or axes.

use super::Show;
use super::camera::Watch;
use super::controls::{PointerHeld, Room, in_scene, typing};
use super::lettering::Notes;
use super::measure::{Measuring, alone};
use super::pick::{pick, ray};
use crate::modifiers::commanding;
use crate::scene::{
    Troupe,
    notes::{Kind, Note},
};
use bevy::{prelude::*, window::PrimaryWindow};
use bevy_egui::input::EguiWantsInput;

/// Measures between what is clicked, while measuring is on.
#[derive(Debug)]
pub struct MeasuringPlugin;

/// Whether clicks measure, and what was picked.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
pub struct Ruler {
    /// Whether clicks measure.
    pub on: bool,
    /// What was picked.
    pub measuring: Measuring,
}

impl Plugin for MeasuringPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Ruler>()
            .add_systems(Update, (switch.run_if(not(typing)), click, write.run_if(resource_changed::<Ruler>)).chain());
    }
}

fn switch(pressed: Res<ButtonInput<KeyCode>>, mut ruler: ResMut<Ruler>) {
    if pressed.just_pressed(KeyCode::KeyM) && !commanding(&pressed) {
        *ruler = Ruler { on: !ruler.on, measuring: Measuring::default() };
    }
    if pressed.just_pressed(KeyCode::Escape) && ruler.on {
        *ruler = Ruler::default();
    }
}

#[expect(clippy::too_many_arguments, reason = "each is a thing that the system is given by name")]
fn click(
    buttons: Res<ButtonInput<MouseButton>>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    room: Res<Room>,
    panels: Res<EguiWantsInput>,
    held: Res<PointerHeld>,
    watch: Res<Watch>,
    troupe: Res<Troupe>,
    show: Res<Show>,
    mut ruler: ResMut<Ruler>,
) {
    if !ruler.on || held.0 || !buttons.just_pressed(MouseButton::Left) {
        return;
    }
    let Some(place) = window.and_then(|window| in_scene(&window, &room, &panels)) else { return };
    let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + watch.0.target.distance(low));
    let cut = show.section.map(|section| section.cut());
    if let Some(hit) = pick(troupe.actors(), &ray(&watch.0, place, reach), cut.as_ref()) {
        ruler.measuring.take(hit);
    }
}

fn write(ruler: Res<Ruler>, mut notes: ResMut<Notes>) {
    notes.measured = notes_of(&ruler.measuring);
}

/// The notes of what was measured, or of what is picked so far.
#[must_use]
pub fn notes_of(measuring: &Measuring) -> Vec<Note> {
    match measuring.measured() {
        Some(found) => {
            vec![Note {
                kind: Kind::Dimension,
                at: found.line[0].midpoint(found.line[1]),
                text: found.text,
                line: Some(found.line),
                named: None,
            }]
        }
        None => (measuring.picks())
            .map(|hit| Note { kind: Kind::Dimension, at: hit.at, text: alone(&hit), line: None, named: None })
            .collect(),
    }
}
