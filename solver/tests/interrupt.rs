//! Ctrl-C during a search: the first ends it with what it has found, the second ends the program at once.
#![cfg(unix)]

use crate::program::{self, program};
use rustix::{
    fs::{Mode, OFlags, open},
    process::{Pid, Signal, kill_process},
    pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt},
};
use serde_json::Value;
use std::{
    fs::File,
    io::Read as _,
    process::{Child, Stdio},
};

/// A search that does not come to its end: all chains of up to eight parts.
const ENDLESS: [&str; 11] = [
    "bridge",
    "-",
    "reservoir.outlet",
    "pump.inlet",
    "--max-parts",
    "8",
    "--want",
    "10000",
    "--flow",
    "4",
    "--format=json",
];

/// What its progress says once all chains of up to three parts are searched, however far it is by then.
const BEYOND_THREE: [&str; 5] =
    ["chains of 4 parts", "chains of 5 parts", "chains of 6 parts", "chains of 7 parts", "chains of 8 parts"];

/// What the program wrote to its terminal up to now.
struct Terminal {
    master: File,
    seen: Vec<u8>,
}

impl Terminal {
    /// Reads on until one of `texts` was written.
    fn wait_for(&mut self, texts: &[&str]) {
        let mut some = [0; 4096];
        let written = |seen: &[u8]| texts.iter().any(|text| String::from_utf8_lossy(seen).contains(text));
        while !written(&self.seen) {
            let count = self.master.read(&mut some).unwrap_or(0);
            let seen = String::from_utf8_lossy(&self.seen);
            assert!(count > 0, "the program ended before it wrote one of {texts:?}: {seen}");
            self.seen.extend_from_slice(&some[..count]);
        }
    }
}

/// Starts the search with a terminal for its messages.
fn start() -> (Child, Terminal) {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap();
    let terminal = open(&*name, OFlags::RDWR | OFlags::NOCTTY, Mode::empty()).unwrap();
    let mut command = program();
    command.args(ENDLESS).env("TERM", "xterm").stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(terminal);
    let mut child = command.spawn().unwrap();
    let (_, layout) = elbowroom_catalog::DEMO;
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), layout.as_bytes()).unwrap();
    (child, Terminal { master: File::from(master), seen: Vec::new() })
}

fn interrupt(child: &Child) {
    kill_process(Pid::from_child(child), Signal::INT).unwrap();
}

#[test]
fn the_first_ends_the_search_with_what_it_found() {
    let (mut child, mut terminal) = start();
    terminal.wait_for(&BEYOND_THREE);
    interrupt(&child);
    terminal.wait_for(&["stopping: what was found so far follows"]);
    let mut written = String::new();
    child.stdout.take().unwrap().read_to_string(&mut written).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(3));

    let stopped: Value = serde_json::from_str(&written).unwrap();
    let stopped = &stopped["gaps"][0];
    assert_eq!(stopped["completeness"]["kind"], "stopped");
    assert_eq!(stopped["completeness"]["why"], "cancelled");
    let parts = stopped["completeness"]["complete_parts"].as_u64().unwrap();
    assert!(parts >= 3, "{parts}");
    let up_to = |gap: &Value, most: usize| -> Vec<Value> {
        let chains = gap["chains"].as_array().unwrap().iter();
        chains.filter(|chain| chain["parts"].as_array().unwrap().len() <= most).cloned().collect()
    };
    let ran = program::run_with_stdin(
        &[
            "bridge",
            "-",
            "reservoir.outlet",
            "pump.inlet",
            "--max-parts=3",
            "--want=10000",
            "--flow=4",
            "--format=json",
        ],
        elbowroom_catalog::DEMO.1,
    );
    let whole = &ran.ends_with_code(0).json()["gaps"][0];
    assert_eq!(up_to(stopped, 3), up_to(whole, 3));
    assert!(!up_to(whole, 3).is_empty());
}

/// The program is held up by a pipe that nobody empties, so that it cannot end by itself before the second signal.
#[test]
fn the_second_ends_the_program_at_once() {
    let (mut child, mut terminal) = start();
    terminal.wait_for(&BEYOND_THREE);
    interrupt(&child);
    terminal.wait_for(&["press Ctrl-C again to end at once"]);
    interrupt(&child);
    assert_eq!(child.wait().unwrap().code(), Some(130));
}
