//! The viewer's program.

fn main() {}
