//! Cuts RON or JSON into tokens, without caring whether they make sense together.

use std::ops::Range;

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Token {
    /// `(`, `[` or `{`.
    Open(char),
    /// `)`, `]` or `}`.
    Close(char),
    Colon,
    Comma,
    /// A string, byte string or character, raw or not, quotes included.
    Text,
    /// A name, number, `true`, or anything else up to the next blank or mark.
    Word,
}

/// The tokens of a text with their byte ranges. Ends at the end of the text, whatever it holds.
pub(super) struct Tokens<'a> {
    text: &'a str,
    at: usize,
    /// Where a string or comment starts that has no end.
    pub(super) unclosed: Option<usize>,
}

impl<'a> Tokens<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { text, at: 0, unclosed: None }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// Moves past `pattern` from `from` on; to the end of the text if there is none.
    fn skip_past(&mut self, pattern: &str, from: usize) {
        let rest = self.rest();
        match rest.get(from..).and_then(|tail| tail.find(pattern)) {
            Some(found) => self.at += from + found + pattern.len(),
            None => self.give_up(),
        }
    }

    fn skip_blanks_and_comments(&mut self) {
        loop {
            let rest = self.rest();
            self.at += rest.len() - rest.trim_start_matches(is_blank).len();
            let rest = self.rest();
            if rest.starts_with("//") {
                self.at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                self.skip_block_comment();
            } else {
                return;
            }
        }
    }

    /// Block comments nest.
    fn skip_block_comment(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut depth = 0_usize;
        while let Some(pair) = bytes.get(self.at..self.at + 2) {
            match pair {
                b"/*" => depth += 1,
                b"*/" => depth -= 1,
                _ => {
                    self.at += 1;
                    continue;
                }
            }
            self.at += 2;
            if depth == 0 {
                return;
            }
        }
        self.at = start;
        self.give_up();
    }

    /// Moves to the end because what starts here never ends.
    fn give_up(&mut self) {
        self.unclosed = Some(self.at);
        self.at = self.text.len();
    }

    /// Moves past a string or character that starts here, if one does.
    fn skip_text(&mut self) -> bool {
        let rest = self.rest();
        let body = rest.strip_prefix('b').unwrap_or(rest);
        let prefix = rest.len() - body.len();
        if let Some(raw) = body.strip_prefix('r') {
            let hashes = raw.len() - raw.trim_start_matches('#').len();
            if raw.get(hashes..).is_some_and(|quoted| quoted.starts_with('"')) {
                let end = format!("\"{}", "#".repeat(hashes));
                self.skip_past(&end, prefix + 1 + hashes + 1);
                return true;
            }
        }
        let Some(quote) = body.chars().next().filter(|quote| matches!(quote, '"' | '\'')) else { return false };
        let mut escaped = false;
        for (offset, character) in body.char_indices().skip(1) {
            // A character in single quotes may be a quote itself.
            let lone_quote = quote == '\'' && offset == 1;
            if escaped {
                escaped = false;
            } else if character == '\\' {
                escaped = true;
            } else if character == quote && !lone_quote {
                self.at += prefix + offset + 1;
                return true;
            }
        }
        self.give_up();
        true
    }
}

impl Iterator for Tokens<'_> {
    type Item = (Token, Range<usize>);

    fn next(&mut self) -> Option<Self::Item> {
        self.skip_blanks_and_comments();
        let start = self.at;
        let first = self.rest().chars().next()?;
        let mark = match first {
            '(' | '[' | '{' => Some(Token::Open(first)),
            ')' | ']' | '}' => Some(Token::Close(first)),
            ':' => Some(Token::Colon),
            ',' => Some(Token::Comma),
            _ => None,
        };
        let token = if let Some(mark) = mark {
            self.at += first.len_utf8();
            mark
        } else if self.skip_text() {
            Token::Text
        } else {
            let rest = self.rest();
            let ends = |(offset, character): &(usize, char)| {
                is_blank(*character)
                    || "()[]{}:,\"'".contains(*character)
                    || rest.get(*offset..).is_some_and(|tail| tail.starts_with("//") || tail.starts_with("/*"))
            };
            self.at += rest.char_indices().find(ends).map_or(rest.len(), |(offset, _)| offset);
            Token::Word
        };
        Some((token, start..self.at))
    }
}

/// What RON counts as blank: the white space of Unicode's pattern syntax.
fn is_blank(character: char) -> bool {
    character.is_whitespace() || matches!(character, '\u{200e}' | '\u{200f}')
}
