//! Reads the reference grids: comma-separated, fields with commas in double quotes.

use std::{collections::HashMap, path::Path};

/// A row of a grid: its fields by column name.
pub(crate) struct Row(HashMap<String, String>);

impl Row {
    /// A field as text.
    pub(crate) fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column `{column}`"))
    }

    /// A field as a number.
    pub(crate) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("`{text}` in column `{column}` is no number"))
    }
}

/// Every row of `tests/data/hydraulics/<name>.csv`.
pub(crate) fn rows(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/hydraulics").join(format!("{name}.csv"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut lines = text.lines().map(fields);
    let header = lines.next().expect("a header line");
    lines
        .map(|line| {
            assert_eq!(line.len(), header.len(), "{name}: {line:?}");
            Row(header.iter().cloned().zip(line).collect())
        })
        .collect()
}

/// Fails with the row's own words when `got` is further than `tolerance` (relative) from `want`.
pub(crate) fn assert_close(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!(
        (got - want).abs() <= tolerance * want.abs(),
        "{what}: got {got}, want {want}, off by {:.3e} of it, allowed {tolerance:e}",
        (got - want).abs() / want.abs()
    );
}

fn fields(line: &str) -> Vec<String> {
    let (mut fields, mut field, mut quoted) = (Vec::new(), String::new(), false);
    let mut characters = line.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            // Within quotes, two of them are one.
            '"' if quoted && characters.peek() == Some(&'"') => {
                characters.next();
                field.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(std::mem::take(&mut field)),
            _ => field.push(character),
        }
    }
    fields.push(field);
    fields
}
