//! Problems that come to light only when a file that was read is put to use.

use super::{
    problem::{Problem, Problems},
    read::Document,
    text::Source,
};

impl Problems {
    /// One problem with the item at `place` of the data in `source`, such as `components[3].flow`, with its line and
    /// column; `related` is what to say of another item, and where that is.
    #[must_use]
    pub fn found_later(source: &Source, place: &str, message: &str, help: &str, related: Option<(&str, &str)>) -> Self {
        let document = Document::new(source.clone());
        let mut problem = Problem::new(document.spot_of(place.to_owned()), message).help(help);
        if let Some((label, other)) = related {
            problem = problem.related(label, document.spot_of(other.to_owned()));
        }
        Self::from(problem)
    }
}
