//! The known name that a mistyped one most likely stands for.

/// The candidate most like `name`, if any is like enough for a hint to be worth reading: at most a third of the
/// letters differ, or one candidate begins with the name.
pub(crate) fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
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
    let names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
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
