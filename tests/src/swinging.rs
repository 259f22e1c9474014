//! Chains that can swing, or nearly so, each planted in one exact posture amid boxes that leave it little room and
//! block other postures of it.

use crate::adversary::Case;
use crate::chain::{Obstacle, Problem, Step, end_frame, entry_map};
use crate::crowd::{Crowding, clears_by, crowd};
use crate::frame::Frame;
use crate::invent::{Draft, Feature};
use crate::postures::{Linkage, Turns};
use crate::solids::{chain_solids, is_clear, self_overlap};
use elbowroom::catalog::{FittingDef, PartSolid};
use elbowroom::geometry::Shape;
use nalgebra::Vector3;
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::TAU;

/// A kind of chain that can swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Three offsets: a four-bar linkage seen along the ports.
    ThreeOffsets,
    /// Four offsets: two freedoms.
    FourOffsets,
    /// Two offsets and two bends.
    TwoOffsetsTwoBends,
    /// Four bends between ports on one axis.
    FourBendsCoaxial,
    /// Four bends between ports on parallel axes.
    FourBendsParallel,
    /// Four bends between ports whose axes are parallel and closer than the allowance, so that the chain still swings
    /// round though no posture but a few closes exactly.
    FourBendsNearlyCoaxial,
    /// Five bends between ports on one axis.
    FiveBendsCoaxial,
    /// Two to five bends, or some and an offset, between any ports: rigid, or nearly.
    Rigid,
    /// The same with nothing around it.
    Free,
    /// Bends and offsets with one adjustable part, or two.
    Linked,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 10] = [
        Self::ThreeOffsets,
        Self::FourOffsets,
        Self::TwoOffsetsTwoBends,
        Self::FourBendsCoaxial,
        Self::FourBendsParallel,
        Self::FourBendsNearlyCoaxial,
        Self::FiveBendsCoaxial,
        Self::Rigid,
        Self::Free,
        Self::Linked,
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::ThreeOffsets => "three-offsets",
            Self::FourOffsets => "four-offsets",
            Self::TwoOffsetsTwoBends => "two-offsets-two-bends",
            Self::FourBendsCoaxial => "four-bends-coaxial",
            Self::FourBendsParallel => "four-bends-parallel",
            Self::FourBendsNearlyCoaxial => "four-bends-nearly-coaxial",
            Self::FiveBendsCoaxial => "five-bends-coaxial",
            Self::Rigid => "rigid",
            Self::Free => "free",
            Self::Linked => "linked",
        }
    }

    /// The kind of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

/// Where on its continuum a chain is planted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// Anywhere.
    Any,
    /// Where the chain happens to be all but stretched or folded: the turns that placed the ports.
    Singular,
    /// Where the linkage can barely close: every posture is near this one.
    Barely,
    /// Within a degree of where one of its turns goes no farther.
    Fold,
}

/// A chain planted in a crowd.
#[derive(Clone, Debug, PartialEq)]
pub struct Swinging {
    /// The problem.
    pub problem: Problem,
    /// The chain in its posture.
    pub steps: Vec<Step>,
    /// Where on its continuum.
    pub spot: Spot,
    /// How many ways the chain may move from there while it closes exactly.
    pub freedoms: usize,
    /// Other postures of it that were looked at, and how many of them the boxes leave open.
    pub others: usize,
    /// See there.
    pub open: usize,
}

impl Swinging {
    /// The chain as a case.
    #[must_use]
    pub fn case(self, kind: Kind, seed: u64) -> Case {
        let Self { problem, steps, spot, freedoms, others, open } = self;
        let name =
            format!("{} {seed:>6} ({spot:?}, {freedoms} freedoms, {open} of {others} postures open)", kind.name());
        Case { name, problem, steps }
    }
}

