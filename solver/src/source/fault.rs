//! Why a text could not be read as the data it should hold, the same for RON and JSON.

use super::nearest::{nearest, one_of};
use super::text::Format;
use ron::error::{Error as RonError, SpannedError};
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

/// The first fault of a text.
pub(super) struct Fault {
    kind: Kind,
    /// The byte at which the reader noticed.
    pub(super) offset: usize,
}

enum Kind {
    UnknownField {
        found: String,
        known: Vec<String>,
    },
    UnknownVariant {
        found: String,
        known: Vec<String>,
    },
    MissingField(String),
    DuplicateField(String),
    /// What should have stood there.
    WrongValue(String),
    /// How many values there should have been, and how many there were if that is known.
    WrongLength(String, Option<usize>),
    /// A value of the right kind that its own reader refused, in its own words.
    Refused(String),
    /// Marks out of order: only the exact spot tells anything.
    Syntax(String),
}

/// Reads `text`. `Some(..)` around optional values may be left out in RON.
pub(super) fn parse<T: DeserializeOwned>(text: &str, format: Format) -> Result<T, Fault> {
    match format {
        Format::Ron => {
            let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
            options.from_str(text).map_err(|error| Fault::from_ron(text, error))
        }
        Format::Json => serde_json::from_str(text).map_err(|error| Fault::from_json(text, &error)),
    }
}

impl Fault {
    /// Whether the text itself is malformed, rather than what it says.
    pub(super) fn is_syntax(&self) -> bool {
        matches!(self.kind, Kind::Syntax(_))
    }

    /// Whether the key is at fault rather than the value.
    pub(super) fn concerns_key(&self) -> bool {
        matches!(self.kind, Kind::UnknownField { .. } | Kind::DuplicateField(_))
    }

    /// The field that is missing, if that is the fault.
    pub(super) fn missing(&self) -> Option<&str> {
        match &self.kind {
            Kind::MissingField(field) => Some(field),
            _ => None,
        }
    }

    /// The known field that an unknown one most likely stands for.
    pub(super) fn meant(&self) -> Option<&str> {
        match &self.kind {
            Kind::UnknownField { found, known } => nearest(found, known.iter().map(String::as_str)),
            _ => None,
        }
    }

