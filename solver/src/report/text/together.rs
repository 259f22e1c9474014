//! Which chains of several gaps can be built side by side, for people.

use super::{WIDTH, table::wrapped};
use crate::{
    bridge::Together,
    report::{BridgeReport, words::fixed},
};
use std::fmt::Write as _;

/// What there is to say of the chains of all gaps together; nothing where only one gap was looked at.
pub(super) fn side_by_side(report: &BridgeReport) -> String {
    said(report).map_or_else(String::new, |text| wrapped(&text, WIDTH, 2, 2))
}

/// The same in one line; `None` where only one gap was looked at.
pub(super) fn said(report: &BridgeReport) -> Option<String> {
    let together = report.together.as_ref()?;
    let nearest = together.nearest;
    if !together.agree {
        let (one, other, how) = match nearest {
            Some((one, other, mm)) if mm < 0.0 => (one, other, format!("overlap by {} mm", fixed(-mm, 1))),
            Some((one, other, mm)) => (one, other, format!("come within {} mm of each other", fixed(mm, 1))),
            None => return None,
        };
        return Some(format!(
            "NOT TOGETHER: the best chains of gaps {} and {} {how}, and no choice among those found leaves {} mm \
             between all gaps. Ask for more chains with --want, move a component, or bridge one of the two another way.",
            one + 1,
            other + 1,
            report.clearance_mm
        ));
    }
    let mut text = String::new();
    let lower = not_the_best(together);
    if !lower.is_empty() {
        let _ = write!(
            text,
            "So that all of them can be built side by side, {} taken here: what ranks before stands in the way of \
             another gap. ",
            match &lower[..] {
                [only] => format!("{only} is"),
                several => format!("{} are", several.join(", ")),
            }
        );
    }
    match nearest {
        Some((one, other, mm)) => {
            let _ = write!(
                text,
                "Chains of different gaps come nearest to each other at gaps {} and {}: {} mm.",
                one + 1,
                other + 1,
                fixed(mm, 1)
            );
        }
        None => text.push_str("Chains of different gaps are nowhere near each other."),
    }
    Some(text)
}

/// The chains that are chosen though they are not the best of their gaps: `chain 2 of gap 3`.
pub(super) fn not_the_best(together: &Together) -> Vec<String> {
    let lower = together.chosen.iter().enumerate();
    let lower =
        lower.filter_map(|(gap, chosen)| chosen.filter(|chosen| *chosen > 0).map(|chosen| (gap + 1, chosen + 1)));
    lower.map(|(gap, chain)| format!("chain {chain} of gap {gap}")).collect()
}
