//! Why the components and gaps of a layout make no circuit.

use crate::source::{Problems, Source};
use thiserror::Error;

/// What is wrong with a circuit, and where in the layout file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{message}; {help}")]
pub struct CircuitFault {
    /// Place in the file's data, such as `components[3].flow`.
    pub place: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
    /// A second place that has to do with it, and what is there.
    pub related: Option<(String, String)>,
}

impl CircuitFault {
    pub(super) fn new(place: impl Into<String>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { place: place.into(), message: message.into(), help: help.into(), related: None }
    }

    /// The fault as a problem of the file that the layout was read from, with line and column.
    #[must_use]
    pub fn in_file(&self, source: &Source) -> Problems {
        let related = self.related.as_ref().map(|(label, place)| (label.as_str(), place.as_str()));
        Problems::found_later(source, &self.place, &self.message, &self.help, related)
    }
}
