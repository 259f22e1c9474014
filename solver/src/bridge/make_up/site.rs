//! A chain in its place: its parts, joints and solids, and the layout around them.

use super::{
    MakeUpWishes,
    joint::{Half, JointFacts, joint},
};
use crate::{
    bridge::{answer::Chain, placed::marked_like},
    catalog::{Catalog, FittingDef},
    geometry::{Pose, Shape, Solid, Vector, along, axis, face_to_face, separation},
    layout::{BodyId, BodyKind, Layout, Port},
};

/// How far a port's centre may be off a solid's surface for the solid to count as its seat, in millimetres.
const SEAT_DEPTH_MM: f64 = 0.1;

/// A chain in its place. Parts are counted from 0; joint `j` lies before part `j`.
pub(super) struct Site<'a> {
    pub(super) layout: &'a Layout,
    pub(super) chain: &'a Chain,
    pub(super) fittings: Vec<&'a FittingDef>,
    pub(super) ports: [&'a Port; 2],
    /// For each port, what moves when its component does: the component itself first, then what is mounted on it.
    pub(super) travelling: [Vec<usize>; 2],
    pub(super) joints: Vec<JointFacts>,
    pub(super) halves: Vec<[Half; 2]>,
    /// World frame of each joint when all is home: origin at the seat, `z` towards the second port.
    pub(super) frames: Vec<Pose>,
    pub(super) members: Vec<Member>,
    pub(super) obstacles: Vec<Obstacle>,
    /// Places of the bodies that another chain holds where they are, each with the name of that chain.
    pub(super) held: Vec<(usize, String)>,
    pub(super) wishes: MakeUpWishes,
    pub(super) clearance_mm: f64,
}

/// A solid of the chain at home.
#[derive(Clone, Debug)]
pub(super) struct Member {
    pub(super) solid: Solid,
    pub(super) part: usize,
    /// The run it lies along, if it is round about one.
    pub(super) run: Option<usize>,
    pub(super) kind: MemberKind,
}

/// What a member is of its part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum MemberKind {
    /// The body solid of that number.
    Body(usize),
    /// The male thread of a joint, a solid only while the joint is open.
    Thread(usize),
}

/// A solid of the layout.
#[derive(Clone, Debug)]
pub(super) struct Obstacle {
    pub(super) solid: Solid,
    /// Place of its body in the layout.
    pub(super) body: usize,
    /// The port, 0 or 1, whose component it moves with: it is part of that component, or mounted on it.
    pub(super) moves_with: Option<usize>,
    /// Whether the seat of the first and of the second port lies on it.
    pub(super) seat_of: [bool; 2],
}

