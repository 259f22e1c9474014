//! Near misses: what is suggested for gaps that nothing bridges is true when it is done.

use elbowroom::bridge::{
    Answer, Blocked, InTheWay, NearMissWishes, NearMisses, Reason, Suggestion, WhyRefused, Wishes, bridge, near_misses,
};
use elbowroom::catalog::{Catalog, FittingDef, PartSolid};
use elbowroom::layout::{Layout, Move, move_in_text};
use elbowroom_tests::ask::{layout_file, pose};
use elbowroom_tests::chain::Problem;
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, port, straight};
use elbowroom_tests::plant::plant;
use elbowroom_tests::verify::faults;
use nalgebra::Vector3;
use rand::{Rng, SeedableRng, rngs::StdRng, seq::IndexedRandom};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Gaps without a solution that are tried.
const UNSOLVED: usize = 500;

fn small_stock() -> Vec<FittingDef> {
    vec![
        straight("short", ['m', 'f'], 11.0),
        straight("long", ['m', 'f'], 23.0),
        straight("double", ['M', 'm'], 9.0),
        bend("right", ['M', 'f'], 90.0, [12.0, 12.0]),
        bend("half", ['M', 'f'], 45.0, [9.0, 9.0]),
    ]
}

/// Two ports that look along axes, a few centimetres apart.
fn random_problem(rng: &mut StdRng) -> Problem {
    let axes = [Vector3::x(), Vector3::y(), Vector3::z(), -Vector3::x(), -Vector3::y(), -Vector3::z()];
    let at = Vector3::from_fn(|_, _| rng.random_range(-45.0..45.0)) + Vector3::z() * 30.0;
    let to = Frame::looking(at, *axes.choose(rng).unwrap(), 0.0);
    Problem {
        fittings: small_stock(),
        from: port('f', Frame::looking(Vector3::zeros(), Vector3::z(), 0.0)),
        to: port('f', to),
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
        max_parts: 3,
    }
}

fn solve(catalog: &Catalog, layout: &Layout, parts: usize) -> Answer {
    let gap = layout.gap("a.p", "b.p").unwrap();
    bridge(catalog, layout, &gap, &Wishes { max_parts: parts, want: 1, ..Wishes::default() }).unwrap()
}

fn nearest(catalog: &Catalog, layout: &Layout, parts: usize) -> NearMisses {
    let gap = layout.gap("a.p", "b.p").unwrap();
    near_misses(catalog, layout, &gap, &NearMissWishes { max_parts: parts, ..NearMissWishes::default() }).unwrap()
}

/// What is not true of the moves suggested for a problem, and how many there are.
fn check(problem: &Problem, play: [f64; 3]) -> (usize, Vec<String>) {
    let mut file = layout_file(problem);
    file.components[1].play = play;
    let catalog = pose(problem).unwrap().catalog;
    let layout = Layout::from_file(&file, &catalog).unwrap();
    let text = ron::ser::to_string_pretty(&file, ron::ser::PrettyConfig::default()).unwrap();
    let found = nearest(&catalog, &layout, problem.max_parts);
    let mut wrong = Vec::new();
    for suggestion in &found.moves {
        let by = &suggestion.by;
        let written = move_in_text(&text, &layout, by).unwrap();
        let moved = Layout::parse(&written, "moved", &catalog).unwrap();
        let answer = solve(&catalog, &moved, problem.max_parts);
        if answer.chains.is_empty() {
            wrong.push(format!("{by:?} closes nothing"));
        }
        let mut there = problem.clone();
        let end = if suggestion.component == "a" { &mut there.from } else { &mut there.to };
        // As written: files hold millionths, and a chain may use its allowance up.
        end.frame.at = moved.port(&format!("{}.p", suggestion.component)).unwrap().pose.translation.vector;
        wrong.extend(faults(&there, &answer).into_iter().map(|fault| format!("{by:?}: {fault}")));
        let far = Vector3::from(by.shift_mm).norm();
        let reach_mm = NearMissWishes::default().reach_mm;
        // Rounding to tenths may take a move a little farther than it was looked for.
        if suggestion.large && far <= reach_mm || !suggestion.large && far > reach_mm + 0.1 {
            wrong.push(format!("{by:?} is said to be {} large", suggestion.large));
        }
        let within = suggestion.component == "b" && (0..3).all(|axis| by.shift_mm[axis].abs() <= play[axis] + 1e-9);
        if within != suggestion.in_play {
            wrong.push(format!("{by:?} is said to be {} play {play:?}", suggestion.in_play));
        }
    }
    let first_stiff = found.moves.iter().position(|suggestion| !suggestion.opens()).unwrap_or(found.moves.len());
    let (opening, stiff) = found.moves.split_at(first_stiff);
    if stiff.iter().any(Suggestion::opens) {
        wrong.push("a move whose chain can be made up comes after one whose chain cannot".to_owned());
    }
    for moves in [opening, stiff] {
        let first_outside = moves.iter().position(|suggestion| !suggestion.in_play).unwrap_or(moves.len());
        if moves[first_outside..].iter().any(|suggestion| suggestion.in_play) {
            wrong.push("a move within the play comes after one outside".to_owned());
        }
    }
    let nothing_moves = found.moves.is_empty() && found.refused.is_empty();
    if nothing_moves && found.nearest.is_none() && found.blocked.is_none() {
        wrong.push(format!("nothing is said of what comes nearest: {:?}", found.reasons));
    }
    (found.moves.len(), wrong)
}

