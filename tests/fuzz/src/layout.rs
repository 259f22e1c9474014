//! The readers on any bytes: a value or problems that can be shown, never a panic.
#![no_main]

use elbowroom::catalog::Catalog;
use elbowroom::layout::Layout;
use elbowroom::source::Source;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let source = Source::new("fuzzed.ron", text);
    if let Err(problems) = Catalog::parse(std::slice::from_ref(&source)) {
        assert!(!problems.render(false).is_empty());
    }
    if let Err(problems) = Layout::from_source(source, &Catalog::builtin()) {
        assert!(!problems.render(false).is_empty());
    }
});
