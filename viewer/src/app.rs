//! The window: the scene in the middle, the panels around it, and the desk that both are about.
//!
//! A frame is drawn when something happens, not all the time: input, news from the solver, a step of the animation.

use crate::desk::Desk;
use crate::drag::DragPlugin;
use crate::follow::{Followed, project, shown};
use crate::look::{
    Show,
    camera::{self, CameraPlugin, SceneCamera, Watch},
    controls::{self, ControlsPlugin, Room, room_of},
    lettering::{LetteringPlugin, Patience},
    measuring::MeasuringPlugin,
    turning::TurningPlugin,
};
use crate::modifiers::ModifiersPlugin;
use crate::output::offscreen::render_plugin;
use crate::panels::{self, Panels};
use crate::portrait::PortraitPlugin;
use crate::rest::RestPlugin;
use crate::scene::{OnStage, ScenePlugin, Troupe, present::Present};
use crate::shortcuts::ShortcutsPlugin;
use bevy::{
    camera::{CameraOutputMode, RenderTarget, Viewport, visibility::RenderLayers},
    prelude::*,
    render::render_resource::BlendState,
    window::{ExitCondition, PrimaryWindow, RequestRedraw, WindowCloseRequested, WindowResolution},
    winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent},
};
use bevy_egui::{EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// The desk, for Bevy's systems.
#[derive(Resource)]
pub struct DeskResource(pub Desk);

/// What the program draws on: its window, or a picture in place of one.
#[derive(Resource, Clone, Debug, Default)]
pub struct Canvas(pub RenderTarget);

/// What the panels remember.
#[derive(Resource)]
pub struct PanelsResource(pub Panels);

impl Default for PanelsResource {
    /// The list of keys holds those of the scene as well.
    fn default() -> Self {
        Self(Panels::with_keys(&controls::KEYS))
    }
}

/// The scene, the panels and the desk, without the window itself: what tests run with a window of their own.
#[derive(Debug)]
pub struct ViewerPlugin;

/// How long names may look for their places in one frame: a quarter of what there is at 60 frames a second.
const NAMES_MAY_TAKE: Duration = Duration::from_millis(4);

/// At rest nothing is drawn: whatever happens wakes the window. Once an hour all the same, since a wait without an end
/// would let a pointer that moves over other windows wake this one.
const REST: Duration = Duration::from_secs(3600);

/// What the window is opened for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// To be worked in until it is closed.
    Work,
    /// For a picture of it, which is written to a file once every gap is solved.
    Portrait(PathBuf),
    /// To measure for so long what it does when nothing happens.
    MeasureRest(Duration),
}

/// Opens the window, so wide and high in pixels, and runs until what it is opened for is done.
pub fn run(desk: Desk, [width, height]: [u32; 2], what: What) -> AppExit {
    let title = format!("{} – Elbowroom", desk.layout().name());
    let mut app = App::new();
    let window = Window { title, resolution: WindowResolution::new(width, height), ..default() };
    app.add_plugins(DefaultPlugins.set(window_plugin(window)).set(render_plugin()))
        .insert_resource(WinitSettings {
            focused_mode: UpdateMode::reactive_low_power(REST),
            unfocused_mode: UpdateMode::reactive_low_power(REST),
        })
        .insert_resource(DeskResource(desk))
        .add_plugins(ViewerPlugin);
    match what {
        What::Work => {}
        What::Portrait(path) => {
            app.add_plugins(PortraitPlugin { path });
        }
        What::MeasureRest(time) => {
            app.add_plugins(RestPlugin { time });
        }
    }
    app.run()
}

/// Bevy's windows as this program wants them: closing one is a request, which the desk decides on.
#[must_use]
pub fn window_plugin(window: Window) -> WindowPlugin {
    WindowPlugin {
        primary_window: Some(window),
        close_when_requested: false,
        exit_condition: ExitCondition::DontExit,
        ..default()
    }
}

impl Plugin for ViewerPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins(EguiPlugin::default())
            .add_plugins((ScenePlugin, CameraPlugin, ControlsPlugin, LetteringPlugin, MeasuringPlugin, DragPlugin))
            .add_plugins((ShortcutsPlugin, ModifiersPlugin, TurningPlugin))
            .init_resource::<PanelsResource>()
            .init_resource::<Canvas>()
            .insert_resource(Patience(Some(NAMES_MAY_TAKE)))
            .add_systems(PreStartup, cameras)
            .add_systems(Startup, wake)
            .add_systems(PreUpdate, (pass_time, begin))
            .add_systems(Last, close)
            .add_systems(EguiPrimaryContextPass, show_panels)
            .add_systems(PostUpdate, (follow, frame_once, leave_room).chain().before(Present));
    }
}

/// One camera for the scene in its room, and one for the panels over the whole window.
fn cameras(mut commands: Commands, canvas: Res<Canvas>, mut settings: ResMut<EguiGlobalSettings>) {
    settings.auto_create_primary_context = false;
    camera::spawn(&mut commands, canvas.0.clone());
    commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        canvas.0.clone(),
        RenderLayers::none(),
        Camera {
            order: 1,
            output_mode: CameraOutputMode::Write {
                blend_state: Some(BlendState::ALPHA_BLENDING),
                clear_color: ClearColorConfig::None,
            },
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..default()
        },
    ));
}

