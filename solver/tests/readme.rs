//! What the README and the guide show is true: each command is run and its output compared to the letter, each file is
//! read, links lead somewhere, and nothing that can be written or asked for is left out.

use elbowroom::{
    catalog::{self, Catalog},
    guide::PAGES,
    layout::{self, Layout},
    source::Source,
};
use pulldown_cmark::{Event, Parser, Tag};
use serde_json::Value;
use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    process::Command,
};

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
const WORKED_EXAMPLE: &str = include_str!("../../tests/data/readme/tide-gauge.ron");

/// The README or a page of the guide.
struct Document {
    path: PathBuf,
    text: String,
}

/// With `UPDATE_README=1` in the environment, the documents are given the output of their commands instead.
#[test]
fn every_command_shown_gives_the_output_shown() {
    let mut commands = 0;
    for Document { path, text } in documents() {
        let mut renewed = text.clone();
        for block in blocks(&text, "console") {
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
                    _ => panic!("{} shows `{command}`, which this test cannot run", path.display()),
                };
                replayed.push(format!("$ {command}\n{}", given.trim_end()).trim_end().to_owned());
            }
            renewed = renewed.replace(block, &replayed.join("\n"));
        }
        if std::env::var_os("UPDATE_README").is_some() {
            fs::write(&path, &renewed).expect("the document can be written");
        } else {
            let differs = text.lines().zip(renewed.lines()).find(|(shown, given)| shown != given);
            assert!(
                text == renewed,
                "{} shows other output than its commands give; set UPDATE_README=1 to renew it. First: {differs:?}",
                path.display()
            );
        }
    }
    assert!(commands >= 9, "only {commands} commands are shown");
}

#[test]
fn the_worked_example_is_the_file_that_the_commands_read() {
    let shown = documents().iter().filter(|page| page.text.contains(WORKED_EXAMPLE.trim_end())).count();
    assert_eq!(shown, 2, "the README and the guide show tide-gauge.ron as it is");
}

#[test]
fn every_file_shown_can_be_read() {
    let catalog = Catalog::builtin();
    let (mut layouts, mut catalogs) = (0, 0);
    for document in documents() {
        let name = document.path.display().to_string();
        for block in blocks(&document.text, "ron") {
            if block.contains("fittings:") {
                let read = Catalog::builtin_with(&[Source::new(&name, block)]);
                assert!(read.is_ok(), "{}", read.err().map(|problems| problems.to_string()).unwrap_or_default());
                catalogs += 1;
            } else {
                let read = Layout::parse(block, &name, &catalog);
                assert!(read.is_ok(), "{}", read.err().map(|problems| problems.to_string()).unwrap_or_default());
                layouts += 1;
            }
        }
    }
    assert!(layouts >= 3 && catalogs >= 1, "{layouts} layouts and {catalogs} catalogs are shown");
}

#[test]
fn every_field_of_both_formats_is_named() {
    let mut fields = BTreeSet::new();
    collect_fields(&layout::schema(), &mut fields);
    collect_fields(&catalog::schema(), &mut fields);
    assert!(fields.contains("design_flow_l_min") && fields.contains("collar_mm"), "{fields:?}");
    let all = whole_text();
    let named = |field: &str| [format!("`{field}`"), format!("`{field}(")].iter().any(|text| all.contains(text));
    let missing: Vec<_> = fields.iter().filter(|field| !named(field)).collect();
    assert!(missing.is_empty(), "the guide does not name {missing:?}");
}

#[test]
fn every_option_and_exit_code_of_the_help_is_named() {
    let help: String = [
        &["--help"][..],
        &["check", "--help"],
        &["bridge", "--help"],
        &["plan", "--help"],
        &["flow", "--help"],
        &["catalog", "--help"],
    ]
    .map(|args| run(args).0)
    .concat();
    let options: BTreeSet<&str> = help
        .split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'))
        .filter(|word| word.len() > 3 && word.starts_with("--"))
        .collect();
    assert!(options.contains("--max-parts"), "{options:?}");
    let all = whole_text();
    let missing: Vec<_> = options.iter().filter(|option| !all.contains(&format!("`{option}"))).collect();
    assert!(missing.is_empty(), "the guide does not name {missing:?}");
    let codes = help.lines().skip_while(|line| *line != "Exit codes:").skip(1).map_while(|line| {
        let (code, meaning) = line.trim().split_once("  ")?;
        code.parse::<u8>().ok().map(|code| format!("| {code} | {meaning} |"))
    });
    let codes: Vec<String> = codes.collect();
    assert_eq!(codes.len(), 6, "{codes:?}");
    let missing: Vec<_> = codes.iter().filter(|row| !all.contains(*row)).collect();
    assert!(missing.is_empty(), "the guide does not have the rows {missing:?}");
}

