//! How the last joint comes to stand open while both its sides are held: links pushed in, swivels turned, or a
//! component held back.

use super::{
    Blocker, Moving,
    joint::Turning,
    placing::{Around, Posture, Present, shift},
    site::Site,
    sweep::{Sweep, swept_hit},
};
use crate::geometry::{Pose, Vector, axis, face_to_face, origin, separation, turned};
use nalgebra::{DMatrix, DVector};

/// How far the opening grows between two postures that are tested, in millimetres.
const OPENING_STEP_MM: f64 = 0.5;

/// How many millimetres at a joint weigh as much as a radian: about the length of a part.
const MM_PER_RADIAN: f64 = 20.0;

/// Rounds of the least-squares step for each opening.
const ROUNDS: usize = 12;

/// A posture in which a joint stands open, reached from home on a clear way.
#[derive(Clone, Debug)]
pub(super) struct Opening {
    pub(super) posture: Posture,
    /// The way from home to that posture, both included.
    pub(super) way: Vec<Posture>,
    pub(super) opening_mm: f64,
    /// Part and length drawn out.
    pub(super) links: Vec<(usize, f64)>,
    /// Joint and turn in degrees.
    pub(super) swivels: Vec<(usize, f64)>,
    /// The component that is held back, the way it moves back, in world axes.
    pub(super) component: Option<(String, Vector)>,
}

/// Opens `joint` by `opening_mm` along its axis with links and swivels alone.
pub(super) fn by_hand(site: &Site<'_>, joint: usize, opening_mm: f64) -> Result<Opening, Blocker> {
    let freedoms = freedoms(site, joint);
    let mut values = vec![0.0; freedoms.len()];
    let miss = end_miss(site, &pose_parts(site, joint, &freedoms, &values), joint, 0.0);
    let mut before = Posture::home(site);
    let mut passed = vec![before.clone()];
    let mut opened = 0.0;
    let all = Present { part: &|_| true, made: &|_| true };
    while opened < opening_mm {
        let next = (opened + OPENING_STEP_MM).min(opening_mm);
        let Some(found) = solve(site, joint, &freedoms, &values, next, &miss) else {
            return Err(Blocker::NoAxialRoom { needed_mm: opening_mm, found_mm: opened });
        };
        values = found;
        let posture = pose_parts(site, joint, &freedoms, &values);
        let around = Around::new(site, &posture, &all);
        let group: Vec<_> = around
            .chain
            .iter()
            .map(|(member, solid)| (*member, solid.clone(), way(&before.member(site, member), solid) / 2.0))
            .collect();
        around.stands(&group)?;
        passed.push(posture.clone());
        (before, opened) = (posture, next);
    }
    let drawn = |part: usize, by: f64| (part, site.chain.parts[part].stretch_mm + by);
    let moved = freedoms.iter().zip(&values).filter(|(_, value)| value.abs() > 1e-6);
    let (mut links, mut swivels) = (Vec::new(), Vec::new());
    for (freedom, value) in moved {
        match *freedom {
            Freedom::Draw { part, .. } => links.push(drawn(part, *value)),
            Freedom::Swivel { joint, .. } => swivels.push((joint, value.to_degrees())),
        }
    }
    // A link that comes to its stop a little early leaves less, within the layout's allowance for closing.
    let stands_at = |posture: &Posture| end_miss(site, posture, joint, 0.0).rows(0, 3).into_owned();
    let apart = stands_at(&before) - stands_at(&passed[0]);
    let opening_mm = apart.dot(&axis(&before.frame_before(site, joint)));
    Ok(Opening { posture: before, way: passed, opening_mm, links, swivels, component: None })
}

