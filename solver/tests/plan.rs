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

/// What is at hand need not be got; every line that is wrong is told with its place.
#[test]
fn parts_at_hand_are_taken_off_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let stock = folder.path().join("shelf.csv");
    let path = stock.to_str().unwrap();
    let asked = ["plan", "fits.ron", "--format", "json", "--stock", path];
    let all = run(&["plan", "fits.ron", "--format", "json"]).ends_with_code(0).json();
    let first = &all["items"][0];
    let (id, pieces) = (first["fitting"].as_str().unwrap(), first["pieces"].as_u64().unwrap());
    assert_eq!((&first["at_hand"], first["to_get"].as_u64()), (&0.into(), Some(pieces)));
    // More than is needed counts as what is needed.
    fs::write(&stock, format!("id,count\n# the shelf\n\n{id}, {}\n{id},1\n", pieces)).unwrap();
    let some = run(&asked).ends_with_code(0).json();
    assert!(schema().is_valid(&some));
    assert_eq!((some["items"][0]["at_hand"].as_u64(), some["items"][0]["to_get"].as_u64()), (Some(pieces), Some(0)));
    let saved = all["price"].as_f64().unwrap() - some["price"].as_f64().unwrap();
    assert!((saved - first["each"].as_f64().unwrap() * pieces as f64).abs() < 1e-9, "{saved}");
    assert_eq!(some["gaps"], all["gaps"], "the chains do not depend on what is at hand");
    run(&["plan", "fits.ron", "--stock", path]).ends_with_code(0).says("at hand");

    fs::write(&stock, format!("{id},1\nbend-90-g14-compact-swivle,1\n{id},-3\n{id}\n")).unwrap();
    let bad = run(&asked)
        .ends_with_code(2)
        .complains("shelf.csv:2: unknown fitting `bend-90-g14-compact-swivle`; did you mean");
    let bad = bad.complains("shelf.csv:3: expected a whole number of pieces").complains("found `-3`");
    bad.complains("shelf.csv:4: expected an id, a comma and a count");
    run(&["plan", "fits.ron", "--list", path, "--stock", path, "--force"])
        .ends_with_code(2)
        .complains("which this run reads");
}
