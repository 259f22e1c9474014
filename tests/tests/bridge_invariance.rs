//! The same gap asked for in another way gives the same answer.

use elbowroom::bridge::{Answer, Chain, MakeUpWishes, SlackWishes, Wishes, bridge, make_up, slack};
use elbowroom::catalog::Catalog;
use elbowroom::geometry::Shape;
use elbowroom::layout::{Gap, Layout};
use elbowroom_tests::ask::{ALL, Asked, ask, pose};
use elbowroom_tests::chain::{Obstacle, Placed, Problem, Step};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::plant::plant;
use elbowroom_tests::verify::{Key, entry_of, faults, key_of, reversed, spell};
use nalgebra::Vector3;

/// How far figures of one chain may differ when the same thing is asked for in another way.
const SAME: f64 = 1e-6;

/// How far a chain may miss and still be the same chain from the other end, in millimetres. A chain starts at the
/// first port exactly and misses the second; one that misses by more stands elsewhere when it starts at the second.
const EXACT_MM: f64 = 1e-6;

/// How far clearances may differ, in millimetres, between the two ends. Where two ways to close fall together, as
/// they do for chains in one plane, a turn shows in the residual only as its square: 1e-9 mm in 20 mm leaves the
/// turn open by 1e-5 and places 50 mm away by 5e-4.
const SWAPPED_MM: f64 = 1e-3;

/// Planted gaps with a post beside each, so that clearances differ from chain to chain.
fn problems() -> Vec<Problem> {
    (9000..9080_u32)
        .map(|seed| {
            let mut problem = plant(u64::from(seed), 2 + seed as usize % 3, 5).problem;
            let middle = (problem.from.frame.at + problem.to.frame.at) / 2.0;
            let across = problem.from.frame.z().cross(&Vector3::new(0.3, 0.5, 0.8)).normalize();
            problem.obstacles.push(Obstacle {
                name: "post".to_owned(),
                shape: Shape::Cylinder { diameter: 5.0, length: 30.0 },
                frame: Frame::looking(middle + across * 35.0, problem.from.frame.z(), 0.0),
            });
            problem
        })
        .collect()
}

/// What ranking looks at, and what the chain is.
struct Line {
    key: Key,
    loss: f64,
    clearance: f64,
    residual: f64,
}

fn lines(problem: &Problem, answer: &Answer, far_end_first: bool) -> Vec<Line> {
    let line = |chain: &Chain| {
        let key = key_of(problem, chain);
        Line {
            key: if far_end_first { reversed(problem, &key) } else { key },
            loss: chain.loss_kpa,
            clearance: chain.clearance.as_ref().map_or(f64::INFINITY, |clearance| clearance.mm),
            residual: chain.residual_mm,
        }
    };
    answer.chains.iter().map(line).collect()
}

/// Asserts the same chains with the same figures in an order that ranks them alike.
fn assert_same(what: &str, a: &[Line], b: &[Line], clearance_mm: f64) {
    let names = |lines: &[Line]| {
        let mut names: Vec<String> = lines.iter().map(|line| spell(&line.key)).collect();
        names.sort();
        names
    };
    assert_eq!(names(a), names(b), "{what}");
    let within = |limit: f64, x: f64, y: f64| (x - y).abs() < limit || x.total_cmp(&y).is_eq();
    let near = |x: f64, y: f64| within(SAME, x, y);
    for (one, other) in a.iter().zip(b) {
        let same_rank = one.key.len() == other.key.len()
            && near(one.loss, other.loss)
            && within(clearance_mm, one.clearance, other.clearance);
        assert!(
            same_rank,
            "{what}: {} ({}, {}) where {} ({}, {}) was",
            spell(&other.key),
            other.loss,
            other.clearance,
            spell(&one.key),
            one.loss,
            one.clearance
        );
    }
    for one in a {
        // A chain may be there in several postures.
        let others: Vec<f64> = b.iter().filter(|other| other.key == one.key).map(|other| other.residual).collect();
        assert!(
            others.iter().any(|other| near(one.residual, *other)),
            "{what}: {} misses by {}, {others:?}",
            spell(&one.key),
            one.residual,
        );
    }
}

