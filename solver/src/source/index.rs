//! Where every item of a RON or JSON text stands, by its place in the data: `components[3].at[1]`.
//!
//! The readers of `ron` and `serde_json` say where reading failed, but not where a value came from that was read well
//! and turns out to make no sense. This index finds that out, from the text alone. It also serves whoever wants to
//! change a value and leave the rest of the file, comments included, as it is.
//!
//! It knows no types. Where RON leaves open what a name in front of a parenthesis means, it goes by the spelling that
//! the file types keep to: `Some` and struct names begin with a capital letter and stand for nothing in a place;
//! variants of enums begin with a small one and are a step, as they are in JSON.

mod builder;

use self::builder::built;
use super::place::{Step, steps};
use super::sample::Wanted;
use std::ops::Range;

/// The items of a text. Built in one pass without recursion, for texts of any nesting; made for every text, sound or
/// not: what cannot be made sense of is left out.
pub(crate) struct Index {
    text: String,
    nodes: Vec<Node>,
    sound: bool,
}

/// An item: a value and, for a field, its key. Node 0 is the file.
struct Node {
    parent: u32,
    kind: Kind,
    /// The name in front of a parenthesis.
    tag: Option<Range<usize>>,
    key: Option<Range<usize>>,
    /// What the tag or else the key was taken for, if not for what is written.
    tag_meant: Option<String>,
    key_meant: Option<String>,
    /// From the tag or the opening mark to the closing one.
    value: Range<usize>,
    /// The opening mark; the first byte of what has none.
    mark: usize,
    /// The comma after it.
    comma: Option<usize>,
    children: Vec<u32>,
    /// Taken out by [`Index::remove`].
    removed: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// A number, name or string.
    Leaf,
    /// In `(` and `)`.
    Group,
    /// In `[` and `]`.
    List,
    /// In `{` and `}`.
    Map,
    File,
}

/// An item of an [`Index`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Item(u32);

/// A place to look for children: a node, before or after the tag in front of its parenthesis.
#[derive(Clone, Copy)]
struct Cursor {
    node: u32,
    inside: bool,
}

impl Index {
    pub(crate) fn new(text: &str) -> Self {
        let (nodes, sound) = built(text);
        Self { text: text.to_owned(), nodes, sound }
    }

    /// Whether all marks and strings close. Only then does the index tell with certainty what belongs to what.
    pub(crate) fn is_sound(&self) -> bool {
        self.sound
    }

    /// The item at `place`, and whether it is that item; if the file leaves it out, the innermost item around it.
    pub(crate) fn find(&self, place: &str) -> Option<(Item, bool)> {
        let mut cursor = self.start()?;
        for step in steps(place) {
            match self.step(cursor, step) {
                Some(next) => cursor = next,
                None => return Some((Item(cursor.node), false)),
            }
        }
        Some((Item(cursor.node), true))
    }

    /// The innermost item whose key or value holds the byte at `offset`.
    pub(crate) fn at_offset(&self, offset: usize) -> Option<Item> {
        let mut found = None;
        let mut children: &[u32] = &self.node(0)?.children;
        loop {
            // Items stand one after the other, so the one that holds the offset is the last that starts before it.
            let after = children.partition_point(|child| self.item(Item(*child)).start <= offset);
            let Some(child) = after.checked_sub(1).and_then(|before| children.get(before)) else { return found };
            let item = Item(*child);
            if self.item(item).end <= offset || self.is_removed(*child) {
                return found;
            }
            found = Some(item);
            children = &self.node(*child)?.children;
        }
    }

    /// Takes an item out, as if the text did not have it: [`Index::find`] and [`Index::at_offset`] pass it over.
    pub(crate) fn remove(&mut self, item: Item) {
        if let Some(node) = self.nodes.get_mut(item.0 as usize) {
            node.removed = true;
        }
    }

    /// Takes the key of an item for another one.
    pub(crate) fn take_key_for(&mut self, item: Item, name: &str) {
        if let Some(node) = self.nodes.get_mut(item.0 as usize) {
            node.key_meant = Some(name.to_owned());
        }
    }

    /// Takes the name in front of an item's parenthesis for another one.
    pub(crate) fn take_tag_for(&mut self, item: Item, name: &str) {
        if let Some(node) = self.nodes.get_mut(item.0 as usize) {
            node.tag_meant = Some(name.to_owned());
        }
    }

    /// Takes an item for the key of the one behind it.
    pub(crate) fn take_for_key(&mut self, key: Item, item: Item) {
        let key_at = self.value(key);
        if let Some(node) = self.nodes.get_mut(item.0 as usize) {
            node.key = Some(key_at);
        }
        if let Some(parent) = self.node(item.0).map(|node| node.parent as usize)
            && let Some(parent) = self.nodes.get_mut(parent)
        {
            parent.children.retain(|child| *child != key.0);
        }
    }

