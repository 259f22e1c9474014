//! Whether chains can be made up: swept solids against turning by hand, and small layouts planted for each verdict.

use elbowroom::bridge::{
    Blocker, Chain, ChainPart, MakeUp, MakeUpWishes, Moving, SWEEP_ACCURACY_MM, Step as Work, Sweep, Verdict, Wishes,
    bridge, first_hit, make_up,
};
use elbowroom::catalog::{Catalog, FittingDef};
use elbowroom::geometry::{Facing, Pose, Shape, Solid, bent, separation, turned};
use elbowroom::layout::Layout;
use elbowroom_tests::ask::{Asked, layout_file, pose};
use elbowroom_tests::chain::{DISC_THICKNESS_MM, Obstacle, Problem, Step};
use elbowroom_tests::circuits::bare_chain;
use elbowroom_tests::frame::Frame;
use elbowroom_tests::parts::{bend, link, mating_port, straight};
use nalgebra::Vector3;
use rand::{Rng, SeedableRng, rngs::StdRng};
use serde::Deserialize;
use std::f64::consts::{PI, TAU};

/// Turning in half-degree steps and advancing in tenths of a millimetre with the exact distance can only find more
/// room than there is; the sweep must agree with it to the sweep's accuracy and what a step may hide.
#[test]
fn sweeps_agree_with_turning_by_half_degrees() {
    let mut rng = StdRng::seed_from_u64(7);
    let (mut hits, mut misses) = (0, 0);
    for case in 0..400 {
        let frame = any_pose(&mut rng, 5.0);
        let moving = any_round(&mut rng, 12.0);
        let fixed = any_solid(&mut rng, 30.0);
        let travel = [0.0, rng.random_range(0.5..5.0)];
        let half_circle = if case % 2 == 0 { PI } else { rng.random_range(0.1..PI) };
        let sweep = Sweep { frame, turn: [-half_circle, half_circle], travel };
        let need = rng.random_range(-0.5..2.0);
        let least = brute_least(&sweep, &moving, &fixed);
        // Half a step of turn at the farthest point, and half a step of travel.
        let radius = 45.0;
        let hidden = radius * 0.25_f64.to_radians() + 0.05;
        match first_hit(&sweep, &moving, &fixed, need).expect("a sound sweep") {
            Some(hit) => {
                hits += 1;
                let there = moving.moved(&sweep.motion(hit.turn, hit.travel));
                let exact = separation(&there, &fixed).signed_mm;
                assert!((exact - hit.signed_mm).abs() < 1e-3 || exact < 0.0, "case {case}: {hit:?} but {exact}");
                assert!(least - hidden < need, "case {case}: refused at {hit:?}, but least {least} for {need}");
                assert!(hit.signed_mm < need, "case {case}: refused although {hit:?} keeps {need}");
            }
            None => {
                misses += 1;
                assert!(least >= need - SWEEP_ACCURACY_MM - 1e-6, "case {case}: passed with {least} for {need}");
            }
        }
    }
    assert!(hits > 50 && misses > 50, "{hits} hits and {misses} misses: the cases are lopsided");
}

fn brute_least(sweep: &Sweep, moving: &Solid, fixed: &Solid) -> f64 {
    let steps = |range: [f64; 2], step: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
        let count = ((range[1] - range[0]) / step).ceil() as u32;
        (0..=count).map(move |index| range[0] + (range[1] - range[0]) * f64::from(index) / f64::from(count.max(1)))
    };
    steps(sweep.turn, 0.5_f64.to_radians())
        .flat_map(|turn| steps(sweep.travel, 0.1).map(move |travel| (turn, travel)))
        .map(|(turn, travel)| separation(&moving.moved(&sweep.motion(turn, travel)), fixed).signed_mm)
        .fold(f64::INFINITY, f64::min)
}

