//! Why a text could not be read as the data it should hold, the same for RON and JSON.

use super::nearest::{brief, nearest, one_of};
use super::text::Format;
use super::{cause, translate};
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

/// The first fault of a text.
pub(super) struct Fault {
    pub(super) kind: Kind,
    /// The byte it is about.
    pub(super) offset: usize,
}

pub(super) enum Kind {
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
    /// What should have stood there, and how many there were if that is known.
    WrongLength(String, Option<usize>),
    /// A value of the right kind that its own reader refused, in its own words.
    Refused(String),
    /// Marks out of order: only the exact spot tells anything.
    Syntax(Syntax),
}

pub(super) enum Syntax {
    /// A comma is missing, or something else stands where only a comma makes sense.
    Comma,
    /// A mark that closes nothing that is open, in place of a comma.
    WrongMark(char),
    /// Something follows the last item.
    End,
    /// The file ends before the last item does.
    EarlyEnd,
    /// A text or comment goes on to the end of the file.
    NeverClosed,
    /// A text that runs on to the line given probably lacks its closing quote.
    RunsOn(usize),
    /// Anything else, in words.
    Other(String),
}

/// Reads `text`. `Some(..)` around optional values may be left out in RON.
pub(super) fn parse<T: DeserializeOwned>(text: &str, format: Format) -> Result<T, Fault> {
    let fault = match format {
        Format::Ron => {
            let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
            match options.from_str(text) {
                Ok(data) => return Ok(data),
                Err(error) => translate::ron_fault(text, error),
            }
        }
        Format::Json => match serde_json::from_str(text) {
            Ok(data) => return Ok(data),
            Err(error) => translate::json_fault(text, &error),
        },
    };
    Err(cause::at_the_cause(fault, text))
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
        let runs_on = found.starts_with('"') && found.contains('\n');
        let found = brief(found);
        let within = if place.is_empty() { "the file".to_owned() } else { format!("`{place}`") };
        match &self.kind {
            Kind::UnknownField { found, known } => {
                let all = one_of(known.iter().map(String::as_str));
                let help = match nearest(found, known.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`? known here: {all}"),
                    None => format!("known here: {all}"),
                };
                (format!("unknown field `{}`", brief(found)), Some(help))
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
            Kind::WrongValue(expected) => {
                (format!("expected {expected}, found `{found}`"), remedy(expected, &found).map(str::to_owned))
            }
            Kind::WrongLength(expected, count) => {
                let count = count.map_or_else(|| format!("`{found}`"), |count| count.to_string());
                (format!("expected {expected}, found {count}"), None)
            }
            Kind::Refused(message) => {
                (message.clone(), runs_on.then(|| "is the closing `\"` of this text missing?".to_owned()))
            }
            Kind::Syntax(syntax) => syntax.explain(),
        }
    }
}

/// What to do about a value of another kind than expected.
fn remedy(expected: &str, found: &str) -> Option<&'static str> {
    match (expected, found.chars().next()?) {
        (expected, '"') if expected.starts_with("a number") || expected.starts_with("a whole") => {
            Some("numbers stand without quotes")
        }
        (expected, first) if expected.starts_with("text") && first != '"' => {
            Some("put it in double quotes: \"like this\"")
        }
        (expected, '[') if expected.starts_with("values in `(`") => {
            Some("a fixed number of values stands in round brackets: (1, 2, 3)")
        }
        (expected, '(') if expected.starts_with("a list in `[`") => {
            Some("a list stands in square brackets: [(..), (..)]")
        }
        _ => None,
    }
}

impl Syntax {
    fn explain(&self) -> (String, Option<String>) {
        let (message, help) = match self {
            Self::Comma => ("expected a comma".to_owned(), "items are separated by commas".to_owned()),
            Self::WrongMark(found) => (
                format!("expected a comma or the mark that closes what is open, found `{found}`"),
                "`(` is closed by `)`, `[` by `]`, `{` by `}`".to_owned(),
            ),
            Self::End => {
                ("expected the end of the file".to_owned(), "nothing follows the mark that closes the whole".to_owned())
            }
            Self::EarlyEnd => (
                "expected more, found the end of the file".to_owned(),
                "close what is open: each `(`, `[` and `{` needs its counterpart".to_owned(),
            ),
            Self::NeverClosed => (
                "expected an end to what starts here, found the end of the file".to_owned(),
                "close a text with `\"`, a comment with `*/`".to_owned(),
            ),
            Self::RunsOn(line) => (
                format!("expected a comma behind the text that starts here and ends in line {line}"),
                "is its closing `\"` missing?".to_owned(),
            ),
            Self::Other(message) => return (message.clone(), None),
        };
        (message, Some(help))
    }
}