    /// The message and the remedy, given what stands in the file and the place of the item.
    pub(super) fn explain(&self, found: &str, place: &str) -> (String, Option<String>) {
        let found = brief(found);
        let within = if place.is_empty() { "the file".to_owned() } else { format!("`{place}`") };
        let choice = |name: &str, known: &[String]| {
            let all = one_of(known.iter().map(String::as_str));
            match nearest(name, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`? known here: {all}"),
                None => format!("known here: {all}"),
            }
        };
        match &self.kind {
            Kind::UnknownField { found, known } => {
                (format!("unknown field `{}`", brief(found)), Some(choice(found, known)))
            }
            Kind::UnknownVariant { found, known } => (
                format!("expected {}, found `{}`", one_of(known.iter().map(String::as_str)), brief(found)),
                nearest(found, known.iter().map(String::as_str)).map(|near| format!("did you mean `{near}`?")),
            ),
            Kind::MissingField(field) => {
                (format!("missing field `{field}` in {within}"), Some(format!("add `{field}`")))
            }
            Kind::DuplicateField(field) => {
                (format!("field `{field}` is given twice"), Some("keep one of the two".to_owned()))
            }
            Kind::WrongValue(expected) => (format!("expected {expected}, found `{found}`"), None),
            Kind::WrongLength(expected, count) => {
                let count = count.map_or_else(|| format!("`{found}`"), |count| count.to_string());
                (format!("expected {expected}, found {count}"), None)
            }
            Kind::Refused(message) => (message.clone(), None),
            Kind::Syntax(message) => (message.clone(), None),
        }
    }

    fn from_ron(text: &str, error: SpannedError) -> Self {
        let offset = offset_of_character(text, error.span.start.line, error.span.start.col);
        Self { kind: ron_kind(error.code), offset }
    }

    fn from_json(text: &str, error: &serde_json::Error) -> Self {
        let line_start = start_of_line(text, error.line());
        // The column counts bytes and names the last one read.
        let offset = (line_start + error.column().saturating_sub(1)).min(text.len());
        let whole = error.to_string();
        let place = format!(" at line {} column {}", error.line(), error.column());
        let message = whole.strip_suffix(place.as_str()).unwrap_or(&whole);
        let kind = if error.is_data() { json_kind(message) } else { json_syntax_kind(message) };
        Self { kind, offset }
    }
}

fn ron_kind(code: RonError) -> Kind {
    let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    let value = |expected: &str| Kind::WrongValue(expected.to_owned());
    match code {
        RonError::NoSuchStructField { expected, found, .. } => Kind::UnknownField { found, known: owned(expected) },
        RonError::NoSuchEnumVariant { expected, found, .. } => Kind::UnknownVariant { found, known: owned(expected) },
        RonError::MissingStructField { field, .. } => Kind::MissingField(field.to_owned()),
        RonError::DuplicateStructField { field, .. } => Kind::DuplicateField(field.to_owned()),
        RonError::ExpectedDifferentLength { expected, found } => Kind::WrongLength(length(&expected), Some(found)),
        RonError::ExpectedFloat => value("a number"),
        RonError::ExpectedInteger => value("a whole number"),
        RonError::IntegerOutOfBounds => value("a whole number, not negative and not huge"),
        RonError::ExpectedString => value("text in double quotes"),
        RonError::ExpectedBoolean => value("`true` or `false`"),
        RonError::ExpectedArray => value("a list in `[` and `]`"),
        RonError::ExpectedStructLike | RonError::ExpectedNamedStructLike(_) => value("values in `(` and `)`"),
        RonError::ExpectedDifferentStructName { expected, .. } => {
            value(&format!("fields in `(` and `)`, or `{expected}(`"))
        }
        RonError::InvalidValueForType { expected, .. } => Kind::WrongValue(in_words(&expected)),
        RonError::ExpectedIdentifier => Kind::Syntax("expected a name".to_owned()),
        RonError::ExpectedComma => {
            Kind::Syntax("expected a comma, or the closing mark of what was opened before".to_owned())
        }
        RonError::ExpectedStructLikeEnd => Kind::Syntax("expected `)`: no more values belong here".to_owned()),
        RonError::ExpectedStringEnd => Kind::Syntax("expected the end of the text that starts here: a `\"`".to_owned()),
        RonError::Eof => Kind::Syntax("the file ends too early: something is still open".to_owned()),
        RonError::TrailingCharacters => Kind::Syntax("expected the end of the file after the last `)`".to_owned()),
        RonError::ExceededRecursionLimit => {
            Kind::Syntax("expected a file, found brackets nested too deeply".to_owned())
        }
        RonError::Message(message) => Kind::Refused(message),
        other => Kind::Syntax(lower_first(&other.to_string())),
    }
}

/// What stood in the message of a `serde` error behind `serde_json`, which keeps only the text.
fn json_kind(message: &str) -> Kind {
    let quoted: Vec<String> = message.split('`').skip(1).step_by(2).map(str::to_owned).collect();
    let first = || quoted.first().cloned().unwrap_or_default();
    let others = || quoted.iter().skip(1).cloned().collect();
    let expected = || in_words(message.rsplit_once("expected ").map_or("something else", |(_, expected)| expected));
    if message.starts_with("unknown field `") {
        Kind::UnknownField { found: first(), known: others() }
    } else if message.starts_with("unknown variant `") {
        Kind::UnknownVariant { found: first(), known: others() }
    } else if message.starts_with("missing field `") {
        Kind::MissingField(first())
    } else if message.starts_with("duplicate field `") {
        Kind::DuplicateField(first())
    } else if let Some(rest) = message.strip_prefix("invalid length ") {
        let count = rest.split(',').next().and_then(|count| count.parse().ok());
        Kind::WrongLength(length(rest.split_once("expected ").map_or(rest, |(_, expected)| expected)), count)
    } else if message.starts_with("invalid type: ") || message.starts_with("invalid value: ") {
        Kind::WrongValue(expected())
    } else {
        Kind::Refused(message.to_owned())
    }
}

fn json_syntax_kind(message: &str) -> Kind {
    match message {
        // What a tuple with too many values comes to.
        "trailing characters" => Kind::Syntax("expected the end: no more values belong here".to_owned()),
        "number out of range" => Kind::Syntax("expected a number, found one too large".to_owned()),
        "recursion limit exceeded" => Kind::Syntax("expected a file, found brackets nested too deeply".to_owned()),
        other if other.starts_with("EOF") => {
            Kind::Syntax("the file ends too early: something is still open".to_owned())
        }
        other => Kind::Syntax(lower_first(other)),
    }
}

/// `an array of length 3` in the words of someone who writes files.
fn length(expected: &str) -> String {
    match expected.rsplit_once("of length ").or_else(|| expected.rsplit_once("of size ")) {
        Some((_, count)) => format!("{count} values"),
        None => in_words(expected),
    }
}

/// What `serde` calls a type, in the words of someone who writes files.
fn in_words(expected: &str) -> String {
    let words = match expected {
        "f64" | "f32" => "a number",
        "u32" | "u64" | "usize" => "a whole number, not negative and not huge",
        "a string" | "string" => "text in double quotes",
        "a boolean" | "boolean" => "`true` or `false`",
        "a sequence" => "a list",
        other if other.starts_with("struct ") || other.starts_with("internally") => "fields",
        other if other.starts_with("enum ") || other.contains("enum") => "one of its kinds",
        other if other.starts_with("an array of length ") => return length(other),
        other => other,
    };
    words.to_owned()
}

/// What stands in the file, short enough for a message and on one line.
fn brief(found: &str) -> String {
    const LONGEST: usize = 40;
    let line = found.lines().next().unwrap_or_default();
    let mut short: String = line.chars().take(LONGEST).collect();
    if short.len() < found.len() {
        short.push_str("...");
    }
    short
}

fn lower_first(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_lowercase().chain(characters).collect())
}

fn start_of_line(text: &str, line: usize) -> usize {
    text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum()
}

/// The byte at a line and a column, both from 1, the column in characters; the end of the text if it lies beyond.
fn offset_of_character(text: &str, line: usize, column: usize) -> usize {
    let start = start_of_line(text, line);
    let rest = text.get(start..).unwrap_or_default();
    start + rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(offset, _)| offset)
}