/// Steps from the planted posture at which others are looked at, in radians.
const STEPS: [f64; 8] = [0.003, 0.01, 0.02, 0.05, 0.1, 0.2, 0.4, 0.8];
/// The longest step in one go.
const STRIDE: f64 = 0.05;
/// Tries at other postures from random turns.
const TRIES: usize = 80;

/// Plants a chain of that kind. The same seed plants the same chain.
#[must_use]
pub fn swinging(kind: Kind, seed: u64) -> Swinging {
    let mut rng = StdRng::seed_from_u64(seed ^ (kind as u64) << 48);
    loop {
        if let Some(planted) = try_once(kind, &mut rng) {
            return planted;
        }
    }
}

fn try_once(kind: Kind, rng: &mut StdRng) -> Option<Swinging> {
    let spot = match rng.random_range(0..8) {
        0 => Spot::Singular,
        1 => Spot::Barely,
        2 | 3 => Spot::Fold,
        _ => Spot::Any,
    };
    let (mut problem, mut steps) = place_ports(kind, spot, rng)?;
    if rng.random_bool(0.3) {
        problem.from.disc_behind_mm = 500.0;
        problem.to.disc_behind_mm = 500.0;
    }
    let linkage_problem = problem.clone();
    let linkage = Linkage::new(&linkage_problem, &steps);
    let mut turns = linkage.turns(&steps);
    if kind != Kind::FourBendsNearlyCoaxial {
        turns = linkage.close(&turns)?;
    }
    turns = match spot {
        _ if kind == Kind::Free => turns,
        Spot::Fold => before_a_fold(&linkage, &turns, rng)?,
        Spot::Any if kind != Kind::FourBendsNearlyCoaxial && rng.random_bool(0.5) => elsewhere(&linkage, &turns, rng)?,
        _ => turns,
    };
    steps = linkage.steps(&turns);
    // The chain must clear itself and the ports before anything stands around it.
    if !is_clear(&problem, &steps, &problem.place(&steps), 0.3) {
        return None;
    }
    let freedoms = linkage.freedoms(&turns).len();
    if kind == Kind::Free {
        return Some(Swinging { problem, steps, spot, freedoms, others: 0, open: 0 });
    }
    let others: Vec<Turns> = others(kind, &linkage, &turns, rng)
        .into_iter()
        .filter(|other| {
            let other = linkage.steps(other);
            self_overlap(&problem, &other, &problem.place(&other), false).is_none()
        })
        .collect();
    let most = match kind {
        Kind::Rigid => rng.random_range(3..8),
        _ => rng.random_range(5..15),
    };
    let spare_mm = match kind {
        Kind::Rigid => [0.0202, 0.2],
        Kind::FourBendsNearlyCoaxial => [0.6, 2.0],
        _ => [0.0202, 2.0],
    };
    let open = crowd(&mut problem, &steps, &others, rng, Crowding { most, spare_mm });
    if problem.obstacles.is_empty() || !clears_by(&problem, &steps, 0.02) {
        return None;
    }
    Some(Swinging { problem, steps, spot, freedoms, others: others.len(), open })
}

/// What else may be done to a problem that a planted chain still solves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Twist {
    /// Other closure allowances, from a tenth of the usual ones to four times as much.
    Loose,
    /// Beside every part one of the same centreline and a thicker body.
    Twins,
    /// The ports the other way round.
    Swapped,
}

