//! Questions that make no sense are refused by whoever is asked: no number that is none, or outside its range, reaches a
//! verdict, wherever the question was put together.

use elbowroom::bridge::{
    Answer, BadWish, CLEARANCES_MM, Chain, FLOWS_L_MIN, MOST_PARTS, MOST_WANTED, MakeUpWishes, NearMissWishes,
    SlackWishes, Sweep, Wishes, bridge, choose_together, first_hit, made_up_first, make_up, near_misses, slack,
    together,
};
use elbowroom::catalog::Catalog;
use elbowroom::circuit::Circuit;
use elbowroom::geometry::{Pose, Scene, Shape, Solid, SolidId, closer_than, separation_within};
use elbowroom::layout::{BodyId, Gap, Layout, Move};
use elbowroom::report::side_by_side;
use elbowroom::survey::{LossFlows, judged};
use nalgebra::{Quaternion, UnitQuaternion};
use std::fmt::Debug;

/// What is in no range.
const NO_NUMBERS: [f64; 3] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];

/// The demo, and the gap between its reservoir and its pump.
struct Demo {
    catalog: Catalog,
    layout: Layout,
    gap: Gap,
}

impl Demo {
    fn new() -> Self {
        let catalog = Catalog::builtin();
        let (name, text) = elbowroom_catalog::DEMO;
        let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
        let gap = layout.gap("reservoir.outlet", "pump.inlet").expect("a gap of the demo");
        Self { catalog, layout, gap }
    }

    fn answer(&self) -> Answer {
        let wishes = Wishes { max_parts: 3, want: 3, ..Wishes::default() };
        bridge(&self.catalog, &self.layout, &self.gap, &wishes).expect("sound wishes")
    }

    fn bridge(&self, wishes: &Wishes<'_>) -> Result<Answer, BadWish> {
        bridge(&self.catalog, &self.layout, &self.gap, wishes)
    }
}

/// Whether `outcome` is a refusal of `field` that says what was found, what was expected and what to do.
fn refuses<T: Debug>(outcome: Result<T, BadWish>, field: &str, found: &str) {
    let bad = match outcome {
        Err(bad) => bad,
        Ok(taken) => panic!("{field} = {found} is taken: {taken:?}"),
    };
    let named = match &bad {
        BadWish::Number { field, .. } | BadWish::Count { field, .. } | BadWish::Item { field, .. } => field,
        other => panic!("{other}"),
    };
    assert_eq!(named, field, "{bad}");
    let words = bad.to_string();
    let (said, remedy) = words.rsplit_once("; ").expect("a remedy");
    assert!(said.contains("expected") && said.contains(&format!("found {found}")) && remedy.len() > 10, "{words}");
}

#[test]
fn wishes_of_a_search() {
    let demo = Demo::new();
    let refuses = |wishes: Wishes<'_>, field: &str, found: &str| {
        refuses(wishes.check(), field, found);
        refuses(demo.bridge(&wishes), field, found);
        refuses(LossFlows::operating(&demo.catalog, &demo.layout, &wishes), field, found);
        let few = NearMissWishes::default();
        let near = NearMissWishes {
            max_parts: wishes.max_parts,
            want: wishes.want,
            clearance_mm: wishes.clearance_mm,
            flow_l_min: wishes.flow_l_min,
            ..few
        };
        refuses(near_misses(&demo.catalog, &demo.layout, &demo.gap, &near), field, found);
    };
    let usual = Wishes { max_parts: 2, want: 1, ..Wishes::default() };
    for bad in NO_NUMBERS.into_iter().chain([-0.001, 100.001, 1e300]) {
        refuses(Wishes { clearance_mm: Some(bad), ..usual }, "clearance_mm", &shown(bad));
    }
    for bad in NO_NUMBERS.into_iter().chain([-4.0, 0.0, 0.009, 1_000.1]) {
        refuses(Wishes { flow_l_min: Some(bad), ..usual }, "flow_l_min", &shown(bad));
    }
    for bad in [0, MOST_PARTS + 1, usize::MAX] {
        refuses(Wishes { max_parts: bad, ..usual }, "max_parts", &bad.to_string());
    }
    for bad in [0, MOST_WANTED + 1, usize::MAX] {
        refuses(Wishes { want: bad, ..usual }, "want", &bad.to_string());
    }
    // The ends of the ranges are in them.
    for good in [CLEARANCES_MM.start(), CLEARANCES_MM.end()] {
        demo.bridge(&Wishes { clearance_mm: Some(*good), ..usual }).expect("a clearance in its range");
    }
    for good in [FLOWS_L_MIN.start(), FLOWS_L_MIN.end()] {
        let answer = demo.bridge(&Wishes { flow_l_min: Some(*good), ..usual }).expect("a flow in its range");
        assert!(answer.chains.iter().all(|chain| chain.loss_kpa.is_finite()), "{answer:?}");
    }
}

