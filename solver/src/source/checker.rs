//! Checks of numbers and names that every kind of file needs, collecting what is wrong.

use super::place::Place;
use super::problem::{Problem, Problems};
use super::read::Document;

/// Largest length or coordinate in millimetres: 10 m. Nothing built by hand into an enclosure comes near; a larger
/// value is a slip of the pen or a file in other units.
pub(crate) const LARGEST_MM: f64 = 10_000.0;

/// Smallest length in millimetres: what is smaller was not meant, or is no size.
const SMALLEST_MM: f64 = 0.001;

/// Longest name or id in characters.
const LONGEST_NAME: usize = 80;

/// Collects the problems of one file. Each check names the item by its place and returns whether all was well, so
/// that a check that builds on it can be left out.
pub(crate) struct Checker<'a> {
    document: &'a Document,
    problems: Problems,
}

impl<'a> Checker<'a> {
    pub(crate) fn new(document: &'a Document) -> Self {
        Self { document, problems: Problems::default() }
    }

    /// The problems, less those that may only follow from one that was met in reading.
    pub(crate) fn into_problems(self) -> Problems {
        self.problems.without(|problem| self.document.is_doubtful(problem))
    }

    /// Whether something was left out in reading, so that an unknown name may well be known.
    pub(crate) fn is_partial(&self) -> bool {
        self.document.is_partial()
    }

    /// How many problems were noted so far.
    pub(crate) fn count(&self) -> usize {
        self.problems.len()
    }

    /// Notes a problem with the item at `place`.
    pub(crate) fn refuse(&mut self, place: &Place<'_>, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(self.document.problem(place, message).help(help));
    }

    /// Notes a problem that involves a second item of the same file.
    pub(crate) fn refuse_both(
        &mut self,
        place: &Place<'_>,
        message: impl Into<String>,
        help: impl Into<String>,
        (label, other): (&str, String),
    ) {
        let problem: Problem = self.document.problem(place, message).help(help);
        self.problems.push(problem.related(label, self.document.spot_of(other)));
    }

    /// The only version there is of a file format.
    pub(crate) fn version(&mut self, found: u32) {
        if found != 1 {
            let message = format!("expected `version` 1, found {found}");
            self.refuse(&Place::FILE.field("version"), message, "this program reads version 1 of the format");
        }
    }

    /// A number in a closed range; `what` says which, with its unit.
    pub(crate) fn within(&mut self, place: &Place<'_>, value: f64, what: &str, least: f64, most: f64) -> bool {
        // A NaN is in no range.
        let good = (least..=most).contains(&value);
        if !good {
            let message = format!("expected {what} from {least} to {most}, found {value}");
            self.refuse(place, message, "correct the number; lengths are in millimetres, angles in degrees");
        }
        good
    }

    /// A size in millimetres, more than nothing and at most 10 m.
    pub(crate) fn length(&mut self, place: &Place<'_>, value: f64, what: &str) -> bool {
        self.within(place, value, &format!("{what} in mm"), SMALLEST_MM, LARGEST_MM)
    }

    /// Coordinates in millimetres, none farther than 10 m from zero.
    pub(crate) fn coordinates(&mut self, place: &Place<'_>, values: &[f64]) -> bool {
        // Every number is looked at, so no `all`, which would stop at the first bad one.
        values.iter().enumerate().fold(true, |good, (index, value)| {
            self.within(&place.index(index), *value, "a coordinate in mm", -LARGEST_MM, LARGEST_MM) && good
        })
    }

    /// A short name for files and the command line: lower-case words of letters and digits, joined by `-`.
    pub(crate) fn word(&mut self, place: &Place<'_>, text: &str, what: &str) -> bool {
        let part = |part: &str| {
            !part.is_empty() && part.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit())
        };
        let good = text.len() <= LONGEST_NAME && text.split('-').all(part);
        if !good {
            let message = format!("expected {what} of lower-case letters and digits joined by `-`, found \"{text}\"");
            let help = format!("write it like `pump-outlet-2`, at most {LONGEST_NAME} characters");
            self.refuse(place, message, help);
        }
        good
    }

    /// A name for people: anything printable that is not blank.
    pub(crate) fn name(&mut self, place: &Place<'_>, text: &str, what: &str) -> bool {
        let good = !text.trim().is_empty()
            && text.trim() == text
            && text.chars().count() <= LONGEST_NAME
            && !text.chars().any(char::is_control);
        if !good {
            let message = format!("expected {what}, found \"{}\"", text.escape_debug());
            let help = format!(
                "give 1 to {LONGEST_NAME} characters without line breaks, and no blanks at the start or the end"
            );
            self.refuse(place, message, help);
        }
        good
    }
}