/// The solver's thread wakes the window when it has news. Without a window's loop there is nothing to wake.
fn wake(desk: Res<DeskResource>, proxy: Option<Res<EventLoopProxyWrapper>>) {
    if let Some(proxy) = proxy {
        let proxy = (**proxy).clone();
        desk.0.on_news(Box::new(move || {
            // Once the window is closed nobody is there to be woken.
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }));
    }
}

/// Solving starts once the first frame is drawn, which it would hold up.
fn begin(mut desk: ResMut<DeskResource>, mut redraw: MessageWriter<RequestRedraw>, mut frames: Local<u32>) {
    /// Drawing runs a frame behind, so the first one is drawn when the third begins.
    const DRAWN: u32 = 3;
    if *frames == DRAWN {
        return;
    }
    *frames += 1;
    if *frames == DRAWN {
        desk.bypass_change_detection().0.solve();
    }
    redraw.write(RequestRedraw);
}

/// The desk takes in what happened since the last frame.
fn pass_time(
    time: Res<Time>,
    mut desk: ResMut<DeskResource>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut window: Option<Single<&mut Window, With<PrimaryWindow>>>,
) {
    let desk = &mut desk.bypass_change_detection().0;
    let before = desk.revision();
    desk.poll();
    if desk.look_at_disk(Instant::now())
        && let Some(window) = &mut window
    {
        window.title = format!("{} – Elbowroom", desk.layout().name());
    }
    let plays = desk.advance(time.delta_secs_f64());
    if plays || desk.revision() != before {
        redraw.write(RequestRedraw);
    }
}

/// Closing is up to the desk, which asks first where something is not saved.
fn close(
    mut requests: MessageReader<WindowCloseRequested>,
    mut desk: ResMut<DeskResource>,
    (mut redraw, mut exit): (MessageWriter<RequestRedraw>, MessageWriter<AppExit>),
) {
    let desk = &mut desk.bypass_change_detection().0;
    if requests.read().count() > 0 {
        desk.close();
        redraw.write(RequestRedraw);
    }
    if desk.is_closed() {
        exit.write(AppExit::Success);
    }
}

fn show_panels(
    mut contexts: EguiContexts,
    mut desk: ResMut<DeskResource>,
    mut panels: ResMut<PanelsResource>,
    mut room: ResMut<Room>,
) -> Result {
    let ctx = contexts.ctx_mut()?;
    let builder = egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(ctx.viewport_rect());
    let mut ui = egui::Ui::new(ctx.clone(), "window".into(), builder);
    let free = panels::show(&mut ui, &mut desk.bypass_change_detection().0, &mut panels.0);
    let free = Rect::new(free.min.x, free.min.y, free.max.x, free.max.y);
    room.set_if_neq(Room(Some(free)));
    Ok(())
}

/// The scene follows the desk when the desk has changed.
fn follow(
    desk: Res<DeskResource>,
    mut on_stage: ResMut<OnStage>,
    mut show: ResMut<Show>,
    mut watch: ResMut<Watch>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut followed: Local<Followed>,
    mut seen: Local<Option<u64>>,
) {
    let desk = &desk.0;
    if *seen == Some(desk.revision()) {
        return;
    }
    *seen = Some(desk.revision());
    on_stage.subject = Some(followed.subject(desk));
    on_stage.stage = desk.stage();
    let faded = show.faded.clone();
    show.set_if_neq(Show { faded, ..shown(desk) });
    let mut eye = watch.0;
    project(desk, &mut eye);
    watch.set_if_neq(Watch(eye));
    redraw.write(RequestRedraw);
}

/// The first scene is brought into view.
fn frame_once(
    troupe: Res<Troupe>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    room: Res<Room>,
    mut watch: ResMut<Watch>,
    mut done: Local<bool>,
) {
    let (false, Some(bounds), Some(window), Some(_)) = (*done, troupe.bounds(), window, room.0) else { return };
    *done = true;
    let room = room_of(&window, &room);
    watch.0.fit(bounds, room.width() / room.height().max(1.0));
}

/// The scene's camera draws into the room that the panels leave.
fn leave_room(
    room: Res<Room>,
    window: Option<Single<&Window, With<PrimaryWindow>>>,
    camera: Option<Single<&mut Camera, With<SceneCamera>>>,
) {
    let (Some(window), Some(mut camera)) = (window, camera) else { return };
    let scale = window.scale_factor();
    let whole = window.physical_size();
    let place = room_of(&window, &room);
    let low = (place.min * scale).round().max(Vec2::ZERO).as_uvec2().min(whole.saturating_sub(UVec2::ONE));
    let high = (place.max * scale).round().max(Vec2::ZERO).as_uvec2().min(whole);
    let physical_size = high.saturating_sub(low).max(UVec2::ONE);
    let same = camera
        .viewport
        .as_ref()
        .is_some_and(|known| known.physical_position == low && known.physical_size == physical_size);
    if !same && whole.min_element() > 0 {
        camera.viewport = Some(Viewport { physical_position: low, physical_size, ..default() });
    }
}
