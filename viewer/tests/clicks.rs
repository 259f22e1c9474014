//! Synthetic pointer and keys through the whole program, without a window, a display or a graphics card: the panels are
//! found by what they tell programs that read the screen, and the scene by where its things are on screen.

use bevy::{
    app::TerminalCtrlCHandlerPlugin,
    input::{
        ButtonState,
        keyboard::{Key, KeyboardInput, NativeKey},
        mouse::MouseButtonInput,
    },
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        pipelined_rendering::PipelinedRenderingPlugin,
        settings::{RenderCreation, WgpuSettings},
    },
    time::TimeUpdateStrategy,
    window::{CursorMoved, ExitCondition, PrimaryWindow, WindowEvent, WindowResolution},
    winit::WinitPlugin,
};
use bevy_egui::{EguiContext, EguiOutput, PrimaryEguiContext};
use elbowroom::layout::{BodyId, Layout};
use elbowroom_viewer::{
    app::{DeskResource, ViewerPlugin},
    desk::{Asked, Desk, placing, playback::Show},
    handles::{Handle, Handles},
    look::{
        camera::Watch,
        controls::{Room, on_view, room_of},
        pick::{pick, ray},
    },
    scene::{Item, Troupe},
};
use std::{fs, path::Path, time::Duration};

/// The program, and a pointer on it.
struct Program {
    app: App,
    window: Entity,
    at: Vec2,
}

