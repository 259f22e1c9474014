//! Gaps that nothing bridges, that nothing can be made up in, or whose search was stopped: what the program says of them.

use crate::program::{run, run_with_stdin};
use serde_json::Value;
use std::fs;

#[test]
fn a_search_that_is_stopped_claims_no_proof() {
    let ran = run(&["bridge", "--budget", "1", "misfits.ron"]).ends_with_code(3).says_nothing_on_stderr();
    let ran = ran.says("budget of closures was used up").says("no proof").says("Raise the budget");
    ran.says("Went through a part of the ").says("no geometry");
    let json = run(&["bridge", "--budget", "1", "--format", "json", "misfits.ron"]).ends_with_code(3).json();
    assert_eq!(json["outcome"], "no_proof");
    assert_eq!(json["gaps"][0]["completeness"]["kind"], "stopped");
    assert_eq!(json["gaps"][0]["completeness"]["why"], "budget");
}

/// Where a search was stopped, nothing shows that anything is in the way, is missing, or has to move: with more patience
/// this gap has a chain.
#[test]
fn a_search_that_is_stopped_gives_no_reasons_and_no_moves() {
    let boat = run(&["demo"]).ends_with_code(0).out;
    let gap = ["bridge", "-", "drives.outlet", "probe.inlet"];
    let bridge = |more: &[&str]| run_with_stdin(&[&gap[..], more].concat(), &boat);
    bridge(&[]).ends_with_code(0);
    let stopped = bridge(&["--budget", "20"]).ends_with_code(3);
    for claim in ["What is in the way", "close where everything stands", "would pass", "Moves ", "Why, ", "lacks"] {
        assert!(!stopped.out.contains(claim), "`{claim}` in {stopped:#?}");
    }
    let json = bridge(&["--budget", "20", "--format", "json"]).ends_with_code(3).json();
    assert!(json["gaps"][0]["near_misses"].is_null(), "{json:#}");
    bridge(&["--budget", "20", "--apply", "1"]).ends_with_code(2).complains("no moves were looked for; raise --budget");
}

#[test]
fn a_suggested_move_is_applied_to_a_file_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (boat, moved) = (path("boat.ron"), path("moved.ron"));
    run(&["demo", "-o", &boat]).ends_with_code(0);
    let gap = ["probe.outlet", "radiator-a.inlet", "--max-parts", "4"];
    let bridge = |file: &str, more: &[&str]| run(&[&["bridge", file], &gap[..], more].concat());
    let report = bridge(&boat, &[]).ends_with_code(1).says("first bends and runs are blocked at");
    let report =
        report.says("Moves that open it, each").says("1: move `probe` ").says("part chain closes, least clearance ");
    report.says("Moves after which a chain closes that cannot be made up:\n  2: move `probe` ");
    let json = bridge(&boat, &["--format", "json"]).ends_with_code(1).json();
    let moves = json["gaps"][0]["near_misses"]["moves"].as_array().unwrap();
    let told: Vec<_> = moves.iter().map(|one| (&one["component"], &one["make_up"]["verdict"]["kind"])).collect();
    let probe = &Value::from("probe");
    assert_eq!(told, [(probe, &"offered_up".into()), (probe, &"cannot_be_made_up".into())]);
    bridge(&boat, &["--apply", "1", "-o", &boat]).ends_with_code(2).complains("which this run reads");
    bridge(&boat, &["--apply", "99"]).ends_with_code(2).complains("ask for one from 1 to 2");
    bridge(&boat, &["--apply", "1", "-o", &moved]).ends_with_code(0).says_nothing_on_stderr();
    bridge(&moved, &[]).ends_with_code(0).says("made up when `probe` is offered up");
    // The second is smaller and lets a chain close, but opens nothing: that is said when it is made.
    let stiff = bridge(&boat, &["--apply", "2", "-o", &path("stiff.ron")]).ends_with_code(0);
    assert!(stiff.err.contains("cannot be made up"), "{stiff:#?}");
    bridge(&path("stiff.ron"), &[]).ends_with_code(3).says("cannot be made up");
    let [before, after] = [&boat, &moved].map(|file| fs::read_to_string(file).unwrap());
    let changed: Vec<_> = before.lines().zip(after.lines()).filter(|(old, new)| old != new).collect();
    assert!(matches!(changed[..], [(old, _)] if old.contains("\"probe\"")), "{changed:#?}");
    assert_eq!(before.lines().count(), after.lines().count());
    bridge(&moved, &["--apply", "1"]).ends_with_code(2).complains("no move to make");
}

/// Two boxes whose ports face each other 6 mm apart, as JSON: a joiner of 5 mm closes when one moves by 1 mm.
const BOXES: &str = r#"{
  "version": 1, "name": "Two boxes",
  "components": [
    {"name": "a", "solids": [{"shape": {"box": {"size": [40, 40, 40]}}, "at": [0, 0, 20]}], "at": [0, 0, 0],
     "ports": [{"name": "p", "at": [20, 0, 20], "facing": "+x", "thread": "G 1/4", "thread_length_mm": 8, "seat_mm": 24}]},
    {"name": "b", "at": [46.0,  0, 0], "solids": [{"shape": {"box": {"size": [40, 40, 40]}}, "at": [0, 0, 20]}],
     "play": [2, 0, 0],
     "ports": [{"name": "p", "at": [-20, 0, 20], "facing": "-x", "thread": "G 1/4", "thread_length_mm": 8, "seat_mm": 24}]}
  ],
  "gaps": [{"from": "a.p", "to": "b.p"}]
}
"#;

