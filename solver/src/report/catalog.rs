//! Which parts of a catalog a person means.

use crate::{
    catalog::{Catalog, ComponentDef, FittingDef},
    source::nearest,
};

/// Whether a fitting answers to every one of `words`: each must occur in its id, name, family or a thread of its
/// ends. Capitals and blanks make no difference, so `g1/4` finds `G 1/4`.
#[must_use]
pub fn fitting_matches(fitting: &FittingDef, words: &[String]) -> bool {
    let mut texts = vec![squeezed(&fitting.id), squeezed(&fitting.name), squeezed(fitting.family.word())];
    texts.extend(fitting.ends.iter().map(|end| squeezed(end.thread.designation())));
    matches(&texts, words)
}

/// Whether a component template answers to every one of `words`: each must occur in its id or name, in the thread of
/// one of its ports, or in the word `component`.
#[must_use]
pub fn component_matches(component: &ComponentDef, words: &[String]) -> bool {
    let mut texts = vec![squeezed(&component.id), squeezed(&component.name), "component".to_owned()];
    texts.extend(component.ports.iter().map(|port| squeezed(port.thread.designation())));
    matches(&texts, words)
}

/// The id of the part that a mistyped one most likely stands for.
#[must_use]
pub fn nearest_part<'a>(catalog: &'a Catalog, id: &str) -> Option<&'a str> {
    let fittings = catalog.fittings().iter().map(|fitting| fitting.id.as_str());
    nearest(id, fittings.chain(catalog.components().iter().map(|component| component.id.as_str())))
}

fn matches(texts: &[String], words: &[String]) -> bool {
    words.iter().map(|word| squeezed(word)).all(|word| texts.iter().any(|text| text.contains(&word)))
}

fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}
