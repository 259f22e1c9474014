use super::{LONG, demo};
use crate::desk::{
    Desk, Stage, Staged,
    timeline::{Made, Timeline},
};
use elbowroom::{
    bridge::{Chain, MakeUp, Step, Turning},
    layout::Gap,
    report::{GapFacts, PartReport, order_of_work},
};
use nalgebra::{Isometry3, Point3};

/// A chain, what the solver says of it, and its time line.
struct Line {
    chain: Chain,
    make_up: MakeUp,
    facts: GapFacts,
    parts: Vec<PartReport>,
    timeline: Timeline,
}

impl Line {
    /// The same for a chain or an order of work that was changed since.
    fn again(&self, desk: &Desk, gap: &Gap) -> Timeline {
        let Self { chain, make_up, facts, parts, .. } = self;
        Timeline::of(desk.catalog(), desk.layout(), gap, &Made { chain, make_up, facts, parts })
    }
}

/// The stage of every chain of the demo's gaps, with its time line.
fn time_lines() -> Vec<Line> {
    let mut desk = demo();
    desk.solve();
    assert!(desk.wait(LONG));
    let mut found = Vec::new();
    for (index, gap) in desk.layout().gaps().iter().enumerate() {
        let Some(solved) = desk.solved(index) else { continue };
        let (facts, made) = (&solved.report.facts, solved.report.make_up.iter().zip(&solved.report.chains));
        for (chain, (make_up, parts)) in solved.ranked().iter().zip(made) {
            let made = Made { chain, make_up, facts, parts };
            let timeline = Timeline::of(desk.catalog(), desk.layout(), gap, &made);
            let (chain, make_up) = (chain.clone(), make_up.clone());
            found.push(Line { chain, make_up, facts: facts.clone(), parts: parts.clone(), timeline });
        }
    }
    assert!(found.len() >= 9);
    found
}

fn same(one: &Isometry3<f64>, other: &Isometry3<f64>) -> bool {
    (one.translation.vector - other.translation.vector).norm() < 1e-6 && one.rotation.angle_to(&other.rotation) < 1e-6
}

fn moved(one: &Staged, other: &Staged) -> f64 {
    // Of a point off the axis, so that turning counts as moving.
    let probe = Point3::new(5.0, 3.0, 2.0);
    (one.pose * probe - other.pose * probe).norm()
}

#[test]
fn every_chain_ends_where_the_solver_has_it_and_nothing_jumps() {
    let lines = time_lines();
    let mut kinds = std::collections::BTreeSet::new();
    for Line { chain, make_up, timeline, .. } in &lines {
        assert_eq!(timeline.is_proven(), make_up.verdict.can_be_made_up());
        for step in &make_up.steps {
            kinds.insert(match step {
                Step::Bench { .. } => "bench",
                Step::HoldBack { .. } => "hold back",
                Step::Open { .. } => "open",
                Step::Attach { .. } => "attach",
                Step::Close { .. } => "close",
            });
        }
        let end = timeline.at(timeline.seconds());
        let home = Stage::home(Some(chain));
        for (staged, home) in end.parts.iter().zip(&home.parts) {
            assert!(same(&staged.pose, &home.pose) && staged.shown, "{staged:?} against {home:?}");
            assert!((staged.stretch_mm - home.stretch_mm).abs() < 1e-9);
            assert_eq!(staged.collar_rad, [0.0; 2]);
        }
        assert!(end.held.is_empty());
        // From one moment to the next a part that is there moves by no more than a hand would, unless it comes.
        let moments = (timeline.seconds() / 0.01) as usize;
        let mut before = timeline.at(0.0);
        for moment in 1..=moments {
            let now = timeline.at(moment as f64 * 0.01);
            for (one, other) in before.parts.iter().zip(&now.parts).filter(|(one, _)| one.shown) {
                assert!(other.shown, "what is there stays there");
                let jump = moved(one, other);
                assert!(jump < 8.0, "part {} jumps by {jump} mm at {}: {:?}", one.part, now.caption, make_up.steps);
            }
            before = now;
        }
    }
    assert!(kinds.contains("attach") && kinds.contains("close"), "{kinds:?}");
}

