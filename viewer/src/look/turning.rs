//! Keeps the chain in sight: choosing a gap turns the eye to a side from which its chain is seen, and what still stands
//! before it is faded.

use super::{
    Show,
    camera::Watch,
    controls::{Room, room_of},
    eye::Eye,
    seeing::{in_front, places, turned},
};
use crate::app::DeskResource;
use crate::scene::{OnStage, Troupe, present::Present};
use bevy::{
    prelude::*,
    window::{PrimaryWindow, RequestRedraw},
};

/// Turns the eye, and fades what stands before the chain.
#[derive(Debug)]
pub struct TurningPlugin;

impl Plugin for TurningPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(PostUpdate, (turn, fade).chain().after(Present));
    }
}

/// The gap that the eye was turned for, and while it still has to be, from where it looked when that gap was chosen.
#[derive(Default)]
struct Turn {
    gap: Option<usize>,
    due: Option<[f32; 2]>,
}

fn turn(
    desk: Res<DeskResource>,
    (troupe, show, room): (Res<Troupe>, Res<Show>, Res<Room>),
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    mut watch: ResMut<Watch>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut turn: Local<Turn>,
) {
    let desk = &desk.0;
    if desk.gap() != turn.gap {
        *turn = Turn { gap: desk.gap(), due: Some(side(&watch.0)) };
        // The scene follows in the next frame.
        redraw.write(RequestRedraw);
        return;
    }
    // Whoever turns the view while the chain is still being searched has chosen a side.
    turn.due = turn.due.filter(|then| *then == side(&watch.0));
    let Some(bounds) = troupe.bounds().filter(|_| turn.due.is_some()) else { return };
    let actors = troupe.actors();
    let places = places(&actors);
    if places.is_empty() || window.is_none() {
        return;
    }
    turn.due = None;
    let cut = show.section.map(|section| section.cut());
    let eye = watch.0;
    let mut wanted = turned(&eye, &actors, &places, cut.as_ref());
    if wanted == eye {
        return;
    }
    let aspect = window.map_or(1.5, |window| {
        let room = room_of(&window, &room);
        room.width() / room.height().max(1.0)
    });
    // Where everything was in view it stays so; else the chain comes into it.
    let mut whole = eye;
    whole.fit(bounds, aspect);
    let all_seen = eye.span_mm >= whole.span_mm * 0.98;
    let out_of_view = |at: &Vec3| {
        let place = wanted.on_screen(*at);
        place.is_none_or(|place| place.y.abs() > 0.5 || place.x.abs() > 0.5 * aspect)
    };
    if all_seen {
        wanted.fit(bounds, aspect);
    } else if places.iter().any(out_of_view) {
        let sum: Vec3 = places.iter().sum();
        wanted.target = sum / places.len() as f32;
    }
    watch.0 = wanted;
    redraw.write(RequestRedraw);
}

/// From where an eye looks.
fn side(eye: &Eye) -> [f32; 2] {
    [eye.heading, eye.elevation]
}

fn fade(
    desk: Res<DeskResource>,
    (watch, on_stage, troupe): (Res<Watch>, Res<OnStage>, Res<Troupe>),
    mut show: ResMut<Show>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut stale: Local<bool>,
) {
    *stale |= watch.is_changed() || on_stage.is_changed() || show.is_changed();
    // While the eye moves or something is played, what is faded stays so.
    if !*stale || watch.is_changed() || desk.0.playback().is_playing() {
        if *stale {
            redraw.write(RequestRedraw);
        }
        return;
    }
    *stale = false;
    let actors = troupe.actors();
    let cut = show.section.map(|section| section.cut());
    let found = in_front(&watch.0, &actors, cut.as_ref());
    if show.faded != found {
        show.faded = found;
        redraw.write(RequestRedraw);
    }
}
