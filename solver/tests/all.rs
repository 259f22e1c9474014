//! The program as its users run it, its reports and its documents, in one test program.
//!
//! A file is a module here, and its name selects its tests: `cargo test -p elbowroom readme`. A test in
//! `tests/tests/all.rs` looks after it that no file is left out.

mod cli;
mod flow;
mod help;
mod interrupt;
mod open_gaps;
mod plan;
mod program;
mod ranking;
mod readme;
mod report;
mod schema;
mod seats;
