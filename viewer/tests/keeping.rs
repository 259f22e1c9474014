//! Nothing that is not saved is lost unasked, by pointer and keys.

use crate::program::{Program, body};
use bevy::{app::AppExit, input::ButtonState, prelude::*, window::WindowCloseRequested};
use elbowroom_viewer::desk::{Question, placing};
use std::fs;

fn ends(program: &Program) -> bool {
    program.app.should_exit().is_some_and(|exit| exit == AppExit::Success)
}

/// Moves the pump by half a millimetre with the button beside its field.
fn move_pump(program: &mut Program) {
    let pump = body(program.desk().layout(), "pump");
    program.app.world_mut().resource_mut::<elbowroom_viewer::app::DeskResource>().0.select(Some(pump));
    program.updates(2);
    program.click("x plus 0.5");
    assert!(program.desk().is_changed());
}

#[test]
fn closing_asks_while_something_is_not_saved() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    move_pump(&mut program);
    let ask = |program: &mut Program| {
        let window = program.window;
        program.app.world_mut().write_message(WindowCloseRequested { window });
        program.updates(3);
    };
    ask(&mut program);
    assert_eq!(program.desk().question(), Some(Question::Closing));
    assert!(!ends(&program) && program.app.world().get::<Window>(program.window).is_some());
    program.click("Stay");
    assert_eq!(program.desk().question(), None);
    // The same by keys.
    program.key(KeyCode::KeyQ, &[KeyCode::ControlLeft]);
    assert_eq!(program.desk().question(), Some(Question::Closing));
    program.click("Save, then close");
    program.click("Leave it");
    assert!(!ends(&program), "nothing is decided yet");
    program.click("Save, then close");
    program.click("Save");
    program.updates(1);
    assert!(ends(&program));
    let saved = fs::read_to_string(folder.path().join("boat-2.ron")).expect("saved");
    assert!(saved.contains("at: (330, 4.5, 122)"));
}

#[test]
fn closing_goes_on_where_nothing_is_lost_or_the_loss_is_wanted() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    program.key(KeyCode::KeyQ, &[KeyCode::ControlLeft]);
    assert!(ends(&program), "nothing was changed");
    let mut program = Program::demo(folder.path());
    move_pump(&mut program);
    program.key(KeyCode::KeyQ, &[KeyCode::ControlLeft]);
    assert!(!ends(&program));
    program.click("Discard and close");
    program.updates(1);
    assert!(ends(&program));
}

#[test]
fn a_file_mended_on_disk_leaves_what_is_not_saved() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    move_pump(&mut program);
    let mine = program.desk().text().to_owned();
    program.key(KeyCode::KeyS, &[KeyCode::ControlLeft]);
    let theirs = elbowroom_catalog::DEMO.1.replacen("name: \"floor\"", "name: \"keel\"", 1);
    assert_ne!(theirs, elbowroom_catalog::DEMO.1);
    program.reload(&theirs);
    assert_eq!(program.desk().text(), mine, "even while a name is being asked for");
    program.find("The file changed on disk");
    program.click("Leave it");
    assert_eq!(program.desk().question(), Some(Question::Disk));
    program.click("Keep what is here");
    assert_eq!((program.desk().text(), program.desk().question()), (mine.as_str(), None));
    assert!(program.desk().is_changed());
    // Once more, and this time the file is wanted; what was here comes back by undo.
    let again = theirs.replacen("keel", "bottom", 1);
    program.reload(&again);
    program.click("Read the file");
    assert_eq!(program.desk().text(), again);
    program.key(KeyCode::KeyZ, &[KeyCode::ControlLeft]);
    assert_eq!(program.desk().text(), mine);
}

#[test]
fn a_number_that_is_none_is_flagged_and_the_old_one_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    let pump = body(program.desk().layout(), "pump");
    program.app.world_mut().resource_mut::<elbowroom_viewer::app::DeskResource>().0.select(Some(pump));
    program.updates(2);
    program.click("x of component");
    program.type_text("a64");
    program.key(KeyCode::Enter, &[]);
    program.find("expected a number in mm, such as 60.5, found `a64`; 329.5 mm is kept");
    assert_eq!(placing::place(program.desk().layout(), pump), Some([329.5, 4.5, 122.0]));
    // Beyond its play a component may be put, but not in silence.
    program.click("y of component");
    program.type_text("64");
    program.key(KeyCode::Enter, &[]);
    assert_eq!(placing::place(program.desk().layout(), pump), Some([329.5, 64.0, 122.0]));
    program.find("y: moved by 59.5 mm");
}

#[test]
fn undo_of_a_move_leaves_the_gap_that_is_looked_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    move_pump(&mut program);
    program.key(KeyCode::PageDown, &[]);
    program.key(KeyCode::PageDown, &[]);
    assert_eq!(program.desk().gap(), Some(2));
    program.key(KeyCode::KeyZ, &[KeyCode::ControlLeft]);
    assert!(!program.desk().is_changed());
    assert_eq!(program.desk().gap(), Some(2));
}

/// Where a frame takes as long as a tap, both keys go down and up within it.
#[test]
fn control_and_z_within_one_frame_is_undo_and_no_cut() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    move_pump(&mut program);
    for (key, state) in [
        (KeyCode::ControlLeft, ButtonState::Pressed),
        (KeyCode::KeyZ, ButtonState::Pressed),
        (KeyCode::KeyZ, ButtonState::Released),
        (KeyCode::ControlLeft, ButtonState::Released),
    ] {
        program.send_key(key, state);
    }
    program.updates(2);
    assert_eq!(program.desk().view_options().section, None);
    assert!(!program.desk().is_changed(), "the move was taken back");
    program.key(KeyCode::KeyZ, &[]);
    assert!(program.desk().view_options().section.is_some(), "Z alone cuts");
}
