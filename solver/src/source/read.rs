//! From text to plain data, going on after a fault so that all of them are reported at once.

use super::fault::{Fault, parse};
use super::index::{Index, Item};
use super::place::Place;
use super::problem::{Problem, Problems, Spot};
use super::text::{Format, Source};
use serde::de::DeserializeOwned;
use std::{cell::OnceCell, ops::Range, sync::Arc};

/// Faults after which reading a file is given up: each costs one more pass over the text, and nobody reads on.
const MAX_FAULTS: usize = 40;

/// What came of reading a file.
pub(crate) struct Reading<T> {
    /// The data, if it could be read at all. With problems, what they concern was left out of it.
    pub(crate) data: Option<T>,
    /// Where the items of the data stand.
    pub(crate) document: Document,
    pub(crate) problems: Problems,
}

/// A file that was read, able to say where each item of its data stands.
pub(crate) struct Document {
    source: Arc<Source>,
    /// What was left out, with everything around it whose sense may depend on it.
    doubtful: Vec<Range<usize>>,
    /// Made when first needed: a file without problems never needs it.
    index: OnceCell<Index>,
}

impl Document {
    pub(crate) fn new(source: Source) -> Self {
        Self { source: Arc::new(source), doubtful: Vec::new(), index: OnceCell::new() }
    }

    /// Stands for data that a program put together: it has places, but no text.
    pub(crate) fn in_memory(name: &str) -> Self {
        Self::new(Source::new(name, ""))
    }

    /// Whether something was left out, so that what seems to be missing may well be there.
    pub(crate) fn is_partial(&self) -> bool {
        !self.doubtful.is_empty()
    }

    /// Whether a problem may be no more than the consequence of one that was met in reading.
    pub(crate) fn is_doubtful(&self, problem: &Problem) -> bool {
        let start = problem.spot().span().map(|span| span.start);
        start.is_some_and(|start| self.doubtful.iter().any(|range| range.contains(&start)))
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

    /// The spot of a fault of reading.
    fn fault_spot(&self, fault: &Fault, item: Option<Item>) -> Spot {
        let index = self.index();
        let place = item.map(|item| index.place(item)).unwrap_or_default();
        let span = match item.filter(|_| index.is_sound() && !fault.is_syntax()) {
            None if fault.is_syntax() => fault.offset..fault.offset + 1,
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

/// Reads a file's data, and goes on after a fault: the smallest part of the file around it that can be spared (a field
/// nobody knows, an element of a list, a field of the file) is left out, and the rest is read again. Where brackets or
/// quotes do not match, nothing can be spared and the first fault is the only one.
pub(crate) fn read<T: DeserializeOwned>(source: Source) -> Reading<T> {
    let format = source.format();
    let mut document = Document::new(source);
    let mut text = document.source.text().to_owned();
    let mut problems = Problems::default();
    // Fields that will be missing only because of a fault already noted: where, and which.
    let mut accounted: Vec<(String, String)> = Vec::new();
    let mut data = None;
    for _ in 0..MAX_FAULTS {
        let fault = match parse::<T>(&text, format) {
            Ok(read) => {
                data = Some(read);
                break;
            }
            Err(fault) => fault,
        };
        let index = document.index();
        let item = index.at_offset(fault.offset);
        let spot = document.fault_spot(&fault, item);
        let missing = fault.missing().map(|field| (spot.item().to_owned(), field.to_owned()));
        if missing.is_none_or(|missing| !accounted.contains(&missing)) {
            let found = spot.span().and_then(|span| document.source.text().get(span)).unwrap_or_default().to_owned();
            let (message, help) = fault.explain(&found, spot.item());
            let problem = Problem::new(spot, message);
            problems.push(match help {
                Some(help) => problem.help(help),
                None => problem,
            });
        }
        let Some(spare) = item.filter(|_| index.is_sound()).and_then(|item| spare(index, item, &fault)) else { break };
        let around = index.parent(spare).map(|parent| index.place(parent)).unwrap_or_default();
        let name = fault.meant().map(str::to_owned).or_else(|| index.key_name(spare));
        accounted.extend(name.map(|name| (around, name)));
        let whole = index.outermost_element_around(spare).unwrap_or(spare);
        let doubtful = index.item(whole);
        blank(&mut text, index, spare, format);
        document.doubtful.push(doubtful);
        if let Some(index) = document.index.get_mut() {
            index.remove(spare);
        }
    }
    Reading { data, document, problems }
}

/// What to leave out because of a fault at `item`.
fn spare(index: &Index, item: Item, fault: &Fault) -> Option<Item> {
    if fault.concerns_key() && index.key(item).is_some() {
        return Some(item);
    }
    index.element_around(item).or_else(|| index.field_around(item))
}

/// Replaces an item and its comma by blanks, so that everything else stays where it is.
fn blank(text: &mut String, index: &Index, item: Item, format: Format) {
    let mut bytes = std::mem::take(text).into_bytes();
    let mut wipe = |range: Range<usize>| {
        for byte in bytes.get_mut(range).into_iter().flatten().filter(|byte| **byte != b'\n') {
            *byte = b' ';
        }
    };
    let range = index.item(item);
    wipe(range.clone());
    if let Some(comma) = index.comma(item) {
        wipe(comma..comma + 1);
    } else if format == Format::Json {
        // JSON allows no comma behind the last item: take the one before, which comments cannot hide.
        let before = bytes.get(..range.start).unwrap_or_default();
        let comma = before.iter().rposition(|byte| !byte.is_ascii_whitespace());
        let comma = comma.filter(|comma| before.get(*comma) == Some(&b','));
        if let Some(byte) = comma.and_then(|comma| bytes.get_mut(comma)) {
            *byte = b' ';
        }
    }
    // Whole items were replaced, so no character was cut; a cut one would end the reading, not corrupt it.
    *text = String::from_utf8(bytes).unwrap_or_default();
}
