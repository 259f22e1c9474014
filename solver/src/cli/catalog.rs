//! `catalog`: what parts are there?

use super::{
    args::{CatalogArgs, Common, Format},
    failure::Failure,
    load,
    output::Output,
};
use elbowroom::{
    catalog::{Catalog, ComponentDef, FittingDef},
    report::{Outcome, component_matches, fitting_matches, json, nearest_part, text},
};

/// Lists parts, or shows one.
pub(crate) fn run(args: &CatalogArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let catalog = load::catalog(common)?;
    let words = &args.filter;
    let (fittings, components) = select(&catalog, words);
    if fittings.is_empty() && components.is_empty() {
        let asked = words.join(" ");
        let remedy = match nearest_part(&catalog, &asked) {
            Some(id) => format!("did you mean `{id}`?"),
            None => "look for fewer words, or list all with `elbowroom catalog`".to_owned(),
        };
        return Err(Failure::Message(format!("no part of the catalog answers to `{asked}`; {remedy}")));
    }
    output.results(&match common.format {
        Format::Json => json::text(&json::CatalogDocument::new(&fittings, &components)),
        Format::Text => match (&fittings[..], &components[..]) {
            ([fitting], []) => text::fitting(fitting),
            ([], [component]) => text::component(component),
            _ => text::catalog(&fittings, &components),
        },
    })?;
    Ok(Outcome::Fits)
}

/// The part whose id is the one word, or else all that answer to every word.
fn select<'a>(catalog: &'a Catalog, words: &[String]) -> (Vec<&'a FittingDef>, Vec<&'a ComponentDef>) {
    if let [id] = words {
        let (fitting, component) = (catalog.fitting(id), catalog.component(id));
        if fitting.is_some() || component.is_some() {
            return (Vec::from_iter(fitting), Vec::from_iter(component));
        }
    }
    (
        catalog.fittings().iter().filter(|fitting| fitting_matches(fitting, words)).collect(),
        catalog.components().iter().filter(|component| component_matches(component, words)).collect(),
    )
}
