//! What becomes of a fault so that reading can go on behind it: a stand-in, a guess, or nothing.
//!
//! As little as can be is replaced. What other checks may conclude from what was replaced is worth nothing, so its place
//! is noted as doubtful.

use super::fault::{Fault, Kind, Syntax};
use super::index::{Index, Item};
use super::nearest::nearest;
use super::patch::Patched;
use super::sample::{Sample, Wanted, sample};
use super::scan::Tokens;
use super::text::Format;
use serde::de::DeserializeOwned;
use std::ops::Range;

/// A text on the way to be read in spite of its faults.
pub(super) struct Repairs<'a> {
    pub(super) format: Format,
    pub(super) patched: Patched,
    pub(super) index: &'a mut Index,
    /// Places of values that are not what the file says.
    pub(super) doubts: Vec<String>,
    /// Values that were replaced as a whole.
    stand_ins: Vec<Item>,
    /// Values whose marks were replaced.
    marked: Vec<Item>,
    /// Where commas were put in.
    commas: Vec<usize>,
    /// Fields that were left out because nobody knows them, each with what it stood in.
    strange: Vec<(Item, Item)>,
}

impl<'a> Repairs<'a> {
    pub(super) fn new(text: &str, format: Format, index: &'a mut Index) -> Self {
        let patched = Patched::new(text);
        Self {
            format,
            patched,
            index,
            doubts: Vec::new(),
            stand_ins: Vec::new(),
            marked: Vec::new(),
            commas: Vec::new(),
            strange: Vec::new(),
        }
    }

    /// Whether an item is not the file's own any more, so that a fault of it is none of the file.
    pub(super) fn is_replaced(&self, item: Item) -> bool {
        self.index.upwards(item).any(|around| self.stand_ins.contains(&around))
    }

    /// Whether a missing field may well be there under a name that nobody knows: an unknown field of the same item holds
    /// the kind of value that is wanted. Each unknown field explains one missing one.
    pub(super) fn explains<T: DeserializeOwned>(&mut self, fault: &Fault, item: Item) -> bool {
        let Some(field) = fault.missing() else { return false };
        let place = joined(&self.index.place_within(item), field);
        let Some(Sample { wanted, .. }) = sample::<T>(&place, self.format) else { return false };
        let fits = |(around, field): &(Item, Item)| *around == item && self.index.looks_like(*field, wanted);
        match self.strange.iter().position(fits) {
            Some(found) => {
                self.strange.remove(found);
                true
            }
            None => false,
        }
    }

    /// Repairs a fault; says whether there was a way.
    pub(super) fn repair<T: DeserializeOwned>(&mut self, fault: &Fault, item: Option<Item>) -> bool {
        if !self.index.is_sound() {
            return false;
        }
        match (&fault.kind, item) {
            (Kind::Syntax(Syntax::Comma), _) => self.put_comma(fault.offset),
            (Kind::Syntax(Syntax::End) | Kind::Surplus, Some(item)) => self.end_before(item),
            (Kind::Syntax(_), _) | (_, None) => false,
            (Kind::DecimalComma(..), Some(item)) => self.put_point(item),
            (Kind::UnknownField { known, .. }, Some(item)) if self.index.key(item).is_some() => {
                self.unknown_field(fault, known, item)
            }
            (Kind::UnknownVariant { found, known }, Some(item)) => {
                self.unknown_variant::<T>((found, known), fault.offset, item)
            }
            (Kind::DuplicateField(_), Some(item)) if self.index.key(item).is_some() => {
                self.doubts.push(self.index.place(item));
                self.leave_out(item)
            }
            (Kind::MissingField(field), Some(item)) => self.missing_field::<T>(field, item),
            (Kind::WrongLength(..), Some(item)) => self.length::<T>(item),
            (Kind::Nameless(decimal), Some(item)) => {
                if let Some(before) = self.before(item).filter(|_| *decimal) {
                    self.doubts.push(self.index.place(before));
                }
                self.leave_out(item)
            }
            (Kind::BadName, Some(item)) => {
                self.strange.extend(self.index.parent(item).map(|around| (around, item)));
                self.leave_out(item)
            }
            (Kind::Quotes, Some(item)) => self.quotes(item),
            (Kind::NoColon, Some(item)) => self.put_colon(item),
            (Kind::LastComma, Some(_)) => {
                self.patched.replace(fault.offset..fault.offset + 1, String::new());
                true
            }
            (_, Some(item)) => self.stand_in::<T>(item),
        }
    }

    /// The item before another one in its row.
    fn before(&self, item: Item) -> Option<Item> {
        self.index.row(item).take_while(|other| *other != item).last()
    }

