//! `elbowroom help`: the guide in the terminal.

use crate::program::{program, run, run_in};
use elbowroom::guide::PAGES;

#[test]
fn topics_are_listed_and_every_page_is_printed() {
    let list = run(&["help"]).ends_with_code(0).says_nothing_on_stderr();
    for page in PAGES {
        let list = format!("{:?}", list.out);
        assert!(list.contains(page.name) && list.contains(page.summary), "{} is missing in {list}", page.name);
        let shown = run(&["help", page.name]).ends_with_code(0).says_nothing_on_stderr();
        let title = page.text.lines().next().and_then(|line| line.strip_prefix("# ")).expect("a title");
        assert!(shown.out.starts_with(&format!("{title}\n===")), "{shown:?}");
        // Nothing of the markup is left, and nothing is wider than a report but lines of files, which stay as they are.
        for line in shown.out.lines() {
            assert!(line.chars().count() <= 100 || page.text.contains(line.trim()), "{}: {line}", page.name);
            assert!(!line.starts_with("```") && !line.contains("| --- |") && !line.contains("]["), "{line}");
        }
        assert!(!shown.out.contains('\u{1b}'), "escape sequences in what goes to a pipe");
    }
}

#[test]
fn every_word_of_a_page_is_printed() {
    let page = PAGES.iter().find(|page| page.name == "coverage").expect("the page");
    let shown = run(&["help", "coverage"]).ends_with_code(0);
    let letters = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    assert_eq!(letters(&shown.out), letters(page.text));
}

#[test]
fn a_command_is_a_topic_too() {
    for command in ["check", "bridge", "catalog"] {
        let shown = run(&["help", command]).ends_with_code(0).says_nothing_on_stderr();
        assert_eq!(shown.out, run(&[command, "--help"]).ends_with_code(0).out);
    }
}

#[test]
fn an_unknown_topic_suggests_the_nearest() {
    run(&["help", "accurcy"]).ends_with_code(2).complains("no page `accurcy`; did you mean `accuracy`?");
    run(&["help", "layout"]).ends_with_code(2).complains("did you mean `layout-file`?");
    run(&["help", "xyzzy"]).ends_with_code(2).complains("`elbowroom help` lists the topics");
    run(&["help", "words", "--format", "json"]).ends_with_code(2).complains("has no JSON form");
}

#[test]
fn a_page_is_written_to_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("answers.txt");
    let mut command = program();
    command.args(["-o".as_ref(), file.as_os_str()]);
    run_in(command, &["help", "answers"]).ends_with_code(0);
    assert_eq!(std::fs::read_to_string(file).unwrap(), run(&["help", "answers"]).out);
}
