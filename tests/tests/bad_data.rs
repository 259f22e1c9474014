//! Layouts and fittings that a program puts together are held to the rules of a file: every number of them that is none,
//! or far outside its range, is refused by its place.

use elbowroom::catalog::{BranchDef, Catalog, FittingDef, FlowDef, LossDef, PartSolid, PumpDef};
use elbowroom::geometry::{Facing, Shape, SolidDef};
use elbowroom::layout::{Layout, LayoutFile};

/// What is in no range.
const NO_NUMBERS: [f64; 3] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];

/// A number by its place.
type Entry<T> = (&'static str, fn(&mut T) -> &mut f64);

/// A machine with everything in it that a layout can state as a number.
const MACHINE: &str = r#"(
    version: 1,
    name: "Machine",
    panels: [(name: "lid", at: (0, 0, 100), facing: "+z", size: (300, 200), thickness: 2,
        holes: [(at: (10, 20), diameter: 8)])],
    components: [(
        name: "pump",
        solids: [
            (shape: box(size: (40, 40, 40))),
            (shape: cylinder(diameter: 20, length: 10), at: (0, 0, 25)),
            (shape: capsule(diameter: 10, length: 10), at: (60, 0, 0)),
            (shape: sphere(diameter: 10), at: (-60, 0, 0)),
            (shape: hull(points: [(0, 0, 40), (9, 0, 40), (0, 9, 40), (0, 0, 49)])),
        ],
        ports: [
            (name: "inlet", at: (-20, 0, 0), facing: "-x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 22),
            (name: "outlet", at: (20, 0, 0), facing: "+x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 22),
        ],
        at: (0, 0, 0),
        flow: (pump: table([(0, 20), (4, 16), (8, 0)]), loss: coefficient(l_min: 4, kpa: 6, power: 1.8), bore_mm: 6),
    )],
    coolant: (glycol: ethylene, volume_percent: 20, celsius: 30),
)"#;

/// Every number that a layout can hold.
const NUMBERS: [Entry<LayoutFile>; 39] = [
    ("design_flow_l_min", |file| &mut file.design_flow_l_min),
    ("coolant.volume_percent", |file| &mut file.coolant.volume_percent),
    ("coolant.celsius", |file| &mut file.coolant.celsius),
    ("allowances.closure_mm", |file| &mut file.allowances.closure_mm),
    ("allowances.closure_deg", |file| &mut file.allowances.closure_deg),
    ("allowances.clearance_mm", |file| &mut file.allowances.clearance_mm),
    ("allowances.tool_mm", |file| &mut file.allowances.tool_mm),
    ("allowances.tool_arc_deg", |file| &mut file.allowances.tool_arc_deg),
    ("panels[0].at[0]", |file| &mut file.panels[0].at[0]),
    ("panels[0].at[2]", |file| &mut file.panels[0].at[2]),
    ("panels[0].size[1]", |file| &mut file.panels[0].size[1]),
    ("panels[0].thickness", |file| &mut file.panels[0].thickness),
    ("panels[0].holes[0].at[0]", |file| &mut file.panels[0].holes[0].at[0]),
    ("panels[0].holes[0].diameter", |file| &mut file.panels[0].holes[0].diameter),
    ("components[0].at[1]", |file| &mut file.components[0].at[1]),
    ("components[0].play[2]", |file| &mut file.components[0].play[2]),
    ("components[0].play_turn_deg", |file| &mut file.components[0].play_turn_deg),
    ("components[0].heat_w", |file| &mut file.components[0].heat_w),
    ("components[0].pump_speed", |file| &mut file.components[0].pump_speed),
    ("components[0].solids[0].at[0]", |file| &mut file.components[0].solids[0].at[0]),
    ("components[0].solids[0].shape.box.size[2]", |file| sizes(file, 0).swap_remove(2)),
    ("components[0].solids[1].shape.cylinder.diameter", |file| sizes(file, 1).swap_remove(0)),
    ("components[0].solids[1].shape.cylinder.length", |file| sizes(file, 1).swap_remove(1)),
    ("components[0].solids[2].shape.capsule.diameter", |file| sizes(file, 2).swap_remove(0)),
    ("components[0].solids[2].shape.capsule.length", |file| sizes(file, 2).swap_remove(1)),
    ("components[0].solids[3].shape.sphere.diameter", |file| sizes(file, 3).swap_remove(0)),
    ("components[0].solids[4].shape.hull.points[1][0]", |file| sizes(file, 4).swap_remove(3)),
    ("components[0].ports[0].at[2]", |file| &mut file.components[0].ports[0].at[2]),
    ("components[0].ports[0].thread_length_mm", |file| &mut file.components[0].ports[0].thread_length_mm),
    ("components[0].ports[1].seat_mm", |file| &mut file.components[0].ports[1].seat_mm),
    ("components[0].flow.bore_mm", |file| flow(file).bore_mm.get_or_insert(0.0)),
    ("components[0].flow.pump.table[0][0]", |file| pump(file, 0, 0)),
    ("components[0].flow.pump.table[0][1]", |file| pump(file, 0, 1)),
    ("components[0].flow.pump.table[1][0]", |file| pump(file, 1, 0)),
    ("components[0].flow.pump.table[2][1]", |file| pump(file, 2, 1)),
    ("components[0].flow.loss.coefficient.l_min", |file| loss(file, 0)),
    ("components[0].flow.loss.coefficient.kpa", |file| loss(file, 1)),
    ("components[0].flow.loss.coefficient.power", |file| loss(file, 2)),
    ("components[0].play[0]", |file| &mut file.components[0].play[0]),
];

/// The sizes of a solid of the component.
fn sizes(file: &mut LayoutFile, solid: usize) -> Vec<&mut f64> {
    match &mut file.components[0].solids[solid].shape {
        Shape::Box { size } => size.iter_mut().collect(),
        Shape::Cylinder { diameter, length } | Shape::Capsule { diameter, length } => vec![diameter, length],
        Shape::Sphere { diameter } => vec![diameter],
        Shape::Hull { points } => points.iter_mut().flatten().collect(),
    }
}

fn flow(file: &mut LayoutFile) -> &mut FlowDef {
    file.components[0].flow.as_mut().expect("the pump has one")
}

fn pump(file: &mut LayoutFile, point: usize, which: usize) -> &mut f64 {
    match &mut flow(file).pump {
        Some(PumpDef::Table(points)) => &mut points[point][which],
        other => panic!("{other:?}"),
    }
}

fn loss(file: &mut LayoutFile, which: usize) -> &mut f64 {
    match &mut flow(file).loss {
        Some(LossDef::Coefficient { l_min, kpa, power }) => [l_min, kpa, power].into_iter().nth(which).expect("one"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn layouts_put_together_by_a_program() {
    let catalog = Catalog::builtin();
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let sound: LayoutFile = options.from_str(MACHINE).expect("a layout");
    Layout::from_file(&sound, &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    for (field, of) in NUMBERS {
        for bad in NO_NUMBERS.into_iter().chain([-1e9, 1e13]) {
            let mut file = sound.clone();
            *of(&mut file) = bad;
            let Err(problems) = Layout::from_file(&file, &catalog) else { panic!("{field} = {bad} is taken") };
            let said = problems.to_string();
            assert!(said.contains(&format!("`{field}`")) || said.contains(field), "{field} = {bad}: {said}");
        }
    }
}

/// Every number that a fitting can hold.
const LENGTHS: [Entry<FittingDef>; 17] = [
    ("legs[0]", |part| &mut part.legs[0]),
    ("legs[1]", |part| &mut part.legs[1]),
    ("bends[0].angle_deg", |part| &mut part.bends[0].angle_deg),
    ("bends[0].roll_deg", |part| &mut part.bends[0].roll_deg),
    ("bore_mm", |part| &mut part.bore_mm),
    ("price", |part| part.price.get_or_insert(0.0)),
    ("stretch_mm", |part| part.stretch_mm.get_or_insert(0.0)),
    ("branch.at", |part| &mut branch(part).at),
    ("branch.leg", |part| &mut branch(part).leg),
    ("branch.angle_deg", |part| &mut branch(part).angle_deg),
    ("ends[0].thread_length_mm", |part| &mut part.ends[0].thread_length_mm),
    ("ends[1].collar_mm", |part| &mut part.ends[1].collar_mm),
    ("solids[0].sleeve.from", |part| sleeve(part, 0)),
    ("solids[0].sleeve.to", |part| sleeve(part, 1)),
    ("solids[0].sleeve.diameter", |part| sleeve(part, 2)),
    ("solids[1].knuckle.diameter", |part| sleeve(part, 3)),
    ("solids[2].free.at[1]", |part| sleeve(part, 4)),
];

fn branch(part: &mut FittingDef) -> &mut BranchDef {
    part.branch.get_or_insert(BranchDef { at: 5.0, leg: 10.0, angle_deg: 90.0 })
}

fn sleeve(part: &mut FittingDef, which: usize) -> &mut f64 {
    let mut numbers = Vec::new();
    for solid in &mut part.solids {
        match solid {
            PartSolid::Sleeve { from, to, diameter, .. } => numbers.extend([from, to.get_or_insert(10.0), diameter]),
            PartSolid::Knuckle { diameter, .. } => numbers.push(diameter),
            PartSolid::Free(solid) => numbers.push(&mut solid.at[1]),
        }
    }
    numbers.swap_remove(which)
}

#[test]
fn fittings_put_together_by_a_program() {
    let mut sound = elbowroom_tests::parts::bend("b", ['M', 'f'], 90.0, [15.0, 15.0]);
    let free = SolidDef { shape: Shape::Sphere { diameter: 5.0 }, at: [0.0, 0.0, 9.0], facing: Facing::default() };
    sound.solids = vec![
        PartSolid::Sleeve { leg: 0, from: 0.0, to: None, diameter: 14.0 },
        PartSolid::Knuckle { bend: 0, diameter: 14.0 },
        PartSolid::Free(free),
    ];
    Catalog::from_parts(vec![sound.clone()], Vec::new()).unwrap_or_else(|problems| panic!("{problems}"));
    for (field, of) in LENGTHS {
        for bad in NO_NUMBERS.into_iter().chain([-1e9, 1e13]) {
            let mut part = sound.clone();
            *of(&mut part) = bad;
            let refused = Catalog::from_parts(vec![part], Vec::new());
            let Err(problems) = refused else { panic!("{field} = {bad} is taken") };
            let said = problems.to_string();
            assert!(said.contains(&format!("fittings[0].{field}")), "{field} = {bad}: {said}");
        }
    }
}
