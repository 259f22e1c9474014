//! Which component is mounted on which.

use super::file::LayoutFile;
use super::names::Names;
use crate::source::{Checker, Place, brief, nearest, one_of};
use std::collections::HashMap;

/// For each component, in the order of the file, the place among the components of what it is mounted on. What has a
/// problem is noted and mounted on nothing.
pub(super) fn check_mounts(file: &LayoutFile, names: &Names<'_>, checker: &mut Checker<'_>) -> Vec<Option<usize>> {
    let list = Place::FILE.field("components");
    let mut known: HashMap<&str, usize> = HashMap::new();
    for (index, placed) in file.components.iter().enumerate() {
        // Of two components of one name, which is a problem of its own, the first counts.
        known.entry(&placed.name).or_insert(index);
    }
    let mut carriers: Vec<Option<usize>> = Vec::with_capacity(file.components.len());
    for (index, placed) in file.components.iter().enumerate() {
        let here = list.index(index);
        let carrier = placed.mounted_on.as_ref().and_then(|name| {
            let found = known.get(name.as_str()).copied().filter(|_| *name != placed.name);
            // Of components of one name, which one is meant is not known.
            if names.is_twice(name) {
                return None;
            }
            if found.is_none() {
                refuse(file, names, (name, &placed.name), &here.field("mounted_on"), checker);
            }
            found
        });
        carriers.push(carrier);
    }
    for circle in circles(&carriers) {
        let names = circle.iter().chain(circle.first()).filter_map(|member| file.components.get(*member));
        let names: Vec<String> = names.map(|placed| format!("`{}`", brief(&placed.name))).collect();
        let message = format!("expected something at the end that stands by itself, found {}", names.join(" on "));
        let here = circle.first().map_or_else(|| list.index(0), |first| list.index(*first));
        checker.refuse(&here.field("mounted_on"), message, "leave `mounted_on` out of the one that carries the others");
    }
    carriers
}

fn refuse(
    file: &LayoutFile,
    names: &Names<'_>,
    (name, own): (&str, &str),
    place: &Place<'_>,
    checker: &mut Checker<'_>,
) {
    if name == own {
        let message = format!("expected another component, found `{}` itself", brief(name));
        checker.refuse(place, message, "name what carries it, or leave `mounted_on` out");
    } else if file.panels.iter().any(|panel| panel.name == name) {
        let message = format!("expected a component, found the panel `{}`", brief(name));
        checker.refuse(place, message, "panels stay where they are, so leave `mounted_on` out");
    } else if !checker.is_full() && !names.excuse(name) {
        let others = || names.known().filter(|other| *other != own);
        let help = match nearest(name, others()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("known components: {}", one_of(others())),
        };
        checker.refuse(place, format!("unknown component `{}`", brief(name)), help);
    }
}

/// The circles that components carry each other in, each from its first member in the file on.
fn circles(carriers: &[Option<usize>]) -> Vec<Vec<usize>> {
    // By which walk, named by its start, each was first passed: every component is passed once.
    let mut passed_by: Vec<Option<usize>> = vec![None; carriers.len()];
    let mut found = Vec::new();
    for start in 0..carriers.len() {
        let mut way = Vec::new();
        let mut next = Some(start);
        while let Some(at) = next {
            match passed_by.get_mut(at) {
                Some(passed @ None) => *passed = Some(start),
                Some(Some(walk)) if *walk == start => {
                    let mut circle: Vec<usize> = way.iter().copied().skip_while(|member| *member != at).collect();
                    let first =
                        circle.iter().enumerate().min_by_key(|(_, member)| **member).map_or(0, |(index, _)| index);
                    circle.rotate_left(first);
                    found.push(circle);
                    break;
                }
                _ => break,
            }
            way.push(at);
            next = carriers.get(at).copied().flatten();
        }
    }
    found
}