impl Program {
    fn open(layout: &Path) -> Self {
        let desk = Desk::open(Some(layout), &[], Asked::default()).expect("the layout is sound");
        let mut app = App::new();
        let render_creation = RenderCreation::Automatic(Box::new(WgpuSettings { backends: None, ..default() }));
        let window = Window { resolution: WindowResolution::new(1_440, 900), visible: false, ..default() };
        app.add_plugins(
            DefaultPlugins
                .set(WindowPlugin {
                    primary_window: Some(window),
                    exit_condition: ExitCondition::DontExit,
                    ..default()
                })
                .set(RenderPlugin { render_creation, ..default() })
                .disable::<WinitPlugin>()
                .disable::<PipelinedRenderingPlugin>()
                .disable::<LogPlugin>()
                .disable::<TerminalCtrlCHandlerPlugin>(),
        )
        .insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_millis(16)))
        .insert_resource(DeskResource(desk))
        .add_plugins(ViewerPlugin);
        app.finish();
        app.cleanup();
        app.update();
        let window =
            app.world_mut().query_filtered::<Entity, With<PrimaryWindow>>().single(app.world()).expect("a window");
        let mut contexts = app.world_mut().query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
        let mut context = contexts.single_mut(app.world_mut()).expect("the panels' context");
        context.get_mut().enable_accesskit();
        let mut program = Self { app, window, at: Vec2::ZERO };
        program.updates(4);
        program
    }

    fn desk(&self) -> &Desk {
        &self.app.world().resource::<DeskResource>().0
    }

    fn updates(&mut self, count: usize) {
        for _ in 0..count {
            self.app.update();
        }
    }

    /// Lets the solver finish.
    fn solved(&mut self) {
        assert!(self.app.world_mut().resource_mut::<DeskResource>().0.wait(Duration::from_secs(3600)));
        self.updates(4);
    }

    fn move_to(&mut self, at: Vec2) {
        let delta = Some(at - self.at);
        self.at = at;
        let moved = CursorMoved { window: self.window, position: at, delta };
        let mut window = self.app.world_mut().get_mut::<Window>(self.window).expect("a window");
        window.set_cursor_position(Some(at));
        self.app.world_mut().write_message(moved.clone());
        self.app.world_mut().write_message(WindowEvent::CursorMoved(moved));
        self.updates(2);
    }

    fn button(&mut self, state: ButtonState) {
        let input = MouseButtonInput { button: MouseButton::Left, state, window: self.window };
        self.app.world_mut().write_message(input);
        self.app.world_mut().write_message(WindowEvent::MouseButtonInput(input));
        self.updates(2);
    }

    fn click_at(&mut self, at: Vec2) {
        self.move_to(at);
        self.button(ButtonState::Pressed);
        self.button(ButtonState::Released);
        self.updates(2);
    }

    /// Clicks what the panels call by this name, or by a name that holds it.
    fn click(&mut self, name: &str) {
        let at = self.find(name);
        self.click_at(at);
    }

    fn find(&mut self, name: &str) -> Vec2 {
        self.updates(1);
        let mut outputs = self.app.world_mut().query_filtered::<&EguiOutput, With<PrimaryEguiContext>>();
        let output = outputs.single(self.app.world()).expect("the panels' output");
        let tree = output.platform_output.accesskit_update.as_ref().expect("what the panels tell");
        let labelled = |node: &egui::accesskit::Node| node.label().or(node.value()).map(str::to_owned);
        let named = |exactly: bool| {
            tree.nodes.iter().find(|(_, node)| {
                labelled(node).is_some_and(|label| if exactly { label == name } else { label.contains(name) })
            })
        };
        let (_, node) = named(true).or_else(|| named(false)).unwrap_or_else(|| {
            let names: Vec<String> = tree.nodes.iter().filter_map(|(_, node)| labelled(node)).collect();
            panic!("the panels show no `{name}`, only {names:?}")
        });
        let bounds = node.bounds().expect("it has a place");
        Vec2::new((bounds.x0 + bounds.x1) as f32 / 2.0, (bounds.y0 + bounds.y1) as f32 / 2.0)
    }

    fn key(&mut self, code: KeyCode, held: &[KeyCode]) {
        for key in held.iter().chain([&code]) {
            self.key_is(*key, ButtonState::Pressed);
        }
        for key in [&code].into_iter().chain(held) {
            self.key_is(*key, ButtonState::Released);
        }
        self.updates(2);
    }

    fn key_is(&mut self, key_code: KeyCode, state: ButtonState) {
        let logical_key = match key_code {
            KeyCode::ControlLeft => Key::Control,
            KeyCode::ShiftLeft => Key::Shift,
            KeyCode::Space => Key::Space,
            KeyCode::KeyZ => Key::Character("z".into()),
            KeyCode::KeyS => Key::Character("s".into()),
            KeyCode::KeyT => Key::Character("t".into()),
            _ => Key::Unidentified(NativeKey::Unidentified),
        };
        let input = KeyboardInput { key_code, logical_key, state, text: None, repeat: false, window: self.window };
        self.app.world_mut().write_message(input.clone());
        self.app.world_mut().write_message(WindowEvent::KeyboardInput(input));
        self.updates(1);
    }

    fn room(&self) -> Rect {
        let window = self.app.world().get::<Window>(self.window).expect("a window");
        room_of(window, self.app.world().resource::<Room>())
    }

    /// Where a place of the scene is in the window.
    fn in_window(&self, at: Vec3) -> Vec2 {
        let room = self.room();
        let place = self.app.world().resource::<Watch>().0.on_screen(at).expect("before the eye");
        room.center() + Vec2::new(place.x, -place.y) * room.height()
    }

    /// A place in the window where a component is what a click would meet, away from the edges of it.
    fn where_seen(&self, body: BodyId) -> Vec2 {
        let (room, eye) = (self.room(), self.app.world().resource::<Watch>().0);
        let troupe = self.app.world().resource::<Troupe>();
        let seen = |at: Vec2| {
            let hit = pick(troupe.actors(), &ray(&eye, on_view(at, room), 2_000.0), None);
            hit.is_some_and(|hit| hit.item == Item::Body(body.index()))
        };
        let step = 4.0;
        let mut at = room.min;
        while at.y < room.max.y {
            if [Vec2::ZERO, Vec2::X, Vec2::Y, Vec2::NEG_X, Vec2::NEG_Y].iter().all(|side| seen(at + side * step)) {
                return at;
            }
            at.x += step;
            if at.x > room.max.x {
                at = Vec2::new(room.min.x, at.y + step);
            }
        }
        panic!("body {body:?} is seen nowhere")
    }
}

