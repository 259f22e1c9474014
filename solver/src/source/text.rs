//! A text with a name.

use super::problem::{Problem, Problems, Spot};
use std::{fs::File, io::Read, path::Path, string::FromUtf8Error, sync::Arc};

/// Largest file that is read, in bytes. A machine described by hand stays far below; a limit keeps a mistaken path
/// (a disk image, an endless device) from filling the memory.
pub const LARGEST_SOURCE_BYTES: usize = 8 * 1024 * 1024;

/// A text and the name under which problems in it are reported.
///
/// The text is RON, or JSON of the same shape: it is taken for JSON if the name ends in `.json` or its first
/// character that is not blank is `{`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Source {
    name: String,
    text: String,
}

/// How a text is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Ron,
    Json,
}

impl Source {
    /// A text that is already in memory. A byte-order mark at its start is dropped.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let mut text = text.into();
        if text.starts_with('\u{feff}') {
            text.drain(..'\u{feff}'.len_utf8());
        }
        Self { name: name.into(), text }
    }

    /// Reads everything from `reader`, such as standard input.
    ///
    /// # Errors
    /// When the reader fails, yields more than [`LARGEST_SOURCE_BYTES`], or its text is not UTF-8.
    pub fn from_reader(name: impl Into<String>, reader: impl Read) -> Result<Self, Problems> {
        let name = name.into();
        let refuse = |message: String, help: &str| {
            Err(Problems::from(Problem::new(Spot::whole_file(&name), message).help(help)))
        };
        let mut bytes = Vec::new();
        if let Err(error) = reader.take(LARGEST_SOURCE_BYTES as u64 + 1).read_to_end(&mut bytes) {
            return refuse(format!("cannot read the file: {error}"), "check the path and its permissions");
        }
        if bytes.len() > LARGEST_SOURCE_BYTES {
            return refuse(
                format!("expected a file of at most {} MiB, found a larger one", LARGEST_SOURCE_BYTES / 1024 / 1024),
                "check that this is the file you meant",
            );
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Self::new(name, text)),
            Err(error) => Err(Self::no_text(name, &error).into()),
        }
    }

    /// What is wrong with bytes that are no text, shown at the first of them; others stand for what cannot be shown.
    fn no_text(name: String, error: &FromUtf8Error) -> Problem {
        let (bytes, valid) = (error.as_bytes(), error.utf8_error().valid_up_to());
        let (message, help) = match bytes {
            [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => {
                ("expected UTF-8 text, found UTF-16".to_owned(), "save the file as UTF-8 text")
            }
            _ if bytes.contains(&0) => {
                ("expected UTF-8 text, found other data".to_owned(), "check that this is the file you meant")
            }
            _ => {
                let found = bytes.get(valid).copied().unwrap_or_default();
                (format!("expected UTF-8 text, found the byte 0x{found:02X}"), "save the file as UTF-8 text")
            }
        };
        let shown = Self::new(name, String::from_utf8_lossy(bytes));
        // Up to the first byte that is none of a text both are the same, less a byte-order mark.
        let at = valid.saturating_sub(if bytes.starts_with("\u{feff}".as_bytes()) { 3 } else { 0 });
        Problem::new(Spot::new(Arc::new(shown), String::new(), Some(at..at + 1)), message).help(help)
    }

    /// Reads the file at `path`.
    ///
    /// # Errors
    /// When the file cannot be read, is larger than [`LARGEST_SOURCE_BYTES`], or is not UTF-8.
    pub fn read(path: impl AsRef<Path>) -> Result<Self, Problems> {
        let path = path.as_ref();
        let name = path.display().to_string();
        match File::open(path) {
            Ok(file) => Self::from_reader(name, file),
            Err(error) => {
                let problem = Problem::new(Spot::whole_file(&name), format!("cannot open the file: {error}"));
                Err(problem.help("check the path and its permissions").into())
            }
        }
    }

    /// The name under which problems are reported: a path, or what the text is.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text, without a byte-order mark.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    pub(super) fn format(&self) -> Format {
        let json = self.name.to_ascii_lowercase().ends_with(".json") || self.text.trim_start().starts_with('{');
        if json { Format::Json } else { Format::Ron }
    }
}
