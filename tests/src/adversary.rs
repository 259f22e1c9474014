//! Whether an answer keeps its word about a chain that is known to be possible.

use crate::ask::{ALL, ask};
use crate::chain::{Problem, Step};
use crate::verify::{faults, key_of, key_of_steps, spell};
use elbowroom::bridge::{Answer, Completeness};
use rayon::prelude::*;

/// What became of a planted chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It is listed.
    Found,
    /// It is not, and the answer says that chains of its length were only sampled.
    Sampled,
    /// It is not, and the answer claims to have considered it: a false proof.
    Denied,
}

/// A planted chain, put to the solver.
#[derive(Clone, Debug)]
pub struct Case {
    /// What it is called: kind, seed and what else tells it apart.
    pub name: String,
    /// The problem, with the chain's length as its longest.
    pub problem: Problem,
    /// The chain in a posture that certainly clears everything.
    pub steps: Vec<Step>,
}

/// What came of a case.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Its name.
    pub name: String,
    /// What became of the chain.
    pub fate: Fate,
    /// Whether the answer claims to be complete at all.
    pub claims: bool,
    /// The chain and the answer in words.
    pub words: String,
    /// What is wrong with the chains that are listed.
    pub faults: Vec<String>,
}

/// How many cases ended how.
#[derive(Clone, Debug, Default)]
pub struct Totals {
    /// All of them.
    pub cases: usize,
    /// Listed.
    pub found: usize,
    /// Not listed by an answer that says it sampled.
    pub sampled: usize,
    /// Not listed by an answer that claims to be complete, in words.
    pub denied: Vec<String>,
    /// Of all answers, those that claim to be complete.
    pub claims: usize,
    /// Faults of what was listed.
    pub faults: Vec<String>,
}

/// Puts a case to the solver.
#[must_use]
pub fn put(case: &Case) -> Outcome {
    let answer = ask(&case.problem, ALL);
    let fate = fate(&case.problem, &case.steps, &answer);
    let key = spell(&key_of_steps(&case.problem, &case.steps));
    Outcome {
        name: case.name.clone(),
        fate,
        claims: claims(&answer, case.steps.len()),
        words: format!(
            "{key} as {} is not among {} chains, {:?}, {:?}",
            case.problem.describe(&case.steps),
            answer.chains.len(),
            answer.completeness,
            answer.counts
        ),
        faults: faults(&case.problem, &answer),
    }
}

/// What an answer to which every chain was wanted makes of a chain.
#[must_use]
pub fn fate(problem: &Problem, steps: &[Step], answer: &Answer) -> Fate {
    let key = key_of_steps(problem, steps);
    if answer.chains.iter().any(|chain| key_of(problem, chain) == key) {
        Fate::Found
    } else if claims(answer, steps.len()) {
        Fate::Denied
    } else {
        Fate::Sampled
    }
}

/// Whether an answer claims to have considered every chain of so many parts.
#[must_use]
pub fn claims(answer: &Answer, parts: usize) -> bool {
    match answer.completeness {
        Completeness::Complete { parts: most } | Completeness::BestProven { parts: most } => parts <= most,
        Completeness::Sampled { complete_parts, .. } | Completeness::Stopped { complete_parts, .. } => {
            parts <= complete_parts
        }
    }
}

/// Puts many cases to the solver, several at a time; each is told as it ends.
#[must_use]
pub fn run<T: Send>(
    items: impl IntoParallelIterator<Item = T>,
    case: impl Fn(T) -> Case + Sync + Send,
    tell: impl Fn(&Outcome) + Sync + Send,
) -> Totals {
    let one = |item| {
        let outcome = put(&case(item));
        tell(&outcome);
        outcome
    };
    let mut outcomes: Vec<Outcome> = items.into_par_iter().map(one).collect();
    outcomes.sort_by(|a, b| a.name.cmp(&b.name));
    let mut totals = Totals { cases: outcomes.len(), ..Totals::default() };
    for outcome in outcomes {
        totals.claims += usize::from(outcome.claims);
        let Outcome { name, words, .. } = &outcome;
        match outcome.fate {
            Fate::Found => totals.found += 1,
            Fate::Sampled => totals.sampled += 1,
            Fate::Denied => totals.denied.push(format!("{name}: {words}")),
        }
        totals.faults.extend(outcome.faults.iter().map(|fault| format!("{name}: {fault}")));
    }
    totals
}
