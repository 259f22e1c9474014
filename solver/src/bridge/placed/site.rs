//! Whether a closed chain clears everything around it, and by how much.

use super::{closed::Closed, sweep::Motion};
use crate::{
    bridge::{
        answer::{CLEARANCE_HORIZON_MM, Chain, ChainPart, Clearance},
        closure::{Element, Line, Posture},
        stock::LinkId,
    },
    catalog::FittingDef,
    geometry::{Pose, Scene, Shape, Solid, SolidId, axis, face_to_face, origin, separation, separation_within, turned},
    layout::{Layout, Port},
};

/// Depth in millimetres to which bodies may share space where they are joined, beyond what the closure allowance
/// says: rounding of the numbers in files, far less than a sealing ring gives.
const SEAT_DEPTH_MM: f64 = 0.05;

/// Depth in millimetres from which two parts of a chain count as being in each other's way.
pub(super) const OVERLAP_MM: f64 = 0.01;

/// How near a posture that is called blocked may be to having the clearance, in millimetres.
pub(in crate::bridge) const PROOF_MARGIN_MM: f64 = 0.01;

/// The layout around a gap.
pub(in crate::bridge) struct Site<'a> {
    pub(in crate::bridge) fittings: &'a [FittingDef],
    layout: &'a Layout,
    pub(super) ports: [&'a Port; 2],
    pub(in crate::bridge) scene: Scene,
    /// Body of each solid of the scene.
    pub(in crate::bridge) owners: Vec<usize>,
    /// The solids on which each port's seat lies.
    pub(super) seats: [Vec<SolidId>; 2],
    /// The solids of each fitting in its own frame, for parts of fixed length.
    bodies: Vec<Vec<(Solid, Option<usize>)>>,
    clearance_mm: f64,
    /// Whether chains may run into themselves and into what carries their seats, as deep as they like.
    whatever: bool,
    /// How deep a chain may stand in the solid that carries a seat: a chain that closes within its allowance may end
    /// that much behind the seat, and lean.
    seat_depth_mm: f64,
}

/// A chain in place: its parts, and each solid with the part and run it belongs to.
pub(in crate::bridge) struct Built {
    parts: Vec<ChainPart>,
    pub(in crate::bridge) solids: Vec<Member>,
    end: Pose,
}

pub(in crate::bridge) struct Member {
    pub(in crate::bridge) solid: Solid,
    pub(in crate::bridge) part: usize,
    /// The run it lies along, if it is round about one.
    pub(in crate::bridge) run: Option<usize>,
    /// The run or the turning element that its part belongs to.
    pub(in crate::bridge) element: Element,
}

impl Built {
    /// Solids alone, for looking at what they run into.
    pub(in crate::bridge) fn of(solids: Vec<Member>) -> Self {
        Self { parts: Vec::new(), solids, end: Pose::identity() }
    }

    /// The greatest of what is asked of its solids.
    pub(in crate::bridge) fn farthest<const N: usize>(&self, of: impl Fn(&Solid, Element) -> [f64; N]) -> [f64; N] {
        self.solids.iter().fold([0.0; N], |most, member| {
            let these = of(&member.solid, member.element);
            std::array::from_fn(|index| these[index].max(most[index]))
        })
    }
}

/// A posture that collides.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Collides;