fn body(layout: &Layout, name: &str) -> BodyId {
    layout.bodies_by_id().find(|(_, body)| body.name == name).map(|(id, _)| id).expect("a body of that name")
}

#[test]
fn a_builder_walks_through_the_demo() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    fs::write(&path, elbowroom_catalog::DEMO.1).expect("written");
    let mut program = Program::open(&path);
    program.solved();

    // A gap, and its second chain.
    program.click("pump.outlet to filter.inlet");
    assert_eq!(program.desk().gap(), Some(1));
    program.click("chain 2");
    assert_eq!(program.desk().chosen_chain(), Some(1));

    // Played, paused, scrubbed.
    program.key(KeyCode::Space, &[]);
    assert!(program.desk().playback().is_playing());
    program.updates(60);
    let seconds = program.desk().playback().seconds();
    assert!(seconds > 0.9, "a second has passed: {seconds}");
    assert!(program.desk().stage().parts.iter().any(|part| !part.shown), "not all parts are there yet");
    program.click("Pause");
    assert!(!program.desk().playback().is_playing());
    program.click("moment");
    let playback = *program.desk().playback();
    assert!((playback.seconds() / playback.total() - 0.5).abs() < 0.1, "{playback:?}");
    program.click("Candidates");
    assert_eq!((program.desk().playback().show(), program.desk().shown_chain()), (Show::Candidates, Some(0)));
    program.click("Make up");

    // The pump is picked in the scene, and dragged by its arm along x.
    let pump = body(program.desk().layout(), "pump");
    let home = placing::place(program.desk().layout(), pump).expect("a component");
    program.key(KeyCode::KeyT, &[]);
    let seen = program.where_seen(pump);
    program.click_at(seen);
    assert_eq!(program.desk().selected(), Some(pump));
    let eye = program.app.world().resource::<Watch>().0;
    let bounds = program.desk().layout().bodies()[pump.index()].solids.iter().map(|solid| solid.bounds());
    let bounds = bounds.reduce(|one, other| one.union(&other)).expect("it has a body");
    let middle = nalgebra::center(&bounds.min, &bounds.max);
    let handles = Handles::new(Vec3::new(middle.x as f32, middle.y as f32, middle.z as f32), &eye);
    let grip = handles.arm(0)[0].lerp(handles.arm(0)[1], 0.9);
    let (from, to) = (program.in_window(grip), program.in_window(grip + Vec3::X * 3.05));
    program.move_to(from);
    assert_eq!(program.app.world().resource::<elbowroom_viewer::drag::Grip>().handle, Some(Handle::Arm(0)));
    program.button(ButtonState::Pressed);
    assert_eq!(program.desk().dragged(), Some(pump));
    let watched = program.app.world().resource::<Watch>().0;
    for share in [0.2, 0.5, 0.8, 1.0] {
        program.move_to(from.lerp(to, share));
    }
    assert_eq!(program.desk().dragged_by(), Some([3.0, 0.0, 0.0]));
    program.button(ButtonState::Released);
    assert_eq!(program.app.world().resource::<Watch>().0, watched, "the view stays while a handle is dragged");
    let moved = [home[0] + 3.0, home[1], home[2]];
    assert_eq!(placing::place(program.desk().layout(), pump), Some(moved));
    program.solved();
    assert!(program.desk().is_fresh(0) && program.desk().is_fresh(1));

    // Taken back, and done again.
    program.key(KeyCode::KeyZ, &[KeyCode::ControlLeft]);
    assert_eq!(placing::place(program.desk().layout(), pump), Some(home));
    assert!(!program.desk().is_changed());
    program.key(KeyCode::KeyZ, &[KeyCode::ControlLeft, KeyCode::ShiftLeft]);
    assert_eq!(placing::place(program.desk().layout(), pump), Some(moved));

    // Saved beside the first file, which stays as it was.
    program.key(KeyCode::KeyS, &[KeyCode::ControlLeft]);
    program.click("Save");
    let saved = fs::read_to_string(folder.path().join("boat-2.ron")).expect("saved");
    assert_eq!(saved, elbowroom_catalog::DEMO.1.replace("at: (329.5, 4.5, 122)", "at: (332.5, 4.5, 122)"));
    assert_eq!(fs::read_to_string(&path).expect("there"), elbowroom_catalog::DEMO.1);
    assert!(!program.desk().is_changed());
}