impl Twist {
    /// The twist of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "loose" => Some(Self::Loose),
            "twins" => Some(Self::Twins),
            "swapped" => Some(Self::Swapped),
            _ => None,
        }
    }

    /// The case with this done to it.
    #[must_use]
    pub fn apply(self, mut case: Case, seed: u64) -> Case {
        let mut rng = StdRng::seed_from_u64(seed.wrapping_mul(31).wrapping_add(7));
        match self {
            Self::Loose => {
                case.problem.closure_mm *= 10_f64.powf(rng.random_range(-1.0..0.6));
                case.problem.closure_deg *= 10_f64.powf(rng.random_range(-1.0..0.6));
            }
            Self::Twins => {
                let thicker = case.problem.fittings.iter().map(|def| FittingDef {
                    id: format!("thick-{}", def.id),
                    solids: def.solids.iter().map(thicker).collect(),
                    ..def.clone()
                });
                let thicker: Vec<FittingDef> = thicker.collect();
                case.problem.fittings.extend(thicker);
            }
            Self::Swapped => {
                let placed = case.problem.place(&case.steps);
                std::mem::swap(&mut case.problem.from, &mut case.problem.to);
                // Each part stays where it is; its turn is taken against what comes before it from the other side.
                let mut here = case.problem.from.frame;
                let mut back = Vec::with_capacity(placed.len());
                for (step, placed) in case.steps.iter().zip(&placed).rev() {
                    let def = &case.problem.fittings[step.part];
                    let entry = 1 - step.entry;
                    let turned = here.inverse().then(&placed.pose).then(&entry_map(def, entry, step.stretch).inverse());
                    let turn = turned.axes[(1, 0)].atan2(turned.axes[(0, 0)]);
                    back.push(Step { entry, turn, ..*step });
                    here = here.turn(turn).then(&entry_map(def, entry, step.stretch));
                    here = here.then(&end_frame(def, 1 - entry, step.stretch));
                }
                case.steps = back;
            }
        }
        case
    }
}

fn thicker(solid: &PartSolid) -> PartSolid {
    match solid.clone() {
        PartSolid::Sleeve { leg, from, to, diameter } => PartSolid::Sleeve { leg, from, to, diameter: diameter + 3.0 },
        PartSolid::Knuckle { bend, diameter } => PartSolid::Knuckle { bend, diameter: diameter + 3.0 },
        free @ PartSolid::Free(_) => free,
    }
}

/// The same problem with one more box, which stands in the way of the chain as planted.
#[must_use]
pub fn barred(planted: &Swinging, seed: u64) -> Problem {
    let mut rng = StdRng::seed_from_u64(!seed);
    let mut problem = planted.problem.clone();
    let solids = chain_solids(&problem, &planted.steps, &problem.place(&planted.steps));
    let middle = &solids[rng.random_range(0..solids.len())].solid.frame;
    let size = [0; 3].map(|_| rng.random_range(1.0..6.0));
    let name = format!("box-{}", problem.obstacles.len());
    problem.obstacles.push(Obstacle { name, shape: Shape::Box { size }, frame: *middle });
    problem
}

/// Other postures of the chain: near the planted one, farther along the ways it may move, and any others.
fn others(kind: Kind, linkage: &Linkage<'_>, turns: &Turns, rng: &mut StdRng) -> Vec<Turns> {
    let mut others = Vec::new();
    let kernel = linkage.freedoms(turns);
    for _ in 0..if kernel.len() > 1 { 6 } else { 1 } {
        let mix =
            kernel.iter().fold(Turns::zeros(linkage.count()), |sum, each| sum + each * rng.random_range(-1.0..1.0));
        let Some(direction) = mix.try_normalize(1e-3) else { continue };
        for sign in [1.0, -1.0] {
            for step in STEPS {
                let strides = (step / STRIDE).ceil();
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
                let walked = linkage.walk(turns, &(&direction * sign), step / strides, strides as usize);
                others.extend(walked.last().cloned());
            }
            others.extend(linkage.walk(turns, &(&direction * sign), 0.08, 40));
        }
    }
    if kind == Kind::FourBendsNearlyCoaxial {
        // No freedom is exact: turning the whole chain about the axis is all but one.
        for degrees in 1..60_u32 {
            let mut other = turns.clone();
            other[0] += f64::from(degrees) / 60.0 * TAU;
            others.push(other);
        }
    }
    if kernel.is_empty() {
        // Where nothing can move, boxes stand around it all the same.
        for _ in 0..TRIES {
            let size = 10_f64.powf(rng.random_range(-2.0..-0.3));
            others.push(turns + Turns::from_fn(linkage.count(), |_, _| size * rng.random_range(-1.0..1.0)));
        }
    }
    others.extend(linkage.scatter(rng, TRIES));
    others.retain(|other| Linkage::apart(other, turns) > 1e-3);
    others
}

