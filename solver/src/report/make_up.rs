//! Verdicts and orders of work in words: what a person reads before taking up the wrench.

use super::{
    GapFacts, PartReport,
    words::{direction, fixed, joined},
};
use crate::{
    bridge::{Blocker, JointFacts, MakeUp, Moving, Step, Turning, Verdict},
    geometry::axis,
};
use std::ops::RangeInclusive;

/// Below this an angle needs no setting, in degrees.
const NO_TURN_DEG: f64 = 0.05;

/// A step of the order of work in words. Parts are counted from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkStep {
    /// What to do.
    pub action: String,
    /// What to look at before going on.
    pub check: String,
}

/// Whether a chain can be made up, in words; `parts` are those of the chain that `made` judges, between the ports of
/// `gap`.
#[must_use]
pub fn verdict(gap: &GapFacts, parts: &[PartReport], made: &MakeUp) -> String {
    let told = Told { gap, parts, made };
    match &made.verdict {
        Verdict::MadeUpInPlace => "made up in place".to_owned(),
        Verdict::OfferedUp { component, direction: towards, distance_mm } => format!(
            "made up when `{component}`{} is offered up along {}: the {} mm it must travel are clear",
            carrying(&made.carried),
            direction(*towards),
            fixed(*distance_mm, 1)
        ),
        Verdict::CannotBeMadeUp { joint, blocker } => {
            format!("cannot be made up: {}, {}", told.joint(*joint), told.blocker(blocker))
        }
        Verdict::NotModelled { why } => format!("not judged: {why}"),
    }
}

/// The order of work of a chain in words, ending with a last look; empty unless the chain can be made up.
#[must_use]
pub fn order_of_work(gap: &GapFacts, parts: &[PartReport], made: &MakeUp) -> Vec<WorkStep> {
    let told = Told { gap, parts, made };
    if made.steps.is_empty() {
        return Vec::new();
    }
    made.steps.iter().map(|step| told.step(step)).chain([told.last_look()]).collect()
}

/// What is told of, for its names.
struct Told<'r> {
    gap: &'r GapFacts,
    parts: &'r [PartReport],
    made: &'r MakeUp,
}

