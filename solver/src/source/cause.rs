//! From where a reader noticed malformed text to where a person would look for the cause.

use super::fault::{Fault, Kind, Syntax};
use super::scan::{Token, Tokens};

/// Moves a fault of syntax to its likely cause; other faults are where they belong.
pub(super) fn at_the_cause(fault: Fault, text: &str) -> Fault {
    let Fault { kind: Kind::Syntax(syntax), offset } = fault else { return fault };
    let around = Around::new(text, offset);
    let (syntax, offset) = match syntax {
        Syntax::NeverClosed => (syntax, around.unclosed.unwrap_or(offset)),
        Syntax::End => (syntax, around.next.unwrap_or(offset)),
        Syntax::Comma => match around.next {
            // The reader stopped within a number or a name, of which it took a part and then wanted a comma.
            Some(next) if next < offset => {
                return Fault { kind: Kind::NoValue, offset: next };
            }
            Some(next) => match (around.runs_on, text.get(next..).and_then(|rest| rest.chars().next())) {
                (Some(start), _) => {
                    let lines = text.get(..around.previous).unwrap_or_default().matches('\n').count();
                    (Syntax::RunsOn(1 + lines), start)
                }
                (None, Some(mark @ (')' | ']' | '}'))) => (Syntax::WrongMark(mark), next),
                (None, _) => (syntax, around.previous),
            },
            None => (Syntax::EarlyEnd, offset),
        },
        other => (other, offset),
    };
    Fault { kind: Kind::Syntax(syntax), offset }
}

/// What stands around an offset.
#[derive(Default)]
struct Around {
    /// End of the token before.
    previous: usize,
    /// Start of the token at the offset or behind it.
    next: Option<usize>,
    /// Start of the token before if it is a text that holds a line break. Where a quote is missing, the text and what
    /// stands between texts change places, so that it runs on to the next quote.
    runs_on: Option<usize>,
    /// Start of what never closes.
    unclosed: Option<usize>,
}

impl Around {
    fn new(text: &str, offset: usize) -> Self {
        let mut around = Self::default();
        let mut tokens = Tokens::new(text);
        for (token, range) in &mut tokens {
            if range.end > offset {
                around.next.get_or_insert(range.start);
                continue;
            }
            around.previous = range.end;
            let runs_on = token == Token::Text && text.get(range.clone()).is_some_and(|text| text.contains('\n'));
            around.runs_on = runs_on.then_some(range.start);
        }
        around.unclosed = tokens.unclosed;
        around
    }
}
