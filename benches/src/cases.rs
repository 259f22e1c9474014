//! Gaps to bridge: those of the demo, and some that ask more of the search than any real layout does.

use elbowroom::bridge::{Answer, MOST_WANTED, Wishes, bridge};
use elbowroom::catalog::{Catalog, FittingDef, Gender, PortDef, Thread};
use elbowroom::geometry::{Facing, Shape, SolidDef};
use elbowroom::layout::{AllowancesDef, CoolantDef, Gap, Layout, LayoutFile, PlacedDef};
use std::sync::Arc;

/// The demo's gap that is too short for every part.
const BLOCKED: [&str; 2] = ["probe.outlet", "radiator-a.inlet"];

/// How far the legs of copied parts are longer than the originals, in millimetres: a length that no sum of the
/// built-in lengths makes, so that the copies are new to the search.
const COPY_LEG_MM: f64 = 1.37;

/// A question to the search.
#[derive(Clone)]
pub struct Case {
    /// What is asked, in words.
    pub name: String,
    catalog: Arc<Catalog>,
    layout: Arc<Layout>,
    gap: Gap,
    max_parts: usize,
    want: usize,
}

impl Case {
    /// Asks it.
    #[must_use]
    pub fn answer(&self) -> Answer {
        let wishes = Wishes { max_parts: self.max_parts, want: self.want, ..Wishes::default() };
        bridge(&self.catalog, &self.layout, &self.gap, &wishes).expect("sound wishes")
    }

    /// The same question about chains of up to `max_parts` parts.
    #[must_use]
    pub fn up_to(&self, max_parts: usize) -> Self {
        Self { name: format!("{}, up to {max_parts} parts", self.name), max_parts, ..self.clone() }
    }

    /// The same question about the best chain, the 20 best, and all there are.
    #[must_use]
    pub fn wanting_one_and_all(&self) -> [Self; 3] {
        [("best", 1), ("best 20", 20), ("all", MOST_WANTED)].map(|(words, want)| Self {
            name: format!("{words}, {}", self.name),
            want,
            ..self.clone()
        })
    }

    /// The same question asked of another catalog.
    #[must_use]
    pub fn asked_of(&self, catalog: Catalog, name: String) -> Self {
        Self { name, catalog: Arc::new(catalog), ..self.clone() }
    }
}

/// Every gap of the demo that something bridges, up to 4 parts.
///
/// # Panics
/// When the embedded catalog or layout is faulty, which their own tests exclude.
#[must_use]
pub fn demo_gaps(want: usize) -> Vec<Case> {
    let (catalog, layout) = demo();
    let name = |gap: &Gap| [gap.from, gap.to].map(|port| layout.port_by_id(port).expect("a port").name.clone());
    let gaps = layout.gaps().iter().map(|gap| (gap, name(gap))).filter(|(_, name)| *name != BLOCKED);
    gaps.map(|(gap, [from, to])| Case {
        name: format!("{from} to {to}"),
        catalog: Arc::clone(&catalog),
        layout: Arc::clone(&layout),
        gap: *gap,
        max_parts: 4,
        want,
    })
    .collect()
}

/// The demo's gap that nothing bridges: two ports face each other a few millimetres apart.
///
/// # Panics
/// When the embedded catalog or layout is faulty, which their own tests exclude.
#[must_use]
pub fn blocked() -> Case {
    let (catalog, layout) = demo();
    let gap = layout.gap(BLOCKED[0], BLOCKED[1]).expect("the demo has it");
    Case { name: "blocked gap of the demo".to_owned(), catalog, layout, gap, max_parts: 4, want: 20 }
}

/// Two ports in the open, 60 mm apart and facing away from each other: within reach of most chains, but none of few
/// parts turns far enough.
#[must_use]
pub fn facing_away() -> Case {
    let from = port("from", [0.0, 0.0, 0.0], "-x", Gender::Female);
    let to = port("to", [60.0, 10.0, 5.0], "+x", Gender::Female);
    open("ports that face away from each other", Catalog::builtin(), vec![from, to], 20)
}

/// Two ports in the open, each in sight of the other but under a lid 4 mm above the second: chains close by the
/// hundred thousand, and every one collides.
#[must_use]
pub fn under_a_lid() -> Case {
    let from = port("from", [0.0, 0.0, 0.0], "+z", Gender::Female);
    let to = port("to", [45.0, 30.0, 12.0], "+z", Gender::Female);
    let lid = block("lid", [45.0, 30.0, 17.0], [60.0, 60.0, 2.0]);
    open("lid over the second port", Catalog::builtin(), vec![from, to, lid], 20)
}