    /// Takes an item and its comma out.
    fn leave_out(&mut self, item: Item) -> bool {
        self.patched.replace(self.index.item(item), String::new());
        let is_last = self.index.row(item).next_back() == Some(item);
        let comma = match (self.index.comma(item), self.before(item)) {
            // JSON allows no comma behind the last item.
            (None, Some(before)) if is_last && self.format == Format::Json => self.index.comma(before),
            (comma, _) => comma,
        };
        if let Some(comma) = comma {
            self.patched.replace(comma..comma + 1, String::new());
        }
        self.index.remove(item);
        true
    }

    /// Takes an item and all behind it in its row out.
    fn end_before(&mut self, item: Item) -> bool {
        let row: Vec<Item> = self.index.row(item).skip_while(|other| *other != item).collect();
        row.into_iter().rev().fold(false, |_, item| self.leave_out(item))
    }

    /// An unknown field is taken for the one that it most likely stands for, or else left out; then fields that are not
    /// there may well be.
    fn unknown_field(&mut self, fault: &Fault, known: &[String], item: Item) -> bool {
        let (Some(key), Some(around)) = (self.index.key(item), self.index.parent(item)) else { return false };
        match fault.meant() {
            Some(meant) if self.index.field(around, meant).is_none() => {
                let name = if self.format == Format::Json { format!("\"{meant}\"") } else { meant.to_owned() };
                self.patched.replace(key, name);
                self.index.take_key_for(item, meant);
                return true;
            }
            Some(_) => {}
            None => {
                let missing = known.iter().filter(|field| self.index.field(around, field).is_none());
                let within = self.index.place_within(around);
                self.doubts.extend(missing.map(|field| joined(&within, field)));
                self.strange.push((around, item));
            }
        }
        self.leave_out(item)
    }

    /// An unknown kind of thing with something in it is taken for the most likely one.
    fn unknown_variant<T: DeserializeOwned>(
        &mut self,
        (found, known): (&str, &[String]),
        offset: usize,
        item: Item,
    ) -> bool {
        let near = nearest(found, known.iter().map(String::as_str));
        let key = self.index.key(item).filter(|key| key.contains(&offset));
        match (near, key, self.index.tag(item)) {
            (Some(near), Some(key), _) if self.format == Format::Json => {
                self.patched.replace(key, format!("\"{near}\""));
                self.index.take_key_for(item, near);
                true
            }
            (None, Some(_), _) if self.format == Format::Json => {
                let around = self.index.parent(item);
                around.is_some_and(|around| self.stand_in::<T>(around))
            }
            (Some(near), _, Some(tag)) => {
                self.patched.replace(tag, near.to_owned());
                self.index.take_tag_for(item, near);
                true
            }
            _ => self.stand_in::<T>(item),
        }
    }

    fn missing_field<T: DeserializeOwned>(&mut self, field: &str, item: Item) -> bool {
        let place = joined(&self.index.place_within(item), field);
        let found = sample::<T>(&place, self.format).filter(|_| self.index.has_fields(item));
        let Some(Sample { text, .. }) = found else { return self.stand_in::<T>(item) };
        let is_only = self.index.children(item).next().is_none();
        let new = match self.format {
            Format::Ron => format!("{field}: {text}, "),
            Format::Json => format!("\"{field}\": {text}{}", if is_only { "" } else { ", " }),
        };
        let inside = self.index.mark(item) + 1;
        self.patched.replace(inside..inside, new);
        self.doubts.push(place);
        true
    }

    /// A list of fixed length gets the values that are missing, or loses those that are too many.
    fn length<T: DeserializeOwned>(&mut self, item: Item) -> bool {
        let place = self.index.place(item);
        let Some(Sample { wanted: Wanted::Values(count), .. }) = sample::<T>(&place, self.format) else {
            return self.stand_in::<T>(item);
        };
        let there: Vec<Item> = self.index.children(item).collect();
        if let Some(surplus) = there.get(count) {
            return self.end_before(*surplus);
        }
        if there.len() == count {
            return self.stand_in::<T>(item);
        }
        let end = self.index.value(item).end.saturating_sub(1);
        let mut comma_is_due = there.last().is_some_and(|last| self.index.comma(*last).is_none());
        for index in there.len()..count {
            let place = format!("{place}[{index}]");
            let Some(Sample { text, .. }) = sample::<T>(&place, self.format) else {
                return self.stand_in::<T>(item);
            };
            self.patched.replace(end..end, format!("{}{text}", if comma_is_due { ", " } else { "" }));
            comma_is_due = true;
            self.doubts.push(place);
        }
        true
    }

    fn quotes(&mut self, item: Item) -> bool {
        let (Some(key), Some(name)) = (self.index.key(item), self.index.key_name(item).map(str::to_owned)) else {
            return false;
        };
        let name = if self.format == Format::Json { format!("\"{name}\"") } else { name };
        self.patched.replace(key, name);
        true
    }

