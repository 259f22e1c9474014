//! At rest nothing is drawn.

use crate::program::Program;
use bevy::{ecs::message::MessageCursor, prelude::*, window::RequestRedraw};

/// Once everything is solved and shown, no frame asks for another; nor does one with a field that is being typed into.
#[test]
fn no_frame_asks_for_the_next() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    program.solved();
    let comes_to_rest = |program: &mut Program, what: &str| {
        let mut cursor = MessageCursor::<RequestRedraw>::default();
        let mut asks = |program: &mut Program| {
            program.updates(1);
            cursor.read(program.app.world().resource::<Messages<RequestRedraw>>()).count() > 0
        };
        let frames = (0..200).take_while(|_| asks(program)).count();
        assert!(frames < 200, "{what}: it never rests");
        assert!((0..20).all(|_| !asks(program)), "{what}: it wakes by itself");
    };
    comes_to_rest(&mut program, "solved");
    program.key(KeyCode::PageDown, &[]);
    comes_to_rest(&mut program, "another gap");
    program.key(KeyCode::KeyS, &[KeyCode::ControlLeft]);
    comes_to_rest(&mut program, "a name is asked for");
}

/// The same in a real window, where the file is watched as well.
#[test]
fn a_window_at_rest_draws_nothing() {
    let must = std::env::var_os("CI").is_some();
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    std::fs::write(&path, elbowroom_catalog::DEMO.1).expect("written");
    let run = std::process::Command::new("xvfb-run")
        .args(["-a", "-s", "-screen 0 640x480x24", env!("CARGO_BIN_EXE_elbowroom-viewer")])
        .args(["--max-parts", "2", "--size", "480x320", "--measure-rest", "4"])
        .arg(&path)
        .output();
    let (said, trouble) = match &run {
        Ok(output) => {
            let [said, trouble] =
                [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned());
            (said, trouble)
        }
        Err(error) => (String::new(), error.to_string()),
    };
    if !said.contains("at rest") {
        let why = format!("no window could be opened; it needs xvfb and a Vulkan driver such as lavapipe: {trouble}");
        assert!(!must, "{why}");
        let told = format!("\n*** SKIPPED, no window was opened: {why}\n\n");
        std::io::Write::write_all(&mut std::io::stderr(), told.as_bytes()).expect("somebody to tell");
        return;
    }
    assert!(said.starts_with("0 frames in 4 s at rest"), "{said}");
}
