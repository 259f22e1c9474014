//! Why a command could not do its work.

use elbowroom::bridge::BadWish;
use std::{io, path::Path};

/// Why a command could not do its work.
#[derive(Debug)]
pub(crate) enum Failure {
    /// A message that says what is wrong, where, and what would be right; without an `error: ` in front.
    Message(String),
    /// The problems of an input file, already set for the terminal.
    Problems(String),
}

impl Failure {
    /// A file or stream that could not be read or written.
    pub(crate) fn io(doing: &str, path: &Path, error: &io::Error) -> Self {
        let remedy = match error.kind() {
            io::ErrorKind::NotFound => "; is the name spelt as on disk?",
            io::ErrorKind::PermissionDenied => "; choose a place that you may use",
            io::ErrorKind::InvalidData => "; expected text in UTF-8",
            _ => "",
        };
        Self::Message(format!("cannot {doing} {}: {}{remedy}", path.display(), plain(error)))
    }
}

impl From<BadWish> for Failure {
    fn from(bad: BadWish) -> Self {
        Self::Message(bad.to_string())
    }
}

/// The operating system's words without its error number.
fn plain(error: &io::Error) -> String {
    let text = error.to_string();
    text.split(" (os error").next().unwrap_or(&text).to_lowercase()
}
