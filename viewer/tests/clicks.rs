//! Synthetic pointer and keys through the whole program, without a window, a display or a graphics card: the panels are
//! found by what they tell programs that read the screen, and the scene by where its things are on screen.

use crate::program::{Program, body};
use bevy::{input::ButtonState, prelude::*, window::WindowEvent};
use elbowroom_viewer::{
    desk::{placing, playback::Show},
    handles::{Handle, Handles},
    look::camera::Watch,
};
use std::fs;

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
