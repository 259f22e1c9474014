//! The search on small, odd problems: it answers or the problem is refused, and it comes to an end.
#![no_main]

use elbowroom::bridge::{Wishes, bridge};
use elbowroom_tests::{
    ask::pose,
    fuzzing::{has_seats_of_their_own, problem},
    verify::faults,
};
use libfuzzer_sys::fuzz_target;

/// Closures after which a search stops: enough to reach every corner, few enough for many runs a second.
const BUDGET: u64 = 5_000;

fuzz_target!(|bytes: &[u8]| {
    let problem = problem(bytes);
    let Ok(asked) = pose(&problem) else { return };
    let wishes = Wishes { max_parts: problem.max_parts, want: 20, closure_budget: Some(BUDGET), ..Wishes::default() };
    let answer = bridge(&asked.catalog, &asked.layout, &asked.gap, &wishes).expect("sound wishes");
    if has_seats_of_their_own(&asked.layout) {
        assert_eq!(faults(&problem, &answer), Vec::<String>::new());
    }
});
