//! What the README shows is true: each command is run and its output compared to the letter, each file is read, and
//! nothing that can be written or asked for is left out.

use elbowroom::{
    catalog::{self, Catalog},
    layout::{self, Layout},
    source::Source,
};
use serde_json::Value;
use std::{collections::BTreeSet, fs, path::PathBuf, process::Command};

const README: &str = include_str!("../../README.md");
const README_PATH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md");
const WORKED_EXAMPLE: &str = include_str!("../../tests/data/readme/tide-gauge.ron");

/// With `UPDATE_README=1` in the environment, the README is given the output of its commands instead.
#[test]
fn every_command_shown_gives_the_output_shown() {
    let mut readme = README.to_owned();
    let mut commands = 0;
    for block in blocks("console") {
        let mut last_code = None;
        let mut replayed = Vec::new();
        for (command, _) in sessions(block) {
            let given = match command.split_whitespace().collect::<Vec<_>>()[..] {
                ["elbowroom", ref args @ ..] => {
                    let (out, code) = run(args);
                    last_code = Some(code);
                    commands += 1;
                    out
                }
                ["echo", "$?"] => last_code.map(|code| code.to_string()).unwrap_or_default(),
                _ => panic!("the README shows `{command}`, which this test cannot run"),
            };
            replayed.push(format!("$ {command}\n{}", given.trim_end()).trim_end().to_owned());
        }
        readme = readme.replace(block, &replayed.join("\n"));
    }
    assert!(commands >= 3, "only {commands} commands are shown");
    if std::env::var_os("UPDATE_README").is_some() {
        fs::write(README_PATH, &readme).expect("the README can be written");
    } else {
        let differs = README.lines().zip(readme.lines()).find(|(shown, given)| shown != given);
        assert!(
            readme == README,
            "the README shows other output than its commands give; set UPDATE_README=1 to renew it. First: {differs:?}"
        );
    }
}

#[test]
fn the_worked_example_is_the_file_that_the_commands_read() {
    assert!(blocks("ron").contains(&WORKED_EXAMPLE.trim_end()), "the README does not show tide-gauge.ron as it is");
}

#[test]
fn every_file_shown_can_be_read() {
    let catalog = Catalog::builtin();
    let (mut layouts, mut catalogs) = (0, 0);
    for block in blocks("ron") {
        if block.contains("fittings:") {
            let read = Catalog::builtin_with(&[Source::new("README", block)]);
            assert!(read.is_ok(), "{}", read.err().map(|problems| problems.to_string()).unwrap_or_default());
            catalogs += 1;
        } else {
            let read = Layout::parse(block, "README", &catalog);
            assert!(read.is_ok(), "{}", read.err().map(|problems| problems.to_string()).unwrap_or_default());
            layouts += 1;
        }
    }
    assert!(layouts >= 2 && catalogs >= 1, "{layouts} layouts and {catalogs} catalogs are shown");
}

#[test]
fn every_field_of_both_formats_is_named() {
    let mut fields = BTreeSet::new();
    collect_fields(&layout::schema(), &mut fields);
    collect_fields(&catalog::schema(), &mut fields);
    assert!(fields.contains("design_flow_l_min") && fields.contains("collar_mm"), "{fields:?}");
    let named = |field: &str| [format!("`{field}`"), format!("`{field}(")].iter().any(|text| README.contains(text));
    let missing: Vec<_> = fields.iter().filter(|field| !named(field)).collect();
    assert!(missing.is_empty(), "the README does not name {missing:?}");
}

#[test]
fn every_option_and_exit_code_of_the_help_is_named() {
    let help: String =
        [&["--help"][..], &["check", "--help"], &["bridge", "--help"], &["flow", "--help"], &["catalog", "--help"]]
            .map(|args| run(args).0)
            .concat();
    let options: BTreeSet<&str> = help
        .split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'))
        .filter(|word| word.len() > 3 && word.starts_with("--"))
        .collect();
    assert!(options.contains("--max-parts"), "{options:?}");
    let missing: Vec<_> = options.iter().filter(|option| !README.contains(&format!("`{option}"))).collect();
    assert!(missing.is_empty(), "the README does not name {missing:?}");
    let codes = help.lines().skip_while(|line| *line != "Exit codes:").skip(1).map_while(|line| {
        let (code, meaning) = line.trim().split_once("  ")?;
        code.parse::<u8>().ok().map(|code| format!("| {code} | {meaning} |"))
    });
    let codes: Vec<String> = codes.collect();
    assert_eq!(codes.len(), 5, "{codes:?}");
    let missing: Vec<_> = codes.iter().filter(|row| !README.contains(*row)).collect();
    assert!(missing.is_empty(), "the README does not have the rows {missing:?}");
}

/// The fenced blocks of a language, without their fences.
fn blocks(language: &str) -> Vec<&'static str> {
    let opening = format!("```{language}\n");
    let after = README.split(opening.as_str()).skip(1);
    let blocks: Vec<&str> = after.filter_map(|rest| rest.split("\n```").next()).collect();
    assert!(!blocks.is_empty(), "no block of {language}");
    blocks
}

/// Each `$ command` of a block with what is shown under it.
fn sessions(block: &str) -> Vec<(String, String)> {
    let mut sessions: Vec<(String, String)> = Vec::new();
    for line in block.lines() {
        match (line.strip_prefix("$ "), sessions.last_mut()) {
            (Some(command), _) => sessions.push((command.to_owned(), String::new())),
            (None, Some((_, shown))) => {
                if !shown.is_empty() {
                    shown.push('\n');
                }
                shown.push_str(line);
            }
            (None, None) => panic!("output without a command: {line}"),
        }
    }
    for (_, shown) in &mut sessions {
        shown.truncate(shown.trim_end().len());
    }
    sessions
}

/// Runs the program beside the file of the worked example: what it says, messages first, and its exit code.
fn run(args: &[&str]) -> (String, i32) {
    let folder: PathBuf = [env!("CARGO_MANIFEST_DIR"), "..", "tests", "data", "readme"].iter().collect();
    let ran = Command::new(env!("CARGO_BIN_EXE_elbowroom"))
        .args(args)
        .current_dir(folder)
        .env_remove("COLUMNS")
        .output()
        .expect("the program starts");
    let out = [ran.stderr, ran.stdout].concat();
    (String::from_utf8(out).expect("text"), ran.status.code().expect("an exit code"))
}

/// The names of all properties in a JSON Schema, at any depth.
fn collect_fields(schema: &Value, fields: &mut BTreeSet<String>) {
    match schema {
        Value::Object(object) => {
            if let Some(Value::Object(properties)) = object.get("properties") {
                fields.extend(properties.keys().cloned());
            }
            object.values().for_each(|value| collect_fields(value, fields));
        }
        Value::Array(values) => values.iter().for_each(|value| collect_fields(value, fields)),
        _ => {}
    }
}
