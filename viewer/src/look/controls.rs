//! Pointer and keys that change how the scene is looked at. They act only where the panels leave room, and not while
//! something is typed or dragged.

use super::camera::Watch;
use super::eye::{Eye, View};
use crate::modifiers::commanding;
use crate::scene::Troupe;
use bevy::{
    input::mouse::{AccumulatedMouseMotion, AccumulatedMouseScroll, MouseScrollUnit},
    prelude::*,
    window::PrimaryWindow,
};
use bevy_egui::input::EguiWantsInput;

/// Turns pointer and keys into views.
#[derive(Debug)]
pub struct ControlsPlugin;

/// What the panels leave of the window, in logical pixels; the whole window when `None`.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
pub struct Room(pub Option<Rect>);

/// Whether something else holds the pointer: a handle that is dragged.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PointerHeld(pub bool);

/// The keys of this module and what each does, for the list of keys.
pub const KEYS: [(&str, &str); 17] = [
    ("Middle drag", "turn the view"),
    ("Right drag, Shift+middle drag", "move the view"),
    ("Alt+left drag", "turn the view, without a middle button"),
    ("Wheel", "zoom to the pointer"),
    ("F, B", "from the front, from behind"),
    ("L, R", "from the left, from the right"),
    ("T, U", "from the top, from under"),
    ("I", "isometric"),
    ("V, Home", "everything into view"),
    ("G", "the gap into view"),
    ("P", "perspective or parallel"),
    ("X, Y, Z", "cut across this axis; again: keep the other side; once more: no cut"),
    (", .", "move the cut by 1 mm; with Shift by 10 mm"),
    ("C", "covers on, lifted, off"),
    ("S", "all but the chain see-through"),
    ("N, D", "names, dark or light ground"),
    ("M", "measure between two faces or axes"),
];

/// The keys of the standard views, in the order of [`View::ALL`].
const VIEW_KEYS: [KeyCode; 7] =
    [KeyCode::KeyF, KeyCode::KeyB, KeyCode::KeyL, KeyCode::KeyR, KeyCode::KeyT, KeyCode::KeyU, KeyCode::KeyI];

/// Turn for a drag over the height of the view, in radians.
const TURN_A_HEIGHT: f32 = std::f32::consts::PI;
/// How much more or less is in view after one notch of the wheel.
const ZOOM_A_NOTCH: f32 = 1.15;
/// Pixels of a smooth wheel that make a notch.
const NOTCH_PX: f32 = 40.0;

/// What a drag that began in the scene does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Grip {
    Turn,
    Move,
}

impl Plugin for ControlsPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Room>()
            .init_resource::<PointerHeld>()
            .init_resource::<EguiWantsInput>()
            .add_systems(Update, (pointer, keys.run_if(not(typing))));
    }
}

/// Whether keys go to a field that is being typed into.
pub fn typing(panels: Res<EguiWantsInput>) -> bool {
    panels.wants_any_keyboard_input()
}

/// Where the pointer is in the scene's room, as [`Eye::on_screen`] gives places; `None` outside of it and over panels.
#[must_use]
pub fn in_scene(window: &Window, room: &Room, panels: &EguiWantsInput) -> Option<Vec2> {
    let at = window.cursor_position()?;
    let room = room_of(window, room);
    (room.contains(at) && !panels.wants_any_pointer_input()).then(|| on_view(at, room))
}

/// The scene's room in a window.
#[must_use]
pub fn room_of(window: &Window, room: &Room) -> Rect {
    room.0.unwrap_or_else(|| Rect::from_corners(Vec2::ZERO, window.size()))
}

/// A place in logical pixels as a share of the room's height, right and up from its middle.
#[must_use]
pub fn on_view(at: Vec2, room: Rect) -> Vec2 {
    let step = (at - room.center()) / room.height().max(1.0);
    Vec2::new(step.x, -step.y)
}

#[expect(clippy::too_many_arguments, reason = "each is a thing that the system is given by name")]
fn pointer(
    buttons: Res<ButtonInput<MouseButton>>,
    held_keys: Res<ButtonInput<KeyCode>>,
    motion: Res<AccumulatedMouseMotion>,
    scroll: Res<AccumulatedMouseScroll>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    room: Res<Room>,
    panels: Res<EguiWantsInput>,
    held: Res<PointerHeld>,
    mut watch: ResMut<Watch>,
    mut grip: Local<Option<Grip>>,
) {
    let Some(window) = window else { return };
    let place = in_scene(&window, &room, &panels);
    let shift = held_keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    let alt = held_keys.any_pressed([KeyCode::AltLeft, KeyCode::AltRight]);
    if place.is_some() && !held.0 {
        let turns =
            buttons.just_pressed(MouseButton::Middle) && !shift || buttons.just_pressed(MouseButton::Left) && alt;
        let moves = buttons.just_pressed(MouseButton::Right) || buttons.just_pressed(MouseButton::Middle) && shift;
        if turns || moves {
            *grip = Some(if moves { Grip::Move } else { Grip::Turn });
        }
    }
    if !buttons.any_pressed([MouseButton::Left, MouseButton::Middle, MouseButton::Right]) {
        *grip = None;
    }
    let by = motion.delta / room_of(&window, &room).height().max(1.0);
    if let Some(grip) = *grip
        && by != Vec2::ZERO
    {
        match grip {
            Grip::Turn => watch.0.orbit(-by.x * TURN_A_HEIGHT, by.y * TURN_A_HEIGHT),
            Grip::Move => watch.0.pan(Vec2::new(by.x, -by.y)),
        }
    }
    if let Some(place) = place
        && scroll.delta.y != 0.0
    {
        let notches = match scroll.unit {
            MouseScrollUnit::Line => scroll.delta.y,
            MouseScrollUnit::Pixel => scroll.delta.y / NOTCH_PX,
        };
        watch.0.zoom(ZOOM_A_NOTCH.powf(-notches), place);
    }
}

fn keys(
    pressed: Res<ButtonInput<KeyCode>>,
    troupe: Res<Troupe>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    room: Res<Room>,
    mut watch: ResMut<Watch>,
) {
    if commanding(&pressed) {
        return;
    }
    let Some(bounds) = troupe.bounds() else { return };
    let aspect = window.map_or(1.5, |window| {
        let room = room_of(&window, &room);
        room.width() / room.height().max(1.0)
    });
    for (key, view) in VIEW_KEYS.into_iter().zip(View::ALL) {
        if pressed.just_pressed(key) {
            watch.0.look_from(view);
            watch.0.fit(bounds, aspect);
        }
    }
    if pressed.any_just_pressed([KeyCode::KeyV, KeyCode::Home]) {
        watch.0.fit(bounds, aspect);
    }
    let gap = troupe.gap_bounds();
    if pressed.just_pressed(KeyCode::KeyG)
        && let Some(gap) = gap
    {
        fit_closely(&mut watch.0, gap, aspect);
    }
}

/// Brings a gap into view with what stands next to it.
fn fit_closely(eye: &mut Eye, [low, high]: [Vec3; 2], aspect: f32) {
    let around = Vec3::splat(AROUND_GAP_MM);
    eye.fit([low - around, high + around], aspect);
}

/// Room around a gap that is brought into view, in millimetres.
pub const AROUND_GAP_MM: f32 = 25.0;