#[test]
fn what_is_screwed_on_advances_by_a_pitch_for_each_turn() {
    let mut seen = 0;
    for Line { chain, make_up, timeline, .. } in &time_lines() {
        // The first step, where nothing else moves.
        let Some(Step::Attach { joint, parts, turning: Turning::All(turned), from_first: true, swung_deg, .. }) =
            make_up.steps.first()
        else {
            continue;
        };
        if *swung_deg != 0.0 || parts != turned {
            continue;
        }
        let facts = make_up.joints[*joint];
        let part = *parts.start();
        let stops = timeline.stops();
        let (start, end) = (stops[0], stops[1]);
        let at = |seconds: f64| timeline.at(seconds).parts[part].pose;
        // Between two moments within the thread.
        let moments: Vec<f64> = (0..200).map(|step| start + (end - start) * f64::from(step) / 200.0).collect();
        let mut threaded = 0.0;
        for pair in moments.windows(2) {
            let motion = at(pair[1]) * at(pair[0]).inverse();
            let turn = motion.rotation.angle();
            let axis = elbowroom::geometry::axis(&chain.parts[part].pose);
            if turn < 1e-9 {
                continue;
            }
            // A part built in the other way round looks back along the axis.
            let advance = (at(pair[1]).translation.vector - at(pair[0]).translation.vector).norm();
            // In the moment in which the thread takes hold the part has come straight for a while.
            let by_pitch = turn / std::f64::consts::TAU * facts.pitch_mm;
            assert!((advance - by_pitch).abs() < 1e-6 || threaded == 0.0 && advance > by_pitch, "{advance} for {turn}");
            let travel = at(pair[1]).translation.vector - at(pair[0]).translation.vector;
            let about = motion.rotation.axis().expect("it turns");
            assert!(about.dot(&travel) > 0.0, "a right-hand thread turns clockwise as it goes away");
            assert!(axis.cross(&about).norm() < 1e-6);
            threaded += turn;
        }
        let turns = threaded / std::f64::consts::TAU;
        assert!((turns - facts.turns).abs() < 0.2, "{turns} turns for {}", facts.turns);
        seen += 1;
    }
    assert!(seen > 0, "some first part of the demo is screwed on whole");
}

#[test]
fn a_component_that_is_offered_up_goes_back_and_comes_home_with_what_it_carries() {
    let mut line = time_lines().into_iter().find(|line| line.chain.parts.len() == 2).expect("a short chain");
    let chain = line.chain.clone();
    let desk = demo();
    let gap = desk
        .layout()
        .gaps()
        .iter()
        .find(|gap| desk.layout().port_by_id(gap.from).is_some_and(|port| starts_at(&chain, &port.pose)))
        .expect("its gap");
    let to = desk.layout().port_by_id(gap.to).expect("its second port");
    let component = desk.layout().body(to.body).expect("its component").name.clone();
    line.make_up.steps = vec![
        Step::HoldBack { component: component.clone(), direction: [0.0, 0.0, 1.0], distance_mm: 12.0 },
        Step::Attach { joint: 2, parts: 1..=1, from_first: false, turning: Turning::Collar(1), swung_deg: 0.0 },
        Step::Attach { joint: 0, parts: 0..=0, from_first: true, turning: Turning::Collar(0), swung_deg: 30.0 },
        Step::Close { joint: 1, turning: Turning::Collar(0), component: Some(component) },
    ];
    let timeline = line.again(&desk, gap);
    let stops = timeline.stops();
    assert_eq!(stops.len(), 6, "four steps, the finished chain, the end: {stops:?}");
    let closing = timeline.at(stops[3]);
    let held = closing.held.first().expect("it is held back");
    assert_eq!(held.body, to.body.index());
    assert!((held.by.translation.vector.z - 12.0).abs() < 1e-9);
    assert!(same(&closing.parts[1].pose, &(held.by * chain.parts[1].pose)), "it carries what is joined to it");
    assert!(same(&closing.parts[0].pose, &chain.parts[0].pose), "the other side stays");
    assert!(timeline.at(stops[4]).held.is_empty());
}

fn starts_at(chain: &Chain, port: &Isometry3<f64>) -> bool {
    let part = &chain.parts[0];
    part.entry == 0 && (part.pose.translation.vector - port.translation.vector).norm() < 1e-6
}

#[test]
fn without_an_order_of_work_the_parts_still_come_one_by_one() {
    let mut line = time_lines().remove(0);
    line.make_up.steps.clear();
    line.make_up.joints.clear();
    line.make_up.verdict = elbowroom::bridge::Verdict::NotModelled { why: "a test".to_owned() };
    let desk = demo();
    let gap = desk.layout().gaps()[0];
    let timeline = line.again(&desk, &gap);
    assert!(!timeline.is_proven() && timeline.seconds() > 0.0);
    let shown: Vec<usize> =
        timeline.stops().iter().map(|stop| timeline.at(*stop).parts.iter().filter(|part| part.shown).count()).collect();
    assert_eq!(shown.first(), Some(&1));
    assert_eq!(shown.last(), Some(&line.chain.parts.len()));
    assert!(timeline.at(0.0).caption.contains("not judged: a test"));
}

#[test]
fn a_chain_of_another_catalog_has_no_time_line() {
    let mut line = time_lines().remove(0);
    line.chain.parts[0].fitting = "no-such-part".to_owned();
    let desk = demo();
    let timeline = line.again(&desk, &desk.layout().gaps()[0]);
    assert_eq!(timeline.seconds(), 0.0);
    assert_eq!(timeline.at(3.0), Stage::default());
}

#[test]
fn captions_are_the_steps_that_the_command_line_prints() {
    let mut seen = 0;
    for line in time_lines().iter().filter(|line| line.timeline.is_proven()) {
        let work = order_of_work(&line.facts, &line.parts, &line.make_up);
        let stops = line.timeline.stops();
        let captions: Vec<String> = stops.iter().map(|stop| line.timeline.at(*stop).caption).collect();
        for step in &work {
            assert!(
                captions.iter().any(|caption| caption.starts_with(&step.action)),
                "{} in {captions:?}",
                step.action
            );
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}
