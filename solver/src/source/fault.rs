//! Why a text could not be read as the data it should hold, the same for RON and JSON.

use super::nearest::{brief, nearest, one_of};
use super::sample::Wanted;
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
    /// Something that is no value of the kind that should have stood there, whatever that is.
    NoValue,
    /// A name with nothing in parentheses behind it.
    NoContent,
    /// Nothing where a value should have stood.
    Blank,
    /// What should have stood there, and how many there were if that is known.
    WrongLength(String, Option<usize>),
    /// A value of the right kind that its own reader refused, in its own words.
    Refused(String),
    /// A single `\` in a text.
    Escape,
    /// Something else than a name; see `settle` for what that means where.
    NoName,
    /// A name with signs in it that no name has.
    BadName,
    /// A value without a name among fields; whether it may be what follows a decimal comma.
    Nameless(bool),
    /// A name in quotes in RON, or without in JSON.
    Quotes,
    /// More values than belong there, or a comma missing between them; see `settle`.
    NoEnd,
    /// A value too many.
    Surplus,
    /// A value too many, because of a decimal that was written with a comma: its whole part and what follows.
    DecimalComma(String, String),
    /// A colon is missing between name and value.
    NoColon,
    /// JSON allows no comma behind what comes last.
    LastComma,
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

    /// Whether it is about the very byte, rather than about the item there.
    pub(super) fn is_at_offset(&self) -> bool {
        matches!(self.kind, Kind::Syntax(_) | Kind::Blank | Kind::LastComma | Kind::Escape)
    }

    /// Whether the key is at fault rather than the value.
    pub(super) fn concerns_key(&self) -> bool {
        matches!(self.kind, Kind::UnknownField { .. } | Kind::DuplicateField(_) | Kind::Quotes | Kind::BadName)
    }

    /// The field that is missing, if that is the fault.
    pub(super) fn missing(&self) -> Option<&str> {
        match &self.kind {
            Kind::MissingField(field) => Some(field),
            _ => None,
        }
    }

    /// What the file is if its fields are those of the other kind of file, and what to do with it.
    pub(super) fn other_file(&self) -> Option<(&'static str, &'static str)> {
        let Kind::UnknownField { found, known } = &self.kind else { return None };
        let is_known = |field: &str| known.iter().any(|known| known == field);
        match found.as_str() {
            "fittings" if is_known("gaps") => {
                Some(("expected a layout, found a catalog", "give a catalog with `--catalog FILE`, beside the layout"))
            }
            "panels" | "gaps" if is_known("fittings") => {
                Some(("expected a catalog, found a layout", "give a layout by itself, behind the command"))
            }
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

    /// The message and the remedy.
    pub(super) fn explain(&self, around: &Around<'_>) -> (String, Option<String>) {
        let runs_on = around.found.starts_with('"') && around.found.contains('\n');
        let found = brief(around.found);
        let within = if around.place.is_empty() { "the file".to_owned() } else { format!("`{}`", around.place) };
        if let Some((message, help)) = self.other_file() {
            return (message.to_owned(), Some(help.to_owned()));
        }
        let (message, help) = match &self.kind {
            Kind::UnknownField { found, known } => {
                let all = one_of(known.iter().map(String::as_str));
                let help = match nearest(found, known.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`? known here: {all}"),
                    None => format!("known here: {all}"),
                };
                (format!("unknown field `{}`", brief(found)), help)
            }
            Kind::UnknownVariant { found, known } => {
                let message =
                    format!("expected {}, found `{}`", one_of(known.iter().map(String::as_str)), brief(found));
                let near = nearest(found, known.iter().map(String::as_str));
                return (message, near.map(|near| format!("did you mean `{near}`?")));
            }
            Kind::MissingField(field) => (format!("missing field `{field}` in {within}"), format!("add `{field}`")),
            Kind::DuplicateField(field) => {
                (format!("field `{field}` is given twice"), "keep one of the two".to_owned())
            }
            Kind::WrongValue(expected) => return around.wrong(expected, &found),
            Kind::NoValue => return around.wrong("another value", &found),
            Kind::NoContent => (
                format!("expected `{found}` with something in it, found the name alone"),
                if around.format == Format::Json {
                    "write it like {\"sphere\": {..}}"
                } else {
                    "write it like sphere(..)"
                }
                .to_owned(),
            ),
            Kind::NoName | Kind::BadName => (
                format!("expected a field, {}, found `{found}`", around.field()),
                "names are of letters, digits and `_`".to_owned(),
            ),
            Kind::Blank => ("expected a value".to_owned(), "write a value, or leave the comma out".to_owned()),
            Kind::WrongLength(expected, count) => {
                let count = count.map_or_else(|| format!("`{found}`"), |count| count.to_string());
                return (format!("expected {expected}, found {count}"), None);
            }
            Kind::Refused(message) => {
                let help = runs_on.then(|| "is the closing `\"` of this text missing?".to_owned());
                return (message.clone(), help);
            }
            Kind::Escape => (
                "expected an escape such as `\\\\`, `\\\"` or `\\n` behind each `\\` in a text".to_owned(),
                "write `\\\\` for a single `\\`".to_owned(),
            ),
            Kind::Nameless(decimal) => (
                format!("expected a field, {}, found `{found}`", around.field()),
                if *decimal { "write a decimal with a point: 2.5" } else { "give the value a name, or leave it out" }
                    .to_owned(),
            ),
            Kind::Quotes if around.format == Format::Json => {
                (format!("expected a name in double quotes, found `{found}`"), "write it like \"name\"".to_owned())
            }
            Kind::Quotes => {
                let help = "quotes around names are for JSON, whose files begin with `{`";
                (format!("expected a name without quotes, found `{found}`"), help.to_owned())
            }
            Kind::NoEnd | Kind::Surplus => {
                (format!("expected the end, found `{found}`: no more values belong here"), "leave it out".to_owned())
            }
            Kind::DecimalComma(whole, rest) => (
                format!("expected a number, found `{whole},{rest}`: a comma separates values"),
                format!("write a decimal with a point: {whole}.{rest}"),
            ),
            Kind::NoColon => {
                (format!("expected `:` in front of `{found}`"), format!("write fields {}", around.field()))
            }
            Kind::LastComma => {
                ("expected another item behind the comma, found none".to_owned(), "leave the comma out".to_owned())
            }
            Kind::Syntax(syntax) => return syntax.explain(),
        };
        (message, Some(help))
    }
}

/// What to do about a file that is none.
pub(super) const HOW_FILES_BEGIN: &str = "a file begins with `(version: 1,`, or as JSON with `{\"version\": 1,`";

/// What stands around a fault.
pub(super) struct Around<'a> {
    pub(super) format: Format,
    /// The text that is at fault.
    pub(super) found: &'a str,
    /// The place of the item; empty if it is the file as a whole.
    pub(super) place: &'a str,
    /// Whether it is the file as a whole that is at fault.
    pub(super) is_file: bool,
    /// What its type wants there, if that is known.
    pub(super) wanted: Option<Wanted>,
}

