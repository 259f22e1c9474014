//! Parts at hand, as a list of ids and counts.

use crate::{
    catalog::Catalog,
    source::{brief, nearest},
};
use std::{collections::BTreeMap, fmt};

/// How many pieces of each fitting are at hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stock {
    pieces: BTreeMap<String, usize>,
}

/// Most pieces of one part that a list may give: more is a slip of the finger.
pub const MOST_PIECES: usize = 100_000;

/// Everything that is wrong with a list of parts at hand, line by line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadStock {
    /// The name of the list, each line that is wrong, counted from 1, and what to do about it.
    faults: Vec<(usize, String)>,
    name: String,
}

impl fmt::Display for BadStock {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lines: Vec<String> =
            self.faults.iter().map(|(line, fault)| format!("{}:{line}: {fault}", self.name)).collect();
        formatter.write_str(&lines.join("\n"))
    }
}

impl std::error::Error for BadStock {}

impl Stock {
    /// Reads a list of parts at hand: on each line the id of a fitting of `catalog`, a comma, and how many pieces. A first line
    /// `id,count`, empty lines and lines that begin with `#` are skipped; a part that is listed twice has both counts. `name` is
    /// what messages call the list.
    ///
    /// # Errors
    /// All lines that are wrong: an unknown part, a count that is no whole number from 0 to [`MOST_PIECES`], no comma.
    pub fn parse(text: &str, name: &str, catalog: &Catalog) -> Result<Self, BadStock> {
        let mut stock = Self::default();
        let mut faults = Vec::new();
        // A mark that some programs put at the beginning of a text.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            let is_head = index == 0 && line.replace(' ', "").eq_ignore_ascii_case("id,count");
            if line.is_empty() || line.starts_with('#') || is_head {
                continue;
            }
            match entry(line, catalog) {
                Ok((id, count)) => {
                    let pieces = stock.pieces.entry(id).or_default();
                    *pieces = pieces.saturating_add(count);
                }
                Err(fault) => faults.push((index + 1, fault)),
            }
        }
        if faults.is_empty() { Ok(stock) } else { Err(BadStock { faults, name: name.to_owned() }) }
    }

    /// How many pieces of a fitting are at hand.
    #[must_use]
    pub fn pieces(&self, fitting: &str) -> usize {
        self.pieces.get(fitting).copied().unwrap_or(0)
    }
}

fn entry(line: &str, catalog: &Catalog) -> Result<(String, usize), String> {
    let Some((id, count)) = line.split_once(',') else {
        return Err(format!("expected an id, a comma and a count, found `{}`", brief(line)));
    };
    let (id, count) = (id.trim().trim_matches('"'), count.trim());
    if catalog.fitting(id).is_none() {
        let help = match nearest(id, catalog.fittings().iter().map(|fitting| fitting.id.as_str())) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "`elbowroom catalog` lists what there is".to_owned(),
        };
        return Err(format!("unknown fitting `{}`; {help}", brief(id)));
    }
    match count.parse::<usize>() {
        Ok(count @ 0..=MOST_PIECES) => Ok((id.to_owned(), count)),
        _ => Err(format!("expected a whole number of pieces from 0 to {MOST_PIECES}, found `{}`", brief(count))),
    }
}