/// A number as messages show it.
fn shown(number: f64) -> String {
    if number.is_finite() && number.abs() >= 1e12 { format!("{number:e}") } else { number.to_string() }
}

#[test]
fn wishes_of_slack() {
    let demo = Demo::new();
    let chain = &demo.answer().chains[0];
    let refuses = |wishes: SlackWishes, field: &str, found: &str| {
        refuses(wishes.check(), field, found);
        refuses(slack(&demo.catalog, &demo.layout, &demo.gap, chain, &wishes), field, found);
    };
    let usual = SlackWishes { samples: 10, ..SlackWishes::default() };
    for bad in NO_NUMBERS.into_iter().chain([-0.5, 101.0]) {
        refuses(SlackWishes { position_mm: bad, ..usual }, "position_mm", &shown(bad));
        refuses(SlackWishes { angle_deg: bad, ..usual }, "angle_deg", &shown(bad));
        refuses(SlackWishes { clearance_mm: Some(bad), ..usual }, "clearance_mm", &shown(bad));
    }
    refuses(SlackWishes { angle_deg: 45.5, ..usual }, "angle_deg", "45.5");
    for bad in [0, 1_000_001] {
        refuses(SlackWishes { samples: bad, ..usual }, "samples", &bad.to_string());
    }
    let exact = SlackWishes { position_mm: 0.0, angle_deg: 0.0, samples: 1, ..usual };
    let slack = slack(&demo.catalog, &demo.layout, &demo.gap, chain, &exact).expect("wishes in their ranges");
    assert!((slack.share.share - 1.0).abs() < f64::EPSILON, "as drawn the chain closes: {slack:?}");
}

#[test]
fn wishes_of_making_up() {
    let demo = Demo::new();
    let mut answer = demo.answer();
    let chain = answer.chains[0].clone();
    let before = answer.clone();
    let mut refuses = |wishes: MakeUpWishes, field: &str, found: &str| {
        refuses(wishes.check(), field, found);
        refuses(make_up(&demo.catalog, &demo.layout, &demo.gap, &chain, &wishes), field, found);
        let first = made_up_first(&demo.catalog, &demo.layout, &demo.gap, &mut answer, &wishes);
        refuses(first, field, found);
        assert_eq!(answer, before, "an answer that is not judged stays as it is");
        let search = |_| Ok(before.clone());
        refuses(judged(&demo.catalog, &demo.layout, &demo.gap, &wishes, 1, search), field, found);
    };
    let usual = MakeUpWishes::default();
    for bad in NO_NUMBERS.into_iter().chain([-1.0, 200.0]) {
        let found = shown(bad);
        refuses(MakeUpWishes { clearance_mm: Some(bad), ..usual }, "clearance_mm", &found);
        refuses(MakeUpWishes { tool_mm: Some(bad), ..usual }, "tool_mm", &found);
        refuses(MakeUpWishes { tool_arc_deg: Some(bad), ..usual }, "tool_arc_deg", &found);
        refuses(MakeUpWishes { collar_length_mm: bad, ..usual }, "collar_length_mm", &found);
        refuses(MakeUpWishes { approach_mm: bad, ..usual }, "approach_mm", &found);
    }
    refuses(MakeUpWishes { tool_arc_deg: Some(4.9), ..usual }, "tool_arc_deg", "4.9");
    refuses(MakeUpWishes { collar_length_mm: 0.0, ..usual }, "collar_length_mm", "0");
}