#[test]
fn moving_and_turning_the_whole_layout_changes_nothing() {
    for (index, problem) in problems().iter().enumerate() {
        let here = lines(problem, &ask(problem, ALL), false);
        let away = Frame::looking(Vector3::new(310.0, -45.5, 77.25), Vector3::new(0.2, -0.7, 0.4), 1.1);
        let mut moved = problem.clone();
        moved.from.frame = away.then(&problem.from.frame);
        moved.to.frame = away.then(&problem.to.frame);
        for obstacle in &mut moved.obstacles {
            obstacle.frame = away.then(&obstacle.frame);
        }
        let answer = ask(&moved, ALL);
        assert_eq!(faults(&moved, &answer), Vec::<String>::new(), "problem {index} moved");
        assert_same(&format!("problem {index} moved"), &here, &lines(&moved, &answer, false), SAME);
    }
}

#[test]
fn from_and_to_may_be_swapped() {
    let exact = |problem: &Problem, answer: &Answer, far_end_first: bool| {
        let mut lines = lines(problem, answer, far_end_first);
        lines.retain(|line| line.residual < EXACT_MM);
        lines
    };
    let mut compared = 0;
    for (index, problem) in problems().iter().enumerate() {
        let there = exact(problem, &ask(problem, ALL), false);
        let swapped = Problem { from: problem.to.clone(), to: problem.from.clone(), ..problem.clone() };
        let answer = ask(&swapped, ALL);
        assert_eq!(faults(&swapped, &answer), Vec::<String>::new(), "problem {index} swapped");
        assert_same(&format!("problem {index} swapped"), &there, &exact(&swapped, &answer, true), SWAPPED_MM);
        compared += there.len();
    }
    assert!(compared > 100, "only {compared} chains were compared");
}

/// Where the parts of a chain are when it is laid out from `start` by its turns alone.
fn laid_out(problem: &Problem, chain: &Chain, start: Frame) -> Vec<Placed> {
    let step = |part: &elbowroom::bridge::ChainPart| Step {
        part: problem.fittings.iter().position(|def| def.id == part.fitting).expect("a part of the catalog"),
        entry: part.entry,
        turn: part.turn_deg.unwrap_or(0.0).to_radians(),
        stretch: part.stretch_mm,
    };
    let mut moved = problem.clone();
    moved.from.frame = start;
    moved.place(&chain.parts.iter().map(step).collect::<Vec<Step>>())
}

/// However a chain misses: asked for from the other port, every chain is there with the same figures, and its parts in
/// reverse stand where they stood.
#[test]
fn a_gap_may_be_asked_for_from_either_port() {
    let mut compared = 0;
    for (index, problem) in problems().iter().enumerate() {
        let Asked { catalog, layout, .. } = pose(problem).expect("a sound problem");
        let wishes = Wishes { max_parts: problem.max_parts, want: ALL, ..Wishes::default() };
        let ask =
            |from, to| bridge(&catalog, &layout, &layout.gap(from, to).expect("a gap"), &wishes).expect("sound wishes");
        let (there, back) = (ask("a.p", "b.p"), ask("b.p", "a.p"));
        assert_eq!(
            (&back.completeness, &back.counts, back.chains.len()),
            (&there.completeness, &there.counts, there.chains.len()),
            "problem {index}"
        );
        for (one, other) in there.chains.iter().zip(&back.chains) {
            assert_eq!(reversed(problem, &key_of(problem, one)), key_of(problem, other), "problem {index}");
            assert_eq!((one.residual_mm, one.loss_kpa), (other.residual_mm, other.loss_kpa), "problem {index}");
            let clearance = |chain: &Chain| chain.clearance.as_ref().map(|clearance| clearance.mm);
            assert_eq!(clearance(one), clearance(other), "problem {index}");
            let forth = laid_out(problem, one, problem.from.frame);
            let end = forth.last().expect("a part").exit.facing();
            // The chain ends near the port and is marked as the port is.
            let [x, y] = [0, 1].map(|axis| end.axes.column(0).dot(&problem.to.frame.axes.column(axis)));
            let start = end.turn(-y.atan2(x));
            let back = laid_out(problem, other, start);
            for (part, mirror) in forth.iter().rev().skip(1).zip(&back) {
                let apart = (part.exit.at - mirror.exit.at).norm();
                assert!(apart < SAME, "problem {index}: {apart} mm apart");
            }
            for (part, mirror) in one.parts.iter().zip(other.parts.iter().rev()) {
                let middle = |part: &elbowroom::bridge::ChainPart| {
                    let def =
                        problem.fittings.iter().find(|def| def.id == part.fitting).expect("a part of the catalog");
                    let ends = def.end_frames(part.stretch_mm);
                    let at = |end: usize| (part.pose * ends[end]).translation.vector;
                    (at(0) + at(1)) / 2.0
                };
                let apart = (middle(part) - middle(mirror)).norm();
                assert!(apart < SAME, "problem {index}: {apart} mm apart");
            }
            compared += 1;
        }
    }
    assert!(compared > 100, "only {compared} chains were compared");
}