impl Told<'_> {
    fn step(&self, step: &Step) -> WorkStep {
        match step {
            Step::Bench { joint, parts, turning } => self.bench(*joint, parts, turning),
            Step::HoldBack { component, direction: back, distance_mm } => WorkStep {
                action: format!(
                    "Hold `{component}`{} {} mm back along {} from its place, and with it all that is screwed to it by \
                     now.",
                    carrying(&self.made.carried),
                    fixed(*distance_mm, 1),
                    direction(*back)
                ),
                check: format!("nothing else is joined to `{component}` yet, and it moves that far without touching."),
            },
            Step::Open { joint, opening_mm, links, swivels } => self.open(*joint, *opening_mm, links, swivels),
            Step::Attach { joint, parts, from_first, turning, swung_deg } => {
                self.attach(*joint, parts, *from_first, turning, *swung_deg)
            }
            Step::Close { joint, turning, component } => self.close(*joint, turning, component.as_deref()),
        }
    }

    fn bench(&self, joint: usize, parts: &RangeInclusive<usize>, turning: &Turning) -> WorkStep {
        let (left, right) = (*parts.start()..=joint.saturating_sub(1), joint..=*parts.end());
        WorkStep {
            action: format!(
                "On the bench, screw {} onto {}: turn {}, clockwise, {}.{}",
                self.group(&right),
                self.group(&left),
                self.turned(turning),
                self.turns(joint),
                self.aimed(&right),
            ),
            check: "the sealing ring lies in its groove all round, and the two are one piece now.".to_owned(),
        }
    }

    fn attach(
        &self,
        joint: usize,
        parts: &RangeInclusive<usize>,
        from_first: bool,
        turning: &Turning,
        swung_deg: f64,
    ) -> WorkStep {
        let onto = match (joint, from_first) {
            (0, true) => self.gap.from.name.clone(),
            (_, true) => self.part(joint - 1),
            (_, false) if joint >= self.parts.len() => self.gap.to.name.clone(),
            (_, false) => self.part(joint),
        };
        let swung = if swung_deg.abs() < NO_TURN_DEG {
            String::new()
        } else {
            format!(
                " Until the joint is tight hold it {}° {} of its place; then swing it home.",
                fixed(swung_deg.abs(), 0),
                way_round(swung_deg)
            )
        };
        let (open_joint, sign) = if from_first { (parts.end() + 1, 1.0) } else { (*parts.start(), -1.0) };
        let looks = self.made.joints.get(open_joint).map(|facts| axis(&facts.frame) * sign);
        WorkStep {
            action: format!(
                "Screw {} onto {onto}: turn {}, clockwise, {}.{swung}{}",
                self.group(parts),
                self.turned(turning),
                self.turns(joint),
                if from_first { self.aimed(parts) } else { String::new() },
            ),
            check: match looks {
                Some(way) => format!(
                    "the ring is seated all round; the open end looks along {} towards {}.",
                    direction(way.into()),
                    self.towards(open_joint, from_first)
                ),
                None => "the ring is seated all round.".to_owned(),
            },
        }
    }

    fn open(&self, joint: usize, opening_mm: f64, links: &[(usize, f64)], swivels: &[(usize, f64)]) -> WorkStep {
        let pushed = links.iter().map(|(part, drawn_mm)| {
            let home = self.parts.get(*part).map_or(*drawn_mm, |part| part.stretch_mm);
            let how = if *drawn_mm < home { "push" } else { "draw" };
            let way = if *drawn_mm < home { "in" } else { "out" };
            format!(
                "{how} {} {way} until {} mm of it are drawn out (at home {} mm)",
                self.part(*part),
                fixed(*drawn_mm, 1),
                fixed(home, 1)
            )
        });
        // What moves is the side towards the open joint.
        let turned = swivels.iter().map(|(swivel, turn_deg)| {
            let moves = if *swivel < joint { *swivel } else { swivel.saturating_sub(1) };
            format!(
                "turn {} {}° {} from home in the swivel {}",
                self.part(moves),
                fixed(turn_deg.abs(), 1),
                way_round(*turn_deg),
                self.joint(*swivel)
            )
        });
        let all: Vec<String> = pushed.chain(turned).collect();
        WorkStep {
            action: format!("Make room {}: {}{}.", self.joint(joint), all.join("; "), seen_from(swivels)),
            check: format!(
                "its two sides can stand {} mm apart, in line, once all parts are on.",
                fixed(opening_mm, 1)
            ),
        }
    }

    fn close(&self, joint: usize, turning: &Turning, component: Option<&str>) -> WorkStep {
        let meanwhile = match component {
            Some(name) => format!("bring `{name}` home while the thread draws it in"),
            None => "let swivels and links come home while the thread draws them in".to_owned(),
        };
        WorkStep {
            action: format!(
                "Close the last joint, {}: turn {}, clockwise, {}, and {meanwhile}.",
                self.joint(joint),
                self.turned(turning),
                self.turns(joint)
            ),
            check: "the thread catches by hand for the first full turn; stop and start again if it binds.".to_owned(),
        }
    }

    fn last_look(&self) -> WorkStep {
        let set = self.parts.iter().enumerate().filter_map(|(part, report)| {
            let turn_deg = report.turn_deg?;
            let looks = match &report.aim {
                Some(aim) => format!("its free end {}; {}", aim.towards, aim.against),
                None => format!("heads {}", direction(report.heads)),
            };
            Some(format!("part {} at {}° ({looks})", part + 1, fixed(turn_deg, 1)))
        });
        let drawn = self.parts.iter().enumerate().filter(|(_, part)| part.stretch_mm.abs() >= 0.005);
        let drawn =
            drawn.map(|(part, report)| format!("part {} drawn out {} mm", part + 1, fixed(report.stretch_mm, 1)));
        let all: Vec<String> = set.chain(drawn).collect();
        let action = if all.is_empty() {
            "Look over the whole chain: nothing in it has to be aimed.".to_owned()
        } else {
            format!("Set every swivel and link home: {}.", all.join(", "))
        };
        WorkStep {
            action,
            check:
                "every ring is seated, nothing is under strain, and every component stands on its holes. Fasten what \
                    was held back, and leak-test before anything is powered."
                    .to_owned(),
        }
    }

    fn blocker(&self, blocker: &Blocker) -> String {
        match blocker {
            Blocker::NothingTurns => {
                "no swivel and nothing else can turn once both its sides are held: a part that swivels there is needed"
                    .to_owned()
            }
            Blocker::NoAxialRoom { needed_mm, found_mm } => format!(
                "both sides are held {} mm too near: they must stand {} mm apart for the thread, and links and swivels \
                 give {} mm",
                fixed(needed_mm - found_mm, 1),
                fixed(*needed_mm, 1),
                fixed(*found_mm, 1)
            ),
            Blocker::InTheWay { moving, body, part, gap_mm, needed_mm } => {
                let body = match part {
                    Some(part) => self.part(*part),
                    None => format!("`{body}`"),
                };
                let comes = if *gap_mm < 0.0 {
                    format!("runs {} mm into {body}", fixed(-gap_mm, 1))
                } else {
                    format!(
                        "comes within {} mm of {body}, where {} mm are asked",
                        fixed(*gap_mm, 1),
                        fixed(*needed_mm, 1)
                    )
                };
                match moving {
                    Moving::Turned(part) => format!("{}, turned as it is screwed on, {comes}", self.part(*part)),
                    Moving::Shifted(part) => format!("{}, on its way, {comes}", self.part(*part)),
                    Moving::Component(name) => format!("`{name}`, offered up, {comes}"),
                    Moving::Carried { rider, component } => {
                        format!("`{rider}`, which travels with `{component}` as that is offered up, {comes}")
                    }
                }
            }
            Blocker::Joined { component, by } => {
                format!("`{component}` would have to be held back, but {by} already joins it")
            }
            Blocker::NoToolRoom { body, needed_mm } => format!(
                "nowhere around the collar are {} mm free for fingers or a wrench; `{body}` takes the room",
                fixed(*needed_mm, 1)
            ),
        }
    }

    /// Where a joint is.
    fn joint(&self, joint: usize) -> String {
        if joint == 0 {
            format!("at {}", self.gap.from.name)
        } else if joint >= self.parts.len() {
            format!("at {}", self.gap.to.name)
        } else {
            format!("between parts {joint} and {}", joint + 1)
        }
    }

    fn towards(&self, joint: usize, from_first: bool) -> String {
        match (joint, from_first) {
            (0, false) => self.gap.from.name.clone(),
            (joint, false) => format!("part {joint}"),
            (joint, true) if joint >= self.parts.len() => self.gap.to.name.clone(),
            (joint, true) => format!("part {}", joint + 1),
        }
    }

    fn part(&self, part: usize) -> String {
        match self.parts.get(part) {
            Some(report) => format!("part {} (`{}`)", part + 1, report.fitting),
            None => format!("part {}", part + 1),
        }
    }

    /// One part by its name, several by their numbers.
    fn group(&self, parts: &RangeInclusive<usize>) -> String {
        if parts.start() == parts.end() {
            self.part(*parts.start())
        } else {
            format!("{}, one piece by now,", some(parts))
        }
    }

    fn turned(&self, turning: &Turning) -> String {
        match turning {
            Turning::Collar(part) => format!("the swivel collar of part {} and nothing else", part + 1),
            Turning::Straights(parts) => format!("{} where it stands, on its swivel", some(parts)),
            Turning::All(parts) => format!("the whole of {}", some(parts)),
        }
    }

    fn turns(&self, joint: usize) -> String {
        let Some(JointFacts { thread, turns, travel_mm, .. }) = self.made.joints.get(joint) else {
            return "until it seats".to_owned();
        };
        format!("{} turns of {thread} ({} mm) until it seats", fixed(*turns, 1), fixed(*travel_mm, 1))
    }

    /// The swivels of a group that can be set now.
    fn aimed(&self, parts: &RangeInclusive<usize>) -> String {
        let set = parts.clone().filter_map(|part| {
            let turn_deg = self.parts.get(part)?.turn_deg?;
            let clock =
                self.parts.get(part)?.aim.as_ref().map_or_else(String::new, |aim| format!(" ({})", aim.against));
            Some(format!("part {} to {}°{clock}", part + 1, fixed(turn_deg, 1)))
        });
        let set: Vec<String> = set.collect();
        if set.is_empty() { String::new() } else { format!(" Set {}.", set.join(", ")) }
    }
}

/// `, with `fan` on it,`, or nothing where nothing is mounted on a component.
pub(in crate::report) fn carrying(riders: &[String]) -> String {
    let names: Vec<String> = riders.iter().map(|rider| format!("`{rider}`")).collect();
    if names.is_empty() { String::new() } else { format!(", with {} on it,", joined(&names)) }
}

/// `part 2` or `parts 2 to 3`, counted from 1.
fn some(parts: &RangeInclusive<usize>) -> String {
    if parts.start() == parts.end() {
        format!("part {}", parts.start() + 1)
    } else {
        format!("parts {} to {}", parts.start() + 1, parts.end() + 1)
    }
}

/// Where turns are seen from, if anything is turned.
fn seen_from(swivels: &[(usize, f64)]) -> &'static str {
    if swivels.is_empty() { "" } else { ", seen from the far end of the chain" }
}

/// Which way an angle turns, as turns are counted: seen from the far end of the chain.
fn way_round(turn_deg: f64) -> &'static str {
    if turn_deg < 0.0 { "clockwise" } else { "counter-clockwise" }
}
