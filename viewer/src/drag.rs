//! Picking a component in the scene, and moving it by its handles; the gaps that touch it are solved as it moves.

use crate::app::DeskResource;
use crate::desk::Desk;
use crate::handles::{Handle, Handles};
use crate::look::{
    Show,
    camera::Watch,
    controls::{PointerHeld, Room, in_scene, on_view, room_of},
    eye::Eye,
    measuring::Ruler,
    pick::{pick, ray},
};
use crate::scene::{Item, Troupe};
use bevy::{
    gizmos::config::{GizmoConfigGroup, GizmoConfigStore},
    prelude::*,
    window::{PrimaryWindow, RequestRedraw},
};
use bevy_egui::input::EguiWantsInput;
use elbowroom::{geometry::Solid, layout::BodyId};

/// Selects what is clicked, and moves what is selected.
#[derive(Debug)]
pub struct DragPlugin;

/// What the pointer holds and is over.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
pub struct Grip {
    /// The handle that the pointer is over, or holds.
    pub handle: Option<Handle>,
    /// The handles as they were when one was taken hold of, and where the pointer was then.
    held: Option<(Handles, Vec2)>,
    /// Where the pointer went down without a handle under it.
    pressed: Option<Vec2>,
}

/// Lines of the handles: over everything.
#[derive(Default, Reflect, GizmoConfigGroup)]
struct HandleLines;

/// A click is a press and a release no farther apart than this, as a share of the view's height.
const STILL: f32 = 0.006;

impl Plugin for DragPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Grip>()
            .init_gizmo_group::<HandleLines>()
            .add_systems(Startup, lines)
            // Whoever else acts on the pointer looks at what is held.
            .add_systems(PreUpdate, pointer.after(bevy::input::InputSystems))
            .add_systems(Update, draw);
    }
}

fn lines(store: Option<ResMut<GizmoConfigStore>>) {
    if let Some(mut store) = store {
        let (config, _) = store.config_mut::<HandleLines>();
        config.line.width = 3.0;
        config.depth_bias = -1.0;
    }
}

#[expect(clippy::too_many_arguments, reason = "each is a thing that the system is given by name")]
fn pointer(
    buttons: Res<ButtonInput<MouseButton>>,
    keys: Res<ButtonInput<KeyCode>>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    (room, panels, ruler): (Res<Room>, Res<EguiWantsInput>, Res<Ruler>),
    (watch, troupe, show): (Res<Watch>, Res<Troupe>, Res<Show>),
    mut desk: ResMut<DeskResource>,
    mut grip: ResMut<Grip>,
    mut held: ResMut<PointerHeld>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let Some(window) = window else { return };
    let desk = &mut desk.bypass_change_detection().0;
    let eye = &watch.0;
    // What is held is followed out of the scene as well; what is not is taken hold of only within it.
    let anywhere = window.cursor_position().map(|at| on_view(at, room_of(&window, &room)));
    let place = in_scene(&window, &room, &panels);
    let before = *grip;
    if let Some((handles, from)) = grip.held {
        if desk.dragged().is_none() {
            // It was let go by a key.
            *grip = Grip::default();
        } else if buttons.just_released(MouseButton::Left) || !buttons.pressed(MouseButton::Left) {
            *grip = Grip::default();
            let moved = desk.end_drag();
            desk.tell(moved);
        } else if let (Some(handle), Some(to)) = (grip.handle, anywhere)
            && let Some(shift) = handles.shift(handle, from, to, eye)
        {
            desk.drag_to(shift.as_dvec3().to_array());
        }
    } else {
        let handles = handles(desk, eye);
        grip.handle = place.and_then(|place| handles?.under(place, eye));
        let free = !ruler.on && !keys.any_pressed([KeyCode::AltLeft, KeyCode::AltRight]);
        if let Some(place) = place.filter(|_| free && buttons.just_pressed(MouseButton::Left)) {
            match (grip.handle, handles, desk.selected()) {
                (Some(_), Some(handles), Some(body)) if desk.begin_drag(body) => grip.held = Some((handles, place)),
                _ => grip.pressed = Some(place),
            }
        } else if buttons.just_released(MouseButton::Left)
            && let Some(pressed) = grip.pressed.take()
            && let Some(place) = place.filter(|place| place.distance(pressed) < STILL)
        {
            let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low));
            let cut = show.section.map(|section| section.cut());
            let hit = pick(troupe.actors(), &ray(eye, place, reach), cut.as_ref());
            select(desk, hit.map(|hit| hit.item));
        }
    }
    held.set_if_neq(PointerHeld(grip.held.is_some()));
    if *grip != before {
        redraw.write(RequestRedraw);
    }
}

/// Selects the component that was clicked; a click on a panel, or on nothing, selects nothing, one on a chain of another
/// gap looks at that gap, and one on the chain changes nothing.
fn select(desk: &mut Desk, item: Option<Item>) {
    match item {
        Some(Item::Body(index)) => {
            let body = desk.layout().bodies_by_id().nth(index).map(|(body, _)| body);
            desk.select(body);
        }
        Some(Item::Port(index)) => {
            let body = desk.layout().ports().get(index).map(|port| port.body);
            desk.select(body);
        }
        Some(Item::Other(gap, ..)) => desk.choose_gap(gap),
        None => desk.select(None),
        Some(_) => {}
    }
}

/// The handles of the selected component.
fn handles(desk: &Desk, eye: &Eye) -> Option<Handles> {
    let [low, high] = bounds(desk, desk.selected()?)?;
    Some(Handles::new(low.midpoint(high), eye))
}

/// The upright box around a component.
fn bounds(desk: &Desk, body: BodyId) -> Option<[Vec3; 2]> {
    let solids = desk.layout().body(body)?.solids.iter().map(Solid::bounds);
    let bounds = solids.reduce(|one, other| one.union(&other))?;
    let place = |at: elbowroom::geometry::Point| Vec3::new(at.x as f32, at.y as f32, at.z as f32);
    Some([place(bounds.min), place(bounds.max)])
}

/// Draws the box around the selected component and its handles.
fn draw(desk: Res<DeskResource>, watch: Res<Watch>, grip: Res<Grip>, show: Res<Show>, mut gizmos: Gizmos<HandleLines>) {
    let desk = &desk.0;
    let Some([low, high]) = desk.selected().and_then(|body| bounds(desk, body)) else { return };
    let ink = if show.dark { Color::srgb_u8(0x7d, 0xc0, 0xcf) } else { Color::srgb_u8(0x1d, 0x5c, 0x75) };
    let around = Transform::from_translation(low.midpoint(high)).with_scale(high - low);
    gizmos.cube(around, ink.with_alpha(0.7));
    let eye = &watch.0;
    let Some(handles) = handles(desk, eye) else { return };
    for handle in handles.usable(eye) {
        let colour = if grip.handle == Some(handle) { lively(show.dark) } else { ink };
        match handle {
            Handle::Arm(axis) => {
                let [from, to] = handles.arm(axis);
                gizmos.arrow(from, to, colour).with_tip_length(handles.arm_mm * 0.18);
                for stroke in handles.letter(axis, eye) {
                    gizmos.linestrip(stroke, colour);
                }
            }
            Handle::Square(normal) => {
                let corners = handles.square(normal);
                gizmos.linestrip(corners.into_iter().chain([corners[0]]), colour);
            }
        }
    }
}

/// The colour of the handle under the pointer.
fn lively(dark: bool) -> Color {
    if dark { Color::srgb_u8(0xff, 0xc8, 0x57) } else { Color::srgb_u8(0x8a, 0x2b, 0x5e) }
}
