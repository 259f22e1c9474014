//! One candidate for each gap: the optimum against integer programming and against trying all sets.

use elbowroom::plan::{Candidate, Choices, Cost, MOST_STEPS, Pick, Selection, irreducible, select};
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::collections::{BTreeMap, HashSet};

/// A problem in full: candidates, pairs that clash, stock.
struct Problem {
    gaps: Vec<Vec<Candidate>>,
    clashes: HashSet<(Pick, Pick)>,
    stock: Vec<u32>,
    barred: Vec<Vec<Pick>>,
}

impl Problem {
    fn asked<T>(&self, ask: impl FnOnce(&Choices<'_>) -> T) -> T {
        let clash = |one: Pick, other: Pick| self.clashes.contains(&(one.min(other), one.max(other)));
        ask(&Choices { gaps: &self.gaps, stock: &self.stock, clash: &clash, barred: &self.barred })
    }

    /// The cost of a set, worked out from the problem; `None` where it breaks a rule.
    fn cost(&self, gaps: &[usize], chosen: &[usize]) -> Option<Cost> {
        let picks: Vec<Pick> =
            gaps.iter().zip(chosen).map(|(gap, candidate)| Pick { gap: *gap, candidate: *candidate }).collect();
        let mut used: BTreeMap<usize, u32> = BTreeMap::new();
        let mut cost = Cost::default();
        for (place, pick) in picks.iter().enumerate() {
            let candidate = &self.gaps[pick.gap][pick.candidate];
            cost = cost + candidate.cost;
            for (kind, count) in &candidate.pieces {
                *used.entry(*kind).or_default() += count;
            }
            if picks[place + 1..].iter().any(|other| self.clashes.contains(&((*pick).min(*other), (*pick).max(*other))))
            {
                return None;
            }
        }
        let is_whole = |set: &Vec<Pick>| set.iter().all(|pick| picks.contains(pick));
        let within = used.iter().all(|(kind, count)| self.stock.get(*kind).is_none_or(|stock| count <= stock));
        (within && !self.barred.iter().any(is_whole)).then_some(cost)
    }

    /// The cheapest set of some gaps by trying all.
    fn cheapest(&self, gaps: &[usize]) -> Option<Cost> {
        let mut best: Option<Cost> = None;
        let mut chosen = vec![0; gaps.len()];
        loop {
            if let Some(cost) = self.cost(gaps, &chosen) {
                best = Some(best.map_or(cost, |best| best.min(cost)));
            }
            let Some(place) = (0..gaps.len()).find(|place| chosen[*place] + 1 < self.gaps[gaps[*place]].len()) else {
                return best;
            };
            chosen[place] += 1;
            chosen[..place].fill(0);
        }
    }
}

/// The generator by which the problems of the table were made.
struct SplitMix(u64);

impl SplitMix {
    fn u(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (((z ^ (z >> 31)) >> 11) as f64) * 2.0_f64.powi(-53)
    }

    fn below(&mut self, most: f64) -> usize {
        (most * self.u()) as usize
    }
}

fn built(seed: u64, [gaps, candidates, kinds]: [usize; 3], share: f64, tightness: f64) -> Problem {
    let mut random = SplitMix(seed);
    let mut candidate = |_| {
        let parts = 1 + random.below(5.0);
        let mut pieces: BTreeMap<usize, u32> = BTreeMap::new();
        for _ in 0..parts {
            *pieces.entry(random.below(kinds as f64)).or_default() += 1;
        }
        let loss_upa = (random.u() * 1e9).round() as u64;
        Candidate { cost: Cost { parts: parts as u64, loss_upa }, pieces: pieces.into_iter().collect() }
    };
    let lists: Vec<Vec<Candidate>> = (0..gaps).map(|_| (0..candidates).map(&mut candidate).collect()).collect();
    let mut clashes = HashSet::new();
    for one in 0..gaps {
        for other in one + 1..gaps {
            for first in 0..candidates {
                for second in 0..candidates {
                    if random.u() < share {
                        clashes.insert((Pick { gap: one, candidate: first }, Pick { gap: other, candidate: second }));
                    }
                }
            }
        }
    }
    let stock = (0..kinds).map(|_| 1 + random.below(tightness * gaps as f64) as u32).collect();
    Problem { gaps: lists, clashes, stock, barred: Vec::new() }
}

#[test]
fn the_optimum_is_that_of_integer_programming() {
    let table = include_str!("../data/plan/selection.csv");
    let mut compared = [0, 0];
    for row in table.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let number = |cell: usize| cells[cell].parse::<f64>().unwrap_or_else(|error| panic!("{row}: {error}"));
        let sizes = [1, 2, 3].map(|cell| number(cell) as usize);
        let problem = built(number(0) as u64, sizes, number(4), number(5));
        assert_eq!(problem.clashes.len(), number(6) as usize, "{row}");
        assert_eq!(problem.stock.iter().sum::<u32>(), number(7) as u32, "{row}");
        let found = problem.asked(|choices| select(choices, MOST_STEPS));
        let gaps: Vec<usize> = (0..sizes[0]).collect();
        match (cells[8], found) {
            ("optimal", Selection::Best { chosen, cost }) => {
                assert_eq!(problem.cost(&gaps, &chosen), Some(cost), "{row}");
                let sum = cost.parts as f64 + cost.loss_upa as f64 * 1e-12;
                assert!((sum - number(9)).abs() < 1e-8, "{sum}: {row}");
                compared[0] += 1;
            }
            ("infeasible", Selection::None) => {
                let conflict = problem.asked(|choices| irreducible(choices, MOST_STEPS)).expect("a conflict");
                assert!(!conflict.is_empty(), "{row}");
                compared[1] += 1;
            }
            (status, found) => panic!("{status} by integer programming, {found:?} here: {row}"),
        }
    }
    assert!(compared[0] >= 20 && compared[1] >= 5, "optimal and infeasible: {compared:?}");
}