    /// The bytes of an item's value, tag and marks included.
    pub(crate) fn value(&self, item: Item) -> Range<usize> {
        self.node(item.0).map_or(0..0, |node| node.value.clone())
    }

    /// The bytes to show for an item: its value, or its first field if the value starts with a mark alone on its line.
    pub(crate) fn headline(&self, item: Item) -> Range<usize> {
        let value = self.value(item);
        let first_line = self.text.get(value.clone()).and_then(|text| text.lines().next()).unwrap_or_default();
        let first = self.node(item.0).and_then(|node| node.children.first());
        match first.filter(|_| first_line.trim_end().ends_with(['(', '[', '{'])) {
            Some(first) => self.item(Item(*first)),
            None => value,
        }
    }

    /// The bytes of the key of a field.
    pub(crate) fn key(&self, item: Item) -> Option<Range<usize>> {
        self.node(item.0)?.key.clone()
    }

    /// The name in front of an item's parenthesis.
    pub(crate) fn tag(&self, item: Item) -> Option<Range<usize>> {
        self.node(item.0)?.tag.clone()
    }

    /// The bytes of an item from its key, if it has one, to the end of its value.
    pub(crate) fn item(&self, item: Item) -> Range<usize> {
        let value = self.value(item);
        self.key(item).map_or(value.start, |key| key.start)..value.end
    }

    /// The place of an item's opening mark; its first byte if it has none.
    pub(crate) fn mark(&self, item: Item) -> usize {
        self.node(item.0).map_or(0, |node| node.mark)
    }

