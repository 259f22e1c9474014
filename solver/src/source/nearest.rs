//! The known name that a mistyped one most likely stands for.

/// Longest text shown of what someone wrote, in characters.
const LONGEST_SHOWN: usize = 60;

/// The candidate most like `name`, if any is like enough for a hint to be worth reading: at most a third of the
/// letters differ, or one candidate begins with the name.
pub(crate) fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Comparing costs the product of the lengths, and a name that long is not a slip of the pen.
    if name.len() > LONGEST_SHOWN {
        return None;
    }
    let lower = name.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| {
            let known = candidate.to_lowercase();
            let letters = lower.chars().count().max(known.chars().count());
            let edits = strsim::damerau_levenshtein(&lower, &known);
            let starts = lower.len() >= 3 && known.starts_with(&lower);
            (edits * 3 <= letters.max(3) || starts, edits, candidate)
        })
        .filter(|(alike, ..)| *alike)
        .min_by_key(|(_, edits, candidate)| (*edits, *candidate))
        .map(|(.., candidate)| candidate)
}

/// Names in backquotes, joined for reading: `a`, `b` or `c`. Long lists end in how many are left out.
pub(crate) fn one_of<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    /// More names than this are no help any more.
    const SHOWN: usize = 12;
    let names: Vec<String> = names.into_iter().map(|name| format!("`{}`", brief(name))).collect();
    match names.as_slice() {
        [] => "none".to_owned(),
        [only] => only.clone(),
        [all @ .., last] if names.len() <= SHOWN => format!("{} or {last}", all.join(", ")),
        _ => {
            let shown: Vec<String> = names.iter().take(SHOWN).cloned().collect();
            format!("{} and {} more", shown.join(", "), names.len() - SHOWN)
        }
    }
}

/// What someone wrote, fit for a message: on one line, not too long, and without characters that a terminal obeys.
pub(crate) fn brief(written: &str) -> String {
    let line = written.lines().next().unwrap_or_default();
    let mut shown: String = line.chars().take(LONGEST_SHOWN).collect();
    if shown.len() < written.len() {
        shown.push_str("...");
    }
    legible(&shown)
}

/// Text without line breaks and other characters that a terminal obeys or that turn the direction of reading.
pub(super) fn legible(text: &str) -> String {
    let obeyed = |character: char| {
        // Zero-width characters, marks and embeddings of direction.
        let unseen = matches!(character, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}');
        character.is_control() || unseen
    };
    if !text.contains(obeyed) {
        return text.to_owned();
    }
    let escaped = |character: char| {
        if obeyed(character) { character.escape_default().to_string() } else { character.to_string() }
    };
    text.chars().map(escaped).collect()
}
