//! What the fuzzer found, each as small as it could be made.

use elbowroom::catalog::Catalog;
use elbowroom::layout::Layout;
use elbowroom::source::Source;

/// Reads a text as a catalog and as a layout and shows what is wrong with it.
fn check_text(text: &str) {
    let source = Source::new("fuzzed.ron", text);
    let problems = Catalog::parse(std::slice::from_ref(&source)).expect_err("no catalog");
    assert!(problems.render(false).contains("fuzzed.ron"));
    let problems = Layout::from_source(source, &Catalog::builtin()).expect_err("no layout");
    assert!(problems.render(false).contains("fuzzed.ron"));
}

/// Lines ended by a carriage return alone put the end of the file beyond the last byte shown.
#[test]
fn carriage_returns_alone_are_shown() {
    check_text("{\r\r\n");
    check_text("{\r\r");
    check_text("\r");
}