impl<'a> Site<'a> {
    pub(in crate::bridge) fn new(
        fittings: &'a [FittingDef],
        layout: &'a Layout,
        ports: [&'a Port; 2],
        clearance_mm: f64,
    ) -> Self {
        let mut solids = Vec::new();
        let mut owners = Vec::new();
        for (index, body) in layout.bodies().iter().enumerate() {
            solids.extend(body.solids.iter().cloned());
            owners.extend(body.solids.iter().map(|_| index));
        }
        let scene = Scene::new(solids);
        let seats = ports.map(|port| seat_solids(&scene, port));
        let bodies = fittings.iter().map(|fitting| solids_of(fitting, 0.0)).collect();
        let allowances = layout.allowances();
        let lean = allowances.closure_deg.to_radians().sin();
        let seat_mm = ports.iter().map(|port| port.seat_mm).fold(0.0, f64::max);
        let seat_depth_mm = SEAT_DEPTH_MM + allowances.closure_mm + lean * seat_mm;
        Self { fittings, layout, ports, scene, owners, seats, bodies, clearance_mm, whatever: false, seat_depth_mm }
    }

    /// The same, but every chain has room, whatever it runs into.
    pub(in crate::bridge) fn regardless(self) -> Self {
        Self { clearance_mm: WHATEVER_MM, whatever: true, ..self }
    }

    /// The chain in this posture, if it clears everything.
    pub(in crate::bridge) fn chain(
        &self,
        links: &[LinkId],
        closed: &Closed,
        posture: &Posture,
    ) -> Result<Chain, Collides> {
        let built = self.build(links, closed, posture);
        let last_run = closed.turns.len();
        if !self.has_room(&built, last_run) {
            return Err(Collides);
        }
        let clearance = self.clearance(&built, last_run);
        let to = &self.ports[1].pose;
        let miss = origin(&built.end) - origin(to);
        let (ahead, facing) = (axis(&built.end), -axis(to));
        // A posture polished to the very edge of the allowance may lie beyond it once laid out.
        if miss.norm() > self.layout.allowances().closure_mm {
            return Err(Collides);
        }
        let fittings = || links.iter().map(|link| self.fitting(*link));
        Ok(Chain {
            residual_mm: miss.norm(),
            residual_deg: ahead.cross(&facing).norm().atan2(ahead.dot(&facing)).to_degrees(),
            residual_vector_mm: miss.into(),
            #[expect(clippy::cast_precision_loss, reason = "micropascals of a chain are far below 2^53")]
            loss_kpa: closed.loss as f64 * 1e-9,
            clearance,
            length_mm: fittings().flat_map(|fitting| &fitting.legs).sum::<f64>()
                + built.parts.iter().map(|part| part.stretch_mm).sum::<f64>(),
            price: fittings().map(|fitting| fitting.price).sum(),
            parts: built.parts,
        })
    }

    /// Whether several adjustable parts of one run share its length in this posture, so that they could share it otherwise.
    pub(in crate::bridge) fn shares_length(&self, links: &[LinkId], closed: &Closed, posture: &Posture) -> bool {
        let mut rest = links;
        closed.runs.iter().enumerate().any(|(run, laid)| {
            let (parts, others) = rest.split_at(laid.parts.min(rest.len()));
            rest = others.get(1..).unwrap_or(&[]);
            let adjustable = parts.iter().filter(|link| self.fitting(**link).stretch_mm.is_some()).count();
            let spare = spare_length(closed, posture, run);
            let most = laid.run.span.longest - laid.run.span.shortest;
            adjustable > 1 && spare > SHARED_MM && spare < most - SHARED_MM
        })
    }

    /// Whether one of the links can be drawn out.
    pub(in crate::bridge) fn is_adjustable(&self, links: &[LinkId]) -> bool {
        links.iter().any(|link| self.fitting(*link).stretch_mm.is_some())
    }

    /// Where a port is, ahead along its `z`, and the solids that carry its seat.
    pub(in crate::bridge) fn seat(&self, port: usize) -> (Pose, &[SolidId]) {
        (self.ports[port].pose, &self.seats[port])
    }

    /// How deep a chain may stand in what carries its seat.
    pub(super) fn seat_depth_mm(&self) -> f64 {
        self.seat_depth_mm
    }

    /// Least clearance that is asked for.
    pub(in crate::bridge) fn clearance_mm(&self) -> f64 {
        self.clearance_mm
    }

    pub(in crate::bridge) fn fitting(&self, link: LinkId) -> &'a FittingDef {
        &self.fittings[link as usize / 2]
    }

