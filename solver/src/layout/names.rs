//! The names in a layout: whether they are good, and what is known to stand behind them.

use super::file::LayoutFile;
use crate::source::{Checker, Place, brief, nearest};
use std::collections::{HashMap, HashSet};

/// What components are called, as far as that is known.
#[derive(Default)]
pub(super) struct Names<'f> {
    /// Good names, in the order of the file.
    sure: Vec<&'f str>,
    is_sure: HashSet<&'f str>,
    /// Names that more than one body has.
    twice: HashSet<&'f str>,
    /// How many components there are of which the name is not known: it is wrong, or another has it.
    unsure: usize,
    /// Names that are used somewhere and that no component has.
    unknown: HashSet<&'f str>,
}

/// The names that gaps may use.
#[derive(Default)]
pub(super) struct PortNames {
    /// Full names in the order of the ports.
    pub(super) known: Vec<String>,
    /// Components whose ports are not known because something else is wrong with them.
    pub(super) obscure: HashSet<String>,
}

/// The component in a full name, `component.port`.
pub(super) fn component_of(name: &str) -> &str {
    name.split_once('.').map_or(name, |(component, _)| component)
}

impl<'f> Names<'f> {
    /// Whether an unknown name may be that of a component of which the name is not known. More unknown names than such
    /// components cannot all be excused: then those are not that are most like a known one.
    pub(super) fn excuse(&self, name: &str) -> bool {
        let too_many = self.unknown.len() > self.unsure;
        self.unsure > 0 && !self.is_sure.contains(name) && !(too_many && nearest(name, self.known()).is_some())
    }

    /// Whether more than one body has this name.
    pub(super) fn is_twice(&self, name: &str) -> bool {
        self.twice.contains(name)
    }

    /// The good names.
    pub(super) fn known(&self) -> impl Iterator<Item = &'f str> + '_ {
        self.sure.iter().copied()
    }

    fn note_unknown(&mut self, file: &'f LayoutFile, checker: &Checker<'_>) {
        let (gaps, components) = (Place::FILE.field("gaps"), Place::FILE.field("components"));
        let mut used: Vec<&str> = Vec::new();
        for (index, gap) in file.gaps.iter().enumerate() {
            let here = gaps.index(index);
            for (field, name) in [("from", &gap.from), ("to", &gap.to)] {
                used.extend(Some(component_of(name)).filter(|_| !checker.is_doubtful(&here.field(field))));
            }
        }
        for (index, placed) in file.components.iter().enumerate() {
            let here = components.index(index);
            let carrier = placed.mounted_on.as_deref();
            used.extend(carrier.filter(|_| !checker.is_doubtful(&here.field("mounted_on"))));
        }
        used.retain(|name| !self.is_sure.contains(name));
        self.unknown = used.into_iter().collect();
    }
}

impl PortNames {
    /// The full names of ports of components of which the name is known, each once.
    pub(super) fn sure<'a>(&'a self, components: &'a Names<'_>) -> impl Iterator<Item = &'a str> + Clone {
        let mut seen = HashSet::new();
        let sure = self.known.iter().map(String::as_str);
        let sure = sure.filter(|name| components.is_sure.contains(component_of(name)) && seen.insert(*name));
        sure.collect::<Vec<_>>().into_iter()
    }
}

/// Checks that every panel and component has a name of its own that can stand in `component.port`.
pub(super) fn check_names<'f>(file: &'f LayoutFile, checker: &mut Checker<'_>) -> Names<'f> {
    let panels = Place::FILE.field("panels");
    let components = Place::FILE.field("components");
    let all = (file.panels.iter().enumerate().map(|(index, panel)| (false, &panels, index, &panel.name)))
        .chain(file.components.iter().enumerate().map(|(index, placed)| (true, &components, index, &placed.name)));
    let mut seen: HashMap<&str, String> = HashMap::new();
    let mut names = Names::default();
    for (is_component, list, index, name) in all {
        let here = list.index(index);
        let here = here.field("name");
        let mut good = checker.name(&here, name, "a name");
        if name.contains('.') {
            let message = format!("expected a name without `.`, found \"{}\"", brief(name));
            checker.refuse(&here, message, "a `.` separates component and port; write `-` instead");
            good = false;
        }
        // What only stands in for a name is no name that another could have.
        if !checker.is_doubtful(&here) {
            if let Some(first) = seen.get(name.as_str()) {
                let message = format!("the name `{}` is given twice", brief(name));
                checker.refuse_both(&here, message, "rename one of the two", ("first given here", first.clone()));
                names.twice.insert(name);
                good = false;
            } else {
                seen.insert(name, here.to_string());
            }
        }
        match (is_component, good) {
            (false, _) => {}
            (true, true) => {
                names.sure.push(name);
                names.is_sure.insert(name);
            }
            (true, false) => names.unsure += 1,
        }
    }
    if checker.is_doubtful(&components) {
        names.unsure = usize::MAX;
    }
    names.note_unknown(file, checker);
    names
}
