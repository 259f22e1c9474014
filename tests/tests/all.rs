//! All tests across the crates, in one program: what they share is compiled and linked once.
//!
//! A file is a module here, and its name selects its tests: `cargo test -p elbowroom-tests bridge_brute`.

mod bad_data;
mod bad_wishes;
mod bridge_brute;
mod bridge_degenerate;
mod bridge_invariance;
mod bridge_kinematics;
mod bridge_lost;
mod bridge_oracles;
mod bridge_planted;
mod bridge_pruned;
mod bridge_trade;
mod budget;
mod catalog_data;
mod catalog_errors;
mod circuit;
mod circuit_findings;
mod circuit_heat;
mod clearances;
mod demo;
mod fuzz_finds;
mod geometry;
mod hostile_text;
mod hydraulics_bounds;
mod hydraulics_coolant;
mod hydraulics_heat;
mod hydraulics_losses;
mod hydraulics_network;
mod hydraulics_plot;
mod hydraulics_pump;
mod hydraulics_table;
mod interference;
mod layout_errors;
mod layout_reading;
mod make_up;
mod near_miss;
mod plan;
mod plan_select;
mod postures;
mod proof_judged;
mod proof_rigid;
mod proof_slot;
mod proof_swinging;
mod seats;
mod slack;
mod together;

use std::{ffi::OsStr, fs, path::Path};

/// A file without its line in `all.rs` would not be compiled, and nobody would see that its tests do not run.
#[test]
fn every_file_of_tests_has_its_line() {
    for (package, fewest) in [("tests", 25), ("solver", 6), ("viewer", 4)] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(package).join("tests");
        let named = fs::read_to_string(folder.join("all.rs")).expect("the root of the test program");
        let mut count = 0;
        for entry in fs::read_dir(&folder).expect("the folder of the test program") {
            let path = entry.expect("an entry").path();
            let is_module = path.extension() == Some(OsStr::new("rs")) || path.join("mod.rs").is_file();
            let stem = path.file_stem().and_then(OsStr::to_str).expect("a name in UTF-8");
            if is_module && stem != "all" {
                let line = format!("mod {stem};");
                assert!(named.lines().any(|other| other == line), "{package}/tests/all.rs has no line `{line}`");
                count += 1;
            }
        }
        assert!(count >= fewest, "only {count} files in {}", folder.display());
    }
}