#[test]
fn every_suggested_move_closes_when_it_is_made() {
    let mut rng = StdRng::seed_from_u64(11);
    let mut problems = Vec::new();
    while problems.len() < UNSOLVED {
        // Every other gap is one that a chain of up to three parts bridged before a port was shifted: most gaps taken
        // at random are nowhere near closing.
        let problem =
            if problems.len() % 2 == 0 { random_problem(&mut rng) } else { shifted(rng.random(), &mut rng).1 };
        let asked = pose(&problem).unwrap();
        if solve(&asked.catalog, &asked.layout, problem.max_parts).chains.is_empty() {
            let play = if rng.random_bool(0.5) { [3.0, 0.0, 1.5] } else { [0.0; 3] };
            problems.push((problem, play));
        }
    }
    let outcomes: Vec<_> = problems.par_iter().map(|(problem, play)| check(problem, *play)).collect();
    let wrong: Vec<&String> = outcomes.iter().flat_map(|(_, wrong)| wrong).collect();
    assert!(wrong.is_empty(), "{} faults: {wrong:#?}", wrong.len());
    let opened = outcomes.iter().filter(|(moves, _)| *moves > 0).count();
    assert!(opened > UNSOLVED / 10, "only {opened} of {UNSOLVED} gaps have a suggestion: the test says little");
}

#[test]
fn a_port_that_was_shifted_is_brought_back() {
    let tried = AtomicUsize::new(0);
    let wrong: Vec<String> = (0..160_u64)
        .into_par_iter()
        .filter_map(|seed| {
            let mut rng = StdRng::seed_from_u64(seed);
            let (shift, problem) = shifted(seed, &mut rng);
            let asked = pose(&problem).ok()?;
            let mut before = problem.clone();
            before.to.frame.at -= shift;
            // A place that is itself too near to the other component may not be suggested.
            let roomy = elbowroom::interference::check(&pose(&before).ok()?.layout).meetings.is_empty();
            if !roomy || !solve(&asked.catalog, &asked.layout, problem.max_parts).chains.is_empty() {
                return None;
            }
            tried.fetch_add(1, Ordering::Relaxed);
            let found = nearest(&asked.catalog, &asked.layout, problem.max_parts);
            // Moves whose chain can be made up come before smaller ones.
            let sizes = found.moves.iter().map(|suggestion| Vector3::from(suggestion.by.shift_mm).norm());
            let least = sizes.reduce(f64::min);
            // The planted chain may have missed by the closure allowance, and steps are rounded to tenths.
            let good = least.is_some_and(|least| least <= shift.norm() + 0.3 + 0.1);
            (!good).then(|| {
                format!("seed {seed}: shifted by {:.2} mm, suggested {least:?} {:?}", shift.norm(), found.refused)
            })
        })
        .collect();
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
    let tried = tried.into_inner();
    assert!(tried >= 50, "only {tried} cases had nothing to close them after the shift");
}

/// A planted gap of one to three parts whose second port is shifted, and that shift.
fn shifted(seed: u64, rng: &mut StdRng) -> (Vector3<f64>, Problem) {
    let mut problem = plant(seed, 1 + usize::try_from(seed % 3).unwrap(), 5).problem;
    let way = Vector3::<f64>::from_fn(|_, _| rng.random_range(-1.0..1.0)).normalize();
    let shift = way * rng.random_range(1.0..4.0);
    problem.to.frame.at += shift;
    (shift, problem)
}

