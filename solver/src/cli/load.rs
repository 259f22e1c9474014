//! Reading layouts and catalogs, from files or from standard input.

use super::{args::Common, failure::Failure, output::stderr_in_colour};
use elbowroom::{
    catalog::Catalog,
    layout::Layout,
    plan::Stock,
    source::{Problems, Source},
};
use std::{io, path::Path};

/// The catalog and the layout in the file at `path`.
///
/// # Errors
/// Everything that is wrong with the catalogs or else with the layout; standard input asked for twice.
pub(crate) fn layout(path: &Path, common: &Common) -> Result<(Catalog, Layout), Failure> {
    layout_and_text(path, common).map(|(catalog, layout, _)| (catalog, layout))
}

/// The same, with the text that the layout was read from.
///
/// # Errors
/// As [`layout`].
pub(crate) fn layout_and_text(path: &Path, common: &Common) -> Result<(Catalog, Layout, String), Failure> {
    once_from_stdin(common.catalog.iter().map(AsRef::as_ref).chain([path]))?;
    let catalog = catalog(common)?;
    let source = source(path).map_err(|problems| failure(&problems))?;
    let text = source.text().to_owned();
    let layout = Layout::from_source(source, &catalog).map_err(|problems| failure(&problems))?;
    Ok((catalog, layout, text))
}

/// The parts at hand that the file at `path` lists.
///
/// # Errors
/// A file that cannot be read, and everything that is wrong with the list.
pub(crate) fn stock(path: &Path, catalog: &Catalog) -> Result<Stock, Failure> {
    let source = Source::read(path).map_err(|problems| failure(&problems))?;
    Stock::parse(source.text(), &name(path), catalog).map_err(|bad| Failure::Message(bad.to_string()))
}

/// The catalog, and the layouts in the files at `paths` with their texts, for faults that show only later.
///
/// # Errors
/// As [`layout`].
pub(crate) fn layouts(paths: &[&Path], common: &Common) -> Result<(Catalog, Vec<(Source, Layout)>), Failure> {
    once_from_stdin(common.catalog.iter().map(AsRef::as_ref).chain(paths.iter().copied()))?;
    let catalog = catalog(common)?;
    let mut layouts = Vec::with_capacity(paths.len());
    for path in paths {
        let source = source(path).map_err(|problems| failure(&problems))?;
        let layout = Layout::from_source(source.clone(), &catalog).map_err(|problems| failure(&problems))?;
        layouts.push((source, layout));
    }
    Ok((catalog, layouts))
}

/// The built-in catalog with the user's own added.
///
/// # Errors
/// Everything that is wrong with any of the files; standard input asked for twice.
pub(crate) fn catalog(common: &Common) -> Result<Catalog, Failure> {
    once_from_stdin(common.catalog.iter().map(AsRef::as_ref))?;
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

/// The built-in demo layout.
///
/// # Errors
/// Never with the built-in catalog alone; a catalog of the user's own cannot change its parts.
pub(crate) fn demo(catalog: &Catalog) -> Result<Layout, Failure> {
    let (name, text) = elbowroom_catalog::DEMO;
    Layout::parse(text, name, catalog).map_err(|problems| failure(&problems))
}

fn source(path: &Path) -> Result<Source, Problems> {
    if is_stdin(path) { Source::from_reader(name(path), io::stdin().lock()) } else { Source::read(path) }
}

/// What messages call the file at `path`.
pub(crate) fn name(path: &Path) -> String {
    if is_stdin(path) { "standard input".to_owned() } else { path.display().to_string() }
}

fn once_from_stdin<'a>(paths: impl Iterator<Item = &'a Path>) -> Result<(), Failure> {
    if paths.filter(|path| is_stdin(path)).count() > 1 {
        let message = "standard input (`-`) can be read only once; name files for the others";
        return Err(Failure::Message(message.to_owned()));
    }
    Ok(())
}

fn is_stdin(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn failure(problems: &Problems) -> Failure {
    Failure::Problems(problems.render(stderr_in_colour()))
}
