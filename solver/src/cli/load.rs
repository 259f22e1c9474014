//! Reading layouts and catalogs, from files or from standard input.

use super::{args::Common, failure::Failure, output::stderr_in_colour};
use elbowroom::{
    catalog::Catalog,
    layout::Layout,
    source::{Problems, Source},
};
use std::{io, path::Path};

/// The built-in catalog with the user's own added.
///
/// # Errors
/// Everything that is wrong with any of the files.
pub(crate) fn catalog(common: &Common) -> Result<Catalog, Failure> {
    let mut sources = Vec::with_capacity(common.catalog.len());
    let mut unreadable = Vec::new();
    for path in &common.catalog {
        match source(path) {
            Ok(source) => sources.push(source),
            Err(problems) => unreadable.push(problems.render(stderr_in_colour())),
        }
    }
    if !unreadable.is_empty() {
        return Err(Failure::Problems(unreadable.join("\n\n")));
    }
    Catalog::builtin_with(&sources).map_err(|problems| failure(&problems))
}

/// The layout in the file at `path`.
///
/// # Errors
/// Everything that is wrong with the file.
pub(crate) fn layout(path: &Path, common: &Common, catalog: &Catalog) -> Result<Layout, Failure> {
    let streams = common.catalog.iter().map(AsRef::as_ref).chain([path]).filter(|path| is_stdin(path)).count();
    if streams > 1 {
        return Err(Failure::Message(
            "standard input (`-`) can be read only once; name a file for the others".to_owned(),
        ));
    }
    source(path).and_then(|source| Layout::from_source(source, catalog)).map_err(|problems| failure(&problems))
}

/// The built-in demo layout.
///
/// # Errors
/// Never with the built-in catalog alone; a catalog of the user's own cannot change its parts.
pub(crate) fn demo(catalog: &Catalog) -> Result<Layout, Failure> {
    let (name, text) = elbowroom_catalog::DEMO;
    Layout::parse(text, name, catalog).map_err(|problems| failure(&problems))
}

fn source(path: &Path) -> Result<Source, Problems> {
    if is_stdin(path) { Source::from_reader("standard input", io::stdin().lock()) } else { Source::read(path) }
}

fn is_stdin(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn failure(problems: &Problems) -> Failure {
    Failure::Problems(problems.render(stderr_in_colour()))
}
