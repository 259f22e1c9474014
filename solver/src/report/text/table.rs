//! Tables for text reports: no rules but spaces, numbers to the right, indented by two.

use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};

/// How a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table of `rows` under `heads`, each line indented by `indent` and without trailing blanks.
pub(super) fn table(indent: usize, heads: &[(&str, Align)], rows: Vec<Vec<String>>) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    let cell = |text: &str, align: Align| {
        Cell::new(text).set_alignment(match align {
            Align::Left => CellAlignment::Left,
            Align::Right => CellAlignment::Right,
        })
    };
    table.set_header(heads.iter().map(|&(head, align)| cell(head, align)));
    for row in rows {
        table.add_row(row.iter().zip(heads).map(|(text, &(_, align))| cell(text, align)));
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    table.lines().map(|line| format!("{:indent$}{}\n", "", line.trim_end())).collect()
}

/// `text` broken at blanks into lines of at most `width` columns, the first indented by `indent` columns and the
/// rest by `hanging`.
pub(super) fn wrapped(text: &str, width: usize, indent: usize, hanging: usize) -> String {
    let mut out = " ".repeat(indent);
    let mut column = indent;
    let mut fresh = true;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let length = word.chars().count();
        if !fresh && column + 1 + length > width {
            out.push('\n');
            out.push_str(&" ".repeat(hanging));
            column = hanging;
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += length;
        fresh = false;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::{Align, table, wrapped};

    #[test]
    fn numbers_line_up_on_the_right_and_no_line_ends_in_blanks() {
        let heads = [("name", Align::Left), ("mm", Align::Right)];
        let rows = vec![vec!["pump".to_owned(), "1.5".to_owned()], vec!["filter".to_owned(), "10.0".to_owned()]];
        assert_eq!(table(2, &heads, rows), "  name      mm\n  pump     1.5\n  filter  10.0\n");
    }

    #[test]
    fn long_text_hangs_under_its_first_line() {
        assert_eq!(wrapped("one two three four", 10, 2, 4), "  one two\n    three\n    four\n");
        assert_eq!(wrapped("overlongword x", 6, 0, 2), "overlongword\n  x\n");
    }
}
