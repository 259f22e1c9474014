//! Undo and redo.

/// States gone through, and states gone back from.
#[derive(Clone, Debug)]
pub(super) struct History<T> {
    past: Vec<Entry<T>>,
    future: Vec<Entry<T>>,
}

#[derive(Clone, Debug)]
struct Entry<T> {
    state: T,
    what: String,
}

/// Steps that can be undone: far more than anyone goes back, and a bound on memory.
const MOST_STEPS: usize = 500;

impl<T> Default for History<T> {
    fn default() -> Self {
        Self { past: Vec::new(), future: Vec::new() }
    }
}

impl<T> History<T> {
    /// Notes the state before a change, and what the change is, in words.
    pub(super) fn note(&mut self, before: T, what: impl Into<String>) {
        self.future.clear();
        self.past.push(Entry { state: before, what: what.into() });
        if self.past.len() > MOST_STEPS {
            self.past.remove(0);
        }
    }

    /// The state before the last change; `now` can be come back to by [`History::redo`]. Gives `now` back if there is
    /// nothing to undo.
    pub(super) fn undo(&mut self, now: T) -> T {
        step(&mut self.past, &mut self.future, now)
    }

    /// The state that was last gone back from; gives `now` back if there is none.
    pub(super) fn redo(&mut self, now: T) -> T {
        step(&mut self.future, &mut self.past, now)
    }

    /// What would be undone.
    pub(super) fn last(&self) -> Option<&str> {
        self.past.last().map(|entry| entry.what.as_str())
    }

    /// What would be done again.
    pub(super) fn next(&self) -> Option<&str> {
        self.future.last().map(|entry| entry.what.as_str())
    }
}

fn step<T>(from: &mut Vec<Entry<T>>, to: &mut Vec<Entry<T>>, now: T) -> T {
    match from.pop() {
        Some(Entry { state, what }) => {
            to.push(Entry { state: now, what });
            state
        }
        None => now,
    }
}

#[cfg(test)]
mod tests {
    use super::{History, MOST_STEPS};

    #[test]
    fn going_back_and_forth_ends_where_it_began() {
        let mut history = History::default();
        let mut now = 0;
        for next in 1..=3 {
            history.note(now, format!("to {next}"));
            now = next;
        }
        assert_eq!(history.last(), Some("to 3"));
        now = history.undo(now);
        now = history.undo(now);
        assert_eq!((now, history.last(), history.next()), (1, Some("to 1"), Some("to 2")));
        now = history.redo(now);
        assert_eq!((now, history.next()), (2, Some("to 3")));
        history.note(now, "elsewhere");
        now = 9;
        assert_eq!((history.redo(now), history.next()), (9, None));
        now = history.undo(now);
        assert_eq!(now, 2);
    }

    #[test]
    fn with_nothing_to_undo_all_stays_as_it_is() {
        let mut history = History::<i32>::default();
        assert_eq!((history.undo(5), history.redo(5)), (5, 5));
        assert_eq!((history.last(), history.next()), (None, None));
    }

    #[test]
    fn the_oldest_steps_are_forgotten() {
        let mut history = History::default();
        for state in 0..MOST_STEPS + 7 {
            history.note(state, "");
        }
        let mut now = usize::MAX;
        for _ in 0..MOST_STEPS + 7 {
            now = history.undo(now);
        }
        assert_eq!(now, 7);
    }
}