#[test]
fn wishes_of_near_misses() {
    let demo = Demo::new();
    let refuses = |wishes: NearMissWishes, field: &str, found: &str| {
        refuses(wishes.check(), field, found);
        refuses(near_misses(&demo.catalog, &demo.layout, &demo.gap, &wishes), field, found);
    };
    for bad in NO_NUMBERS.into_iter().chain([-5.0, 1_000.1]) {
        refuses(NearMissWishes { reach_mm: bad, ..NearMissWishes::default() }, "reach_mm", &shown(bad));
        refuses(NearMissWishes { far_mm: bad, ..NearMissWishes::default() }, "far_mm", &shown(bad));
    }
}

#[test]
fn wishes_of_several_gaps_and_of_a_circuit() {
    let demo = Demo::new();
    let chains = demo.answer().chains;
    for bad in NO_NUMBERS.into_iter().chain([-1.0, 101.0]) {
        let found = shown(bad);
        refuses(together(&demo.catalog, &[&chains, &chains], bad), "clearance_mm", &found);
        let mut lists = [chains.clone(), chains.clone()];
        refuses(choose_together(&demo.catalog, &mut lists, bad, 5, |_, _| None), "clearance_mm", &found);
    }
    for bad in NO_NUMBERS.into_iter().chain([-1.0, 0.0, 1_001.0]) {
        refuses(LossFlows::asked(bad), "flow_l_min", &shown(bad));
    }
    // What is refused while searching again comes out, and is not taken for the end of the list.
    let report = || {
        let answer = demo.answer();
        elbowroom::report::GapReport::new(&demo.catalog, &demo.layout, demo.gap, answer).expect("they belong together")
    };
    let mut reports = [report(), report()];
    let again = |_, _| demo.bridge(&Wishes { want: 0, ..Wishes::default() }).map(|_| None);
    let refused = side_by_side(&demo.catalog, &mut reports, 1.0, 1, again);
    refuses(refused, "want", "0");
}