/// A posture some way along the continuum.
fn elsewhere(linkage: &Linkage<'_>, turns: &Turns, rng: &mut StdRng) -> Option<Turns> {
    if rng.random_bool(0.5) {
        return linkage.scatter(rng, 4).pop();
    }
    let direction = linkage.freedoms(turns).pop()?;
    let sign = if rng.random_bool(0.5) { 1.0 } else { -1.0 };
    linkage.walk(turns, &(direction * sign), STRIDE, rng.random_range(1..120)).pop()
}

/// A posture within a degree of where one of the turns goes no farther along the continuum.
fn before_a_fold(linkage: &Linkage<'_>, turns: &Turns, rng: &mut StdRng) -> Option<Turns> {
    let direction = linkage.freedoms(turns).pop()?;
    let mut walked = vec![turns.clone()];
    walked.extend(linkage.walk(turns, &direction, 0.02, 330));
    let folds: Vec<(usize, usize)> = (0..linkage.count())
        .flat_map(|turn| (1..walked.len().saturating_sub(1)).map(move |at| (turn, at)))
        .filter(|&(turn, at)| {
            let by = |index: usize| walked[index + 1][turn] - walked[index][turn];
            by(at) * by(at - 1) < 0.0
        })
        .collect();
    if folds.is_empty() {
        return None;
    }
    let (turn, at) = folds[rng.random_range(0..folds.len())];
    // From there by so little that the turn itself changes by less than a degree.
    let ahead = (&walked[at + 1] - &walked[at - 1]).try_normalize(1e-9)?;
    let by = 0.1 * rng.random_range(-1.0_f64..1.0).powi(3);
    let near = if by.abs() < 1e-5 { walked[at].clone() } else { linkage.go(&walked[at], &ahead, by)? };
    ((near[turn] - walked[at][turn]).abs() < 1.0_f64.to_radians()).then_some(near)
}

/// The parts and the ports, and one posture that joins them.
fn place_ports(kind: Kind, spot: Spot, rng: &mut StdRng) -> Option<(Problem, Vec<Step>)> {
    let features: Vec<Feature> = match kind {
        Kind::ThreeOffsets => vec![Feature::Offset; 3],
        Kind::FourOffsets => vec![Feature::Offset; 4],
        Kind::TwoOffsetsTwoBends => {
            let orders = [[0, 1, 1, 0], [0, 1, 0, 1], [1, 0, 0, 1], [0, 0, 1, 1], [1, 0, 1, 0], [1, 1, 0, 0]];
            // The first swings between any parallel ports, the others only on one axis.
            let order = if rng.random_bool(0.6) { orders[0] } else { orders[rng.random_range(1..6)] };
            order.map(|bent| if bent == 0 { Feature::Offset } else { Feature::Bend }).to_vec()
        }
        Kind::FourBendsCoaxial | Kind::FourBendsParallel | Kind::FourBendsNearlyCoaxial => vec![Feature::Bend; 4],
        Kind::FiveBendsCoaxial | Kind::Linked => vec![Feature::Bend; 5],
        Kind::Rigid | Kind::Free => match rng.random_range(0..6) {
            0 => vec![Feature::Bend, Feature::Offset],
            1 => vec![Feature::Bend, Feature::Offset, Feature::Bend],
            2 => vec![Feature::Offset, Feature::Bend, Feature::Bend, Feature::Bend],
            many => vec![Feature::Bend; many - 1],
        },
    };
    if kind == Kind::Linked {
        return place_linked(spot, rng);
    }
    let draft = Draft::invent(&features, spot != Spot::Barely, rng);
    let from = somewhere(rng);
    match kind {
        Kind::ThreeOffsets | Kind::FourOffsets => {
            let turns = styled(features.len(), spot, rng);
            draft.place(&from, &turns, None, rng)
        }
        Kind::Free => {
            let turns = styled(features.len(), spot, rng);
            draft.place(&from, &turns, None, rng)
        }
        Kind::Rigid => {
            let spot = if rng.random_bool(0.6) { Spot::Singular } else { spot };
            let turns = styled(features.len(), spot, rng);
            draft.place(&from, &turns, None, rng)
        }
        _ => {
            let coaxial = match kind {
                Kind::TwoOffsetsTwoBends if features[0] == Feature::Offset && features[3] == Feature::Offset => {
                    rng.random_bool(0.2)
                }
                Kind::FourBendsParallel => false,
                _ => true,
            };
            let (draft, turns) = draft.aimed(coaxial, spot == Spot::Barely, rng)?;
            let beside = match kind {
                Kind::FourBendsNearlyCoaxial => Some(rng.random_range(0.02..0.25)),
                _ => None,
            };
            draft.place(&from, &turns, beside, rng)
        }
    }
}