#[test]
fn the_order_of_the_catalog_does_not_matter() {
    for (index, problem) in problems().iter().enumerate() {
        let answer = ask(problem, ALL);
        let mut shuffled = problem.clone();
        shuffled.fittings.reverse();
        shuffled.fittings.rotate_left(index % 3);
        assert_eq!(ask(&shuffled, ALL), answer, "problem {index}");
    }
}

#[test]
fn any_number_of_threads_gives_the_same_answer() {
    for (index, problem) in problems().iter().enumerate() {
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
            pool.install(|| (ask(problem, ALL), ask(problem, 3)))
        };
        let alone = on(1);
        assert_eq!(on(2), alone, "problem {index}");
        assert_eq!(on(2), alone, "problem {index}, once more");
    }
}

/// The best few entries are the head of all.
#[test]
fn wanting_fewer_gives_the_best_of_all() {
    let mut cut = 0;
    for (index, problem) in problems().iter().enumerate() {
        let all = ask(problem, ALL).chains;
        let entries: Vec<&[Chain]> =
            all.chunk_by(|one, other| entry_of(problem, one) == entry_of(problem, other)).collect();
        for want in 1..=entries.len().min(4) {
            assert_eq!(ask(problem, want).chains, entries[..want].concat(), "problem {index}, best {want}");
            cut += usize::from(want < entries.len());
        }
    }
    assert!(cut > 20, "only {cut} lists were cut short");
}

/// What is said of a chain does not depend on the port it was asked for from either: whether it can be made up, and how far
/// ports may be out of place. One port out of place one way is the other out of place the other way.
#[test]
fn a_chain_is_judged_alike_from_either_port() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("sound");
    let wishes = Wishes { max_parts: 4, want: 3, ..Wishes::default() };
    let (mut judged, mut off) = (0, 0);
    for gap in layout.gaps() {
        let turned = Gap { from: gap.to, to: gap.from };
        let chains = [gap, &turned].map(|gap| bridge(&catalog, &layout, gap, &wishes).expect("sound wishes").chains);
        assert_eq!(chains[0].len(), chains[1].len());
        for (one, other) in chains[0].iter().zip(&chains[1]) {
            let made = |gap: &Gap, chain: &Chain| {
                let made = make_up(&catalog, &layout, gap, chain, &MakeUpWishes::default());
                made.expect("they belong together").verdict.can_be_made_up()
            };
            assert_eq!(made(gap, one), made(&turned, other), "{one:#?}");
            let slack = |gap: &Gap, chain: &Chain| {
                let wishes = SlackWishes { samples: 100, ..SlackWishes::default() };
                slack(&catalog, &layout, gap, chain, &wishes).expect("they belong together")
            };
            let (there, back) = (slack(gap, one), slack(&turned, other));
            assert!((there.share.share - back.share.share).abs() < 0.03, "{there:#?} {back:#?}");
            for (ahead, against) in there.directions.iter().zip(&back.directions) {
                assert!((ahead.ahead_mm - against.back_mm).abs() < 1e-3, "{ahead:?} {against:?}");
                assert!((ahead.back_mm - against.ahead_mm).abs() < 1e-3, "{ahead:?} {against:?}");
            }
            judged += 1;
            off += usize::from(one.residual_mm > 0.1);
        }
    }
    assert!(judged > 15 && off > 2, "{judged} chains, {off} of which miss by more than rounding");
}