    /// Lays the chain out from the first port in this posture.
    pub(in crate::bridge) fn build(&self, links: &[LinkId], closed: &Closed, posture: &Posture) -> Built {
        let port = self.ports[0];
        let mut here = port.pose;
        let mut parts = Vec::with_capacity(links.len());
        let mut solids = Vec::with_capacity(links.len() * 4);
        let mut run = 0;
        let mut in_run = 0;
        let mut spare = spare_length(closed, posture, 0);
        for (index, link) in links.iter().enumerate() {
            let fitting = self.fitting(*link);
            let entry = (link & 1) as usize;
            let turning = in_run == closed.runs[run].parts;
            let (turn, stretch) = if turning {
                (Some(posture.turns[run]), fitting.stretch_mm.map_or(0.0, |_| posture.draws[run]))
            } else {
                let stretch = fitting.stretch_mm.unwrap_or(0.0).min(spare);
                spare -= stretch;
                (None, stretch)
            };
            let entered = here * turned(turn.unwrap_or(0.0));
            let ends = fitting.end_frames(stretch);
            let pose = if entry == 0 { entered } else { entered * face_to_face().inverse() * ends[1].inverse() };
            here = pose * ends[1 - entry];
            let fresh;
            let body = if stretch == 0.0 {
                &self.bodies[*link as usize / 2]
            } else {
                fresh = solids_of(fitting, stretch);
                &fresh
            };
            for (solid, leg) in body {
                let along = leg.and_then(|leg| run_along(fitting, entry, leg, turning, run));
                let element = if turning { Element::Turning(run) } else { Element::Run(run) };
                solids.push(Member { solid: solid.moved(&pose), part: index, run: along, element });
            }
            let turn_deg = turn.map(|turn| {
                let degrees = turn.to_degrees().rem_euclid(360.0);
                // Just below a full turn is no turn at all.
                if degrees > 360.0 - 1e-9 { 0.0 } else { degrees }
            });
            parts.push(ChainPart { fitting: fitting.id.clone(), entry, pose, stretch_mm: stretch, turn_deg });
            if turning {
                run += 1;
                in_run = 0;
                spare = spare_length(closed, posture, run);
            } else {
                in_run += 1;
            }
        }
        Built { parts, solids, end: here }
    }

    /// The seat solids that a member may touch.
    pub(in crate::bridge) fn excused(&self, member: &Member, last_run: usize) -> [&[SolidId]; 2] {
        let side = |run: usize, port: usize| if member.run == Some(run) { &self.seats[port][..] } else { &[] };
        [side(0, 0), side(last_run, 1)]
    }

    /// Whether it stays clear of everything around and of itself.
    pub(in crate::bridge) fn has_room(&self, built: &Built, last_run: usize) -> bool {
        if self.whatever {
            return true;
        }
        let blocked = built.solids.iter().any(|member| self.blocked(member, last_run, 0.0));
        !blocked && !overlaps_itself(built)
    }

    /// Whether some solid of it is in something, or too near, all through a motion.
    pub(in crate::bridge) fn blocks(&self, built: &Built, last_run: usize, motion: &impl Motion) -> bool {
        let spare = |member: &Member| PROOF_MARGIN_MM - motion.reach(&member.solid, member.element);
        built.solids.iter().any(|member| self.blocked(member, last_run, spare(member)))
            || overlaps(built, |nearer, farther| {
                PROOF_MARGIN_MM - motion.apart((&nearer.solid, nearer.element), (&farther.solid, farther.element))
            })
    }

    /// Whether a solid comes nearer to anything than it may, and `spare` millimetres more.
    fn blocked(&self, member: &Member, last_run: usize, spare: f64) -> bool {
        let excused = self.excused(member, last_run);
        let skip = |id: SolidId| excused.iter().any(|seats| seats.contains(&id));
        self.scene.blocker(&member.solid, self.clearance_mm + spare, skip).is_some()
            || excused.iter().flat_map(|seats| seats.iter()).any(|seat| {
                self.scene.solid(*seat).is_some_and(|seat| {
                    let depth = self.seat_depth_mm - spare;
                    separation_within(&member.solid, seat, 0.0).is_some_and(|s| s.signed_mm < -depth)
                })
            })
    }

    /// By how many millimetres it has more room than it must, or less where that is negative. Seats are left out.
    pub(in crate::bridge) fn spare_mm(&self, built: &Built, last_run: usize) -> f64 {
        let clearance = self.clearance(built, last_run).map_or(CLEARANCE_HORIZON_MM, |clearance| clearance.mm);
        pairs(built)
            .filter_map(|(one, other)| separation_within(&one.solid, &other.solid, 0.0))
            .map(|separation| separation.signed_mm + OVERLAP_MM)
            .fold(clearance - self.clearance_mm, f64::min)
    }

    fn clearance(&self, built: &Built, last_run: usize) -> Option<Clearance> {
        self.clearance_to(built, last_run, |_| true)
    }