#[test]
fn the_readme_is_short_and_lists_every_page() {
    let readme = Document::read(Path::new(ROOT).join("README.md"));
    let lines = readme.text.lines().count();
    assert!(lines <= 250, "the README has {lines} lines; what is not for a first look goes to the guide");
    let output: usize = blocks(&readme.text, "console").iter().map(|block| block.lines().count()).sum();
    assert!(output <= 60, "the worked example of the README has {output} lines of output");
    for page in PAGES {
        let row = format!("| [{}] | {} |", page.name, page.summary);
        assert!(readme.text.contains(&row), "the README lacks the row {row}");
    }
}

#[test]
fn every_link_leads_somewhere() {
    let mut links = 0;
    let developers = Document::read(Path::new(ROOT).join("DEVELOPERS.md"));
    for document in documents().into_iter().chain([developers]) {
        for event in Parser::new(&document.text) {
            let Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) = event else { continue };
            if dest_url.starts_with("https://") {
                continue;
            }
            links += 1;
            let (file, heading) = dest_url.split_once('#').unwrap_or((&dest_url, ""));
            let folder = document.path.parent().expect("a folder");
            let target = if file.is_empty() { document.path.clone() } else { folder.join(file) };
            assert!(target.is_file(), "{} links to {dest_url}, which is not there", document.path.display());
            let found = heading.is_empty() || anchors(&Document::read(target).text).contains(heading);
            assert!(found, "{} links to {dest_url}, a heading that is not there", document.path.display());
        }
        // What is written as a link but has no definition stays in the text, brackets and all.
        let prose: String = Parser::new(&document.text).filter_map(text_of).collect();
        for page in PAGES {
            let open = format!("[{}]", page.name);
            assert!(!prose.contains(&open), "{} does not define {open}", document.path.display());
        }
    }
    assert!(links >= 20, "only {links} links were looked at");
}

/// The README, then the pages of the guide.
fn documents() -> Vec<Document> {
    let root = Path::new(ROOT);
    let folder = fs::read_dir(root.join("solver/guide")).expect("the guide");
    let mut pages: Vec<PathBuf> = folder.map(|entry| entry.expect("an entry").path()).collect();
    pages.sort();
    let names: BTreeSet<_> = pages.iter().filter_map(|page| page.file_stem()?.to_str()).collect();
    let listed: BTreeSet<_> = PAGES.iter().map(|page| page.name).collect();
    assert_eq!(names, listed, "the pages in solver/guide are those in solver/src/guide.rs");
    [root.join("README.md")].into_iter().chain(pages).map(Document::read).collect()
}

impl Document {
    fn read(path: PathBuf) -> Self {
        let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        Self { path, text }
    }
}

/// The text of all documents.
fn whole_text() -> String {
    documents().into_iter().map(|document| document.text).collect()
}

/// The fenced blocks of a language, without their fences.
fn blocks<'a>(text: &'a str, language: &str) -> Vec<&'a str> {
    let opening = format!("```{language}\n");
    text.split(opening.as_str()).skip(1).filter_map(|rest| rest.split("\n```").next()).collect()
}

/// What the headings of a text are linked by: their words in small letters, joined by hyphens.
fn anchors(text: &str) -> BTreeSet<String> {
    let headings = text.lines().filter_map(|line| line.strip_prefix('#'));
    let kept = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '-');
    headings
        .map(|heading| heading.trim_start_matches('#').trim().chars().filter(kept).collect::<String>())
        .map(|heading| heading.to_lowercase().replace(' ', "-"))
        .collect()
}

/// The words of an event, without code.
fn text_of(event: Event<'_>) -> Option<String> {
    match event {
        Event::Text(text) => Some(text.into_string()),
        _ => None,
    }
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