/// Two ports at the bottom of wells 90 mm deep, side by side: out of each only two straight parts lead, and two bends
/// must join them, so nothing shorter than 6 parts fits, though much that is shorter closes.
#[must_use]
pub fn two_wells() -> Case {
    let mut components =
        vec![port("from", [0.0, 0.0, 0.0], "+z", Gender::Female), port("to", [42.5, 0.0, 0.0], "+z", Gender::Male)];
    for (well, x) in [("from", 0.0), ("to", 42.5)] {
        for (side, at, size) in [
            ("left", [x - 14.0, 0.0, 45.0], [4.0, 32.0, 90.0]),
            ("right", [x + 14.0, 0.0, 45.0], [4.0, 32.0, 90.0]),
            ("front", [x, -14.0, 45.0], [24.0, 4.0, 90.0]),
            ("back", [x, 14.0, 45.0], [24.0, 4.0, 90.0]),
        ] {
            components.push(block(&format!("{side} wall of the well at {well}"), at, size));
        }
    }
    Case { max_parts: 6, ..open("two ports in deep wells", Catalog::builtin(), components, 1) }
}

/// Two ports 340 mm apart, out of line with each other: farther than any 5 parts reach.
#[must_use]
pub fn far_apart() -> Case {
    let from = port("from", [0.0, 0.0, 0.0], "+x", Gender::Female);
    let to = port("to", [330.0, 60.0, 0.0], "-x", Gender::Female);
    Case { max_parts: 6, ..open("two ports far apart", Catalog::builtin(), vec![from, to], 1) }
}

/// A catalog of `size` parts that link two ends: the built-in one thinned evenly, or with copies of its parts that
/// have longer legs.
///
/// # Panics
/// When `size` is more than twice the built-in catalog's, or the embedded catalog is faulty.
#[must_use]
pub fn catalog_of(size: usize) -> Catalog {
    let links: Vec<FittingDef> = Catalog::builtin().fittings().iter().filter(|part| part.is_link()).cloned().collect();
    let mut parts: Vec<FittingDef> = if size <= links.len() {
        (0..size).map(|index| links[index * links.len() / size].clone()).collect()
    } else {
        links.clone()
    };
    let missing = size - parts.len();
    assert!(missing <= links.len(), "{size} parts are more than twice {}", links.len());
    parts.extend((0..missing).map(|index| {
        let original = &links[index * links.len() / missing];
        let mut copy = FittingDef { id: format!("{}-longer", original.id), ..original.clone() };
        copy.legs.iter_mut().for_each(|leg| *leg += COPY_LEG_MM);
        copy
    }));
    Catalog::from_parts(parts, Vec::new()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn demo() -> (Arc<Catalog>, Arc<Layout>) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap_or_else(|problems| panic!("{problems:?}"));
    (Arc::new(catalog), Arc::new(layout))
}

/// A catalog and a layout of these components alone; the gap is from `from.port` to `to.port`.
pub(crate) fn open(name: &str, catalog: Catalog, components: Vec<PlacedDef>, want: usize) -> Case {
    let file = LayoutFile {
        version: 1,
        name: name.to_owned(),
        panels: Vec::new(),
        components,
        gaps: Vec::new(),
        allowances: AllowancesDef::default(),
        design_flow_l_min: 4.0,
        coolant: CoolantDef::default(),
        ambient_celsius: None,
    };
    let layout = Layout::from_file(&file, &catalog).unwrap_or_else(|problems| panic!("{problems:?}"));
    let gap = layout.gap("from.port", "to.port").unwrap_or_else(|problem| panic!("{problem:?}"));
    Case { name: name.to_owned(), catalog: Arc::new(catalog), layout: Arc::new(layout), gap, max_parts: 5, want }
}

/// A small disc with a port in the middle of its face.
pub(crate) fn port(name: &str, at: [f64; 3], facing: &str, gender: Gender) -> PlacedDef {
    let facing: Facing = facing.parse().expect("an axis");
    let towards = facing.direction();
    let disc = SolidDef {
        shape: Shape::Cylinder { diameter: 20.0, length: 3.0 },
        at: (*towards * -1.5).into(),
        facing: facing.clone(),
    };
    let port = PortDef {
        name: "port".to_owned(),
        at: [0.0; 3],
        facing,
        thread: Thread::G14,
        gender,
        thread_length_mm: if gender == Gender::Female { 8.0 } else { 4.5 },
        seat_mm: 20.0,
        stand_off_mm: 0.0,
        mark: None,
    };
    placed(name, at, vec![disc], vec![port])
}

pub(crate) fn block(name: &str, at: [f64; 3], size: [f64; 3]) -> PlacedDef {
    let solid = SolidDef { shape: Shape::Box { size }, at: [0.0; 3], facing: Facing::default() };
    placed(name, at, vec![solid], Vec::new())
}

fn placed(name: &str, at: [f64; 3], solids: Vec<SolidDef>, ports: Vec<PortDef>) -> PlacedDef {
    PlacedDef {
        name: name.to_owned(),
        template: None,
        solids,
        ports,
        at,
        front: "-y".parse().expect("an axis"),
        top: Facing::default(),
        play: [0.0; 3],
        play_turn_deg: 0.0,
        mounted_on: None,
        flow: None,
        heat: None,
        heat_w: 0.0,
        limit_celsius: None,
        fan_speed: 1.0,
        pump_speed: 1.0,
        level_mm: None,
    }
}