#[test]
fn input_over_a_panel_does_not_reach_the_camera() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    fs::write(&path, elbowroom_catalog::DEMO.1).expect("written");
    let mut program = Program::open(&path);
    program.solved();
    let before = program.app.world().resource::<Watch>().0;
    let room = program.room();
    assert!(room.min.x > 150.0 && room.max.x < 1_300.0, "{room:?}");
    let wheel = |program: &mut Program| {
        let turned = bevy::input::mouse::MouseWheel {
            unit: bevy::input::mouse::MouseScrollUnit::Line,
            x: 0.0,
            y: 2.0,
            window: program.window,
            phase: bevy::input::touch::TouchPhase::Moved,
        };
        program.app.world_mut().write_message(turned);
        program.app.world_mut().write_message(WindowEvent::MouseWheel(turned));
        program.updates(2);
    };
    // Empty places of the panels count as panels too.
    for at in [Vec2::new(room.min.x - 20.0, 600.0), Vec2::new(room.max.x + 30.0, 700.0), Vec2::new(700.0, 880.0)] {
        program.move_to(at);
        wheel(&mut program);
        assert_eq!(program.app.world().resource::<Watch>().0, before, "at {at}");
    }
    program.move_to(room.center());
    wheel(&mut program);
    assert_ne!(program.app.world().resource::<Watch>().0, before, "over the scene it zooms");
}

/// The program in a window of a virtual display, drawn by whatever driver there is; it writes a picture of its window.
#[test]
fn the_program_runs_in_a_real_window() {
    let must = std::env::var_os("CI").is_some();
    let folder = tempfile::tempdir().expect("a folder");
    let picture = folder.path().join("window.png");
    let run = std::process::Command::new("xvfb-run")
        .args(["-a", "-s", "-screen 0 1440x900x24", env!("CARGO_BIN_EXE_elbowroom-viewer")])
        .args(["--max-parts", "3", "--window-picture"])
        .arg(&picture)
        .output();
    let said = match &run {
        Ok(output) => String::from_utf8_lossy(&output.stderr).into_owned(),
        Err(error) => error.to_string(),
    };
    if !picture.exists() {
        let why = format!("no window could be opened; it needs xvfb and a Vulkan driver such as lavapipe: {said}");
        assert!(!must, "{why}");
        let told = format!("\n*** SKIPPED, no window was opened: {why}\n\n");
        std::io::Write::write_all(&mut std::io::stderr(), told.as_bytes()).expect("somebody to tell");
        return;
    }
    assert!(run.is_ok_and(|output| output.status.success()), "{said}");
    let image = image::open(&picture).expect("a picture").to_rgb8();
    assert_eq!(image.dimensions(), (1_440, 900));
    let colours: std::collections::HashSet<_> = image.pixels().map(|pixel| pixel.0).collect();
    assert!(colours.len() > 200, "panels and scene have more colours than {}", colours.len());
    let middle = image.enumerate_pixels().filter(|(x, y, _)| (500..900).contains(x) && (200..700).contains(y));
    let middle: std::collections::HashSet<_> = middle.map(|(.., pixel)| pixel.0).collect();
    assert!(middle.len() > 50, "the scene is drawn, not only the panels: {} colours", middle.len());
}
