//! Whether an answer keeps its word about a chain that is known to be possible.

use crate::ask::{ALL, ask};
use crate::chain::{Problem, Step};
use crate::judge::judge;
use crate::swinging::{Kind, barred, swinging};
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

impl Totals {
    /// What breaks the promise that an empty list is a proof: chains that are denied, faults of what is listed, and more
    /// than one chain in a hundred that only an answer which says that it sampled does not list.
    #[must_use]
    pub fn broken_promises(&self) -> Vec<String> {
        let mut broken: Vec<String> = self.denied.iter().map(|denied| format!("denied: {denied}")).collect();
        broken.extend(self.faults.iter().cloned());
        if self.sampled * 100 > self.cases {
            broken
                .push(format!("{} of {} chains are not found where the answer was sampled", self.sampled, self.cases));
        }
        broken
    }
}

/// How many planted chains a test of each kind puts to the solver: as many as the environment variable
/// `ELBOWROOM_PLANTED` says, or `otherwise`.
///
/// # Panics
/// When the variable is not a whole number.
#[must_use]
pub fn planted_chains(otherwise: u64) -> u64 {
    std::env::var("ELBOWROOM_PLANTED").map_or(otherwise, |text| text.parse().expect("a whole number of planted chains"))
}

/// What the slow judge and the solver make of a problem without being told a chain's posture.
#[derive(Clone, Debug)]
pub struct Judged {
    /// What it is called.
    pub name: String,
    /// What became of the chain that the judge found room for; `None` where it found none.
    pub fate: Option<Fate>,
    /// Whether the solver lists the chain.
    pub listed: bool,
    /// The most room that the judge found, beyond the least clearance.
    pub spare_mm: f64,
    /// The chain and the answer in words.
    pub words: String,
    /// What is wrong with the chains that are listed.
    pub faults: Vec<String>,
}

/// Kinds of chains that the slow judge can tell about: those that close exactly.
pub const JUDGED: [Kind; 7] = [
    Kind::ThreeOffsets,
    Kind::TwoOffsetsTwoBends,
    Kind::FourBendsCoaxial,
    Kind::FiveBendsCoaxial,
    Kind::FourBendsParallel,
    Kind::Rigid,
    Kind::FourOffsets,
];

/// Room beyond the least clearance from which on a chain must not be denied, in millimetres.
pub const SPARE_MM: f64 = 0.02;

/// Has the judge and the solver tell about a chain of that kind; in every other one, what was planted is barred.
#[must_use]
pub fn both_tell(kind: Kind, seed: u64) -> Judged {
    let planted = swinging(kind, seed);
    let is_barred = seed % 2 == 1;
    let problem = if is_barred { barred(&planted, seed) } else { planted.problem.clone() };
    let enough = problem.clearance_mm + SPARE_MM;
    let verdict = judge(&problem, &planted.steps, enough);
    let (room, steps) = verdict.best.unwrap_or((f64::NEG_INFINITY, planted.steps));
    let barred = if is_barred { "barred" } else { "planted" };
    let name = format!("judged {} {seed} {barred}", kind.name());
    let outcome = put(&Case { name, problem: problem.clone(), steps });
    let listed = outcome.fate == Fate::Found;
    Judged {
        name: outcome.name,
        fate: (room >= enough).then_some(outcome.fate),
        listed,
        spare_mm: room - problem.clearance_mm,
        words: outcome.words,
        faults: outcome.faults,
    }
}