impl Around<'_> {
    /// How a field is written.
    fn field(&self) -> &'static str {
        if self.format == Format::Json { "such as `\"at\": [0, 0, 0]`" } else { "such as `at: (0, 0, 0)`" }
    }

    /// A value of another kind than expected, and what to do about it.
    fn wrong(&self, expected: &str, found: &str) -> (String, Option<String>) {
        let (quoted, json) = (found.starts_with('"'), self.format == Format::Json);
        // What the reader says of a whole number is more than what the type does; of marks it is RON's in any case.
        let expected = match self.wanted {
            Some(wanted) if !expected.starts_with("a whole number") => wanted.in_words(self.format),
            _ => expected.to_owned(),
        };
        let help = match self.wanted.or_else(|| Wanted::told(&expected)) {
            _ if self.is_file => Some(HOW_FILES_BEGIN),
            Some(Wanted::Number | Wanted::Whole) if quoted => Some("numbers stand without quotes"),
            Some(Wanted::Number | Wanted::Whole) if has_unit(found) => Some("write the number alone, without a unit"),
            Some(Wanted::Text) if !quoted => Some("put it in double quotes: \"like this\""),
            Some(Wanted::Choice(_)) if quoted && !json => Some("write it without quotes"),
            Some(Wanted::Choice(_)) if !quoted && json => Some("put a name in double quotes: \"like this\""),
            Some(Wanted::Values(_)) if found.starts_with('[') && !json => {
                Some("a fixed number of values stands in round brackets: (1, 2, 3)")
            }
            Some(Wanted::List) if found.starts_with('(') && !json => {
                Some("a list stands in square brackets: [(..), (..)]")
            }
            _ => None,
        };
        (format!("expected {expected}, found `{found}`"), help.map(str::to_owned))
    }
}

/// Whether something begins as a number does and goes on with letters.
fn has_unit(found: &str) -> bool {
    let rest = found.trim_start_matches(|character: char| character.is_ascii_digit() || "+-.".contains(character));
    rest.len() < found.len() && rest.trim_start().starts_with(char::is_alphabetic)
}

impl Wanted {
    /// What is wanted as the reader of RON says it.
    fn told(expected: &str) -> Option<Self> {
        let words = [
            ("a number", Self::Number),
            ("a whole number", Self::Whole),
            ("text", Self::Text),
            ("a list", Self::List),
            ("values in", Self::Values(0)),
        ];
        words.into_iter().find(|(words, _)| expected.starts_with(words)).map(|(_, wanted)| wanted)
    }

    fn in_words(self, format: Format) -> String {
        let json = format == Format::Json;
        let words = match self {
            Self::Number => "a number",
            Self::Whole => "a whole number",
            Self::Text => "text in double quotes",
            Self::Flag => "`true` or `false`",
            Self::List => "a list in `[` and `]`",
            Self::Values(count) if json => return format!("{count} values in `[` and `]`"),
            Self::Fields if json => "fields in `{` and `}`",
            Self::Values(_) | Self::Fields => "values in `(` and `)`",
            Self::Choice(names) => return one_of(names.iter().copied()),
        };
        words.to_owned()
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
