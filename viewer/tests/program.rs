//! The whole program with a pointer and keys, without a window, a display or a graphics card.

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
    window::{CursorMoved, PrimaryWindow, WindowEvent, WindowResolution},
    winit::WinitPlugin,
};
use bevy_egui::{EguiContext, EguiOutput, PrimaryEguiContext};
use elbowroom::layout::{BodyId, Layout};
use elbowroom_viewer::{
    app::{DeskResource, ViewerPlugin, window_plugin},
    desk::{Asked, Desk},
    look::{
        camera::Watch,
        controls::{Room, on_view, room_of},
        pick::{pick, ray},
    },
    scene::{Item, Troupe},
};
use std::{fs, path::Path, time::Duration};

/// The program, and a pointer on it.
pub(crate) struct Program {
    pub(crate) app: App,
    pub(crate) window: Entity,
    at: Vec2,
}

impl Program {
    pub(crate) fn open(layout: &Path) -> Self {
        let desk = Desk::open(Some(layout), &[], Asked::default()).expect("the layout is sound");
        let mut app = App::new();
        let render_creation = RenderCreation::Automatic(Box::new(WgpuSettings { backends: None, ..default() }));
        let window = Window { resolution: WindowResolution::new(1_440, 900), visible: false, ..default() };
        app.add_plugins(
            DefaultPlugins
                .set(window_plugin(window))
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

    pub(crate) fn desk(&self) -> &Desk {
        &self.app.world().resource::<DeskResource>().0
    }

    pub(crate) fn updates(&mut self, count: usize) {
        for _ in 0..count {
            self.app.update();
        }
    }

    /// Opens the demo from a file in `folder`.
    pub(crate) fn demo(folder: &Path) -> Self {
        let path = folder.join("boat.ron");
        fs::write(&path, elbowroom_catalog::DEMO.1).expect("written");
        Self::open(&path)
    }

    /// Lets the solver finish.
    pub(crate) fn solved(&mut self) {
        assert!(self.app.world_mut().resource_mut::<DeskResource>().0.wait(Duration::from_secs(3600)));
        self.updates(4);
    }

    pub(crate) fn move_to(&mut self, at: Vec2) {
        let delta = Some(at - self.at);
        self.at = at;
        let moved = CursorMoved { window: self.window, position: at, delta };
        let mut window = self.app.world_mut().get_mut::<Window>(self.window).expect("a window");
        window.set_cursor_position(Some(at));
        self.app.world_mut().write_message(moved.clone());
        self.app.world_mut().write_message(WindowEvent::CursorMoved(moved));
        self.updates(2);
    }

    pub(crate) fn button(&mut self, state: ButtonState) {
        let input = MouseButtonInput { button: MouseButton::Left, state, window: self.window };
        self.app.world_mut().write_message(input);
        self.app.world_mut().write_message(WindowEvent::MouseButtonInput(input));
        self.updates(2);
    }

    pub(crate) fn click_at(&mut self, at: Vec2) {
        self.move_to(at);
        self.button(ButtonState::Pressed);
        self.button(ButtonState::Released);
        self.updates(2);
    }

    /// Clicks what the panels call by this name, or by a name that holds it.
    pub(crate) fn click(&mut self, name: &str) {
        let at = self.find(name);
        self.click_at(at);
    }

    pub(crate) fn find(&mut self, name: &str) -> Vec2 {
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

    pub(crate) fn key(&mut self, code: KeyCode, held: &[KeyCode]) {
        for key in held.iter().chain([&code]) {
            self.key_is(*key, ButtonState::Pressed);
        }
        for key in [&code].into_iter().chain(held) {
            self.key_is(*key, ButtonState::Released);
        }
        self.updates(2);
    }

    pub(crate) fn key_is(&mut self, key_code: KeyCode, state: ButtonState) {
        self.send_key(key_code, state);
        self.updates(1);
    }

    /// The same without a frame after it.
    pub(crate) fn send_key(&mut self, key_code: KeyCode, state: ButtonState) {
        let logical_key = match key_code {
            KeyCode::ControlLeft => Key::Control,
            KeyCode::ShiftLeft => Key::Shift,
            KeyCode::Space => Key::Space,
            KeyCode::Enter => Key::Enter,
            KeyCode::PageDown => Key::PageDown,
            KeyCode::KeyZ => Key::Character("z".into()),
            KeyCode::KeyS => Key::Character("s".into()),
            KeyCode::KeyQ => Key::Character("q".into()),
            KeyCode::KeyT => Key::Character("t".into()),
            _ => Key::Unidentified(NativeKey::Unidentified),
        };
        let input = KeyboardInput { key_code, logical_key, state, text: None, repeat: false, window: self.window };
        self.app.world_mut().write_message(input.clone());
        self.app.world_mut().write_message(WindowEvent::KeyboardInput(input));
    }

    /// Types into the field that has the focus.
    pub(crate) fn type_text(&mut self, text: &str) {
        for letter in text.chars() {
            let logical_key = Key::Character(letter.to_string().into());
            for state in [ButtonState::Pressed, ButtonState::Released] {
                let (key_code, logical_key) =
                    (KeyCode::Unidentified(bevy::input::keyboard::NativeKeyCode::Unidentified), logical_key.clone());
                let input =
                    KeyboardInput { key_code, logical_key, state, text: None, repeat: false, window: self.window };
                self.app.world_mut().write_message(input.clone());
                self.app.world_mut().write_message(WindowEvent::KeyboardInput(input));
            }
            self.updates(1);
        }
    }

    /// The file holds something else now.
    pub(crate) fn reload(&mut self, text: &str) {
        self.app.world_mut().resource_mut::<DeskResource>().0.reload(text);
        self.updates(2);
    }

    pub(crate) fn room(&self) -> Rect {
        let window = self.app.world().get::<Window>(self.window).expect("a window");
        room_of(window, self.app.world().resource::<Room>())
    }

    /// Where a place of the scene is in the window.
    pub(crate) fn in_window(&self, at: Vec3) -> Vec2 {
        let room = self.room();
        let place = self.app.world().resource::<Watch>().0.on_screen(at).expect("before the eye");
        room.center() + Vec2::new(place.x, -place.y) * room.height()
    }

    /// A place in the window where a component is what a click would meet, away from the edges of it.
    pub(crate) fn where_seen(&self, body: BodyId) -> Vec2 {
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

pub(crate) fn body(layout: &Layout, name: &str) -> BodyId {
    layout.bodies_by_id().find(|(_, body)| body.name == name).map(|(id, _)| id).expect("a body of that name")
}