/// A number of a chain by its place.
type Figure = (&'static str, fn(&mut Chain) -> &mut f64);

/// Every number of a chain.
const FIGURES: [Figure; 18] = [
    ("chain.residual_mm", |chain| &mut chain.residual_mm),
    ("chain.residual_deg", |chain| &mut chain.residual_deg),
    ("chain.residual_vector_mm[0]", |chain| &mut chain.residual_vector_mm[0]),
    ("chain.residual_vector_mm[2]", |chain| &mut chain.residual_vector_mm[2]),
    ("chain.loss_kpa", |chain| &mut chain.loss_kpa),
    ("chain.length_mm", |chain| &mut chain.length_mm),
    ("chain.price", |chain| chain.price.get_or_insert(0.0)),
    ("chain.clearance.mm", |chain| &mut clearance(chain).mm),
    ("chain.clearance.on_chain[1]", |chain| &mut clearance(chain).on_chain[1]),
    ("chain.clearance.on_body[0]", |chain| &mut clearance(chain).on_body[0]),
    ("chain.parts[0].stretch_mm", |chain| &mut chain.parts[0].stretch_mm),
    ("chain.parts[1].stretch_mm", |chain| &mut chain.parts[1].stretch_mm),
    ("chain.parts[0].turn_deg", |chain| chain.parts[0].turn_deg.get_or_insert(0.0)),
    ("chain.parts[1].turn_deg", |chain| chain.parts[1].turn_deg.get_or_insert(0.0)),
    ("chain.parts[0].pose.translation[0]", |chain| &mut chain.parts[0].pose.translation.vector.x),
    ("chain.parts[0].pose.translation[1]", |chain| &mut chain.parts[0].pose.translation.vector.y),
    ("chain.parts[1].pose.translation[1]", |chain| &mut chain.parts[1].pose.translation.vector.y),
    ("chain.parts[1].pose.translation[2]", |chain| &mut chain.parts[1].pose.translation.vector.z),
];

fn clearance(chain: &mut Chain) -> &mut elbowroom::bridge::Clearance {
    chain.clearance.as_mut().expect("the chain has a neighbour")
}

/// Everything that takes a chain refuses it.
fn all_refuse(demo: &Demo, chain: &Chain, field: &str, found: &str) {
    let Demo { catalog, layout, gap } = demo;
    refuses(chain.check(catalog), field, found);
    let wishes = SlackWishes { samples: 10, ..SlackWishes::default() };
    let turned = Gap { from: gap.to, to: gap.from };
    for gap in [gap, &turned] {
        refuses(slack(catalog, layout, gap, chain, &wishes), field, found);
        refuses(make_up(catalog, layout, gap, chain, &MakeUpWishes::default()), field, found);
    }
    let mut answer = Answer { chains: vec![chain.clone()], ..demo.answer() };
    refuses(made_up_first(catalog, layout, gap, &mut answer, &MakeUpWishes::default()), field, found);
    let list = [chain.clone()];
    refuses(together(catalog, &[&list], 1.0), field, found);
    refuses(choose_together(catalog, &mut [list.to_vec()], 1.0, 5, |_, _| None), field, found);
    let chains: Vec<Option<&Chain>> = layout.gaps().iter().map(|_| Some(chain)).collect();
    let fault = Circuit::new(layout, catalog, &chains).map(|_| ()).expect_err("no circuit of it");
    assert!(fault.place == "gaps[0]" && fault.message.contains(field), "{fault}");
}

#[test]
fn chains_put_together_by_a_program() {
    let demo = Demo::new();
    let sound = demo.answer().chains.into_iter().find(|chain| chain.parts.len() > 1).expect("a chain of two parts");
    sound.check(&demo.catalog).expect("what was found is sound");
    for (field, of) in FIGURES {
        for bad in NO_NUMBERS.into_iter().chain([-2e5, 1e13]) {
            let mut chain = sound.clone();
            *of(&mut chain) = bad;
            all_refuse(&demo, &chain, field, &shown(bad));
        }
    }
}

#[test]
fn chains_that_are_none() {
    let demo = Demo::new();
    let sound = demo.answer().chains.into_iter().find(|chain| chain.parts.len() > 1).expect("a chain of two parts");
    let with = |change: &dyn Fn(&mut Chain)| {
        let mut chain = sound.clone();
        change(&mut chain);
        chain
    };
    let no_entry = with(&|chain| chain.parts[1].entry = 2);
    all_refuse(&demo, &no_entry, "chain.parts[1].entry", "2");
    let unknown = with(&|chain| chain.parts[0].fitting = "unheard-of".to_owned());
    all_refuse(&demo, &unknown, "chain.parts[0].fitting", "`unheard-of`");
    let tee = demo.catalog.fittings().iter().find(|fitting| fitting.ends.len() == 3).expect("a tee is built in");
    let no_link = with(&|chain| chain.parts[0].fitting.clone_from(&tee.id));
    all_refuse(&demo, &no_link, "chain.parts[0].fitting", &format!("`{}`", tee.id));
    let bend = sound.parts.iter().position(|part| part.turn_deg.is_some()).expect("the demo's ports do not face");
    let aimless = with(&|chain| chain.parts[bend].turn_deg = None);
    all_refuse(&demo, &aimless, &format!("chain.parts[{bend}].turn_deg"), "none");
    let long = with(&|chain| chain.parts = vec![sound.parts[0].clone(); MOST_PARTS + 1]);
    all_refuse(&demo, &long, "chain.parts.len()", &(MOST_PARTS + 1).to_string());
    let drawn = with(&|chain| chain.parts[0].stretch_mm = 60.0);
    all_refuse(&demo, &drawn, "chain.parts[0].stretch_mm", "60");
    let nowhere = with(&|chain| clearance(chain).part = 2);
    all_refuse(&demo, &nowhere, "chain.clearance.part", "2");
    for quaternion in [Quaternion::new(f64::NAN, 0.0, 0.0, 0.0), Quaternion::new(2.0, 0.0, 0.0, 0.0)] {
        let bent = with(&|chain| chain.parts[1].pose.rotation = UnitQuaternion::new_unchecked(quaternion));
        all_refuse(&demo, &bent, "chain.parts[1].pose.rotation", "a quaternion of length");
    }
}

#[test]
fn gaps_of_another_layout() {
    let demo = Demo::new();
    let chain = &demo.answer().chains[0];
    let small =
        "(version: 1, name: \"Small\", components: [(name: \"one\", template: \"pump-compact\", at: (0, 0, 0))])";
    let small = Layout::parse(small, "small.ron", &demo.catalog).expect("a sound layout");
    let alone = small.port_id("one.inlet").expect("a pump has an inlet");
    let cases = [(demo.gap, "a port of another layout"), (Gap { from: alone, to: alone }, "`one.inlet` twice")];
    for (gap, found) in cases {
        let wishes = Wishes { max_parts: 2, want: 1, ..Wishes::default() };
        refuses(bridge(&demo.catalog, &small, &gap, &wishes), "gap", found);
        refuses(near_misses(&demo.catalog, &small, &gap, &NearMissWishes::default()), "gap", found);
        refuses(slack(&demo.catalog, &small, &gap, chain, &SlackWishes::default()), "gap", found);
        refuses(make_up(&demo.catalog, &small, &gap, chain, &MakeUpWishes::default()), "gap", found);
        let mut answer = demo.answer();
        refuses(made_up_first(&demo.catalog, &small, &gap, &mut answer, &MakeUpWishes::default()), "gap", found);
    }
}

#[test]
fn sweeps() {
    let ball = Solid::new(&Shape::Sphere { diameter: 10.0 }, Pose::translation(30.0, 0.0, 0.0)).expect("a ball");
    let block = Solid::new(&Shape::Box { size: [5.0; 3] }, Pose::translation(-30.0, 0.0, 0.0)).expect("a block");
    let sound = Sweep { frame: Pose::identity(), turn: [0.0, 6.3], travel: [0.0, 1.0] };
    assert!(first_hit(&sound, &ball, &block, 1.0).expect("a sound sweep").is_some(), "the ball goes all the way round");
    let refuses = |sweep: Sweep, need_mm: f64, field: &str, found: &str| {
        refuses(first_hit(&sweep, &ball, &block, need_mm), field, found);
    };
    for bad in NO_NUMBERS.into_iter().chain([1e9]) {
        let found = shown(bad);
        refuses(sound, bad, "need_mm", &found);
        refuses(Sweep { turn: [bad, 1.0], ..sound }, 1.0, "sweep.turn[0]", &found);
        refuses(Sweep { turn: [0.0, bad], ..sound }, 1.0, "sweep.turn[1]", &found);
        refuses(Sweep { travel: [bad, 1.0], ..sound }, 1.0, "sweep.travel[0]", &found);
        refuses(Sweep { travel: [0.0, bad], ..sound }, 1.0, "sweep.travel[1]", &found);
        let frame = Pose::translation(0.0, bad, 0.0);
        refuses(Sweep { frame, ..sound }, 1.0, "sweep.frame.translation[1]", &found);
    }
    refuses(Sweep { turn: [1.0, 0.5], ..sound }, 1.0, "sweep.turn[1]", "0.5");
}

/// What takes distances without a way to refuse them takes one that is not a number as endless, which is the safe side.
#[test]
fn distances_that_are_no_numbers_are_endless() {
    let ball = |x: f64| Solid::new(&Shape::Sphere { diameter: 10.0 }, Pose::translation(x, 0.0, 0.0)).expect("a ball");
    let block = Solid::new(&Shape::Box { size: [5.0; 3] }, Pose::translation(500.0, 0.0, 0.0)).expect("a block");
    let scene = Scene::new(vec![ball(0.0), block.clone()]);
    for other in [ball(900.0), block] {
        assert!(closer_than(&ball(0.0), &other, f64::NAN));
        assert!(separation_within(&ball(0.0), &other, f64::NAN).is_some());
        assert!(scene.blocker(&other, f64::NAN, |id| id == SolidId(1)).is_some());
        assert!(scene.any_within(&other, f64::NAN, |id| id == SolidId(1)).is_some());
        assert!(scene.nearest(&other, f64::NAN, |id| id == SolidId(1)).is_some());
    }
}

#[test]
fn moves_end_where_a_file_may_put_a_component() {
    let demo = Demo::new();
    let (body, _) = demo.layout.bodies_by_id().find(|(_, body)| body.name == "pump").expect("the demo has a pump");
    let moved = |body: BodyId, shift: f64, turn_deg: f64| {
        demo.layout.moved(&Move { body, shift_mm: [0.0, shift, 0.0], turn_deg }).is_some()
    };
    assert!(moved(body, 5.0, 3.0));
    for bad in NO_NUMBERS.into_iter().chain([1e5, -1e5, 1e300]) {
        assert!(!moved(body, bad, 0.0), "{bad}");
    }
    for bad in NO_NUMBERS {
        assert!(!moved(body, 0.0, bad), "{bad}");
    }
}