    fn put_colon(&mut self, item: Item) -> bool {
        let Some(key) = self.before(item) else { return false };
        let end = self.index.value(key).end;
        self.patched.replace(end..end, ":".to_owned());
        self.index.take_for_key(key, item);
        true
    }

    /// Makes one decimal of a number and the next.
    fn put_point(&mut self, item: Item) -> bool {
        let next = self.index.row(item).skip_while(|other| *other != item).nth(1);
        let (Some(comma), Some(next)) = (self.index.comma(item), next) else { return false };
        self.patched.replace(comma..comma + 1, ".".to_owned());
        self.index.remove(next);
        true
    }

    fn put_comma(&mut self, offset: usize) -> bool {
        if self.commas.contains(&offset) {
            return false;
        }
        self.commas.push(offset);
        self.patched.replace(offset..offset, ",".to_owned());
        let Some(before) = offset.checked_sub(1).and_then(|last| self.index.at_offset(last)) else { return true };
        let next = self.index.row(before).find(|item| self.index.item(*item).start >= offset);
        // Among fields, only what has a name makes sense behind a comma.
        let named = |item: &Item| self.index.key(*item).is_some() || self.index.is_name(*item);
        let among_fields = self.index.row(before).any(|item| self.index.key(item).is_some());
        match next.filter(|item| among_fields && !named(item)) {
            Some(nameless) => self.leave_out(nameless),
            None => true,
        }
    }

    /// Puts the plainest value of the right kind in the place of one that cannot be read. A stand-in that does not do
    /// either is replaced together with what is around it. The file as a whole has no stand-in.
    fn stand_in<T: DeserializeOwned>(&mut self, item: Item) -> bool {
        let replaced = self.index.upwards(item).filter(|around| self.stand_ins.contains(around)).last();
        let mut next = match replaced {
            Some(replaced) => self.index.parent(replaced),
            None => Some(item),
        };
        while let Some(at) = next.filter(|at| self.index.parent(*at).is_some()) {
            let place = self.index.place(at);
            if let Some(Sample { wanted, text }) = sample::<T>(&place, self.format) {
                if at == item && self.other_marks(at, wanted) {
                    return true;
                }
                self.patched.replace(self.index.value(at), text);
                self.doubts.push(place);
                self.stand_ins.push(at);
                return true;
            }
            next = self.index.parent(at);
        }
        false
    }

    /// Values in the other kind of marks than those wanted may be right for all that.
    fn other_marks(&mut self, item: Item, wanted: Wanted) -> bool {
        let Range { start, end } = self.index.value(item);
        let marks = match wanted {
            Wanted::Values(_) if self.index.is_list(item) => ["(", ")"],
            Wanted::List if self.index.is_row_in_parentheses(item) => ["[", "]"],
            _ => return false,
        };
        if self.format == Format::Json || self.marked.contains(&item) {
            return false;
        }
        self.marked.push(item);
        self.patched.replace(start..start + 1, marks[0].to_owned());
        self.patched.replace(end - 1..end, marks[1].to_owned());
        true
    }
}

/// The place of a field.
fn joined(place: &str, field: &str) -> String {
    if place.is_empty() { field.to_owned() } else { format!("{place}.{field}") }
}

/// Whether a text goes on with blanks or a comment.
fn starts_blank(rest: &str) -> bool {
    rest.starts_with(char::is_whitespace) || rest.starts_with('/')
}

/// Whether a row of numbers has a value too many because two whole numbers with nothing but a comma between them are one
/// decimal, while blanks stand behind other commas: the fault, and where.
fn decimal_comma(text: &str, index: &Index, item: Item) -> Option<(Kind, usize)> {
    let row: Vec<Item> = index.row(item).collect();
    let written = |item: Item| text.get(index.value(item)).unwrap_or_default();
    let is_digits = |text: &str| !text.is_empty() && text.chars().all(|digit| digit.is_ascii_digit());
    let is_pair = |pair: &[Item]| {
        let close = index.comma(pair[0]).is_some_and(|comma| comma + 1 == index.item(pair[1]).start);
        close && is_digits(written(pair[0]).trim_start_matches(['+', '-'])) && is_digits(written(pair[1]))
    };
    let pairs: Vec<&[Item]> = row.windows(2).filter(|pair| is_pair(pair)).collect();
    let blanks = row
        .windows(2)
        .any(|pair| index.comma(pair[0]).is_some_and(|comma| text.get(comma + 1..).is_some_and(starts_blank)));
    match pairs[..] {
        [[whole, rest], ..] if blanks => {
            let kind = Kind::DecimalComma(written(*whole).to_owned(), written(*rest).to_owned());
            Some((kind, index.item(*whole).start))
        }
        _ => None,
    }
}