/// 300 small problems with stock and sets that are barred: the same optimum as by trying all sets, and where there is none, a
/// conflict of which no gap can be left out.
#[test]
fn small_problems_have_the_optimum_of_trying_all_sets() {
    let mut random = StdRng::seed_from_u64(71);
    let mut without = 0;
    for round in 0..300 {
        let sizes = [random.random_range(1..=5), random.random_range(1..=6), random.random_range(1..=6)];
        let mut problem = built(round, sizes, random.random_range(0.0..0.9), random.random_range(0.1..1.0));
        for _ in 0..random.random_range(0..6) {
            let members = random.random_range(1..=sizes[0]);
            let picks = (0..members).map(|gap| Pick { gap, candidate: random.random_range(0..sizes[1]) });
            problem.barred.push(picks.collect());
        }
        let gaps: Vec<usize> = (0..sizes[0]).collect();
        let expected = problem.cheapest(&gaps);
        match problem.asked(|choices| select(choices, MOST_STEPS)) {
            Selection::Best { chosen, cost } => {
                assert_eq!(Some(cost), expected, "round {round}");
                assert_eq!(problem.cost(&gaps, &chosen), expected, "round {round}");
                assert_eq!(problem.asked(|choices| irreducible(choices, MOST_STEPS)), None, "round {round}");
            }
            Selection::None => {
                assert_eq!(expected, None, "round {round}");
                without += 1;
                let conflict = problem.asked(|choices| irreducible(choices, MOST_STEPS)).expect("a conflict");
                assert_eq!(problem.cheapest(&conflict), None, "round {round}: {conflict:?}");
                for gap in &conflict {
                    let others: Vec<usize> = conflict.iter().copied().filter(|other| other != gap).collect();
                    assert!(problem.cheapest(&others).is_some(), "round {round}: {conflict:?} without {gap}");
                }
            }
            given_up => panic!("round {round}: {given_up:?}"),
        }
    }
    assert!((30..270).contains(&without), "{without} of 300 problems have no set");
}

#[test]
fn a_selection_that_is_given_up_claims_no_more_than_it_has() {
    let problem = built(21, [5, 30, 12], 0.5, 0.6);
    let whole = problem.asked(|choices| select(choices, MOST_STEPS));
    let Selection::Best { cost: best, .. } = whole else { panic!("a set exists: {whole:?}") };
    let mut kinds = [0; 3];
    for most_steps in [0, 1, 3, 10, 30, 100, 300, 1_000] {
        match problem.asked(|choices| select(choices, most_steps)) {
            Selection::Best { cost, .. } => {
                assert_eq!(cost, best);
                kinds[0] += 1;
            }
            Selection::Found { cost, at_least, .. } => {
                assert!(at_least <= best && best <= cost, "{at_least:?} {best:?} {cost:?}");
                kinds[1] += 1;
            }
            Selection::Unknown => kinds[2] += 1,
            Selection::None => panic!("a set exists"),
        }
    }
    assert!(kinds[2] > 0, "{kinds:?}");
}

#[test]
fn nothing_to_choose_is_the_empty_set() {
    let problem = Problem { gaps: Vec::new(), clashes: HashSet::new(), stock: Vec::new(), barred: Vec::new() };
    let empty = Selection::Best { chosen: Vec::new(), cost: Cost::default() };
    assert_eq!(problem.asked(|choices| select(choices, MOST_STEPS)), empty);
    let hopeless = Problem { gaps: vec![Vec::new(), vec![Candidate::default()]], ..problem };
    assert_eq!(hopeless.asked(|choices| select(choices, MOST_STEPS)), Selection::None);
    assert_eq!(hopeless.asked(|choices| irreducible(choices, MOST_STEPS)), Some(vec![0]));
}