#[test]
fn a_move_is_applied_to_json_as_well() {
    let bridge = |more: &[&str]| run_with_stdin(&[&["bridge", "-", "--max-parts", "1"], more].concat(), BOXES);
    let report = bridge(&[]).ends_with_code(1);
    // A joiner of two male ends without a swivel closes, and cannot be screwed into both ports.
    let report =
        report.says("1: move `b` 4.0 mm along +x and this 1-part chain closes").says("swivel-mm-g14-10; made up");
    report.says("3: move `b` 1.0 mm along -x and this 1-part chain closes").says("joiner-mm-g14-5; cannot be made up");
    let json = bridge(&["--format", "json"]).ends_with_code(1).json();
    let last = &json["gaps"][0]["near_misses"]["moves"][2];
    assert_eq!(last["make_up"]["verdict"]["blocker"]["kind"], "nothing_turns");
    assert_eq!(bridge(&["--apply", "1"]).ends_with_code(0).out, BOXES.replace("46.0", "50"));
    assert_eq!(bridge(&["--apply", "3", "-q"]).ends_with_code(0).out, BOXES.replace("46.0", "45"));
}

/// Ports 1 mm apart: within 5 mm there is only room for joiners without a swivel.
#[test]
fn moves_that_open_nothing_are_not_sold_as_opening_the_gap() {
    let near = BOXES.replace("46.0", "41.0");
    let ran = run_with_stdin(&["bridge", "-", "--max-parts", "1"], &near).ends_with_code(1);
    let ran =
        ran.says("No move was found that opens it; after these a chain closes that cannot be made up (`--apply N`");
    let ran = ran.says("\n  1: move `b` 2.0 mm along +x").says("moves of `b` and `a` of up to 5.0 mm");
    assert!(!ran.out.contains("Moves that open it"), "{ran:#?}");
}

/// Boxes 20 mm apart with a sheet between them, through the hole of which no collar that swivels goes where it has to be.
fn sheet_between() -> String {
    let hole = r#"{"at": [0, 0], "diameter": 20}"#;
    let sheet = format!(
        r#""panels": [{{"name": "sheet", "at": [28, 0, 20], "facing": "+x", "size": [60, 60], "thickness": 4,
  "holes": [{hole}]}}],
  "components""#
    );
    BOXES.replace("46.0", "60.0").replace("\"components\"", &sheet)
}

#[test]
fn no_more_entries_are_listed_than_were_wanted() {
    let layout = sheet_between();
    let bridge = |more: &[&str]| run_with_stdin(&[&["bridge", "-", "--max-parts", "2"], more].concat(), &layout);
    for (want, all, said) in [
        (
            "1",
            &[][..],
            "None of the 22 found can be made up, since none of the assembly motions tried works; the first 2 are listed",
        ),
        ("3", &[], "the first 6 are listed with what"),
        ("3", &["--all"], "the first 6 are listed with what"),
        ("20", &[], "None of these can be made up: none of the assembly motions tried works"),
    ] {
        let asked = [&["--want", want], all].concat();
        let text = bridge(&asked).ends_with_code(3);
        let line: String = text.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(line.contains(said), "{text:#?}");
        assert!(line.contains("22 fit, and no others"), "{text:#?}");
        let json = bridge(&[&asked[..], &["--format", "json"]].concat()).ends_with_code(3).json();
        let chains = json["gaps"][0]["chains"].as_array().unwrap();
        let entries = chains.iter().filter(|chain| chain["variant_of"].is_null()).count();
        assert_eq!(json["want"].to_string(), want);
        assert_eq!(entries.to_string(), if want == "20" { "11" } else { want }, "two orders of each pair of parts");
        assert_eq!(json["gaps"][0]["left_out"], 22 - chains.len());
    }
    bridge(&["--want", "2", "--steps", "5"])
        .ends_with_code(2)
        .complains("there are 4 chains")
        .complains("`--want` lists");
}

/// One that can be made up is listed before better ones that cannot, also where only one is wanted.
#[test]
fn a_chain_that_can_be_made_up_is_preferred_however_few_are_wanted() {
    let boxes = BOXES.replace("46.0", "50.0");
    let bridge = |more: &[&str]| run_with_stdin(&[&["bridge", "-", "--max-parts", "2"], more].concat(), &boxes);
    // A joiner of 10 mm without a swivel loses less.
    let one = bridge(&["--want", "1"]).ends_with_code(0).says("1: swivel-mm-g14-10\n").says("6 fit, and no others.");
    one.says("Of the 6 found, 5 cannot be made up; `--all --want 6` shows what stops them.");
    bridge(&["--want", "1", "--all"]).ends_with_code(0).says("`--all --want 6` shows");
    let json = bridge(&["--want", "1", "--format", "json"]).ends_with_code(0).json();
    let gap = &json["gaps"][0];
    assert_eq!((gap["chains"].as_array().unwrap().len(), &gap["left_out"]), (1, &5.into()));
    let all = bridge(&["--want", "6", "--all"]).ends_with_code(0).says("2: joiner-mm-g14-10\n");
    all.says("Of the 6 found, the last 5 cannot be made up.");
}
