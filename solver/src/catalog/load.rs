//! The catalog: where it comes from and how parts are looked up.

use super::check_fitting::check_fitting;
use super::check_shape::check_component;
use super::part::{CatalogFile, ComponentDef, FittingDef};
use crate::source::{Checker, Document, Place, Problem, Problems, Reading, Source, brief, read};
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::path::Path;
use std::sync::OnceLock;

/// Fittings and component templates, each valid and with an id of its own, in the order in which they were given.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Catalog {
    fittings: Vec<FittingDef>,
    components: Vec<ComponentDef>,
    by_id: HashMap<String, Part>,
}

/// Where an id leads.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Part {
    Fitting(usize),
    Component(usize),
}

impl Catalog {
    /// The built-in catalog.
    ///
    /// Its text is compiled in and a test of this project reads it; were it faulty all the same, this would give an
    /// empty catalog and [`Catalog::try_builtin`] would say why.
    #[must_use]
    pub fn builtin() -> Self {
        Self::try_builtin().unwrap_or_default()
    }

    /// The built-in catalog, or what is wrong with its text. Read once a process, then copied.
    ///
    /// # Errors
    /// Never in a released version.
    pub fn try_builtin() -> Result<Self, Problems> {
        static BUILTIN: OnceLock<Result<Catalog, Problems>> = OnceLock::new();
        BUILTIN.get_or_init(|| Self::parse(&builtin_sources())).clone()
    }

    /// The built-in catalog with the user's own files added.
    ///
    /// # Errors
    /// As [`Catalog::parse`]; an id that the built-in catalog has already is one of the problems.
    pub fn builtin_with(extra: &[Source]) -> Result<Self, Problems> {
        let mut sources = builtin_sources();
        sources.extend_from_slice(extra);
        Self::parse(&sources)
    }

    /// Reads catalog files and merges them.
    ///
    /// # Errors
    /// Every problem of every file; an id that occurs twice, in one file or in two, with both places.
    pub fn parse(sources: &[Source]) -> Result<Self, Problems> {
        let mut problems = Problems::default();
        let mut files = Vec::with_capacity(sources.len());
        for source in sources {
            let Reading { data, document, problems: more } = read::<CatalogFile>(source.clone());
            problems.append(more);
            files.extend(data.map(|file| (file, document)));
        }
        Self::merge(files, problems)
    }

    /// Reads the files at `paths` and merges them, without the built-in catalog.
    ///
    /// # Errors
    /// As [`Catalog::parse`], and for files that cannot be read.
    pub fn read_files(paths: &[impl AsRef<Path>]) -> Result<Self, Problems> {
        let mut problems = Problems::default();
        let mut sources = Vec::with_capacity(paths.len());
        for path in paths {
            match Source::read(path) {
                Ok(source) => sources.push(source),
                Err(more) => problems.append(more),
            }
        }
        match Self::parse(&sources) {
            Ok(catalog) => problems.or(catalog),
            Err(more) => {
                problems.append(more);
                Err(problems)
            }
        }
    }

    /// A catalog put together by a program, held to the same rules as a file.
    ///
    /// # Errors
    /// Every problem, with its place in the two lists, such as `fittings[3].legs[0]`.
    pub fn from_parts(fittings: Vec<FittingDef>, components: Vec<ComponentDef>) -> Result<Self, Problems> {
        let file = CatalogFile { version: 1, note: String::new(), fittings, components };
        Self::merge(vec![(file, Document::in_memory("catalog in memory"))], Problems::default())
    }

    /// All fittings.
    #[must_use]
    pub fn fittings(&self) -> &[FittingDef] {
        &self.fittings
    }

    /// All component templates.
    #[must_use]
    pub fn components(&self) -> &[ComponentDef] {
        &self.components
    }

    /// The fitting of that id.
    #[must_use]
    pub fn fitting(&self, id: &str) -> Option<&FittingDef> {
        match self.by_id.get(id)? {
            Part::Fitting(index) => self.fittings.get(*index),
            Part::Component(_) => None,
        }
    }

    /// The component template of that id.
    #[must_use]
    pub fn component(&self, id: &str) -> Option<&ComponentDef> {
        match self.by_id.get(id)? {
            Part::Component(index) => self.components.get(*index),
            Part::Fitting(_) => None,
        }
    }

    /// The ids of all parts, fittings first, in order.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        let fittings = self.fittings.iter().map(|fitting| fitting.id.as_str());
        fittings.chain(self.components.iter().map(|component| component.id.as_str()))
    }

    fn merge(files: Vec<(CatalogFile, Document)>, mut problems: Problems) -> Result<Self, Problems> {
        let mut seen: HashMap<&str, (&Document, String)> = HashMap::new();
        for (file, document) in &files {
            let mut checker = Checker::new(document);
            checker.version(file.version);
            let places = [Place::FILE.field("fittings"), Place::FILE.field("components")];
            for (index, fitting) in file.fittings.iter().enumerate() {
                check_fitting(fitting, &places[0].index(index), &mut checker);
            }
            for (index, component) in file.components.iter().enumerate() {
                check_component(component, &places[1].index(index), &mut checker);
            }
            problems.append(checker.into_problems());
            let fittings = file.fittings.iter().enumerate().map(|(index, part)| (&places[0], index, &part.id));
            let components = file.components.iter().enumerate().map(|(index, part)| (&places[1], index, &part.id));
            for (list, index, id) in fittings.chain(components) {
                let place = list.index(index);
                let place = place.field("id");
                // What only stands in for an id is none that another could have.
                if document.is_doubtful(&place) {
                    continue;
                }
                let place = place.to_string();
                match seen.entry(id) {
                    Entry::Vacant(entry) => {
                        entry.insert((document, place));
                    }
                    Entry::Occupied(first) => {
                        let (other, first) = first.get();
                        let problem =
                            Problem::new(document.spot_of(place), format!("id `{}` is defined twice", brief(id)));
                        let problem = problem.help("rename one of the two, or leave out the file you do not need");
                        problems.push(problem.related("first defined here", other.spot_of(first.clone())));
                    }
                }
            }
        }
        let mut catalog = Self::default();
        for (file, _) in files {
            catalog.fittings.extend(file.fittings);
            catalog.components.extend(file.components);
        }
        let fittings = catalog.fittings.iter().enumerate().map(|(index, part)| (&part.id, Part::Fitting(index)));
        let components = catalog.components.iter().enumerate().map(|(index, part)| (&part.id, Part::Component(index)));
        catalog.by_id = fittings.chain(components).map(|(id, part)| (id.clone(), part)).collect();
        problems.or(catalog)
    }
}

/// The JSON Schema of a catalog file.
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(CatalogFile).to_value()
}

fn builtin_sources() -> Vec<Source> {
    elbowroom_catalog::SOURCES.iter().map(|(name, text)| Source::new(format!("built-in {name}"), *text)).collect()
}