impl<'a> Site<'a> {
    /// Gathers the chain; in words, why it cannot be modelled.
    pub(super) fn new(
        catalog: &'a Catalog,
        layout: &'a Layout,
        ports: [&'a Port; 2],
        chain: &'a Chain,
        wishes: &MakeUpWishes,
    ) -> Result<Self, String> {
        let [from, to] = ports;
        if chain.parts.is_empty() {
            return Err("ports joined without a fitting: a whole component would have to turn".to_owned());
        }
        let fittings = chain.parts.iter().map(|part| {
            let found = catalog.fitting(&part.fitting).filter(|fitting| fitting.ends.len() == 2 && part.entry < 2);
            found.ok_or_else(|| format!("the catalog has no fitting `{}` with two ends", part.fitting))
        });
        let fittings = fittings.collect::<Result<Vec<_>, _>>()?;
        let mut sides = vec![Half::of_port(from)];
        // The chain may miss either port, by which it was laid out from the other.
        let start = chain.parts.first().zip(fittings.first());
        let start = start.map(|(part, fitting)| part.pose * fitting.end_frames(part.stretch_mm)[part.entry]);
        let mut frames = vec![start.map_or(from.pose, |start| marked_like(&(start * face_to_face()), from))];
        for (part, fitting) in chain.parts.iter().zip(&fittings) {
            let (entry, exit) = (part.entry, 1 - part.entry);
            sides.extend([Half::of_end(&fitting.ends[entry]), Half::of_end(&fitting.ends[exit])]);
            frames.push(part.pose * fitting.end_frames(part.stretch_mm)[exit]);
        }
        sides.push(Half::of_port(to));
        let halves: Vec<[Half; 2]> = sides.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect();
        let joints = halves.iter().zip(&frames).enumerate().map(|(index, ([left, right], frame))| {
            joint(left, right, *frame).ok_or_else(|| format!("joint {index} has no mating threads"))
        });
        let joints = joints.collect::<Result<Vec<_>, _>>()?;
        let travelling =
            ports.map(|port| layout.travelling_with(port.body).into_iter().map(BodyId::index).collect::<Vec<_>>());
        let mut site = Self {
            layout,
            chain,
            members: Vec::new(),
            obstacles: obstacles(layout, ports, &travelling),
            fittings,
            ports,
            travelling,
            joints,
            halves,
            frames,
            held: Vec::new(),
            wishes: *wishes,
            clearance_mm: wishes.clearance_mm.unwrap_or(layout.allowances().clearance_mm),
        };
        site.members = site.all_members();
        Ok(site)
    }

    /// How many parts the chain has.
    pub(super) fn parts(&self) -> usize {
        self.fittings.len()
    }

    pub(super) fn is_straight(&self, part: usize) -> bool {
        self.fittings.get(part).is_some_and(|fitting| fitting.bends.is_empty())
    }

    /// Name of a body of the layout.
    pub(super) fn body_name(&self, body: usize) -> String {
        self.layout.bodies().get(body).map_or_else(String::new, |body| body.name.clone())
    }

    /// Name of the component that a port belongs to.
    pub(super) fn port_body(&self, side: usize) -> String {
        self.body_name(self.ports[side].body.index())
    }

    /// Names of what travels with a component that is offered up.
    pub(super) fn carried_by(&self, component: &str) -> Vec<String> {
        let side = usize::from(self.port_body(0) != component);
        self.layout.carried_by(self.ports[side].body)
    }

    /// The distance that a member must keep from an obstacle: the clearance, but none at a seat it closes on, where it
    /// may also be as deep as it is at home.
    pub(super) fn need_to_layout(&self, member: &Member, obstacle: &Obstacle) -> f64 {
        let last_run = self.last_run();
        let at_seat =
            obstacle.seat_of[0] && member.run == Some(0) || obstacle.seat_of[1] && member.run == Some(last_run);
        match (at_seat, member.kind) {
            (false, _) => self.clearance_mm,
            (true, MemberKind::Thread(_)) => 0.0,
            (true, MemberKind::Body(_)) => separation(&member.solid, &obstacle.solid).signed_mm.min(0.0),
        }
    }

    /// The distance that two members must keep: parts of one chain may touch, and along one run they may be as deep in
    /// each other as they are at home.
    pub(super) fn need_to_member(&self, one: &Member, other: &Member) -> f64 {
        let bodies = matches!((one.kind, other.kind), (MemberKind::Body(_), MemberKind::Body(_)));
        if bodies && one.run.is_some() && one.run == other.run {
            separation(&one.solid, &other.solid).signed_mm.min(0.0)
        } else {
            0.0
        }
    }

    /// The solid of a member whose adjustable part is drawn out by `stretch_mm`, in the fitting's frame.
    pub(super) fn drawn_body(&self, part: usize, index: usize, stretch_mm: f64) -> Option<Solid> {
        let body = self.fittings[part].body(stretch_mm);
        let solid = body.get(index)?;
        Solid::new(&solid.shape, solid.pose).ok()
    }

    fn last_run(&self) -> usize {
        (0..self.parts()).filter(|part| !self.is_straight(*part)).count()
    }

    fn all_members(&self) -> Vec<Member> {
        let mut members = Vec::new();
        let mut run = 0;
        for (part, (placed, fitting)) in self.chain.parts.iter().zip(&self.fittings).enumerate() {
            let straight = self.is_straight(part);
            let last_leg = fitting.legs.len() - 1;
            for (index, body) in fitting.body(placed.stretch_mm).into_iter().enumerate() {
                let Ok(solid) = Solid::new(&body.shape, placed.pose * body.pose) else { continue };
                let along = body.leg.and_then(|leg| {
                    let from_entry = if placed.entry == 0 { leg } else { last_leg - leg };
                    match from_entry {
                        0 => Some(run),
                        leg if !straight && leg == last_leg => Some(run + 1),
                        _ => None,
                    }
                });
                members.push(Member { solid, part, run: along, kind: MemberKind::Body(index) });
            }
            let exit_run = run + usize::from(!straight);
            members.extend(self.thread(part, part, run).into_iter().chain(self.thread(part, part + 1, exit_run)));
            run = exit_run;
        }
        members
    }

    /// The male thread that `part` puts into `joint`.
    fn thread(&self, part: usize, joint: usize, run: usize) -> Option<Member> {
        let facts = &self.joints[joint];
        let at_entry = part == joint;
        if !facts.male[usize::from(at_entry)] {
            return None;
        }
        // At its entry the thread stands out towards the first port, at its exit towards the second.
        let length = self.halves[joint][usize::from(at_entry)].thread_length_mm;
        let middle = if at_entry { -length / 2.0 } else { length / 2.0 };
        let shape = Shape::Cylinder { diameter: facts.thread.major_diameter_mm(), length };
        let solid = Solid::new(&shape, self.frames[joint] * along(middle)).ok()?;
        Some(Member { solid, part, run: Some(run), kind: MemberKind::Thread(joint) })
    }

    /// The way the centreline leaves a joint at home.
    pub(super) fn way(&self, joint: usize) -> Vector {
        axis(&self.frames[joint])
    }

    /// The direction in which a straight part is drawn out, towards the second port; `None` if it is no straight link.
    pub(super) fn draw(&self, part: usize) -> Option<(Vector, f64)> {
        let most = self.fittings[part].stretch_mm?;
        self.is_straight(part).then(|| (self.way(part + 1), most))
    }

    /// The frame of an adjustable part's own pose, used where it is redrawn.
    pub(super) fn part_pose(&self, part: usize) -> Pose {
        self.chain.parts[part].pose
    }
}

/// All solids but those of removable panels, which are off while the chain is made up.
fn obstacles(layout: &Layout, ports: [&Port; 2], travelling: &[Vec<usize>; 2]) -> Vec<Obstacle> {
    // Where one port's component is mounted on the other's, what it carries is nearer to it.
    let nearer = if travelling[0].contains(&ports[1].body.index()) { [1, 0] } else { [0, 1] };
    let moves_with = |body: usize| nearer.into_iter().find(|side: &usize| travelling[*side].contains(&body));
    let probe = |port: &Port| Solid::new(&Shape::Sphere { diameter: SEAT_DEPTH_MM / 10.0 }, port.pose);
    let probes = ports.map(probe);
    let bodies = layout.bodies().iter().enumerate();
    bodies
        .filter(|(_, body)| body.kind != BodyKind::Panel { removable: true })
        .flat_map(|(index, body)| body.solids.iter().map(move |solid| (index, solid)))
        .map(|(body, solid)| {
            let seat_of = [0, 1].map(|side: usize| {
                probes[side].as_ref().is_ok_and(|probe| separation(probe, solid).signed_mm.abs() <= SEAT_DEPTH_MM)
            });
            Obstacle { solid: solid.clone(), body, moves_with: moves_with(body), seat_of }
        })
        .collect()
}