/// The same with adjustable parts: three offsets that are drawn apart, two square bends and an offset that swing as the run
/// between is drawn out, four bends on one axis, and bends that close in single postures only.
fn place_linked(spot: Spot, rng: &mut StdRng) -> Option<(Problem, Vec<Step>)> {
    let (bend, offset) = (Feature::Bend, Feature::Offset);
    let from = somewhere(rng);
    let anyhow = spot != Spot::Barely;
    match rng.random_range(0..6) {
        0 => {
            let draft = Draft::invent(&[offset; 3], anyhow, rng).with_links(1);
            draft.place(&from, &styled(3, spot, rng), None, rng)
        }
        1 | 2 => {
            let orders = [[bend, bend, offset], [offset, bend, bend], [bend, offset, bend]];
            let draft = Draft::invent(&orders[rng.random_range(0..3)], anyhow, rng).square().with_links(1);
            let (draft, turns) = draft.aimed(false, !anyhow, rng)?;
            draft.place(&from, &turns, None, rng)
        }
        3 => {
            let draft = Draft::invent(&[bend; 4], anyhow, rng).with_links(1);
            let (draft, turns) = draft.aimed(true, !anyhow, rng)?;
            draft.place(&from, &turns, None, rng)
        }
        _ => {
            let (count, links) = [(3, 1), (4, 1), (3, 2)][rng.random_range(0..3)];
            let draft = Draft::invent(&vec![bend; count], anyhow, rng).with_links(links);
            draft.place(&from, &styled(count, spot, rng), None, rng)
        }
    }
}

/// Turns of chains whose ports may be anywhere. An offset that goes on to the side that the one before it took is turned by
/// half a turn.
fn styled(count: usize, spot: Spot, rng: &mut StdRng) -> Vec<f64> {
    let size = 10_f64.powf(rng.random_range(-2.5..-0.7));
    (0..count)
        .map(|_| match spot {
            Spot::Singular => f64::from(rng.random_range(0..2)) * TAU / 2.0 + size * rng.random_range(-1.0..1.0),
            Spot::Barely => TAU / 2.0 + size * rng.random_range(-1.0..1.0),
            _ => rng.random_range(0.0..TAU),
        })
        .collect()
}

fn somewhere(rng: &mut StdRng) -> Frame {
    if rng.random_bool(0.3) {
        return Frame::looking(Vector3::new(10.0, -20.0, 30.0), Vector3::z(), 0.0);
    }
    let at = Vector3::from_fn(|_, _| rng.random_range(-100.0..100.0));
    Frame::looking(at, Vector3::from_fn(|_, _| rng.random_range(-1.0..1.0)), rng.random_range(0.0..TAU))
}