/// Opens `joint` by holding back the component of the second port (or of the first), with all that is joined to it or
/// mounted on it.
pub(super) fn by_component(site: &Site<'_>, joint: usize, opening_mm: f64, second: bool) -> Result<Opening, Blocker> {
    let [own, other] = if second { [1, 0] } else { [0, 1] };
    let travelling = &site.travelling[own];
    let name = site.port_body(own);
    if travelling.contains(&site.ports[other].body.index()) {
        return Err(Blocker::NoAxialRoom { needed_mm: opening_mm, found_mm: 0.0 });
    }
    if let Some((body, by)) = site.held.iter().find(|(body, _)| travelling.contains(body)) {
        return Err(Blocker::Joined { component: site.body_name(*body), by: by.clone() });
    }
    let back = if second { site.way(joint) } else { -site.way(joint) };
    let carried = |part: usize| (part >= joint) == second;
    let home = Posture::home(site);
    let made = |_| true;
    let still = Present { part: &|part| !carried(part), made: &made };
    let mut around = Around::new(site, &home, &still);
    around.layout.retain(|(obstacle, _)| !travelling.contains(&obstacle.body));
    let frame = crate::geometry::facing(origin(&site.frames[joint]), nalgebra::Unit::new_normalize(back));
    let sweep = Sweep { frame, turn: [0.0; 2], travel: [0.0, opening_mm] };
    for carried in site.obstacles.iter().filter(|obstacle| travelling.contains(&obstacle.body)) {
        let blocked = |body: String, part, gap_mm, needed_mm| {
            let moving = if carried.body == site.ports[own].body.index() {
                Moving::Component(name.clone())
            } else {
                Moving::Carried { rider: site.body_name(carried.body), component: name.clone() }
            };
            Err(Blocker::InTheWay { moving, body, part, gap_mm, needed_mm })
        };
        let travelled = carried.solid.bounds().union(&carried.solid.moved(&shift(&back, opening_mm)).bounds());
        for (other, solid) in &around.layout {
            if travelled.signed_mm(&solid.bounds()) > 0.0 {
                continue;
            }
            // Where it stands, a component may touch what carries it.
            let need = separation(&carried.solid, solid).signed_mm.min(0.0);
            if let Some(hit) = swept_hit(&sweep, &carried.solid, solid, need) {
                return blocked(site.body_name(other.body), None, hit.signed_mm, need);
            }
        }
        for (member, solid) in &around.chain {
            let need = site.need_to_layout(member, carried);
            if travelled.signed_mm(&solid.bounds()) <= need
                && let Some(hit) = swept_hit(&sweep, &carried.solid, solid, need)
            {
                return blocked(site.fittings[member.part].id.clone(), Some(member.part), hit.signed_mm, need);
            }
        }
    }
    let moving = Present { part: &carried, made: &made }.members(site, &home);
    around.screw(&moving, &frame, [0.0, opening_mm], &Turning::Collar(joint))?;
    let by = shift(&back, opening_mm);
    let mut posture = home.clone();
    posture.components[own] = by;
    for (part, sides) in posture.sides.iter_mut().enumerate() {
        if carried(part) {
            *sides = [by; 2];
        }
    }
    let way = vec![home, posture.clone()];
    let component = Some((name, back));
    Ok(Opening { posture, way, opening_mm, links: Vec::new(), swivels: Vec::new(), component })
}

/// Something that gives way.
#[derive(Clone, Copy, Debug)]
enum Freedom {
    /// A swivel at a joint.
    Swivel { joint: usize },
    /// A link, from how far it can be pushed in to how far it can be drawn out, against home.
    Draw { part: usize, along: Vector, least: f64, most: f64 },
}

impl Freedom {
    /// Millimetres for each unit of its value.
    fn scale(&self) -> f64 {
        match self {
            Self::Swivel { .. } => MM_PER_RADIAN,
            Self::Draw { .. } => 1.0,
        }
    }
}

fn freedoms(site: &Site<'_>, open: usize) -> Vec<Freedom> {
    let joints = (0..site.joints.len()).filter(|joint| *joint != open && site.joints[*joint].swivels.contains(&true));
    let links = (0..site.parts()).filter_map(|part| {
        let (along, most) = site.draw(part)?;
        let drawn = site.chain.parts[part].stretch_mm;
        Some(Freedom::Draw { part, along, least: -drawn, most: most - drawn })
    });
    links.chain(joints.map(|joint| Freedom::Swivel { joint })).collect()
}