    /// What is in an item, in order, without what was taken out.
    pub(crate) fn children(&self, item: Item) -> impl DoubleEndedIterator<Item = Item> + '_ {
        let children = self.node(item.0).map(|node| node.children.as_slice()).unwrap_or_default();
        children.iter().filter(|child| !self.is_removed(**child)).map(|child| Item(*child))
    }

    /// The items around an item's, its own among them.
    pub(crate) fn row(&self, item: Item) -> impl DoubleEndedIterator<Item = Item> + '_ {
        self.children(Item(self.node(item.0).map_or(0, |node| node.parent)))
    }

    /// The field called `name` of an item with fields.
    pub(crate) fn field(&self, item: Item, name: &str) -> Option<Item> {
        self.children(item).find(|child| self.key_name(*child) == Some(name))
    }

    /// Whether an item has fields; what is empty may have.
    pub(crate) fn has_fields(&self, item: Item) -> bool {
        let open = matches!(self.kind(item), Kind::Group | Kind::Map);
        open && (self.children(item).next().is_none() || self.children(item).any(|child| self.key(child).is_some()))
    }

    /// Whether an item stands where fields may: in parentheses or braces, not in a list.
    pub(crate) fn is_among_fields(&self, item: Item) -> bool {
        self.parent(item).is_some_and(|around| self.kind(around) == Kind::Group || self.kind(around) == Kind::Map)
    }

    /// Whether an item is in `[` and `]`.
    pub(crate) fn is_list(&self, item: Item) -> bool {
        self.kind(item) == Kind::List
    }

    /// Whether an item is values without names in `(` and `)`, with no name before them.
    pub(crate) fn is_row_in_parentheses(&self, item: Item) -> bool {
        self.kind(item) == Kind::Group
            && self.tag(item).is_none()
            && self.children(item).all(|child| self.key(child).is_none())
    }

    /// Whether an item is a word that could be a name.
    pub(crate) fn is_name(&self, item: Item) -> bool {
        let text = self.text.get(self.value(item)).unwrap_or_default();
        self.is_leaf(item) && text.starts_with(|first: char| first.is_alphabetic() || first == '_')
    }

    /// Whether an item may be of the kind that is wanted, by its first sign.
    pub(super) fn looks_like(&self, item: Item, wanted: Wanted) -> bool {
        let text = self.text.get(self.value(item)).unwrap_or_default();
        let opens = |marks: [char; 2]| text.starts_with(marks);
        match wanted {
            Wanted::Number | Wanted::Whole => {
                text.starts_with(|first: char| first.is_ascii_digit() || "+-.".contains(first))
            }
            Wanted::Text => text.starts_with('"'),
            Wanted::Flag => matches!(text, "true" | "false"),
            Wanted::List | Wanted::Values(_) => opens(['(', '[']),
            Wanted::Fields => opens(['(', '{']),
            Wanted::Choice(_) => self.is_name(item) || self.tag(item).is_some() || opens(['{', '"']),
        }
    }

    /// Whether an item is a number, name or text.
    pub(crate) fn is_leaf(&self, item: Item) -> bool {
        self.kind(item) == Kind::Leaf
    }

    fn kind(&self, item: Item) -> Kind {
        self.node(item.0).map_or(Kind::File, |node| node.kind)
    }

    /// The name of a field, without quotes, or what it was taken for.
    pub(crate) fn key_name(&self, item: Item) -> Option<&str> {
        let node = self.node(item.0)?;
        let key = node.key.as_ref()?;
        Some(node.key_meant.as_deref().unwrap_or_else(|| self.name(key)))
    }

    /// The item around an item; `None` for the value of the file.
    pub(crate) fn parent(&self, item: Item) -> Option<Item> {
        self.upwards(item).nth(1)
    }

    /// Where the comma behind an item stands.
    pub(crate) fn comma(&self, item: Item) -> Option<usize> {
        self.node(item.0)?.comma
    }

    /// The place of an item, written so that [`Index::get`] finds it again.
    pub(crate) fn place(&self, item: Item) -> String {
        let mut steps: Vec<String> = Vec::new();
        let mut current = item.0;
        while let Some(node) = self.node(current) {
            let parent = node.parent;
            if current == 0 || parent == 0 {
                break;
            }
            if let Some(key) = self.key_name(Item(current)) {
                steps.push(format!(".{key}"));
            } else if !self.is_sole_of_tagged(parent) {
                let index = self.node(parent).and_then(|node| node.children.iter().position(|child| *child == current));
                steps.push(format!("[{}]", index.unwrap_or_default()));
            }
            if let Some(variant) = self.node(parent).and_then(|node| self.variant(node)) {
                steps.push(format!(".{variant}"));
            }
            current = parent;
        }
        steps.reverse();
        let place = steps.concat();
        place.strip_prefix('.').map_or(place.clone(), str::to_owned)
    }

    /// The place of what is in an item: behind the variant that it is, if it is one.
    pub(crate) fn place_within(&self, item: Item) -> String {
        let place = self.place(item);
        match self.node(item.0).and_then(|node| self.variant(node)) {
            Some(variant) if place.is_empty() => variant.to_owned(),
            Some(variant) => format!("{place}.{variant}"),
            None => place,
        }
    }

    fn node(&self, node: u32) -> Option<&Node> {
        self.nodes.get(node as usize)
    }

    fn is_removed(&self, node: u32) -> bool {
        self.node(node).is_some_and(|node| node.removed)
    }

    /// An item, its parent, and so on up to the value of the file.
    pub(crate) fn upwards(&self, item: Item) -> impl Iterator<Item = Item> + '_ {
        std::iter::successors(Some(item), |item| {
            self.node(item.0).map(|node| Item(node.parent)).filter(|parent| parent.0 != 0)
        })
    }

    /// The value of the file: what stands last, behind any `#![enable(..)]`.
    fn start(&self) -> Option<Cursor> {
        self.children(Item(0)).last().map(|item| Cursor { node: item.0, inside: false })
    }

    fn step(&self, from: Cursor, step: Step<'_>) -> Option<Cursor> {
        let mut cursor = from;
        // Each turn of the loop goes one tag deeper.
        while let Some(node) = self.node(cursor.node).filter(|node| node.tag.is_some() && !cursor.inside) {
            let inner = self.enter(cursor.node);
            match self.variant(node) {
                Some(variant) => return (step == Step::Field(variant)).then_some(inner),
                None => cursor = inner,
            }
        }
        let mut children = self.node(cursor.node)?.children.iter().filter(|child| !self.is_removed(**child));
        let child = match step {
            Step::Start => return Some(cursor),
            Step::Index(index) => children.nth(index).filter(|child| self.key(Item(**child)).is_none()),
            Step::Field(name) => children.find(|child| self.key_name(Item(**child)) == Some(name)),
        };
        child.map(|node| Cursor { node: *node, inside: false })
    }

    /// Past the tag: into the one value in the parentheses, or to the fields there.
    fn enter(&self, node: u32) -> Cursor {
        let sole = self.node(node).and_then(|node| node.children.first()).filter(|_| self.is_sole_of_tagged(node));
        sole.map_or(Cursor { node, inside: true }, |child| Cursor { node: *child, inside: false })
    }

    /// Whether a node is a name with one value in its parentheses, such as `Some(3)`.
    fn is_sole_of_tagged(&self, node: u32) -> bool {
        self.node(node).is_some_and(|node| {
            let [only] = node.children[..] else { return false };
            node.tag.is_some() && self.key(Item(only)).is_none()
        })
    }

    fn variant<'a>(&'a self, node: &'a Node) -> Option<&'a str> {
        let tag = match &node.tag_meant {
            Some(meant) => meant,
            None => self.text.get(node.tag.clone()?)?,
        };
        let name = tag.strip_prefix("r#").unwrap_or(tag);
        name.starts_with(|first: char| !first.is_uppercase()).then_some(name)
    }

    /// A key without what surrounds it: quotes in JSON, `r#` in RON.
    fn name(&self, key: &Range<usize>) -> &str {
        let text = self.text.get(key.clone()).unwrap_or_default();
        let bare = text.strip_prefix("r#").unwrap_or(text);
        bare.strip_prefix('"').and_then(|quoted| quoted.strip_suffix('"')).unwrap_or(bare)
    }
}

#[cfg(test)]
mod tests;
