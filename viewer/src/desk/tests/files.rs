use super::{BRIEF, LONG, body, pump_corner};
use crate::desk::{Desk, placing::place};
use std::{fs, time::Instant};

#[test]
fn a_changed_layout_is_saved_as_a_new_file_with_its_comments() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    let mut desk = pump_corner();
    let pump = body(&desk, "pump");
    desk.place(pump, [330.0, 4.5, 122.0]).expect("moved");
    desk.save_as(&path, false).expect("saved");
    let saved = fs::read_to_string(&path).expect("there");
    assert_eq!(saved, desk.text());
    assert!(saved.contains("// Pump on its side, hung from a bracket"));
    assert!(!desk.is_changed());
    assert!(desk.save_as(&path, false).is_err(), "nothing is replaced unasked");
    assert_eq!(desk.new_name(), folder.path().join("boat-2.ron"));
}

#[test]
fn a_file_that_changes_is_read_again_and_a_broken_one_keeps_the_last_good_layout() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    let corner = pump_corner().text().to_owned();
    fs::write(&path, &corner).expect("written");
    let mut desk = Desk::open(Some(&path), &[], BRIEF).expect("sound");
    desk.solve();
    assert!(desk.wait(LONG));
    desk.choose_gap(1);
    let look = |desk: &mut Desk| {
        let when = desk.next_look().unwrap_or_else(Instant::now);
        desk.look_at_disk(when)
    };
    assert!(!look(&mut desk));

    fs::write(&path, corner.replacen("name: \"floor\"", "name: 7", 1)).expect("written");
    assert!(look(&mut desk));
    let problems = desk.problems().expect("there are").render(false);
    assert!(problems.contains("boat.ron:") && problems.contains("name: 7"), "{problems}");
    let first = desk.problems().and_then(|problems| problems.iter().next()).expect("one at least");
    assert!(first.spot().line_and_column().is_some());
    assert_eq!(desk.text(), corner, "the last good layout stays");
    assert!(desk.is_fresh(0));

    let moved = corner.replace("at: (329.5, 4.5, 122)", "at: (330, 4.5, 122)");
    fs::write(&path, &moved).expect("written");
    assert!(look(&mut desk));
    assert!(desk.problems().is_none());
    assert_eq!(place(desk.layout(), body(&desk, "pump")), Some([330.0, 4.5, 122.0]));
    assert_eq!(desk.gap(), Some(1), "the same gap is looked at");
    assert!(!desk.is_changed());
    assert!(desk.wait(LONG));
    desk.undo();
    assert_eq!(desk.text(), corner, "reading a file can be undone");
}

#[test]
fn what_cannot_be_opened_is_said_with_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let missing = Desk::open(Some(&folder.path().join("none.ron")), &[], BRIEF).expect_err("no such file");
    assert!(missing.to_string().contains("none.ron"), "{missing}");
    let path = folder.path().join("broken.ron");
    fs::write(&path, "(version: 1, name: \"x\", gaps: [(from: \"a.b\", to: \"c.d\")])").expect("written");
    let broken = Desk::open(Some(&path), &[], BRIEF).expect_err("unknown ports").to_string();
    assert!(broken.contains("broken.ron:1:") && broken.contains("a.b"), "{broken}");
}