/// Two boxes whose ports face each other along x, and what else is given.
fn two_boxes(gap_mm: f64, b: &str, more: &str, gaps: &str) -> String {
    format!(
        r#"// Two boxes in a row.
(
    version: 1, name: "two boxes",
    components: [
        // The first one stands.
        (name: "a", solids: [(shape: box(size: (40, 40, 40)), at: (0, 0, 20))], at: (0, 0, 0),
         ports: [(name: "p", at: (20, 0, 20), facing: "+x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]),
        (name: "b", /* may move */ solids: [(shape: box(size: (40, 40, 40)), at: (0, 0, 20))],
         at: ({}, 0, 0.0), {b} // where it stands
         ports: [(name: "p", at: (-20, 0, 20), facing: "-x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24),
                 (name: "q", at: (20, 0, 20), facing: "+x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]),
        {more}
    ],
    gaps: [(from: "a.p", to: "b.p"), {gaps}],
)
"#,
        40.0 + gap_mm
    )
}

fn with_joiner(text: &str) -> (Catalog, Layout) {
    let catalog = Catalog::from_parts(vec![straight("joiner", ['M', 'M'], 30.0)], Vec::new()).unwrap();
    let layout = Layout::parse(text, "two boxes", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    (catalog, layout)
}

#[test]
fn a_shift_is_read_off_by_hand_and_written_without_touching_anything_else() {
    let text = two_boxes(32.3, "play: (3, 0, 0),", "", "");
    let (catalog, layout) = with_joiner(&text);
    let found = nearest(&catalog, &layout, 1);
    let first = &found.moves[0];
    assert_eq!((first.component.as_str(), first.by.shift_mm, first.in_play), ("b", [-2.3, 0.0, 0.0], true));
    let written = move_in_text(&text, &layout, &first.by).unwrap();
    assert_eq!(written, text.replace("at: (72.3, 0, 0.0)", "at: (70, 0, 0.0)"));
    assert!(!solve(&catalog, &Layout::parse(&written, "moved", &catalog).unwrap(), 1).chains.is_empty());
}

#[test]
fn a_chain_that_can_be_made_up_comes_before_a_smaller_move() {
    // Towards a joiner that nothing turns it is 2 mm, towards one with swivels 4 mm the other way.
    let fittings = vec![straight("stiff", ['m', 'm'], 26.0), straight("joiner", ['M', 'M'], 32.0)];
    let catalog = Catalog::from_parts(fittings, Vec::new()).unwrap();
    let layout = Layout::parse(&two_boxes(28.0, "play: (5, 0, 0),", "", ""), "two boxes", &catalog).unwrap();
    let found = nearest(&catalog, &layout, 1);
    let of_b = found.moves.iter().filter(|found| found.component == "b");
    let shifts: Vec<_> = of_b.map(|found| (found.by.shift_mm[0], found.make_up.verdict.can_be_made_up())).collect();
    assert_eq!(shifts, [(4.0, true), (-2.0, false)], "{found:#?}");
    assert_eq!(found.moves[0].component, "b");
}

/// The same where only the joiner without a swivel is within the play: what opens the gap comes first all the same.
#[test]
fn a_move_that_opens_the_gap_comes_before_one_within_the_play_that_does_not() {
    let fittings = vec![straight("stiff", ['m', 'm'], 26.0), straight("joiner", ['M', 'M'], 32.0)];
    let catalog = Catalog::from_parts(fittings, Vec::new()).unwrap();
    let layout = Layout::parse(&two_boxes(28.0, "play: (3, 0, 0),", "", ""), "two boxes", &catalog).unwrap();
    let found = nearest(&catalog, &layout, 1);
    let of_b = found.moves.iter().filter(|found| found.component == "b");
    let shifts: Vec<_> = of_b.map(|found| (found.by.shift_mm[0], found.in_play, found.opens())).collect();
    assert_eq!(shifts, [(4.0, false, true), (-2.0, true, false)], "{found:#?}");
}

#[test]
fn a_turn_is_offered_where_the_layout_allows_it() {
    let (sin, cos) = 6_f64.to_radians().sin_cos();
    let front = format!("front: \"{sin} {} 0\",", -cos);
    let text = two_boxes(30.0, &format!("{front} play: (4, 4, 0), play_turn_deg: 10,"), "", "");
    let (catalog, layout) = with_joiner(&text);
    assert!(solve(&catalog, &layout, 1).chains.is_empty());
    let found = nearest(&catalog, &layout, 1);
    let turn = found.moves.first().map(|first| (first.component.as_str(), first.in_play, first.by.turn_deg));
    assert!(matches!(turn, Some(("b", true, turn)) if (turn + 6.0).abs() <= 0.5), "{found:#?}");
    let written = move_in_text(&text, &layout, &found.moves[0].by).unwrap();
    assert!(!solve(&catalog, &Layout::parse(&written, "moved", &catalog).unwrap(), 1).chains.is_empty(), "{written}");
    // Without the play there is no turn.
    let (catalog, layout) = with_joiner(&two_boxes(30.0, &front, "", ""));
    assert!(nearest(&catalog, &layout, 1).moves.iter().all(|suggestion| suggestion.by.turn_deg == 0.0));
}

#[test]
fn a_turn_of_a_component_without_a_front_is_written_behind_its_place() {
    let text = two_boxes(30.0, "", "", "");
    let (catalog, layout) = with_joiner(&text);
    let body = layout.port("b.p").unwrap().body;
    let by = Move { body, shift_mm: [0.0, 1.25, 0.0], turn_deg: 90.0 };
    let written = move_in_text(&text, &layout, &by).unwrap();
    assert_eq!(written, text.replace("at: (70, 0, 0.0)", "at: (70, 1.25, 0.0), front: \"+x\""));
    let (moved, read) = (layout.moved(&by).unwrap(), Layout::parse(&written, "moved", &catalog).unwrap());
    let [there, here] = [&moved, &read].map(|layout| layout.port("b.p").unwrap().pose);
    assert!((there.to_homogeneous() - here.to_homogeneous()).norm() < 1e-9);
    assert!(move_in_text("(version: 1)", &layout, &by).is_err());
}

#[test]
fn a_move_that_runs_into_something_or_opens_another_gap_is_refused() {
    let post = r#"(name: "post", solids: [(shape: box(size: (1, 4, 10)), at: (0, 0, 5))], at: (51, 17, 0)),"#;
    let (catalog, layout) = with_joiner(&two_boxes(33.0, "play: (5, 5, 5),", post, ""));
    let found = nearest(&catalog, &layout, 1);
    let into_post = |why: &WhyRefused| matches!(why, WhyRefused::Overlaps { body, .. } if body == "post");
    assert!(found.refused.iter().any(|refused| refused.component == "b" && into_post(&refused.why)), "{found:#?}");
    assert!(found.moves.iter().all(|suggestion| suggestion.component == "a"), "{found:#?}");

    let third = r#"(name: "c", solids: [(shape: box(size: (40, 40, 40)), at: (0, 0, 20))], at: (143, 0, 0),
         ports: [(name: "p", at: (-20, 0, 20), facing: "-x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]),"#;
    let (catalog, layout) = with_joiner(&two_boxes(33.0, "play: (5, 5, 5),", third, r#"(from: "b.q", to: "c.p")"#));
    let found = nearest(&catalog, &layout, 1);
    let opens = |why: &WhyRefused| matches!(why, WhyRefused::OpensGap { from, .. } if from == "b.q");
    assert!(found.refused.iter().any(|refused| refused.component == "b" && opens(&refused.why)), "{found:#?}");
    assert!(found.moves.iter().all(|suggestion| suggestion.component == "a"), "{found:#?}");
}

/// A gap that the moved component does not touch may lose its chain to it as well: `c` and `d` stand to either side of
/// where `b` would go, and the only way between them is straight.
#[test]
fn a_move_that_blocks_a_gap_beside_it_is_refused() {
    let beside = r#"(name: "c", solids: [(shape: box(size: (40, 40, 40)), at: (0, 0, 20))], at: (105, -35, 0),
         ports: [(name: "p", at: (0, 20, 36), facing: "+y", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]),
        (name: "d", solids: [(shape: box(size: (40, 40, 40)), at: (0, 0, 20))], at: (105, 35, 0),
         ports: [(name: "p", at: (0, -20, 36), facing: "-y", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]),"#;
    let found_with = |gaps: &str| {
        // The joiner between c and d lies along y at x = 105, 4 mm thick. An arm of b between the two reaches to x = 99,
        // and to 103 once b has moved by the 4 mm that the joiner between a and b lacks.
        let block = "[(shape: box(size: (40, 40, 40)), at: (0, 0, 20))],\n         at: (66";
        let arm =
            "[(shape: box(size: (40, 26, 40)), at: (0, 0, 20)), (shape: box(size: (32, 26, 4)), at: (17, 0, 36))],
         at: (66";
        let text = two_boxes(26.0, "play: (5, 5, 5),", beside, gaps);
        assert!(text.contains(block), "{text}");
        let text = text.replace(block, arm);
        let (catalog, layout) = with_joiner(&text);
        nearest(&catalog, &layout, 1)
    };
    let alone = found_with("");
    assert!(
        alone.moves.iter().any(|found| found.component == "b" && found.by.shift_mm == [4.0, 0.0, 0.0]),
        "{alone:#?}"
    );
    let beside = found_with(r#"(from: "c.p", to: "d.p")"#);
    let opens = |why: &WhyRefused| matches!(why, WhyRefused::OpensGap { from, .. } if from == "c.p");
    assert!(beside.refused.iter().any(|refused| refused.component == "b" && opens(&refused.why)), "{beside:#?}");
    assert!(beside.moves.iter().all(|found| found.component == "a"), "{beside:#?}");
}

#[test]
fn what_is_in_the_way_is_named_with_the_clearance_that_would_pass() {
    // The joiner is 4 mm thick and lies at y = 0: the post ends 0.6 mm from it.
    let post = r#"(name: "post", solids: [(shape: box(size: (4, 4, 40)), at: (0, 0, 20))], at: (35, 4.6, 0)),"#;
    let (catalog, layout) = with_joiner(&two_boxes(30.0, "", post, ""));
    assert!(solve(&catalog, &layout, 1).chains.is_empty());
    let blocked = nearest(&catalog, &layout, 1).blocked.unwrap();
    let [in_the_way] = &blocked.blockers[..] else { panic!("{blocked:#?}") };
    assert_eq!((blocked.looked_at, blocked.all, in_the_way.body.as_deref()), (1, true, Some("post")));
    assert_eq!((in_the_way.chains, in_the_way.alone, in_the_way.is_seat), (1, 1, false));
    // The allowance is 1 mm.
    assert!(in_the_way.give_way_mm.iter().all(|mm| (mm - 0.4).abs() < 1e-3), "{in_the_way:?}");
    let passing = blocked.passing_mm.unwrap();
    assert!((passing - 0.6).abs() < 1e-3, "{passing}");
}

/// A thick part and a thin one, in either order. An arm of the first port's own component leaves no room for the thick one
/// at that port, a post none for it at the other; a beam is in the way of both.
#[test]
fn whatever_is_in_the_way_is_counted_with_what_it_alone_keeps_out() {
    let bar = |id: &str, ends: [char; 2], length: f64, diameter: f64| FittingDef {
        solids: vec![PartSolid::Sleeve { leg: 0, from: 0.0, to: None, diameter }],
        ..straight(id, ends, length)
    };
    let parts = vec![bar("thick", ['M', 'M'], 20.0, 16.0), bar("thin", ['M', 'F'], 10.0, 4.0)];
    let catalog = Catalog::from_parts(parts, Vec::new()).unwrap();
    let port = |at: f64, facing: &str| {
        format!(
            "(name: \"p\", at: ({at}, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 24)"
        )
    };
    // From the axis the arm is 5 mm away, the post 4 mm; each reaches over 6 mm along it, 2 mm from its port.
    let arm = "(at: (25, 7, 0), shape: box(size: (6, 4, 4)))";
    let post = "(name: \"post\", at: (45, -6, 0), solids: [(shape: box(size: (6, 4, 4)))])";
    let ask = |others: &str| {
        let text = format!(
            "(version: 1, name: \"two boxes\", components: [(name: \"a\", at: (0, 0, 0), solids: [(shape: box(size: (40, 40, \
             40))), {arm}], ports: [{}]), (name: \"b\", at: (70, 0, 0), solids: [(shape: box(size: (40, 40, 40)))], ports: \
             [{}]), {post}, {others}])",
            port(20.0, "+x"),
            port(-20.0, "-x"),
        );
        let layout = Layout::parse(&text, "two.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
        assert!(solve(&catalog, &layout, 2).chains.is_empty());
        nearest(&catalog, &layout, 2).blocked.unwrap()
    };
    let told = |blocked: &Blocked| -> Vec<(String, Option<String>, usize, usize, f64)> {
        let line = |way: &InTheWay| {
            let by = (way.give_way_mm[0] * 100.0).round() / 100.0;
            (way.body.clone().unwrap_or_default(), way.carries.clone(), way.chains, way.alone, by)
        };
        blocked.blockers.iter().map(line).collect()
    };
    // The thick part has a radius of 8 mm and must keep 1 mm away.
    let (a, carried) = ("a".to_owned(), Some("a.p".to_owned()));
    let blocked = ask("");
    assert_eq!(told(&blocked), [(a.clone(), carried.clone(), 1, 1, 4.0), ("post".to_owned(), None, 1, 1, 5.0)]);
    assert_eq!((blocked.looked_at, blocked.all, blocked.passing_mm), (2, true, None));
    // Half way, where the thick part is in either order, and 8.5 mm from the axis.
    let beam = "(name: \"beam\", at: (35, 0, 10.5), solids: [(shape: box(size: (4, 60, 4)))])";
    let blocked = ask(beam);
    assert_eq!(
        told(&blocked),
        [("beam".to_owned(), None, 2, 0, 0.5), (a, carried, 1, 0, 4.0), ("post".to_owned(), None, 1, 0, 5.0)]
    );
    let thick_first = blocked.best.parts[0].fitting == "thick";
    assert!(thick_first, "the arm has to give way by 4 mm, the post by 5: {:?}", blocked.best);
}

/// Near misses of a gap that is none, as after a search that was stopped before it came to the chain there is.
#[test]
fn nothing_is_in_the_way_of_a_chain_that_keeps_the_clearance() {
    let post = r#"(name: "post", solids: [(shape: box(size: (4, 4, 40)), at: (0, 0, 20))], at: (35, 6, 0)),"#;
    let (catalog, layout) = with_joiner(&two_boxes(30.0, "", post, ""));
    assert!(!solve(&catalog, &layout, 1).chains.is_empty());
    assert_eq!(nearest(&catalog, &layout, 1).blocked, None);
}

#[test]
fn what_cannot_work_has_a_reason_to_check_by_hand() {
    let reasons = |text: &str| {
        let (catalog, layout) = with_joiner(text);
        nearest(&catalog, &layout, 1).reasons
    };
    // The collar of the joiner is 20 mm wide.
    let narrow = reasons(&two_boxes(30.0, "", "", "").replacen("seat_mm: 24", "seat_mm: 16", 1));
    assert!(
        matches!(&narrow[..], [reason @ Reason::NothingEnters(why)] if why.contains("a.p") && why.contains("16") && reason.to_string() == *why),
        "{narrow:?}"
    );
    let far = reasons(&two_boxes(45.0, "", "", ""));
    assert!(
        matches!(&far[..], [Reason::TooFar { distance_mm, reach_mm, .. }] if (*distance_mm - 45.0).abs() < 1e-9 && *reach_mm == 30.0),
        "{far:?}"
    );
    let turned = reasons(&two_boxes(20.0, r#"front: "+x","#, "", ""));
    assert!(
        turned.iter().any(|reason| matches!(reason, Reason::TooFewBends { needed_deg, possible_deg, .. }
            if (*needed_deg - 90.0).abs() < 1e-6 && *possible_deg == 0.0)),
        "{turned:?}"
    );
    let plate = r#"(name: "plate", solids: [(shape: box(size: (2, 40, 40)), at: (0, 0, 20))], at: (27, 0, 0)),"#;
    let covered = reasons(&two_boxes(30.0, "", plate, ""));
    assert!(
        covered.iter().any(|reason| matches!(reason, Reason::Covered { port, body, room_mm, .. }
            if port == "a.p" && body == "plate" && (*room_mm - 6.0).abs() < 0.1)),
        "{covered:?}"
    );
    // Ports that coincide leave no room at all.
    let none = reasons(&two_boxes(0.0, "", "", ""));
    let words = "a.p is covered: b stands right on it, and the shortest part goes 30.0 mm straight ahead";
    assert!(none.iter().any(|reason| reason.to_string() == words), "{none:?}");
}

#[test]
fn the_extension_that_is_missing_is_named_with_its_length() {
    let fittings = vec![straight("joiner", ['M', 'M'], 30.0), straight("extension", ['m', 'f'], 20.0)];
    let catalog = Catalog::from_parts(fittings, Vec::new()).unwrap();
    let layout = Layout::parse(&two_boxes(42.0, "", "", ""), "two boxes", &catalog).unwrap();
    assert!(solve(&catalog, &layout, 2).chains.is_empty());
    let missing = nearest(&catalog, &layout, 2).missing;
    assert_eq!(missing.first().map(|missing| missing.what.as_str()), Some("a 12 mm G 1/4 extension"), "{missing:#?}");
}

/// The near misses of a planted layout, with a joiner of 30 mm in stock and nothing else.
fn planted(text: &str) -> (NearMisses, Layout) {
    let (catalog, layout) = with_joiner(text);
    (nearest(&catalog, &layout, 1), layout)
}

#[test]
fn a_far_move_is_found_and_called_large() {
    let text = include_str!("../data/near_miss/far.ron");
    let (found, layout) = planted(text);
    let first = &found.moves[0];
    assert_eq!((first.component.as_str(), first.by.shift_mm), ("b", [-17.3, 0.0, 0.0]));
    assert!(first.large && first.in_play && found.nearest.is_none(), "{found:#?}");
    let written = move_in_text(text, &layout, &first.by).unwrap();
    let (catalog, moved) = with_joiner(&written);
    assert!(!solve(&catalog, &moved, 1).chains.is_empty(), "{written}");
    // The rungs grow by less than a half: the search went no farther than it had to.
    assert!(found.searched.reach_mm > 17.3 && found.searched.reach_mm < 17.3 * 1.5, "{:?}", found.searched);
}

#[test]
fn the_nearest_chain_is_named_where_no_move_is_found() {
    let (found, _) = planted(include_str!("../data/near_miss/beyond.ron"));
    assert!(found.moves.is_empty() && found.refused.is_empty(), "{found:#?}");
    let near = found.nearest.expect("a joiner comes near");
    assert!((Vector3::from(near.shift_mm) - Vector3::new(-60.0, 0.0, 0.0)).norm() < 1e-6, "{near:#?}");
    assert_eq!((near.component.as_str(), near.off_deg, near.in_the_way), ("b", 0.0, None));
    assert_eq!(near.chain.parts[0].fitting, "joiner");
    let searched = found.searched;
    assert_eq!((searched.components.join(" "), searched.reach_mm, searched.parts), ("b a".to_owned(), 40.0, 1));
    assert!(searched.complete);
}

#[test]
fn the_nearest_chain_may_be_out_of_line_or_blocked() {
    let (found, _) = planted(include_str!("../data/near_miss/turned.ron"));
    let near = found.nearest.expect("a joiner comes near");
    assert!((Vector3::from(near.shift_mm) - Vector3::new(-20.0, 20.0, 0.0)).norm() < 1e-6, "{near:#?}");
    assert!((near.off_deg - 90.0).abs() < 1e-6, "{near:#?}");

    let (found, _) = planted(include_str!("../data/near_miss/plate.ron"));
    let near = found.nearest.expect("a joiner comes near");
    assert!(near.in_the_way.is_some_and(|(body, mm)| body == "plate" && mm < 0.0));
}

#[test]
fn no_move_takes_a_component_through_a_panel() {
    let text = include_str!("../data/near_miss/sheet.ron");
    let (found, _) = planted(text);
    let beyond =
        |why: &WhyRefused| matches!(why, WhyRefused::BeyondPanel { mover, panel } if mover == "b" && panel == "sheet");
    assert!(found.refused.iter().any(|refused| refused.component == "b" && beyond(&refused.why)), "{found:#?}");
    assert!(found.moves.iter().all(|suggestion| suggestion.component == "a"), "{found:#?}");
    // Without the sheet it may go there.
    let (found, _) = planted(&text.replace("at: (66, 0, 20)", "at: (66, 0, 200)"));
    assert!(found.moves.iter().any(|suggestion| suggestion.component == "b"), "{found:#?}");
}

#[test]
fn what_is_mounted_on_a_component_moves_with_it() {
    let text = include_str!("../data/near_miss/carried.ron");
    let (found, layout) = planted(text);
    let first = &found.moves[0];
    assert_eq!((first.component.as_str(), first.by.shift_mm), ("b", [-3.0, 0.0, 0.0]), "{found:#?}");
    assert_eq!(first.carried, ["fan", "guard"]);
    let written = move_in_text(text, &layout, &first.by).unwrap();
    let expected = text.replace("at: (73, 0, 0)", "at: (70, 0, 0)");
    let expected = expected.replace("at: (51, 16, 20)", "at: (48, 16, 20)").replace("at: (47.5,", "at: (44.5,");
    assert_eq!(written, expected);
    let (catalog, moved) = with_joiner(&written);
    assert!(!solve(&catalog, &moved, 1).chains.is_empty());
    assert_eq!(moved, layout.moved(&first.by).unwrap());

    // Standing by itself, the fan is run into; and where something is in the fan's way, the fan is named.
    let (alone, _) = planted(&text.replace(", mounted_on: \"b\"", ""));
    let into_fan =
        |why: &WhyRefused| matches!(why, WhyRefused::Overlaps { body, mover, .. } if body == "fan" && mover == "b");
    assert!(alone.refused.iter().any(|refused| refused.component == "b" && into_fan(&refused.why)), "{alone:#?}");
    let post = "(name: \"post\", solids: [(shape: box(size: (2, 4, 40)), at: (0, 0, 20))], at: (43.5, 18, 0)),";
    let (blocked, _) = planted(&text.replace("// Nothing else.", post));
    let fan = |why: &WhyRefused| matches!(why, WhyRefused::Overlaps { body, mover, .. } if body == "post" && mover == "guard");
    assert!(blocked.refused.iter().any(|refused| refused.carried.len() == 2 && fan(&refused.why)), "{blocked:#?}");
}

#[test]
fn what_carries_a_component_can_be_moved_instead() {
    let sled = r#"(name: "sled", solids: [(shape: box(size: (40, 40, 4)), at: (0, 0, -2))], at: (73, 0, 0), play: (5, 0, 0)),"#;
    let text = two_boxes(33.0, "mounted_on: \"sled\",", sled, "");
    let (found, layout) = planted(&text);
    let first = &found.moves[0];
    assert_eq!((first.component.as_str(), first.by.shift_mm, first.in_play), ("sled", [-3.0, 0.0, 0.0], true));
    assert_eq!(
        (&first.carried[..], &found.searched.components[..]),
        (&["b".to_owned()][..], &["sled", "b", "a"].map(str::to_owned)[..])
    );
    let written = move_in_text(&text, &layout, &first.by).unwrap();
    assert_eq!(written.matches("at: (70, 0, 0").count(), 2, "{written}");
}

#[test]
fn a_turn_takes_along_what_is_mounted() {
    let text = include_str!("../data/near_miss/carried.ron");
    let (_, layout) = with_joiner(text);
    let body = layout.port("b.p").unwrap().body;
    let by = Move { body, shift_mm: [0.0, 1.25, 0.0], turn_deg: 90.0 };
    let written = move_in_text(text, &layout, &by).unwrap();
    // A quarter turn about b's origin at (73, 0): the fan's arm of (-22, 16) becomes (-16, -22).
    assert!(written.contains("at: (57, -20.75, 20), front: \"+x\", mounted_on: \"b\""), "{written}");
    // The guard lies on its side: its top turns as well.
    assert!(written.contains("front: \"+z\", top: \"+y\", mounted_on: \"fan\""), "{written}");
    let (moved, (_, read)) = (layout.moved(&by).unwrap(), with_joiner(&written));
    for (there, here) in moved.bodies().iter().zip(read.bodies()) {
        assert!((there.pose.to_homogeneous() - here.pose.to_homogeneous()).norm() < 1e-6, "{written}");
    }
}

#[test]
fn two_ports_that_move_together_are_no_gap_to_open_by_a_move() {
    let (found, _) = planted(&two_boxes(33.0, "mounted_on: \"a\", play: (5, 0, 0),", "", ""));
    // Moving `a` takes `b` along; `b` itself may be screwed on elsewhere.
    assert!(found.moves.iter().all(|suggestion| suggestion.component == "b"), "{found:#?}");
    assert_eq!(found.searched.components, ["b"]);
}

/// The search for what blocks chains has a budget of its own.
#[test]
fn what_is_in_the_way_is_looked_for_as_long_as_asked() {
    let post = r#"(name: "post", solids: [(shape: box(size: (4, 4, 40)), at: (0, 0, 20))], at: (35, 0, 0)),"#;
    let (catalog, layout) = with_joiner(&two_boxes(30.0, "", post, ""));
    let gap = layout.gap("a.p", "b.p").unwrap();
    let blocked = |blocked_budget: u64| {
        let wishes = NearMissWishes { closure_budget: 0, blocked_budget, ..NearMissWishes::default() };
        near_misses(&catalog, &layout, &gap, &wishes).unwrap()
    };
    assert!(blocked(0).blocked.is_none());
    let found = blocked(1_000);
    assert_eq!(found.blocked.unwrap().blockers[0].body.as_deref(), Some("post"));
    // Nor were moves gone through in full.
    assert!(!found.searched.complete);
}
