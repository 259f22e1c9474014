//! Slack against closed forms, and against builds tried by other means: the oracles' frames and distances, a general
//! least-squares descent with numeric slopes, and another random generator.

use elbowroom::bridge::{BadWish, Chain, SEARCHED_MM, Slack, SlackWishes, Wishes, bridge, slack};
use elbowroom::geometry::Shape;
use elbowroom_tests::ask::{Asked, pose};
use elbowroom_tests::chain::{Miss, Obstacle, Port, Problem, Step, is_bent};
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{SLEEVE_MM, bend, link, straight};
use elbowroom_tests::plant::{gap_for, plant};
use elbowroom_tests::solids::{clearances, self_overlap};
use elbowroom_tests::verify::retrace;
use nalgebra::{Rotation3, SMatrix, SVector, Vector3};
use rand::{Rng, SeedableRng, rngs::StdRng};
use rayon::prelude::*;
use std::f64::consts::{SQRT_2, TAU};

fn best_chain(asked: &Asked, problem: &Problem) -> Option<Chain> {
    let wishes = Wishes { max_parts: problem.max_parts, want: 1, ..Wishes::default() };
    bridge(&asked.catalog, &asked.layout, &asked.gap, &wishes).expect("sound wishes").chains.into_iter().next()
}

fn slack_of(problem: &Problem, chain: &Chain, wishes: &SlackWishes) -> Slack {
    let asked = pose(problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    slack(&asked.catalog, &asked.layout, &asked.gap, chain, wishes).unwrap_or_else(|bad| panic!("{bad}: {chain:?}"))
}

/// A chain that a problem was made for, as the solver lists it, and its slack.
fn planted_slack(problem: &Problem, wishes: &SlackWishes) -> Slack {
    let asked = pose(problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    let chain = best_chain(&asked, problem).unwrap_or_else(|| panic!("no chain for {problem:#?}"));
    slack_of(problem, &chain, wishes)
}

fn step(part: usize, turn: f64, stretch: f64) -> Step {
    Step { part, entry: 0, turn, stretch }
}

// Closed forms.

/// Builds for the closed forms: the interval is then about half a per cent to either side.
const MANY: usize = 20_000;

/// Checks the share that closes against an exact one, within three halves of the interval's half-width: nearly three
/// standard deviations.
fn check_share(slack: &Slack, exact: f64) {
    let half = (slack.closing.high - slack.closing.low) / 2.0;
    let off = slack.closing.share - exact;
    assert!(off.abs() < 1.5 * half, "{:?} counted, {exact} exact", slack.closing);
    assert!(slack.share.share <= slack.closing.share);
}

/// What fraction of a normal distribution lies within `x` deviations of its mean: Simpson's rule over the density.
fn within_deviations(x: f64) -> f64 {
    2.0 * simpson(x, |t| (-t * t / 2.0).exp() / TAU.sqrt())
}

fn simpson(to: f64, density: impl Fn(f64) -> f64) -> f64 {
    let panels = 200;
    let step = to / f64::from(2 * panels);
    let weight = |index: i32| if index == 0 || index == 2 * panels { 1.0 } else { f64::from(2 + 2 * (index % 2)) };
    (0..=2 * panels).map(|index| weight(index) * density(f64::from(index) * step)).sum::<f64>() * step / 3.0
}

/// Deviation of the difference of two errors of which two deviations are `tolerance`.
fn deviation(tolerance: f64) -> f64 {
    tolerance / 2.0 * SQRT_2
}

#[test]
fn a_straight_chain_absorbs_nothing() {
    let problem = gap_for(vec![straight("s", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    let wishes = SlackWishes { position_mm: 0.4, angle_deg: 0.0, samples: MANY, ..SlackWishes::default() };
    let slack = planted_slack(&problem, &wishes);
    // The length of an error in three equal directions: the chi distribution with three degrees of freedom.
    let reach = problem.closure_mm / deviation(0.4);
    check_share(&slack, simpson(reach, |r| (4.0 / TAU).sqrt() * r * r * (-r * r / 2.0).exp()));
    assert_eq!(slack.linear, Some(slack.closing.share), "nothing turns, so the Jacobian is exact");
    assert_eq!(slack.directions.len(), 3);
    for direction in &slack.directions {
        assert!((direction.ahead_mm - 0.3).abs() < 1e-3 && (direction.back_mm - 0.3).abs() < 1e-3, "{direction:?}");
        assert!((direction.remains - 1.0).abs() < 1e-9, "{direction:?}");
    }
    // Both ports 0.4 mm out on every axis, against each other.
    assert!((slack.stack_up.worst_mm - 0.8 * 3_f64.sqrt()).abs() < 1e-9 && !slack.stack_up.worst_closes);
}

#[test]
fn an_adjustable_link_absorbs_its_own_direction_only() {
    let problem = gap_for(vec![link("l", ['m', 'm'], 20.0, 8.0)], &[step(0, 0.0, 4.0)], 1);
    let wishes = SlackWishes { position_mm: 0.4, angle_deg: 0.0, samples: MANY, ..SlackWishes::default() };
    let slack = planted_slack(&problem, &wishes);
    // Two directions remain: the Rayleigh distribution.
    let reach = problem.closure_mm / deviation(0.4);
    check_share(&slack, 1.0 - (-reach * reach / 2.0).exp());
    let free = slack.directions.last().map(|last| (last.towards, last.remains < 1e-6, last.ahead_mm));
    // Drawn out by 4 of 8 mm, and 0.3 mm more by the allowance.
    let Some((towards, absorbed, ahead)) = free else { panic!("no directions") };
    assert!((Vector3::from(towards) - Vector3::z()).norm() < 1e-9 && absorbed);
    assert!((ahead - 4.3).abs() < 0.02, "{ahead}");
    for sideways in &slack.directions[..2] {
        assert!((sideways.ahead_mm - 0.3).abs() < 2e-3, "{sideways:?}");
    }
}

#[test]
fn a_rigid_chain_leans_with_its_ports() {
    // An allowance so wide that only the lean counts: each port leans about two axes square to the chain.
    let mut problem = gap_for(vec![straight("s", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    problem.closure_mm = 2.0;
    let wishes = SlackWishes { position_mm: 0.0, angle_deg: 0.5, samples: MANY, ..SlackWishes::default() };
    let slack = planted_slack(&problem, &wishes);
    let reach = problem.closure_deg / deviation(0.5);
    check_share(&slack, 1.0 - (-reach * reach / 2.0).exp());
}

#[test]
fn a_bend_between_two_links_must_stay_in_its_plane() {
    let fittings = vec![
        link("l", ['m', 'F'], 20.0, 8.0),
        bend("b", ['M', 'F'], 90.0, [12.0, 12.0]),
        link("k", ['m', 'm'], 21.0, 8.0),
    ];
    let problem = gap_for(fittings, &[step(0, 0.0, 4.0), step(1, 0.0, 0.0), step(2, 0.0, 4.0)], 3);
    let wishes = SlackWishes { position_mm: 0.8, angle_deg: 0.0, samples: MANY, ..SlackWishes::default() };
    let asked = pose(&problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    let chain = best_chain(&asked, &problem).unwrap_or_else(|| panic!("no chain"));
    let slack = slack_of(&problem, &chain, &wishes);
    // The links take up both directions in the plane. Out of it the bend turns by as much as the angle allowance
    // lets it, on an arm from the first axis to the second seat; the rest must be within the allowance.
    let arm = 12.0 + 21.0 + 4.0;
    let reach = problem.closure_mm + arm * problem.closure_deg.to_radians().sin();
    check_share(&slack, within_deviations(reach / deviation(0.8)));
    let worst = &slack.directions[0];
    let out_of_plane = Vector3::from(worst.towards).dot(&problem.to.frame.z().cross(&Vector3::z())).abs();
    assert!((out_of_plane - 1.0).abs() < 1e-6, "{worst:?}");
    assert!((worst.ahead_mm - reach).abs() < 0.01 && (worst.back_mm - reach).abs() < 0.01, "{worst:?}, not {reach}");
    for in_plane in &slack.directions[1..] {
        assert!(in_plane.remains < 1e-6, "{in_plane:?}");
    }
}

#[test]
fn the_same_seed_gives_the_same_answer_and_another_does_not() {
    let problem = gap_for(vec![straight("s", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    let wishes = SlackWishes::default();
    assert_eq!(planted_slack(&problem, &wishes), planted_slack(&problem, &wishes));
    let other = planted_slack(&problem, &SlackWishes { seed: 2, ..wishes });
    assert_ne!(planted_slack(&problem, &wishes).closing, other.closing);
}

#[test]
fn no_error_leaves_the_chain_as_it_is() {
    let problem = gap_for(vec![straight("s", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    let wishes = SlackWishes { position_mm: 0.0, angle_deg: 0.0, samples: 1, ..SlackWishes::default() };
    let slack = planted_slack(&problem, &wishes);
    assert_eq!((slack.samples, slack.share.share, slack.stack_up.worst_closes), (1, 1.0, true));
    assert!(slack.share.low < 1.0, "one build proves little");
}

#[test]
fn a_chain_of_another_catalog_has_no_slack() {
    let problem = gap_for(vec![straight("s", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    let asked = pose(&problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    let chain = best_chain(&asked, &problem).unwrap_or_else(|| panic!("no chain"));
    let other = gap_for(vec![straight("t", ['m', 'm'], 20.0)], &[step(0, 0.0, 0.0)], 1);
    let other = pose(&other).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    let refused = slack(&other.catalog, &asked.layout, &asked.gap, &chain, &SlackWishes::default());
    assert!(
        matches!(refused, Err(BadWish::Item { ref field, .. }) if field == "chain.parts[0].fitting"),
        "{refused:?}"
    );
}

// Builds tried by other means.

/// Builds tried for each case, by the solver and by other means.
const BUILDS: usize = 20_000;

/// How many chains are compared.
const CASES: usize = 20;

/// Standard deviations that hold 95 % of a normal distribution.
const ONE_95: f64 = 1.960;

/// Standard deviations within which all of [`CASES`] independent differences lie together with 95 %: each must lie
/// within with the twentieth root of 0.95 (Z. Šidák, "Rectangular confidence regions for the means of multivariate
/// normal distributions", 1967).
const ALL_95: f64 = 3.016;

/// Intervals of 1,000 builds for each case, each from a seed of its own.
const INTERVALS: u64 = 20;

/// A chain whose slack is compared.
struct Compared {
    seed: u64,
    problem: Problem,
    chain: Chain,
    steps: Vec<Step>,
    position_mm: f64,
    angle_deg: f64,
}

impl Compared {
    fn wishes(&self, samples: usize, seed: u64) -> SlackWishes {
        let (position_mm, angle_deg) = (self.position_mm, self.angle_deg);
        SlackWishes { position_mm, angle_deg, samples, seed, ..SlackWishes::default() }
    }
}

fn compared() -> Vec<Compared> {
    let mut cases = Vec::new();
    for seed in 0.. {
        if cases.len() == CASES {
            break;
        }
        let planted = plant(9_000 + seed, 2 + (seed % 3) as usize, 5);
        let mut problem = planted.problem;
        let asked = pose(&problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
        let Some(chain) = best_chain(&asked, &problem) else { continue };
        let (steps, faults) =
            retrace(&problem, &chain).unwrap_or_else(|fault| panic!("seed {seed} cannot be retraced: {fault}"));
        assert!(faults.is_empty(), "seed {seed}: {faults:?}");
        if seed % 2 == 1 {
            stand_in_the_way(&mut problem, &steps);
        }
        let (position_mm, angle_deg) = [(0.5, 0.5), (0.2, 0.3), (0.3, 0.1)][cases.len() % 3];
        cases.push(Compared { seed, problem, chain, steps, position_mm, angle_deg });
    }
    cases
}

/// Both sides count builds, so what must hold is that their difference is no more than chance: the interval is that of
/// the difference of two countings, and taken so wide that all twenty lie inside it together with 95 %. It is the many
/// builds that make it narrow: about one and a half in 100 at the widest.
#[test]
fn shares_agree_with_builds_tried_by_other_means() {
    let cases = compared();
    let outcomes: Vec<(f64, f64, usize)> = cases
        .par_iter()
        .map(|case| {
            let found = slack_of(&case.problem, &case.chain, &case.wishes(BUILDS, case.seed + 1)).share.share;
            let tried = try_builds(&case.problem, &case.steps, case.position_mm, case.angle_deg, case.seed);
            // The true share is all but known: it serves to see how often the intervals of 1,000 builds hold it.
            let truth = f64::midpoint(found, tried);
            let holding = (0..INTERVALS).filter(|interval| {
                let wishes = case.wishes(1_000, 1_000 + case.seed * INTERVALS + interval);
                slack_of(&case.problem, &case.chain, &wishes).share.contains(truth)
            });
            (found, tried, holding.count())
        })
        .collect();
    let (mut inside, mut alone, mut holding, mut sum, mut variance) = (0, 0, 0, 0.0, 0.0);
    for (found, tried, intervals) in &outcomes {
        let deviation = deviation_of_difference(*found, *tried);
        let off = (found - tried).abs();
        inside += usize::from(off <= ALL_95 * deviation);
        alone += usize::from(off <= ONE_95 * deviation);
        holding += intervals;
        sum += found - tried;
        variance += deviation * deviation;
    }
    assert_eq!(inside, CASES, "{inside} of {CASES} differences inside the interval of them all: {outcomes:?}");
    // One by one, one of twenty is expected outside its own interval; four and more happen once in 60 times.
    assert!(alone >= CASES - 3, "{alone} of {CASES} inside the interval of each alone: {outcomes:?}");
    assert!(sum.abs() < 3.0 * variance.sqrt(), "all together off by {sum}: a bias");
    // 95 of 100 intervals of 1,000 builds hold the true share, give or take three and a half deviations.
    let all = 20.0 * f64::from(u32::try_from(CASES).expect("few"));
    let least = 0.95 * all - 3.5 * (0.95 * 0.05 * all).sqrt();
    let counted = f64::from(u32::try_from(holding).expect("few"));
    assert!(counted >= least, "only {holding} of {all} intervals hold the share; at least {least:.0} must");
}

/// The deviation of the difference of two shares of [`BUILDS`] each, of one true share; two hits and two misses are
/// added, so that it is never nothing.
fn deviation_of_difference(one: f64, other: f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "small counts")]
    let builds = BUILDS as f64;
    let share = ((one + other) * builds + 2.0) / (2.0 * builds + 4.0);
    (share * (1.0 - share) * 2.0 / builds).sqrt()
}

/// Puts a ball a little farther from the chain than it must be.
fn stand_in_the_way(problem: &mut Problem, steps: &[Step]) {
    let placed = problem.place(steps);
    let Some(first) = placed.first() else { return };
    let middle = (first.exit.at + problem.from.frame.at) / 2.0;
    let ahead = problem.from.frame.z();
    let aside = ahead.cross(&Vector3::new(0.3, 0.5, 0.8)).normalize();
    let (mut low, mut high) = (0.0, 200.0);
    for _ in 0..60 {
        let away = f64::midpoint(low, high);
        let shape = Shape::Sphere { diameter: 6.0 };
        let frame = Frame { at: middle + aside * away, ..Frame::world() };
        problem.obstacles = vec![Obstacle { name: "ball".to_owned(), shape, frame }];
        if least_clearance(problem, steps, "ball") < problem.clearance_mm + 0.15 { low = away } else { high = away }
    }
}

fn least_clearance(problem: &Problem, steps: &[Step], body: &str) -> f64 {
    let all = clearances(problem, steps, &problem.place(steps));
    all.iter().filter(|each| each.1 == body).map(|each| each.0).fold(f64::INFINITY, f64::min)
}

/// The share of builds that close and keep their clearance.
fn try_builds(problem: &Problem, steps: &[Step], position_mm: f64, angle_deg: f64, seed: u64) -> f64 {
    let mut rng = StdRng::seed_from_u64(seed);
    let good = (0..BUILDS)
        .filter(|_| {
            let mut build = problem.clone();
            for port in [&mut build.from, &mut build.to] {
                misplace(port, position_mm / 2.0, angle_deg.to_radians() / 2.0, &mut rng);
            }
            close(&build, steps).is_some_and(|steps| {
                let placed = build.place(&steps);
                clearances(&build, &steps, &placed).iter().all(|each| each.0 >= build.clearance_mm)
                    && self_overlap(&build, &steps, &placed, false).is_none()
            })
        })
        .count();
    #[expect(clippy::cast_precision_loss, reason = "small counts")]
    let share = good as f64 / BUILDS as f64;
    share
}

fn misplace(port: &mut Port, shift: f64, turn: f64, rng: &mut StdRng) {
    // Twelve evenly spread numbers added up are all but normal, with deviation 1.
    let mut normal = || (0..12).map(|_| rng.random::<f64>()).sum::<f64>() - 6.0;
    let mut vector = || Vector3::from_fn(|_, _| normal());
    port.frame.at += vector() * shift;
    port.frame.axes = Rotation3::from_scaled_axis(vector() * turn).matrix() * port.frame.axes;
}

/// What of a chain may be set: the turn of a bent part, the stretch of an adjustable one.
#[derive(Clone, Copy)]
enum Freedom {
    Turn(usize),
    Stretch(usize, f64),
}

/// Most freedoms of a chain of these tests.
const MOST: usize = 8;

/// A way to set the chain, near to how it was set, so that it closes, if there is one: the weight of place against
/// direction is halved in on until both are within.
fn close(problem: &Problem, steps: &[Step]) -> Option<Vec<Step>> {
    let freedoms: Vec<Freedom> = steps
        .iter()
        .enumerate()
        .flat_map(|(index, step)| {
            let def = &problem.fittings[step.part];
            let turn = is_bent(def).then_some(Freedom::Turn(index));
            turn.into_iter().chain(def.stretch_mm.map(|most| Freedom::Stretch(index, most)))
        })
        .collect();
    let (mut low, mut high) = (-6.0_f64, 6.0_f64);
    for _ in 0..16 {
        let weight = f64::midpoint(low, high);
        let (set, miss) = descend(problem, steps, &freedoms, weight.exp());
        if problem.closes(&miss) {
            return Some(set);
        }
        let (mm, deg) = (miss.mm / problem.closure_mm, miss.deg / problem.closure_deg);
        if mm > 1.0 && deg > 1.0 || weight == 0.0 && mm.hypot(deg) > SQRT_2 {
            return None;
        }
        if mm > 1.0 { low = weight } else { high = weight }
    }
    None
}

/// Damped least squares with numeric slopes.
fn descend(problem: &Problem, steps: &[Step], freedoms: &[Freedom], weight: f64) -> (Vec<Step>, Miss) {
    assert!(freedoms.len() <= MOST);
    let cost = |steps: &[Step]| {
        let end = problem.place(steps).last().map_or(problem.from.frame, |placed| placed.exit);
        let place = (end.at - problem.to.frame.at) * (weight / problem.closure_mm);
        let lean = (end.z() + problem.to.frame.z()) / problem.closure_deg.to_radians();
        SVector::<f64, 6>::new(place.x, place.y, place.z, lean.x, lean.y, lean.z)
    };
    let moved = |steps: &[Step], by: &dyn Fn(usize) -> f64| {
        let mut moved = steps.to_vec();
        for (slot, freedom) in freedoms.iter().enumerate() {
            match *freedom {
                Freedom::Turn(index) => moved[index].turn += by(slot),
                Freedom::Stretch(index, most) => {
                    moved[index].stretch = (moved[index].stretch + by(slot)).clamp(0.0, most);
                }
            }
        }
        moved
    };
    let mut here = steps.to_vec();
    let mut residual = cost(&here);
    let mut damping = 1e-3;
    for _ in 0..40 {
        let mut slopes = SMatrix::<f64, 6, MOST>::zeros();
        for slot in 0..freedoms.len() {
            let nudge = |size: f64| cost(&moved(&here, &|other| if other == slot { size } else { 0.0 }));
            slopes.set_column(slot, &((nudge(1e-5) - nudge(-1e-5)) / 2e-5));
        }
        let square = slopes.transpose() * slopes;
        let downhill = slopes.transpose() * residual;
        let before = residual.norm_squared();
        for _ in 0..10 {
            let mut damped = square;
            for slot in 0..MOST {
                damped[(slot, slot)] += damping * square[(slot, slot)] + 1e-9;
            }
            let Some(step) = damped.lu().solve(&downhill) else { break };
            let next = moved(&here, &|slot| -step[slot]);
            let next_residual = cost(&next);
            if next_residual.norm_squared() < before {
                (here, residual) = (next, next_residual);
                damping = f64::max(damping / 5.0, 1e-10);
                break;
            }
            damping *= 4.0;
        }
        if residual.norm_squared() > before * (1.0 - 1e-6) || residual.norm_squared() < 1e-12 {
            break;
        }
    }
    let miss = problem.miss(&here);
    (here, miss)
}

#[test]
fn limits_are_where_closing_ends() {
    let mut checked = 0;
    for seed in 0..12 {
        let planted = plant(9_500 + seed, 3, 5);
        let problem = planted.problem;
        let asked = pose(&problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
        let Some(chain) = best_chain(&asked, &problem) else { continue };
        let (steps, _) = retrace(&problem, &chain).unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
        let found = slack_of(&problem, &chain, &SlackWishes { samples: 1, ..SlackWishes::default() });
        for direction in &found.directions {
            for (mm, sign) in [(direction.ahead_mm, 1.0), (direction.back_mm, -1.0)] {
                let closes_at = |mm: f64| {
                    let mut moved = problem.clone();
                    moved.to.frame.at += Vector3::from(direction.towards) * (mm * sign);
                    close(&moved, &steps).is_some()
                };
                assert!(closes_at(mm * 0.98), "seed {seed}: {direction:?} is too wide");
                if mm < 1.0 {
                    assert!(!closes_at(mm * 1.02 + 0.005), "seed {seed}: {direction:?} is too narrow");
                }
                assert!(mm <= SEARCHED_MM);
                checked += 1;
            }
        }
    }
    assert!(checked >= 60, "only {checked} limits checked");
}

#[test]
fn a_port_out_of_place_brings_its_chain_along() {
    // A wall beside the chain, exactly as near as it may be. The chain goes with the first port, the wall stays: half
    // of that port's errors along x are towards it, whatever the second port does.
    let mut problem = gap_for(vec![link("l", ['m', 'm'], 20.0, 8.0)], &[step(0, 0.0, 4.0)], 1);
    problem.closure_mm = 2.0;
    let asked = pose(&problem).unwrap_or_else(|refusal| panic!("refused: {refusal}"));
    let chain = best_chain(&asked, &problem).unwrap_or_else(|| panic!("no chain"));
    let at = Vector3::new(SLEEVE_MM / 2.0 + problem.clearance_mm + 2.0, 0.0, 12.0);
    problem.obstacles = vec![Obstacle {
        name: "wall".to_owned(),
        shape: Shape::Box { size: [4.0, 60.0, 2.0] },
        frame: Frame { at, ..Frame::world() },
    }];
    let wishes = SlackWishes { position_mm: 0.4, angle_deg: 0.0, samples: MANY, ..SlackWishes::default() };
    let found = slack_of(&problem, &chain, &wishes);
    assert!(found.closing.share > 0.999, "{found:?}");
    let half = (found.share.high - found.share.low) / 2.0;
    assert!((found.share.share - 0.5).abs() < 1.5 * half, "{:?}", found.share);
}
