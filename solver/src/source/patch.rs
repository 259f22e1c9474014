//! A text with stretches replaced, and the way back from it to what was replaced.

use std::ops::Range;

/// A text as it was written, and as it is read after some of it was replaced.
pub(super) struct Patched {
    original: String,
    text: String,
    /// What stands for which bytes of the original, in order and apart from each other.
    patches: Vec<(Range<usize>, String)>,
    count: usize,
}

impl Patched {
    pub(super) fn new(original: &str) -> Self {
        Self { original: original.to_owned(), text: original.to_owned(), patches: Vec::new(), count: 0 }
    }

    /// The text with everything replaced.
    pub(super) fn text(&self) -> &str {
        &self.text
    }

    /// How many stretches were replaced.
    pub(super) fn count(&self) -> usize {
        self.count
    }

    /// Replaces a stretch of the original, and with it what was replaced inside before. Where several are put in at one
    /// byte, they stand in the order in which they came.
    pub(super) fn replace(&mut self, range: Range<usize>, new: String) {
        self.patches.retain(|(old, _)| {
            let edge = old.is_empty() && (old.start == range.start || old.start == range.end);
            edge || old.start < range.start || range.end < old.end || range.is_empty()
        });
        let after = self.patches.partition_point(|(old, _)| (old.start, old.end) <= (range.start, range.end));
        self.patches.insert(after, (range, new));
        self.count += 1;
        self.text.clear();
        let mut done = 0;
        for (range, new) in &self.patches {
            self.text.push_str(self.original.get(done..range.start).unwrap_or_default());
            self.text.push_str(new);
            done = done.max(range.end);
        }
        self.text.push_str(self.original.get(done..).unwrap_or_default());
    }

    /// The byte of the original that a byte of the text stands for: of what was replaced, the first.
    pub(super) fn original(&self, offset: usize) -> usize {
        let mut grown = 0_isize;
        for (range, new) in &self.patches {
            let start = range.start.saturating_add_signed(grown);
            if offset < start {
                break;
            }
            if offset < start + new.len() {
                return range.start;
            }
            grown += new.len().cast_signed() - range.len().cast_signed();
        }
        offset.saturating_add_signed(-grown)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_lead_back_to_where_they_came_from() {
        let mut patched = Patched::new("(a: 1, bb: two, c: 3)");
        patched.replace(11..14, "2".to_owned());
        patched.replace(1..1, "z: 0, ".to_owned());
        patched.replace(7..9, "b".to_owned());
        assert_eq!(patched.text(), "(z: 0, a: 1, b: 2, c: 3)");
        let back = |part: &str| patched.original(patched.text().find(part).unwrap_or_default());
        assert_eq!(["(", "z", "0", "a: 1", "b", "2", "c: 3", ")"].map(back), [0, 1, 1, 1, 7, 11, 16, 20]);
        assert_eq!(patched.original(patched.text().len()), patched.original.len());
    }

    #[test]
    fn what_is_replaced_again_is_replaced_as_a_whole() {
        let mut patched = Patched::new("(a: (1, x), b: 2)");
        patched.replace(8..9, "1".to_owned());
        patched.replace(4..10, "(0, 0, 0)".to_owned());
        assert_eq!(patched.text(), "(a: (0, 0, 0), b: 2)");
        patched.replace(10..11, String::new());
        assert_eq!(patched.text(), "(a: (0, 0, 0) b: 2)");
    }
}
