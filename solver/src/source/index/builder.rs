//! From the tokens of a text to the nodes of its index, in one pass.

use super::super::scan::{Token, Tokens};
use super::{Kind, Node};
use std::ops::Range;

/// The nodes of a text, and whether all its marks and strings close.
pub(super) fn built(text: &str) -> (Vec<Node>, bool) {
    let mut builder = Builder::new(text);
    let mut tokens = Tokens::new(text);
    for (token, range) in &mut tokens {
        builder.take(token, range);
    }
    let sound = tokens.unclosed.is_none() && builder.balanced && builder.open.len() == 1;
    (builder.nodes, sound)
}

/// Turns tokens into nodes.
struct Builder {
    nodes: Vec<Node>,
    /// The nodes whose closing mark has not come yet, innermost last; the file is always there.
    open: Vec<u32>,
    /// The key of the value to come.
    key: Option<Range<usize>>,
    /// A name that came last: a parenthesis right behind it belongs to it.
    name: Option<u32>,
    balanced: bool,
}

impl Builder {
    fn new(text: &str) -> Self {
        let file = Node {
            parent: 0,
            kind: Kind::File,
            tag: None,
            key: None,
            tag_meant: None,
            key_meant: None,
            value: 0..text.len(),
            mark: 0,
            comma: None,
            children: Vec::new(),
            removed: false,
        };
        Self { nodes: vec![file], open: vec![0], key: None, name: None, balanced: true }
    }

    fn take(&mut self, token: Token, range: Range<usize>) {
        let name = self.name.take();
        match token {
            Token::Word => self.name = self.add(Kind::Leaf, range),
            Token::Text => {
                self.add(Kind::Leaf, range);
            }
            Token::Open('(') if name.is_some() => {
                if let Some(node) = name.and_then(|name| self.nodes.get_mut(name as usize)) {
                    node.kind = Kind::Group;
                    node.tag = Some(node.value.clone());
                    node.mark = range.start;
                }
                self.open.extend(name);
            }
            Token::Open(mark) => {
                let kind = match mark {
                    '(' => Kind::Group,
                    '[' => Kind::List,
                    _ => Kind::Map,
                };
                let node = self.add(kind, range);
                self.open.extend(node);
            }
            Token::Close(mark) => self.close(mark, range.end),
            Token::Colon => {
                // What came last was a key.
                let key = self.innermost().and_then(|parent| parent.children.pop());
                self.key = key.and_then(|key| self.nodes.get(key as usize)).map(|node| node.value.clone());
                self.balanced &= self.key.is_some();
            }
            Token::Comma => {
                let last = self.innermost().and_then(|parent| parent.children.last().copied());
                if let Some(node) = last.and_then(|last| self.nodes.get_mut(last as usize)) {
                    node.comma.get_or_insert(range.start);
                }
                self.key = None;
            }
        }
    }

    fn innermost(&mut self) -> Option<&mut Node> {
        self.open.last().and_then(|node| self.nodes.get_mut(*node as usize))
    }

    fn add(&mut self, kind: Kind, value: Range<usize>) -> Option<u32> {
        // Sources are limited to far fewer bytes than fit.
        let node = u32::try_from(self.nodes.len()).ok()?;
        let parent = self.open.last().copied()?;
        let key = self.key.take();
        self.nodes.push(Node {
            parent,
            kind,
            tag: None,
            key,
            tag_meant: None,
            key_meant: None,
            mark: value.start,
            value,
            comma: None,
            children: Vec::new(),
            removed: false,
        });
        self.nodes.get_mut(parent as usize)?.children.push(node);
        Some(node)
    }

    fn close(&mut self, mark: char, end: usize) {
        self.key = None;
        if self.open.len() < 2 {
            self.balanced = false;
            return;
        }
        let Some(node) = self.open.pop().and_then(|node| self.nodes.get_mut(node as usize)) else { return };
        node.value.end = end;
        self.balanced &= matches!((node.kind, mark), (Kind::Group, ')') | (Kind::List, ']') | (Kind::Map, '}'));
    }
}