fn any_pose(rng: &mut StdRng, reach: f64) -> Pose {
    let mut along = || rng.random_range(-reach..reach);
    Pose::translation(along(), along(), along()) * turned(rng.random_range(0.0..TAU)) * bent(rng.random_range(0.0..PI))
}

fn any_round(rng: &mut StdRng, reach: f64) -> Solid {
    let (diameter, length) = (rng.random_range(4.0..16.0), rng.random_range(4.0..20.0));
    let shape = match rng.random_range(0..3) {
        0 => Shape::Sphere { diameter },
        1 => Shape::Capsule { diameter, length },
        _ => Shape::Cylinder { diameter, length },
    };
    Solid::new(&shape, any_pose(rng, reach)).expect("a legal solid")
}

fn any_solid(rng: &mut StdRng, reach: f64) -> Solid {
    if rng.random_bool(0.5) {
        return any_round(rng, reach);
    }
    let mut side = || rng.random_range(4.0..30.0);
    let shape = Shape::Box { size: [side(), side(), side()] };
    Solid::new(&shape, any_pose(rng, reach)).expect("a legal solid")
}

/// A small layout with a known verdict. Parts are those of `elbowroom_tests::parts`: thin sleeves, collars of 20 mm,
/// threads of 5 mm. The first port is at the origin and looks along `+z`; the chain is built from it and the second
/// port put where it ends.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    chain: Vec<Part>,
    #[serde(default)]
    obstacles: Vec<Body>,
    /// Room for a tool around collars; none demanded when left out.
    #[serde(default)]
    tool_mm: f64,
    /// Which is mounted on which: what is carried, and what carries it.
    #[serde(default)]
    mounted: Vec<(String, String)>,
    /// Both ports are on component `a`.
    #[serde(default)]
    one_component: bool,
    /// What is done to the chain so that it is outside the model.
    #[serde(default)]
    spoilt: Option<Spoilt>,
    verdict: String,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Spoilt {
    NoParts,
    WrongWayRound,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
enum Part {
    Straight { ends: String, length: f64 },
    Bend { ends: String, angle: f64, legs: [f64; 2], turn: f64 },
    Link { ends: String, length: f64, stretch: f64, drawn: f64 },
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Body {
    name: String,
    shape: Shape,
    at: [f64; 3],
}

#[test]
fn the_corpus_has_the_verdicts_it_plants() {
    let cases = corpus();
    assert!(cases.len() >= 50, "{} cases", cases.len());
    let mut wrong = Vec::new();
    for case in &cases {
        let (asked, chain) = plant(case);
        let found = make_up(&asked.catalog, &asked.layout, &asked.gap, &chain, &wishes(case))
            .unwrap_or_else(|bad| panic!("{}: {bad}", case.name));
        let said = words(&found);
        if said != case.verdict {
            wrong.push(format!("{}\n  planted {}\n  found   {said}\n", case.name, case.verdict));
        }
        orderly(case, &found);
    }
    assert!(wrong.is_empty(), "{} of {} cases:\n{}", wrong.len(), cases.len(), wrong.concat());
}

/// The table beside the corpus says what the corpus says; `UPDATE_CORPUS=1` renews it.
#[test]
fn the_table_of_the_corpus_is_up_to_date() {
    let mut table = String::from(TABLE_HEAD);
    for (index, case) in corpus().iter().enumerate() {
        let parts: Vec<String> = case.chain.iter().map(described).collect();
        let mut around: Vec<String> = case.obstacles.iter().map(|body| body.name.clone()).collect();
        if case.tool_mm > 0.0 {
            around.push(format!("{} mm for tools", case.tool_mm));
        }
        around.extend(case.mounted.iter().map(|(rider, carrier)| format!("{rider} mounted on {carrier}")));
        let around = if around.is_empty() { "-".to_owned() } else { around.join(", ") };
        table += &format!("| {} | {} | {} | {around} | {} |\n", index + 1, case.name, parts.join(", "), case.verdict);
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/data/make_up/README.md");
    if std::env::var_os("UPDATE_CORPUS").is_some() {
        std::fs::write(path, &table).expect("the table can be written");
    }
    let found = std::fs::read_to_string(path).unwrap_or_default();
    assert!(found == table, "the table is out of date; run the test once with UPDATE_CORPUS=1 and review the change");
}

const TABLE_HEAD: &str = "# What can be made up

Small layouts and the verdict that each was planted for, worked out by hand. The test `make_up` asserts verdict and
reason; the layouts stand in `cases.ron`. Ends are `m` male and `f` female, capital letters swivel; lengths in
millimetres, angles in degrees; parts and joints count from 0, joint 0 is at port a. Threads are 5 mm long and parts are
held 1 mm before them.

| # | case | chain | around it | verdict |
| --- | --- | --- | --- | --- |
";

fn described(part: &Part) -> String {
    match part {
        Part::Straight { ends, length } => format!("{ends} straight {length}"),
        Part::Bend { ends, angle, turn, .. } => format!("{ends} bend {angle} turned {turn}"),
        Part::Link { ends, drawn, stretch, .. } => format!("{ends} link drawn {drawn} of {stretch}"),
    }
}

/// Every chain that can be made up has each joint made exactly once, and nothing else has steps.
fn orderly(case: &Case, found: &MakeUp) {
    let mut made: Vec<usize> = found
        .steps
        .iter()
        .filter_map(|step| match step {
            Work::Bench { joint, .. } | Work::Attach { joint, .. } | Work::Close { joint, .. } => Some(*joint),
            Work::HoldBack { .. } | Work::Open { .. } => None,
        })
        .collect();
    made.sort_unstable();
    let expected: Vec<usize> =
        if found.verdict.can_be_made_up() { (0..=case.chain.len()).collect() } else { Vec::new() };
    assert_eq!(made, expected, "{}: {:?}", case.name, found.steps);
    assert!(found.joints.iter().all(|joint| (joint.turns * joint.pitch_mm - joint.travel_mm).abs() < 1e-9));
}

/// A verdict in the words of the corpus.
fn words(found: &MakeUp) -> String {
    let bench = found.steps.iter().filter(|step| matches!(step, Work::Bench { .. })).count();
    match &found.verdict {
        Verdict::MadeUpInPlace => {
            let swung =
                found.steps.iter().any(|step| matches!(step, Work::Attach { swung_deg, .. } if *swung_deg != 0.0));
            let opened = found.steps.iter().find_map(|step| match step {
                Work::Open { links, swivels, .. } => Some((links.len(), swivels.len())),
                _ => None,
            });
            let (links, swivels) = opened.expect("a chain made up in place is opened");
            let mut text = format!("in place, {links} links and {swivels} swivels give way");
            if bench > 0 {
                text += &format!(", {bench} joints on the bench");
            }
            if swung {
                text += ", swung in";
            }
            text
        }
        Verdict::OfferedUp { component, direction, distance_mm } => {
            let [x, y, z] = direction.map(|along| along.round() + 0.0);
            let mut text = format!("{component} offered up along {x} {y} {z} by {distance_mm:.1}");
            if !found.carried.is_empty() {
                text += &format!(" with {}", found.carried.join(" and "));
            }
            if bench > 0 {
                text += &format!(", {bench} joints on the bench");
            }
            text
        }
        Verdict::CannotBeMadeUp { joint, blocker } => format!("joint {joint}: {}", reason(blocker)),
        Verdict::NotModelled { why } => format!("not modelled: {why}"),
    }
}

fn reason(blocker: &Blocker) -> String {
    match blocker {
        Blocker::NothingTurns => "nothing turns".to_owned(),
        Blocker::NoAxialRoom { needed_mm, found_mm } => format!("opens {found_mm:.1} of {needed_mm:.1}"),
        Blocker::InTheWay { moving, body, .. } => match moving {
            Moving::Turned(part) => format!("{body} stops part {part} turning"),
            Moving::Shifted(part) => format!("{body} stops part {part} moving"),
            Moving::Component(name) => format!("{body} stops {name}"),
            Moving::Carried { rider, component } => format!("{body} stops {rider} on {component}"),
        },
        Blocker::Joined { component, by } => format!("{by} holds {component}"),
        Blocker::NoToolRoom { body, needed_mm } => format!("{body} leaves no {needed_mm:.1} for a tool"),
    }
}

fn wishes(case: &Case) -> MakeUpWishes {
    MakeUpWishes { tool_mm: Some(case.tool_mm), ..MakeUpWishes::default() }
}

fn corpus() -> Vec<Case> {
    let options = ron::Options::default();
    options.from_str(include_str!("../data/make_up/cases.ron")).unwrap_or_else(|error| panic!("{error}"))
}

fn plant(case: &Case) -> (Asked, Chain) {
    let (mut fittings, mut steps) = (Vec::new(), Vec::new());
    for (index, part) in case.chain.iter().enumerate() {
        let id = format!("p{index}");
        let (def, turn, stretch) = invented(&id, part);
        fittings.push(def);
        steps.push(Step { part: index, entry: 0, turn: turn.to_radians(), stretch });
    }
    // Also chains that a search would not offer, for want of a swivel: the reason for that is planted too.
    let from = mating_port(&fittings[0].ends[0], Frame::looking(Vector3::zeros(), Vector3::z(), 0.0));
    let last = fittings.last().map(|def| def.ends[1].clone()).expect("a case has parts");
    let mut problem = Problem {
        max_parts: steps.len(),
        fittings,
        to: from.clone(),
        from,
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
    };
    let exit = problem.place(&steps).last().map(|placed| placed.exit).expect("a case has parts");
    problem.to = mating_port(&last, exit.facing());
    problem.obstacles = case
        .obstacles
        .iter()
        .map(|body| Obstacle {
            name: body.name.clone(),
            shape: body.shape.clone(),
            frame: Frame { at: Vector3::from(body.at), ..Frame::world() },
        })
        .collect();
    let placed = problem.place(&steps);
    let asked = if case.one_component { in_one(&problem) } else { mounted(&problem, &case.mounted) };
    let asked = asked.unwrap_or_else(|refusal| panic!("{}: {refusal}", case.name));
    let parts = steps.iter().zip(&placed).map(|(step, placed)| ChainPart {
        fitting: problem.fittings[step.part].id.clone(),
        entry: step.entry,
        pose: placed.pose.pose(),
        stretch_mm: step.stretch,
        turn_deg: (!problem.fittings[step.part].bends.is_empty()).then(|| step.turn.to_degrees()),
    });
    let mut parts: Vec<ChainPart> = parts.collect();
    match case.spoilt {
        None => {}
        Some(Spoilt::NoParts) => parts.clear(),
        Some(Spoilt::WrongWayRound) => parts[0].entry = 1,
    }
    (asked, bare_chain(parts))
}

/// The problem with some components mounted on others.
fn mounted(problem: &Problem, pairs: &[(String, String)]) -> Result<Asked, String> {
    let asked = pose(problem)?;
    let mut file = layout_file(problem);
    for (rider, carrier) in pairs {
        let placed = file.components.iter_mut().find(|placed| placed.name == *rider).expect("a component of the case");
        placed.mounted_on = Some(carrier.clone());
    }
    let layout = Layout::from_file(&file, &asked.catalog).map_err(|refusal| format!("{refusal:?}"))?;
    Ok(Asked { layout, ..asked })
}

/// The same problem with the second port on the first component.
fn in_one(problem: &Problem) -> Result<Asked, String> {
    let asked = pose(problem)?;
    let mut file = layout_file(problem);
    let mut second = file.components.remove(1);
    let first = &mut file.components[0];
    // What is the second's own must be written in the first one's frame.
    let (home, there) = (problem.from.frame, problem.to.frame);
    let at = |away_mm: f64| home.axes.transpose() * (there.at + there.z() * away_mm - home.at);
    let towards = home.axes.transpose() * there.z();
    let facing: Facing = format!("{:?} {:?} {:?}", towards.x, towards.y, towards.z).parse().expect("a direction");
    let mut port = second.ports.remove(0);
    (port.name, port.at, port.facing) = ("q".to_owned(), at(0.0).into(), facing.clone());
    first.ports.push(port);
    let mut disc = second.solids.remove(0);
    (disc.at, disc.facing) = (at(-DISC_THICKNESS_MM / 2.0).into(), facing);
    first.solids.push(disc);
    let layout = Layout::from_file(&file, &asked.catalog).map_err(|refusal| format!("{refusal:?}"))?;
    let gap = layout.gap("a.p", "a.q").map_err(|refusal| format!("{refusal:?}"))?;
    Ok(Asked { layout, gap, ..asked })
}

fn invented(id: &str, part: &Part) -> (FittingDef, f64, f64) {
    let both = |ends: &str| -> [char; 2] {
        let ends: Vec<char> = ends.chars().collect();
        ends.try_into().unwrap_or_else(|ends| panic!("{id}: expected two ends, found {ends:?}"))
    };
    match part {
        Part::Straight { ends, length } => (straight(id, both(ends), *length), 0.0, 0.0),
        Part::Bend { ends, angle, legs, turn } => (bend(id, both(ends), *angle, *legs), *turn, 0.0),
        Part::Link { ends, length, stretch, drawn } => (link(id, both(ends), *length, *stretch), 0.0, *drawn),
    }
}

/// The demo: every verdict comes with a reason, and some chains of it can be made up.
#[test]
fn the_demo_is_judged() {
    let catalog = Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"));
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let (mut possible, mut judged) = (0, 0);
    for gap in layout.gaps() {
        let answer = bridge(&catalog, &layout, gap, &Wishes { max_parts: 3, want: 20, ..Wishes::default() })
            .expect("sound wishes");
        for chain in &answer.chains {
            let found =
                make_up(&catalog, &layout, gap, chain, &MakeUpWishes::default()).expect("a chain that was found");
            assert_eq!(found.steps.is_empty(), !found.verdict.can_be_made_up(), "{:?}", found.verdict);
            if matches!(found.verdict, Verdict::NotModelled { .. }) {
                assert!(chain.parts.is_empty(), "{:?}", found.verdict);
            }
            judged += 1;
            possible += usize::from(found.verdict.can_be_made_up());
        }
    }
    assert!(judged > 40, "{judged} chains judged");
    assert!(possible > 10, "{possible} of {judged} can be made up");
}

/// A link that comes to its stop a little early leaves the two sides as far apart as it was pushed in, not as far as was
/// asked: 5 mm for the thread and 1 mm before it.
#[test]
fn an_opening_is_as_wide_as_its_link_makes_it() {
    for (drawn, apart) in [(8.0, 6.0), (5.8, 5.8)] {
        let text = format!(
            r#"(name: "U", chain: [bend(ends: "Mf", angle: 90, legs: (20, 20), turn: 0),
            link(ends: "MM", length: 12, stretch: 14, drawn: {drawn}),
            bend(ends: "fM", angle: 90, legs: (20, 20), turn: 0)], one_component: true, verdict: "")"#
        );
        let case: Case = ron::Options::default().from_str(&text).unwrap_or_else(|error| panic!("{error}"));
        let (asked, chain) = plant(&case);
        let found = make_up(&asked.catalog, &asked.layout, &asked.gap, &chain, &wishes(&case)).unwrap();
        let opened = found.steps.iter().find_map(|step| match step {
            Work::Open { opening_mm, links, .. } => Some((*opening_mm, drawn - links.first()?.1)),
            _ => None,
        });
        let (opening_mm, pushed_in) = opened.unwrap_or_else(|| panic!("drawn {drawn}: {:?}", found.verdict));
        assert!((pushed_in - apart).abs() < 1e-3, "drawn {drawn}: pushed in by {pushed_in}");
        assert!((opening_mm - apart).abs() < 1e-3, "drawn {drawn}: {opening_mm} apart");
    }
}

/// In motion, each step starts where the one before ended, parts only ever appear, and the last one ends at home.
#[test]
fn an_order_of_work_can_be_shown_in_motion() {
    let (mut shown, mut swung_in, mut turned_whole) = (0, 0, 0);
    for case in &corpus() {
        let (asked, chain) = plant(case);
        let found = make_up(&asked.catalog, &asked.layout, &asked.gap, &chain, &wishes(case))
            .unwrap_or_else(|bad| panic!("{}: {bad}", case.name));
        if !found.verdict.can_be_made_up() {
            assert!(found.standing(&chain, 0, 0.5).is_none(), "{}", case.name);
            continue;
        }
        shown += 1;
        let mut before: Option<elbowroom::bridge::Standing> = None;
        for (index, step) in found.steps.iter().enumerate() {
            let at = |progress| found.standing(&chain, index, progress).expect("a step of this chain");
            let (start, end) = (at(0.0), at(1.0));
            for (part, there) in start.parts.iter().enumerate() {
                let Some(earlier) = before.as_ref().and_then(|before| before.parts[part]) else { continue };
                let there = there.unwrap_or_else(|| panic!("{}: part {part} vanishes at step {index}", case.name));
                let moves = match step {
                    Work::Bench { parts, .. } | Work::Attach { parts, .. } => parts.contains(&part),
                    Work::Open { .. } | Work::HoldBack { .. } | Work::Close { .. } => false,
                };
                // What goes on comes from elsewhere, and full turns may be left to do.
                let near = (there.pose.translation.vector - earlier.pose.translation.vector).norm();
                assert!(moves || near < 1e-6, "{}: part {part} jumps by {near} at step {index}", case.name);
            }
            if let Work::Attach { joint, parts, swung_deg, turning, .. } = step {
                let facts = &found.joints[*joint];
                let ends = found.steps.get(index + 1).map(|_| end.parts[*parts.start()].expect("it is on").pose);
                let begins = start.parts[*parts.start()].expect("it goes on").pose;
                let way = facts.travel_mm + found.approach_mm;
                if let Some(ends) = ends.filter(|_| *swung_deg == 0.0) {
                    let lead = begins.translation.vector - ends.translation.vector;
                    if matches!(turning, elbowroom::bridge::Turning::Collar(_)) {
                        assert!((lead.norm() - way).abs() < 1e-6, "{}: {lead} for {way}", case.name);
                        assert!(begins.rotation.angle_to(&ends.rotation) < 1e-9, "{}", case.name);
                    } else {
                        turned_whole += 1;
                    }
                }
                swung_in += usize::from(*swung_deg != 0.0);
            }
            before = Some(end);
        }
        let last = before.expect("steps");
        for (there, home) in last.parts.iter().zip(&chain.parts) {
            let there = there.expect("all parts are on");
            let off = (there.pose.translation.vector - home.pose.translation.vector).norm();
            assert!(off < 1e-9 && there.pose.rotation.angle_to(&home.pose.rotation) < 1e-9, "{}: {off}", case.name);
            assert!((there.stretch_mm - home.stretch_mm).abs() < 1e-12 && !there.on_bench, "{}", case.name);
        }
        assert!(last.components.iter().all(|moved| moved.translation.vector.norm() < 1e-12), "{}", case.name);
        assert!(found.standing(&chain, found.steps.len(), 0.0).is_none());
    }
    assert!(shown > 25 && swung_in > 0 && turned_whole > 3, "{shown} shown, {swung_in} swung, {turned_whole} turned");
}