/// The posture with these values, each side of the open joint built up from its own port.
fn pose_parts(site: &Site<'_>, open: usize, freedoms: &[Freedom], values: &[f64]) -> Posture {
    let mut posture = Posture::home(site);
    let mut turns = vec![0.0; site.joints.len()];
    let mut draws = vec![(Vector::zeros(), 0.0); site.parts()];
    for (freedom, value) in freedoms.iter().zip(values) {
        match *freedom {
            Freedom::Swivel { joint } => turns[joint] = *value,
            Freedom::Draw { part, along, .. } => draws[part] = (along, *value),
        }
    }
    let about = |joint: usize| site.frames[joint] * turned(turns[joint]) * site.frames[joint].inverse();
    let mut motion = Pose::identity();
    for (part, (along, by)) in draws.iter().enumerate().take(open) {
        let entry = motion * about(part);
        motion = entry * shift(along, *by);
        posture.sides[part] = [entry, motion];
    }
    motion = Pose::identity();
    for part in (open..site.parts()).rev() {
        let exit = motion * about(part + 1);
        motion = exit * shift(&draws[part].0, -draws[part].1);
        posture.sides[part] = [motion, exit];
    }
    posture.draws = draws.into_iter().map(|(_, by)| by).collect();
    posture
}

/// How the two sides of the open joint stand to each other, against standing `opening` apart in line: millimetres, and
/// direction in weighted radians.
fn end_miss(site: &Site<'_>, posture: &Posture, joint: usize, opening: f64) -> DVector<f64> {
    let (left, right) = (posture.frame_before(site, joint), posture.frame_after(site, joint));
    let ahead = axis(&left);
    // At either end of the chain the far side is a port that faces the chain, or a part's own frame.
    let right = if joint == site.parts() { site.ports[1].pose * face_to_face() } else { right };
    let place = origin(&right) - origin(&left) - ahead * opening;
    let tilt = ahead.cross(&axis(&right)) * MM_PER_RADIAN;
    DVector::from_iterator(6, place.iter().chain(tilt.iter()).copied())
}

/// Values that open the joint by `opening`, from values near by; `None` if it cannot be opened within the layout's
/// allowance for closing.
fn solve(
    site: &Site<'_>,
    joint: usize,
    freedoms: &[Freedom],
    start: &[f64],
    opening: f64,
    home_miss: &DVector<f64>,
) -> Option<Vec<f64>> {
    let mut values = start.to_vec();
    let miss = |values: &[f64]| end_miss(site, &pose_parts(site, joint, freedoms, values), joint, opening) - home_miss;
    for _ in 0..ROUNDS {
        let now = miss(&values);
        if now.norm() < 1e-6 {
            break;
        }
        let mut slopes = DMatrix::zeros(6, freedoms.len());
        for (index, freedom) in freedoms.iter().enumerate() {
            let step = 1e-6 / freedom.scale();
            let mut there = values.clone();
            there[index] += step;
            slopes.set_column(index, &((miss(&there) - &now) / (step * freedom.scale())));
        }
        // The shortest step, damped so that directions that do not matter stay put.
        let square = &slopes * slopes.transpose() + DMatrix::identity(6, 6) * 1e-6;
        let Some(weights) = square.cholesky().map(|square| square.solve(&now)) else { break };
        let step = slopes.transpose() * weights;
        for (index, freedom) in freedoms.iter().enumerate() {
            values[index] -= step[index] / freedom.scale();
            if let Freedom::Draw { least, most, .. } = freedom {
                values[index] = values[index].clamp(*least, *most);
            }
        }
    }
    let left = miss(&values);
    let allowances = site.layout.allowances();
    let closes = left.rows(0, 3).norm() <= allowances.closure_mm
        && left.rows(3, 3).norm() / MM_PER_RADIAN <= allowances.closure_deg.to_radians();
    closes.then_some(values)
}

/// No point of a solid moves farther than this between two places.
fn way(before: &crate::geometry::Solid, after: &crate::geometry::Solid) -> f64 {
    let (from, to) = (before.pose(), after.pose());
    let bounds = after.bounds();
    let radius = (bounds.max - bounds.min).norm() / 2.0;
    (to.translation.vector - from.translation.vector).norm() + from.rotation.angle_to(&to.rotation) * radius
}
