//! The plan of a machine on the command line.

use crate::program::{run, run_with_stdin};
use serde_json::Value;
use std::{fs, path::Path};

fn schema() -> jsonschema::Validator {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/plan.schema.json");
    let schema: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    jsonschema::validator_for(&schema).unwrap()
}

/// The demo has a gap that nothing bridges; all others are planned, and text, JSON and list tell of the same pieces.
#[test]
fn the_demo_is_planned_as_text_json_and_list() {
    let layout = run(&["demo"]).ends_with_code(0).out;
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("list.csv");
    let path = list.to_str().unwrap();
    let asked = ["plan", "-", "--max-parts", "4", "--format", "json", "--list", path];
    let ran = run_with_stdin(&asked, &layout).ends_with_code(1).says_nothing_on_stderr();
    let plan = ran.json();
    assert!(schema().is_valid(&plan), "{:?}", schema().iter_errors(&plan).map(|e| e.to_string()).collect::<Vec<_>>());
    assert_eq!(
        (&plan["format"], &plan["outcome"], &plan["proof"]),
        (&"elbowroom.plan".into(), &"does_not_fit".into(), &"best".into())
    );
    let gaps = plan["gaps"].as_array().unwrap();
    let open: Vec<usize> = (1..=gaps.len()).filter(|gap| gaps[gap - 1]["chain"].is_null()).collect();
    assert_eq!(open, [8]);
    assert_eq!(plan["order"].as_array().unwrap().len(), gaps.len() - 1);

    let csv = fs::read_to_string(&list).unwrap();
    let rows: Vec<&str> = csv.lines().skip(1).collect();
    let items = plan["items"].as_array().unwrap();
    assert_eq!(rows.len(), items.len());
    let pieces: u64 = items.iter().map(|item| item["pieces"].as_u64().unwrap()).sum();
    assert_eq!(Some(pieces), plan["parts"].as_u64());
    let in_list: u64 = rows.iter().map(|row| row.split(',').next().unwrap().parse::<u64>().unwrap()).sum();
    assert_eq!(in_list, pieces);
    let in_chains: usize = gaps.iter().filter_map(|gap| gap["chain"]["parts"].as_array()).map(Vec::len).sum();
    assert_eq!(in_chains as u64, pieces);

    let text = run_with_stdin(&["plan", "-", "--max-parts", "4"], &layout).ends_with_code(1).out;
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains(&format!("{pieces} parts in all")), "{said}");
    assert!(said.contains("Proven best: no other set of chains"), "{said}");
    assert!(said.contains("Nothing is on the list for gap 8"), "{said}");
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
}

#[test]
fn a_list_replaces_nothing_and_a_layout_without_gaps_has_no_plan() {
    let folder = tempfile::tempdir().unwrap();
    let taken = folder.path().join("taken.csv");
    fs::write(&taken, "mine").unwrap();
    let path = taken.to_str().unwrap();
    run(&["plan", "fits.ron", "--list", path]).ends_with_code(2).complains("taken.csv");
    assert_eq!(fs::read_to_string(&taken).unwrap(), "mine");
    run(&["plan", "fits.ron", "--list", path, "--output", path, "--force"])
        .ends_with_code(2)
        .complains("name two files");
    let none = "(version: 1, name: \"nothing\", components: [(name: \"a\", at: (0, 0, 0), solids: [(shape: box(size: (1, 1, 1)))])])";
    run_with_stdin(&["plan", "-"], none).ends_with_code(2).complains("lists no gaps");
}
