//! Ports that lie where none can be, and layouts that do not fit by themselves: said before anything that follows from them.

use crate::program::{Ran, run, run_with_stdin};

/// Two boxes so far `apart`, face to face; the port of the second lies `off` its face.
fn boxes(apart: f64, off: f64, said: &str) -> String {
    let component = |name: &str, at: f64, port: f64, facing: &str, said: &str| {
        format!(
            "(name: \"{name}\", at: ({at}, 0, 0), solids: [(shape: box(size: (40, 40, 40)))], ports: [(name: \"p\", \
             at: ({port}, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 24, {said})])"
        )
    };
    let (first, second) = (component("a", 0.0, 20.0, "+x", ""), component("b", 40.0 + apart, -20.0 - off, "-x", said));
    format!("(version: 1, name: \"Two boxes\", components: [{first}, {second}], gaps: [(from: \"a.p\", to: \"b.p\")])")
}

fn line(ran: &Ran) -> String {
    ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is half a millimetre off its face proves nothing, however little fits it.
#[test]
fn half_a_millimetre_is_no_proof() {
    let ask =
        |layout: &str, more: &[&str]| run_with_stdin(&[&["bridge", "-", "--max-parts", "1"], more].concat(), layout);
    let sound = run_with_stdin(&["check", "-"], &boxes(25.0, 0.0, "")).ends_with_code(0).says("Everything fits");
    assert!(sound.out.contains("b.p   45.00"), "{}", sound.out);
    assert!(!ask(&boxes(25.0, 0.0, ""), &[]).ends_with_code(0).out.contains("Warning"));

    let off = boxes(25.0, 0.5, "");
    let checked = run_with_stdin(&["check", "-"], &off).ends_with_code(1);
    let said = "b.p: its face stands 0.50 mm off the component; move it onto the face, or say `stand_off_mm: 0.50`";
    assert!(line(&checked).contains(said), "{checked:#?}");
    checked.says("Nothing overlaps, but 1 port cannot be as it is written");
    let json = run_with_stdin(&["check", "-", "--format", "json"], &off).ends_with_code(1).json();
    assert_eq!(json["outcome"], "does_not_fit");
    assert_eq!(json["seats"][1]["faults"][0]["fault"], "stands_off");

    // No single part spans 10.4 mm.
    let none = ask(&boxes(11.0, 0.6, ""), &[]).ends_with_code(3);
    assert!(line(&none).contains("Warning: b.p: its face stands 0.60 mm off the component"), "{none:#?}");
    assert!(!none.out.contains("proven up to"), "{none:#?}");
    none.says("which proves nothing of the machine");
    let json = ask(&boxes(11.0, 0.6, ""), &["--format", "json"]).ends_with_code(3).json();
    assert_eq!((&json["outcome"], &json["gaps"][0]["outcome"]), (&"no_proof".into(), &"no_proof".into()));
    let as_said = ask(&boxes(11.0, 0.6, "stand_off_mm: 0.6"), &[]).ends_with_code(1);
    as_said.says("proven up to 1 part");
}

#[test]
fn a_layout_that_does_not_fit_is_bridged_with_a_warning_first() {
    let ran = run(&["bridge", "--max-parts", "2", "misfits.ron"]).ends_with_code(1);
    let said = line(&ran);
    let (warning, gap) = (
        said.find("The layout does not fit by itself, which `check` tells more of: pump and lid (2.10 mm), "),
        said.find(" apart ("),
    );
    assert!(warning.is_some() && warning < gap, "{ran:#?}");
    let json = run(&["bridge", "--max-parts", "2", "misfits.ron", "--format", "json"]).ends_with_code(1).json();
    assert_eq!(json["overlaps"].as_array().map(Vec::len), Some(2));
    assert_eq!((&json["overlaps"][0]["a"], &json["overlaps"][0]["b"]), (&"pump".into(), &"lid".into()));
    let sound = run(&["bridge", "fits.ron"]).ends_with_code(0);
    assert!(!sound.out.contains("does not fit"), "{sound:#?}");
}
