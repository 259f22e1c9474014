//! Tables of outside values, as comma-separated text with quoted fields.

use std::collections::HashMap;

/// The rows of a table, each from column name to field.
#[must_use]
pub fn rows(text: &str) -> Vec<HashMap<String, String>> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty()).map(fields);
    let names = lines.next().unwrap_or_default();
    lines.map(|row| names.iter().cloned().zip(row).collect()).collect()
}

/// The numbers of a field, separated by semicolons.
///
/// # Panics
/// When one is not a number: the table is not the one that was meant.
#[must_use]
pub fn numbers(field: &str) -> Vec<f64> {
    field.split(';').map(|number| number.trim().parse().unwrap_or_else(|_| panic!("{number}: not a number"))).collect()
}

fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => fields.last_mut().expect("there is always a field").push(letter),
        }
    }
    fields
}