/// Makes out what a fault is that looks the same to the reader as others do.
pub(super) fn settle(fault: Fault, text: &str, index: &Index, item: Option<Item>) -> Fault {
    let Some(item) = item.filter(|_| index.is_sound()) else { return fault };
    let Fault { kind, offset } = fault;
    let before = index.row(item).take_while(|other| *other != item).last();
    let starts_here = index.item(item).start == offset;
    let is_lone = index.key(item).is_none();
    let (kind, offset) = match kind {
        Kind::NoName if !index.is_leaf(item) && !starts_here && text.get(offset..).is_some_and(starts_blank) => {
            // The reader stopped before blanks.
            let behind = Tokens::new(text.get(offset..).unwrap_or_default()).next();
            let next = behind.map_or(offset, |(_, next)| offset + next.start);
            match index.at_offset(next).filter(|_| next > offset) {
                Some(next_item) => {
                    return settle(Fault { kind: Kind::NoName, offset: next }, text, index, Some(next_item));
                }
                None => (Kind::NoValue, offset),
            }
        }
        Kind::NoName => {
            let key = index.key(item).filter(|key| key.contains(&offset));
            let is_key = key.is_some();
            let quoted = key.and_then(|key| text.get(key)).is_some_and(|key| key.starts_with('"'));
            if quoted {
                (Kind::Quotes, offset)
            } else if is_key {
                (Kind::BadName, offset)
            } else if is_lone && index.is_among_fields(item) {
                let digits = |item: Item| {
                    let value = text.get(index.value(item)).unwrap_or_default();
                    !value.is_empty() && value.chars().all(|digit| digit.is_ascii_digit() || "+-".contains(digit))
                };
                (Kind::Nameless(digits(item) && before.is_some_and(digits)), offset)
            } else {
                (Kind::NoValue, offset)
            }
        }
        Kind::NoEnd => match before.filter(|before| index.comma(*before).is_none()) {
            Some(_) if index.parent(item).is_none() => (Kind::Syntax(Syntax::End), offset),
            Some(before) => (Kind::Syntax(Syntax::Comma), index.item(before).end),
            None if starts_here => decimal_comma(text, index, item).unwrap_or((Kind::Surplus, offset)),
            None => (Kind::NoValue, offset),
        },
        Kind::NoColon if !index.is_leaf(item) => {
            // The reader stopped between name and value.
            let next = index.children(item).map(|child| index.item(child).start).find(|start| *start >= offset);
            match next.and_then(|start| index.at_offset(start)) {
                Some(next) if next != item => {
                    let fault = Fault { kind: Kind::NoColon, offset: index.item(next).start };
                    return settle(fault, text, index, Some(next));
                }
                _ => (Kind::NoValue, offset),
            }
        }
        Kind::NoColon => {
            // In JSON a name is a text.
            let is_text = |before: Item| text.get(index.value(before)).is_some_and(|text| text.starts_with('"'));
            let is_name = |before: Item| (index.is_name(before) || is_text(before)) && index.comma(before).is_none();
            (if is_lone && before.is_some_and(is_name) { Kind::NoColon } else { Kind::NoValue }, offset)
        }
        Kind::LastComma => match index.children(item).next_back().and_then(|last| index.comma(last)) {
            Some(comma) => (Kind::LastComma, comma),
            None => (Kind::NoValue, offset),
        },
        Kind::NoValue | Kind::WrongValue(_) | Kind::Refused(_) if !index.is_leaf(item) && !starts_here => {
            // The reader stopped before blanks, or behind a name that wants something in parentheses.
            let behind =
                Tokens::new(text.get(offset..).unwrap_or_default()).next().map(|(_, next)| offset + next.start);
            let next = behind.unwrap_or(offset);
            let name = index.children(item).take_while(|child| index.item(*child).end <= offset).last();
            let bare =
                name.filter(|name| index.is_name(*name) && index.comma(*name).is_none_or(|comma| comma >= offset));
            let inside = index.at_offset(next).filter(|inside| *inside != item && next > offset);
            match (text.get(next..).and_then(|rest| rest.chars().next()), bare, inside) {
                (_, Some(name), _) => (Kind::NoContent, index.value(name).start),
                (Some(',' | ')' | ']' | '}'), ..) if index.mark(item) < offset => (Kind::Blank, next),
                (_, _, Some(_)) => (kind, next),
                _ => (kind, offset),
            }
        }
        Kind::WrongLength(..) => {
            let row: Vec<Item> = index.children(item).collect();
            let gap = row.iter().rev().skip(1).rev().find(|before| index.comma(**before).is_none());
            match gap {
                Some(before) => (Kind::Syntax(Syntax::Comma), index.item(*before).end),
                None => (kind, offset),
            }
        }
        kind => (kind, offset),
    };
    Fault { kind, offset }
}
