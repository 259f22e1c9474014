//! A slot that a chain passes in few of its postures: two bare ports face each other on one axis, a cube stands half
//! way between them, and a board on either side leaves the chain a plane to swing into, but little room beside it.

use crate::adversary::Case;
use crate::chain::{Obstacle, Port, Problem, Step};
use crate::frame::Frame;
use elbowroom::catalog::{Catalog, FittingDef, Gender, Thread};
use elbowroom::geometry::Shape;
use nalgebra::Vector3;

/// What goes round the cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detour {
    /// An offset, a joiner and the same offset back, between ports 71 mm apart.
    Offsets,
    /// Four bends with an arm of 42.5 mm.
    Bends,
    /// The same with swept bends.
    SweptBends,
}

/// One of the family.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slot {
    /// What goes round the cube.
    pub detour: Detour,
    /// How far the inner faces of the boards stand from the axis, in millimetres.
    pub half_width_mm: f64,
    /// How often the boards are turned by 15.3° from 0.7°.
    pub turning: u32,
    /// Whether the catalog is the whole built-in one rather than the few parts that are needed.
    pub everything: bool,
}

/// Half of the slot's width, in millimetres: sleeves of 16 mm and a clearance of 1 mm leave 0.02 mm to spare in the first.
/// In 9.14 the arm of 42.5 mm has a window of 0.4°.
pub const HALF_WIDTHS_MM: [f64; 6] = [9.02, 9.05, 9.14, 9.2, 9.5, 10.0];

/// Every slot: each detour in each width at each turning, the offsets with either catalog.
#[must_use]
pub fn family() -> Vec<Slot> {
    let mut all = Vec::new();
    for (detour, everything) in
        [(Detour::Offsets, false), (Detour::Offsets, true), (Detour::Bends, false), (Detour::SweptBends, false)]
    {
        for half_width_mm in HALF_WIDTHS_MM {
            all.extend((0..TURNINGS).map(|turning| Slot { detour, half_width_mm, turning, everything }));
        }
    }
    all
}

impl Slot {
    /// The slot as a case, the chain in the middle of the window.
    #[must_use]
    pub fn case(&self) -> Case {
        let Self { detour, half_width_mm, turning, everything } = *self;
        let (problem, steps) = slot(detour, half_width_mm, turning, everything);
        let catalog = if everything { "built-in" } else { "small" };
        let name = format!("{detour:?}, half width {half_width_mm:.2}, turning {turning:>2}, {catalog} catalog");
        Case { name, problem, steps }
    }
}

/// How many ways the boards are turned about the axis.
pub const TURNINGS: u32 = 24;
/// The first of them, and how far the next is from it, in degrees.
const FIRST_DEG: f64 = 0.7;
const NEXT_DEG: f64 = 15.3;
/// Across, through and along the axis.
const BOARD_MM: [f64; 3] = [80.0, 2.0, 90.0];
const CUBE_MM: f64 = 8.0;
/// How far behind the ports their bodies stand.
const BEHIND_MM: f64 = 500.0;

/// The problem and the chain that passes: the boards' inner faces stand `half_width_mm` from the axis.
///
/// `everything`: with every part of the built-in catalog rather than the few that are needed.
///
/// # Panics
/// When the built-in catalog lacks one of the parts.
#[must_use]
pub fn slot(detour: Detour, half_width_mm: f64, turning: u32, everything: bool) -> (Problem, Vec<Step>) {
    let builtin = Catalog::builtin();
    let ids: &[&str] = match detour {
        Detour::Offsets => &["offset-18-g14-two-swivels", "joiner-ff-g14-15", "offset-18-g14-two-swivels"],
        Detour::Bends => &[
            "bend-90-g14-long-swivel",
            "bend-90-g14-long-swivel",
            "bend-90-g14-long-swivel",
            "bend-90-g14-long-two-swivels",
        ],
        Detour::SweptBends => &[
            "bend-90-g14-swept-swivel",
            "bend-90-g14-swept-swivel",
            "bend-90-g14-swept-swivel",
            "bend-90-g14-swept-two-swivels",
        ],
    };
    let of_the_chain = |def: &&FittingDef| everything || ids.contains(&def.id.as_str());
    let fittings: Vec<FittingDef> = builtin.fittings().iter().filter(of_the_chain).cloned().collect();
    let part = |id: &str| fittings.iter().position(|def| def.id == id).unwrap_or_else(|| panic!("no {id}"));
    // The boards' own direction across is that of their inner faces' edges; the chain lies along it.
    let along_boards = (FIRST_DEG + NEXT_DEG * f64::from(turning)).to_radians();
    let half = std::f64::consts::PI;
    let turns = match detour {
        Detour::Offsets => [along_boards, 0.0, 0.0, 0.0],
        _ => [along_boards, half, 0.0, half],
    };
    let steps: Vec<Step> =
        ids.iter().zip(turns).map(|(id, turn)| Step { part: part(id), entry: 0, turn, stretch: 0.0 }).collect();
    let bare = |frame: Frame| Port {
        frame,
        thread: Thread::G14,
        gender: Gender::Female,
        thread_length_mm: 6.0,
        seat_mm: 22.0,
        disc_mm: 22.0,
        disc_behind_mm: BEHIND_MM,
    };
    let from = Frame::looking(Vector3::zeros(), Vector3::z(), 0.0);
    let mut problem = Problem {
        fittings,
        from: bare(from),
        to: bare(from),
        obstacles: Vec::new(),
        closure_mm: 0.3,
        closure_deg: 0.5,
        clearance_mm: 1.0,
        max_parts: steps.len(),
    };
    let exit = problem.place(&steps).last().map_or(from, |placed| placed.exit);
    problem.to.frame = Frame::looking(Vector3::new(0.0, 0.0, exit.at.z), -Vector3::z(), 0.0);
    let middle = from.advance(exit.at.z / 2.0);
    let body = |name: &str, size: [f64; 3], frame: Frame| Obstacle {
        name: name.to_owned(),
        shape: Shape::Box { size },
        frame,
    };
    problem.obstacles.push(body("cube", [CUBE_MM; 3], middle));
    let turned = middle.turn(along_boards);
    for (name, side) in [("board-left", 1.0), ("board-right", -1.0)] {
        let beside = turned.axes.column(1) * (side * (half_width_mm + BOARD_MM[1] / 2.0));
        problem.obstacles.push(body(name, BOARD_MM, Frame { at: turned.at + beside, ..turned }));
    }
    (problem, steps)
}
