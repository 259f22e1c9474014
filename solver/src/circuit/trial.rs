//! What changes to a circuit would bring.

use super::build::{Circuit, CircuitPart};
use crate::hydraulics::{
    Element,
    network::{Finding, Network, NetworkError, Outcome},
};

/// A change that a builder may consider.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// The change, in words.
    pub what: String,
    /// How much more would come round, in m³/s; negative for less.
    pub gain_m3_s: f64,
}

/// A change in words, and the parts that it replaces with what.
type Proposal = (String, Vec<(String, Vec<Element>)>);

impl Circuit {
    /// Tries swept turns for drilled ones, gap by gap and everywhere, and a second pump behind the first where less flows
    /// than is wanted. The most gain first.
    pub(super) fn trials(
        &self,
        network: &Network,
        pump: &str,
        outcome: &Outcome,
        is_short: bool,
    ) -> Result<Vec<Trial>, NetworkError> {
        let mut proposals: Vec<Proposal> = Vec::new();
        let drilled: Vec<&CircuitPart> = self.parts.iter().filter(|part| part.swept.is_some()).collect();
        let mut gaps: Vec<usize> = drilled.iter().filter_map(|part| part.gap).collect();
        gaps.dedup();
        for &gap in &gaps {
            let parts: Vec<&CircuitPart> = drilled.iter().copied().filter(|part| part.gap == Some(gap)).collect();
            proposals.push((format!("gap {}: {}", gap + 1, instead(&parts)), swept(&parts)));
        }
        if gaps.len() > 1 {
            proposals.push((format!("all gaps: {}", instead(&drilled)), swept(&drilled)));
        }
        // Where pumps work against each other, one of them has to be turned round first.
        let opposed = outcome.findings.iter().any(|finding| matches!(finding, Finding::PumpAgainstFlow { .. }));
        if let Some(part) = self.parts.iter().find(|part| part.name == pump && is_short && !opposed) {
            let twice = part.elements.iter().chain(&part.elements).cloned().collect();
            proposals.push((format!("a second {pump} behind the first"), vec![(pump.to_owned(), twice)]));
        }
        let mut trials = Vec::with_capacity(proposals.len());
        for (what, replaced) in proposals {
            let replaced: Vec<(&str, Vec<Element>)> =
                replaced.iter().map(|(name, elements)| (name.as_str(), elements.clone())).collect();
            trials.push(Trial { what, gain_m3_s: network.what_if(&replaced)?.gain_m3_s() });
        }
        trials.sort_by(|a, b| b.gain_m3_s.total_cmp(&a.gain_m3_s).then_with(|| a.what.cmp(&b.what)));
        Ok(trials)
    }
}

/// `replacing these 2 drilled 90° by swept ones`.
fn instead(parts: &[&CircuitPart]) -> String {
    let mut turns_deg: Vec<f64> =
        parts.iter().filter_map(|part| part.swept.as_ref()).flat_map(|swept| swept.turns_deg.iter().copied()).collect();
    let count = turns_deg.len();
    turns_deg.sort_by(f64::total_cmp);
    turns_deg.dedup();
    let turns: Vec<String> = turns_deg.iter().map(|turn| format!("{turn}°")).collect();
    let turns = turns.join(" and ");
    match count {
        1 => format!("replacing its drilled {turns} by a swept one"),
        _ => format!("replacing these {count} drilled {turns} by swept ones"),
    }
}

fn swept(parts: &[&CircuitPart]) -> Vec<(String, Vec<Element>)> {
    parts.iter().filter_map(|part| Some((part.name.clone(), part.swept.as_ref()?.elements.clone()))).collect()
}
