//! The viewer as its users see it, in one test program: linked with Bevy, each would weigh 300 MB.
//!
//! A file is a module here, and its name selects its tests: `cargo test -p elbowroom-viewer render`. A test in
//! `tests/tests/all.rs` looks after it that no file is left out.

mod clicks;
mod keeping;
mod labels;
mod likeness;
mod program;
mod render;
mod rest;
mod seeing;