    /// The same to those bodies that count, by their places among the layout's bodies.
    pub(super) fn clearance_to(
        &self,
        built: &Built,
        last_run: usize,
        counts: impl Fn(usize) -> bool,
    ) -> Option<Clearance> {
        let mut horizon = CLEARANCE_HORIZON_MM;
        let mut least = None;
        for member in &built.solids {
            let excused = self.excused(member, last_run);
            let skip =
                |id: SolidId| excused.iter().any(|seats| seats.contains(&id)) || !counts(self.owners[id.0 as usize]);
            if let Some((id, separation)) = self.scene.nearest(&member.solid, horizon, skip) {
                if separation.signed_mm >= horizon {
                    continue;
                }
                horizon = separation.signed_mm;
                least = Some(Clearance {
                    mm: separation.signed_mm,
                    state: separation.state,
                    body: self.layout.bodies()[self.owners[id.0 as usize]].name.clone(),
                    part: member.part,
                    on_chain: separation.on_a.into(),
                    on_body: separation.on_b.into(),
                });
            }
        }
        least
    }
}

/// A clearance that everything has, in millimetres.
const WHATEVER_MM: f64 = -1e6;

/// The run that a solid around a leg lies along: of a part in run `run`, or of the turning part behind it, whose first leg lies
/// along that run and whose last along the next.
pub(super) fn run_along(fitting: &FittingDef, entry: usize, leg: usize, turning: bool, run: usize) -> Option<usize> {
    let last_leg = fitting.legs.len().saturating_sub(1);
    let from_entry = if entry == 0 { leg } else { last_leg.saturating_sub(leg) };
    match (turning, from_entry) {
        (false, _) | (true, 0) => Some(run),
        (true, leg) if leg == last_leg => Some(run + 1),
        _ => None,
    }
}

/// Length in millimetres that adjustable parts can share in one way only, for every purpose.
const SHARED_MM: f64 = 0.01;

/// How much longer a run is than its parts pushed together.
fn spare_length(closed: &Closed, posture: &Posture, run: usize) -> f64 {
    (posture.runs[run] - closed.runs[run].run.span.shortest).max(0.0)
}

pub(in crate::bridge) fn solids_of(fitting: &FittingDef, stretch: f64) -> Vec<(Solid, Option<usize>)> {
    fitting
        .body(stretch)
        .into_iter()
        .filter_map(|body| Some((Solid::new(&body.shape, body.pose).ok()?, body.leg)))
        .collect()
}

/// A port as the closure sees it.
pub(in crate::bridge) fn line_of(port: &Port) -> Line {
    Line { at: origin(&port.pose), towards: axis(&port.pose), mark: port.pose.rotation * nalgebra::Vector3::x() }
}

/// The solids on whose surface a port's origin lies.
fn seat_solids(scene: &Scene, port: &Port) -> Vec<SolidId> {
    let Ok(probe) = Solid::new(&Shape::Sphere { diameter: SEAT_DEPTH_MM / 5.0 }, port.pose) else { return Vec::new() };
    (0..)
        .map(SolidId)
        .map_while(|id| Some((id, scene.solid(id)?)))
        .filter(|(_, solid)| separation(&probe, solid).signed_mm.abs() <= 2.0 * SEAT_DEPTH_MM)
        .map(|(id, _)| id)
        .collect()
}

/// Whether parts of the chain run into each other. What lies along one run is joined, not in the way.
pub(in crate::bridge) fn overlaps_itself(built: &Built) -> bool {
    overlaps(built, |_, _| 0.0)
}

/// The same with so many millimetres to spare for a pair, of which the first comes first in the chain.
fn overlaps(built: &Built, spare: impl Fn(&Member, &Member) -> f64) -> bool {
    pairs(built).any(|(one, other)| {
        separation_within(&one.solid, &other.solid, 0.0).is_some_and(|s| s.signed_mm < spare(one, other) - OVERLAP_MM)
    })
}

/// The pairs of solids that must not overlap, in the order of the chain.
pub(in crate::bridge) fn pairs(built: &Built) -> impl Iterator<Item = (&Member, &Member)> {
    let solids = &built.solids;
    solids.iter().enumerate().flat_map(|(first, one)| {
        let others = solids[first + 1..].iter().map(move |other| (one, other));
        others.filter(|(one, other)| one.part != other.part && !(one.run.is_some() && one.run == other.run))
    })
}
