//! From text to plain data, going on after a fault so that all of them are reported at once.

use super::fault::{Around, Fault, HOW_FILES_BEGIN, parse};
use super::index::{Index, Item};
use super::place::Place;
use super::problem::{Problem, Problems, Spot};
use super::repair::{Repairs, settle};
use super::sample::sample;
use super::scan::Tokens;
use super::text::Source;
use serde::de::DeserializeOwned;
use std::{cell::OnceCell, sync::Arc};

/// Passes over a text after which reading it is given up: each fault costs one, and nobody reads on.
const MOST_PASSES: usize = 200;

/// Bytes that may be read in all these passes, and passes that there are in any case: long files get fewer.
const MOST_BYTES: usize = 32 * 1024 * 1024;
const LEAST_PASSES: usize = 40;

/// Whether a place is another one, or in it.
fn is_within(place: &str, other: &str) -> bool {
    place.strip_prefix(other).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// What came of reading a file.
pub(crate) struct Reading<T> {
    /// The data, if it could be read at all. With problems, something else stands in for what they concern.
    pub(crate) data: Option<T>,
    /// Where the items of the data stand.
    pub(crate) document: Document,
    pub(crate) problems: Problems,
}

/// A file that was read, able to say where each item of its data stands.
pub(crate) struct Document {
    source: Arc<Source>,
    /// Places of values that are not what the file says, because that could not be read.
    doubts: Vec<String>,
    /// Made when first needed: a file without problems never needs it.
    index: OnceCell<Index>,
}

impl Document {
    pub(crate) fn new(source: Source) -> Self {
        Self { source: Arc::new(source), doubts: Vec::new(), index: OnceCell::new() }
    }

    /// Stands for data that a program put together: it has places, but no text.
    pub(crate) fn in_memory(name: &str) -> Self {
        Self::new(Source::new(name, ""))
    }

    /// Whether the item at `place` is not what the file says, so that a problem of it is none of the file.
    pub(crate) fn is_doubtful(&self, place: &Place<'_>) -> bool {
        !self.doubts.is_empty() && {
            let place = place.to_string();
            self.doubts.iter().any(|doubt| is_within(&place, doubt))
        }
    }

    /// Whether the item at `place` is what the file says, in every part of it.
    pub(crate) fn is_sure(&self, place: &Place<'_>) -> bool {
        self.doubts.is_empty() || {
            let place = place.to_string();
            !self.doubts.iter().any(|doubt| is_within(&place, doubt) || is_within(doubt, &place))
        }
    }

    /// Whether the file has an item at `place`, rather than leaving it out.
    pub(crate) fn has(&self, place: &Place<'_>) -> bool {
        self.index().find(&place.to_string()).is_some_and(|(_, exact)| exact)
    }

    pub(crate) fn spot(&self, place: &Place<'_>) -> Spot {
        self.spot_of(place.to_string())
    }

    /// The spot of an item given by its written place; that of the innermost item around it if it was left out.
    pub(crate) fn spot_of(&self, place: String) -> Spot {
        let index = self.index();
        let Some((item, exact)) = index.find(&place) else { return Spot::new(Arc::clone(&self.source), place, None) };
        // In the file's own counting, which differs from the data's if elements were left out.
        let place = if exact { index.place(item) } else { place };
        Spot::new(Arc::clone(&self.source), place, Some(index.headline(item)))
    }

    /// A problem with the item at `place`.
    pub(crate) fn problem(&self, place: &Place<'_>, message: impl Into<String>) -> Problem {
        Problem::new(self.spot(place), message)
    }

    fn index(&self) -> &Index {
        self.index.get_or_init(|| Index::new(self.source.text()))
    }

    /// What is wrong with a file that says nothing.
    fn emptiness(&self) -> Option<Problem> {
        let text = self.source.text();
        let mut tokens = Tokens::new(text);
        if tokens.next().is_some() || tokens.unclosed.is_some() {
            return None;
        }
        let message = if text.trim().is_empty() {
            "expected a layout or a catalog, found an empty file"
        } else {
            "expected a layout or a catalog, found a file of nothing but comments"
        };
        let spot = Spot::new(Arc::clone(&self.source), String::new(), Some(0..0));
        Some(Problem::new(spot, message).help(HOW_FILES_BEGIN))
    }

    /// The spot of a fault of reading.
    fn fault_spot(&self, index: &Index, fault: &Fault, item: Option<Item>) -> Spot {
        let place = item.map(|item| index.place(item)).unwrap_or_default();
        let span = match item.filter(|_| index.is_sound() && !fault.is_at_offset()) {
            None if fault.is_at_offset() => fault.offset..fault.offset + 1,
            None => {
                let rest = self.source.text().get(fault.offset..).unwrap_or_default();
                let start = fault.offset + rest.find(|character: char| !character.is_whitespace()).unwrap_or_default();
                start..start + 1
            }
            Some(item) if fault.missing().is_some() => index.headline(item),
            Some(item) => {
                let key = index.key(item).filter(|key| fault.concerns_key() || key.contains(&fault.offset));
                let tag = index.tag(item).filter(|tag| tag.contains(&fault.offset));
                key.or(tag).unwrap_or_else(|| index.value(item))
            }
        };
        Spot::new(Arc::clone(&self.source), place, Some(span))
    }
}

/// Reads a file's data, and goes on after a fault: what cannot be read is repaired (see [`Repairs`]), and all is read
/// again. Where brackets or quotes do not match, nothing can be repaired and the first fault is the only one.
pub(crate) fn read<T: DeserializeOwned>(source: Source) -> Reading<T> {
    let format = source.format();
    let mut document = Document::new(source);
    let text = document.source.text();
    if let Some(problem) = document.emptiness() {
        return Reading { data: None, document, problems: problem.into() };
    }
    // A file without faults needs none of what follows.
    if let Ok(data) = parse::<T>(text, format) {
        return Reading { data: Some(data), document, problems: Problems::default() };
    }
    let mut problems = Problems::default();
    let mut index = Index::new(text);
    let mut repairs = Repairs::new(text, format, &mut index);
    let mut data = None;
    for _ in 0..MOST_PASSES.min(MOST_BYTES / text.len().max(1)).max(LEAST_PASSES) {
        let fault = match parse::<T>(repairs.patched.text(), format) {
            Ok(read) => {
                data = Some(read);
                break;
            }
            Err(fault) => Fault { offset: repairs.patched.original(fault.offset), kind: fault.kind },
        };
        let item = repairs.index.at_offset(fault.offset);
        let fault = settle(fault, text, repairs.index, item);
        let item = repairs.index.at_offset(fault.offset);
        if item.is_none_or(|item| !repairs.is_replaced(item) && !repairs.explains::<T>(&fault, item)) {
            let spot = document.fault_spot(repairs.index, &fault, item);
            let found = spot.span().and_then(|span| text.get(span)).unwrap_or_default();
            let wanted = item
                .filter(|_| repairs.index.is_sound() && !fault.is_syntax())
                .and_then(|item| sample::<T>(&repairs.index.place(item), format));
            let wanted = wanted.map(|sample| sample.wanted);
            let first = Tokens::new(text).next().map(|(_, first)| first.start);
            let is_file = first.is_some() && spot.span().map(|span| span.start) == first;
            let (message, help) = fault.explain(&Around { format, found, place: spot.item(), is_file, wanted });
            let problem = Problem::new(spot, message);
            problems.push(match help {
                Some(help) => problem.help(help),
                None => problem,
            });
        }
        // Whatever else is said of the other kind of file helps nobody.
        if fault.other_file().is_some() {
            let last = problems.pop();
            return Reading { data: None, document, problems: last.map(Problems::from).unwrap_or_default() };
        }
        // What was not changed would be read again with the same fault.
        let before = repairs.patched.count();
        if !repairs.repair::<T>(&fault, item) || repairs.patched.count() == before {
            break;
        }
    }
    let doubts = repairs.doubts;
    document.doubts = doubts;
    document.index = index.into();
    Reading { data, document, problems }
}
