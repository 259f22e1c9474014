//! From the words of `ron` and `serde_json` to those of someone who writes files.

use super::fault::{Fault, Kind, Syntax};
use ron::error::{Error as RonError, SpannedError};

pub(super) fn ron_fault(text: &str, error: SpannedError) -> Fault {
    let offset = offset_of_character(text, error.span.start.line, error.span.start.col);
    Fault { kind: ron_kind(error.code), offset }
}

pub(super) fn json_fault(text: &str, error: &serde_json::Error) -> Fault {
    // The column counts bytes and names the last one read.
    let offset = (start_of_line(text, error.line()) + error.column().saturating_sub(1)).min(text.len());
    let whole = error.to_string();
    let place = format!(" at line {} column {}", error.line(), error.column());
    let message = whole.strip_suffix(place.as_str()).unwrap_or(&whole);
    let kind = if error.is_data() { json_data(message) } else { json_syntax(message) };
    Fault { kind, offset }
}

fn ron_kind(code: RonError) -> Kind {
    let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    let value = |expected: &str| Kind::WrongValue(expected.to_owned());
    let other = |message: &str| Kind::Syntax(Syntax::Other(message.to_owned()));
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
        RonError::ExpectedStructLike
        | RonError::ExpectedNamedStructLike(_)
        | RonError::ExpectedDifferentStructName { .. } => value("values in `(` and `)`"),
        RonError::InvalidValueForType { expected, .. } => Kind::WrongValue(in_words(&expected)),
        RonError::Message(message) => Kind::Refused(message),
        RonError::ExpectedComma => Kind::Syntax(Syntax::Comma),
        RonError::Eof => Kind::Syntax(Syntax::EarlyEnd),
        RonError::TrailingCharacters => Kind::Syntax(Syntax::End),
        RonError::ExpectedStringEnd | RonError::UnclosedBlockComment => Kind::Syntax(Syntax::NeverClosed),
        RonError::ExpectedStructLikeEnd
        | RonError::ExpectedArrayEnd
        | RonError::ExpectedMapEnd
        | RonError::ExpectedOptionEnd => Kind::NoEnd,
        RonError::ExpectedMapColon => Kind::NoColon,
        RonError::ExpectedIdentifier | RonError::InvalidIdentifier(_) | RonError::SuggestRawIdentifier(_) => {
            Kind::NoName
        }
        RonError::InvalidEscape(_) => Kind::Escape,
        RonError::ExpectedAttribute | RonError::ExpectedAttributeEnd | RonError::NoSuchExtension(_) => {
            other("expected an extension of RON such as `#![enable(implicit_some)]`, or none")
        }
        RonError::ExceededRecursionLimit => other("expected a layout or catalog, found marks nested too deeply"),
        // What is left is about values of kinds that no file here holds, or about signs within numbers.
        _ => Kind::NoValue,
    }
}

/// What stood in the message of a `serde` error, of which `serde_json` keeps only the text.
fn json_data(message: &str) -> Kind {
    let quoted: Vec<String> = message.split('`').skip(1).step_by(2).map(str::to_owned).collect();
    let first = || quoted.first().cloned().unwrap_or_default();
    let others = || quoted.iter().skip(1).cloned().collect();
    let expected = || message.rsplit_once("expected ").map_or("something else", |(_, expected)| expected);
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
        Kind::WrongLength(length(expected()), count)
    } else if message.starts_with("invalid type: ") || message.starts_with("invalid value: ") {
        Kind::WrongValue(in_words(expected()))
    } else {
        Kind::Refused(message.to_owned())
    }
}

fn json_syntax(message: &str) -> Kind {
    let other = |message: &str| Kind::Syntax(Syntax::Other(message.to_owned()));
    match message {
        // Also what a list of fixed length with too many values comes to.
        "trailing characters" => Kind::NoEnd,
        "trailing comma" => Kind::LastComma,
        "expected `,` or `]`" | "expected `,` or `}`" => Kind::Syntax(Syntax::Comma),
        "expected `:`" => Kind::NoColon,
        "key must be a string" => Kind::Quotes,
        "number out of range" => Kind::WrongValue("a number that is not too large".to_owned()),
        "recursion limit exceeded" => other("expected a layout or catalog, found marks nested too deeply"),
        "EOF while parsing a string" => Kind::Syntax(Syntax::NeverClosed),
        early if early.starts_with("EOF") => Kind::Syntax(Syntax::EarlyEnd),
        control if control.starts_with("control character") => {
            other("expected the closing `\"` of a text before the end of its line")
        }
        escape if ["escape", "surrogate", "code point"].iter().any(|word| escape.contains(word)) => Kind::Escape,
        _ => Kind::NoValue,
    }
}

/// `an array of length 3`, in words.
fn length(expected: &str) -> String {
    match expected.rsplit_once("of length ").or_else(|| expected.rsplit_once("of size ")) {
        Some((_, count)) => format!("{count} values"),
        None => in_words(expected),
    }
}

/// What `serde` calls a type, in words.
fn in_words(expected: &str) -> String {
    let words = match expected {
        "f64" | "f32" => "a number",
        "u32" | "u64" | "usize" => "a whole number, not negative and not huge",
        "a string" | "string" => "text in double quotes",
        "a boolean" | "boolean" => "`true` or `false`",
        "a sequence" => "a list",
        array if array.starts_with("an array of length ") => return length(array),
        fields if fields.starts_with("struct ") => "fields",
        _ => "another value",
    };
    words.to_owned()
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
