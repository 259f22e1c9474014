//! Running the program and looking at what it leaves behind.

use serde_json::Value;
use std::{
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
};

/// A layout of the test data.
pub(crate) fn layout(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/data/cli").join(name)
}

pub(crate) fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_elbowroom"));
    command.env_remove("NO_COLOR").stdin(Stdio::null());
    command
}

/// Runs the program; an argument that ends in `.ron` and has no `/` is a layout of the test data.
pub(crate) fn run(arguments: &[&str]) -> Ran {
    run_in(program(), arguments)
}

pub(crate) fn run_in(mut command: Command, arguments: &[&str]) -> Ran {
    for argument in arguments {
        match argument.ends_with(".ron") && !argument.contains('/') {
            true => command.arg(layout(argument)),
            false => command.arg(argument),
        };
    }
    Ran::new(&command.output().unwrap(), arguments)
}

pub(crate) fn run_with_stdin(arguments: &[&str], input: &str) -> Ran {
    let mut command = program();
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    Ran::new(&child.wait_with_output().unwrap(), arguments)
}

/// What a run left behind.
#[derive(Debug)]
pub(crate) struct Ran {
    #[expect(dead_code, reason = "shown when an assertion fails")]
    arguments: String,
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    pub(crate) fn new(output: &Output, arguments: &[&str]) -> Self {
        Self {
            arguments: arguments.join(" "),
            code: output.status.code(),
            out: String::from_utf8(output.stdout.clone()).unwrap(),
            err: String::from_utf8(output.stderr.clone()).unwrap(),
        }
    }

    #[track_caller]
    pub(crate) fn ends_with_code(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{self:#?}");
        self
    }

    #[track_caller]
    pub(crate) fn says(self, text: &str) -> Self {
        assert!(self.out.contains(text), "no `{text}` in {self:#?}");
        self
    }

    #[track_caller]
    pub(crate) fn complains(self, text: &str) -> Self {
        assert!(self.err.contains(text), "no `{text}` in {self:#?}");
        assert!(self.out.is_empty(), "results beside an error: {self:#?}");
        self
    }

    #[track_caller]
    pub(crate) fn says_nothing_on_stderr(self) -> Self {
        assert!(self.err.is_empty(), "{self:#?}");
        self
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error} in {self:#?}"))
    }
}
