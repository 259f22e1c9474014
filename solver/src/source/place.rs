//! Where an item stands in a file's data, such as `components[3].at[1]`.

use std::fmt;

/// The way from the whole file to one item, built up on the stack while data is walked: naming a place costs nothing
/// until a problem is found there.
#[derive(Clone, Copy)]
pub(crate) struct Place<'a> {
    parent: Option<&'a Place<'a>>,
    step: Step<'a>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step<'a> {
    /// Nowhere yet: the whole file.
    Start,
    /// Into a named field, or into the variant of that name.
    Field(&'a str),
    /// Into a list or tuple.
    Index(usize),
}

impl<'a> Place<'a> {
    /// The whole file.
    pub(crate) const FILE: Place<'static> = Place { parent: None, step: Step::Start };

    /// A field of what stands here, or the body of an enum variant.
    pub(crate) fn field(&'a self, name: &'a str) -> Self {
        Self { parent: Some(self), step: Step::Field(name) }
    }

    /// An element of the list or tuple that stands here.
    pub(crate) fn index(&'a self, index: usize) -> Self {
        Self { parent: Some(self), step: Step::Index(index) }
    }
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Places are as deep as the file types are nested, which is less than ten.
        if let Some(parent) = self.parent {
            parent.fmt(f)?;
        }
        match self.step {
            Step::Start => Ok(()),
            Step::Field(name) if self.parent.is_none_or(|parent| parent.step == Step::Start) => f.write_str(name),
            Step::Field(name) => write!(f, ".{name}"),
            Step::Index(index) => write!(f, "[{index}]"),
        }
    }
}

/// The steps of a written place; a part that is no step is taken for a field's name.
pub(super) fn steps(place: &str) -> impl Iterator<Item = Step<'_>> {
    place.split(['.', '[']).filter(|part| !part.is_empty()).map(|part| {
        match part.strip_suffix(']').and_then(|digits| digits.parse().ok()) {
            Some(index) => Step::Index(index),
            None => Step::Field(part),
        }
    })
}
