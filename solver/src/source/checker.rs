//! Checks of numbers and names that every kind of file needs, collecting what is wrong.

use super::nearest::brief;
use super::place::Place;
use super::problem::{Problem, Problems};
use super::read::Document;
use crate::geometry::{GREATEST_SIZE_MM, LEAST_SIZE_MM};

/// Most problems of one file that are kept. Working out more of them takes time that nobody's reading repays.
const MOST_PROBLEMS: usize = 200;

/// Longest name or id in characters.
const LONGEST_NAME: usize = 80;

/// Collects the problems of one file. Each check names the item by its place and returns whether all was well, so
/// that a check that builds on it can be left out. All is not well with what only stands in for something unreadable,
/// but that is no problem any more.
pub(crate) struct Checker<'a> {
    document: &'a Document,
    problems: Problems,
    noted: usize,
}

impl<'a> Checker<'a> {
    pub(crate) fn new(document: &'a Document) -> Self {
        Self { document, problems: Problems::default(), noted: 0 }
    }

    /// The problems.
    pub(crate) fn into_problems(self) -> Problems {
        self.problems
    }

    /// Whether something stands in for the item at `place`, because what the file says there could not be read.
    /// Problems of such an item are not kept; whoever concludes from it to other items has to ask.
    pub(crate) fn is_doubtful(&self, place: &Place<'_>) -> bool {
        self.document.is_doubtful(place)
    }

    /// Whether the item at `place` is what the file says, in every part of it.
    pub(crate) fn is_sure(&self, place: &Place<'_>) -> bool {
        self.document.is_sure(place)
    }

    /// Whether the file has an item at `place`, rather than leaving it out.
    pub(crate) fn has(&self, place: &Place<'_>) -> bool {
        self.document.has(place)
    }

    /// How many problems were noted so far.
    pub(crate) fn count(&self) -> usize {
        self.noted
    }

    /// Whether further problems would not be kept, so that costly hints are not worth working out.
    pub(crate) fn is_full(&self) -> bool {
        self.problems.len() >= MOST_PROBLEMS
    }

    /// Notes a problem with the item at `place`.
    pub(crate) fn refuse(&mut self, place: &Place<'_>, message: impl Into<String>, help: impl Into<String>) {
        if !self.is_full() && !self.is_doubtful(place) {
            self.problems.push(self.document.problem(place, message).help(help));
        }
        self.noted += 1;
    }

    /// Notes a problem that involves a second item of the same file.
    pub(crate) fn refuse_both(
        &mut self,
        place: &Place<'_>,
        message: impl Into<String>,
        help: impl Into<String>,
        (label, other): (&str, String),
    ) {
        if !self.is_full() && !self.is_doubtful(place) {
            let problem: Problem = self.document.problem(place, message).help(help);
            self.problems.push(problem.related(label, self.document.spot_of(other)));
        }
        self.noted += 1;
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
            let message = format!("expected {what} from {least} to {most}, found {}", number(value));
            let help = if what.ends_with("in mm") {
                "correct the number; lengths are in millimetres"
            } else if what.ends_with("in degrees") {
                "correct the number; angles are in degrees"
            } else {
                "correct the number"
            };
            self.refuse(place, message, help);
        }
        good && !self.is_doubtful(place)
    }

    /// A size in millimetres, more than nothing and at most 10 m.
    pub(crate) fn length(&mut self, place: &Place<'_>, value: f64, what: &str) -> bool {
        self.within(place, value, &format!("{what} in mm"), LEAST_SIZE_MM, GREATEST_SIZE_MM)
    }

    /// Coordinates in millimetres, none farther than 10 m from zero.
    pub(crate) fn coordinates(&mut self, place: &Place<'_>, values: &[f64]) -> bool {
        // Every number is looked at, so no `all`, which would stop at the first bad one.
        values.iter().enumerate().fold(true, |good, (index, value)| {
            self.within(&place.index(index), *value, "a coordinate in mm", -GREATEST_SIZE_MM, GREATEST_SIZE_MM) && good
        })
    }

    /// A short name for files and the command line: lower-case words of letters and digits, joined by `-`.
    pub(crate) fn word(&mut self, place: &Place<'_>, text: &str, what: &str) -> bool {
        let part = |part: &str| {
            !part.is_empty() && part.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit())
        };
        let good = text.len() <= LONGEST_NAME && text.split('-').all(part);
        if !good {
            let message =
                format!("expected {what} of lower-case letters and digits joined by `-`, found \"{}\"", brief(text));
            let help = format!("write it like `pump-outlet-2`, at most {LONGEST_NAME} characters");
            self.refuse(place, message, help);
        }
        good && !self.is_doubtful(place)
    }

    /// A name for people: anything printable that is not blank.
    pub(crate) fn name(&mut self, place: &Place<'_>, text: &str, what: &str) -> bool {
        let good = !text.trim().is_empty()
            && text.trim() == text
            && text.chars().count() <= LONGEST_NAME
            && !text.chars().any(char::is_control);
        if !good {
            let message = format!("expected {what}, found \"{}\"", brief(text));
            let help = format!(
                "give 1 to {LONGEST_NAME} characters without line breaks, and no blanks at the start or the end"
            );
            self.refuse(place, message, help);
        }
        good && !self.is_doubtful(place)
    }
}

/// A number as someone would write it, without rows of zeros.
pub(crate) fn number(value: f64) -> String {
    let plain = value == 0.0 || !value.is_finite() || (1e-6..1e12).contains(&value.abs());
    if plain { value.to_string() } else { format!("{value:e}") }
}
